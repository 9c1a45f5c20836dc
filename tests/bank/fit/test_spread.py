"""Packs of one bank in several spaces: whole strings where they can be, real lengths where not."""

from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank, wired
from tco.bank.checks.space import check_space
from tco.bank.fit.fit import shared_out
from tco.bank.fit.models import FitResult, PlacedBox
from tco.bank.fit.space import fit_in_spaces
from tco.bank.fit.spread import TOGETHER, Spread, spread_of
from tco.bank.wiring.cable_runs import FUSE_PIECE_M, LINK_SLACK_M
from tco.case import Case, specify

Build = Callable[..., Case]

WIDTH_M = 0.330
ONE = {"width_mm": 350.0, "depth_mm": 190.0, "height_mm": 300.0, "warmth": 0.0}
"""Holds one pack of 330 x 172 x 215 mm; each further 177 mm of depth one more."""


def spaces(*packs: int) -> list[dict[str, Any]]:
    """Lockers that hold so many packs each."""
    return [
        {**ONE, "name": f"locker {n}", "depth_mm": 190.0 + 177.0 * (count - 1)}
        for n, count in enumerate(packs, start=1)
    ]


def bank(
    plain_case: Build, held: tuple[int, ...], series: int, parallel: int, **system: Any
) -> tuple[Case, Bank]:
    case = plain_case(
        system={"nominal_voltage_v": 12 * series, "spaces": spaces(*held), **system},
    )
    arrangement = Arrangement(specify(case.candidates[0]), series, parallel)
    return case, wired(case, arrangement, current_a=20.0)


def lengths(found: Bank, part: str) -> list[float]:
    assert found.wiring is not None
    return [c.length_m for c in found.wiring.circuit.cables if part in c.key]


@pytest.mark.parametrize(
    ("held", "count", "together", "given"),
    [
        ([3, 3], 4, 1, [3, 1]),
        ([3, 3], 4, 2, [2, 2]),
        ([2, 4], 4, 2, [0, 4]),  # one space holds all
        ([3, 1], 4, 2, [3, 1]),  # a string must be split
        ([1, 1, 2], 4, 2, [1, 1, 2]),
        ([0, 5], 3, 1, [0, 3]),
        ([0, 0], 0, 4, [0, 0]),
    ],
)
def test_strings_are_kept_whole_where_they_can_be(
    held: list[int], count: int, together: int, given: list[int]
) -> None:
    assert shared_out(held, count, together) == given
    assert all(one <= most for one, most in zip(given, held, strict=True))


def placed(*counts: int) -> FitResult:
    boxes = tuple(
        PlacedBox(f"space {n}", 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, "upright", "up")
        for n, count in enumerate(counts)
        for _ in range(count)
    )
    return FitResult(True, True, boxes, 0.0, None, None, (), len(boxes), "fits")


@pytest.mark.parametrize(
    ("counts", "series", "parallel", "spread"),
    [
        ((4,), 2, 2, TOGETHER),
        ((2, 2), 2, 2, Spread((), True)),
        ((3, 1), 2, 2, Spread((1,), True)),
        ((1, 1), 2, 1, Spread((1,), False)),
        ((1, 1, 2), 4, 1, Spread((2,), False)),
        ((5, 5, 2), 4, 3, Spread((2,), True)),  # one string of 1 + 1 + 2
        ((3, 3, 3, 3), 4, 3, Spread((1, 1, 1), True)),
    ],
)
def test_what_runs_between_the_spaces(
    counts: tuple[int, ...], series: int, parallel: int, spread: Spread
) -> None:
    found = spread_of(placed(*counts), series=series, parallel=parallel)
    if counts == (3, 3, 3, 3):  # 3+1, 2+2, 1+3
        assert (len(found.split), sum(found.split), found.strings_apart) == (3, 3, True)
        return
    assert found == spread


def test_where_nothing_fits_or_is_known_nothing_is_spread() -> None:
    assert spread_of(None, series=2, parallel=1) == TOGETHER
    short = FitResult(False, True, placed(1, 1).layout, 5.0, None, None, (), 2, "short")
    assert spread_of(short, series=3, parallel=1) == TOGETHER


