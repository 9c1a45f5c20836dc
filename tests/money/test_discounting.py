"""Factors of discounting: limits, identities, errors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.money.discounting import (
    capital_recovery_factor,
    net_present_value,
    present_value_factor,
    real_rate,
    uniform_present_value_factor,
)

rates = st.floats(-0.4, 0.9)
years = st.integers(1, 40)


@given(rates, years)
def test_upv_is_the_sum_of_its_single_factors(rate: float, n: int) -> None:
    total = sum(present_value_factor(rate, t) for t in range(1, n + 1))
    assert uniform_present_value_factor(rate, n) == pytest.approx(total, rel=1e-9)


@given(rates, st.floats(-0.4, 0.9), years)
def test_at_the_real_rate_upv_is_the_sum_of_the_grown_payments(d: float, e: float, n: int) -> None:
    total = sum((1 + e) ** t / (1 + d) ** t for t in range(1, n + 1))
    assert uniform_present_value_factor(real_rate(d, e), n) == pytest.approx(total, rel=1e-9)


@given(rates, years)
def test_capital_recovery_pays_back_one(rate: float, n: int) -> None:
    payment = capital_recovery_factor(rate, n)
    assert net_present_value(rate, [(t, payment) for t in range(1, n + 1)]) == pytest.approx(1.0)


def test_at_rate_zero_every_year_counts_the_same() -> None:
    assert present_value_factor(0.0, 17.0) == 1.0
    assert uniform_present_value_factor(0.0, 12) == 12.0
    assert capital_recovery_factor(0.0, 8) == pytest.approx(1 / 8)
    assert uniform_present_value_factor(real_rate(0.04, 0.04), 9) == 9.0
    assert net_present_value(0.0, [(0.0, 10.0), (3.5, -4.0)]) == 6.0


@pytest.mark.parametrize("rate", [1e-9, 1e-12, -1e-12, 1e-15])
def test_rates_close_to_zero_lose_no_digits(rate: float) -> None:
    # second order: n - n (n + 1) / 2 d
    assert uniform_present_value_factor(rate, 10) == pytest.approx(10 - 55 * rate, rel=1e-14)


def test_fractions_of_a_year_are_discounted() -> None:
    assert present_value_factor(0.21, 0.5) == pytest.approx(1 / 1.1)


def test_real_rate() -> None:
    assert real_rate(0.05, 0.02) == pytest.approx(1.05 / 1.02 - 1)
    assert real_rate(0.03, 0.03) == 0.0


def test_refusals() -> None:
    for factor in (present_value_factor, uniform_present_value_factor, capital_recovery_factor):
        with pytest.raises(ValueError, match="above -1"):
            factor(-1.0, 5)
    with pytest.raises(ValueError, match="above -1"):
        real_rate(0.05, -1.0)
    with pytest.raises(ValueError, match="above zero"):
        capital_recovery_factor(0.05, 0)
    with pytest.raises(ValueError, match="below zero"):
        uniform_present_value_factor(0.05, -1)
    with pytest.raises(ValueError, match="above -1"):
        net_present_value(-2.0, [(1.0, 1.0)])
    assert math.isfinite(uniform_present_value_factor(-0.99, 5))
