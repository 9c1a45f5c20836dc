"""Year profiles: banks as records, totals per year, worse health, threads."""

import dataclasses
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case, read_case, specify
from tco.compare import compare
from tco.life import runs as runs_module
from tco.life.conditions import Conditions, conditions
from tco.life.growth import RESISTANCE_GROWTH_PER_LOSS
from tco.life.records import BANK, HOUR, RESULT, Tables
from tco.life.runs import Runs, hours_digest, run_or_remember
from tco.life.stress import stress_of
from tco.life.year import (
    YearProfiles,
    bank_record,
    trace,
    year_profiles,
)
from tco.physics.chemistry import CHEMISTRIES
from tco.physics.lead_acid import SULPHATION

PlainCase = Callable[..., Case]
DEMO = Path(__file__).parents[2] / "candidates_demo"
HEAVY_LOAD = {"power_w": 90.0}


def hours_of(case: Case) -> Conditions:
    return conditions(case, energy_budget(case))


def profiles_of(case: Case, found: Sequence[Bank], **changes: Any) -> YearProfiles:
    return year_profiles(found, hours_of(case), case.assumptions, **changes)


def plain_bank(case: Case, parallel: int = 1, ohm: float = 0.001) -> Bank:
    return Bank(Arrangement(specify(case.candidates[0]), 1, parallel), ohm=ohm)


def record(bank: Bank, *, health: float = 1.0) -> Any:
    stress = stress_of(bank.arrangement.pack, credibility=0.8)
    made = np.zeros(1, dtype=BANK)
    made[0] = bank_record(bank, health=health, stress=stress)
    return made[0]


def test_a_new_bank_is_what_its_packs_are(plain_case: PlainCase) -> None:
    got = record(plain_bank(plain_case(), parallel=2, ohm=0.003))
    assert got["energy_wh"] == pytest.approx(2 * 1280.0)
    assert got["resistance_ohm"] == pytest.approx(0.010 / 2 + 0.003)
    assert got["discharge_w"] == pytest.approx(2 * 100 * 12.8)
    assert got["charge_w"] == pytest.approx(2 * 50 * 12.8)
    assert got["heat_capacity_wh_per_k"] == pytest.approx(22.0 * 1050 / 3600)
    area_m2 = 2 * (0.330 * 0.172 + 0.330 * 0.215 + 0.172 * 0.215)
    assert got["conductance_w_per_k"] == pytest.approx(5.0 * 0.7 * 2 * area_m2)


def test_every_pack_brings_its_heater(plain_case: PlainCase) -> None:
    pack = specify(plain_case(candidate={"heater_w": 40.0}).candidates[0])
    assert record(Bank(Arrangement(pack, 2, 3)))["heater_w"] == pytest.approx(240.0)


def test_series_adds_volts_and_resistance(plain_case: PlainCase) -> None:
    pack = specify(plain_case().candidates[0])
    got = record(Bank(Arrangement(pack, 4, 2)))
    assert got["nominal_v"] == pytest.approx(51.2)
    assert got["resistance_ohm"] == pytest.approx(4 * 0.010 / 2)
    assert got["energy_wh"] == pytest.approx(8 * 1280.0)


def test_wear_takes_capacity_and_adds_resistance_in_the_packs_only(plain_case: PlainCase) -> None:
    bank = plain_bank(plain_case(), ohm=0.004)
    new, worn = record(bank), record(bank, health=0.8)
    assert worn["energy_wh"] == pytest.approx(0.8 * new["energy_wh"])
    grown = 0.010 * (1 + RESISTANCE_GROWTH_PER_LOSS * 0.2)
    assert worn["resistance_ohm"] == pytest.approx(grown + 0.004)
    assert worn["discharge_w"] == new["discharge_w"]  # the board's limit does not wear


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_only_lead_sulphates(plain_case: PlainCase, chemistry: str) -> None:
    volts = {"lfp": 12.8, "nmc": 14.6, "lto": 11.5}.get(chemistry, 12.0)
    candidate = {"chemistry": chemistry, "nominal_voltage_v": volts, "mass_kg": 40.0}
    got = record(plain_bank(plain_case(candidate=candidate)))["sulphates"]
    assert got == (CHEMISTRIES[chemistry].family == "lead")


