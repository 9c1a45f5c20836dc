"""Lives, chains, renewals and bounds: limits, identities, arrays equal scalars."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tco.money.reliability import (
    availability,
    cumulative_hazard,
    expected_failures,
    failure_in_year,
    failure_probability,
    hazard,
    k_of_n,
    life_from_uniform,
    mean_life,
    mean_life_bounds,
    mean_life_lower_bound,
    probability_any,
    series_failure_probability,
    survival,
)

TIMES = st.floats(0.0, 50.0)
SCALES = st.floats(0.5, 500.0)
SHAPES = st.floats(0.4, 8.0)


@given(t=TIMES, scale=SCALES, shape=SHAPES)
def test_survives_or_fails(t: float, scale: float, shape: float) -> None:
    total = survival(t, scale=scale, shape=shape) + failure_probability(t, scale=scale, shape=shape)
    assert total == pytest.approx(1.0, abs=1e-15)


@given(scale=SCALES, shape=SHAPES)
def test_the_years_make_up_the_life(scale: float, shape: float) -> None:
    yearly = failure_in_year(np.arange(12.0), scale=scale, shape=shape)
    # 1 - p keeps sixteen decimals, not digits
    assert float(np.prod(1.0 - yearly)) == pytest.approx(
        float(survival(12.0, scale=scale, shape=shape)), rel=1e-9, abs=1e-14
    )


def test_an_exponential_life_has_no_memory_and_a_weibull_one_has() -> None:
    ages = np.array([0.0, 3.0, 9.0])
    same = failure_in_year(ages, scale=20.0)
    np.testing.assert_allclose(same, 1.0 - np.exp(-0.05), rtol=1e-12)
    assert np.all(np.diff(failure_in_year(ages, scale=20.0, shape=2.0)) > 0.0)
    assert np.all(np.diff(failure_in_year(ages, scale=20.0, shape=0.6)) < 0.0)


@given(t=st.floats(0.1, 50.0), scale=SCALES, shape=SHAPES)
def test_hazard_is_the_slope_of_the_cumulative_hazard(t: float, scale: float, shape: float) -> None:
    d = 1e-5 * t
    slope = (
        cumulative_hazard(t + d, scale=scale, shape=shape)
        - cumulative_hazard(t - d, scale=scale, shape=shape)
    ) / (2.0 * d)
    assert hazard(t, scale=scale, shape=shape) == pytest.approx(slope, rel=1e-5)


def test_hazard_at_age_zero() -> None:
    assert hazard(0.0, scale=5.0) == pytest.approx(0.2)
    assert hazard(0.0, scale=5.0, shape=2.0) == 0.0
    assert hazard(0.0, scale=5.0, shape=0.5) == np.inf


@given(u=st.floats(0.0, 0.999999), scale=SCALES, shape=SHAPES)
def test_drawn_lives_invert_the_distribution(u: float, scale: float, shape: float) -> None:
    life = life_from_uniform(u, scale=scale, shape=shape)
    assert failure_probability(life, scale=scale, shape=shape) == pytest.approx(u, abs=1e-12)


def test_drawn_lives_have_the_mean_life() -> None:
    u = (np.arange(200_000) + 0.5) / 200_000
    lives = life_from_uniform(u, scale=8.0, shape=1.7)
    assert float(np.mean(lives)) == pytest.approx(float(mean_life(scale=8.0, shape=1.7)), rel=1e-4)


def test_arrays_equal_scalars() -> None:
    t, c = np.array([0.0, 1.0, 7.0]), np.array([3.0, 5.0, 9.0])
    for function in (survival, failure_probability, hazard, failure_in_year):
        row = function(t, scale=c, shape=1.4)
        single = [function(float(a), scale=float(b), shape=1.4) for a, b in zip(t, c, strict=True)]
        np.testing.assert_array_equal(row, single)


@pytest.mark.parametrize(
    ("t", "scale", "shape"),
    [(-1.0, 5.0, 1.0), (1.0, 0.0, 1.0), (1.0, 5.0, 0.0), (np.nan, 5.0, 1.0), (1.0, np.inf, 1.0)],
)
def test_out_of_range(t: float, scale: float, shape: float) -> None:
    for function in (survival, failure_probability, hazard, failure_in_year):
        with pytest.raises(ValueError, match="must be finite"):
            function(t, scale=scale, shape=shape)


@given(st.lists(st.floats(10.0, 1e4), min_size=1, max_size=6), st.floats(0.0, 1e4))
def test_a_chain_survives_if_every_part_does(means: list[float], t: float) -> None:
    alive = np.prod([survival(t, scale=mean) for mean in means])
    assert 1.0 - series_failure_probability(t, means) == pytest.approx(float(alive), abs=1e-12)


def test_a_chain_of_nothing() -> None:
    with pytest.raises(ValueError, match="at least one part"):
        series_failure_probability(1.0, [])


def test_any_of_n() -> None:
    assert probability_any(4, 0.1) == pytest.approx(1.0 - 0.9**4)
    assert probability_any(4, 1e-18) == pytest.approx(4e-18)  # where 1 - (1-p)^n would be zero
    assert probability_any(4, 1.0) == 1.0
    assert probability_any(0, 1.0) == 0.0
    np.testing.assert_allclose(probability_any([1, 2], 0.5), [0.5, 0.75])
    with pytest.raises(ValueError, match="at most 1"):
        probability_any(1, 1.1)


@given(n=st.integers(1, 8), up=st.floats(0.0, 1.0))
def test_k_of_n_by_its_sum(n: int, up: float) -> None:
    assert k_of_n(0, n, up) == pytest.approx(1.0)
    assert k_of_n(n, n, up) == pytest.approx(up**n, abs=1e-12)
    assert 1.0 - k_of_n(1, n, up) == pytest.approx((1.0 - up) ** n, abs=1e-12)


def test_k_of_n_out_of_range() -> None:
    with pytest.raises(ValueError, match="needed"):
        k_of_n(3, 2, 0.5)


def test_availability() -> None:
    assert availability(9.0, 1.0) == 0.9
    assert availability(9.0, 0.0) == 1.0


def test_renewals_of_a_constant_rate_are_exact() -> None:
    found = expected_failures(4, [0.0, 5.0, 10.0], scale=40.0)
    np.testing.assert_allclose(found, [0.0, 0.5, 1.0], rtol=1e-15)


def test_renewals_on_the_grid_at_almost_a_constant_rate() -> None:
    times = np.array([0.01, 0.4, 3.0, 12.0])
    found = expected_failures(1, times, scale=1.0, shape=1.0 + 1e-9)
    np.testing.assert_allclose(found, times, rtol=2e-5)


@settings(deadline=None, max_examples=30)
@given(shape=st.floats(0.5, 6.0), lives=st.floats(0.01, 4.0))
def test_renewals_lie_between_first_failures_and_more(shape: float, lives: float) -> None:
    found = expected_failures(1, lives, scale=1.0, shape=shape)
    first = failure_probability(lives, scale=1.0, shape=shape)
    assert first * (1 - 1e-9) <= found
    # every renewal is a first failure or follows one: M <= F (1 + M)
    assert found <= first * (1.0 + found) * (1 + 1e-4)


@pytest.mark.parametrize("shape", [0.6, 2.5])
def test_renewals_against_simulated_replacements(shape: float) -> None:
    rng = np.random.default_rng(5)
    draws, time, scale = 100_000, 14.0, 6.0
    lives = life_from_uniform(rng.uniform(size=(draws, 60)), scale=scale, shape=shape)
    counts = (np.cumsum(lives, axis=1) <= time).sum(axis=1)
    error = float(np.std(counts)) / draws**0.5
    found = expected_failures(1, time, scale=scale, shape=shape)
    assert found == pytest.approx(float(np.mean(counts)), abs=4.0 * error)


def test_renewals_for_many_draws_equal_one_by_one() -> None:
    scales = np.array([3.0, 8.0, 200.0])
    together = expected_failures(4, 10.0, scale=scales, shape=1.8)
    single = [expected_failures(4, 10.0, scale=c, shape=1.8) for c in scales]
    np.testing.assert_allclose(together, single, rtol=2e-5)  # each on a grid of its own


@pytest.mark.parametrize(("scale", "shape"), [(1.0, 0.1), (1.0, 30.0), (0.01, 2.0)])
def test_renewals_out_of_range(scale: float, shape: float) -> None:
    with pytest.raises(ValueError, match=r"to count renewals|characteristic lives"):
        expected_failures(1, 10.0, scale=scale, shape=shape)


def test_bounds_hold_as_often_as_they_say() -> None:
    """Watches of 40 years over packs of mean life 10: the true mean lies within 9 times in 10.

    Counts are discrete and a watch that ends by time is covered conservatively: at least 0.90.
    """
    counts = np.arange(0, 60)
    inside = [
        low <= 10.0 <= high
        for low, high in (mean_life_bounds(40.0, int(r), confidence=0.9) for r in counts)
    ]
    covered = float(np.sum(stats.poisson.pmf(counts, 4.0)[inside]))
    assert 0.90 <= covered <= 0.97


def test_a_watch_that_ends_with_a_failure_is_covered_exactly() -> None:
    # 2T/mean is chi-square with 2r degrees: the bounds are its quantiles
    low, high = mean_life_bounds(50.0, 5, confidence=0.8, ended_by="failure")
    assert stats.chi2.cdf(2.0 * 50.0 / low, 10) == pytest.approx(0.9)
    assert stats.chi2.cdf(2.0 * 50.0 / high, 10) == pytest.approx(0.1)
    assert low > mean_life_bounds(50.0, 5, confidence=0.8)[0]


def test_bounds_without_failures() -> None:
    low, high = mean_life_bounds(100.0, 0, confidence=0.9)
    assert high == float("inf")
    assert low == pytest.approx(mean_life_lower_bound(100.0, 0, confidence=0.95))
    with pytest.raises(ValueError, match="cannot end the watch"):
        mean_life_bounds(100.0, 0, confidence=0.9, ended_by="failure")
    with pytest.raises(ValueError, match="confidence"):
        mean_life_bounds(100.0, 1, confidence=1.0)
