"""Plan and elevation of the packs in their spaces, to scale, with dimensions (SVG)."""

from tco.bank.fit_models import Compartment, FitResult, PlacedBox
from tco.report import svg

SCALE_WIDTH_PX = 330.0
"""Width on paper of the widest space; all views of a drawing share one scale."""

GAP_PX = 70.0
MARGIN_PX = 46.0
MM_PER_INCH = 25.4


def fit_drawing(
    result: FitResult, compartments: tuple[Compartment, ...], *, imperial: bool = False
) -> str:
    """SVG of every space, its packs seen from above and from the front.

    Where the packs do not fit, as many as do are drawn, and the move of the wall that would make
    room is drawn beside it in orange.
    """
    widest = max(c.width_mm for c in compartments)
    scale = SCALE_WIDTH_PX / widest
    parts: list[str] = []
    top = MARGIN_PX
    for compartment in compartments:
        placed = [p for p in result.layout if p.compartment == compartment.name]
        drawn, height = _space(compartment, placed, result, scale, top, imperial=imperial)
        parts += drawn
        top += height + GAP_PX
    width = 2.0 * (SCALE_WIDTH_PX + MARGIN_PX) + GAP_PX
    parts.append(svg.text(MARGIN_PX, top - 30.0, result.reason, size=12.5))
    return svg.document(
        parts, width=width, height=top - 10.0, title=f"The packs in their space: {result.reason}"
    )


def _space(
    compartment: Compartment,
    placed: list[PlacedBox],
    result: FitResult,
    scale: float,
    top: float,
    *,
    imperial: bool,
) -> tuple[list[str], float]:
    left = MARGIN_PX
    right = MARGIN_PX + SCALE_WIDTH_PX + GAP_PX
    w = compartment.width_mm * scale
    plan_h, front_h = compartment.depth_mm * scale, compartment.height_mm * scale
    tall = max(plan_h, front_h)
    parts = [
        svg.text(left, top - 12.0, f"{compartment.name}, from above", weight="bold"),
        svg.text(right, top - 12.0, f"{compartment.name}, from the front", weight="bold"),
        svg.box(left, top, w, plan_h, fill="#fafafa", stroke_width=2.0),
        svg.box(right, top, w, front_h, fill="#fafafa", stroke_width=2.0),
    ]
    for number, p in enumerate(placed, start=1):
        # from above the front (y = 0) is at the bottom of the paper
        parts.append(
            _pack(
                left + p.x * scale,
                top + plan_h - (p.y + p.dy) * scale,
                p.dx * scale,
                p.dy * scale,
                number,
                p,
                terminals=p.terminals,
            )
        )
    for number, p in sorted(enumerate(placed, start=1), key=lambda item: -item[1].y):
        parts.append(
            _pack(
                right + p.x * scale,
                top + front_h - (p.z + p.dz) * scale,
                p.dx * scale,
                p.dz * scale,
                number,
                p,
                terminals="top" if p.terminals == "up" else "",
            )
        )
    parts += _across(left, top + plan_h + 16.0, w, compartment.width_mm, imperial=imperial)
    parts += _upright(left - 16.0, top, plan_h, compartment.depth_mm, imperial=imperial)
    parts += _across(right, top + front_h + 16.0, w, compartment.width_mm, imperial=imperial)
    parts += _upright(right - 16.0, top, front_h, compartment.height_mm, imperial=imperial)
    for move in result.moves:
        if move.compartment != compartment.name:
            continue
        by = move.by_mm * scale
        label = f"+{length(move.by_mm, imperial=imperial)}"
        if move.wall == "width":
            parts += [
                svg.box(x + w, top, by, h, stroke=svg.ORANGE, dash="5 3", fill="none")
                for x, h in ((left, plan_h), (right, front_h))
            ]
            parts.append(svg.text(left + w + 2.0, top - 6.0, label, fill=svg.ORANGE))
        elif move.wall == "depth":
            parts.append(svg.box(left, top - by, w, by, stroke=svg.ORANGE, dash="5 3", fill="none"))
            parts.append(svg.text(left + w + 4.0, top + 2.0, label, fill=svg.ORANGE))
        elif move.wall == "height":
            parts.append(
                svg.box(right, top - by, w, by, stroke=svg.ORANGE, dash="5 3", fill="none")
            )
            parts.append(svg.text(right + w + 4.0, top + 2.0, label, fill=svg.ORANGE))
    return parts, tall + 30.0


def _pack(
    x: float, y: float, width: float, height: float, number: int, placed: PlacedBox, *,
    terminals: str,
) -> str:  # fmt: skip
    """One pack with its number and the side its terminals are on."""
    parts = [
        svg.box(x, y, width, height, fill=svg.SKY, stroke=svg.BLUE),
        svg.text(
            x + width / 2,
            y + height / 2 + 5.0,
            str(number),
            size=14,
            anchor="middle",
            weight="bold",
        ),
    ]
    if terminals == "up":
        parts += [
            svg.element("circle", cx=x + share * width, cy=y + 0.22 * height, r=3.2, fill=colour)
            for share, colour in ((0.2, svg.ORANGE), (0.8, svg.INK))
        ]
    elif terminals == "top":
        parts += [
            svg.box(x + share * width - 4.0, y - 4.0, 8.0, 4.0, fill=colour, stroke="none")
            for share, colour in ((0.2, svg.ORANGE), (0.8, svg.INK))
        ]
    elif terminals == "+x":
        parts.append(svg.box(x + width - 4.0, y + 4.0, 4.0, height - 8.0, fill=svg.ORANGE))
    elif terminals == "-y":
        parts.append(svg.box(x + 4.0, y + height - 4.0, width - 8.0, 4.0, fill=svg.ORANGE))
    size = " × ".join(f"{v:.0f}" for v in (placed.dx, placed.dy, placed.dz))
    return svg.group(
        parts, title=f"pack {number}, {placed.orientation.replace('_', ' ')}: {size} mm"
    )


def length(mm: float, *, imperial: bool) -> str:
    """A length with its unit, whole millimetres or tenths of an inch."""
    return f"{mm / MM_PER_INCH:.1f} in" if imperial else f"{mm:.0f} mm"


def _across(x: float, y: float, width: float, mm: float, *, imperial: bool) -> list[str]:
    return [
        svg.line(x, y, x + width, y, stroke=svg.FAINT),
        svg.line(x, y - 4, x, y + 4, stroke=svg.FAINT),
        svg.line(x + width, y - 4, x + width, y + 4, stroke=svg.FAINT),
        svg.text(x + width / 2, y + 14, length(mm, imperial=imperial), size=11, anchor="middle"),
    ]


def _upright(x: float, y: float, height: float, mm: float, *, imperial: bool) -> list[str]:
    middle = y + height / 2
    return [
        svg.line(x, y, x, y + height, stroke=svg.FAINT),
        svg.line(x - 4, y, x + 4, y, stroke=svg.FAINT),
        svg.line(x - 4, y + height, x + 4, y + height, stroke=svg.FAINT),
        svg.text(
            x - 7, middle, length(mm, imperial=imperial), size=11, anchor="middle", rotate=-90.0
        ),
    ]
