"""What `tco.bank.fit.fit` is asked with and answers with: plain frozen values, lengths in mm."""

import math
from dataclasses import dataclass
from typing import Literal

Orientation = Literal["upright", "on_side", "on_end"]
Wall = Literal["width", "depth", "height", "opening_a", "opening_b"]

MOST_MOVE_MM = 1000.0
"""A wall is not asked to move further than this (own choice)."""


@dataclass(frozen=True)
class Box:
    """Outside dimensions of a pack standing upright, terminals on top, in mm."""

    width_mm: float
    depth_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        _require_positive(self, "width_mm", "depth_mm", "height_mm")


@dataclass(frozen=True)
class Compartment:
    """Inside dimensions of a box-shaped space, its opening and the clearances to keep, in mm.

    `opening_a_mm` is measured along the width; `opening_b_mm` along the depth for an opening in
    the top, along the height for one in the front. None: open over the whole of that dimension.
    """

    name: str
    width_mm: float
    depth_mm: float
    height_mm: float
    opening_a_mm: float | None = None
    opening_b_mm: float | None = None
    opening_side: Literal["top", "front"] = "top"
    clearance_side_mm: float = 0.0
    clearance_between_mm: float = 0.0
    clearance_top_mm: float = 0.0
    stacking: bool = False

    def __post_init__(self) -> None:
        _require_positive(self, "width_mm", "depth_mm", "height_mm")
        for name in ("opening_a_mm", "opening_b_mm"):
            if getattr(self, name) is not None:
                _require_positive(self, name)
        for name in ("clearance_side_mm", "clearance_between_mm", "clearance_top_mm"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{self.name}: {name} must be zero or more, not {value}")
        if self.opening_side not in ("top", "front"):
            raise ValueError(f"{self.name}: the opening is in the top or the front")


@dataclass(frozen=True)
class PlacedBox:
    """A pack in place: corner nearest the origin, extent along x, y, z (all mm), and how it lies.

    `terminals` is the direction the terminals point: "up", "+x", or "-y" (towards the front).
    """

    compartment: str
    x: float
    y: float
    z: float
    dx: float
    dy: float
    dz: float
    orientation: Orientation
    terminals: Literal["up", "+x", "-y"]


@dataclass(frozen=True)
class WallMove:
    """One dimension of one compartment made larger by `by_mm`."""

    compartment: str
    wall: Wall
    by_mm: float


@dataclass(frozen=True)
class FitResult:
    """What `fit` found.

    fits: all packs have a place.
    exact: the search was exhaustive (up to eight packs). If not, `fits` is still a true layout,
        but a "no" may be wrong, `fits_at_most` too low and the moves too large.
    layout: the packs in place; where not all fit, as many as do.
    shortfall_mm: the smallest move of a single wall, of those up to `MOST_MOVE_MM`, that makes
        room for all; 0 when they fit; None when no such single move does.
    wall, compartment: the wall meant by `shortfall_mm`, None with 0 or None.
    moves: that move; where no single one does, a set of moves of one compartment that together
        make room (not claimed to be the smallest set); empty when the packs fit or none was found.
    fits_at_most: the largest number of packs that fits, counted no further than asked.
    reason: a sentence for the owner, millimetres rounded up.
    """

    fits: bool
    exact: bool
    layout: tuple[PlacedBox, ...]
    shortfall_mm: float | None
    compartment: str | None
    wall: Wall | None
    moves: tuple[WallMove, ...]
    fits_at_most: int
    reason: str


def _require_positive(model: Box | Compartment, *names: str) -> None:
    for name in names:
        value = getattr(model, name)
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} must be above zero, not {value}")
