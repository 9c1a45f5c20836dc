"""The hourly year of one bank: the loop that everything else rests on.

State of the bank is the energy above empty at open circuit [Wh], so that the balance closes
exactly: in = out + losses + change of store. In each hour:

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
"""

import math
from typing import Any

import numpy as np

from tco.life.growth import growth_in_store
from tco.life.hourly import TABLE_COLDEST_DEGC as TABLE_COLDEST_DEGC
from tco.life.hourly import TABLE_SIZE as TABLE_SIZE
from tco.life.hourly import TABLE_STEP_K as TABLE_STEP_K
from tco.life.hourly import (
    between,
    compiled,
    inside_share,
    open_hours,
    place,
    place_degc,
    share_gained,
    share_of_days_not_full,
)
from tco.life.records import BANK as BANK
from tco.life.records import HOUR as HOUR
from tco.life.records import RESULT as RESULT
from tco.life.records import FloatArray, Open
from tco.life.records import Rules as Rules
from tco.life.records import Tables as Tables
from tco.physics.cycles import cycle_sums

WARM_UP_HOURS = 720
"""The last month is run once before counting, so that the year does not begin at full."""

HEATER_ABOVE_LIMIT_K = 3.0
"""A heater holds the pack this far above its charging limit. Common practice, no source."""

STORAGE_DRAIN_C = 0.05
"""Rate at which a bank is brought down to its storage charge at the start of a lay-up."""

STORAGE_BAND = 0.01
"""A laid-up bank is left alone until it is this share above its storage charge."""

SHORT_SHARE = 0.01
"""An hour is short of power when more than this share of what was wanted is missing; it then counts
for the share that is missing. Energy that is missing counts always. Our choice: a smaller share is
no outage."""


