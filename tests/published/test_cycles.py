"""Rainflow counts against the standard's example and an independent implementation."""

from collections import Counter

import numpy as np
import rainflow
from hypothesis import given
from hypothesis import strategies as st

from tco.physics.cycles import count_cycles

# ASTM E1049-85, 5.4.4, figure 6: the load history A to I and its table of range and cycle counts.
ASTM_SERIES = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]
ASTM_CYCLES = {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}


def by_range(ranges, counts):
    table = Counter()
    for size, count in zip(ranges.tolist(), counts.tolist(), strict=True):
        table[size] += count
    return dict(table)


def test_astm_example():
    ranges, _, counts = count_cycles(np.array(ASTM_SERIES))
    assert by_range(ranges, counts) == ASTM_CYCLES  # whole numbers: exact


def test_astm_example_with_samples_between_the_turning_points():
    between = np.interp(np.arange(0.0, 8.1, 0.25), np.arange(9.0), ASTM_SERIES)
    ranges, _, counts = count_cycles(between)
    assert by_range(ranges, counts) == ASTM_CYCLES


def test_the_one_whole_cycle_of_the_astm_example():
    # 5.4.4, step 5 of the worked example: range E-F (-1 to 3) is the only whole cycle
    ranges, means, counts = count_cycles(np.array(ASTM_SERIES))
    whole = counts == 1.0
    assert ranges[whole].tolist() == [4.0]
    assert means[whole].tolist() == [1.0]


# The package counts a constant series as a half cycle of range 0 and a series of two samples as
# nothing; by the standard the first has no range and the second has one. Zero ranges are dropped
# and series start at three samples, so that only the method itself is compared. Its product of
# slopes underflows for steps under 1e-154, hence the grid of 2^-30.
SAMPLE = st.floats(-10.0, 10.0).map(lambda x: round(x * 2**30) / 2**30)
SERIES = st.lists(st.one_of(SAMPLE, st.integers(-4, 4).map(float)), min_size=3, max_size=120)


@given(SERIES)
def test_rainflow_package_on_random_series(series):
    ours = Counter(zip(*(part.tolist() for part in count_cycles(np.array(series))), strict=True))
    theirs = Counter(
        (size, mean, count) for size, mean, count, _, _ in rainflow.extract_cycles(series) if size
    )
    assert ours == theirs  # the same differences of the same floats: exact


def test_rainflow_package_on_a_long_series():
    series = np.random.default_rng(11).normal(size=35040)
    ranges, _, counts = count_cycles(series)
    assert by_range(ranges, counts) == dict(rainflow.count_cycles(series.tolist()))
