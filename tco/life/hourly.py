"""Pieces of the hourly kernel: sources serve loads, tables, currents, the taper, full days."""

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit

from tco.life.records import OPEN_HOUR, FloatArray, Open, Rules

TABLE_COLDEST_DEGC = -60.0
TABLE_STEP_K = 1.0
TABLE_SIZE = 141
"""Tables by temperature run from -60 to +80 degC in steps of 1 K."""

SERIES_BELOW = 0.012
"""Below this share lost in the resistance the current is taken from its series. The first term
left out is 132 x^6: 4e-10 of the current at most."""

FULLY_CHARGED = 0.98
"""State of charge from which a lead-acid battery counts as fully recharged. Common practice, no
source."""

ONE = np.uintp(1)

Function = TypeVar("Function", bound=Callable[..., Any])


def compiled(function: Function) -> Function:
    """Compile for use without the interpreter's lock; kept on disk."""
    # divisions as IEEE says, without a test for zero; sums may use fused multiply-add
    return cast(
        Function,
        njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})(function),
    )


def inlined(function: Function) -> Function:
    """Compile into its caller."""
    return cast(Function, njit(cache=True, error_model="numpy", inline="always")(function))


@inlined
def place_degc(temperature_degc: float) -> tuple[int, float]:
    """Place in a table by temperature, held at its ends: row and share of the next one."""
    at = (temperature_degc - TABLE_COLDEST_DEGC) / TABLE_STEP_K
    at = min(max(at, 0.0), TABLE_SIZE - 1.000001)
    lower = int(at)
    return lower, at - lower


@inlined
def place(fraction: float, size: int) -> tuple[int, float]:
    """Place in a table over 0..1."""
    at = fraction * (size - 1)
    lower = min(int(at), size - 2)
    return lower, at - lower


@inlined
def between(table: FloatArray, lower: int, share: float) -> float:
    """Linear interpolation at a place."""
    row = np.uintp(lower)  # unsigned: no test for an index from the end
    return float(table[row] + share * (table[row + ONE] - table[row]))


@inlined
def inside_share(lost: float) -> float:
    """Power at open circuit over power at the terminals: V I / P.

    With `lost` = R P / V^2 (P counted positive out of the bank, negative into it), from the root
    of P = V I - R I^2: 2 / (1 + sqrt(1 - 4 x)). Where little is lost its series, faster than a
    root: 1 + x + 2 x^2 + 5 x^3 + ... (Catalan numbers). No more than x = 1/4 can be given.
    """
    if abs(lost) < SERIES_BELOW:
        square = lost * lost
        return 1.0 + lost + square * ((2.0 + 5.0 * lost) + square * (14.0 + 42.0 * lost))
    return 2.0 / (1.0 + math.sqrt(max(1.0 - 4.0 * lost, 0.0)))


@inlined
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


@compiled
def open_hours(hourly: Any, rules: Rules) -> Open:
    """Let solar, engine and shore serve the loads: what every bank of a case has in common.

    `hourly` holds records of `HOUR`, shape (hours,).
    """
    made = np.empty(hourly.size, dtype=OPEN_HOUR)
    needed = from_solar = from_engine = from_shore = 0.0
    for i in range(hourly.size):
        hour, opened = hourly[i], made[i]
        missing = hour.essential_w + hour.other_w
        needed += missing
        used = min(missing, hour.solar_w)
        opened.solar_w = hour.solar_w - used
        missing -= used
        from_solar += used
        used = min(missing, hour.engine_w)
        opened.engine_w = hour.engine_w - used
        missing -= used
        from_engine += used
        used = min(missing, hour.shore_w)
        opened.shore_w = hour.shore_w - used
        missing -= used
        from_shore += used
        opened.open_w = missing
        opened.spare_w = opened.solar_w + opened.engine_w + opened.shore_w
        opened.generator_w = hour.generator_w
        opened.space_degc = hour.space_degc
        opened.ceiling = rules.ceiling[hour.month]
        opened.essential_w = hour.essential_w
        opened.other_w = hour.other_w
        opened.month = hour.month
        opened.laid_up = hour.laid_up
    return Open(made, needed, from_solar, from_engine, from_shore)


@compiled
def share_of_days_not_full(charge_trace: FloatArray) -> float:
    """Share of days whose highest state of charge stays below `FULLY_CHARGED`.

    Whole days only; 0 for a trace shorter than a day.
    """
    days = charge_trace.size // 24
    count = 0
    for day in range(days):
        highest = 0.0
        for i in range(24 * day, 24 * day + 24):
            highest = max(highest, charge_trace[i])
        if highest < FULLY_CHARGED:
            count += 1
    return count / days if days > 0 else 0.0