@pytest.mark.parametrize("sulphation", [None, 0.0, 1.2])
def test_lead_that_is_seldom_full_ages_faster(
    plain_case: PlainCase, sulphation: float | None
) -> None:
    """Half the sun: the same bank, deeper and never full in winter."""
    lead = {"chemistry": "agm", "nominal_voltage_v": 12.0, "mass_kg": 40.0}
    stated = {} if sulphation is None else {"assumptions": {"sulphation": sulphation}}
    case = plain_case(candidate=lead, load={"power_w": 30.0}, **stated)
    most = SULPHATION if sulphation is None else sulphation
    made = hours_of(case)
    dull = dataclasses.replace(made, solar_w=made.solar_w * 0.4)
    bank = [plain_bank(case, ohm=0.0)]
    much = year_profiles(bank, made, case.assumptions).totals
    little = year_profiles(bank, dull, case.assumptions).totals
    assert 0.0 <= much["days_not_full"][0, 0] < little["days_not_full"][0, 0] <= 365.0
    share = little["days_not_full"] / 365.0 - much["days_not_full"] / 365.0
    faster = little["calendar_stress"] / much["calendar_stress"]
    # the space is the same and lead's calendar ageing knows no state of charge
    expected = (1.0 + most * little["days_not_full"] / 365.0) / (
        1.0 + most * much["days_not_full"] / 365.0
    )
    assert np.all(share > 0.05)
    assert faster == pytest.approx(expected, rel=2e-3)  # its own losses warm it by a hair


def test_foam_around_the_pack_slows_it(plain_case: PlainCase) -> None:
    """28 mm of 0.035 W/(m K): 0.2 + 0.8 m2 K/W, a fifth of the heat; so five times the hours."""
    space = {"foam_mm": 28.0, "foam_conductivity": 0.035}
    jump = np.where(np.arange(8760) < 400, 0.0, 20.0)
    lag = []
    for changes in ({}, {"space": space}):
        case = plain_case(candidate={"self_discharge_per_month": 0.0}, **changes)
        made = hours_of(case)
        zero = np.zeros(8760)
        made = dataclasses.replace(made, space_degc=jump, essential_w=zero, solar_w=zero)
        run = trace(plain_bank(case, ohm=0.0), made, case.assumptions)
        lag.append(-1.0 / np.log(1.0 - run.degc[400] / 20.0))
    # 11 kg of 1050 J/(kg K) behind 0.7 of 0.3298 m2 at 5 W/(m2 K)
    area_m2 = 2 * (0.330 * 0.172 + 0.330 * 0.215 + 0.172 * 0.215)
    assert lag[0] == pytest.approx(11.0 * 1050.0 / 3600.0 / (5.0 * 0.7 * area_m2), rel=1e-3)
    assert lag[1] == pytest.approx(5.0 * lag[0], rel=1e-3)


def test_foam_saves_heater_energy(plain_case: PlainCase) -> None:
    candidate = {"heater_w": 60.0}
    cold = {"mean_degc": [-5.0] * 12, "min_degc": [-9.0] * 12, "max_degc": [-1.0] * 12}
    heated = []
    for foam_mm in (0.0, 30.0):
        case = plain_case(candidate=candidate, climate=cold, space={"foam_mm": foam_mm})
        got = year_profiles([plain_bank(case)], hours_of(case), case.assumptions)
        heated.append(got.totals["heater_wh"][0, 0])
    assert heated[0] > 5000.0
    assert heated[1] < 0.6 * heated[0]


def test_the_least_insulated_space_decides(plain_case: PlainCase) -> None:
    box = {"width_mm": 900, "depth_mm": 500, "height_mm": 400}
    two = [{"name": "bow", "foam_mm": 28.0, **box}, {"name": "stern", "foam_mm": 14.0, **box}]
    made = hours_of(plain_case(system={"spaces": two}))
    assert made.surface_share == pytest.approx(0.2 / (0.2 + 0.4))
    assert hours_of(plain_case()).surface_share == 1.0


def test_a_pack_without_dimensions_gets_a_plausible_surface(plain_case: PlainCase) -> None:
    stated = record(plain_bank(plain_case()))
    bare = {"width_mm": None, "depth_mm": None, "height_mm": None}
    guessed = record(plain_bank(plain_case(candidate=bare)))
    ratio = guessed["conductance_w_per_k"] / stated["conductance_w_per_k"]
    assert 0.5 < ratio < 1.5


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_a_worn_bank_never_serves_more(plain_case: PlainCase, chemistry: str) -> None:
    volts = {"lfp": 12.8, "nmc": 14.6, "lto": 11.5}.get(chemistry, 12.0)
    case = plain_case(
        load=HEAVY_LOAD,
        candidate={"chemistry": chemistry, "nominal_voltage_v": volts, "mass_kg": 40.0},
    )
    got = profiles_of(case, [plain_bank(case)])
    delivered, hours = got.totals["delivered_wh"][0], got.totals["hours_any_load_short"][0]
    assert np.all(np.diff(delivered) <= 1e-6 * delivered[0])
    assert np.all(np.diff(hours) >= 0)
    assert hours[-1] > hours[0] > 0  # the case is hard enough to tell


