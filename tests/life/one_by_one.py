"""The hours of one bank in plain Python: the physics of `tco.life.kernel` with its branches.

One bank, one hour after the other, nothing marked, nothing done for eight banks at a time. Taper
and temperature are solved exactly, as there.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tco.life.hourly import TABLE_COLDEST_DEGC
from tco.life.records import Rules, Tables

WARM_UP_HOURS = 720


@dataclass
class Course:
    """State of charge and temperature at the end of each hour, energy missing in it; totals."""

    charge: list[float] = field(default_factory=list)
    degc: list[float] = field(default_factory=list)
    missing_wh: list[float] = field(default_factory=list)
    heater_wh: float = 0.0
    locked_out_hours: int = 0
    too_cold_hours: int = 0
    coldest_offered_degc: float = math.inf
    solar_lost_wh: float = 0.0
    generator_wh: float = 0.0
    loss_wh: float = 0.0
    calendar: float = 0.0


def course(bank: dict[str, float], tables: Tables, hourly: Any, rules: Rules) -> Course:
    """Run the last month as a warm-up from full, then all hours. `tables` have one kind only."""
    begun = bank["energy_wh"], float(hourly[-WARM_UP_HOURS]["space_degc"]), False
    state = _run(Course(), bank, tables, hourly[-WARM_UP_HOURS:], rules, *begun)
    found = Course()
    _run(found, bank, tables, hourly, rules, *state)
    return found


def _run(
    found: Course,
    bank: dict[str, float],
    tables: Tables,
    hourly: Any,
    rules: Rules,
    stored: float,
    degc: float,
    running: bool,
) -> tuple[float, float, bool]:
    full, coulombic = bank["energy_wh"], bank["coulombic"]
    conductance = bank["conductance_w_per_k"] * rules.surface_share
    decay = math.exp(-conductance / bank["heat_capacity_wh_per_k"])
    taper = bank["charge_w"] * coulombic / (full * (1.0 - bank["taper_from"]))
    storage = rules.storage_charge_lead if bank["sulphates"] else rules.storage_charge
    degrees = TABLE_COLDEST_DEGC + np.arange(tables.capacity.shape[1])
    shares = np.linspace(0.0, 1.0, tables.voltage.shape[1])

    def at(table: Any, grid: Any, place: float) -> float:
        return float(np.interp(place, grid, table[0]))

    for hour in hourly:
        before, charge, laid_up = stored, stored / full, bool(hour["laid_up"])
        volts = at(tables.voltage, shares, charge) * bank["nominal_v"]
        ohms = at(tables.resistance, degrees, degc) * bank["resistance_ohm"]
        reach, slow = at(tables.capacity, degrees, degc), float(bank["cold_slow_share"])
        sources = {name: float(hour[f"{name}_w"]) for name in ("solar", "engine", "shore")}
        missing = float(hour["essential_w"] + hour["other_w"])

        def take(wanted: float, sources: dict[str, float] = sources) -> float:
            """What sources do not give of what is wanted; what they give is gone."""
            for name, left in sources.items():
                used = min(wanted, left)
                sources[name] = left - used
                wanted -= used
                if name == "generator":
                    found.generator_wh += used
            return wanted

        missing = take(missing)
        left = 1.0 - (1.0 - charge) / min(_in_the_cold(reach, slow), bank["depth"])
        running = hour["generator_w"] > 0.0 and left < (
            rules.generator_stop if running else rules.generator_start
        ) and left < rules.generator_stop  # fmt: skip
        if running:
            sources["generator"] = float(hour["generator_w"])
            missing = take(missing)
        terminal = heat = 0.0
        spare = sum(sources.values())
        ceiling = storage if laid_up else float(rules.ceiling[hour["month"]])
        room = ceiling - charge
        if spare > 0.0 and room > 1e-6:
            found.coldest_offered_degc = min(found.coldest_offered_degc, degc)
            if rules.heat_laid_up or not laid_up:
                passive = hour["space_degc"] + (degc - hour["space_degc"]) * decay
                lacks = bank["charge_min_degc"] + 3.0 - passive
                enough = lacks * conductance / (1.0 - decay)
                heat = max(0.0, min(bank["heater_w"], spare, enough))
                found.heater_wh += heat
            if not bank["charge_min_degc"] <= degc <= bank["charge_max_degc"]:
                found.locked_out_hours += 1
                found.too_cold_hours += degc < bank["charge_min_degc"]
            elif spare > heat:
                limit = min(bank["charge_w"], spare - heat)
                inside = _inside(volts, -ohms, limit)
                gained = min(_gained(charge, inside * coulombic / full, taper), room)
                current = gained * full / (volts * coulombic)
                terminal = min((volts + ohms * current) * current, limit)
                stored += gained * full
            take(heat + terminal)
        found.solar_lost_wh += sources["solar"]
        drain = 0.0
        if laid_up and charge > storage + 0.01:
            drain = min(0.05, charge - storage) * full
        if bank["discharge_min_degc"] <= degc <= bank["discharge_max_degc"]:
            given = min(missing + drain, bank["discharge_w"])
            if ohms > 0.0:
                given = min(given, volts**2 / (4.0 * ohms))
            drawn = _inside(volts, ohms, given)
            rated = bank["rated_current_a"] * volts
            # between a twentieth and a half of the capacity in an hour, straight over the logarithm
            between = math.log10(max(drawn / full, 0.05) / 0.05)
            reach = _in_the_cold(reach, min(1.0, slow + (1.0 - slow) * between))
            if drawn > rated:
                reach *= (rated / drawn) ** (bank["peukert"] - 1.0)
            available = max(0.0, stored - full * (1.0 - min(reach, bank["depth"])))
            if drawn > available:
                drawn, current = available, available / volts
                given = (volts - ohms * current) * current
            stored = max(0.0, stored - drawn)
            terminal -= given
            missing -= min(given, missing)
        stored *= 1.0 - bank["self_discharge_per_hour"]
        lost = terminal - (stored - before)
        found.loss_wh += lost
        equilibrium = float(hour["space_degc"]) + (lost + heat) / conductance
        degc = equilibrium + (degc - equilibrium) * decay
        charge = stored / full
        found.calendar += at(tables.calendar, degrees, degc) * at(tables.storage, shares, charge)
        found.charge.append(charge)
        found.degc.append(degc)
        found.missing_wh.append(missing)
    return stored, degc, running


def _in_the_cold(reach: float, share: float) -> float:
    """What can be drawn, where cold holds back a share of what the table says."""
    return reach if reach > 1.0 else 1.0 - (1.0 - reach) * share


def _inside(volts: float, ohms: float, power: float) -> float:
    """Power at open circuit: V I with V I - R I^2 the power; R below 0 for charging."""
    return power * 2.0 / (1.0 + math.sqrt(max(0.0, 1.0 - 4.0 * ohms * power / volts**2)))


def _gained(charge: float, rate: float, taper: float) -> float:
    """State of charge gained in an hour, at `rate` until the taper lets in less."""
    room = 1.0 - charge
    full_rate = max(0.0, min(1.0, (room - rate / taper) / rate))  # part of the hour
    return room - (room - full_rate * rate) * math.exp(-taper * (1.0 - full_rate))
