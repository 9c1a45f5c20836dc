"""Evidence: what is known of the packs in the field, and what that makes of their failures."""

import streamlit as st

from tco.case.evidence import DEFAULT_MARK_FACTORS, DEFAULT_PRIORS, DEFAULT_WEIGHTS
from tco.compare import Comparison
from tco.forms import evidence_labels
from tco.report.failures import charts as evidence_charts
from tco.report.failures import frames as evidence_frames
from tco.report.failures.words import USUAL_DOUBTS
from tco.report.words import literal
from tco.screens import bar, fields, parts, state
from tco.screens.state import Workspace


def main() -> None:
    """Draw the screen."""
    held = bar.top("evidence")
    top = st.container()
    parts.heading("Reports from the field")
    fields.grid(
        held,
        ("evidence",),
        evidence_labels.REPORT,
        help_text="How many packs somebody has seen, for how many months each, and how many "
        "failed. Candidates by their name; a poor source counts for little.",
    )
    parts.heading("What was looked at")
    fields.grid(held, ("marks",), evidence_labels.MARK)
    parts.heading("Warranties")
    fields.grid(
        held,
        ("warranties",),
        evidence_labels.TERMS,
        help_text="Where nothing is typed, the years of the candidate table hold, with the usual "
        f"doubts: {USUAL_DOUBTS}.",
    )
    with st.expander("What is believed before any report, and how much a source counts"):
        _beliefs(held)
    comparison = state.comparison_of(held)
    with top:
        parts.troubles(held)
        parts.sentence(evidence_frames.opening(comparison))
        _rates(held, comparison)


def _rates(held: Workspace, comparison: Comparison) -> None:
    known = evidence_frames.by_candidate(comparison)
    if not known:
        parts.nothing_yet()
        return
    frame = evidence_frames.rates(comparison)
    told = [name for name in known if len(known[name].failures.knowledge.rows) > 2]
    picture, words = st.columns([1, 1.25], gap="medium")
    with words:
        key = f"{held.version} evidence of"
        names = list(known)
        if st.session_state.get(key) not in names:
            st.session_state[key] = (told or names)[0]
        name = st.selectbox("Where the figure comes from, for", names, key=key)
        result = known[name]
        parts.reading(evidence_frames.story(result.failures.knowledge))
        st.caption(literal(evidence_frames.warranty(result, comparison.case)))
    with picture:
        parts.heading("How often a pack fails")
        parts.chart(evidence_charts.rates(frame, marked=name))
        st.caption(
            "Ring: what is believed of its price class and chemistry alone, before anything was "
            "looked at or reported. Dot and band: with what was seen, 8 in 10 sure. "
            "Grey: nothing is known of it. Orange: the one told beside."
        )


def _beliefs(held: Workspace) -> None:
    fields.form(held, ("reliability",), evidence_labels.FAILING)
    st.caption(literal(evidence_frames.LAWS))
    left, right = st.columns(2, gap="medium")
    with left:
        parts.heading("Failures believed before any report")
        fields.grid(held, ("reliability", "priors"), evidence_labels.PRIOR, usual=DEFAULT_PRIORS)
    with right:
        parts.heading("Weight of a report, by its source")
        fields.grid(held, ("reliability", "weights"), evidence_labels.WEIGHT, usual=DEFAULT_WEIGHTS)
        parts.heading("Price class, where the price does not tell")
        fields.grid(held, ("reliability", "stated_classes"), evidence_labels.STATED_CLASS)
        parts.heading("Rate that you know better")
        fields.grid(held, ("reliability", "stated_rates"), evidence_labels.STATED_RATE)
    parts.heading("What a mark of the construction does to failures")
    fields.grid(
        held, ("reliability", "mark_factors"), evidence_labels.FACTOR, usual=DEFAULT_MARK_FACTORS
    )


main()
