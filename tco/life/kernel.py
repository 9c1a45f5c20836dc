"""The hourly year of one bank: the loop that everything else rests on.

State of the bank is the energy above empty at open circuit [Wh], so that the balance closes
exactly: in = out + losses + change of store. In each hour:

1. the pack's temperature decides how much may be drawn and whether charging is locked out;
2. sources serve the loads first: solar, engine, shore, generator;
3. what is left warms a cold pack that has a heater, then charges it, within the limits of the
   packs (current, taper near full) and of the lock-out;
4. what is missing comes from the bank, down to its usable depth, which shrinks with cold and
   (lead-acid, Peukert) with current; essential loads come first;
5. losses warm the packs, which follow the space with a first-order lag.

Ageing is summed as "stress": calendar stress over temperature and state of charge, cycle stress
over rainflow-counted cycles, in the units of the chemistry's model (see `tco.life.stress`).
"""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from tco.physics.cycles import cycle_sums

TABLE_COLDEST_DEGC = -60.0
TABLE_STEP_K = 1.0
TABLE_SIZE = 141
"""Tables by temperature run from -60 to +80 degC in steps of 1 K."""

WARM_UP_HOURS = 720
"""The last month is run once before counting, so that the year does not begin at full."""

HEATER_ABOVE_LIMIT_K = 3.0
"""A heater holds the pack this far above its charging limit. Common practice, no source."""

SMALLEST_TAPER = 0.02
"""The taper near full does not fall below this share of the charge limit."""

STORAGE_DRAIN_C = 0.05
"""Rate at which a bank is brought down to its storage charge at the start of a lay-up."""

NOTHING_WH = 0.5
"""Less than this unserved in an hour is rounding, not an outage. [Wh]"""

BANK = np.dtype(
    [
        (name, np.float64)
        for name in (
            "energy_wh",
            "depth",
            "nominal_v",
            "resistance_ohm",
            "discharge_w",
            "charge_w",
            "coulombic",
            "taper_from",
            "self_discharge_per_hour",
            "charge_min_degc",
            "charge_max_degc",
            "discharge_min_degc",
            "discharge_max_degc",
            "heater_w",
            "heat_capacity_wh_per_k",
            "conductance_w_per_k",
            "peukert",
            "rated_current_a",
            "cycle_rate_slope",
            "cycle_rate_offset",
        )
    ],
    align=True,
)
"""One bank at one health: what the kernel needs of it."""

RESULT = np.dtype(
    [
        (name, np.float64)
        for name in (
            "needed_wh",
            "delivered_wh",
            "from_bank_wh",
            "unserved_wh",
            "unserved_essential_wh",
            "unserved_hours",
            "unserved_essential_hours",
            "unserved_days",
            "longest_gap_hours",
            "solar_wh",
            "engine_wh",
            "shore_wh",
            "generator_wh",
            "solar_lost_wh",
            "solar_locked_out_wh",
            "locked_out_hours",
            "heater_wh",
            "drained_wh",
            "loss_wh",
            "store_change_wh",
            "full_cycles",
            "calendar_stress",
            "cycle_stress",
            "mean_c_rate",
            "lowest_charge",
            "mean_charge",
            "coldest_degc",
            "mean_degc",
        )
    ],
    align=True,
)
"""Totals over all simulated years (extremes and means where the name says so)."""


@njit(cache=True, inline="always")
def _at(table: NDArray[np.float64], temperature_degc: float) -> float:
    """Linear interpolation in a table by temperature, held at its ends."""
    place = (temperature_degc - TABLE_COLDEST_DEGC) / TABLE_STEP_K
    if place <= 0.0:
        return table[0]
    if place >= TABLE_SIZE - 1:
        return table[TABLE_SIZE - 1]
    lower = int(place)
    return table[lower] + (place - lower) * (table[lower + 1] - table[lower])


