"""Charts of what is believed of failures."""

import altair as alt
import pandas as pd

from tco.report.dressing import BLUE, GREY, INK, ORANGE, PAPER, dressed


def rates(frame: pd.DataFrame, *, marked: str) -> alt.Chart:
    """Failures of every candidate: hollow by its class, full with the evidence, band 8 in 10."""
    order = list(frame["candidate"])
    y = alt.Y("candidate:N", sort=order, title=None, axis=alt.Axis(labelLimit=200, ticks=False))
    tips = [
        alt.Tooltip("candidate:N", title="Candidate"),
        alt.Tooltip("class:N", title="Price class"),
        alt.Tooltip("before:Q", title="By its class", format=".2f"),
        alt.Tooltip("now:Q", title="Believed now", format=".2f"),
        alt.Tooltip("p10:Q", title="1 in 10 below", format=".2f"),
        alt.Tooltip("p90:Q", title="1 in 10 above", format=".2f"),
        alt.Tooltip("reports:Q", title="Reports"),
        alt.Tooltip("marks:Q", title="Marks"),
    ]
    shown = frame.assign(
        colour=[
            ORANGE if name == marked else BLUE if reports + marks else GREY
            for name, reports, marks in zip(
                frame["candidate"], frame["reports"], frame["marks"], strict=True
            )
        ]
    )
    base = alt.Chart(shown).encode(y=y, tooltip=tips)
    colour = alt.Color("colour:N", scale=None)
    spans = base.mark_rule(strokeWidth=5, strokeCap="round", opacity=0.4).encode(
        x=alt.X(
            "p10:Q", title="failures per 100 packs and year", axis=alt.Axis(tickCount=7),
            scale=alt.Scale(zero=True),
        ),
        x2="p90:Q",
        color=colour,
    )  # fmt: skip
    before = base.mark_point(size=70, color=INK, fill=PAPER, strokeWidth=1.3, opacity=1).encode(
        x="before:Q"
    )
    now = base.mark_point(size=75, filled=True, opacity=1).encode(x="now:Q", color=colour)
    return dressed((spans + before + now).properties(height=25 * max(2, len(order)) + 50))
