"""Charts of what fits: verdicts by requirement, and energy by mass and by size."""

import altair as alt
import pandas as pd

from tco.physics.chemistry import CHEMISTRIES
from tco.report.dressing import INK, PAPER, dressed

VERDICT_COLOURS = {"pass": "#CFE8DF", "caution": "#FBE3B0", "unknown": "#E3E1D8", "fail": "#F3B795"}


def verdict_matrix(matrix: pd.DataFrame) -> alt.Chart:
    """Arrangements against requirements: sign and colour, the reason on hover."""
    rows = list(dict.fromkeys(matrix["arrangement"]))
    columns = list(dict.fromkeys(matrix["requirement"]))
    base = alt.Chart(matrix).encode(
        x=alt.X(
            "requirement:N",
            sort=columns,
            title=None,
            axis=alt.Axis(orient="top", labelAngle=-38, labelLimit=230, ticks=False, domain=False),
        ),
        y=alt.Y(
            "arrangement:N",
            sort=rows,
            title=None,
            axis=alt.Axis(labelLimit=260, ticks=False, domain=False),
        ),
        tooltip=[
            alt.Tooltip("arrangement:N", title="Arrangement"),
            alt.Tooltip("requirement:N", title="Requirement"),
            alt.Tooltip("word:N", title="Verdict"),
            alt.Tooltip("reason:N", title="Why"),
        ],
    )
    verdicts = list(VERDICT_COLOURS)
    cells = base.mark_rect(stroke=PAPER, strokeWidth=2).encode(
        color=alt.Color(
            "verdict:N",
            scale=alt.Scale(domain=verdicts, range=list(VERDICT_COLOURS.values())),
            legend=None,
        )
    )
    signs = base.mark_text(fontSize=12, color=INK).encode(text="sign:N")
    return dressed((cells + signs).properties(height=22 * max(1, len(rows)) + 130))


def density_points(densities: pd.DataFrame) -> alt.Chart:
    """Wh/L against Wh/kg, one mark per candidate; hollow where the mass is assumed."""
    used = [key for key in CHEMISTRIES if key in set(densities["chemistry"])]
    colours = [CHEMISTRIES[key].colour for key in used]
    base = alt.Chart(densities).encode(
        x=alt.X(
            "wh_per_kg:Q", title="energy by mass [Wh/kg]", scale=alt.Scale(zero=False, nice=True)
        ),
        y=alt.Y(
            "wh_per_l:Q", title="energy by size [Wh/L]", scale=alt.Scale(zero=False, nice=True)
        ),
    )
    points = base.mark_point(size=110, strokeWidth=2).encode(
        color=alt.Color(
            "chemistry:N",
            scale=alt.Scale(domain=used, range=colours),
            legend=alt.Legend(orient="bottom", title=None),
        ),
        shape=alt.Shape(
            "chemistry:N",
            scale=alt.Scale(domain=used, range=[CHEMISTRIES[key].mark for key in used]),
            legend=alt.Legend(orient="bottom", title=None),
        ),
        fillOpacity=alt.condition("datum.mass === 'assumed'", alt.value(0.0), alt.value(0.75)),
        fill=alt.Fill("chemistry:N", scale=alt.Scale(domain=used, range=colours), legend=None),
        tooltip=[
            alt.Tooltip("name:N", title="Candidate"),
            alt.Tooltip("chemistry:N", title="Chemistry"),
            alt.Tooltip("wh_per_kg:Q", title="Wh/kg", format=".0f"),
            alt.Tooltip("wh_per_l:Q", title="Wh/L", format=".0f"),
            alt.Tooltip("mass:N", title="Mass is"),
        ],
    )
    names = base.mark_text(align="left", dx=9, fontSize=11, color=INK, limit=130).encode(
        text="label:N"
    )
    return dressed((points + names).properties(height=430))
