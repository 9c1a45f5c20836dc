"""The hourly years of banks: the loop that everything else rests on.

State of a bank is the energy above empty at open circuit [Wh], so that the balance closes exactly:
in = out + losses + change of store. In each hour (`tco.life.steps`):

1. the pack's temperature decides how much may be drawn and whether charging is locked out;
2. sources serve the loads first: solar, engine, shore (the same for every bank, so it is done once
   by `open_hours`), then the generator;
3. what is left warms a cold pack that has a heater, then charges it, within the limits of the
   packs (current, taper near full) and of the lock-out;
4. what is missing comes from the bank, down to its usable depth, which shrinks with cold and
   (lead-acid, Peukert) with current; essential loads come first;
5. losses warm the packs, which follow the space with a first-order lag.

Within an hour powers, open-circuit volts and resistance are constant; the taper and the
temperature are solved exactly. Ageing is summed as "stress": calendar stress over temperature and
state of charge, cycle stress over rainflow-counted cycles, in the units of the chemistry's model
(see `tco.life.stress`).

Banks go through the hours side by side: they wait for one another's divisions and roots less than
one bank for its own, and one instruction does for several.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tco.life import steps
from tco.life.counts import (
    end_day,
    end_gaps,
    end_month,
    fall_short,
    keep_hour,
    keep_turns,
    sum_turns,
)
from tco.life.growth import STORE_GROWTH_PER_HOUR
from tco.life.hourly import open_hours
from tco.life.records import BANK, PART, RESULT, Open, Rules, Tables
from tco.life.steps import (
    ABREAST,
    CHARGE_MAX,
    COLDEST,
    COLDEST_OFFERED,
    COLUMNS,
    FIRST_TOTAL,
    PER_WH,
    STORED,
    age,
    ask,
    begin,
    charge_up,
    give,
    look_up,
    odd_asks,
    odd_offers,
    offer,
    relieve,
    rest,
    settle,
    start_generators,
    stop_generators,
    take_from_others,
)
from tco.physics.arrays import FloatArray, IntArray
from tco.physics.compiled import compiled

WARM_UP_HOURS = 720
"""The last month is run once before counting, so that the year does not begin at full."""

HEATER_ABOVE_LIMIT_K = 3.0
"""A heater holds the pack this far above its charging limit. Common practice, no source."""

EIGHT, THREE = 8, np.uintp(3)  # 2^3
"""Banks side by side are a multiple of these; the last bank fills up what is left over."""

LINE_BYTES = 64
"""A line of the fast memory of today's processors. From memory."""


@compiled
def _run(
    c: FloatArray,
    eights: Any,
    count: Any,
    kinds: NDArray[np.uintp],
    by_degc: FloatArray,
    by_charge: FloatArray,
    cycle: FloatArray,
    hours: Any,
    parts: Any,
    generator_start: float,
    generator_stop: float,
    lost_day_hours: float,
    heat_laid_up: bool,
    turns: FloatArray,
    counts: IntArray,
    unserved: FloatArray,
    lowest: FloatArray,
    charge_trace: FloatArray,
    degc_trace: FloatArray,
    missing_trace: FloatArray,
) -> None:
    """Run banks side by side through the parts of the hours.

    `c` are the columns of `eights` times eight banks, of which `count` matter; the others only fill
    up the instructions. `turns`, shape (banks, hours), and `counts` are scratch.
    """
    width = eights << THREE
    for p in range(parts.size):
        part = parts[p]
        begin(c, width, part.charge, part.degc, part.generator_on)
        look_up(c, width, by_degc, by_charge)
        month = hours[part.first].month
        counts[:] = 0
        generating, falls_short = False, False
        for i in range(part.first, part.last):
            hour = hours[i]
            laid_up = hour.laid_up != 0
            if hour.month != month:
                end_month(c, width, unserved, lowest, month)
                month = hour.month
            midnight = i % 24 == 0
            if midnight and i > part.first:
                end_day(c, width, lost_day_hours, midnight)
            if hour.generator_w > 0.0:
                start_generators(c, width, generator_start, generator_stop)
                relieve(c, width, hour.generator_w, hour.open_w)
                generating = True
            elif generating or i == part.first:
                stop_generators(c, width)
                generating = False
            if hour.spare_w > 0.0 or generating:
                heated = heat_laid_up or not laid_up
                if offer(c, width, hour.spare_w, hour.space_degc, hour.ceiling, laid_up, heated):
                    odd_offers(c, count, hour.solar_w, laid_up)
                charge_up(c, width, hour.solar_w)
                if generating or hour.spare_w > hour.solar_w:
                    take_from_others(c, width, hour.engine_w, hour.shore_w)
            else:
                rest(c, width)
            if hour.open_w > 0.0 or laid_up:
                if ask(c, width, hour.open_w, laid_up):
                    odd_asks(c, count)
                short = give(c, width, hour.open_w) > 0
                if short or falls_short:
                    fall_short(c, width, hour.essential_w, hour.other_w)
                falls_short = short
            elif falls_short:
                end_gaps(c, width)
                falls_short = False
            if settle(c, width, hour.space_degc) or i == part.first:
                keep_turns(c, count, turns, counts, i == part.first)
            look_up(c, count, by_degc, by_charge)
            age(c, width)
            keep_hour(c, charge_trace, degc_trace, missing_trace, i, hour.other_w)
        end_month(c, width, unserved, lowest, month)
        end_day(c, width, lost_day_hours, part.last % 24 == 0)
        sum_turns(c, count, turns, counts, cycle, kinds)