def test_totals_are_per_year_and_months_add_up(plain_case: PlainCase) -> None:
    case = plain_case(load=HEAVY_LOAD, assumptions={"weather_years": 3})
    made = hours_of(case)
    got = year_profiles([plain_bank(case)], made, case.assumptions)
    wanted = float((made.essential_w + made.other_w).sum()) / 3.0
    assert got.totals["needed_wh"][0] == pytest.approx(np.full(got.health.shape[1], wanted))
    ran = slice(
        None, None, 2
    )  # at the levels that were run; in between each is filled in by itself
    unserved, lowest = got.monthly_unserved_wh.sum(axis=2), got.monthly_lowest_charge.min(axis=2)
    assert unserved[:, ran] == pytest.approx(got.totals["unserved_wh"][:, ran])
    assert unserved == pytest.approx(got.totals["unserved_wh"], rel=1e-3)
    assert lowest[:, ran] == pytest.approx(got.totals["lowest_charge"][:, ran])
    assert got.health[0, 0] == 1.0
    assert got.health[0, -1] == pytest.approx(case.assumptions.end_of_life_health)
    assert 1.0 < got.totals["unserved_wh"][0, 0] < wanted
    assert got.totals["longest_gap_hours"][0, 0] <= got.totals["hours_any_load_short"][0, 0] * 3
    assert 5.0 < got.totals["mean_degc"][0, 0] < 25.0  # not divided by the years


def test_a_mean_year_does_not_depend_on_how_often_it_is_repeated(plain_case: PlainCase) -> None:
    case = plain_case(load=HEAVY_LOAD)
    one = hours_of(case)
    arrays = {
        field.name: np.tile(value, 3)
        for field in dataclasses.fields(one)
        if isinstance(value := getattr(one, field.name), np.ndarray)
    }
    three = dataclasses.replace(one, years=3, **arrays)
    bank = [plain_bank(case, ohm=0.0)]
    a = year_profiles(bank, one, case.assumptions).totals
    b = year_profiles(bank, three, case.assumptions).totals
    assert a["cycle_stress"][0, 0] > 0
    for name in ("calendar_stress", "cycle_stress", "full_cycles", "unserved_wh", "solar_wh"):
        assert b[name] == pytest.approx(a[name], rel=2e-3), name
    for name in ("longest_gap_hours", "mean_charge", "mean_c_rate", "lowest_charge"):
        assert b[name] == pytest.approx(a[name], rel=2e-3), name


def test_trace_is_the_profile_hour_by_hour(plain_case: PlainCase) -> None:
    case = plain_case(load=HEAVY_LOAD)
    bank, made = plain_bank(case), hours_of(case)
    totals = year_profiles([bank], made, case.assumptions).totals
    for level, health in ((0, 1.0), (-1, case.assumptions.end_of_life_health)):
        got = trace(bank, made, case.assumptions, health=health)
        assert got.charge.size == 8760
        assert got.charge.mean() == pytest.approx(totals["mean_charge"][0, level])
        assert got.charge.min() == pytest.approx(totals["lowest_charge"][0, level])
        assert got.degc.min() == pytest.approx(totals["coldest_degc"][0, level])


def test_each_arrangement_keeps_its_own_pack_and_wiring(plain_case: PlainCase) -> None:
    """Also two packs that bear one name."""
    case = plain_case(load=HEAVY_LOAD)
    lithium = plain_bank(case)
    lead_case = plain_case(
        candidate={"chemistry": "agm", "nominal_voltage_v": 12.0, "mass_kg": 30.0}
    )
    lead = plain_bank(lead_case)
    assert lead.arrangement.pack.name == lithium.arrangement.pack.name
    made = hours_of(case)

    def run(found: list[Bank], ohm: list[float]) -> Any:
        banks = [dataclasses.replace(bank, ohm=own) for bank, own in zip(found, ohm, strict=True)]
        return year_profiles(banks, made, case.assumptions).totals["loss_wh"]

    both = run([lithium, lead, lithium], [0.0, 0.01, 0.05])
    assert both[0] == pytest.approx(run([lithium], [0.0])[0], rel=1e-12)
    assert both[1] == pytest.approx(run([lead], [0.01])[0], rel=1e-12)
    assert both[2] == pytest.approx(run([lithium], [0.05])[0], rel=1e-12)
    assert both[2, 0] > both[0, 0]


