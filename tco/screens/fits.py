"""What fits: every requirement on every arrangement, and how densely packs store energy."""

import streamlit as st

from tco.compare import Comparison
from tco.report import frames
from tco.report.space import charts as space_charts
from tco.report.space import frames as space_frames
from tco.report.space.words import fits
from tco.report.words import literal
from tco.screens import bar, parts, state

MOST_ROWS = 60
EVERY = "every candidate"


def main() -> None:
    """Draw the screen."""
    held = bar.top("fits")
    comparison = state.comparison_of(held)
    parts.troubles(held)
    parts.sentence(fits(comparison))
    if not comparison.results:
        return
    _matrix(comparison)
    _densities(comparison)


def _matrix(comparison: Comparison) -> None:
    names = sorted({result.arrangement.pack.name for result in comparison.results})
    which, key = st.columns([1, 2], vertical_alignment="bottom")
    name = which.selectbox("Show", [EVERY, *names], key=f"fits {state.workspace().version}")
    key.markdown(
        "  ".join(f"**{sign}** {frames.WORDS[verdict]}" for verdict, sign in frames.SIGNS.items())
        + "  ·  rest the pointer on a cell for the reason"
    )
    results = [r for r in comparison.results if name in (EVERY, r.arrangement.pack.name)]
    shown = results[:MOST_ROWS]
    if len(shown) < len(results):
        st.caption(f"The first {len(shown)} of {len(results)} in rank order.")
    matrix = space_frames.matrix(shown, units=comparison.case.units)
    parts.chart(space_charts.verdict_matrix(matrix))
    reasons = matrix[matrix["verdict"] != "pass"]
    parts.heading(f"Every reason in words ({len(reasons)})")
    st.dataframe(
        reasons[["sign", "arrangement", "requirement", "reason"]].rename(
            columns={
                "sign": "",
                "arrangement": "Arrangement",
                "requirement": "Requirement",
                "reason": "Why",
            }
        ),
        hide_index=True,
        height=min(420, 38 + 35 * max(1, len(reasons))),
        column_config={
            "": st.column_config.TextColumn(width=28),
            "Arrangement": st.column_config.TextColumn(width=220),
            "Requirement": st.column_config.TextColumn(width=200),
            "Why": st.column_config.TextColumn(width=820),
        },
    )


def _densities(comparison: Comparison) -> None:
    points = space_frames.densities(comparison)
    parts.heading("How much energy a kilogram and a litre hold")
    packs = {result.arrangement.pack.name for result in comparison.results}
    missing = sorted(packs - set(points["name"]))
    picture, figures = st.columns([1.4, 1], gap="medium")
    if len(points):
        parts.chart(space_charts.density_points(points), place=picture)
    with figures:
        parts.table(space_frames.density_table(comparison), height=430)
    words = "Hollow marks: the mass is assumed, so their place is only a guess."
    if missing:
        words += f" Not shown, dimensions not stated: {', '.join(missing[:12])}."
    st.caption(literal(words))


main()
