"""Charts of money: total cost by group, and what is paid each year."""

import math

import altair as alt
import pandas as pd

from tco.report.dressing import (
    BLUE,
    GREEN,
    GREY,
    INK,
    ORANGE,
    PAPER,
    PINK,
    SKY,
    VERMILION,
    YELLOW,
    dressed,
)
from tco.report.money.frames import GROUPS, OTHER

GROUP_COLOURS = dict(
    zip(
        (*GROUPS, OTHER),
        (BLUE, SKY, PINK, VERMILION, ORANGE, GREEN, YELLOW, GREY, INK),
        strict=True,
    )
)


def cost_bars(groups: pd.DataFrame, *, currency: str) -> alt.Chart:
    """Total cost by group, one stacked bar per arrangement, in the order given."""
    order = list(dict.fromkeys(groups["arrangement"]))
    used = [group for group in GROUP_COLOURS if group in set(groups["group"])]
    totals = groups.groupby("arrangement", sort=False)["present"].sum().reset_index()
    data = groups.assign(order=groups["group"].map({g: n for n, g in enumerate(used)}))
    y = alt.Y("arrangement:N", sort=order, title=None, axis=alt.Axis(labelLimit=190, ticks=False))
    bars = (
        alt.Chart(data)
        .mark_bar(size=14, stroke=PAPER, strokeWidth=0.7)
        .encode(
            x=alt.X(
                "sum(present):Q",
                title=f"total cost, present value [{currency}]",
                axis=alt.Axis(format=",.0f", tickCount=5),
            ),
            y=y,
            color=alt.Color(
                "group:N",
                scale=alt.Scale(
                    domain=used,
                    range=[GROUP_COLOURS[g] for g in used],
                ),
                legend=alt.Legend(orient="top", columns=5, title=None, offset=4),
            ),
            order=alt.Order("order:Q"),
            tooltip=[
                alt.Tooltip("arrangement:N", title="Arrangement"),
                alt.Tooltip("group:N", title="For"),
                alt.Tooltip("present:Q", title=f"Today's money [{currency}]", format=",.0f"),
            ],
        )
    )
    marks = (
        alt.Chart(totals)
        .mark_tick(color=INK, thickness=2, size=18)
        .encode(
            x="present:Q",
            y=y,
            tooltip=[
                alt.Tooltip("arrangement:N", title="Arrangement"),
                alt.Tooltip("present:Q", title=f"Total [{currency}]", format=",.0f"),
            ],
        )
    )
    return dressed((bars + marks).properties(height=21 * len(order) + 96))


def ledger_bars(rows: pd.DataFrame, *, currency: str, horizon_years: float) -> alt.Chart:
    """What is paid each year, stacked by group; money received stands below the line."""
    by_year = rows.assign(year=rows["year"].round().astype(int))
    sums = by_year.groupby(["year", "group"], sort=False)["amount"].sum().reset_index()
    used = [group for group in GROUP_COLOURS if group in set(sums["group"])]
    return dressed(
        alt.Chart(sums)
        .mark_bar(stroke=PAPER, strokeWidth=0.7)
        .encode(
            x=alt.X(
                "year:O",
                title="years since purchase",
                scale=alt.Scale(domain=list(range(math.ceil(horizon_years) + 1))),
                axis=alt.Axis(labelAngle=0, ticks=False),
            ),
            y=alt.Y(
                "amount:Q",
                title=f"paid that year, nominal [{currency}]",
                axis=alt.Axis(format=",.0f", tickCount=5),
            ),
            color=alt.Color(
                "group:N",
                scale=alt.Scale(domain=used, range=[GROUP_COLOURS[g] for g in used]),
                legend=alt.Legend(orient="right", title=None),
            ),
            tooltip=[
                alt.Tooltip("year:O", title="Year"),
                alt.Tooltip("group:N", title="For"),
                alt.Tooltip("amount:Q", title=f"Paid then [{currency}]", format=",.0f"),
            ],
        )
        .properties(height=250)
    )