@njit(cache=True, inline="always")
def _share(table: NDArray[np.float64], fraction: float) -> float:
    """Linear interpolation in a table over 0..1."""
    place = fraction * (table.size - 1)
    lower = min(int(place), table.size - 2)
    return table[lower] + (place - lower) * (table[lower + 1] - table[lower])


@njit(cache=True)
def run_years(
    bank,
    capacity_table,
    resistance_table,
    calendar_table,
    voltage_table,
    storage_table,
    cycle_table,
    essential_w,
    other_w,
    solar_w,
    engine_w,
    shore_w,
    generator_w,
    space_degc,
    laid_up,
    month,
    generator_start,
    generator_stop,
    storage_charge,
    charge_trace,
    degc_trace,
    stack,
    out,
    monthly_unserved_wh,
    monthly_lowest_charge,
):
    """Run one bank through all hours; fill `out`, the traces and the monthly arrays.

    Parameters
    ----------
    bank, out
        One record of `BANK` and of `RESULT`.
    capacity_table, resistance_table, calendar_table
        By temperature, shape (TABLE_SIZE,): fraction of capacity; resistance factor; calendar
        stress per hour.
    voltage_table, storage_table
        Over state of charge 0..1: open-circuit volts over nominal; factor on calendar stress.
    cycle_table
        Over depth 0..1: cycle stress per full cycle equivalent.
    essential_w ... month
        Hourly arrays of `tco.life.conditions.Conditions`, shape (hours,).
    charge_trace, degc_trace, stack
        Shape (hours,): state of charge and temperature at the end of each hour; scratch.
    monthly_unserved_wh, monthly_lowest_charge
        Shape (12,): filled with totals and with the lowest state of charge.
    """
    hours = essential_w.size
    full_wh = bank.energy_wh
    stored_wh = full_wh
    degc = space_degc[0]
    generator_on = False
    decay = math.exp(-bank.conductance_w_per_k / bank.heat_capacity_wh_per_k)

    needed = delivered = from_bank = unserved = unserved_essential = 0.0
    gap_hours = essential_hours = lost_days = longest = current_gap = 0.0
    from_solar = from_engine = from_shore = from_generator = 0.0
    solar_lost = solar_locked = locked_hours = heater_total = drained = losses = 0.0
    calendar = sum_degc = sum_charge = work = work_rate = 0.0
    coldest = 1e9
    lowest = 1.0
    start_wh = stored_wh
    short_today = False
    for m in range(12):
        monthly_unserved_wh[m] = 0.0
        monthly_lowest_charge[m] = 1.0

    for step in range(-WARM_UP_HOURS, hours):
        i = step if step >= 0 else hours + step
        if step == 0:
            needed = delivered = from_bank = unserved = unserved_essential = 0.0
            gap_hours = essential_hours = lost_days = longest = current_gap = 0.0
            from_solar = from_engine = from_shore = from_generator = 0.0
            solar_lost = solar_locked = locked_hours = heater_total = drained = losses = 0.0
            calendar = sum_degc = sum_charge = work = work_rate = 0.0
            coldest = 1e9
            lowest = 1.0
            start_wh = stored_wh
            short_today = False
            for m in range(12):
                monthly_unserved_wh[m] = 0.0
                monthly_lowest_charge[m] = 1.0

        charge = stored_wh / full_wh
        volts = bank.nominal_v * _share(voltage_table, charge)
        ohms = bank.resistance_ohm * _at(resistance_table, degc)
        essential = essential_w[i]
        load = essential + other_w[i]

        # the generator is started by hand when what can still be used runs low
        offered = generator_w[i]
        usable = bank.depth * _at(capacity_table, degc)
        left = 1.0 - (1.0 - charge) / usable if usable > 0.0 else 0.0
        if offered <= 0.0 or left >= generator_stop:
            generator_on = False
        elif left < generator_start:
            generator_on = True
        generator = offered if generator_on else 0.0

        # 2. sources serve the loads
        solar_left = solar_w[i]
        engine_left = engine_w[i]
        shore_left = shore_w[i]
        open_load = load
        used = min(open_load, solar_left)
        solar_left -= used
        open_load -= used
        from_solar += used
        used = min(open_load, engine_left)
        engine_left -= used
        open_load -= used
        from_engine += used
        used = min(open_load, shore_left)
        shore_left -= used
        open_load -= used
        from_shore += used
        used = min(open_load, generator)
        generator -= used
        open_load -= used
        from_generator += used

        # 3. heater, then charge, from what is left
        ceiling = storage_charge if laid_up[i] else 1.0
        spare = solar_left + engine_left + shore_left + generator
        heat_w = 0.0
        room_wh = ceiling * full_wh - stored_wh
        wants_charge = room_wh > 1e-6 * full_wh
        target = bank.charge_min_degc + HEATER_ABOVE_LIMIT_K
        if bank.heater_w > 0.0 and degc < target and spare > 0.0 and wants_charge:
            passive = space_degc[i] + (degc - space_degc[i]) * decay
            full_heat = (target - passive) * bank.conductance_w_per_k / (1.0 - decay)
            heat_w = max(0.0, min(min(bank.heater_w, spare), full_heat))
        locked = degc < bank.charge_min_degc or degc > bank.charge_max_degc
        accepted = 0.0
        if wants_charge and not locked and spare > heat_w:
            limit = bank.charge_w
            if charge > bank.taper_from:
                limit *= max(SMALLEST_TAPER, (1.0 - charge) / (1.0 - bank.taper_from))
            accepted = min(limit, spare - heat_w)
            # terminal power that just fills the room left, resistance loss included
            current = accepted / volts
            inside = (accepted - current * current * ohms) * bank.coulombic
            if inside > room_wh:
                accepted *= room_wh / inside
        if locked and wants_charge and spare > 0.0:
            locked_hours += 1.0
            solar_locked += min(solar_left, max(0.0, spare - heat_w))
        wanted = heat_w + accepted
        used = min(wanted, solar_left)
        from_solar += used
        solar_left -= used
        wanted -= used
        used = min(wanted, engine_left)
        from_engine += used
        wanted -= used
        used = min(wanted, shore_left)
        from_shore += used
        wanted -= used
        from_generator += wanted
        solar_lost += solar_left
        heater_total += heat_w

        before_wh = stored_wh
        terminal_w = 0.0
        if accepted > 0.0:
            current = accepted / volts
            lost = min(current * current * ohms, 0.5 * accepted)
            stored_wh += (accepted - lost) * bank.coulombic
            if stored_wh > full_wh:
                stored_wh = full_wh
            terminal_w = accepted

        # 4. the bank gives what is missing
        given = 0.0
        drain = 0.0
        if laid_up[i] and charge > storage_charge + 0.01:
            drain = min(STORAGE_DRAIN_C * full_wh, (charge - storage_charge) * full_wh)
        asked = open_load + drain
        if asked > 0.0 and bank.discharge_min_degc <= degc <= bank.discharge_max_degc:
            given = min(asked, bank.discharge_w)
            current = given / volts
            rate = 1.0
            if bank.peukert > 1.0 and current > bank.rated_current_a:
                rate = (bank.rated_current_a / current) ** (bank.peukert - 1.0)
            floor_wh = full_wh * (1.0 - usable * rate)
            available = stored_wh - max(floor_wh, 0.0)
            lost = min(current * current * ohms, 0.5 * given)
            inside = given + lost
            if inside > available:
                part = max(available, 0.0) / inside
                given *= part
                inside *= part
            stored_wh -= inside
            terminal_w -= given
        served = min(given, open_load)
        drained += given - served
        missing = open_load - served
        leak = stored_wh * bank.self_discharge_per_hour
        stored_wh -= leak

        # 5. heat
        lost_here = terminal_w - (stored_wh - before_wh)
        losses += lost_here
        equilibrium = space_degc[i] + (lost_here + heat_w) / bank.conductance_w_per_k
        degc = equilibrium + (degc - equilibrium) * decay

        needed += load
        delivered += load - missing
        from_bank += served
        charge = stored_wh / full_wh
        if missing > NOTHING_WH:
            unserved += missing
            gap_hours += 1.0
            monthly_unserved_wh[month[i]] += missing
            short = missing - (load - essential)
            if short > NOTHING_WH:
                unserved_essential += short
                essential_hours += 1.0
                current_gap += 1.0
                longest = max(longest, current_gap)
                short_today = True
            else:
                current_gap = 0.0
        else:
            current_gap = 0.0
        if i % 24 == 23:
            if short_today:
                lost_days += 1.0
            short_today = False
        if charge < monthly_lowest_charge[month[i]]:
            monthly_lowest_charge[month[i]] = charge
        lowest = min(lowest, charge)
        coldest = min(coldest, degc)
        sum_degc += degc
        sum_charge += charge
        calendar += _at(calendar_table, degc) * _share(storage_table, max(charge, 0.0))
        moved = abs(terminal_w)
        work += moved
        work_rate += moved * moved / full_wh
        if step >= 0:
            charge_trace[i] = charge
            degc_trace[i] = degc

    full_cycles, cycle_sum = cycle_sums(charge_trace, stack, cycle_table)
    c_rate = work_rate / work if work > 0.0 else 0.0
    factor = bank.cycle_rate_slope * c_rate + bank.cycle_rate_offset
    out.needed_wh = needed
    out.delivered_wh = delivered
    out.from_bank_wh = from_bank
    out.unserved_wh = unserved
    out.unserved_essential_wh = unserved_essential
    out.unserved_hours = gap_hours
    out.unserved_essential_hours = essential_hours
    out.unserved_days = lost_days
    out.longest_gap_hours = longest
    out.solar_wh = from_solar
    out.engine_wh = from_engine
    out.shore_wh = from_shore
    out.generator_wh = from_generator
    out.solar_lost_wh = solar_lost
    out.solar_locked_out_wh = solar_locked
    out.locked_out_hours = locked_hours
    out.heater_wh = heater_total
    out.drained_wh = drained
    out.loss_wh = losses
    out.store_change_wh = stored_wh - start_wh
    out.full_cycles = full_cycles
    out.calendar_stress = calendar
    out.cycle_stress = cycle_sum * factor * factor
    out.mean_c_rate = c_rate
    out.lowest_charge = lowest
    out.mean_charge = sum_charge / hours
    out.coldest_degc = coldest
    out.mean_degc = sum_degc / hours


