"""Packing equal blocks on a rectangular floor, in whole units of length.

The floor problem behind `tco.bank.fit.fit`: place enough blocks, each of one of a few shapes (the
two rotations of a pack, a pack on its side ...), without overlap and with sides parallel to the
walls. Everything is an integer, so comparisons are exact.

Why the search is exhaustive. In any packing the blocks can be numbered so that each block lies
wholly to the left of, or wholly below, every later one (the second sequence of a sequence pair:
Murata et al., IEEE Trans. CAD 15 (1996) 1518-1524, from memory). Call "taken" every point that has
an already placed block's upper right corner to its upper right: a region under a descending
staircase. A later block's lower left corner is never inside it. So, in that order, each block can
be slid left and down into an inner corner of the staircase; blocks still to come stay clear,
because the taken region only shrinks. Hence every packing, pinwheels included, can be rebuilt by
putting blocks into staircase corners, and trying all corners and shapes tries all packings
(the corner points of Martello, Pisinger and Vigo, Oper. Res. 48 (2000) 256-267, from memory).
"""

from bisect import bisect_right
from collections.abc import Callable
from functools import lru_cache
from itertools import combinations_with_replacement
from typing import NamedTuple

MOST_EXACT = 8
"""Up to this many packs the search is exhaustive."""


class Shape(NamedTuple):
    """A block seen from above: its two sides, and how many packs a column of it holds."""

    width: int
    depth: int
    levels: int


class Spot(NamedTuple):
    """A placed column: index of its shape, and its lower left corner."""

    shape: int
    x: int
    y: int


Shapes = tuple[Shape, ...]
Steps = tuple[tuple[int, int], ...]


