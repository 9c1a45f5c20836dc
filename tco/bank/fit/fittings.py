"""Whether fuses and busbars find room near the terminals of packs that have their places.

A fuse belongs close to the terminal it protects the cable of, and its holder is larger than most
lockers leave room for. Each piece is put, one after the other, where it touches a wall, a pack or a
piece before it: true where a place is found; where none is, one may still exist, and the check
that reads this says "found" for that reason.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations, product

from tco.bank.fit.models import Compartment, PlacedBox

FUSE_REACH_MM = 177.8
"""7 in from the terminal, ABYC E-11 as quoted by practitioners."""

HOLDER_MM = (160.0, 60.0, 60.0)
"""Outside of a fuse block with its cover, for a class T fuse of a few hundred amperes. Common
practice, no source; blocks for smaller fuses are smaller."""

BUSBAR_MM = (200.0, 55.0, 60.0)
"""Outside of a busbar of four studs with its cover. Common practice, no source."""

BUSBAR_REACH_MM = 300.0
"""From the terminals: as long as the leads that are reckoned with to begin with."""

SLACK_MM = 1e-3
"""Pieces that share less than this touch."""

Span = tuple[float, float, float, float, float, float]
"""Corner nearest the origin, and the opposite one. [mm]"""


@dataclass(frozen=True)
class Fitting:
    """One piece: what it is called, its outside, and how near it has to be to a terminal. [mm]"""

    name: str
    size_mm: tuple[float, float, float]
    reach_mm: float


def fittings(*, strings: int, busbars: bool) -> tuple[Fitting, ...]:
    """The pieces of a bank that stand beside its packs."""
    if strings == 1:
        return (Fitting("main fuse", HOLDER_MM, FUSE_REACH_MM),)
    fuses = tuple(
        Fitting(f"fuse of string {n}", HOLDER_MM, FUSE_REACH_MM) for n in range(1, strings + 1)
    )
    bars = tuple(Fitting(f"busbar {sign}", BUSBAR_MM, BUSBAR_REACH_MM) for sign in "+-")
    main = Fitting("main fuse", HOLDER_MM, BUSBAR_REACH_MM if busbars else FUSE_REACH_MM)
    return (*fuses, *(bars if busbars else ()), main)


@lru_cache(maxsize=4096)
def without_room(
    compartments: tuple[Compartment, ...],
    layout: tuple[PlacedBox, ...],
    pieces: tuple[Fitting, ...],
) -> tuple[str, ...]:
    """Names of the pieces for which no place was found, in any of the compartments."""
    spaces = {space.name: space for space in compartments}
    taken: dict[str, list[Span]] = {}
    faces: dict[str, list[Span]] = {}
    for box in layout:
        space = spaces[box.compartment]
        taken.setdefault(space.name, []).append(_with_terminals(box, space.clearance_top_mm))
        faces.setdefault(space.name, []).append(_face(box))
    lacking = []
    for piece in pieces:
        for name, obstacles in taken.items():
            place = _place(spaces[name], obstacles, faces[name], piece)
            if place is not None:
                obstacles.append(place)
                break
        else:
            lacking.append(piece.name)
    return tuple(lacking)


def _with_terminals(box: PlacedBox, clear_mm: float) -> Span:
    """The room of a pack and that in front of its terminals, which its cables bend in."""
    x, y, z = box.x, box.y, box.z
    to = [x + box.dx, y + box.dy, z + box.dz]
    if box.terminals == "up":
        to[2] += clear_mm
    elif box.terminals == "+x":
        to[0] += clear_mm
    else:
        y -= clear_mm
    return x, y, z, to[0], to[1], to[2]


def _face(box: PlacedBox) -> Span:
    """The side of a pack that its terminals are on."""
    x, y, z = box.x + box.dx, box.y + box.dy, box.z + box.dz
    if box.terminals == "up":
        return box.x, box.y, z, x, y, z
    if box.terminals == "+x":
        return x, box.y, box.z, x, y, z
    return box.x, box.y, box.z, x, box.y, z


def _place(
    space: Compartment, obstacles: Sequence[Span], faces: Sequence[Span], piece: Fitting
) -> Span | None:
    inside = (space.width_mm, space.depth_mm, space.height_mm)
    for size in sorted(set(permutations(piece.size_mm))):
        ways = [sorted(_starts(inside[axis], size[axis], axis, obstacles)) for axis in range(3)]
        for x, y, z in product(*ways):
            span = (x, y, z, x + size[0], y + size[1], z + size[2])
            if _free(span, obstacles) and _within(span, faces, piece.reach_mm):
                return span
    return None


def _starts(inside: float, size: float, axis: int, obstacles: Iterable[Span]) -> set[float]:
    """Where a piece may begin along an axis: at the walls, and beside or in line with the rest."""
    found = {0.0, inside - size}
    for other in obstacles:
        low, high = other[axis], other[axis + 3]
        found |= {low - size, low, high - size, high}
    return {round(at, 3) for at in found if -1e-6 <= at <= inside - size + 1e-6}


def _free(span: Span, obstacles: Sequence[Span]) -> bool:
    return not any(_overlap(span, other) for other in obstacles)


def _within(span: Span, faces: Sequence[Span], reach_mm: float) -> bool:
    return any(_distance_mm(span, face) <= reach_mm for face in faces)


def _overlap(a: Span, b: Span) -> bool:
    return (
        a[0] < b[3] - SLACK_MM
        and b[0] < a[3] - SLACK_MM
        and a[1] < b[4] - SLACK_MM
        and b[1] < a[4] - SLACK_MM
        and a[2] < b[5] - SLACK_MM
        and b[2] < a[5] - SLACK_MM
    )


def _distance_mm(a: Span, b: Span) -> float:
    """Shortest way between two boxes. [mm]"""
    gaps = (max(a[n] - b[n + 3], b[n] - a[n + 3], 0.0) for n in range(3))
    return float(sum(gap * gap for gap in gaps) ** 0.5)