@njit(cache=True, nogil=True)
def run_banks(
    first,
    last,
    banks,
    kind,
    capacity_tables,
    resistance_tables,
    calendar_tables,
    voltage_tables,
    storage_tables,
    cycle_tables,
    essential_w,
    other_w,
    solar_w,
    engine_w,
    shore_w,
    generator_w,
    space_degc,
    laid_up,
    month,
    generator_start,
    generator_stop,
    storage_charge,
    out,
    monthly_unserved_wh,
    monthly_lowest_charge,
):
    """Run banks `first` to `last` (excluded), each at one health; without the interpreter's lock.

    `banks` and `out` have shape (n,); `kind[j]` says which row of the tables bank j uses; the
    monthly arrays have shape (n, 12). See `run_years`.
    """
    charge_trace = np.empty(essential_w.size)
    degc_trace = np.empty(essential_w.size)
    stack = np.empty(essential_w.size)
    for j in range(first, last):
        k = kind[j]
        run_years(
            banks[j],
            capacity_tables[k],
            resistance_tables[k],
            calendar_tables[k],
            voltage_tables[k],
            storage_tables[k],
            cycle_tables[k],
            essential_w,
            other_w,
            solar_w,
            engine_w,
            shore_w,
            generator_w,
            space_degc,
            laid_up,
            month,
            generator_start,
            generator_stop,
            storage_charge,
            charge_trace,
            degc_trace,
            stack,
            out[j],
            monthly_unserved_wh[j],
            monthly_lowest_charge[j],
        )
