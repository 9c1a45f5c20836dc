"""How all charts look: colours, paper, lines and labels. Charts go from tables to Altair.

Colours are those of Okabe and Ito (Color Universal Design, 2008), told apart with any colour
vision; wherever a colour says something, a sign, a word or a position says it too.
"""

from typing import Any

from altair.utils.schemapi import disable_debug_mode

disable_debug_mode()  # tests validate charts; while they are made it takes a third of the time

BLUE, ORANGE, GREEN, PINK = "#0072B2", "#E69F00", "#009E73", "#CC79A7"
SKY, VERMILION, YELLOW, GREY = "#56B4E9", "#D55E00", "#F0E442", "#9AA0A0"
INK, FAINT, PAPER = "#1D2B30", "#DDD9CD", "#FBFAF6"


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
