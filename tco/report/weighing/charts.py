"""Charts of a choice between two: left is blue, right is orange, everywhere."""

import json
from typing import Any

import altair as alt
import pandas as pd

from tco.columns import NO_POWER
from tco.report.dressing import BLUE, FAINT, GREY, INK, ORANGE, PAPER, dressed

PALE_BLUE, PALE_ORANGE = "#9CC9E6", "#F3CE85"


def _sides(left: str, right: str, *, pale: bool = False) -> alt.Scale:
    colours = [PALE_BLUE, PALE_ORANGE] if pale else [BLUE, ORANGE]
    return alt.Scale(domain=[left, right], range=colours)


def difference(
    bins: pd.DataFrame, *, left: str, right: str, band: tuple[float, float, float], currency: str
) -> alt.Chart:
    """How the difference came out over the draws, who was cheaper told by side and colour."""
    bars = (
        alt.Chart(bins)
        .mark_bar(stroke=PAPER, strokeWidth=0.5)
        .encode(
            x=alt.X(
                "from:Q",
                bin="binned",
                title=f"left less right, present value [{currency}]: below nought, left is cheaper",
                axis=alt.Axis(format=",.0f", tickCount=7),
            ),
            x2="to:Q",
            y=alt.Y("draws:Q", title="draws", axis=alt.Axis(tickCount=4)),
            color=alt.Color(
                "cheaper:N",
                scale=_sides(left, right),
                legend=alt.Legend(
                    orient="top", title="cheaper:", titleOrient="left", labelLimit=230, columns=2
                ),
            ),
            tooltip=[
                alt.Tooltip("from:Q", title=f"from [{currency}]", format=",.0f"),
                alt.Tooltip("to:Q", title=f"to [{currency}]", format=",.0f"),
                alt.Tooltip("draws:Q", title="Draws"),
            ],
        )
    )
    nought = (
        alt.Chart(pd.DataFrame({"x": [0.0]})).mark_rule(color=INK, strokeWidth=1.6).encode(x="x:Q")
    )
    points = pd.DataFrame({"x": list(band), "text": ["1 in 10 below", "middle", "1 in 10 above"]})
    marks = alt.Chart(points).encode(x="x:Q")
    rules = marks.mark_rule(color=INK, strokeDash=[3, 3])
    names = marks.mark_text(angle=270, align="right", dx=-4, dy=-7, color=INK, fontSize=11).encode(
        y=alt.value(0), text="text:N"
    )
    return dressed((bars + nought + rules + names).properties(height=210))


def bands(frame: pd.DataFrame, *, currency: str) -> alt.Chart:
    """8 in 10 draws of every passing arrangement, and how often it is the cheapest of all."""
    order = list(frame["arrangement"])
    y = alt.Y("arrangement:N", sort=order, title=None, axis=alt.Axis(labelLimit=230, ticks=False))
    colour = alt.condition("datum.marked", alt.value(BLUE), alt.value(GREY))
    tips = [
        alt.Tooltip("arrangement:N", title="Arrangement"),
        alt.Tooltip("p10:Q", title=f"1 in 10 below [{currency}]", format=",.0f"),
        alt.Tooltip("p50:Q", title=f"Middle [{currency}]", format=",.0f"),
        alt.Tooltip("p90:Q", title=f"1 in 10 above [{currency}]", format=",.0f"),
        alt.Tooltip("chance:Q", title="Cheapest of all in", format=".0%"),
        alt.Tooltip("regret:Q", title=f"Expected regret [{currency}]", format=",.0f"),
        alt.Tooltip("error:Q", title=f"Standard error of its mean [{currency}]", format=",.0f"),
    ]
    base = alt.Chart(frame).encode(y=y, tooltip=tips)
    x = alt.X(
        "p10:Q",
        title=f"total cost, present value [{currency}]: 8 in 10 draws, and the middle",
        axis=alt.Axis(format=",.0f", tickCount=6),
        scale=alt.Scale(zero=False),
    )
    spans = base.mark_rule(strokeWidth=5, strokeCap="round", opacity=0.45).encode(
        x=x, x2="p90:Q", color=colour
    )
    middles = base.mark_point(filled=True, size=70, opacity=1).encode(x="p50:Q", color=colour)
    words = base.mark_text(align="left", dx=10, fontSize=12, color=INK).encode(
        x="p90:Q", text=alt.Text("words:N")
    )
    often = "datum.chance > 0 && datum.chance < 0.005 ? 'under 1%' : format(datum.chance, '.0%')"
    words = words.transform_calculate(words=f"'cheapest in ' + ({often})")
    return dressed((spans + middles + words).properties(height=28 * len(order) + 56))


