"""Banks run side by side against each by itself, hour after hour, in plain Python."""

from typing import Any

import numpy as np
import pytest

from tco.life.hourly import open_hours
from tco.life.kernel import NO_TRACES, Traces, ready, run_banks, run_parts, whole_years
from tco.life.records import BANK, RESULT, Rules, Tables
from tco.life.steps import ABREAST
from tco.physics.chemistry import CHEMISTRIES
from tco.physics.cycles import cycle_sums
from tests.life.one_by_one import course
from tests.life.test_kernel import SIMPLE, TABLE_DEGC, Month, chemistry_tables

KEYS = sorted(CHEMISTRIES)
RULES = Rules(0.3, 0.8, 0.6, 4.0, np.where(np.arange(12) % 3, 1.0, 0.8), 0.9, 0.5)
MONTHS = {
    "summer": Month(1, 60.0, 4.0, 2.0, 0.0, 0.0, 22.0, 12.0, 0.0),
    "winter": Month(2, 60.0, 1.5, 2.0, 1.0, 0.0, -6.0, 9.0, 0.0),
    "generator": Month(3, 90.0, 1.0, 1.0, 0.0, 2.0, 5.0, 8.0, 0.2),
    "laid up": Month(4, 40.0, 2.0, 0.0, 1.0, 0.0, 2.0, 6.0, 0.5),
    "heavy": Month(5, 400.0, 2.0, 3.0, 2.0, 0.0, 15.0, 5.0, 0.0),
}


def all_tables() -> Tables:
    """One row for each chemistry, ageing by temperature and charge in all."""
    each = [chemistry_tables(key) for key in KEYS]
    return Tables(*(np.concatenate(part) for part in zip(*each, strict=True)))._replace(
        calendar=np.tile(np.exp2((TABLE_DEGC - 25.0) / 8.0), (len(KEYS), 1)),
        storage=np.tile(np.linspace(0.5, 1.5, 41) ** 2, (len(KEYS), 1)),
        cycle=np.tile(np.linspace(0.5, 2.0, 101), (len(KEYS), 1)),
    )


def some_banks(count: int, seed: int = 0) -> list[dict[str, float]]:
    rng = np.random.default_rng(seed)
    made = []
    for _ in range(count):
        energy, volts = rng.uniform(200.0, 6000.0), float(rng.choice([12.0, 25.6, 48.0]))
        lead = float(rng.random() < 0.4)
        made.append({
            **SIMPLE,
            "energy_wh": energy,
            "depth": rng.uniform(0.4, 1.0),
            "nominal_v": volts,
            "resistance_ohm": float(rng.choice([0.0, 0.02, 0.3])) * volts**2 / energy,
            "discharge_w": energy * rng.uniform(0.1, 2.0),
            "charge_w": energy * rng.uniform(0.05, 0.8),
            "coulombic": rng.uniform(0.8, 1.0),
            "taper_from": rng.uniform(0.5, 0.98),
            "self_discharge_per_hour": rng.uniform(0.0, 1e-3),
            "charge_min_degc": rng.uniform(-15.0, 5.0),
            "charge_max_degc": 40.0,
            "discharge_min_degc": -12.0,
            "heater_w": float(rng.choice([0.0, 0.03])) * energy,
            "heat_capacity_wh_per_k": energy * 0.003,
            "conductance_w_per_k": (energy / 1000.0) ** (2.0 / 3.0) * 2.0,
            "peukert": 1.0 + lead * rng.uniform(0.05, 0.4),
            "cold_slow_share": 1.0 if lead else rng.uniform(0.2, 0.6),
            "rated_current_a": energy / volts / 20.0,
            "sulphates": lead,
        })  # fmt: skip
    return made


def records(banks: list[dict[str, float]]) -> Any:
    made = np.zeros(len(banks), dtype=BANK)
    for name in BANK.names or ():
        made[name] = [bank.get(name, 0.0) for bank in banks]
    return made


