"""How far the cells of a bank are apart, test by test."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from tco.case.capacity_models import CapacityTest
from tco.life.health_fit import DAYS_PER_YEAR
from tco.physics.chemistry import Chemistry

SPREAD_CAUTION_MV = 50.0
GROWTH_CAUTION_MV_PER_YEAR = 20.0
"""Difference between the highest and the lowest cell, and its growth, from which to look closer.
Common practice, no source; much depends on the state of charge at which cells were read. For a
block of several cells, times the number of cells."""


@dataclass(frozen=True)
class Imbalance:
    """How far the cells are apart.

    `spread_mv` is highest less lowest cell of each test that gives cells, on the days
    `tested_on`; `growth_mv_per_year` the slope of a straight line through them, None for fewer
    than two days. `lowest_cell` and `highest_cell` of the last such test count from one;
    `always_lowest` says that the same cell was lowest in each of several tests. `caution` holds
    why to look closer, empty where nothing stands out.
    """

    tested_on: tuple[date, ...]
    spread_mv: tuple[float, ...]
    growth_mv_per_year: float | None
    lowest_cell: int
    highest_cell: int
    always_lowest: bool
    cells_per_block: int
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
    reasons = []
    if spread[-1] > SPREAD_CAUTION_MV * cells:
        reasons.append(f"{spread[-1]:.0f} mV apart, over {SPREAD_CAUTION_MV * cells:g} mV")
    if growth is not None and growth > GROWTH_CAUTION_MV_PER_YEAR * cells:
        limit = GROWTH_CAUTION_MV_PER_YEAR * cells
        reasons.append(f"growing by {growth:.0f} mV a year, over {limit:g} mV")
    return Imbalance(
        tested_on=tuple(test.tested_on for test in read),
        spread_mv=tuple(spread),
        growth_mv_per_year=growth,
        lowest_cell=lowest[-1],
        highest_cell=int(np.argmax(last)) + 1,
        always_lowest=len(lowest) > 1 and len(set(lowest)) == 1,
        cells_per_block=cells,
        caution="; ".join(reasons),
    )
