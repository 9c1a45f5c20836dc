"""Draws: the same seed, strata, the 10 and 90 % points, weather and failures of each model."""

from typing import Any

import numpy as np
import pytest
from scipy import stats

from tco.case.spreads import Factor, Shift, Spreads
from tco.money.draws import INPUTS, MEAN_WEATHER, Draws, draw, quantile_of
from tests.money.draw_ledger_helpers import central

USUAL = Spreads()
ARRAYS = ("common", "luck", "failure_u", "batch_u", "event_u", "event_shift", "weather", "claim_u")


def drawn(**changes: Any) -> Draws:
    sizes: dict[str, Any] = {
        "candidates": 4, "years": 8, "weather_years": 3, "draws": 500, "seed": 1, **changes,
    }  # fmt: skip
    return draw(USUAL, **sizes)


def test_same_seed_same_bytes() -> None:
    one, other = drawn(), drawn()
    for name in ARRAYS:
        assert getattr(one, name).tobytes() == getattr(other, name).tobytes(), name


def test_another_seed_differs_everywhere() -> None:
    one, other = drawn(), drawn(seed=2)
    for name in ARRAYS:
        assert not np.array_equal(getattr(one, name), getattr(other, name)), name


@pytest.mark.parametrize("spread", [Factor(low=0.6, high=1.3), Shift(low=-0.01, high=0.03)])
def test_ten_and_ninety_percent_points(spread: Factor | Shift) -> None:
    found = quantile_of(spread, np.array([0.1, 0.5, 0.9]))
    assert found[0] == pytest.approx(spread.low, rel=1e-12)
    assert found[2] == pytest.approx(spread.high, rel=1e-12)
    if isinstance(spread, Factor):
        assert found[1] == pytest.approx(np.sqrt(spread.low * spread.high), rel=1e-12)
    else:
        assert found[1] == pytest.approx((spread.low + spread.high) / 2.0, rel=1e-12)


def test_factors_are_log_normal_and_shifts_normal() -> None:
    """Against scipy: quantiles at other places than those given."""
    u = np.array([0.01, 0.3, 0.77, 0.995])
    sigma = np.log(1.3 / 0.6) / 2.0 / stats.norm.ppf(0.9)
    wanted = stats.lognorm.ppf(u, sigma, scale=np.sqrt(0.6 * 1.3))
    np.testing.assert_allclose(quantile_of(Factor(low=0.6, high=1.3), u), wanted, rtol=1e-12)
    sigma = 0.02 / stats.norm.ppf(0.9)
    wanted = stats.norm.ppf(u, 0.01, sigma)
    np.testing.assert_allclose(quantile_of(Shift(low=-0.01, high=0.03), u), wanted, rtol=1e-12)


def test_no_spread_no_draw() -> None:
    np.testing.assert_allclose(quantile_of(Factor(low=1.1, high=1.1), np.linspace(0.01, 0.99)), 1.1)


def test_every_column_has_one_value_a_stratum() -> None:
    draws = drawn()
    columns = [*draws.failure_u.T, *draws.batch_u.T]
    for k, name in enumerate(INPUTS):
        spread, values = getattr(USUAL, name), draws.common[:, k]
        low, high = (
            (np.log(spread.low), np.log(spread.high))
            if isinstance(spread, Factor)
            else (spread.low, spread.high)
        )
        scaled = np.log(values) if isinstance(spread, Factor) else values
        sigma = (high - low) / 2.0 / stats.norm.ppf(0.9)
        columns.append(stats.norm.cdf(scaled, (low + high) / 2.0, sigma))
    for column in columns:
        strata = np.sort(np.floor(column * draws.count)).astype(int)
        assert strata.tolist() == list(range(draws.count))


def test_strata_settle_the_mean_sooner_than_plain_draws() -> None:
    """The mean of a stratified column scatters far less than sigma / sqrt(n)."""
    place = INPUTS.index("cycle_life")
    means = [drawn(draws=100, seed=seed).common[:, place].mean() for seed in range(40)]
    one_draw = np.std(drawn(draws=4000).common[:, place])
    assert np.std(means) < 0.3 * one_draw / np.sqrt(100)


def test_columns_are_independent() -> None:
    draws = drawn(draws=4000)
    both = np.corrcoef(np.column_stack([draws.common, draws.luck, draws.failure_u]).T)
    off_diagonal = both[~np.eye(len(both), dtype=bool)]
    assert np.abs(off_diagonal).max() < 4.5 / np.sqrt(4000)  # 4.5 standard errors of 380 pairs


def test_weather_years_come_up_alike() -> None:
    counts = np.bincount(drawn(draws=3000).weather.ravel(), minlength=3)
    assert stats.chisquare(counts).pvalue > 1e-3
    assert counts.size == 3


def test_models_fail_in_different_years_each_as_often() -> None:
    """Shifted uniforms: uniform for every model, and independent between two models."""
    draws = drawn(draws=4000)
    assert draws.event_shift is not None
    u = (draws.event_u[:, :, None] + draws.event_shift[:, None, :]) % 1.0
    for model in range(4):
        assert stats.kstest(u[:, 0, model], "uniform").pvalue > 1e-3
        assert stats.kstest(u[:, 1, model], "uniform").pvalue > 1e-3
    early = u < 0.1
    both = (early[:, :, 0] & early[:, :, 1]).mean()
    assert both == pytest.approx(0.01, abs=4.0 * np.sqrt(0.01 / (4000 * 8)))
    two_years = (early[:, 0, 0] & early[:, 1, 0]).mean()
    assert two_years == pytest.approx(0.01, abs=4.0 * np.sqrt(0.01 / 4000))


def test_central_is_the_case_itself() -> None:
    draws = central(USUAL, candidates=2, years=5)
    by_name = dict(zip(INPUTS, draws.common[0], strict=True))
    assert by_name.pop("discount_rate") == by_name.pop("inflation") == 0.0
    assert set(by_name.values()) == {1.0}
    assert (draws.luck == 1.0).all()
    assert (draws.weather == MEAN_WEATHER).all()


def test_central_with_some_replaced() -> None:
    draws = central(
        USUAL, candidates=2, years=5, replace=(("energy_use", 1.1), ("discount_rate", 0.02))
    )
    assert draws.common[0, INPUTS.index("energy_use")] == 1.1
    assert draws.common[0, INPUTS.index("discount_rate")] == 0.02
    with pytest.raises(ValueError, match="not in tuple"):
        central(USUAL, candidates=2, years=5, replace=(("no_such_input", 1.0),))