def tracks(track: pd.DataFrame, stretches: pd.DataFrame, *, left: str, right: str) -> alt.Chart:
    """Every quantity over its range: who is cheaper where, today's value, and the turning point.

    Its colours are those of `difference`, whose legend stands above it.
    """
    order = list(track["of"])
    y = alt.Y(
        "of:N", sort=order, title=None,
        axis=alt.Axis(labelLimit=190, ticks=False, domain=False),
    )  # fmt: skip
    x_axis = alt.Axis(labels=False, ticks=False, grid=False, domain=False)
    scale = alt.Scale(domain=[-0.34, 1.27], nice=False)
    lanes = (
        alt.Chart(stretches)
        .mark_bar(size=9)
        .encode(
            y=y,
            x=alt.X("from:Q", title=None, axis=x_axis, scale=scale),
            x2="to:Q",
            color=alt.Color("cheaper:N", scale=_sides(left, right, pale=True), legend=None),
        )
    )
    tips = [
        alt.Tooltip("sentence:N", title=" "),
        alt.Tooltip("now_words:N", title="Now"),
        alt.Tooltip("turn_words:N", title="Turns at"),
        alt.Tooltip("low_words:N", title="Looked at from"),
        alt.Tooltip("high_words:N", title="to"),
    ]
    base = alt.Chart(track).encode(y=y, tooltip=tips)
    now = base.mark_point(filled=True, size=70, color=INK, opacity=1).encode(
        x=alt.X("now:Q", scale=scale)
    )
    turn = base.mark_tick(thickness=3, size=16, color="#A34600").encode(x="turn:Q")
    turned = base.mark_text(dy=-11, fontSize=11, color="#A34600").encode(
        x="turn:Q", text="turn_words:N"
    )
    starts = base.mark_text(align="right", dx=-6, fontSize=11, color="#5E6B70").encode(
        x=alt.datum(0.0), text="low_words:N"
    )
    ends = base.mark_text(align="left", dx=6, fontSize=11, color="#5E6B70").encode(
        x=alt.datum(1.0), text="high_words:N"
    )
    layers = alt.layer(lanes, turn, now, turned, starts, ends)
    return dressed(layers.properties(height=28 * len(order)))


def tornado(frame: pd.DataFrame, *, currency: str, colour: str) -> alt.Chart:
    """Cost with one quantity low and high, all others as in the case; the line is the case."""
    order = list(frame["of"])
    y = alt.Y("of:N", sort=order, title=None, axis=alt.Axis(labelLimit=190, ticks=False))
    tips = [
        alt.Tooltip("of:N", title="Quantity"),
        alt.Tooltip("low:N", title="Low"),
        alt.Tooltip("at_low:Q", title=f"Cost then [{currency}]", format=",.0f"),
        alt.Tooltip("high:N", title="High"),
        alt.Tooltip("at_high:Q", title=f"Cost then [{currency}]", format=",.0f"),
    ]
    base = alt.Chart(frame).encode(y=y, tooltip=tips)
    x = alt.X(
        "at_low:Q",
        title=f"total cost [{currency}]; hollow: low, full: high",
        axis=alt.Axis(format=",.0f", tickCount=4),
        scale=alt.Scale(zero=False, nice=True),
    )
    bars = base.mark_bar(size=10, color=colour, opacity=0.35).encode(x=x, x2="at_high:Q")
    lows = base.mark_point(size=60, color=colour, fill=PAPER, strokeWidth=2, opacity=1).encode(
        x="at_low:Q"
    )
    highs = base.mark_point(size=60, color=colour, filled=True, opacity=1).encode(x="at_high:Q")
    middle = alt.Chart(frame.head(1)).mark_rule(color=INK).encode(x="total:Q")
    return dressed((bars + middle + lows + highs).properties(height=30 * len(order) + 50))


def indices(frame: pd.DataFrame) -> alt.Chart:
    """Share of the variance of the difference: by itself (mark), with interactions (bar)."""
    order = list(frame["of"])
    base = alt.Chart(frame).encode(
        y=alt.Y("of:N", sort=order, title=None, axis=alt.Axis(labelLimit=190, ticks=False)),
        tooltip=[
            alt.Tooltip("of:N", title="Quantity"),
            alt.Tooltip("first:Q", title="By itself", format=".0%"),
            alt.Tooltip("total:Q", title="With interactions", format=".0%"),
        ],
    )
    x = alt.X(
        "total:Q",
        title="share of the variance; bar: with interactions, mark: by itself",
        axis=alt.Axis(format=".0%", tickCount=5),
    )
    bars = base.mark_bar(size=12, color=GREY, opacity=0.7).encode(x=x)
    marks = base.mark_tick(color=INK, thickness=2, size=20).encode(x="first:Q")
    return dressed((bars + marks).properties(height=30 * len(order) + 50))


