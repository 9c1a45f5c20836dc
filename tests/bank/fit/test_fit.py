"""Hand-made cases for `tco.bank.fit.fit`."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from functools import cache
from json import dumps

import pytest

from tco.bank.fit.fit import fit
from tco.bank.fit.models import Box, Compartment, WallMove
from tco.bank.fit.search import Shape, pack

PACK = Box(330, 172, 215)


def locker(width: float, depth: float, height: float = 400, **more: object) -> Compartment:
    return replace(Compartment("aft locker", width, depth, height), **more)  # type: ignore[arg-type]


# --- one dimension at a time ---


def test_exactly_fits() -> None:
    result = fit(PACK, 1, [locker(330, 172, 215)])
    assert result.fits
    assert result.exact
    assert result.shortfall_mm == 0
    assert result.reason == "one pack fits"
    (only,) = result.layout
    assert (only.x, only.y, only.z, only.dx, only.dy, only.dz) == (0, 0, 0, 330, 172, 215)


@pytest.mark.parametrize(
    ("size", "wall"),
    [((329, 172, 215), "width"), ((330, 171, 215), "depth"), ((330, 172, 214), "height")],
)
def test_one_millimetre_short(size: tuple[float, float, float], wall: str) -> None:
    result = fit(PACK, 1, [locker(*size)])
    assert not result.fits
    assert (result.fits_at_most, result.layout) == (0, ())
    assert (result.shortfall_mm, result.compartment, result.wall) == (1, "aft locker", wall)


def test_turned_pack_fits() -> None:
    (only,) = fit(PACK, 1, [locker(172, 330, 215)]).layout
    assert (only.dx, only.dy) == (172, 330)


def test_clearances_count_on_both_sides_between_and_above() -> None:
    # along: 10 + 330 + 5 + 330 + 10 = 685; across: 10 + 172 + 10 = 192; up: 215 + 40 = 255
    tight = locker(685, 192, 255, clearance_side_mm=10, clearance_between_mm=5, clearance_top_mm=40)
    result = fit(PACK, 2, [tight])
    assert result.fits
    assert sorted((p.x, p.y) for p in result.layout) == [(10, 10), (345, 10)]
    for wall in ("width", "depth", "height"):
        size = getattr(tight, f"{wall}_mm")
        short = fit(PACK, 2, [replace(tight, **{f"{wall}_mm": size - 1})])
        assert not short.fits
        assert (short.shortfall_mm, short.wall) == (1, wall)


def test_inches_add_up_without_rounding_trouble() -> None:
    box = Box(0.1, 0.1, 0.1)
    assert fit(box, 3, [locker(0.3, 0.1, 0.1)]).fits  # 0.1 + 0.1 + 0.1 > 0.3 in binary fractions
    inches = Box(12.9375 * 25.4, 6.8125 * 25.4, 8.5 * 25.4)
    assert fit(inches, 2, [locker(25.875 * 25.4, 6.8125 * 25.4, 8.5 * 25.4)]).fits


# --- orientations ---


def test_lying_packs_need_their_orientation_allowed() -> None:
    low = locker(400, 400, 180)
    assert not fit(PACK, 1, [low]).fits
    result = fit(PACK, 1, [low], orientations=["upright", "on_side"])
    assert result.fits
    (only,) = result.layout
    assert (only.orientation, only.dz) == ("on_side", 172)


def test_on_end_stands_on_its_smaller_face() -> None:
    (only,) = fit(PACK, 1, [locker(172, 215, 330)], orientations=["on_end"]).layout
    assert (only.dz, sorted((only.dx, only.dy))) == (330, [172, 215])
    # the pack's own width and depth are only names
    swapped = Box(172, 330, 215)
    assert fit(swapped, 1, [locker(172, 215, 330)], orientations=["on_end"]).fits
    assert not fit(swapped, 1, [locker(172, 215, 329)], orientations=["on_end"]).fits


def test_terminal_room_lies_in_front_of_the_terminals() -> None:
    """A lying pack 215 + 60 long with its lugs: 15 of the 60 are the side clearance anyway."""
    lying = locker(275 + 15, 360, 187, clearance_side_mm=15, clearance_between_mm=15)
    lying = replace(lying, clearance_top_mm=60)
    result = fit(PACK, 1, [lying], orientations=["on_side"])
    assert result.fits
    (only,) = result.layout
    assert only.terminals == "+x"
    assert only.x + only.dx + 60 == 290
    short = fit(PACK, 1, [replace(lying, width_mm=289)], orientations=["on_side"])
    assert (short.shortfall_mm, short.wall) == (1, "width")
    low = fit(PACK, 1, [replace(lying, height_mm=186)], orientations=["on_side"])
    assert (low.shortfall_mm, low.wall) == (1, "height")


def test_terminals_along_the_depth_point_to_the_front() -> None:
    c = locker(330, 275, 172, clearance_top_mm=60)
    (only,) = fit(PACK, 1, [c], orientations=["on_side"]).layout
    assert (only.terminals, only.y) == ("-y", 60)


def test_packs_may_lie_differently_in_one_compartment() -> None:
    """Floor 4 x 5, height 6: three on their sides (4 x 3, 2 high) beside two upright (4 x 2)."""
    box, hold = Box(4, 2, 3), locker(4, 5, 6, stacking=True)
    result = fit(box, 5, [hold], orientations=["upright", "on_side"])
    assert result.fits
    assert {p.orientation for p in result.layout} == {"upright", "on_side"}
    assert fit(box, 5, [hold], orientations=["upright"]).fits_at_most == 4
    assert fit(box, 5, [hold], orientations=["on_side"]).fits_at_most == 3


# --- floors no plain grid or guillotine solves ---


@cache
def guillotine_most(width: int, depth: int, a: int, b: int) -> int:
    """Most a x b boxes by edge-to-edge cuts alone, by trying every whole-number cut."""
    if not ((width >= a and depth >= b) or (width >= b and depth >= a)):
        return 0
    cuts = [
        guillotine_most(x, depth, a, b) + guillotine_most(width - x, depth, a, b)
        for x in range(1, width // 2 + 1)
    ]
    cuts += [
        guillotine_most(width, y, a, b) + guillotine_most(width, depth - y, a, b)
        for y in range(1, depth // 2 + 1)
    ]
    return max(1, *cuts) if cuts else 1


@pytest.mark.parametrize(
    ("a", "b", "width", "depth", "count"),
    [
        (5, 3, 8, 8, 4),  # the pinwheel: a hole of (a - b) squared in the middle
        (7, 5, 13, 12, 4),
        (5, 2, 9, 7, 6),
        (7, 3, 13, 10, 6),
        (5, 2, 9, 9, 7),
        (3, 2, 7, 7, 8),
        (5, 4, 18, 9, 8),
    ],
)
def test_layouts_no_guillotine_finds(a: int, b: int, width: int, depth: int, count: int) -> None:
    assert guillotine_most(width, depth, a, b) == count - 1
    result = fit(Box(a, b, 2), count, [locker(width, depth, 2)])
    assert result.fits
    used = {(x, y) for p in result.layout for x, y in cells(p.x, p.y, p.dx, p.dy)}
    assert len(used) == count * a * b  # no cell twice
    assert max(x for x, _ in used) < width
    assert max(y for _, y in used) < depth


def cells(x: float, y: float, dx: float, dy: float) -> list[tuple[int, int]]:
    return [(int(x) + i, int(y) + j) for i in range(int(dx)) for j in range(int(dy))]


def test_pinwheel_with_clearances() -> None:
    # sides 10 each and 5 between: 10 + 330 + 5 + 172 + 10 = 527
    c = locker(527, 527, clearance_side_mm=10, clearance_between_mm=5)
    assert fit(PACK, 4, [c]).fits
    short = fit(PACK, 4, [replace(c, width_mm=526)])
    assert (short.fits_at_most, short.shortfall_mm, short.wall) == (3, 1, "width")
    assert short.reason == "three packs fit; four would need the aft locker 1 mm wider"


def test_area_alone_does_not_make_room() -> None:
    """Four 5 x 3 cover 60 of the 63 cells of 9 x 7, but a row of 9 takes 5 + 3 or 3 + 3 + 3."""
    result = fit(Box(5, 3, 1), 4, [locker(9, 7, 1)])
    assert result.fits_at_most == 3
    # 10 wide takes two rows of two lying; the width is named before the depth where both need 1
    assert (result.shortfall_mm, result.wall) == (1, "width")


def test_the_same_outline_reached_with_more_packs_is_searched_again() -> None:
    """Two 4 x 2 columns of three beside two 2 x 2 of one: 6 x 4 of the floor, eight packs.

    Two 2 x 2 side by side have the outline of a single 4 x 2, with fewer packs.
    """
    shapes = (Shape(4, 2, 3), Shape(2, 2, 1))
    assert pack(shapes, 7, 5, 8) is not None
    assert pack(shapes, 5, 5, 8) is None  # two of three, and a strip 1 wide is left


# --- openings ---


def test_opening_on_top_blocks_and_turning_helps() -> None:
    c = locker(800, 500, opening_a_mm=320, opening_b_mm=330)
    assert fit(PACK, 2, [c]).fits  # 172 <= 320, 330 <= 330
    blocked = fit(PACK, 2, [replace(c, opening_b_mm=318)])
    assert not blocked.fits
    # the opening may grow to 330 along either side
    assert (blocked.shortfall_mm, blocked.wall) == (10, "opening_a")
    assert blocked.reason == "does not pass the opening of the aft locker: 10 mm too wide"


def test_opening_in_front_is_measured_upright() -> None:
    c = locker(800, 500, opening_side="front", opening_a_mm=172, opening_b_mm=215)
    assert fit(PACK, 2, [c]).fits
    low = fit(PACK, 2, [replace(c, opening_b_mm=200)])
    assert (low.shortfall_mm, low.wall) == (15, "opening_b")
    assert low.reason == "does not pass the opening of the aft locker: 15 mm too tall"
    assert fit(PACK, 2, [replace(c, opening_a_mm=215, opening_b_mm=172)]).fits is False
    lying = replace(c, opening_a_mm=215, opening_b_mm=172)
    assert fit(PACK, 1, [lying], orientations=["on_side"]).fits


def test_opening_left_open_does_not_bind() -> None:
    assert fit(PACK, 1, [locker(330, 172, 215, opening_a_mm=172)]).fits
    assert not fit(PACK, 1, [locker(330, 172, 215, opening_a_mm=171, opening_b_mm=171)]).fits


# --- several compartments ---


def test_packs_split_over_two_compartments() -> None:
    aft, bow = locker(345, 350), Compartment("Bow locker", 180, 340, 300)
    result = fit(PACK, 3, [aft, bow])
    assert result.fits
    assert [p.compartment for p in result.layout] == ["aft locker", "aft locker", "Bow locker"]
    assert result.reason == "three packs fit: two in the aft locker, one in Bow locker"
    four = fit(PACK, 4, [aft, bow])
    assert (four.fits_at_most, len(four.layout)) == (3, 3)
    # bow: 2 x 172 = 344 of 180 wide; aft: 3 x 172 = 516 of 345 or 502 of 350 deep (330 + 172)
    assert (four.shortfall_mm, four.compartment, four.wall) == (152, "aft locker", "depth")


def test_one_pack_in_either_of_two_small_compartments_is_not_two_in_one() -> None:
    small = [Compartment(n, 330, 172, 215) for n in ("left", "right")]
    assert fit(PACK, 2, small).fits
    assert fit(PACK, 3, small).fits_at_most == 2


# --- stacking ---


def test_stacking_only_where_allowed() -> None:
    c = locker(330, 172, 500, clearance_top_mm=30)
    assert fit(PACK, 2, [c]).fits_at_most == 1
    result = fit(PACK, 2, [replace(c, stacking=True)])
    assert [p.z for p in result.layout] == [0, 245]
    low = fit(PACK, 2, [replace(c, stacking=True, height_mm=489)])
    assert (low.fits_at_most, low.shortfall_mm, low.wall) == (1, 1, "height")
    assert low.reason == "one pack fits; two would need the aft locker 1 mm higher"


def test_lying_packs_stack_without_terminal_room() -> None:
    c = locker(330, 250, 344, clearance_top_mm=30, stacking=True)
    result = fit(PACK, 2, [c], orientations=["on_side"])
    assert [p.z for p in result.layout] == [0, 172]


# --- shortfalls and what is said ---


def test_too_tall_says_how_far_the_lid_must_rise() -> None:
    result = fit(PACK, 1, [locker(700, 400, 237, clearance_top_mm=40)])
    assert result.reason == "18 mm too tall: the lid of the aft locker would have to rise 18 mm"
    assert (result.shortfall_mm, result.wall) == (18, "height")


def test_two_fit_three_would_need_it_wider() -> None:
    result = fit(PACK, 3, [locker(473, 331)])
    assert result.reason == "two packs fit; three would need the aft locker 43 mm wider"
    assert result.moves == (WallMove("aft locker", "width", 43),)


def test_shortfall_is_a_fraction_of_a_millimetre_but_said_whole() -> None:
    result = fit(PACK, 1, [locker(329.6, 200)])
    assert result.shortfall_mm == pytest.approx(0.4)
    assert result.reason == "no pack fits; one would need the aft locker 1 mm wider"


def test_no_single_wall_cures_it() -> None:
    result = fit(PACK, 1, [locker(300, 150, 200)])
    assert (result.fits, result.shortfall_mm, result.wall) == (False, None, None)
    assert result.moves == (
        WallMove("aft locker", "width", 30),
        WallMove("aft locker", "depth", 22),
        WallMove("aft locker", "height", 15),
    )
    assert result.reason == (
        "no pack fits; moving one wall is not enough, one would need the aft locker "
        "30 mm wider, 22 mm deeper, 15 mm higher"
    )


def test_hopeless_within_a_metre() -> None:
    result = fit(Box(3000, 3000, 3000), 1, [locker(300, 150, 200)])
    assert (result.shortfall_mm, result.moves) == (None, ())
    assert "no room" in result.reason


def test_a_wall_moves_a_metre_and_no_further() -> None:
    assert fit(Box(1300, 100, 200), 1, [locker(300, 150, 200)]).shortfall_mm == 1000
    assert fit(Box(1301, 100, 200), 1, [locker(300, 150, 200)]).shortfall_mm is None
    assert fit(Box(100, 100, 1200), 1, [locker(300, 150, 200)]).shortfall_mm == 1000
    assert fit(Box(100, 100, 1201), 1, [locker(300, 150, 200)]).shortfall_mm is None


def test_result_goes_to_json() -> None:
    for c in (locker(300, 150, 200), locker(700, 400), locker(300, 400)):
        assert dumps(asdict(fit(PACK, 2, [c])), allow_nan=False)


def test_more_than_eight_is_a_true_layout_but_not_exact() -> None:
    result = fit(PACK, 12, [locker(4 * 172, 3 * 330)])
    assert (result.fits, result.exact, len(result.layout)) == (True, False, 12)
    short = fit(PACK, 12, [locker(4 * 172 - 3, 3 * 330)])
    # five lying across (5 x 172 = 860 deep, 330 wide) beside two rows of three standing
    assert (short.fits, short.exact, short.fits_at_most) == (False, False, 11)
    assert (short.shortfall_mm, short.wall) == (3, "width")
    assert "a better layout may exist" in short.reason


# --- refusals ---


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_sizes_are_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="depth_mm must be above zero"):
        Box(1, bad, 1)
    with pytest.raises(ValueError, match="opening_a_mm must be above zero"):
        locker(1, 1, opening_a_mm=bad)
    if bad != 0:
        with pytest.raises(ValueError, match="clearance_top_mm must be zero or more"):
            locker(1, 1, clearance_top_mm=bad)


@pytest.mark.parametrize(
    ("count", "compartments", "orientations", "message"),
    [
        (0, [locker(1, 1)], ["upright"], "count"),
        (1, [], ["upright"], "compartment"),
        (1, [locker(1, 1), locker(2, 2)], ["upright"], "its own name"),
        (1, [locker(1, 1)], [], "orientations"),
        (1, [locker(1, 1)], ["upside_down"], "orientations"),
    ],
)
def test_senseless_questions_are_refused(
    count: int, compartments: Sequence[Compartment], orientations: list[str], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        fit(PACK, count, compartments, orientations=orientations)  # type: ignore[arg-type]