@compiled
def run_hours(
    bank: Any,
    tables: Tables,
    kind: int,
    opened: Open,
    rules: Rules,
    first: int,
    stored_wh: float,
    degc: float,
    generator_on: bool,
    charge_trace: FloatArray,
    degc_trace: FloatArray,
    unserved_trace: FloatArray,
    out: Any,
    monthly_unserved_wh: FloatArray,
    monthly_lowest_charge: FloatArray,
) -> tuple[float, float, bool]:
    """Run the hours from `first` to the end; fill everything from `charge_trace` on.

    Returns the store, the temperature and whether the generator runs, at the end. Totals are
    those of the hours run, but for `needed_wh`, `delivered_wh`, `solar_wh`, `engine_wh` and
    `shore_wh`: they also hold what `opened` counts for all its hours, and are right only where
    `first` is 0. Days lost are right for any `first` if the hours of `opened` begin at midnight:
    those before `first` count as not short. `unserved_trace` is as in `run_years`.
    """
    hourly = opened.hours
    capacity_table = tables.capacity[kind] * bank.depth
    resistance_table = tables.resistance[kind] * bank.resistance_ohm
    voltage_table = tables.voltage[kind] * bank.nominal_v
    calendar_table = tables.calendar[kind]
    storage_table = tables.storage[kind]
    full_wh = bank.energy_wh
    per_wh = 1.0 / full_wh
    conductance = bank.conductance_w_per_k * rules.surface_share
    k_per_w = 1.0 / conductance
    decay = math.exp(-conductance / bank.heat_capacity_wh_per_k)
    taper = bank.charge_w * bank.coulombic / (full_wh * (1.0 - bank.taper_from))
    approach = -math.expm1(-taper)  # share of the room filled in an hour of taper
    heated_degc = bank.charge_min_degc + HEATER_ABOVE_LIMIT_K
    coulombic, charge_w, discharge_w = bank.coulombic, bank.charge_w, bank.discharge_w
    charge_min_degc, charge_max_degc = bank.charge_min_degc, bank.charge_max_degc
    discharge_min_degc, discharge_max_degc = bank.discharge_min_degc, bank.discharge_max_degc
    storage_charge = rules.storage_charge_lead if bank.sulphates > 0.0 else rules.storage_charge
    kept = 1.0 - bank.self_discharge_per_hour
    keep_trace = unserved_trace.size > 0

    from_bank = unserved = unserved_essential = 0.0
    hours_any_load_short = hours_without_power = lost_days = longest = gap = 0.0
    from_solar, from_engine, from_shore = opened.solar_wh, opened.engine_wh, opened.shore_wh
    from_generator = served_by_generator = 0.0
    solar_lost = solar_locked = locked_hours = heater_total = drained = losses = 0.0
    laid_up_locked = laid_up_hours = laid_up_heater = 0.0
    calendar = sum_degc = sum_charge = work = work_rate = 0.0
    coldest, lowest = 1e9, 1.0
    start_wh = stored_wh
    short_today = 0.0
    monthly_unserved_wh[:] = 0.0
    monthly_lowest_charge[:] = 1.0
    charge = stored_wh * per_wh
    at_charge, past_charge = place(charge, voltage_table.size)
    at_degc, past_degc = place_degc(degc)

    for i in range(first, hourly.size):
        hour = hourly[i]
        before_wh = stored_wh
        missing = hour.open_w
        spare = hour.spare_w

        # 1. the generator is started by hand when what can be drawn runs low
        generator = 0.0
        if hour.generator_w > 0.0:
            usable = between(capacity_table, at_degc, past_degc)
            left = 1.0 - (1.0 - charge) / usable if usable > 0.0 else 0.0
            if left >= rules.generator_stop:
                generator_on = False
            elif left < rules.generator_start:
                generator_on = True
            if generator_on:  # 2. it serves what the other sources have left open
                used = min(missing, hour.generator_w)
                generator = hour.generator_w - used
                missing -= used
                from_generator += used
                served_by_generator += used
                spare += generator
        else:
            generator_on = False

        # 3. heater, then charge, from what is left
        solar_left = hour.solar_w
        terminal_w = heat_w = 0.0
        room = (storage_charge if hour.laid_up else hour.ceiling) - charge
        if spare > 0.0 and room > 1e-6:
            if bank.heater_w > 0.0 and (rules.heat_laid_up or not hour.laid_up):
                # the thermostat acts within the hour
                passive = hour.space_degc + (degc - hour.space_degc) * decay
                enough = (heated_degc - passive) * conductance / (1.0 - decay)
                heat_w = max(0.0, min(bank.heater_w, spare, enough))
                if hour.laid_up:
                    laid_up_heater += heat_w
                else:
                    heater_total += heat_w
            offered = spare - heat_w
            if degc < charge_min_degc or degc > charge_max_degc:
                refused = max(0.0, solar_left - heat_w)  # solar feeds the heater first
                if hour.laid_up:
                    laid_up_hours += 1.0
                    laid_up_locked += refused
                else:
                    locked_hours += 1.0
                    solar_locked += refused
            elif offered > 0.0:
                volts = between(voltage_table, at_charge, past_charge)
                ohms = between(resistance_table, at_degc, past_degc)
                inward = volts * coulombic
                limit_w = min(charge_w, offered)
                # what the taper lets in at the hour's beginning; if the power is there for it,
                # it is there for the whole hour
                per_share = full_wh / inward
                most = taper * (1.0 - charge) * per_share
                if limit_w >= (volts + ohms * most) * most:
                    gained = min(approach * (1.0 - charge), room)
                    current = gained * per_share
                else:
                    inside = inside_share(-ohms * limit_w / (volts * volts))
                    rate = limit_w * inside * coulombic * per_wh
                    gained = min(share_gained(charge, rate, taper), room)
                    current = gained * per_share
                terminal_w = min((volts + ohms * current) * current, limit_w)
                stored_wh += gained * full_wh
            wanted = heat_w + terminal_w
            used = min(wanted, solar_left)
            solar_left -= used
            wanted -= used
            from_solar += used
            if spare > hour.solar_w:
                used = min(wanted, hour.engine_w)
                wanted -= used
                from_engine += used
                used = min(wanted, hour.shore_w)
                wanted -= used
                from_shore += used
                from_generator += min(wanted, generator)
        solar_lost += solar_left

        # 4. the bank gives what is missing, and at the start of a lay-up what it holds too much
        drain = 0.0
        if hour.laid_up and charge > storage_charge + STORAGE_BAND:
            drain = min(STORAGE_DRAIN_C, charge - storage_charge) * full_wh
        asked = missing + drain
        if asked > 0.0 and discharge_min_degc <= degc <= discharge_max_degc:
            volts = between(voltage_table, at_charge, past_charge)
            ohms = between(resistance_table, at_degc, past_degc)
            given = min(asked, discharge_w)
            share_lost = ohms * given / (volts * volts)
            if share_lost > 0.25:  # V^2 / 4R is the most it can give
                share_lost = 0.25
                given = volts * volts / (4.0 * ohms)
            drawn_wh = given * inside_share(share_lost)
            # cold and (lead-acid) current hold energy back
            reach = between(capacity_table, at_degc, past_degc)
            if bank.peukert > 1.0 and drawn_wh > bank.rated_current_a * volts:
                reach *= (bank.rated_current_a * volts / drawn_wh) ** (bank.peukert - 1.0)
            available = max(0.0, stored_wh - full_wh * max(0.0, 1.0 - reach))
            if drawn_wh > available:
                drawn_wh = available
                current = available / volts
                given = (volts - ohms * current) * current
            stored_wh = max(0.0, stored_wh - drawn_wh)
            terminal_w -= given
            served = min(given, missing)
            drained += given - served
            missing -= served
            from_bank += served
        stored_wh *= kept

        # 5. heat
        lost = terminal_w - (stored_wh - before_wh)
        losses += lost
        equilibrium = hour.space_degc + (lost + heat_w) * k_per_w
        degc = equilibrium + (degc - equilibrium) * decay
        charge = stored_wh * per_wh
        at_charge, past_charge = place(charge, voltage_table.size)
        at_degc, past_degc = place_degc(degc)

        # what the hour adds to the totals
        gap_goes_on = False
        if i % 24 == 0:
            lost_days += min(1.0, short_today / rules.lost_day_hours)
            short_today = 0.0
        if missing > 0.0:
            unserved += missing
            monthly_unserved_wh[hour.month] += missing
            essential_missing = max(0.0, missing - hour.other_w)
            unserved_essential += essential_missing
            wanted = hour.essential_w + hour.other_w
            if missing > SHORT_SHARE * wanted:
                hours_any_load_short += missing / wanted
            gap_goes_on = essential_missing > SHORT_SHARE * hour.essential_w
            if keep_trace:
                unserved_trace[i, 0] = essential_missing
                unserved_trace[i, 1] = missing - essential_missing
        if gap_goes_on:
            hours_without_power += essential_missing / hour.essential_w
            short_today += essential_missing / hour.essential_w
            gap += 1.0
            longest = max(longest, gap)
        else:
            gap = 0.0
        if charge < monthly_lowest_charge[hour.month]:
            monthly_lowest_charge[hour.month] = charge
            lowest = min(lowest, charge)
        coldest = min(coldest, degc)
        sum_degc += degc
        sum_charge += charge
        calendar += between(calendar_table, at_degc, past_degc) * between(
            storage_table, at_charge, past_charge
        )
        work += abs(terminal_w)
        work_rate += terminal_w * terminal_w
        charge_trace[i] = charge
        degc_trace[i] = degc

    lost_days += min(1.0, short_today / rules.lost_day_hours)
    counted = hourly.size - first
    out.needed_wh = opened.needed_wh
    out.delivered_wh = (
        opened.solar_wh + opened.engine_wh + opened.shore_wh + served_by_generator + from_bank
    )
    out.from_bank_wh = from_bank
    out.unserved_wh = unserved
    out.unserved_essential_wh = unserved_essential
    out.hours_any_load_short = hours_any_load_short
    out.hours_without_power = hours_without_power
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
    out.laid_up_solar_locked_out_wh = laid_up_locked
    out.laid_up_locked_out_hours = laid_up_hours
    out.laid_up_heater_wh = laid_up_heater
    out.drained_wh = drained
    out.loss_wh = losses
    out.store_change_wh = stored_wh - start_wh
    out.calendar_stress = calendar
    out.mean_c_rate = work_rate * per_wh / work if work > 0.0 else 0.0
    out.lowest_charge = lowest
    out.mean_charge = sum_charge / counted
    out.coldest_degc = coldest
    out.mean_degc = sum_degc / counted
    return stored_wh, degc, generator_on


