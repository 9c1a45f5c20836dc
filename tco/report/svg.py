"""A little SVG: elements as text, escaped, on white paper so that any theme and print can read it.

Ink colours are from the Okabe-Ito set, which colour-blind people can tell apart.
"""

from html import escape

PAPER = "#ffffff"
INK = "#1d2733"
FAINT = "#9aa5b1"
BLUE = "#0072b2"
SKY = "#cfe6f5"
ORANGE = "#d55e00"
SAND = "#f6e7c1"
FONT = "DejaVu Sans, Verdana, sans-serif"


def element(name: str, content: str = "", /, **attributes: object) -> str:
    """One element; underscores in attribute names become hyphens, None leaves one out."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(_text(value), quote=True)}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}>{content}</{name}>" if content else f"<{name}{written}/>"


def _text(value: object) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def text(
    x: float,
    y: float,
    words: str,
    *,
    size: float = 12.0,
    anchor: str = "start",
    fill: str = INK,
    weight: str | None = None,
    rotate: float | None = None,
) -> str:
    """Words at a point (baseline), turned by `rotate` degrees about it."""
    turn = None if rotate is None else f"rotate({rotate:g} {x:.1f} {y:.1f})"
    return element(
        "text",
        escape(words),
        x=x,
        y=y,
        font_size=size,
        text_anchor=anchor,
        fill=fill,
        font_weight=weight,
        transform=turn,
    )


def line(
    x1: float, y1: float, x2: float, y2: float, *, stroke: str = INK, width: float = 1.0,
    dash: str | None = None,
) -> str:  # fmt: skip
    """A straight line."""
    return element(
        "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, stroke_dasharray=dash
    )


def hop(x1: float, x2: float, y: float, over_x: float, *, stroke: str) -> str:
    """A level line that hops over an upright one, so that nobody takes them for joined."""
    arc = "a9 9 0 0 1 18 0"
    start = f"M{over_x - 9:.1f} {y:.1f}"
    whole = f"M{x1:.1f} {y:.1f}H{over_x - 9:.1f}{arc}H{x2:.1f}"
    return "".join(
        element("path", d=path, fill="none", stroke=colour, stroke_width=width)
        for path, colour, width in ((start + arc, PAPER, 6.0), (whole, stroke, 2.0))
    )


def box(
    x: float, y: float, width: float, height: float, *, fill: str = PAPER, stroke: str = INK,
    stroke_width: float = 1.2, radius: float = 0.0, dash: str | None = None,
) -> str:  # fmt: skip
    """A rectangle."""
    return element(
        "rect",
        x=x,
        y=y,
        width=width,
        height=height,
        fill=fill,
        stroke=stroke,
        stroke_width=stroke_width,
        rx=radius or None,
        stroke_dasharray=dash,
    )


def group(parts: list[str], *, title: str = "", **attributes: object) -> str:
    """Elements together; `title` shows when somebody points at them."""
    inside = (element("title", escape(title)) if title else "") + "".join(parts)
    return element("g", inside, **attributes)


def document(parts: list[str], *, width: float, height: float, title: str) -> str:
    """A whole drawing on white paper, scaling to the width it is given."""
    return element(
        "svg",
        element("title", escape(title))
        + box(0, 0, width, height, stroke="none", fill=PAPER)
        + "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:.0f} {height:.0f}",
        width="100%",
        style=f"max-width:{width:.0f}px;font-family:{FONT}",
        role="img",
        aria_label=title,
    )


def lines_of(text: str, longest: int) -> list[str]:
    """Text broken between words into lines of at most `longest` letters, long words cut."""
    lines = [""]
    for word in text.split():
        while len(word) > longest:
            word, rest = word[:longest], word[longest:]
            lines.append(word)
            word = rest
        if len(lines[-1]) + len(word) + 1 > longest and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return [line for line in lines if line] or [""]


def short(text: str, longest: int) -> str:
    """Text of at most so many letters."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"
