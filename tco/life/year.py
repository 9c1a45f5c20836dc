"""Year profiles: what one simulated year does to each arrangement at several levels of health.

Nobody simulates every hour of every draw of every year. The weather years are run once at a few
levels of health; `tco.life.health` interpolates between them.
"""

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tco.bank.arrangements import Arrangement
from tco.case import Assumptions, Pack
from tco.life.conditions import Conditions
from tco.life.hourly import open_hours
from tco.life.kernel import BANK, HOUR, RESULT, Rules, Tables, run_banks, run_years
from tco.life.stress import CHARGE_GRID, TABLE_DEGC, Stress, stress_of
from tco.physics.heat import surface_conductance_w_per_k

FloatArray = NDArray[np.float64]

HEALTH_LEVELS = 6
"""Levels of health a bank is simulated at, from new down to its end of life."""

RESISTANCE_GROWTH_PER_LOSS = 2.0
"""Resistance grows by this share for each share of capacity lost (20 % lost: 40 % more). From
memory, illustrative. For lithium iron phosphate the safe side: ten years in store at 25 degC and
half charge lose 13.4 % and add 16.8 % by Naumann 2018, 1.25 for each share."""

HOURS_PER_MONTH = 730.0


@dataclass(frozen=True)
class YearProfiles:
    """Totals of a mean year for every arrangement and level of health.

    `health` has shape (levels,), descending from 1; `totals[name]` for each name of
    `tco.life.kernel.RESULT` shape (arrangements, levels); `monthly_unserved_wh` and
    `monthly_lowest_charge` shape (arrangements, levels, 12). Energies and hours are per year;
    the longest gap and the extremes are of all years.
    """

    health: FloatArray
    totals: dict[str, FloatArray]
    monthly_unserved_wh: FloatArray
    monthly_lowest_charge: FloatArray
    stresses: tuple[Stress, ...]

    def rows(self, chosen: NDArray[np.intp]) -> "YearProfiles":
        """The profiles of some of the arrangements."""
        return YearProfiles(
            health=self.health,
            totals={name: values[chosen] for name, values in self.totals.items()},
            monthly_unserved_wh=self.monthly_unserved_wh[chosen],
            monthly_lowest_charge=self.monthly_lowest_charge[chosen],
            stresses=tuple(self.stresses[k] for k in chosen),
        )


_NOT_PER_YEAR = {
    "longest_gap_hours",
    "mean_c_rate",
    "lowest_charge",
    "mean_charge",
    "coldest_degc",
    "mean_degc",
}


def year_profiles(
    arrangements: Sequence[Arrangement],
    wiring_ohm: Sequence[float],
    conditions: Conditions,
    assumptions: Assumptions,
    *,
    unevenness: Sequence[float] | None = None,
    progress: Callable[[float], None] | None = None,
) -> YearProfiles:
    """Simulate the weather years for each arrangement at each level of health.

    Parameters
    ----------
    wiring_ohm
        Resistance of each arrangement's cables and joints. [ohm]
    unevenness
        Current of each arrangement's hardest-worked string over an equal share: it turns over so
        much more, and its cycle ageing decides for the bank. None: all share equally.
    progress
        Called with the share done, now and then.
    """
    levels = np.linspace(1.0, assumptions.end_of_life_health, HEALTH_LEVELS)
    kinds, tables, stresses = bank_tables(arrangements, assumptions)
    count = len(arrangements)
    banks = np.zeros((count, levels.size), dtype=BANK)
    for row, (arrangement, ohm) in enumerate(zip(arrangements, wiring_ohm, strict=True)):
        for column, health in enumerate(levels):
            banks[row, column] = bank_record(
                arrangement, ohm, health=float(health), stress=stresses[kinds[row]]
            )
    flat = banks.ravel()
    flat_kinds = np.repeat(np.asarray(kinds, dtype=np.int64), levels.size)
    hourly, rules = hours_of(conditions), rules_of(conditions)
    out = np.zeros(flat.size, dtype=RESULT)
    unserved = np.zeros((flat.size, 12))
    lowest = np.zeros((flat.size, 12))

    def chunk(first: int, last: int) -> None:
        run_banks(first, last, flat, flat_kinds, tables, hourly, rules, out, unserved, lowest)

    in_chunks(chunk, flat.size, progress)
    shape = (count, levels.size)
    totals = {}
    for name in RESULT.names or ():
        values = out[name].reshape(shape)
        totals[name] = values if name in _NOT_PER_YEAR else values / conditions.years
    if unevenness is not None:
        totals["cycle_stress"] = totals["cycle_stress"] * np.asarray(unevenness)[:, None]
    return YearProfiles(
        health=levels,
        totals=totals,
        monthly_unserved_wh=unserved.reshape(*shape, 12) / conditions.years,
        monthly_lowest_charge=lowest.reshape(*shape, 12),
        stresses=tuple(stresses[k] for k in kinds),
    )


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
    arrangement: Arrangement,
    wiring_ohm: float,
    conditions: Conditions,
    assumptions: Assumptions,
    *,
    health: float = 1.0,
) -> Trace:
    """Simulate one bank and keep every hour."""
    _, tables, stresses = bank_tables([arrangement], assumptions)
    bank = np.zeros(1, dtype=BANK)
    bank[0] = bank_record(arrangement, wiring_ohm, health=health, stress=stresses[0])
    hours = conditions.essential_w.size
    charge, degc, unserved = np.empty(hours), np.empty(hours), np.zeros((hours, 2))
    rules = rules_of(conditions)
    run_years(
        bank[0],
        tables,
        0,
        open_hours(hours_of(conditions), rules),
        rules,
        charge,
        degc,
        unserved,
        np.empty(hours),
        np.zeros(1, dtype=RESULT)[0],
        np.zeros(12),
        np.zeros(12),
    )
    return Trace(
        charge=charge,
        degc=degc,
        unserved_essential_wh=unserved[:, 0],
        unserved_other_wh=unserved[:, 1],
    )


