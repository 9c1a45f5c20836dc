"""Charts of the years: what goes short by month, what was tried, how cold the cells get."""

import altair as alt
import pandas as pd

from tco.case.times import MONTHS
from tco.columns import NO_POWER
from tco.report.dressing import BLUE, GREY, INK, SKY, VERMILION, dressed


def by_month(frame: pd.DataFrame) -> alt.Chart:
    """Hours without power by month of a mean year; the share of years in words."""
    base = alt.Chart(frame).encode(
        x=alt.X("month:O", sort=list(MONTHS), title=None, axis=alt.Axis(labelAngle=0, ticks=False)),
        tooltip=[
            alt.Tooltip("month:O", title="Month"),
            alt.Tooltip("hours:Q", title="Hours in a mean year", format=".1f"),
            alt.Tooltip("kwh:Q", title="Essential energy missing [kWh]", format=".2f"),
            alt.Tooltip("chance:Q", title="Years with an outage", format=".0%"),
        ],
    )
    most = max(1.0, float(frame["hours"].max()) * 1.15)
    bars = base.mark_bar(color=VERMILION, size=18).encode(
        y=alt.Y(
            "hours:Q",
            title=f"{NO_POWER} [h]",
            scale=alt.Scale(domain=[0, most]),
            axis=alt.Axis(tickCount=5),
        )
    )
    words = (
        base.transform_filter("datum.chance > 0")
        .mark_text(dy=-8, fontSize=11, color=INK)
        .encode(y="hours:Q", text=alt.Text("chance:Q", format=".0%"))
    )
    return dressed((bars + words).properties(height=250))


def tried(frame: pd.DataFrame) -> alt.Chart:
    """Hours without power in a mean year, as it is and with what was tried."""
    order = list(frame["what"])
    base = alt.Chart(frame).encode(
        y=alt.Y("what:N", sort=order, title=None, axis=alt.Axis(ticks=False, labelLimit=180)),
        x=alt.X("hours:Q", title=f"{NO_POWER} [h/year]", axis=alt.Axis(tickCount=5)),
        tooltip=[
            alt.Tooltip("what:N", title="With"),
            alt.Tooltip("hours:Q", title="Hours a year", format=".0f"),
        ],
    )
    bars = base.mark_bar(size=15).encode(
        color=alt.condition("datum.what === 'as it is'", alt.value(GREY), alt.value(BLUE))
    )
    words = base.mark_text(align="left", dx=4, color=INK).encode(
        text=alt.Text("hours:Q", format=",.0f")
    )
    return dressed((bars + words).properties(height=34 * len(order) + 40))


def cells(frame: pd.DataFrame, *, limit: float, unit: str) -> alt.Chart:
    """Coldest to warmest cells of every day, and the least temperature at which they charge."""
    x = alt.X("date:T", title=None, axis=alt.Axis(format="%b", tickCount="month", grid=False))
    y = alt.Y("lowest:Q", title=f"cells [{unit}]", scale=alt.Scale(zero=False))
    band = (
        alt.Chart(frame)
        .mark_area(color=SKY, opacity=0.75)
        .encode(
            x=x,
            y=y,
            y2="highest:Q",
            tooltip=[
                alt.Tooltip("date:T", title="Day", format="%-d %b"),
                alt.Tooltip("lowest:Q", title=f"Coldest [{unit}]", format=".1f"),
                alt.Tooltip("highest:Q", title=f"Warmest [{unit}]", format=".1f"),
            ],
        )
    )
    at = pd.DataFrame({"lowest": [limit], "text": [f"no charging below {limit:.0f} {unit}"]})
    rule = alt.Chart(at).mark_rule(color=VERMILION, strokeDash=[4, 3]).encode(y="lowest:Q")
    words = (
        alt.Chart(at)
        .mark_text(align="left", baseline="bottom", dx=4, dy=-3, color="#A34600")
        .encode(x=alt.value(0), y="lowest:Q", text="text:N")
    )
    return dressed((band + rule + words).properties(height=250))
