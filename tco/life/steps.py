"""The steps of one hour, each for all banks that are run side by side.

What is known of the banks stands in one flat array, column after column, each `ABREAST` long:
`c[CHARGE + k]` is the state of charge of bank k. The loops over k have no branches: both sides of a
condition are worked out, and the compiler makes one instruction do for eight banks (or four). It
can do so since it sees that no two columns overlap, and that no place, being unsigned, counts from
the end. What few banks meet in few hours is marked in the column `ODD` and done by itself.
"""

import itertools
import math
from typing import Any

import numpy as np

from tco.life.hourly import (
    TABLE_COLDEST_DEGC,
    TABLE_SIZE,
    TABLE_STEP_K,
    share_gained,
)
from tco.physics.ageing import NAUMANN_RESISTANCE_SOC_OFFSET, NAUMANN_RESISTANCE_SOC_SQUARE
from tco.physics.arrays import FloatArray
from tco.physics.cold_rate import fraction_at_share, share_held_back
from tco.physics.compiled import step

ABREAST = 32
"""So many banks at most stand side by side: what is known of them fits into the fastest memory."""

STORAGE_DRAIN_C = 0.05
"""Rate at which a bank is brought down to its storage charge at the start of a lay-up."""

STORAGE_BAND = 0.01
"""A laid-up bank is left alone until it is this share above its storage charge."""

ROUNDING = 1e-12
"""A change of charge by less in an hour is none: a full bank wavers in its last digit."""

_number = itertools.count()


def _columns(count: int) -> Any:
    """Places of the next columns in the array."""
    return tuple(np.uintp(ABREAST * next(_number)) for _ in range(count))


# of a bank at its health, given for the whole run
FULL_WH, PER_WH, DEPTH, NOMINAL_V, NEW_OHM, COULOMBIC, KEPT, STORAGE = _columns(8)
DISCHARGE_W, DISCHARGE_MIN, DISCHARGE_MAX, CHARGE_W, CHARGE_MIN, CHARGE_MAX = _columns(6)
TAPER, APPROACH = _columns(2)  # share of the room an hour; share of it filled in an hour of taper
HEATER_W, HEATED, HOLDING = _columns(3)  # degC a heater holds; W for each K it else lacks
DECAY, K_PER_W = _columns(2)
PEUKERT, RATED_A = _columns(2)  # the current is infinite where the exponent is 1
COLD_SLOW = _columns(1)[0]  # share of what cold holds back that it holds back from a small load too
DEGC_TABLE, CHARGE_TABLE = _columns(2)  # first row of its tables

# of the moment; places in the tables and what they say there
STORED, CHARGE, DEGC, RUNNING = _columns(4)  # 1 where the generator runs
ROW_CHARGE, PAST_CHARGE, ROW_DEGC, PAST_DEGC = _columns(4)
VOLTS, STORING, REACH, OHMS, AGEING, GROWING = _columns(6)

# of the hour, in W unless said
BEFORE, RELIEF, OVER, TERMINAL, HEAT, WANTED, ODD = _columns(7)  # energy at its beginning in Wh
LIMIT, ROOM, GAINED, PER_SHARE = _columns(4)  # charging: shares, and the current for a share
GIVEN, DRAWN, MISSING = _columns(3)  # at the terminals, at open circuit, and what is still missing
SLOPE, TURN = _columns(2)  # last change of charge; the charge at which it turned, or -1
LOWEST, UNSERVED_MONTH, FULLEST, GAP, SHORT_TODAY = _columns(5)  # in the month, on the day

