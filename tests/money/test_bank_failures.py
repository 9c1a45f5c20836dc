"""One large or several small when packs fail: both sides."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.money.bank_failures import (
    DAYS_PER_YEAR,
    failure_effects,
    share_left,
)

RATES = st.floats(0.0, 1.0)
DAYS = st.floats(0.0, 90.0)
LAYOUTS = st.tuples(st.integers(1, 4), st.integers(1, 6))


def test_a_dead_pack_takes_out_its_string() -> None:
    assert share_left(1, 4) == 0.75
    assert share_left(2, 2) == 0.5
    assert share_left(4, 1) == 0.0
    assert share_left(1, 4, dead_strings=3) == 0.25
    with pytest.raises(ValueError, match="no bank of 1S2P"):
        share_left(1, 2, dead_strings=3)


def test_both_sides_of_four_small_against_one_large() -> None:
    one, four = (failure_effects(1, p, rate_per_pack_year=0.02, repair_days=28.0) for p in (1, 4))
    assert four.failures_per_year == pytest.approx(4.0 * one.failures_per_year)
    assert four.cost_share == one.cost_share / 4.0
    assert four.mean_share_lost == pytest.approx(one.mean_share_lost)  # energy missing on average
    assert four.share_left == 0.75
    assert one.share_left == 0.0
    assert one.partial_days_per_year == 0.0
    assert four.partial_days_per_year > one.dark_days_per_year
    assert four.dark_days_per_year < 1e-6 * one.dark_days_per_year


def test_series_packs_share_their_fate() -> None:
    single, string = (
        failure_effects(*layout, rate_per_pack_year=0.02, repair_days=28.0)
        for layout in ((1, 4), (4, 1))
    )
    assert string.dark_days_per_year == pytest.approx(single.partial_days_per_year, rel=1e-4)
    assert string.mean_share_lost == pytest.approx(4.0 * single.mean_share_lost, rel=0.01)


def test_days_by_hand() -> None:
    # 0.1 a year and 36.525 days: up 10 years of 10.1, so 1/101 of the time down
    found = failure_effects(1, 2, rate_per_pack_year=0.1, repair_days=36.525)
    down = 1.0 / 101.0
    assert found.dark_days_per_year == pytest.approx(DAYS_PER_YEAR * down**2)
    assert found.partial_days_per_year == pytest.approx(DAYS_PER_YEAR * 2.0 * down * (1.0 - down))
    assert found.failures_per_year == pytest.approx(2.0 * 0.1 * (1.0 - down))


@given(layout=LAYOUTS, rate=RATES, days=DAYS)
def test_days_are_days_of_the_year(layout: tuple[int, int], rate: float, days: float) -> None:
    found = failure_effects(*layout, rate_per_pack_year=rate, repair_days=days)
    assert found.dark_days_per_year >= 0.0
    assert found.partial_days_per_year >= -1e-9
    total = found.dark_days_per_year + found.partial_days_per_year
    assert total <= DAYS_PER_YEAR
    if rate == 0.0 or days == 0.0:
        assert total == pytest.approx(0.0, abs=1e-9)


def test_days_and_availability_speak_of_the_same_share() -> None:
    found = failure_effects(1, 1, rate_per_pack_year=0.3, repair_days=45.0)
    up = (1.0 / 0.3) / (1.0 / 0.3 + 45.0 / DAYS_PER_YEAR)
    assert found.dark_days_per_year == pytest.approx(DAYS_PER_YEAR * (1.0 - up), rel=1e-12)


def test_tiny_rates_keep_their_digits() -> None:
    found = failure_effects(2, 2, rate_per_pack_year=1e-18, repair_days=DAYS_PER_YEAR)
    assert found.mean_share_lost == pytest.approx(2e-18, rel=1e-12)
    assert found.partial_days_per_year == pytest.approx(DAYS_PER_YEAR * 4e-18, rel=1e-12)


@pytest.mark.parametrize(("rate", "days"), [(-0.1, 1.0), (0.1, -1.0), (float("nan"), 1.0)])
def test_out_of_range(rate: float, days: float) -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        failure_effects(1, 1, rate_per_pack_year=rate, repair_days=days)


def test_arrays_equal_scalars() -> None:
    rates = np.array([0.0, 0.01, 0.2])
    row = failure_effects(2, 3, rate_per_pack_year=rates, repair_days=21.0)
    for i, rate in enumerate(rates):
        single = failure_effects(2, 3, rate_per_pack_year=float(rate), repair_days=21.0)
        assert row.dark_days_per_year[i] == single.dark_days_per_year
        assert row.partial_days_per_year[i] == single.partial_days_per_year
