"""Resistance grows with capacity lost or with age, whichever is more; into the hourly years."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case, specify
from tco.life.conditions import Conditions, conditions
from tco.life.growth import (
    RESISTANCE_GROWTH_PER_LOSS,
    age_growth,
    resistance_growth,
)
from tco.life.health import live
from tco.life.records import BANK
from tco.life.stress import CHARGE_GRID, TABLE_DEGC, Stress, stress_of
from tco.life.year import bank_record, trace, year_profiles
from tco.physics.ageing import naumann_resistance_rate
from tests.life.test_kernel import hours as hours_of_store
from tests.life.test_kernel import run

PlainCase = Callable[..., Case]
YEAR_S = 8760 * 3600.0


def store(degc: Any, charge: float, hours: int = 8760) -> float:
    """Growth of a laid-up bank that follows its space at once."""
    got = run(
        hours_of_store(hours, space_degc=degc, laid_up=1), rules=(0, 1, charge), depth=1.0,
        heat_capacity_wh_per_k=1e-3, discharge_max_degc=90.0, grows_in_store=1.0,
    )  # fmt: skip
    return got.out.resistance_growth


@pytest.mark.parametrize("degc", [0.0, 25.0, 37.5, 60.0])
@pytest.mark.parametrize("charge", [0.0, 0.5, 0.8, 1.0])
def test_hours_in_store_are_naumanns(degc: float, charge: float) -> None:
    # between whole degrees on a straight line: 0.04 % of a rate that doubles in 8 K
    expected = naumann_resistance_rate(degc, charge) * YEAR_S
    assert store(degc, charge) == pytest.approx(float(expected), rel=1e-3)


def test_beyond_the_tests_the_ends_count_and_hours_add() -> None:
    assert store(-20.0, 0.7) == store(0.0, 0.7)
    assert store(75.0, 0.7) == store(60.0, 0.7)
    half = store(10.0, 0.6, 4380) + store(40.0, 0.6, 4380)
    assert store(np.repeat([10.0, 40.0], 4380), 0.6) == pytest.approx(half, rel=1e-9)
    # a mean temperature would say less: heat counts for more than it saves in the cold
    assert half > 1.2 * store(25.0, 0.6)


def in_store(stress: Stress, degc: float, charge: float) -> tuple[float, float]:
    """Growth and calendar stress of a year in store."""
    calendar = np.interp(degc, TABLE_DEGC, stress.calendar) * 8760.0
    return store(degc, charge), float(calendar * np.interp(charge, CHARGE_GRID, stress.storage))


@pytest.mark.parametrize("years", [1.0, 4.0, 10.0])
@pytest.mark.parametrize(("degc", "charge"), [(25.0, 0.5), (40.0, 0.5), (40.0, 1.0), (45.0, 1.0)])
def test_a_bank_in_store_has_grown_by_its_age(
    plain_case: PlainCase, degc: float, charge: float, years: float
) -> None:
    """What health says of the age gives back years x growth a year, where that is the larger."""
    pack = specify(plain_case(candidate={"calendar_life_years": 40.0}).candidates[0])
    stress = stress_of(pack, credibility=1.0)
    assert stress.growth_scale == 1.0  # claims to outlive Naumann's cell: not spared for it
    per_year, calendar = in_store(stress, degc, charge)
    by_age = age_growth(stress, per_year, calendar, 0.0)
    lost = float(stress.loss(np.array([years * calendar]), np.zeros(1))[0])
    grown = float(resistance_growth(1.0 - lost, by_age=by_age)) - 1.0
    assert grown == pytest.approx(max(years * per_year, RESISTANCE_GROWTH_PER_LOSS * lost))
    assert grown >= years * per_year * (1.0 - 1e-12)


def test_a_cell_that_ages_faster_grows_as_much_faster(plain_case: PlainCase) -> None:
    short = specify(plain_case(candidate={"calendar_life_years": 8.0}).candidates[0])
    long = specify(plain_case(candidate={"calendar_life_years": 16.0}).candidates[0])
    one, two = (stress_of(pack, credibility=1.0) for pack in (short, long))
    assert one.growth_scale == pytest.approx(2.0 * two.growth_scale)
    # so that at one health, by store alone, their resistance is the same
    ages = [age_growth(s, *in_store(s, 30.0, 0.8), 0.0) for s in (one, two)]
    assert ages[0] == pytest.approx(ages[1])


def test_cycles_make_a_bank_younger_at_the_same_health(plain_case: PlainCase) -> None:
    stress = stress_of(specify(plain_case().candidates[0]), credibility=0.8)
    per_year, calendar = in_store(stress, 40.0, 0.5)
    used = age_growth(stress, per_year, calendar, calendar)
    # as much by cycles as by time: the loss twice, so the age a quarter
    assert used == pytest.approx(age_growth(stress, per_year, calendar, 0.0) / 4.0)


def test_no_law_of_time_for_others_nor_without_wear(plain_case: PlainCase) -> None:
    lfp = stress_of(specify(plain_case().candidates[0]), credibility=0.8)
    assert age_growth(lfp, 0.05, 0.0, 0.0) == 0.0
    for chemistry, volts in (("nmc", 14.6), ("agm", 12.0), ("sodium-ion", 12.0)):
        candidate = {"chemistry": chemistry, "nominal_voltage_v": volts, "mass_kg": 40.0}
        pack = specify(plain_case(candidate=candidate).candidates[0])
        stress = stress_of(pack, credibility=0.8)
        assert age_growth(stress, 0.05, 0.002, 0.001) == 0.0
        record = np.array([bank_record(Bank(Arrangement(pack, 1, 1)), health=1.0, stress=stress)])
        assert record[0][list(BANK.names or ()).index("grows_in_store")] == 0.0


def test_scalar_array_and_new() -> None:
    health = np.array([1.0, 0.9, 0.7, 0.4])
    got = resistance_growth(health, by_age=12.0)
    assert got[0] == 1.0
    assert np.array_equal(got, [resistance_growth(h, by_age=12.0) for h in health.tolist()])
    assert got == pytest.approx([1.0, 1.2, 1.0 + 12.0 * 0.09, 1.0 + 12.0 * 0.36])
    assert resistance_growth(0.7) == pytest.approx(1.6)


def hot(case: Case) -> Conditions:
    made = conditions(case, energy_budget(case))
    return replace(made, space_degc=np.full(made.space_degc.size, 42.0))


def test_worn_banks_of_a_hot_place_run_with_their_age_in_them(plain_case: PlainCase) -> None:
    case = plain_case()
    made = hot(case)
    bank = Bank(Arrangement(specify(case.candidates[0]), 1, 1), ohm=0.001)
    profiles = year_profiles([bank, bank], made, case.assumptions)
    by_age = float(profiles.by_age[0])
    assert by_age == profiles.by_age[1]
    # at its end of life in such heat: more than the rule of loss says
    assert by_age * 0.3**2 > 1.2 * RESISTANCE_GROWTH_PER_LOSS * 0.3
    assert np.array_equal(profiles.rows(np.array([1])).by_age, profiles.by_age[1:])
    # the new bank's own year, and the growth that it says
    new = trace(bank, made, case.assumptions)
    per_hour = 3600.0 * naumann_resistance_rate(np.clip(new.degc, 0.0, 60.0), new.charge)
    assert profiles.totals["resistance_growth"][0, 0] == pytest.approx(
        float(per_hour.sum()) / made.years, rel=1e-3
    )
    worn = trace(bank, made, case.assumptions, health=0.7)
    same = trace(bank, made, case.assumptions, health=0.7, by_age=by_age)
    rule = trace(bank, made, case.assumptions, health=0.7, by_age=0.0)
    assert np.array_equal(worn.charge, same.charge)
    assert worn.degc.mean() > rule.degc.mean()  # more of it is lost as heat
    life = live(
        profiles, horizon_years=5, end_of_life_health=0.7, tolerated_hours=48.0,
        replacement_price=0.0, day_price=0.0,
    )[0]  # fmt: skip
    assert life.by_age == by_age
    assert life.resistance_growth == pytest.approx(
        1.0 + np.maximum(2.0 * (1.0 - life.health), by_age * (1.0 - life.health) ** 2)
    )
    # the unevenness of cables makes a string older in cycles, so younger at a health
    uneven = year_profiles([replace(bank, unevenness=1.5)], made, case.assumptions)
    assert 0.0 < uneven.by_age[0] < by_age
