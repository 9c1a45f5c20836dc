"""Prices and assumptions: everything the answer rests on that is not a pack or a load."""

import streamlit as st

from tco.case.prices import DEFAULT_CONDUCTOR_PRICES, DEFAULT_FUSE_PRICES
from tco.forms import labels
from tco.forms.entry import Entry
from tco.report.inputs.words import terms
from tco.screens import bar, fields, parts, state


def main() -> None:
    """Draw the screen."""
    held = bar.top("prices")
    top = st.container()
    st.caption(
        "Grey figures are our planning figures: they are assumed until you type your own over them."
    )
    parts.heading("The case")
    fields.form(
        held,
        (),
        (
            Entry("title", "Title", "text"),
            Entry("units", "Units", "choice", choices=("metric", "imperial")),
        ),
        columns=3,
    )
    parts.heading("Money")
    fields.form(held, ("prices",), labels.MONEY, columns=4)
    parts.heading("How long, how worn, how believed")
    fields.form(held, ("assumptions",), labels.LIFE, columns=6)
    parts.heading("Work, disposal and small parts")
    fields.form(held, ("prices",), labels.WORK, columns=5)
    parts.heading("What is tried, and the weather")
    fields.form(held, ("assumptions",), labels.SEARCH, columns=4)
    left, right = st.columns(2, gap="medium")
    with left:
        parts.heading("Cable and lugs, by size")
        fields.grid(
            held,
            ("prices", "conductors"),
            labels.CONDUCTOR_PRICES,
            height=320,
            usual=DEFAULT_CONDUCTOR_PRICES,
        )
    with right:
        parts.heading("Fuses, by class")
        fields.grid(held, ("prices", "fuses"), labels.FUSE_PRICES, usual=DEFAULT_FUSE_PRICES)
    parts.heading("How uncertain all this is")
    st.caption(
        "What the draws under Weighing two are drawn from: one in ten lies below the first figure, "
        "one in ten above the second. The figures that stand here first are our own judgement."
    )
    fields.spreads_grid(held)
    comparison = state.comparison_of(held)
    with top:
        parts.troubles(held)
        parts.sentence(terms(comparison))


main()
