"""The outlook new and worn: its parts are those found one by one, and agree with each other."""

from collections.abc import Callable

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case, specify
from tco.life.conditions import conditions
from tco.life.cures import extra_capacity_needed, extra_solar_needed, weak_point
from tco.life.habits import habits
from tco.life.outages import many_years, outages
from tco.life.outlook import outlook, years_ahead

PlainCase = Callable[..., Case]


def bank_of(case: Case, parallel: int = 1, ohm: float = 0.001) -> Bank:
    return Bank(Arrangement(specify(case.candidates[0]), 1, parallel), ohm=ohm)


@pytest.mark.parametrize("by_age", [0.0, 300.0])
@pytest.mark.parametrize(("tolerated", "asked"), [(0.0, 0.0), (8000.0, 1.0)])
def test_the_parts_are_those_found_one_by_one(
    plain_case: PlainCase, tolerated: float, asked: float, by_age: float
) -> None:
    """What is tolerated is no cure; where all of it is, the cure is for more than an hour. A bank
    whose resistance grew 12 times over 20 % of loss is as one everywhere."""
    case = plain_case(
        load={"power_w": 90.0}, assumptions={"tolerated_hours_without_power": tolerated}
    )
    bank, weather = bank_of(case), many_years(case, years=2)
    worn = {"health": 0.8, "by_age": by_age}
    got = outlook(case, bank, weather, **worn)
    found = outages(case, bank, weather, **worn)
    assert got.found.outages == found.outages
    assert got.weak == weak_point(case, bank, weather, **worn)
    # one and the same bank in one and the same weather
    assert got.weak.hours_without_power == pytest.approx(found.hours_without_power)
    plain = outages(case, bank, weather, health=0.8, by_age=0.0)
    assert (found.hours_without_power > plain.hours_without_power) is (by_age > 0.0)
    limits = {"tolerated_hours": asked, **worn}
    assert got.more_capacity == extra_capacity_needed(case, bank, weather, **limits)
    assert got.more_solar == extra_solar_needed(case, bank, weather, **limits)


def test_nothing_short_needs_no_cure(plain_case: PlainCase) -> None:
    case = plain_case()
    got = outlook(case, bank_of(case, 3), many_years(case, years=2))
    assert got.weak.verdict == "none"
    assert got.more_capacity is got.more_solar is None


def test_ahead_is_new_and_worn_and_habits(plain_case: PlainCase) -> None:
    case = plain_case(load={"power_w": 75.0})
    bank, made = bank_of(case), conditions(case, energy_budget(case))
    got = years_ahead(case, bank, made)
    assert (got.new.health, got.worn.health) == (1.0, case.assumptions.end_of_life_health)
    assert got.new.found.years == got.worn.found.years == 20
    assert got.worn.weak.hours_without_power > got.new.weak.hours_without_power
    assert got.habits == habits(case, bank, made)
    assert got.file_years is None