@lru_cache(maxsize=8192)
def pack(shapes: Shapes, width: int, depth: int, target: int) -> tuple[Spot, ...] | None:
    """Columns on a `width` x `depth` floor that together hold at least `target` packs, or None.

    For `target` up to `MOST_EXACT` None means that no layout exists. Beyond that only the
    layouts of `_rows` are tried: what is returned is a true layout, None proves nothing.
    """
    useful = _useful(shapes, width, depth)
    for i in useful:
        w, d, levels = shapes[i]
        across, columns = width // w, -(-target // levels)
        if across * (depth // d) >= columns:
            return tuple(Spot(i, n % across * w, n // across * d) for n in range(columns))
    if not useful:
        return None
    kept = tuple(shapes[i] for i in useful)
    spots = (
        _corner_search(kept, width, depth, target)
        if target <= MOST_EXACT
        else _enough(kept, _rows(kept, width, depth, 3)[1], target)
    )
    return None if spots is None else tuple(Spot(useful[s.shape], s.x, s.y) for s in spots)


def least_width(
    shapes: Shapes, depth: int, target: int, *, above: int, limit: int, step: int
) -> int | None:
    """Smallest floor width above `above`, at most `limit`, at which `pack` succeeds, else None.

    With blocks slid into corners the width used is a sum of block widths, so only such sums are
    tried, by bisection (a wider floor never holds less). Beyond `MOST_EXACT` packs widths at
    every `step` are tried instead.
    """

    def enough(width: int) -> bool:
        return pack(shapes, width, depth, target) is not None

    if target > MOST_EXACT:
        return first_true(range(above + step, limit + 1, step), enough)
    sums = _sums(tuple(sorted({s.width for s in shapes if s.depth <= depth})), target)
    return first_true(sums[bisect_right(sums, above) : bisect_right(sums, limit)], enough)


def first_true(values: range | tuple[int, ...], test: Callable[[int], bool]) -> int | None:
    """First of the ascending `values` that passes a `test` which, once passed, stays passed."""
    if not values or not test(values[-1]):
        return None
    low, high = 0, len(values) - 1
    while low < high:
        middle = (low + high) // 2
        if test(values[middle]):
            high = middle
        else:
            low = middle + 1
    return values[high]


def _useful(shapes: Shapes, width: int, depth: int) -> list[int]:
    """Indices of the shapes that fit the floor and are not merely a larger version of another."""
    kept: list[int] = []
    order = sorted(range(len(shapes)), key=lambda i: (shapes[i][0], shapes[i][1], -shapes[i][2]))
    for i in order:
        w, d, levels = shapes[i]
        if w > width or d > depth or levels < 1:
            continue
        if any(shapes[k].depth <= d and shapes[k].levels >= levels for k in kept):
            continue
        kept.append(i)
    return kept


@lru_cache(maxsize=2048)
def _sums(lengths: tuple[int, ...], most: int) -> tuple[int, ...]:
    """Every sum of at most `most` of the lengths, repeats allowed, ascending from 0."""
    found = {0}
    for terms in range(1, most + 1):
        found.update(map(sum, combinations_with_replacement(lengths, terms)))
    return tuple(sorted(found))


def _corner_search(shapes: Shapes, width: int, depth: int, target: int) -> tuple[Spot, ...] | None:
    """Branch and bound over the staircase corners; see the head of this module.

    A branch is cut when the room left is too small. Room is counted strictly: a line across the
    free part is never covered by more than the longest sum of block sides that fits it, so each
    strip of the free region counts only that much, along both axes. A staircase already reached
    with as many packs is not searched again.
    """
    across = _sums(tuple(sorted({s.width for s in shapes})), target)
    along = _sums(tuple(sorted({s.depth for s in shapes})), target)
    fill_x: dict[int, int] = {}  # free length -> how much of it blocks can cover
    fill_y: dict[int, int] = {}
    need = [0]  # least floor area that blocks holding so many packs can take
    for packs in range(1, target + 1):
        need.append(min(need[max(0, packs - s.levels)] + s.width * s.depth for s in shapes))
    reached: dict[Steps, int] = {}

    def room(steps: Steps) -> int:
        by_rows = by_columns = 0
        upper, left = depth, 0
        for x, y in (*steps, (width, 0)):
            # the strip upper..y starts right of `left`; the strip left..x starts above y
            if left not in fill_x:
                fill_x[left] = across[bisect_right(across, width - left) - 1]
            if y not in fill_y:
                fill_y[y] = along[bisect_right(along, depth - y) - 1]
            by_rows += (upper - y) * fill_x[left]
            by_columns += (x - left) * fill_y[y]
            upper, left = y, x
        return min(by_rows, by_columns)

    def search(steps: Steps, packs: int) -> tuple[Spot, ...] | None:
        for corner in range(len(steps) + 1):
            x = steps[corner - 1][0] if corner else 0
            y = steps[corner][1] if corner < len(steps) else 0
            for i, (w, d, levels) in enumerate(shapes):
                right, top, held = x + w, y + d, packs + levels
                if right > width or top > depth:
                    continue
                if held >= target:
                    return (Spot(i, x, y),)
                first, last = corner, corner
                while first and steps[first - 1][1] <= top:
                    first -= 1
                while last < len(steps) and steps[last][0] <= right:
                    last += 1
                risen = (*steps[:first], (right, top), *steps[last:])
                if reached.get(risen, -1) >= held:
                    continue
                reached[risen] = held
                if room(risen) < need[target - held]:
                    continue
                rest = search(risen, held)
                if rest is not None:
                    return (Spot(i, x, y), *rest)
        return None

    return None if room(()) < need[target] else search((), 0)


@lru_cache(maxsize=65536)
def _rows(
    shapes: Shapes, width: int, depth: int, blocks: int
) -> tuple[int, tuple[tuple[int, int, int, int, int], ...]]:
    """Most packs in at most `blocks` plain grids, cut off one after another by full-length cuts.

    Returns the number held and the grids as (shape, x, y, number across, number along).
    A larger floor never holds less, because every layout of the smaller one is still tried.
    """
    best, best_grids = 0, ()  # type: int, tuple[tuple[int, int, int, int, int], ...]
    for i, (w, d, levels) in enumerate(shapes):
        nx, ny = width // w, depth // d
        if nx * ny * levels > best:
            best, best_grids = nx * ny * levels, ((i, 0, 0, nx, ny),)
        if blocks < 2 or not nx * ny:
            continue
        for across, along, dx, dy in [
            *((n, ny, n * w, 0) for n in range(1, nx + 1)),
            *((nx, n, 0, n * d) for n in range(1, ny + 1)),
        ]:
            more, grids = _rows(shapes, width - dx, depth - dy, blocks - 1)
            if across * along * levels + more > best:
                best = across * along * levels + more
                moved = ((k, x + dx, y + dy, p, q) for k, x, y, p, q in grids)
                best_grids = ((i, 0, 0, across, along), *moved)
    return best, best_grids


def _enough(
    shapes: Shapes, grids: tuple[tuple[int, int, int, int, int], ...], target: int
) -> tuple[Spot, ...] | None:
    """The columns of the grids until `target` packs are held, None if they hold fewer."""
    spots: list[Spot] = []
    held = 0
    for i, x, y, across, along in grids:
        for n in range(across * along):
            if held >= target:
                return tuple(spots)
            spots.append(
                Spot(i, x + n % across * shapes[i].width, y + n // across * shapes[i].depth)
            )
            held += shapes[i].levels
    return tuple(spots) if held >= target else None
