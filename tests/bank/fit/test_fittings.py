"""Room for fuses and busbars near the terminals."""

import pytest

from tco.bank.checks.space import check_fuse_room
from tco.bank.fit.fit import fit
from tco.bank.fit.fittings import (
    BUSBAR_MM,
    FUSE_REACH_MM,
    HOLDER_MM,
    Fitting,
    fittings,
    without_room,
)
from tco.bank.fit.models import Box, Compartment, FitResult

PACK = Box(330.0, 172.0, 215.0)


def locker(width: float, depth: float, height: float, clear: float = 30.0) -> Compartment:
    return Compartment("locker", width, depth, height, clearance_top_mm=clear)


def room(space: Compartment, packs: int, *, strings: int = 1, busbars: bool = True) -> list[str]:
    found = fit(PACK, packs, [space])
    assert found.fits
    pieces = fittings(strings=strings, busbars=busbars)
    return list(without_room((space,), found.layout, pieces))


def test_a_bare_fit_leaves_no_room_and_a_holder_s_width_does() -> None:
    """Beside the pack, along its depth: 60 mm wide, 160 long."""
    assert room(locker(330.0, 172.0, 245.0), 1) == ["main fuse"]
    assert room(locker(389.0, 172.0, 245.0), 1) == ["main fuse"]
    assert room(locker(390.0, 172.0, 245.0), 1) == []


def test_room_above_counts_beyond_what_the_cable_bends_in() -> None:
    assert room(locker(330.0, 172.0, 245.0 + 59.0), 1) == ["main fuse"]
    assert room(locker(330.0, 172.0, 245.0 + 60.0), 1) == []
    assert room(locker(330.0, 172.0, 245.0 + 60.0, clear=50.0), 1) == ["main fuse"]


def test_it_has_to_be_within_reach_of_the_terminals() -> None:
    """Room only above the 30 mm in which the cables bend: 30 mm from the terminals."""
    space = locker(330.0, 172.0, 245.0 + 60.0)
    layout = fit(PACK, 1, [space]).layout
    for reach, lacking in ((30.0, ()), (29.0, ("near",))):
        assert without_room((space,), layout, (Fitting("near", HOLDER_MM, reach),)) == lacking


def test_pieces_do_not_share_a_place() -> None:
    """A gap of 60 mm beside one pack: one holder by length, three by height, never the bars too."""
    two = [Fitting(f"fuse {n}", HOLDER_MM, FUSE_REACH_MM) for n in range(20)]
    space = locker(390.0, 172.0, 245.0)
    layout = fit(PACK, 1, [space]).layout
    lacking = without_room((space,), layout, tuple(two))
    held = len(two) - len(lacking)
    volume = 60.0 * 172.0 * 245.0
    assert 1 <= held <= volume // (160.0 * 60.0 * 60.0)
    assert list(lacking) == [f"fuse {n}" for n in range(held, 20)]


def test_what_a_bank_has_beside_its_packs() -> None:
    names = [piece.name for piece in fittings(strings=2, busbars=True)]
    assert names == ["fuse of string 1", "fuse of string 2", "busbar +", "busbar -", "main fuse"]
    assert [piece.name for piece in fittings(strings=1, busbars=True)] == ["main fuse"]
    jumped = fittings(strings=2, busbars=False)
    assert [piece.name for piece in jumped][-1] == "main fuse"
    assert len(jumped) == 3
    assert min(BUSBAR_MM) > 0


def test_a_roomy_locker_holds_all_of_two_strings() -> None:
    assert room(locker(900.0, 500.0, 400.0), 2, strings=2) == []
    tight = room(locker(330.0, 344.0, 245.0), 2, strings=2)
    assert len(tight) == 5


@pytest.mark.parametrize(("width", "verdict"), [(389.0, "caution"), (390.0, "pass")])
def test_the_check(width: float, verdict: str) -> None:
    space = locker(width, 172.0, 245.0)
    (found,) = check_fuse_room(fit(PACK, 1, [space]), [space], strings=1, busbars=True)
    assert (found.verdict, found.limit) == (verdict, 1.0)
    assert found.margin == (0.0 if verdict == "pass" else -1.0)
    assert "178 mm" in found.reason
    assert ("local code" in found.reason) == (verdict == "caution")


def test_no_check_where_the_packs_have_no_places() -> None:
    space = locker(100.0, 100.0, 100.0)
    short = fit(PACK, 1, [space])
    assert isinstance(short, FitResult)
    assert list(check_fuse_room(short, [space], strings=1, busbars=True)) == []
    assert list(check_fuse_room(None, [space], strings=1, busbars=True)) == []
