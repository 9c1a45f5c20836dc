"""Charts of capacity tests: health against the promise, and the spread of the cells."""

import altair as alt
import pandas as pd

from tco.report.dressing import BLUE, INK, ORANGE, SKY, VERMILION, dressed


def health(
    course: pd.DataFrame,
    points: pd.DataFrame,
    days: pd.DataFrame,
    *,
    limit: float,
    limit_words: str,
    expected: tuple[str, float] | None = None,
) -> alt.Chart:
    """Fitted health with its 80 % band, the tests with theirs, the limit and the days that count.

    `expected`: day and health that the simulation of this use expected by then.
    """
    lowest = min(float(course["low"].min()), float(points["low"].min()), limit)
    highest = max(1.06, float(points["high"].max()) + 0.01)
    scale = alt.Scale(domain=[max(0.0, lowest - 0.04), highest], zero=False, clamp=True)
    x = alt.X("date:T", title=None, axis=alt.Axis(format="%Y", tickCount="year", grid=False))
    y = alt.Y(
        "low:Q",
        title="health, share of rated",
        scale=scale,
        axis=alt.Axis(format=".0%", tickCount=6),
    )
    band = (
        alt.Chart(course)
        .mark_area(color=SKY, opacity=0.45, clip=True)
        .encode(
            x=x,
            y=y,
            y2="high:Q",
        )
    )
    middle = (
        alt.Chart(course)
        .mark_line(color=BLUE, strokeWidth=2, clip=True)
        .encode(
            x=x,
            y="median:Q",
            tooltip=[
                alt.Tooltip("date:T", title="Day", format="%-d %b %Y"),
                alt.Tooltip("low:Q", title="1 in 10 below", format=".0%"),
                alt.Tooltip("median:Q", title="Middle", format=".0%"),
                alt.Tooltip("high:Q", title="1 in 10 above", format=".0%"),
            ],
        )
    )
    tested = alt.Chart(points).encode(x=x)
    bars = tested.mark_rule(color=INK, clip=True).encode(y="low:Q", y2="high:Q")
    dots = tested.mark_circle(color=INK, size=70, opacity=1, clip=True).encode(
        y="health:Q",
        tooltip=[
            alt.Tooltip("date:T", title="Tested", format="%-d %b %Y"),
            alt.Tooltip("measured_ah:Q", title="Measured [Ah]", format=".1f"),
            alt.Tooltip("corrected_ah:Q", title="Corrected [Ah]", format=".1f"),
            alt.Tooltip("health:Q", title="Health", format=".1%"),
        ],
    )
    promised = pd.DataFrame({"health": [limit], "text": [limit_words]})
    rule = alt.Chart(promised).mark_rule(color=VERMILION, strokeDash=[4, 3]).encode(y="health:Q")
    words = (
        alt.Chart(promised)
        .mark_text(align="left", baseline="bottom", dx=4, dy=-3, color="#A34600")
        .encode(x=alt.value(0), y="health:Q", text="text:N")
    )
    marks = alt.Chart(days).encode(x="date:T")
    lines = marks.mark_rule(color=INK, strokeDash=[2, 3])
    named = marks.mark_text(angle=270, align="right", dy=-6, dx=-4, fontSize=11, color=INK).encode(
        y=alt.value(0), text="text:N"
    )
    layers = [band, rule, words, lines, named, middle, bars, dots]
    if expected is not None:
        at = pd.DataFrame({"date": [pd.Timestamp(expected[0])], "health": [expected[1]]})
        layers.append(
            alt.Chart(at)
            .mark_point(shape="diamond", size=130, color=ORANGE, filled=True, opacity=1)
            .encode(
                x="date:T",
                y="health:Q",
                tooltip=[alt.Tooltip("health:Q", title="Simulated for your use", format=".0%")],
            )
        )
    return dressed(alt.layer(*layers).properties(height=360))


def spread(frame: pd.DataFrame) -> alt.Chart:
    """How far the cells were apart at each test."""
    return dressed(
        alt.Chart(frame)
        .mark_line(color=BLUE, point=alt.OverlayMarkDef(size=60, color=BLUE))
        .encode(
            x=alt.X("date:T", title=None, axis=alt.Axis(format="%b %Y", tickCount=4, grid=False)),
            y=alt.Y("spread:Q", title="highest less lowest [mV]", scale=alt.Scale(zero=True)),
            tooltip=[
                alt.Tooltip("date:T", title="Tested", format="%-d %b %Y"),
                alt.Tooltip("spread:Q", title="Spread [mV]", format=".0f"),
            ],
        )
        .properties(height=220)
    )
