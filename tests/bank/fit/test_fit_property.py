"""`tco.bank.fit.fit` against an independent brute force, and what must hold of every answer."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import combinations, combinations_with_replacement

from hypothesis import event, given, settings
from hypothesis import strategies as st

from tco.bank.fit.fit import fit
from tco.bank.fit.models import MOST_MOVE_MM, Box, Compartment, FitResult, Orientation
from tco.bank.fit.search import Shape, pack

ORIENTATION_SETS: list[tuple[Orientation, ...]] = [
    ("upright",),
    ("on_side",),
    ("upright", "on_side"),
    ("on_end", "on_side"),
    ("upright", "on_side", "on_end"),
]
WALLS = ("width", "depth", "height", "opening_a", "opening_b")
OPEN = 10**6


# --- brute force: every place on an integer grid, every choice of places that are far enough
# apart. Whole lengths lose nothing: a packing pushed to the left and down has whole corners. ---


def brute_poses(box: Box, orientations: Iterable[str]) -> list[tuple[str, int, int, int, str]]:
    """Name, extent along x, y and z, and the axis the terminals point along."""
    w, d, h = int(box.width_mm), int(box.depth_mm), int(box.height_mm)
    poses = []
    if "upright" in orientations:
        poses += [("upright", w, d, h, "z"), ("upright", d, w, h, "z")]
    small, large = min(w, d), max(w, d)
    if "on_side" in orientations:
        poses += [("on_side", large, h, small, "y"), ("on_side", h, large, small, "x")]
    if "on_end" in orientations:
        poses += [("on_end", small, h, large, "y"), ("on_end", h, small, large, "x")]
    return poses


def brute_levels(name: str, dz: int, c: Compartment, most: int) -> int:
    """Packs above each other, counted one by one."""
    top_room = c.clearance_top_mm if name == "upright" else c.clearance_side_mm
    step = c.clearance_between_mm
    if name == "upright":
        step = max(step, c.clearance_top_mm)
    levels, top = 0, 0.0
    while levels < (most if c.stacking else 1):
        top = top + step + dz if levels else dz
        if top + top_room > c.height_mm:
            break
        levels += 1
    return levels


def brute_most(box: Box, c: Compartment, orientations: Iterable[str], most: int) -> int:
    side, gap, lug = c.clearance_side_mm, c.clearance_between_mm, c.clearance_top_mm
    a, b = c.opening_a_mm or OPEN, c.opening_b_mm or OPEN
    blocks = set()
    for name, dx, dy, dz, axis in brute_poses(box, orientations):
        turns = ((dx, dy), (dy, dx))
        if c.opening_side == "top" and not any(u <= a and v <= b for u, v in turns):
            continue
        if c.opening_side == "front" and not any(u <= a and dz <= b for u, _ in turns):
            continue
        room = max(0, lug - min(side, gap))
        levels = brute_levels(name, dz, c, most)
        if levels:
            blocks.add((int(dx + room * (axis == "x")), int(dy + room * (axis == "y")), levels))
    wide, deep = c.width_mm - 2 * side, c.depth_mm - 2 * side
    return brute_pack(blocks, int(wide), int(deep), gap, most)


def brute_pack(
    blocks: Iterable[tuple[int, int, int]], wide: int, deep: int, gap: float, most: int
) -> int:
    """Most packs, up to `most`, in columns (width, depth, levels) at least `gap` apart."""
    places = [
        (x, y, x + dx, y + dy, levels)
        for dx, dy, levels in blocks
        for x in range(wide - dx + 1)
        for y in range(deep - dy + 1)
    ]
    apart = [0] * len(places)
    for i, j in combinations(range(len(places)), 2):
        p, q = places[i], places[j]
        if p[2] + gap <= q[0] or q[2] + gap <= p[0] or p[3] + gap <= q[1] or q[3] + gap <= p[1]:
            apart[i] |= 1 << j  # only later ones: each set of places is met once

    def can(wanted: int, free: int) -> bool:
        while free:
            i = (free & -free).bit_length() - 1
            free &= free - 1
            if places[i][4] >= wanted or can(wanted - places[i][4], free & apart[i]):
                return True
        return False

    return next((n for n in range(most, 0, -1) if can(n, (1 << len(places)) - 1)), 0)


# --- what every answer must satisfy ---


def overlap(p0: float, p1: float, q0: float, q1: float, gap: float) -> bool:
    return p0 < q1 + gap - 1e-6 and q0 < p1 + gap - 1e-6


def check_layout(result: FitResult, box: Box, compartments: list[Compartment]) -> None:
    named = {c.name: c for c in compartments}
    assert len(result.layout) == result.fits_at_most
    for p in result.layout:
        c = named[p.compartment]
        assert sorted((p.dx, p.dy, p.dz)) == sorted((box.width_mm, box.depth_mm, box.height_mm))
        upright, lug, side = p.terminals == "up", c.clearance_top_mm, c.clearance_side_mm
        assert upright == (p.orientation == "upright")
        assert p.x >= side - 1e-6
        assert p.y >= (max(lug, side) if p.terminals == "-y" else side) - 1e-6
        right = max(lug, side) if p.terminals == "+x" else side
        assert p.x + p.dx + right <= c.width_mm + 1e-6
        assert p.y + p.dy + side <= c.depth_mm + 1e-6
        assert p.z >= 0
        assert p.z + p.dz + (lug if upright else side) <= c.height_mm + 1e-6
        if p.z > 0:
            assert c.stacking
            below = [
                q
                for q in result.layout
                if (q.compartment, q.x, q.y, q.dx, q.dy) == (p.compartment, p.x, p.y, p.dx, p.dy)
                and q.z < p.z
            ]
            assert below
    for p, q in combinations(result.layout, 2):
        if p.compartment != q.compartment:
            continue
        c = named[p.compartment]
        gap, lug = c.clearance_between_mm, c.clearance_top_mm
        assert not (
            overlap(p.x, p.x + p.dx, q.x, q.x + q.dx, gap)
            and overlap(p.y, p.y + p.dy, q.y, q.y + q.dy, gap)
            and overlap(p.z, p.z + p.dz, q.z, q.z + q.dz, gap)
        )
        for one, other in ((p, q), (q, p)):  # nothing within the terminal room
            ahead = {"up": (0, 0, lug), "+x": (lug, 0, 0), "-y": (0, lug, 0)}[one.terminals]
            low_y = one.y - ahead[1]
            assert not (
                overlap(one.x, one.x + one.dx + ahead[0], other.x, other.x + other.dx, 0)
                and overlap(low_y, one.y + one.dy, other.y, other.y + other.dy, 0)
                and overlap(one.z, one.z + one.dz + ahead[2], other.z, other.z + other.dz, 0)
            )


def grown(
    compartments: list[Compartment], name: str, wall: str, by_mm: float
) -> list[Compartment] | None:
    """The compartments with one dimension changed; None where it would not be above zero."""
    out = []
    for c in compartments:
        if c.name == name:
            size = getattr(c, f"{wall}_mm")
            if size is None or size + by_mm <= 0:
                return None
            out.append(replace(c, **{f"{wall}_mm": size + by_mm}))
        else:
            out.append(c)
    return out


# --- strategies ---

whole = st.integers
small_boxes = st.builds(Box, whole(1, 4), whole(1, 4), whole(1, 4))


def small_compartments(name: str, most: int = 8) -> st.SearchStrategy[Compartment]:
    return st.builds(
        Compartment,
        st.just(name),
        whole(1, most),
        whole(1, most),
        whole(1, 7),
        opening_a_mm=st.one_of(st.none(), whole(1, 6)),
        opening_b_mm=st.one_of(st.none(), whole(1, 6)),
        opening_side=st.sampled_from(["top", "front"]),
        clearance_side_mm=whole(0, 1),
        clearance_between_mm=whole(0, 2),
        clearance_top_mm=whole(0, 2),
        stacking=st.booleans(),
    )


plain_compartments = st.builds(Compartment, st.just("locker"), whole(3, 9), whole(3, 9), st.just(9))
real_mm = st.floats(80, 420).map(lambda v: round(v, 1))


@st.composite
def real_cases(draw: st.DrawFn) -> tuple[Box, int, list[Compartment], tuple[Orientation, ...]]:
    """Packs and lockers of everyday size, with fractions of a millimetre."""
    box = Box(draw(real_mm), draw(real_mm), draw(real_mm))
    clearances = st.sampled_from([0.0, 5.0, 12.7, 30.0])
    compartments = [
        Compartment(
            f"locker {i}",
            draw(st.floats(200, 1500)),
            draw(st.floats(200, 900)),
            draw(st.floats(150, 900)),
            draw(st.one_of(st.none(), st.floats(80, 600))),
            draw(st.one_of(st.none(), st.floats(80, 600))),
            draw(st.sampled_from(["top", "front"])),
            draw(clearances),
            draw(clearances),
            draw(clearances),
            draw(st.booleans()),
        )
        for i in range(draw(whole(1, 2)))
    ]
    return box, draw(whole(1, 8)), compartments, draw(st.sampled_from(ORIENTATION_SETS))


# --- properties ---


def test_every_small_floor_agrees_with_brute_force() -> None:
    """All oblong packs up to 5 x 4 and floors up to 10 x 10, up to five packs: no chance taken."""
    tried = 0
    for a, b in combinations(range(5, 0, -1), 2):
        for width, depth in combinations_with_replacement(range(2, 11), 2):
            count = min(5, width * depth // (a * b))
            if count >= 2:
                c = Compartment("locker", width, depth, 1)
                most = brute_most(Box(a, b, 1), c, ["upright"], count)
                assert fit(Box(a, b, 1), count, [c]).fits_at_most == most, (a, b, width, depth)
                tried += 1
    assert tried > 250


@settings(max_examples=500, deadline=None)
@given(small_boxes, whole(1, 4), small_compartments("locker"), st.sampled_from(ORIENTATION_SETS))
def test_finds_as_many_as_brute_force(
    box: Box, count: int, c: Compartment, orientations: tuple[Orientation, ...]
) -> None:
    result = fit(box, count, [c], orientations=orientations)
    most = brute_most(box, c, orientations, count)
    event(f"{most} of {count}")
    assert (result.fits_at_most, result.fits, result.exact) == (most, most == count, True)
    check_layout(result, box, [c])


@settings(max_examples=600, deadline=None)
@given(
    st.lists(st.builds(Shape, whole(1, 4), whole(1, 4), whole(1, 3)), min_size=1, max_size=4),
    whole(3, 7),
    whole(3, 7),
    whole(1, 8),
)
def test_any_mix_of_blocks_agrees_with_brute_force(
    shapes: list[Shape], width: int, depth: int, target: int
) -> None:
    """The search underneath, with columns of different heights and shapes that are no turns."""
    found = pack(tuple(shapes), width, depth, target)
    assert (found is not None) == (brute_pack(set(shapes), width, depth, 0, target) == target)
    if found is not None:
        assert sum(shapes[s.shape].levels for s in found) >= target
        for s in found:
            assert 0 <= s.x <= width - shapes[s.shape].width
            assert 0 <= s.y <= depth - shapes[s.shape].depth
        for s, t in combinations(found, 2):
            a, b = shapes[s.shape], shapes[t.shape]
            across = overlap(s.x, s.x + a.width, t.x, t.x + b.width, 0)
            assert not (across and overlap(s.y, s.y + a.depth, t.y, t.y + b.depth, 0))


@settings(max_examples=300, deadline=None)
@given(whole(2, 5), whole(1, 4), whole(2, 5), plain_compartments)
def test_tight_floors_agree_with_brute_force(
    width: int, depth: int, count: int, c: Compartment
) -> None:
    """No clearances, room for about as many packs as asked: where clever layouts matter."""
    box = Box(width, depth, 3)
    result = fit(box, count, [c])
    assert result.fits_at_most == brute_most(box, c, ["upright"], count)
    check_layout(result, box, [c])


@settings(max_examples=200, deadline=None)
@given(
    small_boxes,
    whole(1, 4),
    small_compartments("left", 6),
    small_compartments("right", 6),
    st.sampled_from(ORIENTATION_SETS),
)
def test_two_compartments_agree_with_brute_force(
    box: Box,
    count: int,
    left: Compartment,
    right: Compartment,
    orientations: tuple[Orientation, ...],
) -> None:
    result = fit(box, count, [left, right], orientations=orientations)
    both = sum(brute_most(box, c, orientations, count) for c in (left, right))
    assert result.fits_at_most == min(count, both)
    check_layout(result, box, [left, right])


@settings(max_examples=200, deadline=None)
@given(small_boxes, whole(1, 4), small_compartments("locker", 6), st.sampled_from(ORIENTATION_SETS))
def test_shortfall_is_the_smallest_move_by_brute_force(
    box: Box, count: int, c: Compartment, orientations: tuple[Orientation, ...]
) -> None:
    """Whole lengths have whole shortfalls: try every wall, growing it millimetre by millimetre."""
    result = fit(box, count, [c], orientations=orientations)
    most_useful = 12  # a longer single move is left to the other tests, brute force gets slow

    def cures(wall: str, by: int) -> bool:
        now = getattr(c, f"{wall}_mm")
        if now is None:
            return False
        larger = replace(c, **{f"{wall}_mm": now + by})
        return brute_most(box, larger, orientations, count) == count

    least = next(
        (by for by in range(most_useful) if any(cures(w, by) for w in WALLS if by or w == "width")),
        None,
    )
    event(f"least {least}")
    if least is None:
        assert result.shortfall_mm is None or result.shortfall_mm >= most_useful
    else:
        assert result.shortfall_mm == least


@settings(max_examples=300, deadline=None)
@given(real_cases())
def test_moves_cure_and_the_shortfall_is_exact(
    case: tuple[Box, int, list[Compartment], tuple[Orientation, ...]],
) -> None:
    box, count, compartments, orientations = case
    result = fit(box, count, compartments, orientations=orientations)
    check_layout(result, box, compartments)
    event("fits" if result.fits else f"{len(result.moves)} moves")
    if result.fits:
        assert (result.shortfall_mm, result.moves, result.wall) == (0, (), None)
        return
    cured: list[Compartment] | None = compartments
    for move in result.moves:
        assert cured is not None
        # a hair more: sizes are rounded to 0.0001 mm
        cured = grown(cured, move.compartment, move.wall, move.by_mm + 1e-4)
    if result.moves:
        assert cured is not None
        assert fit(box, count, cured, orientations=orientations).fits
    short = MOST_MOVE_MM if result.shortfall_mm is None else result.shortfall_mm
    for c in compartments:
        for wall in WALLS:
            almost = grown(compartments, c.name, wall, short - 1)
            assert almost is None or not fit(box, count, almost, orientations=orientations).fits


@settings(max_examples=150, deadline=None)
@given(real_cases(), st.sampled_from(WALLS), st.floats(0, 300))
def test_a_larger_compartment_never_holds_less(
    case: tuple[Box, int, list[Compartment], tuple[Orientation, ...]], wall: str, more: float
) -> None:
    box, count, compartments, orientations = case
    before = fit(box, count, compartments, orientations=orientations)
    larger = grown(compartments, compartments[0].name, wall, more)
    if larger is not None:
        after = fit(box, count, larger, orientations=orientations)
        assert after.fits_at_most >= before.fits_at_most
        if before.shortfall_mm is not None:
            assert after.shortfall_mm is not None
            assert after.shortfall_mm <= before.shortfall_mm


@settings(max_examples=200, deadline=None)
@given(real_cases())
def test_turning_the_plan_or_the_pack_changes_nothing(
    case: tuple[Box, int, list[Compartment], tuple[Orientation, ...]],
) -> None:
    """Swapping width with depth, of the pack or (opened from the top) of the compartments."""
    box, count, compartments, orientations = case
    from_top = [replace(c, opening_side="top") for c in compartments]
    turned = [
        replace(
            c,
            width_mm=c.depth_mm,
            depth_mm=c.width_mm,
            opening_a_mm=c.opening_b_mm,
            opening_b_mm=c.opening_a_mm,
        )
        for c in from_top
    ]
    answer = fit(box, count, from_top, orientations=orientations)
    swapped_box = Box(box.depth_mm, box.width_mm, box.height_mm)
    for other in (
        fit(box, count, turned, orientations=orientations),
        fit(swapped_box, count, from_top, orientations=orientations),
    ):
        assert other.fits_at_most == answer.fits_at_most
        assert other.shortfall_mm == answer.shortfall_mm


@settings(max_examples=25, deadline=None)
@given(whole(9, 14), real_mm, real_mm, st.floats(400, 1600), st.floats(300, 900), st.booleans())
def test_beyond_eight_packs_every_claim_holds(
    count: int, width: float, depth: float, room: float, across: float, stacking: bool
) -> None:
    box = Box(width, depth, 200)
    c = Compartment("locker", room, across, 650, stacking=stacking, clearance_top_mm=10)
    result = fit(box, count, [c])
    assert not result.exact
    check_layout(result, box, [c])
    if result.moves:
        cured: list[Compartment] | None = [c]
        for move in result.moves:
            assert cured is not None
            cured = grown(cured, move.compartment, move.wall, move.by_mm + 1e-4)
        assert cured is not None
        assert fit(box, count, cured).fits