@pytest.mark.parametrize("name", MONTHS)
def test_the_physics_is_that_of_one_bank_after_the_other(name: str) -> None:
    hourly, tables, banks = MONTHS[name].hours(), all_tables(), some_banks(14)
    kinds = np.arange(len(banks)) % len(KEYS)
    made, opened = ready(records(banks), kinds, tables, RULES), open_hours(hourly, RULES)
    shape = len(banks), hourly.size
    traces = Traces(np.empty(shape), np.empty(shape), np.empty((*shape, 2)))
    run_parts(made, 0, len(banks), opened, whole_years(opened), traces)
    out, months = np.zeros(len(banks), dtype=RESULT), np.zeros((2, len(banks), 12))
    run_banks(0, len(banks), records(banks), kinds, tables, hourly, RULES, out, *months)
    for k, bank in enumerate(banks):
        one = Tables(*(table[kinds[k]][None] for table in tables))
        expected = course(bank, one, hourly, RULES)
        np.testing.assert_allclose(traces.charge[k], expected.charge, atol=1e-11)
        np.testing.assert_allclose(traces.degc[k], expected.degc, atol=1e-8)
        np.testing.assert_allclose(
            traces.missing[k].sum(axis=1), expected.missing_wh, atol=1e-9 * bank["energy_wh"]
        )
        got, scale = out[k], 1e-10 * bank["energy_wh"]
        heated = got["heater_wh"] + got["laid_up_heater_wh"]
        locked = got["locked_out_hours"] + got["laid_up_locked_out_hours"]
        assert heated == pytest.approx(expected.heater_wh, rel=1e-9, abs=scale)
        assert locked == expected.locked_out_hours
        assert got["too_cold_hours"] + got["laid_up_too_cold_hours"] == expected.too_cold_hours
        coldest = min(expected.coldest_offered_degc, bank["charge_max_degc"])
        assert got["coldest_offered_degc"] == pytest.approx(coldest)
        assert got["solar_lost_wh"] == pytest.approx(expected.solar_lost_wh, rel=1e-9, abs=scale)
        assert got["generator_wh"] == pytest.approx(expected.generator_wh, rel=1e-9, abs=scale)
        assert got["loss_wh"] == pytest.approx(expected.loss_wh, rel=1e-8, abs=scale)
        hardened = 1.0 + RULES.sulphation * got["days_not_full"] / (hourly.size // 24)
        assert got["calendar_stress"] == pytest.approx(expected.calendar * hardened, rel=1e-9)
        full, worn = cycle_sums(traces.charge[k], np.empty(hourly.size), one.cycle[0])
        assert got["full_cycles"] == pytest.approx(full, rel=1e-9)
        assert got["cycle_stress"] == pytest.approx(worn * hardened, rel=1e-9)


def test_these_months_meet_all_there_is() -> None:
    """Or the test before would say little: heat, lock-outs, generators, drain, outages, taper."""
    tables, banks = all_tables(), some_banks(14)
    out, months = np.zeros(len(banks), dtype=RESULT), np.zeros((2, len(banks), 12))
    kinds = np.arange(len(banks)) % len(KEYS)
    met = dict.fromkeys(RESULT.names or (), 0)
    for month in MONTHS.values():
        run_banks(
            0, len(banks), records(banks), kinds, tables, month.hours(), RULES, out, *months
        )  # fmt: skip
        for name in met:
            met[name] += int((out[name] != 0.0).sum())
    del met["resistance_growth"]
    assert min(met.values()) >= 3, met


def test_banks_do_not_know_of_one_another() -> None:
    """To the last digit: what a bank's years give is remembered without its company."""
    tables, banks = all_tables(), some_banks(ABREAST + 5, seed=1)
    kinds = np.arange(len(banks)) % len(KEYS)
    hourly = MONTHS["generator"].hours()
    together, each = np.zeros((2, len(banks)), dtype=RESULT)
    all_months, own_months = np.zeros((2, 2, len(banks), 12))
    run_banks(
        0, len(banks), records(banks), kinds, tables, hourly, RULES, together, *all_months
    )  # fmt: skip
    for k in reversed(range(len(banks))):
        run_banks(
            k, k + 1, records(banks), kinds, tables, hourly, RULES, each, *own_months
        )  # fmt: skip
    assert together.tobytes() == each.tobytes()
    assert np.array_equal(all_months, own_months)


@pytest.mark.parametrize("name", ["space_degc", "energy_wh", "resistance_ohm"])
def test_what_is_not_a_number_is_told(name: str) -> None:
    hourly, banks = MONTHS["summer"].hours(), records(some_banks(3))
    if name == "space_degc":
        hourly[name][100] = np.nan
    else:
        banks[name][1] = np.nan
    made = ready(banks, np.zeros(3, np.int64), all_tables(), RULES)
    opened = open_hours(hourly, RULES)
    with pytest.raises(ValueError, match="finite"):
        run_parts(made, 0, 3, opened, whole_years(opened), NO_TRACES)
