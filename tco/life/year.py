"""Year profiles: what one simulated year does to each arrangement at several levels of health.

Nobody simulates every hour of every draw of every year. The weather years are run once at a few
levels of health; `tco.life.health` interpolates between them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from tco.bank.bank import Bank
from tco.bank.cold import conductance_w_per_k
from tco.case import Assumptions
from tco.life.conditions import Conditions
from tco.life.growth import age_growth, resistance_growth
from tco.life.hourly import open_hours
from tco.life.kernel import run_years
from tco.life.records import BANK, RESULT, Tables, bought_wh
from tco.life.runs import RUN, hours_of, rules_of, run_or_remember
from tco.life.stress import CHARGE_GRID, TABLE_DEGC, Stress, stress_of
from tco.physics.arrays import BoolArray, FloatArray, IntArray

HEALTH_LEVELS = 9
"""Levels of health of a bank's years, from new down to its end of life. Every other one is
simulated; those in between are too where what they cost bends (`_bend`), else filled in."""

BEND_DAYS = 0.05
"""Days a year by which days without power may leave a straight line between simulated levels."""

BEND_BOUGHT = 0.01
"""The same for the energy bought, as a share of what the bank gives."""

CLOSE_DAYS = 20.0
"""A bank that when new leaves its users without power on more days a year than this is no choice,
and is not looked at so closely. All three are our choice."""

FINER = 3
"""So many places a level of health are filled in between, see `YearProfiles.filled`."""

HOURS_PER_MONTH = 730.0


@dataclass(frozen=True)
class YearProfiles:
    """Totals of a mean year for every arrangement and level of health.

    `health` has shape (arrangements, levels), from 1 down to where each bank is replaced, evenly
    apart; `totals[name]` for each name of `tco.life.records.RESULT` shape (arrangements, levels);
    `monthly_unserved_wh` and `monthly_lowest_charge` shape (arrangements, levels, 12). Energies and
    hours are per year; the longest gap and the extremes are of all years. `by_age`, shape
    (arrangements,), is how the resistance of each bank grows with time
    (`tco.life.growth.age_growth`); empty: not at all.
    """

    health: FloatArray
    totals: dict[str, FloatArray]
    monthly_unserved_wh: FloatArray
    monthly_lowest_charge: FloatArray
    stresses: tuple[Stress, ...]
    by_age: FloatArray = field(default_factory=lambda: np.zeros(0))

    def filled(self, names: Sequence[str]) -> tuple[FloatArray, FloatArray]:
        """Totals at FINER times as many levels of health, ascending: places from 0 at the end of
        a bank's life to 1 when new, shape (levels,); (arrangements, levels, len(names)).

        Between the levels that were run they follow a monotone cubic (Fritsch and Butland, SIAM J.
        Sci. Stat. Comput. 5 (1984) 300-304): outages begin at nothing and then bend upwards, which
        straight lines overrate.
        """
        run = np.linspace(0.0, 1.0, self.health.shape[1])
        levels = np.linspace(0.0, 1.0, FINER * (run.size - 1) + 1)
        totals = np.stack([self.totals[name][:, ::-1] for name in names], axis=-1)
        return levels, np.ascontiguousarray(PchipInterpolator(run, totals, axis=1)(levels))

    def rows(self, chosen: NDArray[np.intp]) -> "YearProfiles":
        """The profiles of some of the arrangements."""
        return YearProfiles(
            health=self.health[chosen],
            totals={name: values[chosen] for name, values in self.totals.items()},
            monthly_unserved_wh=self.monthly_unserved_wh[chosen],
            monthly_lowest_charge=self.monthly_lowest_charge[chosen],
            stresses=tuple(self.stresses[k] for k in chosen),
            by_age=self.by_age[chosen] if self.by_age.size else self.by_age,
        )


_NOT_PER_YEAR = {
    "longest_gap_hours",
    "mean_c_rate",
    "lowest_charge",
    "mean_charge",
    "coldest_degc",
    "coldest_offered_degc",
    "mean_degc",
}


def year_profiles(
    banks: Sequence[Bank],
    conditions: Conditions,
    assumptions: Assumptions,
    *,
    progress: Callable[[float], None] | None = None,
) -> YearProfiles:
    """Simulate the weather years for each bank at its levels of health.

    New banks first: their year says how resistance grows, which the worn ones need.

    The hardest-worked string turns over so much more (`Bank.unevenness`), and its cycle ageing
    decides for the bank. `progress` is called with the share done, now and then.
    """
    levels = np.linspace(1.0, ends_of_life(banks, assumptions), HEALTH_LEVELS)
    kinds, tables, stresses = bank_tables(banks, assumptions)
    own = [stresses[kind] for kind in kinds]
    uneven = np.array([bank.unevenness for bank in banks])
    # level by level, so that the new banks are the first
    out = np.zeros(levels.shape, dtype=RUN)
    by_age = np.zeros(len(banks))

    def simulate(which: slice, rows: IntArray, told: Callable[[float], None] | None) -> None:
        healths, some = levels[which][:, rows], rows.tolist()
        records = np.array(
            [
                bank_record(banks[row], health=health, stress=own[row], by_age=float(by_age[row]))
                for level in healths.tolist()
                for row, health in zip(some, level, strict=True)
            ],
            dtype=BANK,
        )
        ran = run_or_remember(
            records, [kinds[row] for row in some] * len(healths), tables, conditions, told
        )
        part = out[which]
        for name, values in zip(RUN.names or (), ran, strict=True):
            part[name][:, rows] = values.reshape(*healths.shape, *values.shape[1:])

    every, done = np.arange(len(banks)), 1.0 / (HEALTH_LEVELS // 2 + 1)
    simulate(slice(0, 1), every, progress and (lambda share: progress(done * share)))
    for row, stress in enumerate(own):
        by_age[row] = _by_age(stress, out["total"][0, row], conditions.years, float(uneven[row]))
    simulate(slice(2, None, 2), every, progress and (lambda s: progress(done + (1.0 - done) * s)))
    bent = _bend(out["total"][::2], conditions.years)
    if (close := every[bent]).size:
        simulate(slice(1, None, 2), close, None)
    if (rest := every[~bent]).size:
        out[1::2, rest] = _between(out[::2, rest])
    totals = {}
    for name in RESULT.names or ():
        values = out["total"][name].T.copy()
        totals[name] = values if name in _NOT_PER_YEAR else values / conditions.years
    totals["cycle_stress"] = totals["cycle_stress"] * uneven[:, None]
    return YearProfiles(
        health=levels.T.copy(),
        totals=totals,
        monthly_unserved_wh=out["unserved_wh"].swapaxes(0, 1) / conditions.years,
        monthly_lowest_charge=out["lowest_charge"].swapaxes(0, 1).copy(),
        stresses=tuple(own),
        by_age=by_age,
    )


def _bend(runs: Any, years: int) -> BoolArray:
    """Which banks bend between levels of health in what they cost, and are worth a closer look.

    `runs`: records of RESULT over so many years, shape (levels, banks).
    """

    def bend(totals: FloatArray) -> FloatArray:
        return np.asarray(np.abs(np.diff(totals, 2, axis=0)).max(axis=0))

    days = runs["unserved_days"] / years
    bought = bend(bought_wh(runs)) > BEND_BOUGHT * runs["from_bank_wh"][0]
    bends = (bend(days) > BEND_DAYS) | bought
    return np.asarray(bends & (days[0] <= CLOSE_DAYS))


def _between(runs: Any) -> Any:
    """Records of RUN halfway between levels, on a monotone cubic: shape (levels - 1, banks)."""
    levels = len(runs)
    numbers = np.ascontiguousarray(runs).view("f8").reshape(levels, -1)
    halfway = np.arange(levels - 1) + 0.5
    found = PchipInterpolator(np.arange(levels), numbers, axis=0)(halfway)
    return np.ascontiguousarray(found).view(RUN).reshape(levels - 1, *runs.shape[1:])


@dataclass(frozen=True)
class Trace:
    """Hour by hour through the weather years, each shape (hours,).

    State of charge and pack temperature at the end of each hour; energy missing in it, of
    essential and of other loads. [Wh]
    """

    charge: FloatArray
    degc: FloatArray
    unserved_essential_wh: FloatArray
    unserved_other_wh: FloatArray


def trace(
    bank: Bank,
    conditions: Conditions,
    assumptions: Assumptions,
    *,
    health: float = 1.0,
    by_age: float | None = None,
) -> Trace:
    """Simulate one bank and keep every hour.

    `by_age` as in `YearProfiles`; None: found from the year of the bank when new, which is then run
    first where it matters.
    """
    _, tables, (stress,) = bank_tables([bank], assumptions)
    hours, rules = conditions.essential_w.size, rules_of(conditions)
    opened = open_hours(hours_of(conditions), rules)
    charge, degc, unserved = np.empty(hours), np.empty(hours), np.zeros((hours, 2))

    def run(health: float, by_age: float, kept: FloatArray) -> Any:
        record, out = np.zeros(1, dtype=BANK), np.zeros(1, dtype=RESULT)
        record[0] = bank_record(bank, health=health, stress=stress, by_age=by_age)
        run_years(
            record[0], tables, 0, opened, rules, charge, degc, kept, out[0], np.zeros(12),
            np.zeros(12),
        )  # fmt: skip
        return out[0]

    if by_age is None and health < 1.0 and stress.growth_scale > 0.0:
        by_age = _by_age(stress, run(1.0, 0.0, unserved[:0]), conditions.years)
    run(health, by_age or 0.0, unserved)
    return Trace(
        charge=charge,
        degc=degc,
        unserved_essential_wh=unserved[:, 0],
        unserved_other_wh=unserved[:, 1],
    )


def _by_age(stress: Stress, new: Any, years: int, uneven: float = 1.0) -> float:
    """`by_age` of a bank from its result when new, over so many years."""
    return age_growth(
        stress,
        float(new["resistance_growth"]) / years,
        float(new["calendar_stress"]) / years,
        float(new["cycle_stress"]) / years * uneven,
    )


def ends_of_life(banks: Sequence[Bank], assumptions: Assumptions) -> FloatArray:
    """Health at which each bank is replaced, shape (banks,)."""
    return np.array([assumptions.end_of_life_of(bank.arrangement.pack.chemistry) for bank in banks])


def run_alike(
    banks: Sequence[Bank],
    conditions: Conditions,
    assumptions: Assumptions,
    *,
    health: float,
    by_age: Sequence[float] | None = None,
) -> Any:
    """Totals over all years of banks that are all at one health: records of RESULT.

    `by_age` as in `YearProfiles`; None: resistance grows with the capacity lost alone.
    """
    kinds, tables, stresses = bank_tables(banks, assumptions)
    aged = by_age or [0.0] * len(banks)
    records = np.array(
        [
            bank_record(bank, health=health, stress=stresses[kind], by_age=age)
            for bank, kind, age in zip(banks, kinds, aged, strict=True)
        ],
        dtype=BANK,
    )
    return run_or_remember(records, kinds, tables, conditions).totals


def bank_tables(
    banks: Sequence[Bank], assumptions: Assumptions
) -> tuple[list[int], Tables, list[Stress]]:
    """Tables of every different pack, which of them each bank uses, and their ageing."""
    rows: dict[int, int] = {}
    kinds, stresses = [], []
    capacity, resistance, voltage = [], [], []
    for bank in banks:
        pack = bank.arrangement.pack
        if id(pack) not in rows:  # by identity: two candidates may bear one name
            rows[id(pack)] = len(rows)
            chemistry = pack.chemistry
            stresses.append(stress_of(pack, credibility=assumptions.credibility))
            capacity.append(chemistry.capacity_fraction(TABLE_DEGC))
            resistance.append(chemistry.resistance_factor(TABLE_DEGC))
            curve = np.asarray(chemistry.open_circuit_v) / chemistry.cell_voltage_v
            voltage.append(np.interp(CHARGE_GRID, np.linspace(0.0, 1.0, curve.size), curve))
        kinds.append(rows[id(pack)])
    tables = Tables(
        capacity=np.array(capacity),
        resistance=np.array(resistance),
        calendar=np.array([stress.calendar for stress in stresses]),
        voltage=np.array(voltage),
        storage=np.array([stress.storage for stress in stresses]),
        cycle=np.array([stress.cycle for stress in stresses]),
    )
    return kinds, tables, stresses


def bank_record(
    bank: Bank, *, health: float, stress: Stress, by_age: float = 0.0
) -> tuple[float, ...]:
    """The record of `tco.life.kernel.BANK` for a bank at one health.

    `by_age`: how its resistance grows with time, see `tco.life.growth.age_growth`.
    """
    arrangement, pack = bank.arrangement, bank.arrangement.pack
    volts = arrangement.nominal_voltage_v
    growth = float(resistance_growth(health, by_age=by_age))
    values = {
        "energy_wh": arrangement.energy_wh * health,
        "depth": arrangement.usable_depth,
        "nominal_v": volts,
        "resistance_ohm": arrangement.pack_resistance_ohm * growth + bank.ohm,
        "discharge_w": arrangement.parallel * pack.continuous_discharge_a * volts,
        "charge_w": arrangement.parallel * pack.continuous_charge_a * volts,
        "coulombic": pack.chemistry.coulombic_efficiency.value,
        "taper_from": pack.chemistry.taper_from_soc,
        "self_discharge_per_hour": pack.self_discharge_per_month / HOURS_PER_MONTH,
        "charge_min_degc": pack.charge_min_degc,
        "charge_max_degc": pack.charge_max_degc,
        "discharge_min_degc": pack.discharge_min_degc,
        "discharge_max_degc": pack.discharge_max_degc,
        "heater_w": pack.heater_w * arrangement.packs,
        "heat_capacity_wh_per_k": arrangement.mass_kg
        * pack.chemistry.specific_heat_j_per_kg_k.value
        / 3600.0,
        "conductance_w_per_k": conductance_w_per_k(arrangement),
        "peukert": pack.chemistry.peukert_exponent.value,
        "rated_current_a": arrangement.parallel
        * pack.capacity_ah
        * health
        / pack.chemistry.rated_hours,
        "cold_slow_share": pack.chemistry.cold_slow_share.value,
        "cycle_rate_slope": stress.rate_slope,
        "cycle_rate_offset": stress.rate_offset,
        "sulphates": 1.0 if pack.chemistry.sulphates else 0.0,
        # a new bank's year says how resistance grows; see `tco.life.growth`
        "grows_in_store": 1.0 if stress.growth_scale > 0.0 and health == 1.0 else 0.0,
    }
    return tuple(values[name] for name in BANK.names or ())
