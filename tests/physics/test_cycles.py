import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numba import njit

from tco.physics.cycles import count_cycles, cycle_sums, turning_points, weighted_cycle_sum

SOC = st.lists(
    st.one_of(st.floats(0.0, 1.0), st.sampled_from([0.0, 0.25, 0.5, 0.75, 1.0])), max_size=60
).map(lambda values: np.array(values, dtype=np.float64))
NO_CHANGE = [np.array([]), np.array([0.5]), np.array([0.5, 0.5]), np.full(8760, 0.3)]


def sums(series, table):
    return cycle_sums(series, np.empty(series.size), np.asarray(table, dtype=np.float64))


@pytest.mark.parametrize("series", NO_CHANGE)
def test_nothing_moves_nothing_counts(series):
    for part in count_cycles(series):
        assert part.shape == (0,)
    assert turning_points(series, np.empty(series.size)) == 0
    assert sums(series, [1.0, 2.0]) == (0.0, 0.0)


def test_a_single_change_is_half_a_cycle():
    ranges, means, counts = count_cycles(np.array([0.9, 0.5]))
    assert (ranges, means, counts) == (
        pytest.approx([0.4]),
        pytest.approx([0.7]),
        pytest.approx([0.5]),
    )


def test_turning_points_skip_plateaus_and_slopes():
    series = np.array([1.0, 1.0, 0.8, 0.6, 0.6, 0.7, 0.7, 0.9, 0.9])
    buffer = np.empty(9)
    assert turning_points(series, buffer) == 3
    assert buffer[:3].tolist() == [1.0, 0.6, 0.9]


def test_daily_cycles_to_the_same_depth_by_hand():
    # 100 days 0.9 -> 0.5 -> 0.9: 40 full cycle equivalents, all at depth 0.4
    series = np.append(np.tile([0.9, 0.7, 0.5, 0.7], 100), 0.9)
    full, weighted = sums(series, [0.0, 1.0])  # rate = depth
    assert full == pytest.approx(40.0, rel=1e-12)
    assert weighted == pytest.approx(40.0 * 0.4, rel=1e-12)


def test_small_cycle_inside_a_large_one():
    # 1 -> 0 interrupted by 0.4 -> 0.6 -> 0.4: one cycle of 0.2 inside half a cycle of 1
    ranges, means, counts = count_cycles(np.array([1.0, 0.4, 0.6, 0.0]))
    assert sorted(zip(ranges.round(12), means.round(12), counts, strict=True)) == [
        (0.2, 0.5, 1.0),
        (1.0, 0.5, 0.5),
    ]


@given(SOC)
def test_full_cycles_are_half_the_distance_travelled(series):
    full, _ = sums(series, [1.0, 1.0])
    assert full == pytest.approx(0.5 * np.abs(np.diff(series)).sum(), abs=1e-12)


@given(SOC, st.lists(st.floats(0.0, 5.0), min_size=2, max_size=12))
def test_sums_equal_the_cycles_counted(series, table):
    ranges, _, counts = count_cycles(series)
    full, weighted = sums(series, table)
    rates = np.interp(ranges, np.linspace(0.0, 1.0, len(table)), table)
    assert full == pytest.approx(np.sum(counts * ranges), abs=1e-12)
    assert weighted == pytest.approx(np.sum(counts * ranges * rates), abs=1e-11)


@given(SOC)
def test_mirrored_series_counts_the_same(series):
    # 1 - x rounds for tiny x, and could merge two turning points: use multiples of 2^-20
    series = np.round(series * 2**20) / 2**20
    one, other = count_cycles(series), count_cycles(1.0 - series)
    np.testing.assert_array_equal(one[0], other[0])
    np.testing.assert_array_equal(one[2], other[2])


def test_the_series_is_left_alone_and_the_buffer_can_be_used_again():
    series = np.random.default_rng(3).uniform(size=500)
    before, buffer, table = series.copy(), np.empty(600), np.array([1.0, 3.0])
    first = weighted_cycle_sum(series, buffer, table)
    assert weighted_cycle_sum(series, buffer, table) == first
    assert first == sums(series, table)[1]
    np.testing.assert_array_equal(series, before)


def test_a_cycle_of_depth_one_reads_nothing_past_the_table():
    table = np.array([1.0, 3.0, np.nan])[:2]
    assert sums(np.array([0.0, 1.0, 0.0]), table) == (1.0, 3.0)


def test_usable_inside_a_kernel():
    @njit
    def kernel(series, buffer, table):
        return weighted_cycle_sum(series, buffer, table) + count_cycles(series)[0].size

    series = np.array([1.0, 0.0, 1.0])
    assert kernel(series, np.empty(3), np.array([2.0, 2.0])) == 2.0 + 2


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("place", [0, 1, 2])
def test_not_a_number(bad, place):
    series = np.array([0.2, 0.8, 0.4])
    series[place] = bad
    with pytest.raises(ValueError, match="finite"):
        count_cycles(series)
    with pytest.raises(ValueError, match="finite"):
        sums(series, [1.0, 1.0])


def test_nan_only():
    with pytest.raises(ValueError, match="finite"):
        count_cycles(np.array([np.nan, np.nan]))
    with pytest.raises(ValueError, match="finite"):
        count_cycles(np.array([np.nan]))


def test_short_buffer_short_table_and_percent():
    series = np.array([0.0, 1.0, 0.0])
    with pytest.raises(ValueError, match="buffer"):
        cycle_sums(series, np.empty(2), np.ones(2))
    with pytest.raises(ValueError, match="table"):
        cycle_sums(series, np.empty(3), np.ones(1))
    with pytest.raises(ValueError, match="deeper than 1"):
        cycle_sums(100.0 * series, np.empty(3), np.ones(2))
