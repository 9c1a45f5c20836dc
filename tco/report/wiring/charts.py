"""Charts of current sharing."""

import altair as alt
import pandas as pd

from tco.report.dressing import BLUE, INK, dressed


def string_currents(currents: pd.DataFrame) -> alt.Chart:
    """Current of each string by the way they are joined; the thin line is an equal share."""
    order = list(dict.fromkeys(currents["way"]))
    y = alt.Y("way:N", sort=order, title=None, axis=alt.Axis(ticks=False, domain=False))
    x = alt.X(
        "current:Q",
        title="current of each string at the full load [A]; line: an equal share",
        scale=alt.Scale(zero=False, padding=24),
        axis=alt.Axis(tickCount=6),
    )
    base = alt.Chart(currents).encode(y=y)
    equal = base.mark_tick(color=INK, thickness=1.5, size=30).encode(x="equal:Q")
    dots = base.mark_circle(size=110, color=BLUE, opacity=0.8).encode(
        x=x,
        tooltip=[
            alt.Tooltip("way:N", title="Joined by"),
            alt.Tooltip("string:N", title="String"),
            alt.Tooltip("current:Q", title="Current [A]", format=".1f"),
            alt.Tooltip("equal:Q", title="Equal share [A]", format=".1f"),
        ],
    )
    return dressed((equal + dots).properties(height=46 * len(order) + 40))