def hours_of(conditions: Conditions) -> Any:
    """The hours of the conditions as records of `tco.life.kernel.HOUR`."""
    hours = np.empty(conditions.essential_w.size, dtype=HOUR)
    for name in HOUR.names or ():
        hours[name] = getattr(conditions, name)
    return hours


def rules_of(conditions: Conditions) -> Rules:
    """What the conditions rule beside their hours, as the kernel wants it."""
    return Rules(
        generator_start=conditions.generator_start,
        generator_stop=conditions.generator_stop,
        storage_charge=conditions.storage_charge,
        lost_day_hours=conditions.lost_day_hours,
        ceiling=np.asarray(conditions.charge_ceiling, dtype=np.float64),
        storage_charge_lead=conditions.storage_charge_lead,
        sulphation=conditions.sulphation,
        heat_laid_up=conditions.heater_when_laid_up,
        surface_share=conditions.surface_share,
    )


def in_chunks(
    work: Callable[[int, int], None], size: int, progress: Callable[[float], None] | None
) -> None:
    """Do work(first, last) over 0..size in pieces, on all cores; `progress` gets the share done."""
    workers = os.cpu_count() or 1
    step = max(1, -(-size // (workers * 4)))
    edges = [(first, min(first + step, size)) for first in range(0, size, step)]
    with ThreadPoolExecutor(max_workers=workers) as pool:
        for done, _ in enumerate(pool.map(lambda edge: work(*edge), edges), start=1):
            if progress is not None:
                progress(done / len(edges))


def bank_tables(
    arrangements: Sequence[Arrangement], assumptions: Assumptions
) -> tuple[list[int], Tables, list[Stress]]:
    """Tables of every different pack, which of them each arrangement uses, and their ageing."""
    rows: dict[int, int] = {}
    kinds, stresses = [], []
    capacity, resistance, voltage = [], [], []
    for arrangement in arrangements:
        pack = arrangement.pack
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
    arrangement: Arrangement, wiring_ohm: float, *, health: float, stress: Stress
) -> tuple[float, ...]:
    """The record of `tco.life.kernel.BANK` for an arrangement at one health."""
    pack = arrangement.pack
    volts = arrangement.nominal_voltage_v
    growth = float(resistance_growth(health))
    values = {
        "energy_wh": arrangement.energy_wh * health,
        "depth": pack.usable_depth,
        "nominal_v": volts,
        "resistance_ohm": arrangement.pack_resistance_ohm * growth + wiring_ohm,
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
        "conductance_w_per_k": surface_conductance_w_per_k(
            *_dimensions_mm(pack), packs=arrangement.packs
        ),
        "peukert": pack.chemistry.peukert_exponent.value,
        "rated_current_a": arrangement.parallel
        * pack.capacity_ah
        * health
        / pack.chemistry.rated_hours,
        "cycle_rate_slope": stress.rate_slope,
        "cycle_rate_offset": stress.rate_offset,
        "lead": 1.0 if pack.chemistry.family == "lead" else 0.0,
    }
    return tuple(values[name] for name in BANK.names or ())


def resistance_growth(health: ArrayLike) -> Any:
    """Resistance of a worn pack over new, at a health (scalar or array)."""
    return 1.0 + RESISTANCE_GROWTH_PER_LOSS * (1.0 - np.asarray(health, dtype=np.float64))


MASS_DENSITY_KG_PER_L = 1.6
"""Density of packs, for the surface of one that states no dimensions. Common practice."""


def _dimensions_mm(pack: Pack) -> tuple[float, float, float]:
    if pack.dimensions_mm is not None:
        return pack.dimensions_mm
    side = (pack.mass_kg / MASS_DENSITY_KG_PER_L * 1e6) ** (1.0 / 3.0)
    return side, side, side