@pytest.mark.parametrize("workers", [1, 3, 64])
def test_the_number_of_threads_does_not_matter(
    plain_case: PlainCase, monkeypatch: pytest.MonkeyPatch, workers: int
) -> None:
    case = plain_case(load=HEAVY_LOAD)
    found = [plain_bank(case, parallel) for parallel in (1, 2, 3)]
    expected = profiles_of(case, found)
    monkeypatch.setattr("os.cpu_count", lambda: workers)
    monkeypatch.setattr(runs_module, "_REMEMBERED", runs_module._Remembered())
    told: list[float] = []
    got = profiles_of(case, found, progress=told.append)
    for name, values in expected.totals.items():
        assert np.array_equal(got.totals[name], values), name
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_two_comparisons_at_once_do_not_disturb_each_other() -> None:
    """As two sessions of the screens do: different cases, in threads, again and again."""
    cases = [read_case(DEMO / f"{name}.toml") for name in ("otterbank", "coldharbour")]
    expected = [compare(case).table for case in cases]
    assert not expected[0].equals(expected[1])
    with ThreadPoolExecutor(max_workers=4) as pool:
        got = list(pool.map(lambda n: compare(cases[n % 2]).table, range(6)))
    for n, table in enumerate(got):
        assert table.equals(expected[n % 2])


# ---------------------------------------------------------------- what was run is remembered


class Counted:
    """In place of the hourly loop: gives each bank a number of its own, and counts them."""

    def __init__(self) -> None:
        self.ran = 0

    def __call__(self, banks: Any, *_: Any) -> Runs:
        numbers = np.arange(self.ran, self.ran + len(banks), dtype=float)
        self.ran += len(banks)
        totals = np.zeros(len(banks), dtype=RESULT)
        totals["needed_wh"] = numbers
        by_month = np.tile(numbers[:, None], 12)
        return Runs(totals, by_month, by_month + 0.5)


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counted:
    counted = Counted()
    monkeypatch.setattr(runs_module, "run_records", counted)
    monkeypatch.setattr(runs_module, "_REMEMBERED", runs_module._Remembered())
    return counted


def tables(rows: int) -> Tables:
    return Tables(*(np.arange(rows, dtype=float)[:, None] + n for n in range(6)))


def test_a_bank_is_known_again_by_its_record_its_tables_and_the_hours(
    plain_case: PlainCase, counted: Counted
) -> None:
    case = plain_case()
    made, bank = hours_of(case), record(plain_bank(case))
    banks = np.array([bank, bank])
    done: list[float] = []
    one = run_or_remember(banks, [0, 1], tables(2), made)
    assert counted.ran == 2  # two packs that differ in their tables alone
    two = run_or_remember(banks, [0, 1], tables(2), made, done.append)
    assert (counted.ran, done) == (2, [1.0])
    for first, again in zip(one, two, strict=True):
        np.testing.assert_array_equal(first, again)
    np.testing.assert_array_equal(one.unserved_wh[:, 3], [0.0, 1.0])
    np.testing.assert_array_equal(one.lowest_charge[:, 3], [0.5, 1.5])
    np.testing.assert_array_equal(one.totals["needed_wh"], [0.0, 1.0])
    two.unserved_wh[:] = 99.0  # what was given out is the caller's
    mixed = run_or_remember(banks[[0, 0, 1]], [0, 2, 1], tables(3), made)
    assert counted.ran == 3
    np.testing.assert_array_equal(mixed.unserved_wh[:, 0], [0.0, 2.0, 1.0])
    other = banks.copy()
    other["resistance_ohm"] += 1e-6
    run_or_remember(other, [0, 1], tables(2), made)
    assert counted.ran == 5


@pytest.mark.parametrize(
    "name",
    [
        *(HOUR.names or ()),
        *("generator_start", "generator_stop", "storage_charge", "storage_charge_lead"),
        *("lost_day_hours", "charge_ceiling", "sulphation", "heater_when_laid_up"),
        "surface_share",
    ],
)
def test_whatever_the_hours_hold_or_rule_they_are_known_by(
    plain_case: PlainCase, name: str
) -> None:
    made = hours_of(plain_case())
    held = getattr(made, name)
    if isinstance(held, np.ndarray):
        changed = held.copy()
        changed[-1] = not changed[-1] if changed.dtype == bool else changed[-1] + 1
    elif isinstance(held, tuple):
        changed = (*held[:-1], held[-1] - 0.125)
    else:
        changed = not held if isinstance(held, bool) else held + 0.125
    assert hours_digest(dataclasses.replace(made, **{name: changed})) != hours_digest(made)
    assert hours_digest(dataclasses.replace(made)) == hours_digest(made)


def test_the_run_longest_not_asked_for_is_forgotten(
    plain_case: PlainCase, counted: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(runs_module, "MOST_REMEMBERED", 2)
    made, bank = hours_of(plain_case()), record(plain_bank(plain_case()))

    def ran(kind: int) -> int:
        before = counted.ran
        run_or_remember(np.array([bank]), [kind], tables(3), made)
        return counted.ran - before

    assert [ran(kind) for kind in (0, 1, 0, 2, 0, 1)] == [1, 1, 0, 1, 0, 1]
