"""How far the cells of a bank are apart, test by test."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tco.case.capacity_models import CapacityTest
from tco.checkup.health_fit import DAYS_PER_YEAR
from tco.physics.chemistry import Chemistry

SPREAD_CAUTION_MV = 50.0
GROWTH_CAUTION_MV_PER_YEAR = 20.0
"""Difference between the highest and the lowest cell, and its growth, from which to look closer.
Common practice, no source; much depends on the state of charge at which cells were read. For a
block of several cells, times the number of cells."""

SEEN_GROWTH_MV = 10.0
"""Growth over all tests below which its pace means nothing: two readings a few mV off, a month
apart, would make any pace. Our choice; for a block of several cells, times their number."""


@dataclass(frozen=True)
class Imbalance:
    """How far the cells are apart.

    `spread_mv` is highest less lowest cell of each test that gives cells, on the days
    `tested_on`; `growth_mv_per_year` the slope of a straight line through them, None for fewer
    than two days. `lowest_cell` and `highest_cell` of the last such test count from one;
    `always_lowest` says that the same cell was lowest in each of several tests. `odd_cell` of the
    last test is furthest from the middle of the others, by `odd_mv` (below zero: lower). `apart`
    and `growing` say which of the limits (`limit_mv`, `growth_limit_mv_per_year`) is exceeded;
    `caution` holds both in words, empty where nothing stands out.
    """

    tested_on: tuple[date, ...]
    spread_mv: tuple[float, ...]
    growth_mv_per_year: float | None
    lowest_cell: int
    highest_cell: int
    always_lowest: bool
    cells_per_block: int
    odd_cell: int
    odd_mv: float
    limit_mv: float
    growth_limit_mv_per_year: float
    apart: bool
    growing: bool
    caution: str


def imbalance(tests: Sequence[CapacityTest], *, chemistry: Chemistry) -> Imbalance | None:
    """How far the cells are apart, and whether it grows; None where no test gives two cells."""
    read = sorted(
        (test for test in tests if len(test.cell_voltages_v) > 1), key=lambda t: t.tested_on
    )
    if not read:
        return None
    spread = [1000.0 * (max(t.cell_voltages_v) - min(t.cell_voltages_v)) for t in read]
    days = np.array([(t.tested_on - read[0].tested_on).days for t in read], dtype=np.float64)
    growth = None
    if days[-1] > 0.0:
        growth = float(np.polyfit(days / DAYS_PER_YEAR, spread, 1)[0])
    last = read[-1].cell_voltages_v
    lowest = [int(np.argmin(test.cell_voltages_v)) + 1 for test in read]
    cells = max(1, round(float(np.mean(last)) / chemistry.cell_voltage_v))
    limit, pace = SPREAD_CAUTION_MV * cells, GROWTH_CAUTION_MV_PER_YEAR * cells
    apart = spread[-1] > limit
    growing = (
        growth is not None
        and growth > pace
        and growth * float(days[-1]) / DAYS_PER_YEAR > SEEN_GROWTH_MV * cells
    )
    reasons = []
    if apart:
        reasons.append(f"{spread[-1]:.0f} mV apart, over {limit:g} mV")
    if growing:
        reasons.append(f"growing by {growth:.0f} mV a year, over {pace:g} mV")
    odd, odd_mv = _odd_one(last)
    return Imbalance(
        tested_on=tuple(test.tested_on for test in read),
        spread_mv=tuple(spread),
        growth_mv_per_year=growth,
        lowest_cell=lowest[-1],
        highest_cell=int(np.argmax(last)) + 1,
        always_lowest=len(lowest) > 1 and len(set(lowest)) == 1,
        cells_per_block=cells,
        odd_cell=odd,
        odd_mv=odd_mv,
        limit_mv=limit,
        growth_limit_mv_per_year=pace,
        apart=apart,
        growing=growing,
        caution="; ".join(reasons),
    )


def _odd_one(voltages_v: Sequence[float]) -> tuple[int, float]:
    """The cell furthest from the median of the others, from one, and by how many mV.

    Of two as far away, the lower: it is the one that ends a discharge.
    """
    off = [
        1000.0 * (volts - float(np.median([*voltages_v[:n], *voltages_v[n + 1 :]])))
        for n, volts in enumerate(voltages_v)
    ]
    odd = min(range(len(off)), key=lambda n: (-round(abs(off[n]), 6), off[n]))
    return odd + 1, off[odd]
