"""Charts of the years and of a year: health, state of charge, the energy budget."""

from collections.abc import Sequence

import altair as alt
import pandas as pd

from tco.case.times import MONTHS
from tco.report.dressing import BLUE, GREEN, INK, ORANGE, PAPER, SKY, VERMILION, dressed
from tco.report.years.frames import SECOND, ChargeYear


def health_lines(
    health: pd.DataFrame, *, end_of_life_health: float, replaced: Sequence[float] = ()
) -> alt.Chart:
    """Health over the years, with the health at which the bank is replaced."""
    known = {
        "bank in service": (BLUE, [1, 0]),
        "first bank, never replaced": (ORANGE, [5, 4]),
        SECOND: (GREEN, [2, 3]),
    }
    names = [name for name in known if name in set(health["bank"])]
    colours, dashes = [known[n][0] for n in names], [known[n][1] for n in names]
    y = alt.Y(
        "health:Q",
        title="capacity left, share of new",
        scale=alt.Scale(domain=[min(0.5, float(health["health"].min())), 1.0], zero=False),
        axis=alt.Axis(format=".0%", tickCount=5),
    )
    lines = (
        alt.Chart(health)
        .mark_line(strokeWidth=2.5, point=alt.OverlayMarkDef(size=26))
        .encode(
            x=alt.X("year:Q", title="years since purchase", axis=alt.Axis(tickMinStep=1)),
            y=y,
            color=alt.Color(
                "bank:N",
                scale=alt.Scale(domain=names, range=colours),
                legend=alt.Legend(orient="bottom", title=None, columns=1, labelLimit=320),
            ),
            strokeDash=alt.StrokeDash(
                "bank:N", scale=alt.Scale(domain=names, range=dashes), legend=None
            ),
            tooltip=[
                alt.Tooltip("bank:N", title="Bank"),
                alt.Tooltip("year:Q", title="Year"),
                alt.Tooltip("health:Q", title="Capacity left", format=".1%"),
            ],
        )
    )
    limit = pd.DataFrame({"health": [end_of_life_health], "text": ["replaced here"]})
    rule = alt.Chart(limit).mark_rule(color=VERMILION, strokeDash=[3, 3]).encode(y=y)
    words = (
        alt.Chart(limit)
        .mark_text(align="left", baseline="bottom", dx=4, dy=-3, color="#A34600")
        .encode(y=y, x=alt.value(0), text="text:N")
    )
    layers = [rule, words, lines]
    if replaced:
        at = pd.DataFrame({"year": list(replaced)})
        layers.append(alt.Chart(at).mark_rule(color=INK, strokeDash=[2, 3]).encode(x="year:Q"))
    return dressed(alt.layer(*layers).properties(height=270))


def charge_band(year: ChargeYear) -> alt.Chart:
    """Lowest to highest state of charge of every day, the worst fortnight behind it."""
    days = year.days
    x = alt.X("date:T", title=None, axis=alt.Axis(format="%b", tickCount="month", grid=False))
    worst = pd.DataFrame(
        {
            "from": [days["date"].iloc[year.start]],
            "to": [days["date"].iloc[year.end]],
            "text": ["worst fortnight"],
        }
    )
    shade = alt.Chart(worst).mark_rect(color=ORANGE, opacity=0.35).encode(x="from:T", x2="to:T")
    late = year.start > 270
    words = (
        alt.Chart(worst)
        .mark_text(
            align="right" if late else "left", baseline="bottom", dx=-4 if late else 4,
            dy=-4, color="#7A5200",
        )
        .encode(x="from:T" if late else "to:T", y=alt.datum(0), text="text:N")
    )  # fmt: skip
    y = alt.Y(
        "lowest:Q",
        title="state of charge",
        scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format=".0%", tickCount=5),
    )
    tips = [
        alt.Tooltip("date:T", title="Day", format="%-d %b"),
        alt.Tooltip("lowest:Q", title="Lowest", format=".0%"),
        alt.Tooltip("highest:Q", title="Highest", format=".0%"),
    ]
    band = (
        alt.Chart(days)
        .mark_area(color=SKY, opacity=0.75)
        .encode(x=x, y=y, y2="highest:Q", tooltip=tips)
    )
    line = alt.Chart(days).mark_line(color=BLUE, strokeWidth=1.2).encode(x=x, y="lowest:Q")
    return dressed((shade + band + line + words).properties(height=270))


def budget_heat(budget: pd.DataFrame) -> alt.Chart:
    """Mean power by month and hour of the day."""
    return dressed(
        alt.Chart(budget)
        .mark_rect(stroke=PAPER, strokeWidth=1)
        .encode(
            x=alt.X("hour:O", title="hour of the day", axis=alt.Axis(labelAngle=0, ticks=False)),
            y=alt.Y("month:O", sort=list(MONTHS), title=None, axis=alt.Axis(ticks=False)),
            color=alt.Color(
                "watts:Q",
                scale=alt.Scale(scheme="cividis", reverse=True),
                legend=alt.Legend(title="mean W", orient="right", gradientLength=180),
            ),
            tooltip=[
                alt.Tooltip("month:O", title="Month"),
                alt.Tooltip("hour:O", title="From hour"),
                alt.Tooltip("watts:Q", title="Mean power [W]", format=".0f"),
            ],
        )
        .properties(height=270)
    )


def daily_bars(need: pd.DataFrame) -> alt.Chart:
    """Energy of a day by month, the worst one marked."""
    worst = need.assign(worst=need["kwh"] == need["kwh"].max())
    base = alt.Chart(worst).encode(
        y=alt.Y("month:O", sort=list(MONTHS), title=None, axis=alt.Axis(ticks=False, domain=False)),
        x=alt.X("kwh:Q", title="energy of a day [kWh]", axis=alt.Axis(tickCount=4)),
    )
    bars = base.mark_bar(size=13).encode(
        color=alt.condition("datum.worst", alt.value(ORANGE), alt.value(BLUE)),
        tooltip=[
            alt.Tooltip("month:O", title="Month"),
            alt.Tooltip("kwh:Q", title="kWh a day", format=".2f"),
        ],
    )
    words = base.mark_text(align="left", dx=4, fontSize=11, color=INK).encode(
        text=alt.Text("kwh:Q", format=".2f")
    )
    return dressed((bars + words).properties(height=270))