# totals, see `tco.life.records.RESULT`
FROM_SOLAR, FROM_ENGINE, FROM_SHORE, FROM_GENERATOR, BY_GENERATOR, FROM_BANK = _columns(6)
UNSERVED, UNSERVED_ESSENTIAL, SHORT_HOURS, ESSENTIAL_HOURS, LOST_DAYS, LONGEST = _columns(6)
SOLAR_LOST, SOLAR_LOCKED, LOCKED_HOURS, HEATER, DRAINED, LOSSES = _columns(6)
LAID_UP_LOCKED, LAID_UP_HOURS, LAID_UP_HEATER = _columns(3)
COLD_HOURS, LAID_UP_COLD_HOURS = _columns(2)
CALENDAR, GROWTH, FULL_CYCLES, CYCLE, NOT_FULL, WORK, WORK_RATE = _columns(7)
COLDEST, COLDEST_OFFERED, SUM_DEGC, SUM_CHARGE = _columns(4)

GIVEN_COLUMNS, FIRST_TOTAL = int(STORED) // ABREAST, int(FROM_SOLAR) // ABREAST
COLUMNS = next(_number)

CHARGE_STEPS = 40.0
ONE, TWO, THREE, FOUR, EIGHT = (np.uintp(n) for n in (1, 2, 3, 4, 8))


@step
def begin(c: FloatArray, width: Any, charge: float, degc: float, generator_on: float) -> None:
    """Begin hours that do not go on from others, or that do where `charge` is below 0."""
    for k in range(width):
        if charge >= 0.0:
            c[STORED + k] = charge * c[FULL_WH + k]
            c[DEGC + k] = degc
            c[RUNNING + k] = generator_on
        c[BEFORE + k] = c[STORED + k]
        c[CHARGE + k] = c[STORED + k] * c[PER_WH + k]
        c[RELIEF + k] = c[OVER + k] = c[MISSING + k] = c[SLOPE + k] = 0.0
        c[LOWEST + k] = 1.0
        c[UNSERVED_MONTH + k] = c[FULLEST + k] = c[GAP + k] = c[SHORT_TODAY + k] = 0.0
        place(c, k)


@step
def place(c: FloatArray, k: Any) -> None:
    """Find a bank's charge and temperature in the tables: rows, and shares of the next ones."""
    at = max(0.0, c[CHARGE + k] * CHARGE_STEPS)  # in the tables even where it is not a number
    row = min(np.floor(at), CHARGE_STEPS - 1.0)
    c[ROW_CHARGE + k] = c[CHARGE_TABLE + k] + row
    c[PAST_CHARGE + k] = at - row
    at = (c[DEGC + k] - TABLE_COLDEST_DEGC) / TABLE_STEP_K
    at = min(max(0.0, at), TABLE_SIZE - 1.000001)  # held at its ends
    row = np.floor(at)
    c[ROW_DEGC + k] = c[DEGC_TABLE + k] + row
    c[PAST_DEGC + k] = at - row


@step
def look_up(c: FloatArray, width: Any, by_degc: FloatArray, by_charge: FloatArray) -> None:
    """Read the tables at these places, in straight lines between their rows."""
    for k in range(width):
        at = EIGHT * np.uintp(np.int64(c[ROW_DEGC + k]))
        past = c[PAST_DEGC + k]
        c[REACH + k] = by_degc[at] + past * by_degc[at + FOUR]
        c[OHMS + k] = by_degc[at + ONE] + past * by_degc[at + FOUR + ONE]
        c[AGEING + k] = by_degc[at + TWO] + past * by_degc[at + FOUR + TWO]
        c[GROWING + k] = by_degc[at + THREE] + past * by_degc[at + FOUR + THREE]
        at = FOUR * np.uintp(np.int64(c[ROW_CHARGE + k]))
        past = c[PAST_CHARGE + k]
        c[VOLTS + k] = by_charge[at] + past * by_charge[at + TWO]
        c[STORING + k] = by_charge[at + ONE] + past * by_charge[at + THREE]


@step
def start_generators(c: FloatArray, width: Any, start: float, stop: float) -> None:
    """Generators are started by hand when what can be drawn runs low."""
    for k in range(width):
        usable = min(fraction_at_share(c[REACH + k], c[COLD_SLOW + k]), c[DEPTH + k])
        left = 1.0 - (1.0 - c[CHARGE + k]) / usable if usable > 0.0 else 0.0
        running = 1.0 if left < start else c[RUNNING + k]
        c[RUNNING + k] = 0.0 if left >= stop else running


