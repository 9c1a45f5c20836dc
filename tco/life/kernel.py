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

Within an hour powers, open-circuit volts and resistance are constant; the taper and the
temperature are solved exactly. Ageing is summed as "stress": calendar stress over temperature and
state of charge, cycle stress over rainflow-counted cycles, in the units of the chemistry's model
(see `tco.life.stress`).
"""

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit

from tco.life.records import BANK as BANK
from tco.life.records import HOUR as HOUR
from tco.life.records import RESULT as RESULT
from tco.life.records import FloatArray
from tco.life.records import Rules as Rules
from tco.life.records import Tables as Tables
from tco.physics.cycles import cycle_sums

TABLE_COLDEST_DEGC = -60.0
TABLE_STEP_K = 1.0
TABLE_SIZE = 141
"""Tables by temperature run from -60 to +80 degC in steps of 1 K."""

WARM_UP_HOURS = 720
"""The last month is run once before counting, so that the year does not begin at full."""

HEATER_ABOVE_LIMIT_K = 3.0
"""A heater holds the pack this far above its charging limit. Common practice, no source."""

STORAGE_DRAIN_C = 0.05
"""Rate at which a bank is brought down to its storage charge at the start of a lay-up."""

STORAGE_BAND = 0.01
"""A laid-up bank is left alone until it is this share above its storage charge."""

SHORT_SHARE = 0.01
"""An hour counts as one without power when more than this share of what was wanted is missing.
Energy that is missing counts always. Our choice: a smaller share is no outage."""


Function = TypeVar("Function", bound=Callable[..., Any])


def _compiled(function: Function) -> Function:
    # divisions as IEEE says, without a test for zero; sums may use fused multiply-add
    return cast(
        Function,
        njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})(function),
    )


def _inlined(function: Function) -> Function:
    return cast(Function, njit(cache=True, error_model="numpy", inline="always")(function))


@_inlined
def _at(table: FloatArray, temperature_degc: float) -> float:
    """Linear interpolation in a table by temperature, held at its ends."""
    place = (temperature_degc - TABLE_COLDEST_DEGC) / TABLE_STEP_K
    place = min(max(place, 0.0), TABLE_SIZE - 1.000001)
    lower = int(place)
    return float(table[lower] + (place - lower) * (table[lower + 1] - table[lower]))


@_inlined
def _over(table: FloatArray, fraction: float) -> float:
    """Linear interpolation in a table over 0..1."""
    place = fraction * (table.size - 1)
    lower = min(int(place), table.size - 2)
    return float(table[lower] + (place - lower) * (table[lower + 1] - table[lower]))


@_inlined
def charging_current(power_w: float, volts: float, ohms: float) -> float:
    """Current into a bank that takes `power_w` at its terminals. [A]

    The root of P = V I + R I^2, V at open circuit.
    """
    return 2.0 * power_w / (volts + math.sqrt(volts * volts + 4.0 * ohms * power_w))


@_inlined
def discharging_current(power_w: float, volts: float, ohms: float) -> float:
    """Current out of a bank that gives `power_w` at its terminals. [A]

    The smaller root of P = V I - R I^2; no more than V^2 / 4R can be given.
    """
    under_root = max(volts * volts - 4.0 * ohms * power_w, 0.0)
    return 2.0 * power_w / (volts + math.sqrt(under_root))


@_inlined
def share_gained(charge: float, rate: float, taper: float) -> float:
    """State of charge gained in an hour at `rate` (share per hour) or what the taper lets in.

    The bank accepts no more than taper x (1 - charge) per hour: constant up to the knee, where
    the two meet, then an exponential approach to full.
    """
    room = 1.0 - charge
    if rate <= taper * (room - rate):
        return rate
    if rate >= taper * room:
        return room * -math.expm1(-taper)
    at_knee = rate / taper
    before = (room - at_knee) / rate
    return room - at_knee * math.exp(-taper * (1.0 - before))


@_compiled
def run_hours(
    bank: Any,
    tables: Tables,
    kind: int,
    hourly: Any,
    rules: Rules,
    first: int,
    stored_wh: float,
    degc: float,
    generator_on: bool,
    charge_trace: FloatArray,
    degc_trace: FloatArray,
    out: Any,
    monthly_unserved_wh: FloatArray,
    monthly_lowest_charge: FloatArray,
) -> tuple[float, float, bool]:
    """Run the hours from `first` to the end; fill everything from `charge_trace` on.

    Returns the store, the temperature and whether the generator runs, at the end.
    """
    capacity_table, resistance_table = tables.capacity[kind], tables.resistance[kind]
    calendar_table, voltage_table = tables.calendar[kind], tables.voltage[kind]
    storage_table = tables.storage[kind]
    full_wh = bank.energy_wh
    per_wh = 1.0 / full_wh
    k_per_w = 1.0 / bank.conductance_w_per_k
    decay = math.exp(-bank.conductance_w_per_k / bank.heat_capacity_wh_per_k)
    taper = bank.charge_w * bank.coulombic / (full_wh * (1.0 - bank.taper_from))
    heated_degc = bank.charge_min_degc + HEATER_ABOVE_LIMIT_K

    needed = delivered = from_bank = unserved = unserved_essential = 0.0
    short_hours = essential_hours = lost_days = longest = gap = 0.0
    from_solar = from_engine = from_shore = from_generator = 0.0
    solar_lost = solar_locked = locked_hours = heater_total = drained = losses = 0.0
    calendar = sum_degc = sum_charge = work = work_rate = 0.0
    coldest, lowest = 1e9, 1.0
    start_wh = stored_wh
    short_today = False
    monthly_unserved_wh[:] = 0.0
    monthly_lowest_charge[:] = 1.0

    for i in range(first, hourly.size):
        hour = hourly[i]
        before_wh = stored_wh
        charge = stored_wh * per_wh
        load = hour.essential_w + hour.other_w

        # 1. what can be drawn; the generator is started by hand when that runs low
        usable = bank.depth * _at(capacity_table, degc)
        generator = 0.0
        if hour.generator_w > 0.0:
            left = 1.0 - (1.0 - charge) / usable if usable > 0.0 else 0.0
            if left >= rules.generator_stop:
                generator_on = False
            elif left < rules.generator_start:
                generator_on = True
            if generator_on:
                generator = hour.generator_w
        else:
            generator_on = False

        # 2. sources serve the loads
        missing = load
        used = min(missing, hour.solar_w)
        solar_left = hour.solar_w - used
        missing -= used
        from_solar += used
        used = min(missing, hour.engine_w)
        engine_left = hour.engine_w - used
        missing -= used
        from_engine += used
        used = min(missing, hour.shore_w)
        shore_left = hour.shore_w - used
        missing -= used
        from_shore += used
        used = min(missing, generator)
        generator -= used
        missing -= used
        from_generator += used

        # 3. heater, then charge, from what is left
        spare = solar_left + engine_left + shore_left + generator
        terminal_w = heat_w = 0.0
        ceiling = rules.storage_charge if hour.laid_up else 1.0
        room = ceiling - charge
        if spare > 0.0 and room > 1e-6:
            if bank.heater_w > 0.0:  # the thermostat acts within the hour
                passive = hour.space_degc + (degc - hour.space_degc) * decay
                enough = (heated_degc - passive) * bank.conductance_w_per_k / (1.0 - decay)
                heat_w = max(0.0, min(bank.heater_w, spare, enough))
            offered = spare - heat_w
            if degc < bank.charge_min_degc or degc > bank.charge_max_degc:
                locked_hours += 1.0
                solar_locked += max(0.0, solar_left - heat_w)  # solar feeds the heater first
            elif offered > 0.0:
                volts = bank.nominal_v * _over(voltage_table, charge)
                ohms = bank.resistance_ohm * _at(resistance_table, degc)
                inward = volts * bank.coulombic
                limit_w = min(bank.charge_w, offered)
                current = charging_current(limit_w, volts, ohms)
                rate = inward * current * per_wh
                gained = min(share_gained(charge, rate, taper), room)
                if gained < rate:
                    current *= gained / rate
                terminal_w = min((volts + ohms * current) * current, offered)
                stored_wh += gained * full_wh
            wanted = heat_w + terminal_w
            used = min(wanted, solar_left)
            solar_left -= used
            wanted -= used
            from_solar += used
            used = min(wanted, engine_left)
            wanted -= used
            from_engine += used
            used = min(wanted, shore_left)
            wanted -= used
            from_shore += used
            from_generator += min(wanted, generator)
            heater_total += heat_w
        solar_lost += solar_left

        # 4. the bank gives what is missing, and at the start of a lay-up what it holds too much
        drain = 0.0
        if hour.laid_up and charge > rules.storage_charge + STORAGE_BAND:
            drain = min(STORAGE_DRAIN_C, charge - rules.storage_charge) * full_wh
        asked = missing + drain
        if asked > 0.0 and bank.discharge_min_degc <= degc <= bank.discharge_max_degc:
            volts = bank.nominal_v * _over(voltage_table, charge)
            ohms = bank.resistance_ohm * _at(resistance_table, degc)
            given = min(asked, bank.discharge_w)
            if 4.0 * ohms * given > volts * volts:
                given = volts * volts / (4.0 * ohms)
            current = discharging_current(given, volts, ohms)
            reach = usable
            if bank.peukert > 1.0 and current > bank.rated_current_a:
                reach *= (bank.rated_current_a / current) ** (bank.peukert - 1.0)
            available = max(0.0, stored_wh - full_wh * max(0.0, 1.0 - reach))
            if volts * current > available:
                current = available / volts
                given = (volts - ohms * current) * current
            stored_wh = max(0.0, stored_wh - volts * current)
            terminal_w -= given
            served = min(given, missing)
            drained += given - served
            missing -= served
            from_bank += served
        stored_wh -= stored_wh * bank.self_discharge_per_hour

        # 5. heat
        lost = terminal_w - (stored_wh - before_wh)
        losses += lost
        equilibrium = hour.space_degc + (lost + heat_w) * k_per_w
        degc = equilibrium + (degc - equilibrium) * decay

        # what the hour adds to the totals
        needed += load
        delivered += load - missing
        gap_goes_on = False
        if missing > 0.0:
            unserved += missing
            monthly_unserved_wh[hour.month] += missing
            essential_missing = max(0.0, missing - hour.other_w)
            unserved_essential += essential_missing
            if missing > SHORT_SHARE * load:
                short_hours += 1.0
            gap_goes_on = essential_missing > SHORT_SHARE * hour.essential_w
        if gap_goes_on:
            essential_hours += 1.0
            gap += 1.0
            longest = max(longest, gap)
            short_today = True
        else:
            gap = 0.0
        if i % 24 == 23:
            if short_today:
                lost_days += 1.0
            short_today = False
        charge = stored_wh * per_wh
        if charge < monthly_lowest_charge[hour.month]:
            monthly_lowest_charge[hour.month] = charge
            lowest = min(lowest, charge)
        coldest = min(coldest, degc)
        sum_degc += degc
        sum_charge += charge
        calendar += _at(calendar_table, degc) * _over(storage_table, charge)
        moved = abs(terminal_w)
        work += moved
        work_rate += moved * moved * per_wh
        charge_trace[i] = charge
        degc_trace[i] = degc

    counted = hourly.size - first
    out.needed_wh = needed
    out.delivered_wh = delivered
    out.from_bank_wh = from_bank
    out.unserved_wh = unserved
    out.unserved_essential_wh = unserved_essential
    out.unserved_hours = short_hours
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
    out.calendar_stress = calendar
    out.mean_c_rate = work_rate / work if work > 0.0 else 0.0
    out.lowest_charge = lowest
    out.mean_charge = sum_charge / counted
    out.coldest_degc = coldest
    out.mean_degc = sum_degc / counted
    return stored_wh, degc, generator_on


@_compiled
def run_years(
    bank: Any,
    tables: Tables,
    kind: int,
    hourly: Any,
    rules: Rules,
    charge_trace: FloatArray,
    degc_trace: FloatArray,
    stack: FloatArray,
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
    hourly
        Conditions, records of `HOUR`, shape (hours,).
    charge_trace, degc_trace, stack
        Shape (hours,): state of charge and temperature at the end of each hour; scratch.
    monthly_unserved_wh, monthly_lowest_charge
        Shape (12,): filled with totals and with the lowest state of charge.
    """
    first = max(0, hourly.size - WARM_UP_HOURS)
    state = (bank.energy_wh, hourly[first].space_degc, False)
    for begin in (first, 0):
        state = run_hours(
            bank,
            tables,
            kind,
            hourly,
            rules,
            begin,
            state[0],
            state[1],
            state[2],
            charge_trace,
            degc_trace,
            out,
            monthly_unserved_wh,
            monthly_lowest_charge,
        )
    full_cycles, cycle_sum = cycle_sums(charge_trace, stack, tables.cycle[kind])
    factor = bank.cycle_rate_slope * out.mean_c_rate + bank.cycle_rate_offset
    out.full_cycles = full_cycles
    out.cycle_stress = cycle_sum * factor * factor


@_compiled
def run_banks(
    first: int,
    last: int,
    banks: Any,
    kinds: Any,
    tables: Tables,
    hourly: Any,
    rules: Rules,
    out: Any,
    monthly_unserved_wh: FloatArray,
    monthly_lowest_charge: FloatArray,
) -> None:
    """Run banks `first` to `last` (excluded), each at one health; without the interpreter's lock.

    `banks` and `out` have shape (n,); `kinds[j]` says which row of the tables bank j uses; the
    monthly arrays have shape (n, 12). See `run_years`.
    """
    charge_trace = np.empty(hourly.size)
    degc_trace = np.empty(hourly.size)
    stack = np.empty(hourly.size)
    for j in range(first, last):
        run_years(
            banks[j],
            tables,
            kinds[j],
            hourly,
            rules,
            charge_trace,
            degc_trace,
            stack,
            out[j],
            monthly_unserved_wh[j],
            monthly_lowest_charge[j],
        )
