"""Prices and assumptions: everything the answer rests on that is not a pack or a load."""

import streamlit as st

from tco.case.evidence import DEFAULT_MARK_FACTORS, DEFAULT_PRIORS, DEFAULT_WEIGHTS
from tco.case.prices import DEFAULT_CONDUCTOR_PRICES, DEFAULT_FUSE_PRICES
from tco.report import labels
from tco.report.sentences import terms
from tco.screens import parts, state


def main() -> None:
    """Draw the screen."""
    held = parts.opening()
    top = st.container()
    st.caption(
        "Grey figures are our planning figures: they are assumed until you type your own over them."
    )
    parts.heading("The case")
    parts.form(
        held,
        (),
        (
            labels.Entry("title", "Title", "text"),
            labels.Entry("units", "Units", "choice", choices=("metric", "imperial")),
        ),
        columns=3,
    )
    parts.heading("Money")
    parts.form(held, ("prices",), labels.MONEY, columns=4)
    parts.heading("How long, how worn, how believed")
    parts.form(held, ("assumptions",), labels.LIFE, columns=6)
    parts.heading("Work, disposal and small parts")
    parts.form(held, ("prices",), labels.WORK, columns=5)
    parts.heading("What is tried, and the weather")
    parts.form(held, ("assumptions",), labels.SEARCH, columns=4)
    parts.heading("Failures and what reports of them are worth")
    parts.form(held, ("reliability",), labels.FAILING)
    left, right = st.columns(2, gap="medium")
    with left:
        parts.heading("Failures believed before any report")
        parts.grid(held, ("reliability", "priors"), labels.PRIOR, usual=DEFAULT_PRIORS)
    with right:
        parts.heading("Weight of a report, by its source")
        parts.grid(held, ("reliability", "weights"), labels.WEIGHT, usual=DEFAULT_WEIGHTS)
        parts.heading("Price class, where the price does not tell")
        parts.grid(held, ("reliability", "stated_classes"), labels.STATED_CLASS)
    parts.heading("What a mark of the construction does to failures")
    parts.grid(held, ("reliability", "mark_factors"), labels.FACTOR, usual=DEFAULT_MARK_FACTORS)
    left, right = st.columns(2, gap="medium")
    with left:
        parts.heading("Cable and lugs, by size")
        parts.grid(
            held,
            ("prices", "conductors"),
            labels.CONDUCTOR_PRICES,
            height=320,
            usual=DEFAULT_CONDUCTOR_PRICES,
        )
    with right:
        parts.heading("Fuses, by class")
        parts.grid(held, ("prices", "fuses"), labels.FUSE_PRICES, usual=DEFAULT_FUSE_PRICES)
    comparison = state.comparison_of(held)
    with top:
        parts.troubles(held)
        parts.sentence(terms(comparison))


main()
