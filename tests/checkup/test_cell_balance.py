"""How far cells are apart, which one it is, and when it is worth a word."""

from datetime import date, timedelta

import pytest

from tco.case.capacity_models import CapacityTest
from tco.checkup.cell_balance import imbalance
from tco.physics.chemistry import CHEMISTRIES

BOUGHT = date(2021, 3, 1)
LFP, AGM = CHEMISTRIES["lfp"], CHEMISTRIES["agm"]


def capacity(days, health, *, cells=()):
    return CapacityTest(
        tested_on=BOUGHT + timedelta(days=days), measured_ah=100.0 * health, cell_voltages_v=cells
    )


def test_cells_drift_apart():
    tests = [
        capacity(int(365.25 * y), 0.95, cells=(3.30, 3.30, 3.30 - 0.010 - 0.030 * y, 3.301))
        for y in (0, 1, 2)
    ]
    found = imbalance(tests, chemistry=LFP)
    assert found is not None
    assert found.spread_mv == pytest.approx((11.0, 41.0, 71.0))
    assert found.growth_mv_per_year == pytest.approx(30.0, rel=2e-3)  # days are whole
    assert (found.lowest_cell, found.highest_cell, found.always_lowest) == (3, 4, True)
    assert (found.odd_cell, found.apart, found.growing) == (3, True, True)
    assert found.odd_mv == pytest.approx(-70.0)  # below the middle of the other three, 3.300 V
    assert "71 mV apart" in found.caution
    assert "30 mV a year" in found.caution
    calm = imbalance(tests[:1], chemistry=LFP)
    assert calm is not None
    assert (calm.growth_mv_per_year, calm.caution, calm.always_lowest) == (None, "", False)
    assert imbalance([capacity(0, 1.0)], chemistry=LFP) is None


def test_blocks_of_six_cells_may_differ_by_six_times_as_much():
    found = imbalance([capacity(0, 1.0, cells=(12.70, 12.45))], chemistry=AGM)
    assert found is not None
    assert (found.cells_per_block, found.caution) == (6, "")


@pytest.mark.parametrize(
    ("cells", "odd", "mv"),
    [
        ((3.30, 3.36, 3.31, 3.30), 2, 60.0),  # one too high
        ((3.30, 3.31, 3.30, 3.24), 4, -60.0),
        ((3.30, 3.25), 2, -50.0),  # of two, the lower
        ((3.30, 3.30, 3.30), 1, 0.0),
    ],
)
def test_the_odd_cell_is_the_one_furthest_from_the_others(cells, odd, mv):
    found = imbalance([capacity(0, 1.0, cells=cells)], chemistry=LFP)
    assert found is not None
    assert found.odd_cell == odd
    assert found.odd_mv == pytest.approx(mv)


@pytest.mark.parametrize(
    ("days", "grown_mv", "growing"),
    [(30, 5, False), (365, 9, False), (200, 12, True), (30, 12, True)],
)
def test_growth_counts_only_where_it_can_be_seen(days, grown_mv, growing):
    """5 mV in a month are 61 mV a year and nothing but the meter; limits 20 mV a year, 10 mV."""
    tests = [
        capacity(0, 1.0, cells=(3.330, 3.330, 3.330)),
        capacity(days, 1.0, cells=(3.330, 3.330, 3.330 - grown_mv / 1000.0)),
    ]
    found = imbalance(tests, chemistry=LFP)
    assert found is not None
    assert found.growing is growing
    assert bool(found.caution) is growing