@step
def stop_generators(c: FloatArray, width: Any) -> None:
    """No generator may run."""
    for k in range(width):
        c[RUNNING + k] = c[RELIEF + k] = c[OVER + k] = 0.0


@step
def relieve(c: FloatArray, width: Any, offered_w: float, open_w: float) -> None:
    """Generators that run serve what other sources have left open; `OVER` is left of them."""
    for k in range(width):
        used = min(open_w, offered_w) * c[RUNNING + k]
        over = offered_w * c[RUNNING + k] - used
        c[RELIEF + k] = used
        c[OVER + k] = over
        c[FROM_GENERATOR + k] += used
        c[BY_GENERATOR + k] += used


@step
def rest(c: FloatArray, width: Any) -> None:
    """No source has anything left."""
    for k in range(width):
        c[TERMINAL + k] = 0.0
        c[HEAT + k] = 0.0


@step
def offer(
    c: FloatArray,
    width: Any,
    spare_w: float,
    space_degc: float,
    ceiling: float,
    laid_up: bool,
    heated: bool,
) -> int:
    """What is left of the sources warms a cold pack that has a heater, then charges it.

    Returns how many banks are odd: heated (1), at the knee of the taper within the hour (2), or
    locked out (3).
    """
    odd = 0
    for k in range(width):
        charge, degc = c[CHARGE + k], c[DEGC + k]
        volts, ohms = c[VOLTS + k] * c[NOMINAL_V + k], c[OHMS + k] * c[NEW_OHM + k]
        spare = spare_w + c[OVER + k]
        room = (c[STORAGE + k] if laid_up else ceiling) - charge
        takes = (spare > 0.0) & (room > 1e-6)
        coldest = c[COLDEST_OFFERED + k]
        c[COLDEST_OFFERED + k] = min(coldest, degc) if takes else coldest
        # the thermostat acts within the hour
        passive = space_degc + (degc - space_degc) * c[DECAY + k]
        enough = (c[HEATED + k] - passive) * c[HOLDING + k]
        heat = max(0.0, min(min(c[HEATER_W + k], spare), enough)) if takes & heated else 0.0
        offered = spare - heat
        locked = takes & ((degc < c[CHARGE_MIN + k]) | (degc > c[CHARGE_MAX + k]))
        charges = takes & (offered > 0.0) & (not locked)
        limit = min(c[CHARGE_W + k], offered)
        # what the taper lets in at the hour's beginning; if the power is there for it, it is
        # there for the whole hour
        per_share = c[FULL_WH + k] / (volts * c[COULOMBIC + k])
        most = c[TAPER + k] * (1.0 - charge) * per_share
        tapers = limit >= (volts + ohms * most) * most
        # at open circuit, from the root of P = V I + R I^2
        inside = 2.0 * volts * limit / (volts + math.sqrt(volts * volts + 4.0 * ohms * limit))
        rate = inside * c[COULOMBIC + k] * c[PER_WH + k]
        knee = charges & (not tapers) & (rate > c[TAPER + k] * (1.0 - charge - rate))
        gained = c[APPROACH + k] * (1.0 - charge) if tapers else rate
        c[GAINED + k] = gained if charges else 0.0
        c[ROOM + k] = max(room, 0.0)
        c[HEAT + k] = heat
        c[LIMIT + k] = limit
        c[PER_SHARE + k] = per_share
        mark = 1.0 if heat > 0.0 else 0.0
        mark = 2.0 if knee else mark
        mark = 3.0 if locked else mark
        c[ODD + k] = mark
        odd += 1 if mark > 0.0 else 0
    return odd


