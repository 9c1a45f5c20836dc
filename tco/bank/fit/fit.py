"""Whether a number of equal battery boxes fits one or more box-shaped compartments.

Seen from the opening, x runs along the width, y along the depth away from the viewer, z up; the
origin is the inner lower corner. Boxes stand parallel to the walls. What is taken as room:

- A pack keeps `clearance_side_mm` to each of the four side walls and `clearance_between_mm` to
  every other pack.
- Its terminals keep `clearance_top_mm` free in front of them, whichever way they point: above an
  upright pack, beside a pack that lies. A lying pack and its terminal room are one block, and the
  ordinary clearances are kept around the block; they count towards the terminal room (the smaller
  of the side and the between clearance, should they differ). A lying pack also keeps
  `clearance_side_mm` to the lid.
- Without `stacking` every pack stands on the floor. With it, packs also stand in columns of one
  footprint and one orientation, straight above each other: lying packs `clearance_between_mm`
  apart, upright ones `clearance_top_mm` apart (on a shelf or frame: a pack must not stand on
  terminals). Other ways of stacking are not considered.
- A pack passes the opening in the orientation in which it then stands, turned about the vertical
  as suits; tilting while passing, and whether it can be turned or shifted inside past the packs
  already there, are not considered.

The search (`tco.bank.fit.search`) is exhaustive up to eight packs, pinwheel layouts included.
Lengths are rounded to 0.0001 mm and then compared exactly.

Whether a pack may lie, be stacked or be boxed in is the maker's to say; compartments must be
ventilated and packs held down as local rules require. This module only measures.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import product
from typing import NamedTuple, get_args

from tco.bank.fit.models import (
    MOST_MOVE_MM,
    Box,
    Compartment,
    FitResult,
    Orientation,
    PlacedBox,
    Wall,
    WallMove,
)
from tco.bank.fit.search import MOST_EXACT, Shape, Spot, first_true, least_width, pack
from tco.bank.fit.words import says_fits, says_short

_UNITS = 10_000  # internal lengths are whole multiples of 1/10,000 mm
_WIDE_OPEN = 10**12


def fit(
    box: Box,
    count: int,
    compartments: Sequence[Compartment],
    *,
    orientations: Iterable[Orientation] = ("upright",),
    together: int = 1,
) -> FitResult:
    """Find places for `count` equal packs in the compartments, or what keeps them out.

    Each pack may take any of the `orientations`, whatever the others do, and either rotation
    about the vertical:

    - "upright": height vertical, terminals up;
    - "on_side": lying on the larger of its upright faces, so the smaller of width and depth is
      vertical;
    - "on_end": lying on the smaller of its upright faces, so the larger of width and depth is
      vertical.

    A compartment that holds all takes all; else each is given whole strings of `together` packs as
    far as it goes. See the head of this module for the clearances, the opening and stacking.
    Beyond eight packs only layouts of up to three plain grids per compartment are tried and `exact`
    is False. Results are remembered. Raises ValueError for a count below one, no compartment, two
    of one name, or an unknown or empty set of orientations.
    """
    chosen = frozenset(orientations)
    if not chosen or not chosen <= set(get_args(Orientation)):
        raise ValueError(f"orientations must be among {get_args(Orientation)}: {sorted(chosen)}")
    if count < 1:
        raise ValueError(f"count must be at least 1, not {count}")
    spaces = tuple(compartments)
    if not spaces or len({c.name for c in spaces}) < len(spaces):
        raise ValueError("at least one compartment is needed, each with its own name")
    return _fit(box, count, spaces, chosen, together)


@lru_cache(maxsize=4096)
def _fit(
    box: Box,
    count: int,
    compartments: tuple[Compartment, ...],
    chosen: frozenset[Orientation],
    together: int,
) -> FitResult:
    poses = _poses(box, chosen)
    spaces = [_space(c) for c in compartments]
    held: list[int] = []
    for space in spaces:
        held.append(_capacity(space, poses, count))
    at_most = min(count, sum(held))
    layout: list[PlacedBox] = []
    given = shared_out(held, at_most, together)
    for compartment, space, here in zip(compartments, spaces, given, strict=True):
        if here:
            layout.extend(_placed(compartment.name, space, poses, here))
    exact = count <= MOST_EXACT
    if at_most == count:
        reason = says_fits(count, compartments, layout)
        return FitResult(True, exact, tuple(layout), 0.0, None, None, (), count, reason)

    # Per compartment: packs it would have to take, the others being full.
    wanted = [count - sum(held) + most for most in held]
    best: tuple[int, int, Wall] | None = None
    for i, space in enumerate(spaces):
        for wall in get_args(Wall):
            limit = best[0] - 1 if best else round(MOST_MOVE_MM * _UNITS)
            move = _least_move(space, poses, wanted[i], wall, limit)
            if move is not None:
                best = (move, i, wall)
    single = None if best is None else WallMove(compartments[best[1]].name, best[2], _mm(best[0]))
    moves = (single,) if single else _several_moves(compartments, spaces, poses, tuple(wanted))
    at = next((c for c in compartments if moves and c.name == moves[0].compartment), None)
    return FitResult(
        fits=False,
        exact=exact,
        layout=tuple(layout),
        shortfall_mm=single.by_mm if single else None,
        compartment=single.compartment if single else None,
        wall=single.wall if single else None,
        moves=moves,
        fits_at_most=at_most,
        reason=says_short(count, at_most, at, moves, exact=exact),
    )


def shared_out(held: Sequence[int], count: int, together: int) -> list[int]:
    """How many of `count` packs go where so many can stand, strings of `together` kept whole."""
    if count and max(held) >= count:
        first = next(n for n, most in enumerate(held) if most >= count)
        return [count if n == first else 0 for n in range(len(held))]
    given: list[int] = []
    for most in held:
        given.append(min(most, count - sum(given)) // together * together)
    for n, most in enumerate(held):
        given[n] += min(most - given[n], count - sum(given))
    return given


class _Pose(NamedTuple):
    """A way to stand: footprint `a` x `b`, `rise` vertical; lying, the terminals point along b."""

    orientation: Orientation
    a: int
    b: int
    rise: int


class _Space(NamedTuple):
    """A compartment in internal lengths."""

    width: int
    depth: int
    height: int
    opening_a: int
    opening_b: int
    opens_on_top: bool
    side: int
    between: int
    terminal: int
    stacking: bool

    @property
    def floor(self) -> tuple[int, int]:
        """Width and depth of the floor for blocks that carry one between clearance each."""
        extra = self.between - 2 * self.side
        return self.width + extra, self.depth + extra

    def resized(self, wall: Wall, size: int) -> "_Space":
        """The same compartment with one dimension changed."""
        return _Space(**{**self._asdict(), wall: size})

    def passes(self, pose: _Pose) -> bool:
        """Whether a pack standing so passes the opening."""
        small, large = sorted((pose.a, pose.b))
        if self.opens_on_top:
            ways = sorted((self.opening_a, self.opening_b))
            return small <= ways[0] and large <= ways[1]
        return small <= self.opening_a and pose.rise <= self.opening_b

    def headroom(self, pose: _Pose) -> tuple[int, int]:
        """Height that one pack needs, and what each further one in its column adds."""
        if pose.orientation == "upright":
            return pose.rise + self.terminal, pose.rise + max(self.terminal, self.between)
        return pose.rise + self.side, pose.rise + self.between

    def blocks(self, poses: Sequence[_Pose], most: int) -> list[tuple[_Pose, bool, Shape]]:
        """Pose, whether its side a runs along x, and its block with clearances; only what passes.

        Columns hold `most` packs at the most, and at least one.
        """
        found = []
        lug_room = max(0, self.terminal - min(self.side, self.between))
        for pose in poses:
            first, further = self.headroom(pose)
            if first > self.height or not self.passes(pose):
                continue
            levels = 1 + (self.height - first) // further if self.stacking else 1
            a = pose.a + self.between
            b = pose.b + self.between + (0 if pose.orientation == "upright" else lug_room)
            found.append((pose, True, Shape(a, b, min(levels, most))))
            if a != b:
                found.append((pose, False, Shape(b, a, min(levels, most))))
        return found


def _units(length_mm: float) -> int:
    return round(length_mm * _UNITS)


def _mm(units: int) -> float:
    return units / _UNITS


def _poses(box: Box, chosen: frozenset[Orientation]) -> tuple[_Pose, ...]:
    width, depth, height = _units(box.width_mm), _units(box.depth_mm), _units(box.height_mm)
    small, large = sorted((width, depth))
    every = (
        _Pose("upright", width, depth, height),
        _Pose("on_side", large, height, small),
        _Pose("on_end", small, height, large),
    )
    return tuple(pose for pose in every if pose.orientation in chosen)


def _space(c: Compartment) -> _Space:
    return _Space(
        width=_units(c.width_mm),
        depth=_units(c.depth_mm),
        height=_units(c.height_mm),
        opening_a=_WIDE_OPEN if c.opening_a_mm is None else _units(c.opening_a_mm),
        opening_b=_WIDE_OPEN if c.opening_b_mm is None else _units(c.opening_b_mm),
        opens_on_top=c.opening_side == "top",
        side=_units(c.clearance_side_mm),
        between=_units(c.clearance_between_mm),
        terminal=_units(c.clearance_top_mm),
        stacking=c.stacking,
    )


def _spots(space: _Space, poses: Sequence[_Pose], count: int) -> tuple[Spot, ...] | None:
    shapes = tuple(shape for _, _, shape in space.blocks(poses, count))
    return pack(shapes, *space.floor, count)


def _capacity(space: _Space, poses: Sequence[_Pose], most: int) -> int:
    """How many packs the space holds, counted up to `most`."""
    return next((n for n in range(most, 0, -1) if _spots(space, poses, n) is not None), 0)


def _placed(name: str, space: _Space, poses: Sequence[_Pose], count: int) -> Iterable[PlacedBox]:
    """The packs of a layout that is known to exist."""
    blocks, spots = space.blocks(poses, count), _spots(space, poses, count)
    assert spots is not None
    left = count
    for spot in spots:
        pose, a_along_x, shape = blocks[spot.shape]
        dx, dy = (pose.a, pose.b) if a_along_x else (pose.b, pose.a)
        x, y = space.side + spot.x, space.side + spot.y
        upright = pose.orientation == "upright"
        if not upright and a_along_x:  # terminals to the front: their room comes first
            y += shape.depth - dy - space.between
        for level in range(min(shape.levels, left)):
            z = level * space.headroom(pose)[1]
            left -= 1
            yield PlacedBox(
                compartment=name,
                x=_mm(x),
                y=_mm(y),
                z=_mm(z),
                dx=_mm(dx),
                dy=_mm(dy),
                dz=_mm(pose.rise),
                orientation=pose.orientation,
                terminals="up" if upright else "-y" if a_along_x else "+x",
            )


def _least_move(
    space: _Space, poses: Sequence[_Pose], count: int, wall: Wall, limit: int
) -> int | None:
    """Smallest growth of one wall, at most `limit`, that makes room for `count` packs, or None."""
    if wall in ("width", "depth"):
        # both rotations of a block are there, so the depth is found like the width
        shapes = tuple(shape for _, _, shape in space.blocks(poses, count))
        along, across = space.floor if wall == "width" else space.floor[::-1]
        size = least_width(shapes, across, count, above=along, limit=along + limit, step=_UNITS)
        return None if size is None else size - along
    sizes: set[int] = set()
    if wall == "height":
        for pose in poses:
            first, further = space.headroom(pose)
            sizes.update(first + n * further for n in range(count if space.stacking else 1))
    elif wall == "opening_a" or space.opens_on_top:
        sizes.update(side for pose in poses for side in (pose.a, pose.b))
    else:
        sizes.update(pose.rise for pose in poses)
    now: int = getattr(space, wall)
    steps = tuple(sorted(size for size in sizes if now < size <= now + limit))
    found = first_true(
        steps, lambda size: _spots(space.resized(wall, size), poses, count) is not None
    )
    return None if found is None else found - now


def _several_moves(
    compartments: Sequence[Compartment],
    spaces: Sequence[_Space],
    poses: Sequence[_Pose],
    wanted: Sequence[int],
) -> tuple[WallMove, ...]:
    """Moves of one compartment that together make room: the least total among simple recipes.

    A recipe lets one pack in (opening, height, one floor dimension for one rotation) and then
    moves the other floor dimension as far as all packs need.
    """
    limit = round(MOST_MOVE_MM * _UNITS)
    best: tuple[int, tuple[WallMove, ...]] | None = None
    walls: tuple[Wall, Wall] = ("width", "depth")
    for compartment, space, count in zip(compartments, spaces, wanted, strict=True):
        for pose, turned in product(poses, (False, True)):
            a, b = (pose.b, pose.a) if turned else (pose.a, pose.b)
            if not space.opens_on_top:
                a, b = min(a, b), pose.rise
            let_in = space._replace(
                opening_a=max(space.opening_a, a),
                opening_b=max(space.opening_b, b),
                height=max(space.height, space.headroom(pose)[0]),
            )
            shapes = [s for p, _, s in let_in.blocks(poses, count) if p == pose]
            for shape, fixed, wall in product(shapes, walls, walls):
                if fixed == wall:
                    continue
                along, size = (
                    (shape.width, let_in.floor[0])
                    if fixed == "width"
                    else (shape.depth, let_in.floor[1])
                )
                ready = let_in.resized(fixed, getattr(let_in, fixed) + max(0, along - size))
                if _spots(ready, poses, count) is None:
                    move = _least_move(ready, poses, count, wall, limit)
                    if move is None:
                        continue
                    ready = ready.resized(wall, getattr(ready, wall) + move)
                growth = {w: getattr(ready, w) - getattr(space, w) for w in get_args(Wall)}
                total = sum(growth.values())
                if max(growth.values()) <= limit and (best is None or total < best[0]):
                    moves = (WallMove(compartment.name, w, _mm(g)) for w, g in growth.items() if g)
                    best = (total, tuple(moves))
    return best[1] if best else ()
