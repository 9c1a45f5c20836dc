"""Charts of a comparison: pure functions from tables to Altair charts.

Colours are those of Okabe and Ito (Color Universal Design, 2008), told apart with any colour
vision; wherever a colour says something, a sign, a word or a position says it too.
"""

import math
from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

from tco.case.quantities import MONTHS
from tco.report.money.frames import GROUPS, OTHER
from tco.report.years.frames import SECOND, ChargeYear

BLUE, ORANGE, GREEN, PINK = "#0072B2", "#E69F00", "#009E73", "#CC79A7"
SKY, VERMILION, YELLOW, GREY = "#56B4E9", "#D55E00", "#F0E442", "#9AA0A0"
INK, FAINT, PAPER = "#1D2B30", "#DDD9CD", "#FBFAF6"

GROUP_COLOURS = dict(
    zip(
        (*GROUPS, OTHER),
        (BLUE, SKY, PINK, VERMILION, ORANGE, GREEN, YELLOW, GREY, INK),
        strict=True,
    )
)
VERDICT_COLOURS = {"pass": "#CFE8DF", "caution": "#FBE3B0", "unknown": "#E3E1D8", "fail": "#F3B795"}
CHEMISTRY_COLOURS = {
    "lfp": BLUE, "nmc": PINK, "lto": SKY, "sodium-ion": GREEN,
    "agm": ORANGE, "gel": VERMILION, "flooded": GREY,
}  # fmt: skip
CHEMISTRY_SHAPES = {
    "lfp": "circle", "nmc": "cross", "lto": "diamond", "sodium-ion": "square",
    "agm": "triangle-up", "gel": "triangle-down", "flooded": "triangle-right",
}  # fmt: skip


def dressed(chart: Any) -> Any:
    """Our look: paper, thin lines, small dark labels."""
    return (
        chart.configure(background=PAPER, font="Source Sans, sans-serif")
        .configure_view(stroke=None)
        .configure_axis(
            labelColor=INK, titleColor=INK, titleFontWeight="normal", labelFontSize=12,
            titleFontSize=12, gridColor=FAINT, domainColor=FAINT, tickColor=FAINT,
        )
        .configure_legend(
            labelColor=INK, titleColor=INK, titleFontWeight="normal", labelFontSize=12,
            symbolStrokeWidth=0, labelLimit=220,
        )
    )  # fmt: skip


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
    used = [key for key in CHEMISTRY_COLOURS if key in set(densities["chemistry"])]
    colours = [CHEMISTRY_COLOURS[key] for key in used]
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
            scale=alt.Scale(domain=used, range=[CHEMISTRY_SHAPES[key] for key in used]),
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