class Banks(NamedTuple):
    """Banks made ready for the loop by `ready`: see `tco.life.steps`."""

    records: Any
    columns: FloatArray
    kinds: NDArray[np.uintp]
    by_degc: FloatArray
    by_charge: FloatArray
    cycle: FloatArray
    rules: Rules


class Traces(NamedTuple):
    """Hour by hour, each shape (banks, hours), or empty where not wanted.

    State of charge and temperature at the end of each hour, and `missing`, shape (banks, hours, 2):
    the energy missing in it, of essential and of other loads [Wh].
    """

    charge: FloatArray
    degc: FloatArray
    missing: FloatArray


NO_TRACES = Traces(np.empty((0, 0)), np.empty((0, 0)), np.empty((0, 0, 2)))


class Ran(NamedTuple):
    """Up to `ABREAST` banks after their hours: the columns, shape (COLUMNS, banks).

    `unserved_wh` and `lowest_charge` of each month have shape (12, banks); `before_wh` was stored
    at the beginning.
    """

    columns: FloatArray
    before_wh: FloatArray
    unserved_wh: FloatArray
    lowest_charge: FloatArray

    def __call__(self, column: Any) -> FloatArray:
        """One of the columns of `tco.life.steps`, shape (banks,)."""
        found: FloatArray = self.columns[int(column) // ABREAST]
        return found


def ready(banks: Any, kinds: IntArray, tables: Tables, rules: Rules) -> Banks:
    """Work out what stays the same in all hours. Parameters as in `run_banks`."""
    full, depth = banks["energy_wh"], banks["depth"]
    conductance = banks["conductance_w_per_k"] * rules.surface_share
    decay = np.exp(-conductance / banks["heat_capacity_wh_per_k"])
    taper = banks["charge_w"] * banks["coulombic"] / (full * (1.0 - banks["taper_from"]))
    lead, peukert = banks["sulphates"] > 0.0, banks["peukert"]
    given = {
        steps.FULL_WH: full,
        steps.PER_WH: 1.0 / full,
        steps.DEPTH: depth,
        steps.NOMINAL_V: banks["nominal_v"],
        steps.NEW_OHM: banks["resistance_ohm"],
        steps.COULOMBIC: banks["coulombic"],
        steps.KEPT: 1.0 - banks["self_discharge_per_hour"],
        steps.STORAGE: np.where(lead, rules.storage_charge_lead, rules.storage_charge),
        steps.DISCHARGE_W: banks["discharge_w"],
        steps.DISCHARGE_MIN: banks["discharge_min_degc"],
        steps.DISCHARGE_MAX: banks["discharge_max_degc"],
        steps.CHARGE_W: banks["charge_w"],
        steps.CHARGE_MIN: banks["charge_min_degc"],
        steps.CHARGE_MAX: banks["charge_max_degc"],
        steps.TAPER: taper,
        steps.APPROACH: -np.expm1(-taper),
        steps.HEATER_W: banks["heater_w"],
        steps.HEATED: banks["charge_min_degc"] + HEATER_ABOVE_LIMIT_K,
        steps.HOLDING: conductance / (1.0 - decay),
        steps.DECAY: decay,
        steps.K_PER_W: 1.0 / conductance,
        steps.PEUKERT: peukert,
        steps.RATED_A: np.where(peukert > 1.0, banks["rated_current_a"], np.inf),
        steps.COLD_SLOW: banks["cold_slow_share"],
        steps.DEGC_TABLE: kinds * tables.capacity.shape[1],
        steps.CHARGE_TABLE: kinds * tables.voltage.shape[1],
    }
    columns = np.zeros((COLUMNS, banks.size))
    for column, values in given.items():
        columns[int(column) // ABREAST] = values
    growth = np.broadcast_to(STORE_GROWTH_PER_HOUR, tables.calendar.shape)
    return Banks(
        records=banks,
        columns=columns,
        kinds=kinds.astype(np.uintp),
        by_degc=_rows(tables.capacity, tables.resistance, tables.calendar, growth),
        by_charge=_rows(tables.voltage, tables.storage),
        cycle=tables.cycle,
        rules=rules,
    )


def _rows(*tables: FloatArray) -> FloatArray:
    """Values of tables of shape (kinds, rows), side by side, then what each rises by to the next.

    Flat: what is read at one place lies together.
    """
    rises = [np.diff(table, axis=1, append=table[:, -1:]) for table in tables]
    return np.stack([*tables, *rises], axis=-1).ravel()


def run_parts(
    banks: Banks, first: int, last: int, opened: Open, parts: Any, traces: Traces = NO_TRACES
) -> Ran:
    """Run banks `first` to `last` (excluded), at most `ABREAST`, through parts of the hours.

    `opened` is from `open_hours`, `parts` are records of `PART`, each after the last. Days lost are
    right if the hours begin at midnight. `traces`, of these banks, are filled.
    """
    count = last - first
    width = -(-count // EIGHT) * EIGHT
    chosen = np.minimum(np.arange(first, first + width), last - 1)
    c = _aligned((COLUMNS, ABREAST))
    c[:, :width] = banks.columns[:, chosen]
    kinds = np.zeros(ABREAST, dtype=np.uintp)
    kinds[:width] = banks.kinds[chosen]
    unserved, lowest = np.zeros((12, ABREAST)), np.ones((12, ABREAST))
    hours, rules = opened.hours, banks.rules
    turns, counts = np.empty((ABREAST, hours.size)), np.empty(ABREAST, dtype=np.int64)

    def run(parts: Any, traces: Traces) -> None:
        _run(
            c.reshape(-1), np.uintp(width // EIGHT), np.uintp(count), kinds, banks.by_degc,
            banks.by_charge, banks.cycle,
            hours, parts, float(rules.generator_start), float(rules.generator_stop),
            float(rules.lost_day_hours), bool(rules.heat_laid_up), turns, counts, unserved, lowest,
            *traces,
        )  # fmt: skip

    before_wh = parts[0]["charge"] * c[int(steps.FULL_WH) // ABREAST, :count]
    if parts[0]["charge"] < 0.0:
        month = max(0, hours.size - WARM_UP_HOURS)
        warm_up = np.array([(month, hours.size, 1.0, hours[month]["space_degc"], 0.0)], dtype=PART)
        run(warm_up, NO_TRACES)
        before_wh = c[int(STORED) // ABREAST, :count].copy()
        unserved[:], lowest[:] = 0.0, 1.0
    c[FIRST_TOTAL:] = 0.0
    c[int(COLDEST) // ABREAST] = np.inf
    c[int(COLDEST_OFFERED) // ABREAST] = c[int(CHARGE_MAX) // ABREAST]
    run(parts, traces)
    if not np.isfinite(c[FIRST_TOTAL:, :count]).all():
        raise ValueError("the hours of a bank do not add up to finite numbers")
    return Ran(c[:, :count], before_wh, unserved[:, :count], lowest[:, :count])


def _aligned(shape: tuple[int, int]) -> FloatArray:
    """Zeros that begin at a line of the fast memory: eight banks of a column then lie in one."""
    size = shape[0] * shape[1]
    wider = np.zeros(size + LINE_BYTES // 8)
    first = -wider.ctypes.data % LINE_BYTES // 8
    return wider[first : first + size].reshape(shape)


def run_years(
    bank: Any,
    tables: Tables,
    kind: int,
    opened: Open,
    rules: Rules,
    charge_trace: FloatArray,
    degc_trace: FloatArray,
    unserved_trace: FloatArray,
    out: Any,
    monthly_unserved_wh: FloatArray,
    monthly_lowest_charge: FloatArray,
) -> None:
    """Run one bank through all hours, after a warm-up; fill `out`, the traces, the monthly arrays.

    Parameters
    ----------
    bank, out
        One record of `BANK` and of `RESULT`.
    tables, kind
        The tables, and which of their rows this bank uses.
    opened
        Conditions, from `open_hours`.
    charge_trace, degc_trace
        Shape (hours,): state of charge and temperature at the end of each hour.
    unserved_trace
        Shape (hours, 2): energy missing in each hour, of essential and of other loads [Wh]. Or
        shape (0, 2): not wanted.
    monthly_unserved_wh, monthly_lowest_charge
        Shape (12,): filled with totals and with the lowest state of charge.
    """
    banks = ready(np.array([bank], dtype=BANK), np.array([kind]), tables, rules)
    missing = unserved_trace[None] if unserved_trace.size else NO_TRACES.missing
    traces = Traces(charge_trace[None], degc_trace[None], missing)
    ran = run_parts(banks, 0, 1, opened, whole_years(opened), traces)
    found = np.zeros(1, dtype=RESULT)
    results(ran, banks.records, opened, rules, found)
    for name in RESULT.names or ():
        out[name] = found[name][0]
    monthly_unserved_wh[:] = ran.unserved_wh[:, 0]
    monthly_lowest_charge[:] = ran.lowest_charge[:, 0]


def run_banks(
    first: int,
    last: int,
    banks: Any,
    kinds: IntArray,
    tables: Tables,
    hourly: Any,
    rules: Rules,
    out: Any,
    monthly_unserved_wh: FloatArray,
    monthly_lowest_charge: FloatArray,
) -> None:
    """Run banks `first` to `last` (excluded), each at one health; without the interpreter's lock.

    `banks` and `out` have shape (n,); `kinds[j]` says which row of the tables bank j uses; the
    monthly arrays have shape (n, 12). `hourly` are records of `HOUR`. See `run_years`.
    """
    opened = open_hours(hourly, rules)
    made = ready(banks, kinds, tables, rules)
    for at in range(first, last, ABREAST):
        some = slice(at, min(at + ABREAST, last))
        ran = run_parts(made, some.start, some.stop, opened, whole_years(opened))
        results(ran, banks[some], opened, rules, out[some])
        monthly_unserved_wh[some] = ran.unserved_wh.T
        monthly_lowest_charge[some] = ran.lowest_charge.T


def whole_years(opened: Open) -> Any:
    """All hours as one part, after a warm-up."""
    return np.array([(0, opened.hours.size, -1.0, 0.0, 0.0)], dtype=PART)


def results(ran: Ran, banks: Any, opened: Open, rules: Rules, out: Any) -> None:
    """Fill records of RESULT of banks that have been through all hours."""
    hours = opened.hours.size
    for name, column in COUNTED.items():
        out[name] = ran(column)
    by_others = opened.solar_wh + opened.engine_wh + opened.shore_wh
    out["needed_wh"] = opened.needed_wh
    out["delivered_wh"] = by_others + ran(steps.BY_GENERATOR) + ran(steps.FROM_BANK)
    out["solar_wh"] += opened.solar_wh
    out["engine_wh"] += opened.engine_wh
    out["shore_wh"] += opened.shore_wh
    out["store_change_wh"] = ran(STORED) - ran.before_wh
    out["mean_charge"] = ran(steps.SUM_CHARGE) / hours
    out["mean_degc"] = ran(steps.SUM_DEGC) / hours
    out["lowest_charge"] = ran.lowest_charge.min(axis=0)
    work = ran(steps.WORK)
    rate = ran(steps.WORK_RATE) * ran(PER_WH) / np.where(work > 0.0, work, 1.0)
    factor = banks["cycle_rate_slope"] * rate + banks["cycle_rate_offset"]
    out["mean_c_rate"] = rate
    out["days_not_full"] = np.where(banks["sulphates"] > 0.0, ran(steps.NOT_FULL), 0.0)
    hardened = 1.0 + rules.sulphation * out["days_not_full"] / max(hours // 24, 1)
    out["calendar_stress"] = ran(steps.CALENDAR) * hardened
    out["cycle_stress"] = ran(steps.CYCLE) * factor**2 * hardened
    out["resistance_growth"] = np.where(banks["grows_in_store"] > 0.0, ran(steps.GROWTH), 0.0)


COUNTED = {
    "from_bank_wh": steps.FROM_BANK,
    "unserved_wh": steps.UNSERVED,
    "unserved_essential_wh": steps.UNSERVED_ESSENTIAL,
    "hours_any_load_short": steps.SHORT_HOURS,
    "hours_without_power": steps.ESSENTIAL_HOURS,
    "unserved_days": steps.LOST_DAYS,
    "longest_gap_hours": steps.LONGEST,
    "solar_wh": steps.FROM_SOLAR,
    "engine_wh": steps.FROM_ENGINE,
    "shore_wh": steps.FROM_SHORE,
    "generator_wh": steps.FROM_GENERATOR,
    "solar_lost_wh": steps.SOLAR_LOST,
    "solar_locked_out_wh": steps.SOLAR_LOCKED,
    "locked_out_hours": steps.LOCKED_HOURS,
    "too_cold_hours": steps.COLD_HOURS,
    "heater_wh": steps.HEATER,
    "laid_up_solar_locked_out_wh": steps.LAID_UP_LOCKED,
    "laid_up_locked_out_hours": steps.LAID_UP_HOURS,
    "laid_up_too_cold_hours": steps.LAID_UP_COLD_HOURS,
    "laid_up_heater_wh": steps.LAID_UP_HEATER,
    "drained_wh": steps.DRAINED,
    "loss_wh": steps.LOSSES,
    "full_cycles": steps.FULL_CYCLES,
    "coldest_degc": steps.COLDEST,
    "coldest_offered_degc": steps.COLDEST_OFFERED,
}
"""Which totals of the loop are results as they are."""