@compiled
def run_years(
    bank: Any,
    tables: Tables,
    kind: int,
    opened: Open,
    rules: Rules,
    charge_trace: FloatArray,
    degc_trace: FloatArray,
    unserved_trace: FloatArray,
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
    opened
        Conditions, from `open_hours`.
    charge_trace, degc_trace, stack
        Shape (hours,): state of charge and temperature at the end of each hour; scratch.
    unserved_trace
        Shape (hours, 2), zeros: filled with the energy missing in each hour, of essential and of
        other loads [Wh]. Or shape (0, 2): not wanted.
    monthly_unserved_wh, monthly_lowest_charge
        Shape (12,): filled with totals and with the lowest state of charge.
    """
    first = max(0, opened.hours.size - WARM_UP_HOURS)
    state = (bank.energy_wh, opened.hours[first].space_degc, False)
    for begin in (first, 0):
        state = run_hours(
            bank,
            tables,
            kind,
            opened,
            rules,
            begin,
            state[0],
            state[1],
            state[2],
            charge_trace,
            degc_trace,
            unserved_trace if begin == 0 else unserved_trace[:0],
            out,
            monthly_unserved_wh,
            monthly_lowest_charge,
        )
    full_cycles, cycle_sum = cycle_sums(charge_trace, stack, tables.cycle[kind])
    factor = bank.cycle_rate_slope * out.mean_c_rate + bank.cycle_rate_offset
    if bank.grows_in_store > 0.0:
        out.resistance_growth = growth_in_store(charge_trace, degc_trace)
    out.full_cycles = full_cycles
    out.cycle_stress = cycle_sum * factor * factor
    out.days_not_full = 0.0
    if bank.sulphates > 0.0:
        share = share_of_days_not_full(charge_trace)
        out.days_not_full = share * (charge_trace.size // 24)
        out.calendar_stress *= 1.0 + rules.sulphation * share
        out.cycle_stress *= 1.0 + rules.sulphation * share


@compiled
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
    unserved_trace = np.empty((0, 2))
    stack = np.empty(hourly.size)
    opened = open_hours(hourly, rules)
    for j in range(first, last):
        run_years(
            banks[j],
            tables,
            kinds[j],
            opened,
            rules,
            charge_trace,
            degc_trace,
            unserved_trace,
            stack,
            out[j],
            monthly_unserved_wh[j],
            monthly_lowest_charge[j],
        )
