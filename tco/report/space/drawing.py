"""Plan and elevation of the packs in their spaces, to scale, with dimensions (SVG)."""

import math

from tco.bank.fit.models import Compartment, FitResult, PlacedBox, WallMove
from tco.report import svg
from tco.report.svg import lines_of, short
from tco.sentences import told

SCALE_WIDTH_PX = 330.0
"""Width on paper of the widest space; all views of a drawing share one scale."""

GAP_PX = 70.0
MARGIN_PX = 46.0
MM_PER_INCH = 25.4
LINE_PX = 17.0
SIZES_LETTERS = 118
"""Letters on a line of the sizes, which are 11 px high."""


def fit_drawing(
    result: FitResult,
    compartments: tuple[Compartment, ...],
    *,
    imperial: bool = False,
    pack_mm: tuple[float, float, float] | None = None,
) -> str:
    """SVG of every space, its packs seen from above and from the front.

    Where the packs do not fit, as many as do are drawn, and the move of the wall that would make
    room is drawn beside it in orange. What the terminals keep free is a dashed line in front of
    them.

    Parameters
    ----------
    compartments
        The spaces as they were searched (`tco.bank.fit.space.compartments`).
    pack_mm
        Width, depth and height of one pack; drawn in outline where not even one fits.
    """
    ghost = pack_mm if not result.layout else None
    least_mm = 0.0 if ghost is None else ghost[0]
    widest = max(
        max(c.width_mm + _moved(result, c, "width"), least_mm + c.clearance_side_mm)
        for c in compartments
    )
    scale = SCALE_WIDTH_PX / widest
    width = 2.0 * (SCALE_WIDTH_PX + MARGIN_PX) + GAP_PX + 30.0
    reason = told(result.reason, "imperial" if imperial else "metric")
    parts: list[str] = []
    top = 26.0
    for compartment in compartments:
        placed = [p for p in result.layout if p.compartment == compartment.name]
        drawn, height = _space(
            compartment, placed, result, scale, top, imperial=imperial, ghost=ghost
        )
        parts += drawn
        top += height
    for line in lines_of(reason, int((width - 2.0 * MARGIN_PX) / 7.0)):
        parts.append(svg.text(MARGIN_PX, top, line, size=12.5))
        top += LINE_PX
    return svg.document(parts, width=width, height=top, title=f"The packs in their space: {reason}")


def _moved(result: FitResult, compartment: Compartment, wall: str) -> float:
    """How far a wall of a space would have to move. [mm]"""
    return sum(
        move.by_mm
        for move in result.moves
        if move.compartment == compartment.name and move.wall == wall
    )


def _space(
    compartment: Compartment,
    placed: list[PlacedBox],
    result: FitResult,
    scale: float,
    top: float,
    *,
    imperial: bool,
    ghost: tuple[float, float, float] | None,
) -> tuple[list[str], float]:
    """Both views of one space from `top` down, and the height they take."""
    left = MARGIN_PX
    right = MARGIN_PX + SCALE_WIDTH_PX + GAP_PX
    w = compartment.width_mm * scale
    plan_h, front_h = compartment.depth_mm * scale, compartment.height_mm * scale
    name = short(compartment.name, 32)
    first = top
    parts = [
        svg.text(left, top, f"{name}, from above", weight="bold"),
        svg.text(right, top, f"{name}, from the front", weight="bold"),
    ]
    for line in lines_of(_sizes(compartment, placed, imperial=imperial), SIZES_LETTERS):
        top += LINE_PX
        parts.append(svg.text(left, top, line, size=11))
    # room on the paper for walls that would move up
    up = max(_moved(result, compartment, "depth"), _moved(result, compartment, "height"))
    if ghost is not None:
        side = compartment.clearance_side_mm
        over = (ghost[1] + side - compartment.depth_mm, ghost[2] - compartment.height_mm)
        up = max(up, *over)
    base = top + 14.0 + (up * scale + 10.0 if up > 0.0 else 0.0)
    parts += [
        svg.box(left, base, w, plan_h, fill="#fafafa", stroke_width=2.0),
        svg.box(right, base, w, front_h, fill="#fafafa", stroke_width=2.0),
    ]
    for number, p in enumerate(placed, start=1):
        # from above the front (y = 0) is at the bottom of the paper
        parts.append(
            _pack(
                left + p.x * scale,
                base + plan_h - (p.y + p.dy) * scale,
                p.dx * scale,
                p.dy * scale,
                number,
                p,
                terminals=p.terminals,
                imperial=imperial,
            )
        )
    for number, p in sorted(enumerate(placed, start=1), key=lambda item: -item[1].y):
        x, y = right + p.x * scale, base + front_h - (p.z + p.dz) * scale
        if p.terminals == "up":
            free = compartment.clearance_top_mm * scale
            parts.append(
                svg.box(x, y - free, p.dx * scale, free, fill="none", stroke=svg.FAINT, dash="3 3")
            )
        parts.append(
            _pack(
                x,
                y,
                p.dx * scale,
                p.dz * scale,
                number,
                p,
                terminals="top" if p.terminals == "up" else "",
                imperial=imperial,
            )
        )
    if ghost is not None:
        side = compartment.clearance_side_mm * scale
        for x, h, tall in ((left, plan_h, ghost[1]), (right, front_h, ghost[2])):
            raised = side if x == left else 0.0
            parts.append(
                svg.box(
                    x + side,
                    base + h - tall * scale - raised,
                    ghost[0] * scale,
                    tall * scale,
                    fill="none",
                    stroke=svg.BLUE,
                    dash="6 4",
                )
            )
    parts += _across(left, base + plan_h + 16.0, w, compartment.width_mm, imperial=imperial)
    parts += _upright(left - 16.0, base, plan_h, compartment.depth_mm, imperial=imperial)
    parts += _across(right, base + front_h + 16.0, w, compartment.width_mm, imperial=imperial)
    parts += _upright(right - 16.0, base, front_h, compartment.height_mm, imperial=imperial)
    for move in result.moves:
        if move.compartment == compartment.name:
            parts += _move(
                move, scale, (left, right), base, w, (plan_h, front_h), imperial=imperial
            )
    return parts, base - first + max(plan_h, front_h) + 62.0