@step
def odd_offers(c: FloatArray, width: Any, solar_w: float, laid_up: bool) -> None:
    """Count heat and lock-outs; find what is gained where the taper begins within the hour."""
    for k in range(width):
        if c[ODD + k] == 0.0:
            continue
        heat = c[HEAT + k]
        if laid_up:
            c[LAID_UP_HEATER + k] += heat
        else:
            c[HEATER + k] += heat
        if c[ODD + k] == 3.0:
            refused = max(0.0, solar_w - heat)  # solar feeds the heater first
            cold = 1.0 if c[DEGC + k] < c[CHARGE_MIN + k] else 0.0
            if laid_up:
                c[LAID_UP_HOURS + k] += 1.0
                c[LAID_UP_COLD_HOURS + k] += cold
                c[LAID_UP_LOCKED + k] += refused
            else:
                c[LOCKED_HOURS + k] += 1.0
                c[COLD_HOURS + k] += cold
                c[SOLAR_LOCKED + k] += refused
        elif c[ODD + k] == 2.0:
            c[GAINED + k] = share_gained(c[CHARGE + k], c[GAINED + k], c[TAPER + k])


@step
def charge_up(c: FloatArray, width: Any, solar_w: float) -> None:
    """Put in what is gained; solar power goes first."""
    for k in range(width):
        volts, ohms = c[VOLTS + k] * c[NOMINAL_V + k], c[OHMS + k] * c[NEW_OHM + k]
        gained = min(c[GAINED + k], c[ROOM + k])
        current = gained * c[PER_SHARE + k]
        terminal = min((volts + ohms * current) * current, c[LIMIT + k])
        c[TERMINAL + k] = terminal
        c[STORED + k] += gained * c[FULL_WH + k]
        wanted = c[HEAT + k] + terminal
        used = min(wanted, solar_w)
        c[FROM_SOLAR + k] += used
        c[SOLAR_LOST + k] += solar_w - used
        c[WANTED + k] = wanted - used


@step
def take_from_others(c: FloatArray, width: Any, engine_w: float, shore_w: float) -> None:
    """What solar power does not cover of heat and charge."""
    for k in range(width):
        wanted = c[WANTED + k]
        used = min(wanted, engine_w)
        c[FROM_ENGINE + k] += used
        wanted -= used
        used = min(wanted, shore_w)
        c[FROM_SHORE + k] += used
        c[FROM_GENERATOR + k] += min(wanted - used, c[OVER + k])


@step
def ask(c: FloatArray, width: Any, open_w: float, laid_up: bool) -> int:
    """What the bank gives of what is missing, and at the start of a lay-up of what it holds too
    much.

    Returns how many are odd: they may not have as much, or the resistance does not let it out.
    """
    odd = 0
    for k in range(width):
        degc, full = c[DEGC + k], c[FULL_WH + k]
        volts, ohms = c[VOLTS + k] * c[NOMINAL_V + k], c[OHMS + k] * c[NEW_OHM + k]
        above = c[CHARGE + k] - c[STORAGE + k]
        drain = min(STORAGE_DRAIN_C, above) * full if laid_up & (above > STORAGE_BAND) else 0.0
        able = (degc >= c[DISCHARGE_MIN + k]) & (degc <= c[DISCHARGE_MAX + k])
        given = min(open_w - c[RELIEF + k] + drain, c[DISCHARGE_W + k]) if able else 0.0
        # at open circuit, from the root of P = V I - R I^2
        root = volts * volts - 4.0 * ohms * given
        drawn = 2.0 * volts * given / (volts + math.sqrt(max(root, 0.0)))
        reach = min(c[REACH + k], c[DEPTH + k])  # no more is held back at any rate below the rated
        available = max(0.0, c[STORED + k] - full * (1.0 - reach))
        # a strong current holds back no more than its tangent says: (1 + t)^-e >= 1 - e t
        rated = c[RATED_A + k] * volts
        least = reach * (rated - (c[PEUKERT + k] - 1.0) * (drawn - rated))
        strong = (drawn > rated) & ((drawn - c[STORED + k] + full) * rated > full * least)
        c[GIVEN + k] = given
        c[DRAWN + k] = drawn
        is_odd = (root < 0.0) | (drawn > available) | strong
        c[ODD + k] = 1.0 if is_odd else 0.0
        odd += 1 if is_odd else 0
    return odd


