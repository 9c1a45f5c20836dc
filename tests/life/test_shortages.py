"""Shortages against whole years."""

from dataclasses import replace

import numpy as np
import pytest

from tco.life.hourly import open_hours
from tco.life.kernel import ready
from tco.life.records import PART
from tco.life.response import SHORT, _Runs
from tco.life.runs import rules_of
from tco.life.shortages import find_shortages, shortages_of
from tests.life.test_response import demo_study
from tests.money.draw_ledger_helpers import Study


def shortages(full: list[int], dark: list[int], hours: int = 120) -> list[tuple[int, int]]:
    charge = np.full(hours, 0.5)
    charge[full] = 1.0
    degc = np.arange(hours, dtype=float)
    missing = np.zeros((hours, 2))
    missing[dark, 1] = 5.0
    out = np.zeros(hours // 24 + 1, dtype=PART)
    count = find_shortages(charge, charge, degc, missing, np.zeros((hours, 2)), out)
    again = np.zeros(hours // 24 + 1, dtype=PART)
    assert find_shortages(charge, charge, degc, np.zeros((hours, 2)), missing, again) == count
    np.testing.assert_array_equal(again, out)
    never = np.zeros(hours // 24 + 1, dtype=PART)
    find_shortages(0.5 * charge, charge, degc, missing, missing, never)
    assert not never["first"].any()  # both must be full
    for shortage in out[:count]:
        if shortage["first"] > 0:
            assert (shortage["charge"], shortage["degc"]) == (1.0, shortage["first"] - 1)
        else:
            assert shortage["charge"] < 0.0  # as the warm-up leaves it
    return [(int(shortage["first"]), int(shortage["last"])) for shortage in out[:count]]


def test_a_spell_goes_from_full_to_the_last_dark_hour() -> None:
    assert shortages([], []) == []
    assert shortages([10, 20, 110], [50, 51, 60]) == [(21, 61)]
    assert shortages([10, 80], [50, 100]) == [(11, 51), (81, 101)]


def test_a_bank_not_yet_full_begins_with_the_year() -> None:
    assert shortages([], [3, 30]) == [(0, 31)]
    assert shortages([60], [3, 30, 100]) == [(0, 31), (61, 101)]


def test_a_day_belongs_to_one_spell() -> None:
    # full between breakfast and supper of one day: its hours short must be added up in one run
    assert shortages([40, 55], [50, 60]) == [(41, 61)]
    # full and short in one hour, noon of every day: the next shortage would begin in the hour after
    # noon, on the very day whose noon ends the one before; so they share a day, and all are one
    noon = [12, 36, 60, 84]
    assert shortages(noon, noon) == [(0, 85)]
    # full in the last hour of each day, the next shortage begins with the next day
    assert shortages([23, 47, 71], noon) == [(0, 13), (24, 37), (48, 61), (72, 85)]


def runs_of(study: Study) -> _Runs:
    return _Runs(
        [r.bank for r in study.results],
        study.comparison.conditions,
        study.case.assumptions,
    )


def test_few_hours_are_run() -> None:
    """Otterbank, half as much again used as today: they leave most of a year out."""
    study = demo_study("otterbank", keep=60)
    runs, rules = runs_of(study), rules_of(study.comparison.conditions)
    banks, kinds, tables = runs.banks(np.arange(len(study.results)), np.array([0.7, 1.0]))
    (years,) = runs.hourly(np.array([1.5]))
    hours = np.zeros((len(years), len(study.results)))
    ends = ready(banks.ravel(), np.repeat(kinds, 2), tables, rules)
    for year, hourly in enumerate(years):
        for k, parts in enumerate(shortages_of(ends, open_hours(hourly, rules))):
            hours[year, k] = (parts["last"] - parts["first"]).sum()
    share = hours.mean(axis=0) / years.shape[1]
    passes = np.array([r.feasible for r in study.results])
    assert share[passes].min() > 0.0  # these banks do run short
    assert share[passes].max() < 0.4
    assert share.mean() < 0.4


@pytest.mark.parametrize(
    ("name", "use", "rtol", "atol"),
    [
        # FULL leaves out a thousandth of the store: here 6 Wh, a few minutes a shortage
        ("otterbank", (0.8, 1.0, 1.25), 0.01, 0.15),
        ("coldharbour", (1.0, 6.0), 0.01, 0.15),
    ],
)
def test_spells_find_what_whole_years_find(
    name: str, use: tuple[float, ...], rtol: float, atol: float
) -> None:
    """All demo arrangements, those ruled out too (too small, too weak), and heavy use."""
    study = demo_study(name, keep=60)
    runs = runs_of(study)
    rows, health = np.arange(len(study.results)), np.array([0.7, 0.9, 1.0])
    found = runs.shortage_totals(rows, np.array(use), health)
    whole = runs.totals(rows, np.array(use), health)[..., SHORT]
    assert (whole[..., 0] > 5.0).any()
    # hours: a day is lost by four of them
    np.testing.assert_allclose(found[..., 0], whole[..., 0], rtol=rtol, atol=atol)
    np.testing.assert_allclose(found[..., 1], whole[..., 1], rtol=rtol, atol=4.0 * atol)
    # no sun at all: shortages in every season, at Coldharbour from the first hour of the year
    few = replace(study.comparison.conditions, solar_w=study.comparison.conditions.solar_w * 0.0)
    dark = replace(runs, conditions=few)
    np.testing.assert_allclose(
        dark.shortage_totals(rows[:3], np.array(use), health),
        dark.totals(rows[:3], np.array(use), health)[..., SHORT],
        rtol=rtol,
        atol=4.0 * atol,
    )
