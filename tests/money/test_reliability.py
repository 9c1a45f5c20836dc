"""The Weibull life, the first failure of several, and bounds on a mean life."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.money.reliability import (
    cumulative_hazard,
    first_failure_probability,
    mean_life_bounds,
    mean_life_lower_bound,
)

TIMES = st.floats(0.0, 50.0)
SCALES = st.floats(0.5, 200.0)
SHAPES = st.floats(0.3, 8.0)


@given(t=TIMES, scale=SCALES, shape=SHAPES)
def test_hazard_depends_on_lives_and_is_one_at_the_scale(
    t: float, scale: float, shape: float
) -> None:
    found = cumulative_hazard(t, scale=scale, shape=shape)
    assert found == pytest.approx(cumulative_hazard(t / scale, scale=1.0, shape=shape), rel=1e-9)
    assert cumulative_hazard(scale, scale=scale, shape=shape) == 1.0


def test_arrays_equal_scalars() -> None:
    t, shape = np.array([0.0, 1.0, 7.5]), np.array([[0.8], [2.0]])
    table = cumulative_hazard(t, scale=6.0, shape=shape)
    for i in range(2):
        for j in range(3):
            alone = cumulative_hazard(float(t[j]), scale=6.0, shape=float(shape[i, 0]))
            assert table[i, j] == alone


@pytest.mark.parametrize(
    ("t", "scale", "shape"),
    [(-1.0, 1.0, 1.0), (1.0, 0.0, 1.0), (1.0, 1.0, 0.0), (float("nan"), 1.0, 1.0)],
)
def test_out_of_range(t: float, scale: float, shape: float) -> None:
    with pytest.raises(ValueError, match="must be finite"):
        cumulative_hazard(t, scale=scale, shape=shape)


@given(st.lists(st.floats(0.0, 5.0), max_size=6))
def test_a_chain_survives_if_every_part_does(hazards: list[float]) -> None:
    each = [1.0 - first_failure_probability([h]) for h in hazards]
    found = 1.0 - first_failure_probability(hazards)
    assert found == pytest.approx(float(np.prod(each)), abs=1e-12)


def test_small_hazards_keep_their_digits_and_none_is_below_zero() -> None:
    assert first_failure_probability([1e-18, 2e-18]) == pytest.approx(3e-18, rel=1e-12)
    with pytest.raises(ValueError, match="hazards"):
        first_failure_probability([0.1, -0.1])


def test_bounds_hold_as_often_as_they_say() -> None:
    """A watch that ends at a set time covers the true mean life at least as often as stated."""
    rng, true, watch = np.random.default_rng(4), 12.0, 60.0
    seen = rng.poisson(watch / true, 4000)
    inside = 0
    for failures in seen.tolist():
        low, high = mean_life_bounds(watch, failures, confidence=0.8)
        inside += low <= true <= high
    # conservative for counts; a share of 4,000 is known to 0.6 %
    assert 0.79 < inside / seen.size < 0.95


def test_bounds_without_failures_and_out_of_range() -> None:
    low, high = mean_life_bounds(50.0, 0, confidence=0.9)
    assert high == float("inf")
    assert low == mean_life_lower_bound(50.0, 0, confidence=0.95)
    for bad in ((0.0, 1, 0.9), (1.0, -1, 0.9), (1.0, 1, 1.0)):
        with pytest.raises(ValueError, match=r"total_time|failures|confidence"):
            mean_life_bounds(*bad[:2], confidence=bad[2])