def test_a_string_in_two_spaces_has_a_link_as_long_as_stated(plain_case: Build) -> None:
    case, found = bank(plain_case, (1, 1), 2, 1, between_spaces_m=3.5)
    assert found.spread == Spread((1,), False)
    assert lengths(found, "link") == [pytest.approx(3.5 + LINK_SLACK_M)]
    # its positive is in one space, its negative in the other
    run = case.system.cable_run_m
    assert sum(lengths(found, "main +")) == pytest.approx(run)
    assert sum(lengths(found, "main -")) == pytest.approx(run + 3.5)
    _, near = bank(plain_case, (2,), 2, 1, between_spaces_m=3.5)
    assert lengths(near, "link") == [pytest.approx(WIDTH_M + LINK_SLACK_M)]
    assert near.wiring is not None
    assert found.wiring is not None
    assert found.wiring.cost > near.wiring.cost
    assert found.ohm > near.ohm


def test_a_long_link_is_sized_for_its_length(plain_case: Build) -> None:
    _, near = bank(plain_case, (2,), 2, 1, cable_run_m=1.0, between_spaces_m=12.0)
    _, far = bank(plain_case, (1, 1), 2, 1, cable_run_m=1.0, between_spaces_m=12.0)
    sizes = []
    for one in (near, far):
        assert one.wiring is not None
        (link,) = one.wiring.circuit.of_role("link")
        sizes.append(link.conductor.area_mm2)
    assert sizes[1] > sizes[0]


def test_strings_in_two_spaces_have_leads_that_reach(plain_case: Build) -> None:
    """All equally long, so that they share; a string that is split has a long link as well."""
    _, apart = bank(plain_case, (2, 2), 2, 2, between_spaces_m=2.5)
    _, near = bank(plain_case, (4,), 2, 2, between_spaces_m=2.5)
    assert apart.spread == Spread((), True)
    for n in (1, 2):
        for sign in "+-":
            (here,), (there,) = (
                [
                    c.length_m
                    for c in (one.wiring.circuit.cables if one.wiring else ())
                    if c.key == f"string {n} {sign}"
                ]
                for one in (near, apart)
            )
            assert there == pytest.approx(here + 2.5)
    assert lengths(apart, "to fuse")[:2] == [FUSE_PIECE_M] * 2
    assert lengths(apart, "link") == lengths(near, "link")
    _, split = bank(plain_case, (3, 1), 2, 2, between_spaces_m=2.5)
    assert split.spread == Spread((1,), True)
    assert sorted(lengths(split, "link")) == [
        pytest.approx(WIDTH_M + LINK_SLACK_M),
        pytest.approx(2.5 + LINK_SLACK_M),
    ]


@pytest.mark.parametrize("take_off", ["diagonal", "one end"])
def test_one_jumper_of_each_side_runs_between_the_spaces(plain_case: Build, take_off: str) -> None:
    _, apart = bank(plain_case, (2, 1), 1, 3, between_spaces_m=2.0, take_off=take_off)
    near = WIDTH_M + LINK_SLACK_M
    found = lengths(apart, "jumper")
    assert Counter(round(m, 6) for m in found) == {
        round(near, 6): 2, round(near + 2.0, 6): 2,
    }  # fmt: skip


def test_what_is_not_stated_is_as_long_as_the_run_and_told(plain_case: Build) -> None:
    case, found = bank(plain_case, (1, 1), 2, 1, cable_run_m=4.0)
    assert lengths(found, "link") == [pytest.approx(4.0 + LINK_SLACK_M)]
    fits = fit_in_spaces(case, found.arrangement)
    check = check_space(fits, spread=found.spread, system=case.system)
    assert (check.verdict, check.margin) == ("caution", 0.0)
    assert "a series link takes 4.0 m (assumed)" in check.reason
    stated, other = bank(plain_case, (1, 1), 1, 2, between_spaces_m=3.0)
    fits = fit_in_spaces(stated, other.arrangement)
    check = check_space(fits, spread=other.spread, system=stated.system)
    assert "the strings' leads take 3.0 m more" in check.reason
    whole, alone = bank(plain_case, (4, 1), 2, 2)
    fits = fit_in_spaces(whole, alone.arrangement)
    assert check_space(fits, spread=alone.spread, system=whole.system).verdict == "pass"