def _move(
    move: WallMove,
    scale: float,
    at: tuple[float, float],
    base: float,
    w: float,
    heights: tuple[float, float],
    *,
    imperial: bool,
) -> list[str]:
    """The room a wall's move would make, in orange; moves of the opening stand in the words."""
    by = move.by_mm * scale
    label = f"+{length(math.ceil(round(move.by_mm, 4)), imperial=imperial)}"
    if move.wall == "width":
        return [
            *(
                svg.box(x + w, base, by, h, stroke=svg.ORANGE, dash="5 3", fill="none")
                for x, h in zip(at, heights, strict=True)
            ),
            svg.text(at[0] + w + by, base - 5.0, label, fill=svg.ORANGE, anchor="end"),
        ]
    if move.wall in ("depth", "height"):
        x = at[0] if move.wall == "depth" else at[1]
        return [
            svg.box(x, base - by, w, by, stroke=svg.ORANGE, dash="5 3", fill="none"),
            svg.text(x + w + 4.0, base - by / 2.0 + 4.0, label, fill=svg.ORANGE),
        ]
    return []


def _sizes(compartment: Compartment, placed: list[PlacedBox], *, imperial: bool) -> str:
    """Size of the packs as they stand, what stays free, and the opening, in words."""
    words = []
    for pose in dict.fromkeys(p.orientation for p in placed):
        p = next(p for p in placed if p.orientation == pose)
        words.append(f"packs {pose.replace('_', ' ')} {_by((p.dx, p.dy, p.dz), imperial)}")
    words.append(
        f"{length(compartment.clearance_top_mm, imperial=imperial)} free at the terminals, "
        f"{length(compartment.clearance_between_mm, imperial=imperial)} between packs, "
        f"{length(compartment.clearance_side_mm, imperial=imperial)} to the walls"
    )
    a, b = compartment.opening_a_mm, compartment.opening_b_mm
    if a is not None or b is not None:
        across = compartment.depth_mm if compartment.opening_side == "top" else (
            compartment.height_mm
        )  # fmt: skip
        size = _by((a or compartment.width_mm, b or across), imperial)
        words.append(f"opening in the {compartment.opening_side} {size}")
    return "; ".join(words)


def _by(sizes_mm: tuple[float, ...], imperial: bool) -> str:
    if imperial:
        return " × ".join(f"{mm / MM_PER_INCH:.1f}" for mm in sizes_mm) + " in"
    return " × ".join(f"{mm:.0f}" for mm in sizes_mm) + " mm"


def _pack(
    x: float, y: float, width: float, height: float, number: int, placed: PlacedBox, *,
    terminals: str, imperial: bool,
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
    size = _by((placed.dx, placed.dy, placed.dz), imperial)
    return svg.group(parts, title=f"pack {number}, {placed.orientation.replace('_', ' ')}: {size}")


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
