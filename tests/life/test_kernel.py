"""The hourly loop: its balance, cases one can work out by hand, and what may never get better."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tco.life.hourly import TABLE_COLDEST_DEGC, TABLE_SIZE, open_hours, share_gained
from tco.life.kernel import run_years
from tco.life.records import BANK, HOUR, NO_CEILING, RESULT, Rules, Tables
from tco.physics.chemistry import CHEMISTRIES

FloatArray = NDArray[np.float64]
TABLE_DEGC = TABLE_COLDEST_DEGC + np.arange(TABLE_SIZE)
IDLE = 720
LOST_DAY_HOURS = 4.0
"""Hours at the end without load or source: the warm-up runs them, so a year begins full."""

SIMPLE = {
    "energy_wh": 1000.0,
    "depth": 0.9,
    "nominal_v": 12.0,
    "resistance_ohm": 0.0,
    "discharge_w": 1e5,
    "charge_w": 1e5,
    "coulombic": 1.0,
    "taper_from": 0.9999,
    "self_discharge_per_hour": 0.0,
    "charge_min_degc": -50.0,
    "charge_max_degc": 70.0,
    "discharge_min_degc": -50.0,
    "discharge_max_degc": 70.0,
    "heater_w": 0.0,
    "heat_capacity_wh_per_k": 4.0,
    "conductance_w_per_k": 2.0,
    "peukert": 1.0,
    "rated_current_a": 5.0,
    "cold_slow_share": 1.0,
    "cycle_rate_slope": 0.0,
    "cycle_rate_offset": 1.0,
    "sulphates": 0.0,
}
"""No losses, no limits: each test switches on the one it is about."""

FLAT = Tables(
    capacity=np.ones((1, TABLE_SIZE)),
    resistance=np.ones((1, TABLE_SIZE)),
    calendar=np.zeros((1, TABLE_SIZE)),
    voltage=np.ones((1, 41)),
    storage=np.ones((1, 41)),
    cycle=np.ones((1, 101)),
)


class Totals(dict[str, float]):
    """A record of `RESULT`, by attribute or by name."""

    def __getattr__(self, name: str) -> float:
        return self[name]


@dataclass
class Run:
    out: Totals
    unserved_wh: FloatArray
    lowest_charge: FloatArray
    charge: FloatArray
    degc: FloatArray
    unserved: FloatArray


def hours(size: int, **columns: Any) -> Any:
    """Hours with constant or given columns; 20 degC where nothing else is said."""
    made = np.zeros(size, dtype=HOUR)
    made["space_degc"] = 20.0
    for name, values in columns.items():
        made[name] = values
    return made


def full_then(size: int, **columns: Any) -> Any:
    """Hours of interest from a full bank: idle hours stand after them."""
    made = hours(size + IDLE)
    made[:size] = hours(size, **columns)
    if "space_degc" in columns:
        made["space_degc"][size:] = np.ravel(columns["space_degc"])[0]
    return made


def run(
    hourly: Any,
    *,
    tables: Tables = FLAT,
    rules: tuple[float, float, float] = (0, 1, 1),
    ceiling: FloatArray = NO_CEILING,
    ruled: dict[str, Any] | None = None,
    **bank: float,
) -> Run:
    record = np.zeros(1, dtype=BANK)
    for name, value in {**SIMPLE, **bank}.items():
        record[name] = value
    out = np.zeros(1, dtype=RESULT)
    charge, degc = np.empty(hourly.size), np.empty(hourly.size)
    unserved, lowest = np.empty(12), np.empty(12)
    missing = np.zeros((hourly.size, 2))
    start, stop, storage = map(float, rules)
    made = Rules(start, stop, storage, LOST_DAY_HOURS, ceiling, **(ruled or {}))
    run_years(
        record[0],
        tables,
        0,
        open_hours(hourly, made),
        made,
        charge,
        degc,
        missing,
        out[0],
        unserved,
        lowest,
    )
    totals = Totals((name, float(out[name][0])) for name in RESULT.names or ())
    return Run(totals, unserved, lowest, charge, degc, missing)


# ---------------------------------------------------------------- by hand


def test_a_bank_lasts_as_long_as_its_usable_energy() -> None:
    got = run(full_then(48, essential_w=40.0))
    assert got.out.hours_any_load_short == pytest.approx(48 - 22.5)  # 900 Wh / 40 W = 22.5 h
    assert got.out.delivered_wh == pytest.approx(900.0)
    assert got.out.unserved_wh == pytest.approx(48 * 40.0 - 900.0)
    assert got.out.lowest_charge == pytest.approx(0.1)


def test_half_an_hour_in_the_dark_is_half_an_hour() -> None:
    got = run(full_then(23, essential_w=40.0))
    assert got.out.unserved_wh == pytest.approx(20.0)
    assert got.out.hours_any_load_short == pytest.approx(0.5)
    assert got.out.hours_without_power == pytest.approx(0.5)
    assert got.out.unserved_days == pytest.approx(0.5 / LOST_DAY_HOURS)
    assert got.out.longest_gap_hours == 1.0  # clock hours touched


def test_cold_holds_back_what_the_table_says() -> None:
    capacity = np.where(TABLE_DEGC < 0.0, 0.5, 1.0)[None, :]
    cold = FLAT._replace(capacity=capacity)
    assert run(full_then(48, essential_w=40.0, space_degc=-10.0), tables=cold).out.delivered_wh == (
        pytest.approx(500.0)
    )
    # and it comes back with the warmth: the pack is at -10 degC for 24 h, then at 20
    space = np.where(np.arange(72) < 24, -10.0, 20.0)
    got = run(full_then(72, essential_w=40.0, space_degc=space), tables=cold)
    assert got.out.delivered_wh == pytest.approx(900.0)
    assert got.out.hours_any_load_short >= 24 - 12


def test_a_limit_on_depth_is_of_the_whole_capacity() -> None:
    """Where cold leaves 70 %, of a bank that may give 60 % nothing is lost."""
    cold = FLAT._replace(capacity=np.full((1, TABLE_SIZE), 0.7))
    for depth, most_wh in ((0.6, 600.0), (0.7, 700.0), (0.8, 700.0)):
        got = run(full_then(48, essential_w=40.0), tables=cold, depth=depth)
        assert got.out.delivered_wh == pytest.approx(most_wh)


@pytest.mark.parametrize(
    ("load_w", "reach"),
    # of what cold holds back, half, at C/20 and slower 30 % of that half; at a sixth of C, the
    # middle of C/20 and C/2 on a logarithm, 65 %
    [(9.0, 0.85), (50.0, 0.85), (1000.0 * (0.05 * 0.5) ** 0.5, 0.675), (500.0, 0.5), (800.0, 0.5)],
)
def test_cold_holds_back_less_from_a_small_load(load_w: float, reach: float) -> None:
    cold = FLAT._replace(capacity=np.full((1, TABLE_SIZE), 0.5))
    got = run(full_then(IDLE, essential_w=load_w), tables=cold, depth=1.0, cold_slow_share=0.3)
    assert got.out.delivered_wh == pytest.approx(1000.0 * reach)


def test_a_radio_goes_on_where_the_inverter_has_stopped() -> None:
    """Cold, at 600 W half of the charge comes out; the 9 W after that still find theirs."""
    cold = FLAT._replace(capacity=np.full((1, TABLE_SIZE), 0.5))
    watts = np.array([600.0] + [9.0] * 20)
    got = run(full_then(21, essential_w=watts), tables=cold, depth=1.0, cold_slow_share=0.3)
    assert got.out.unserved_wh == pytest.approx(100.0)


def test_peukert_reduces_what_a_strong_current_may_draw() -> None:
    # 120 W at 12 V are 10 A, twice the rated 5 A: (1/2)^0.25 = 0.8409 of 1000 Wh
    got = run(full_then(24, essential_w=120.0), peukert=1.25)
    assert got.out.delivered_wh == pytest.approx(1000.0 * 0.5**0.25)
    assert run(full_then(48, essential_w=60.0), peukert=1.25).out.delivered_wh == pytest.approx(
        900.0
    )


def test_discharge_through_a_resistor() -> None:
    # 12 V behind 0.12 ohm: 10 A give 120 - 12 = 108 W. 900 Wh are 7.5 h of it; in the 8th hour
    # the 60 Wh left flow at 5 A: 60 - 3 = 57 Wh
    got = run(full_then(10, essential_w=108.0), resistance_ohm=0.12)
    assert got.out.delivered_wh == pytest.approx(7 * 108.0 + 57.0)
    assert got.out.loss_wh == pytest.approx(7 * 12.0 + 3.0)
    assert got.charge[0] == pytest.approx(0.88)


def test_charge_through_a_resistor_and_coulombic_loss() -> None:
    # 132 W into 12 V behind 0.12 ohm: 10 A, 120 W inside, of which 90 % stay
    hourly = full_then(4, essential_w=[108.0, 108.0, 0, 0], solar_w=[0, 0, 0, 132.0])
    got = run(hourly, resistance_ohm=0.12, coulombic=0.9)
    assert got.charge[:4] == pytest.approx([0.88, 0.76, 0.76, 0.868])
    assert got.out.loss_wh == pytest.approx(2 * 12.0 + 12.0 + 12.0)
    assert got.out.solar_wh == pytest.approx(132.0)


def test_no_more_than_the_maximum_power_point() -> None:
    # V^2 / 4R = 144 / 0.48 = 300 W, at which half is lost
    got = run(full_then(1, essential_w=1000.0), resistance_ohm=0.12)
    assert got.out.delivered_wh == pytest.approx(300.0)
    assert got.out.loss_wh == pytest.approx(300.0)


def test_discharge_limit_drops_what_is_not_essential_first() -> None:
    got = run(full_then(3, essential_w=150.0, other_w=150.0), discharge_w=200.0)
    assert got.out.unserved_wh == pytest.approx(300.0)
    assert got.out.hours_any_load_short == pytest.approx(1.0)  # a third of three hours
    assert got.out.unserved_essential_wh == 0.0
    assert got.out.hours_without_power == got.out.unserved_days == 0.0
    got = run(full_then(3, essential_w=250.0, other_w=50.0), discharge_w=200.0)
    assert got.out.unserved_essential_wh == pytest.approx(150.0)


def test_charge_limit() -> None:
    hourly = full_then(2, essential_w=[500.0, 0.0], solar_w=[0.0, 400.0])
    got = run(hourly, charge_w=100.0)
    assert got.charge[1] - got.charge[0] == pytest.approx(0.1)
    assert got.out.solar_lost_wh == pytest.approx(300.0)


def test_a_bank_too_cold_or_too_hot_gives_nothing() -> None:
    for degc in (-30.0, 65.0):
        got = run(
            full_then(5, essential_w=50.0, space_degc=degc),
            discharge_min_degc=-20.0,
            discharge_max_degc=60.0,
        )
        assert got.out.delivered_wh == 0.0
        assert got.out.longest_gap_hours == 5.0


def test_the_smallest_essential_load_counts() -> None:
    # a bilge pump is a fifth of a watt on average: without power it is still without power
    got = run(hours(1440, essential_w=0.2), energy_wh=10.0)
    assert got.out.hours_without_power == 1440.0
    assert got.out.unserved_essential_wh == pytest.approx(0.2 * 1440.0)


def test_gaps_and_days() -> None:
    # short on day 1 from 20 h to day 2 at 3 h, and at noon of day 4
    load = np.zeros(96)
    load[20:27] = load[84] = 500.0
    got = run(full_then(96, essential_w=load), discharge_w=100.0)
    assert got.out.longest_gap_hours == 7.0
    # 100 W of 500 W are given: each hour is short by 0.8
    assert got.out.hours_without_power == pytest.approx(8 * 0.8)
    # a day is lost by four hours: 4 * 0.8 of them on the first, 3 * 0.8 and 0.8 on the others
    assert got.out.unserved_days == pytest.approx((3.2 + 2.4 + 0.8) / LOST_DAY_HOURS)


def test_a_day_is_lost_once() -> None:
    got = run(full_then(72, essential_w=500.0), discharge_w=0.0)
    assert got.out.hours_without_power == pytest.approx(72.0)
    assert got.out.unserved_days == pytest.approx(3.0)


def test_self_discharge() -> None:
    got = run(full_then(10), self_discharge_per_hour=0.01)
    # the idle hours before have emptied it as well: 720 of them in the warm-up, 10 here
    assert got.charge[:10] == pytest.approx(0.99 ** np.arange(721, 731))


def test_sources_serve_in_order_and_only_what_is_wanted() -> None:
    hourly = hours(
        800, essential_w=100.0, solar_w=40.0, engine_w=30.0, shore_w=20.0, generator_w=50.0
    )
    got = run(hourly, rules=(0.999, 1.0, 1.0), charge_w=1e-9, charge_min_degc=69.0)
    assert got.out.solar_wh == pytest.approx(40.0 * 800)
    assert got.out.engine_wh == pytest.approx(30.0 * 800)
    assert got.out.shore_wh == pytest.approx(20.0 * 800)
    assert got.out.generator_wh + got.out.from_bank_wh == pytest.approx(10.0 * 800)


def test_generator_starts_and_stops_at_shares_of_the_usable_energy() -> None:
    # 800 Wh of 1000 can be used. Below 51 % of them (charge 0.608) it starts, above 90 % (0.92)
    # it stops: down by 100 W in four hours, up by 300 - 100 W in two
    hourly = full_then(12, essential_w=100.0, generator_w=300.0)
    got = run(hourly, depth=0.8, rules=(0.51, 0.9, 1.0))
    assert got.charge[:12] == pytest.approx([0.9, 0.8, 0.7, 0.6, 0.8, 1.0] * 2)
    assert got.out.generator_wh == pytest.approx(4 * 300.0)


def test_generator_stops_with_its_window_and_does_not_go_on_by_itself() -> None:
    offered = np.array([300.0] * 5 + [0.0] + [300.0] * 2)
    got = run(
        full_then(8, essential_w=100.0, generator_w=offered), depth=0.8, rules=(0.51, 0.9, 1.0)
    )
    # started in the 5th hour (0.6 -> 0.8), window closed in the 6th, no restart at 0.7
    assert got.charge[:8] == pytest.approx([0.9, 0.8, 0.7, 0.6, 0.8, 0.7, 0.6, 0.8])


def test_cold_starts_the_generator_earlier() -> None:
    # half the capacity at -10 degC: 500 Wh usable; 51 % of them are left at charge 0.755
    cold = FLAT._replace(capacity=np.where(TABLE_DEGC < 0.0, 0.5, 1.0)[None, :])
    hourly = full_then(6, essential_w=50.0, generator_w=100.0, space_degc=-10.0)
    got = run(hourly, depth=0.8, tables=cold, rules=(0.51, 0.9, 1.0))
    assert got.charge[:6] == pytest.approx([0.95, 0.9, 0.85, 0.8, 0.75, 0.8])


def test_storage_drain_and_ceiling() -> None:
    hourly = hours(1440)
    hourly["solar_w"] = 100.0
    hourly["laid_up"][:100] = 1
    got = run(hourly, rules=(0, 1, 0.5))
    # one twentieth an hour from full to half
    assert got.charge[:12] == pytest.approx([*np.linspace(0.95, 0.5, 10), 0.5, 0.5])
    assert got.out.drained_wh == pytest.approx(500.0)
    assert got.charge[:100].min() == pytest.approx(0.5)
    assert got.charge[105] == pytest.approx(1.0)  # 500 Wh at 100 W once it is in use again


def test_a_laid_up_bank_is_topped_up_to_its_storage_charge_only() -> None:
    hourly = hours(1440, solar_w=50.0, laid_up=1)
    got = run(hourly, rules=(0, 1, 0.6), self_discharge_per_hour=0.001)
    assert np.all(got.charge <= 0.6)
    assert np.all(got.charge > 0.599)


def test_lead_is_stored_at_a_charge_of_its_own() -> None:
    hourly = hours(1440, solar_w=50.0, laid_up=1)
    ruled = {"storage_charge_lead": 0.9}
    got = run(hourly, rules=(0, 1, 0.6), ruled=ruled, self_discharge_per_hour=0.001, sulphates=1.0)
    assert np.all(got.charge <= 0.9)
    assert np.all(got.charge > 0.899)
    drained = run(hours(1440, laid_up=1), rules=(0, 1, 0.6), ruled=ruled, sulphates=1.0)
    assert drained.charge[-1] == pytest.approx(0.9)


def test_a_months_ceiling_is_not_for_the_laid_up() -> None:
    hourly = hours(1440, solar_w=50.0, laid_up=1)
    got = run(hourly, rules=(0, 1, 0.6), ceiling=np.full(12, 0.4), self_discharge_per_hour=0.001)
    assert got.charge[-1] == pytest.approx(0.6, abs=1e-3)


def test_charging_stops_at_the_months_ceiling() -> None:
    hourly = hours(1440, essential_w=np.arange(1440) % 2 * 50.0, solar_w=100.0)
    hourly["month"] = np.arange(1440) >= 720
    ceiling = np.where(np.arange(12) == 1, 0.7, 1.0)
    got = run(hourly, ceiling=ceiling)
    assert got.charge[719] == pytest.approx(1.0)
    assert got.charge[720] == pytest.approx(1.0)  # not drained, only charged no further
    below = run(
        hours(1440, essential_w=[500.0] + [0.0] * 1439, solar_w=90.0), ceiling=ceiling * 0.7
    )
    assert below.charge[-1] == pytest.approx(0.7)


def test_the_ceiling_holds_within_the_taper_too() -> None:
    # the taper alone would let in 0.3 x (1 - 0.58) / 0.7 = 18 % of the rest
    hourly = hours(1440, essential_w=[420.0] + [0.0] * 1439, solar_w=[0.0] + [1000.0] * 1439)
    got = run(hourly, ceiling=np.full(12, 0.6), charge_w=300.0, taper_from=0.3)
    assert got.charge.max() <= 0.6 + 1e-12
    assert got.charge[-1] == pytest.approx(0.6)


# ---------------------------------------------------------------- sulphation


@pytest.mark.parametrize(("every", "share"), [(1, 0.0), (2, 0.5), (4, 0.75)])
def test_sulphation_by_the_share_of_days_without_a_full_charge(every: int, share: float) -> None:
    # 400 Wh a day; filled up on every first, second or fourth day
    hourly = hours(24 * 60, essential_w=np.where(np.arange(24 * 60) % 24 == 20, 50.0, 0.0))
    day, clock = np.arange(24 * 60) // 24, np.arange(24 * 60) % 24
    hourly["solar_w"] = np.where((clock == 12) & (day % every == 0), 1000.0, 0.0)
    tables = FLAT._replace(calendar=np.ones((1, TABLE_SIZE)))
    healthy = run(hourly, tables=tables, ruled={"sulphation": 0.6})
    got = run(hourly, tables=tables, ruled={"sulphation": 0.6}, sulphates=1.0)
    assert got.out.days_not_full == pytest.approx(share * 60)
    assert healthy.out.days_not_full == 0.0  # not counted for lithium
    for name in ("calendar_stress", "cycle_stress"):
        assert healthy.out[name] > 0.0
        assert got.out[name] == pytest.approx((1.0 + 0.6 * share) * healthy.out[name]), name
    assert np.array_equal(got.charge, healthy.charge)


# ---------------------------------------------------------------- hour by hour


def test_the_unserved_trace_says_when_and_which() -> None:
    hourly = full_then(48, essential_w=60.0, other_w=40.0)
    got = run(hourly, depth=0.5, discharge_w=80.0)
    # 80 W for six hours, 20 of the 500 Wh are left for the seventh
    assert got.unserved[:8, 0] == pytest.approx([0.0] * 6 + [40.0, 60.0])
    assert got.unserved[:8, 1] == pytest.approx([20.0] * 6 + [40.0, 40.0])
    assert np.all(got.unserved[48:] == 0.0)


def test_what_the_warm_up_lacks_is_not_in_the_trace() -> None:
    # the warm-up begins full and is empty in the end; the counted run has sun before
    hourly = hours(1440, essential_w=1.0)
    hourly["solar_w"][:719] = 100.0
    hourly["essential_w"][1430:] = 50.0
    got = run(hourly, energy_wh=1500.0)
    assert got.unserved.sum() == pytest.approx(got.out.unserved_wh)


# ---------------------------------------------------------------- taper


def fine_gain(charge: float, rate: float, taper: float, steps: int = 20_000) -> float:
    now = charge
    for _ in range(steps):
        now += min(rate, taper * (1.0 - now)) / steps
    return now - charge


@pytest.mark.parametrize("charge", [0.0, 0.5, 0.75, 0.82, 0.9, 0.97, 0.999])
@pytest.mark.parametrize(("rate", "taper"), [(0.2, 1.0), (0.5, 10.0), (0.05, 1.0), (0.3, 1.5)])
def test_taper_agrees_with_fine_steps(charge: float, rate: float, taper: float) -> None:
    # explicit steps of 1/20000 h err by less than taper / 20000 of the gain
    assert share_gained(charge, rate, taper) == pytest.approx(
        fine_gain(charge, rate, taper), rel=1e-3, abs=1e-6
    )


def test_lead_acid_takes_hours_to_fill() -> None:
    # 0.2 C up to 80 %, then a straight fall: the rest shrinks by exp(-1) an hour
    hourly = full_then(8, essential_w=[200.0] + [0.0] * 7, solar_w=[0.0] + [1000.0] * 7)
    got = run(hourly, charge_w=200.0, taper_from=0.8)
    assert 1.0 - got.charge[:8] == pytest.approx(0.2 * np.exp(-np.arange(8.0)))


# ---------------------------------------------------------------- warmth


def test_pack_follows_its_space_exponentially() -> None:
    # 4 Wh/K over 2 W/K: two hours
    hourly = full_then(30, space_degc=np.where(np.arange(30) < 5, 0.0, 20.0))
    got = run(hourly)
    assert got.degc[:5] == pytest.approx(np.zeros(5), abs=1e-9)
    assert got.degc[5:30] == pytest.approx(20.0 * (1.0 - np.exp(-np.arange(1, 26) / 2.0)))


def test_losses_warm_the_pack() -> None:
    # 10 A through 0.12 ohm: 12 W over 2 W/K are 6 K in the end
    got = run(full_then(40, essential_w=108.0), resistance_ohm=0.12, energy_wh=1e5)
    assert got.degc[:40] == pytest.approx(20.0 + 6.0 * (1.0 - np.exp(-np.arange(1, 41) / 2.0)))
    assert got.out.loss_wh == pytest.approx(480.0)


def test_heater_holds_the_pack_above_the_charging_limit() -> None:
    # space -10, limit 0, held at 3 degC: 13 K at 2 W/K are 26 W; the bank is too large to fill
    hourly = hours(1440, solar_w=60.0, space_degc=-10.0)
    hourly["essential_w"][720] = 5e6
    got = run(hourly, energy_wh=1e7, charge_min_degc=0.0, heater_w=100.0)
    assert np.delete(got.degc, 720) == pytest.approx(np.full(1439, 3.0))
    # hour 720 has nothing to spare: the pack cools by the factor d = exp(-1/2), and the next
    # hour makes up for it with 26 W x (1 + d)
    d = math.exp(-0.5)
    assert got.degc[720] == pytest.approx(-10.0 + 13.0 * d)
    assert got.out.heater_wh == pytest.approx(26.0 * (1438 + 1 + d))


def test_a_full_bank_is_not_heated() -> None:
    got = run(hours(1440, solar_w=60.0, space_degc=-10.0), charge_min_degc=0.0, heater_w=100.0)
    assert got.out.heater_wh == 0.0
    assert got.degc == pytest.approx(np.full(1440, -10.0))


def test_a_weak_heater_does_not_lift_the_lock_out() -> None:
    hourly = hours(1440, solar_w=50.0, space_degc=-10.0)
    hourly["essential_w"] = np.where(np.arange(1440) % 2 == 0, 60.0, 0.0)
    got = run(hourly, charge_min_degc=0.0, heater_w=15.0)  # 15 W over 2 W/K: 7.5 K of 10
    assert got.degc.max() < 0.0
    assert got.out.locked_out_hours == 720.0
    assert got.out.heater_wh == pytest.approx(15.0 * 720)
    assert got.out.solar_locked_out_wh == pytest.approx(35.0 * 720)
    assert np.all(np.diff(got.charge) <= 0.0)


def test_what_a_laid_up_pack_is_kept_from_stands_apart() -> None:
    """As above, laid up in the first half."""
    hourly = hours(1440, solar_w=50.0, space_degc=-10.0)
    hourly["essential_w"] = np.where(np.arange(1440) % 2 == 0, 60.0, 0.0)
    hourly["laid_up"][:720] = 1
    got = run(hourly, charge_min_degc=0.0, heater_w=15.0).out
    assert got.locked_out_hours == got.laid_up_locked_out_hours == 360.0
    assert got.too_cold_hours == got.laid_up_too_cold_hours == 360.0
    assert got.heater_wh == pytest.approx(15.0 * 360)
    assert got.laid_up_heater_wh == pytest.approx(15.0 * 360)
    assert got.solar_locked_out_wh == pytest.approx(35.0 * 360)
    assert got.laid_up_solar_locked_out_wh == pytest.approx(35.0 * 360)
    off = run(hourly, charge_min_degc=0.0, heater_w=15.0, ruled={"heat_laid_up": False}).out
    assert off.laid_up_heater_wh == 0.0
    assert off.laid_up_solar_locked_out_wh == pytest.approx(50.0 * 360)
    assert off.heater_wh == pytest.approx(15.0 * 360)


def test_foam_lets_less_heat_through() -> None:
    """A quarter of the 2 W/K: 13 K above the space take 6.5 W, and the lag is eight hours."""
    ruled = {"surface_share": 0.25}
    hourly = hours(1440, solar_w=60.0, space_degc=-10.0)
    got = run(hourly, energy_wh=1e7, charge_min_degc=0.0, heater_w=100.0, ruled=ruled)
    assert got.out.heater_wh == 0.0  # it is full
    hourly["essential_w"][720] = 5e6
    got = run(hourly, energy_wh=1e7, charge_min_degc=0.0, heater_w=100.0, ruled=ruled)
    assert got.degc[1439] == pytest.approx(3.0)
    d = math.exp(-1.0 / 8.0)
    assert got.out.heater_wh == pytest.approx(6.5 * (1438 + 1 + d))


def test_no_energy_enters_a_locked_out_pack() -> None:
    for bank in ({"charge_min_degc": 25.0}, {"charge_max_degc": 15.0}):
        hourly = hours(1440, essential_w=10.0, solar_w=np.arange(1440) % 24, engine_w=5.0)
        got = run(hourly, **bank)
        assert np.all(np.diff(got.charge) <= 0.0)
        assert got.out.solar_wh + got.out.engine_wh <= got.out.needed_wh
        assert got.out.locked_out_hours > 0.0
        too_cold = got.out.locked_out_hours if "charge_min_degc" in bank else 0.0
        assert got.out.too_cold_hours == too_cold


# ---------------------------------------------------------------- ageing sums


def test_mean_c_rate_is_weighted_by_energy() -> None:
    load = np.repeat([0.0, 20.0, 60.0], [1, 10, 10])  # the traces begin after the first hour
    got = run(full_then(21, essential_w=load), cycle_rate_slope=2.0, cycle_rate_offset=0.5)
    c_rate = (200.0 * 0.02 + 600.0 * 0.06) / 800.0
    assert got.out.mean_c_rate == pytest.approx(c_rate)
    assert got.out.full_cycles == pytest.approx(0.4)  # 800 of 1000 Wh, one way
    # the factor is on the rate, and stress is its square (Naumann 2020: loss = rate sqrt(FEC))
    assert got.out.cycle_stress == pytest.approx(0.4 * (2.0 * c_rate + 0.5) ** 2)


def test_calendar_stress_sums_over_temperature_and_charge() -> None:
    tables = FLAT._replace(
        calendar=np.exp2((TABLE_DEGC - 25.0) / 8.0)[None, :],
        storage=np.linspace(0.5, 1.5, 41)[None],
    )
    hourly = hours(1440, space_degc=33.0, laid_up=1)
    got = run(hourly, tables=tables, rules=(0, 1, 0.5))
    assert got.out.calendar_stress == pytest.approx(2.0 * 1440)


def test_three_equal_years_bring_three_times_the_stress() -> None:
    rng = np.random.default_rng(4)
    year = hours(8760, essential_w=rng.uniform(0, 40, 8760), solar_w=np.zeros(8760))
    year["solar_w"] = np.where(np.arange(8760) % 24 == 12, rng.uniform(0, 900, 8760), 0.0)
    tables = FLAT._replace(
        calendar=np.full((1, TABLE_SIZE), 2.0), cycle=np.linspace(0, 1, 101)[None]
    )
    one, three = run(year, tables=tables), run(np.tile(year, 3), tables=tables)
    assert one.out.cycle_stress > 10.0
    for name in ("calendar_stress", "needed_wh", "full_cycles", "cycle_stress", "solar_wh"):
        assert three.out[name] == pytest.approx(3.0 * one.out[name], rel=2e-3)


def test_the_warm_up_leaves_no_trace_in_the_totals() -> None:
    hourly = hours(1440)
    hourly["essential_w"][720:] = 1.0
    got = run(hourly)
    assert got.out.needed_wh == 720.0
    assert got.charge[0] == pytest.approx(1.0 - 0.72)  # the last month has run once before
    assert got.out.store_change_wh == pytest.approx(-180.0)  # 900 Wh usable


# ---------------------------------------------------------------- any bank, any hours


def chemistry_tables(key: str) -> Tables:
    chemistry = CHEMISTRIES[key]
    curve = np.asarray(chemistry.open_circuit_v) / chemistry.cell_voltage_v
    grid = np.linspace(0.0, 1.0, 41)
    return FLAT._replace(
        capacity=np.asarray(chemistry.capacity_fraction(TABLE_DEGC))[None, :],
        resistance=np.asarray(chemistry.resistance_factor(TABLE_DEGC))[None, :],
        calendar=np.ones((1, TABLE_SIZE)),
        voltage=np.interp(grid, np.linspace(0, 1, curve.size), curve)[None, :],
    )


@dataclass(frozen=True)
class Month:
    """Recipe of 36 random days (arrays themselves would be unreadable in a report)."""

    seed: int
    power: float
    sun: float
    engine: float
    shore: float
    generator: float
    mean_degc: float
    swing_k: float
    laid_up: float

    def hours(self, days: int = 36) -> Any:
        rng = np.random.default_rng(self.seed)
        size = 24 * days
        clock = np.arange(size) % 24
        made = hours(size)
        made["month"] = np.arange(size) * 12 // size
        made["essential_w"] = self.power * rng.random(size) * (rng.random(size) < 0.8)
        made["other_w"] = self.power * rng.random(size) * (rng.random(size) < 0.3)
        light = np.clip(np.sin((clock - 6) / 12 * np.pi), 0, None) * np.repeat(rng.random(days), 24)
        made["solar_w"] = self.sun * self.power * light
        made["engine_w"] = self.engine * self.power * (clock == 9) * (rng.random(size) < 0.5)
        made["shore_w"] = self.shore * self.power * (clock > 20) * (rng.random(size) < 0.2)
        made["generator_w"] = self.generator * self.power * (clock > 7)
        # a pack exactly at its charging limit is locked out or not by rounding: 0.0123 avoids it
        made["space_degc"] = 0.0123 + self.mean_degc + self.swing_k * np.sin(clock / 24 * 2 * np.pi)
        made["laid_up"] = np.repeat(rng.random(days) < self.laid_up, 24)
        return made


def any_month(*, generator: bool = True) -> st.SearchStrategy[Month]:
    return st.builds(
        Month,
        seed=st.integers(0, 2**32 - 1),
        power=st.floats(1.0, 500.0),
        sun=st.floats(0.0, 8.0),
        engine=st.floats(0.0, 5.0),
        shore=st.floats(0.0, 3.0),
        generator=st.sampled_from([0.0, 2.0]) if generator else st.just(0.0),
        mean_degc=st.floats(-25.0, 40.0),
        swing_k=st.floats(0.0, 15.0),
        laid_up=st.floats(0.0, 0.5) if generator else st.just(0.0),
    )


@st.composite
def any_bank(draw: st.DrawFn) -> dict[str, Any]:
    energy = draw(st.floats(50.0, 30_000.0))
    volts = draw(st.sampled_from([12.0, 25.6, 48.0]))
    return {
        "energy_wh": energy,
        "depth": draw(st.floats(0.3, 1.0)),
        "nominal_v": volts,
        "resistance_ohm": draw(st.floats(0.0, 0.3)) * volts**2 / energy,
        "discharge_w": energy * draw(st.floats(0.1, 2.0)),
        "charge_w": energy * draw(st.floats(0.05, 1.0)),
        "coulombic": draw(st.floats(0.7, 1.0)),
        "taper_from": draw(st.floats(0.5, 0.98)),
        "self_discharge_per_hour": draw(st.floats(0.0, 2e-3)),
        "charge_min_degc": draw(st.floats(-20.0, 5.0)),
        "charge_max_degc": 45.0,
        "discharge_min_degc": -30.0,
        "heater_w": draw(st.sampled_from([0.0, energy * 0.03])),
        "heat_capacity_wh_per_k": energy * 0.003,
        "conductance_w_per_k": (energy / 1000) ** (2 / 3) * 2.0,
        "peukert": draw(st.sampled_from([1.0, 1.1, 1.3])),
        "cold_slow_share": draw(st.sampled_from([0.3, 1.0])),
        "rated_current_a": energy / volts / 20.0,
    }


SIGNED = {"store_change_wh", "coldest_degc", "coldest_offered_degc", "mean_degc"}
any_chemistry = st.sampled_from(sorted(CHEMISTRIES))


@given(
    any_month(), any_bank(), any_chemistry, st.floats(0.2, 1.0), st.floats(0.3, 1.0), st.booleans(),
    st.booleans(),
)  # fmt: skip
@settings(max_examples=150, deadline=None)
def test_energy_balances_and_nothing_is_impossible(
    month: Month,
    bank: dict[str, Any],
    chemistry: str,
    storage: float,
    ceiling: float,
    sulphates: bool,
    heat_laid_up: bool,
) -> None:
    hourly = month.hours()
    got = run(
        hourly,
        tables=chemistry_tables(chemistry),
        rules=(0.4, 0.8, storage),
        ceiling=np.where(np.arange(12) % 2 == 0, ceiling, 1.0),
        ruled={"heat_laid_up": heat_laid_up, "surface_share": 0.4, "storage_charge_lead": 0.9},
        sulphates=float(sulphates),
        **bank,
    )
    out = got.out
    inward = out.solar_wh + out.engine_wh + out.shore_wh + out.generator_wh
    heated = out.heater_wh + out.laid_up_heater_wh
    outward = out.delivered_wh + heated + out.drained_wh + out.loss_wh + out.store_change_wh
    scale = inward + out.needed_wh + bank["energy_wh"]
    assert inward == pytest.approx(outward, abs=1e-9 * scale)
    assert out.delivered_wh + out.unserved_wh == pytest.approx(out.needed_wh, rel=1e-9)
    assert out.needed_wh == pytest.approx(float((hourly["essential_w"] + hourly["other_w"]).sum()))
    assert np.all((got.charge >= 0.0) & (got.charge <= 1.0 + 1e-12))
    for name in RESULT.names or ():
        assert name in SIGNED or out[name] >= -1e-9 * scale, name
    assert out.unserved_essential_wh <= out.unserved_wh * (1 + 1e-12)
    assert out.from_bank_wh <= out.delivered_wh * (1 + 1e-12)
    assert out.longest_gap_hours <= hourly.size
    assert out.hours_without_power <= (got.unserved[:, 0] > 0.0).sum() * (1 + 1e-12)
    assert out.unserved_days <= hourly.size / 24
    assert out.unserved_days <= out.hours_without_power / LOST_DAY_HOURS * (1 + 1e-12)
    assert got.unserved_wh.sum() == pytest.approx(out.unserved_wh)
    assert got.unserved.sum(axis=0) == pytest.approx(
        [out.unserved_essential_wh, out.unserved_wh - out.unserved_essential_wh], abs=1e-9 * scale
    )
    assert got.lowest_charge.min() == out.lowest_charge == got.charge.min()
    assert out.solar_wh + out.solar_lost_wh == pytest.approx(float(hourly["solar_w"].sum()))
    locked = out.solar_locked_out_wh + out.laid_up_solar_locked_out_wh
    assert locked <= out.solar_lost_wh * (1 + 1e-9) + 1e-9
    laid_up_hours = int(hourly["laid_up"].sum())
    assert out.laid_up_locked_out_hours <= laid_up_hours
    assert out.locked_out_hours <= hourly.size - laid_up_hours
    assert out.too_cold_hours <= out.locked_out_hours
    assert out.laid_up_too_cold_hours <= out.laid_up_locked_out_hours
    cold = out.too_cold_hours + out.laid_up_too_cold_hours > 0.0
    assert cold == (out.coldest_offered_degc < bank["charge_min_degc"])
    if not heat_laid_up:
        assert out.laid_up_heater_wh == 0.0
    for source in ("engine", "shore", "generator"):
        most = float(hourly[f"{source}_w"].sum())
        assert out[f"{source}_wh"] <= most * (1 + 1e-9), source


# In what follows heater, generator and self-discharge are off, for they break these rules:
# a heater spends energy that a warmer or smaller bank would have stored; a generator that more
# sun or a larger bank keeps from starting is missed later; what leaks below the usable depth has
# to be charged again, more of it in a larger bank. The pack has its space's temperature, since a
# bank with more losses is warmer and so can give more. It has no resistance where cold is
# compared, and no Peukert exponent: energy that cold holds back flows later, at a higher voltage
# and so a lower current.
PLAIN = {
    "self_discharge_per_hour": 0.0,
    "heater_w": 0.0,
    "heat_capacity_wh_per_k": 1e-6,
    "conductance_w_per_k": 1e6,
}


ROUNDING_WH = 1e-9


def served(hourly: Any, bank: dict[str, Any], chemistry: str) -> float:
    """Energy served from a full bank (idle hours follow: see IDLE). Cold that held energy back in
    the warm-up would else serve it within the time that counts."""
    hourly = np.concatenate([hourly, hours(IDLE)])
    return float(run(hourly, tables=chemistry_tables(chemistry), **bank).out.delivered_wh)


def larger(bank: dict[str, Any], factor: float) -> dict[str, Any]:
    grown = dict(bank)
    for name in ("energy_wh", "discharge_w", "charge_w", "rated_current_a"):
        grown[name] = bank[name] * factor
    grown["resistance_ohm"] = bank["resistance_ohm"] / factor
    return grown


@given(any_month(generator=False), any_bank(), any_chemistry, st.floats(1.0, 4.0))
@settings(max_examples=60, deadline=None)
def test_a_larger_bank_never_serves_less(
    month: Month, bank: dict[str, Any], chemistry: str, factor: float
) -> None:
    hourly = month.hours()
    bank = {**bank, **PLAIN}
    small, large = served(hourly, bank, chemistry), served(hourly, larger(bank, factor), chemistry)
    assert large >= small * (1 - 1e-6) - ROUNDING_WH


@given(any_month(generator=False), any_bank(), any_chemistry, st.floats(0.0, 20.0))
@settings(max_examples=60, deadline=None)
def test_a_colder_bank_never_serves_more(
    month: Month, bank: dict[str, Any], chemistry: str, colder_k: float
) -> None:
    hourly = month.hours()
    bank = {**bank, **PLAIN, "resistance_ohm": 0.0, "charge_max_degc": 70.0, "peukert": 1.0}
    cold = hourly.copy()
    cold["space_degc"] -= colder_k
    assert (
        served(cold, bank, chemistry) <= served(hourly, bank, chemistry) * (1 + 1e-6) + ROUNDING_WH
    )


@given(any_month(generator=False), any_bank(), any_chemistry, st.floats(1.0, 3.0))
@settings(max_examples=60, deadline=None)
def test_more_sun_never_serves_less(
    month: Month, bank: dict[str, Any], chemistry: str, factor: float
) -> None:
    hourly = month.hours()
    bank = {**bank, **PLAIN}
    more = hourly.copy()
    more["solar_w"] *= factor
    assert (
        served(more, bank, chemistry) >= served(hourly, bank, chemistry) * (1 - 1e-6) - ROUNDING_WH
    )


def test_decay_is_the_exact_solution_not_a_step() -> None:
    # a pack that follows within minutes does not overshoot, as an explicit step would
    got = run(
        full_then(3, space_degc=[0.0, 20.0, 20.0]),
        heat_capacity_wh_per_k=0.1,
        conductance_w_per_k=2.0,
    )
    assert got.degc[1] == pytest.approx(20.0 * (1 - math.exp(-20.0)))
