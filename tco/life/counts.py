"""What the hourly loop counts over hours, days and months, bank by bank; see `tco.life.steps`."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tco.life.hourly import FULLY_CHARGED
from tco.life.steps import (
    CHARGE,
    CYCLE,
    DEGC,
    ESSENTIAL_HOURS,
    FULL_CYCLES,
    FULLEST,
    GAP,
    LONGEST,
    LOST_DAYS,
    LOWEST,
    MISSING,
    NOT_FULL,
    SHORT_HOURS,
    SHORT_TODAY,
    TURN,
    UNSERVED,
    UNSERVED_ESSENTIAL,
    UNSERVED_MONTH,
)
from tco.physics.arrays import FloatArray, IntArray
from tco.physics.compiled import step
from tco.physics.cycles import sum_points

SHORT_SHARE = 0.01
"""An hour is short of power when more than this share of what was wanted is missing; it then counts
for the share that is missing. Energy that is missing counts always. Our choice: a smaller share is
no outage."""


@step
def fall_short(c: FloatArray, width: Any, essential_w: float, other_w: float) -> None:
    """Count what is missing, essential loads apart."""
    wanted = essential_w + other_w
    for k in range(width):
        missing = c[MISSING + k]
        essential = max(0.0, missing - other_w)
        c[UNSERVED + k] += missing
        c[UNSERVED_MONTH + k] += missing
        c[UNSERVED_ESSENTIAL + k] += essential
        if missing > SHORT_SHARE * wanted:
            c[SHORT_HOURS + k] += missing / wanted
        if essential > SHORT_SHARE * essential_w:
            c[ESSENTIAL_HOURS + k] += essential / essential_w
            c[SHORT_TODAY + k] += essential / essential_w
            c[GAP + k] += 1.0
            c[LONGEST + k] = max(c[LONGEST + k], c[GAP + k])
        else:
            c[GAP + k] = 0.0


@step
def end_gaps(c: FloatArray, width: Any) -> None:
    """Nothing is missing."""
    for k in range(width):
        c[MISSING + k] = c[GAP + k] = 0.0


@step
def end_day(c: FloatArray, width: Any, lost_day_hours: float, whole: bool) -> None:
    """Count days lost, and whole days without a full charge."""
    for k in range(width):
        c[LOST_DAYS + k] += min(1.0, c[SHORT_TODAY + k] / lost_day_hours)
        c[NOT_FULL + k] += 1.0 if whole & (c[FULLEST + k] < FULLY_CHARGED) else 0.0
        c[SHORT_TODAY + k] = 0.0
        c[FULLEST + k] = 0.0


@step
def end_month(
    c: FloatArray, width: Any, unserved: FloatArray, lowest: FloatArray, month: int
) -> None:
    """Add the month to those of other years."""
    for k in range(width):
        unserved[month, k] += c[UNSERVED_MONTH + k]
        lowest[month, k] = min(lowest[month, k], c[LOWEST + k])
        c[UNSERVED_MONTH + k] = 0.0
        c[LOWEST + k] = 1.0


@step
def keep_turns(c: FloatArray, width: Any, turns: FloatArray, counts: IntArray, first: bool) -> None:
    """Keep the charge at which it turned; after the first hour what it is."""
    for k in range(width):
        turns[k, counts[k]] = c[CHARGE + k] if first else c[TURN + k]
        counts[k] += 1 if first or c[TURN + k] >= 0.0 else 0


@step
def sum_turns(
    c: FloatArray,
    width: Any,
    turns: FloatArray,
    counts: IntArray,
    cycle: FloatArray,
    kinds: NDArray[np.uintp],
) -> None:
    """Count the cycles between the charges at which it turned, and the one at the end."""
    for k in range(width):
        turns[k, counts[k]] = c[CHARGE + k]
        full, stress = sum_points(turns[k], counts[k] + 1, cycle[kinds[k]])
        c[FULL_CYCLES + k] += full
        c[CYCLE + k] += stress


@step
def keep_hour(
    c: FloatArray, charge: FloatArray, degc: FloatArray, missing: FloatArray, i: int, other_w: float
) -> None:
    """Keep what is wanted of hour `i`; see `tco.life.kernel.Traces`."""
    for k in range(np.uintp(charge.shape[0])):
        charge[k, i] = c[CHARGE + k]
        degc[k, i] = c[DEGC + k]
    for k in range(np.uintp(missing.shape[0])):
        missing[k, i, 0] = max(0.0, c[MISSING + k] - other_w)
        missing[k, i, 1] = c[MISSING + k] - missing[k, i, 0]