def two_way(
    cells: pd.DataFrame, *, x: str, y: str, left: str, right: str, currency: str
) -> alt.Chart:
    """Who is cheaper when two quantities are turned together, by how much; today's is framed."""
    base = alt.Chart(cells).encode(
        x=alt.X("x_at:O", title=x, axis=_worded(cells, "x", limit=130)),
        y=alt.Y("y_at:O", title=y, sort="descending", axis=_worded(cells, "y", limit=170)),
        tooltip=[
            alt.Tooltip("x:N", title=x),
            alt.Tooltip("y:N", title=y),
            alt.Tooltip("cheaper:N", title="Cheaper"),
            alt.Tooltip("text:N", title=f"by [{currency}]"),
        ],
    )
    squares = base.mark_rect(stroke=PAPER, strokeWidth=2).encode(
        color=alt.Color(
            "cheaper:N",
            scale=_sides(left, right, pale=True),
            legend=alt.Legend(orient="top", title=f"cheaper, by [{currency}]:", labelLimit=280),
        )
    )
    words = base.mark_text(fontSize=12, color=INK).encode(text="text:N")
    today = base.transform_filter("datum.todays")
    frame = today.mark_rect(filled=False, stroke=INK, strokeWidth=2.5, color=INK)
    name = today.mark_text(fontSize=10, dy=-11, color=INK, fontWeight="bold", text="today")
    rows = int(cells["y_at"].max()) + 1
    return dressed((squares + words + frame + name).properties(height=38 * rows + 80))


def _worded(cells: pd.DataFrame, side: str, *, limit: int) -> alt.Axis:
    """An axis of counted places that tells the words of each, today's in bold."""
    places = cells.drop_duplicates(f"{side}_at").sort_values(f"{side}_at")
    todays = cells.loc[cells["todays"], f"{side}_at"]
    weight: Any = "normal"
    if len(todays):
        test = {"test": f"datum.value == {int(todays.iloc[0])}", "value": "bold"}
        weight = {"condition": test, "value": "normal"}
    return alt.Axis(
        labelExpr=f"{json.dumps(list(places[side]))}[datum.value]",
        labelFontWeight=weight,
        labelAngle=0,
        labelLimit=limit,
        ticks=False,
    )


def curve(
    frame: pd.DataFrame, *, x: str, x_title: str, y: str, y_title: str, left: str, right: str,
    turned: str, y_format: str = ",.2f", ends: tuple[str, str] = ("", ""),
) -> alt.Chart:  # fmt: skip
    """A curve for each of the two, told apart by colour and shape; the case's own point is ringed.

    Hollow points: more hours without power than the case tolerates. `turned` names what
    was turned from point to point, `ends` who stands at the two ends.
    """
    base = alt.Chart(frame).encode(
        x=alt.X(f"{x}:Q", title=x_title, axis=alt.Axis(tickCount=7, gridColor=FAINT)),
        y=alt.Y(f"{y}:Q", title=y_title, axis=alt.Axis(format=y_format, tickCount=6)),
        tooltip=[
            alt.Tooltip("arrangement:N", title="Arrangement"),
            alt.Tooltip("words:N", title=turned),
            alt.Tooltip(f"{y}:Q", title=y_title, format=y_format),
            alt.Tooltip("kwh_per_year:Q", title="Out of the bank [kWh/year]", format=",.1f"),
            alt.Tooltip("used_kwh_per_year:Q", title="Used in all [kWh/year]", format=",.1f"),
            alt.Tooltip("no_power:Q", title=f"{NO_POWER} [h/year]", format=",.0f"),
        ],
    )
    colour = alt.Color(
        "arrangement:N",
        scale=_sides(left, right),
        legend=alt.Legend(orient="top", title=None, labelLimit=280),
    )
    line = base.encode(color=colour)
    shape = alt.Shape(
        "arrangement:N",
        scale=alt.Scale(domain=[left, right], range=["circle", "square"]),
        legend=None,
    )
    fill = alt.condition(
        "datum.enough",
        alt.Fill("arrangement:N", scale=_sides(left, right), legend=None),
        alt.value(PAPER),
    )
    points = line.mark_point(size=60, strokeWidth=2, opacity=1).encode(shape=shape, fill=fill)
    ring = base.transform_filter("datum.todays").mark_point(
        shape="circle", size=260, strokeWidth=1.8, color=INK, opacity=1
    )
    highest = frame.sort_values(y).drop_duplicates("x", keep="last").sort_values("x")
    told = (
        (highest.iloc[:1], ends[0], 44),
        (highest[highest["todays"]], "as the case is", 0),
        (highest.iloc[-1:], ends[1], 0),
    )
    names = [
        alt.Chart(rows)
        .mark_text(dy=-20, dx=dx, fontSize=12, color=INK)
        .encode(x=f"{x}:Q", y=f"{y}:Q", text=alt.datum(text))
        for rows, text, dx in told
        if text
    ]
    layers = alt.layer(line.mark_line(strokeWidth=2.2), points, ring, *names)
    return dressed(layers.properties(height=320))