@step
def odd_asks(c: FloatArray, width: Any) -> None:
    """What can be drawn where the load is strong or the bank is empty."""
    for k in range(width):
        if c[ODD + k] == 0.0:
            continue
        volts, ohms = c[VOLTS + k] * c[NOMINAL_V + k], c[OHMS + k] * c[NEW_OHM + k]
        given, drawn = c[GIVEN + k], c[DRAWN + k]
        most = volts * volts / (4.0 * ohms)
        if given > most:
            given, drawn = most, 2.0 * most
        # cold and (lead-acid) current hold energy back; the depth is of the whole
        reach, slow = c[REACH + k], c[COLD_SLOW + k]
        if slow < 1.0:
            reach = fraction_at_share(reach, share_held_back(drawn * c[PER_WH + k], slow))
        rated_w = c[RATED_A + k] * volts
        if drawn > rated_w:
            reach *= (rated_w / drawn) ** (c[PEUKERT + k] - 1.0)
        reach = min(reach, c[DEPTH + k])
        available = max(0.0, c[STORED + k] - c[FULL_WH + k] * (1.0 - reach))
        if drawn > available:
            drawn = available
            current = available / volts
            given = (volts - ohms * current) * current
        c[GIVEN + k], c[DRAWN + k] = given, drawn


@step
def give(c: FloatArray, width: Any, open_w: float) -> int:
    """Take out what is drawn; loads come before the drain. Returns how many banks fall short."""
    short = 0
    for k in range(width):
        given, missing = c[GIVEN + k], open_w - c[RELIEF + k]
        c[STORED + k] = max(0.0, c[STORED + k] - c[DRAWN + k])
        c[TERMINAL + k] -= given
        served = min(given, missing)
        c[DRAINED + k] += given - served
        c[FROM_BANK + k] += served
        missing -= served
        c[MISSING + k] = missing
        short += 1 if missing > 0.0 else 0
    return short


@step
def settle(c: FloatArray, width: Any, space_degc: float) -> int:
    """Losses warm the packs, which follow the space; the hour ends.

    Returns how many banks' charge turned, from rising to falling or the other way.
    """
    turned = 0
    for k in range(width):
        terminal, last = c[TERMINAL + k], c[CHARGE + k]
        stored = c[STORED + k] * c[KEPT + k]
        lost = terminal - (stored - c[BEFORE + k])
        equilibrium = space_degc + (lost + c[HEAT + k]) * c[K_PER_W + k]
        degc = equilibrium + (c[DEGC + k] - equilibrium) * c[DECAY + k]
        charge = stored * c[PER_WH + k]
        c[STORED + k] = stored
        c[BEFORE + k] = stored
        c[CHARGE + k] = charge
        c[DEGC + k] = degc
        c[LOSSES + k] += lost
        c[LOWEST + k] = min(c[LOWEST + k], charge)
        c[FULLEST + k] = max(c[FULLEST + k], charge)
        c[COLDEST + k] = min(c[COLDEST + k], degc)
        c[SUM_DEGC + k] += degc
        c[SUM_CHARGE + k] += charge
        c[WORK + k] += abs(terminal)
        c[WORK_RATE + k] += terminal * terminal
        change = charge - last
        moves = abs(change) > ROUNDING
        turns = moves & (change * c[SLOPE + k] < 0.0)
        c[TURN + k] = last if turns else -1.0
        c[SLOPE + k] = change if moves else c[SLOPE + k]
        turned += 1 if turns else 0
        place(c, k)
    return turned


@step
def age(c: FloatArray, width: Any) -> None:
    """Sum what the hour does to capacity and resistance."""
    for k in range(width):
        c[CALENDAR + k] += c[AGEING + k] * c[STORING + k]
        off = c[CHARGE + k] - 0.5
        c[GROWTH + k] += c[GROWING + k] * (
            NAUMANN_RESISTANCE_SOC_SQUARE * off * off + NAUMANN_RESISTANCE_SOC_OFFSET
        )
