"""Bands, chance of being cheapest, regret."""

import numpy as np
import pytest

from tco.money.risk import band, risks


def noisy(*means: float, draws: int = 400, seed: int = 3) -> np.ndarray:
    rng = np.random.default_rng(seed)
    return np.array([rng.normal(mean, 10.0, draws) for mean in means])


def test_band_by_hand() -> None:
    found = band(np.arange(101.0))
    assert (found.p10, found.p50, found.p90, found.mean) == (10.0, 50.0, 90.0, 50.0)
    # variance of 0..n-1 about their mean, over n - 1: n (n + 1) / 12
    assert found.standard_error == pytest.approx(np.sqrt(101.0 * 102.0 / 12.0 / 101.0))


def test_standard_error_falls_with_the_root_of_the_draws() -> None:
    few, many = band(noisy(100.0, draws=400)[0]), band(noisy(100.0, draws=40000)[0])
    assert few.standard_error / many.standard_error == pytest.approx(10.0, rel=0.1)
    means = [band(noisy(100.0, draws=400, seed=seed)[0]).mean for seed in range(300)]
    # a standard deviation of 300 samples is known to 1/sqrt(600) = 4 %
    assert np.std(means) == pytest.approx(10.0 / np.sqrt(400.0), rel=0.15)


def test_one_draw_tells_no_error_and_none_is_refused() -> None:
    assert band(np.array([7.0])).standard_error == np.inf
    with pytest.raises(ValueError, match="at least one draw"):
        band(np.array([]))


def test_chances_sum_to_one_over_the_eligible() -> None:
    eligible = np.array([True, False, True, True])
    found = risks(noisy(100.0, 50.0, 102.0, 104.0), eligible)
    assert sum(risk.probability_cheapest for risk in found) == pytest.approx(1.0)
    assert found[1].probability_cheapest == 0.0
    assert all(risk.probability_cheapest > 0.0 for k, risk in enumerate(found) if eligible[k])


def test_regret_by_hand() -> None:
    costs = np.array([[10.0, 20.0, 30.0, 40.0], [12.0, 18.0, 30.0, 44.0]])
    first, second = risks(costs, np.ones(2, dtype=bool))
    assert first.expected_regret == pytest.approx(0.5)
    assert second.expected_regret == pytest.approx(1.5)
    assert first.probability_cheapest == pytest.approx((1 + 0 + 0.5 + 1) / 4)
    assert second.regret_p90 == pytest.approx(np.quantile([2.0, 0.0, 0.0, 4.0], 0.9))


def test_one_that_cannot_be_chosen_sets_no_regret() -> None:
    costs = np.array([[10.0, 10.0], [1.0, 1.0]])
    first, second = risks(costs, np.array([True, False]))
    assert first.expected_regret == 0.0
    assert first.probability_cheapest == 1.0
    assert second.expected_regret == -9.0


def test_ties_are_shared() -> None:
    found = risks(np.tile(noisy(100.0), (3, 1)), np.ones(3, dtype=bool))
    for risk in found:
        assert risk.probability_cheapest == pytest.approx(1.0 / 3.0)
        assert risk.expected_regret == 0.0


def test_one_arrangement_has_no_regret() -> None:
    (only,) = risks(noisy(100.0), np.array([True]))
    assert (only.probability_cheapest, only.expected_regret, only.regret_p90) == (1.0, 0.0, 0.0)


def test_none_eligible_compares_all() -> None:
    costs = noisy(100.0, 101.0)
    none, every = risks(costs, np.zeros(2, dtype=bool)), risks(costs, np.ones(2, dtype=bool))
    assert none == every


def test_the_least_expected_cost_has_the_least_expected_regret() -> None:
    found = risks(noisy(103.0, 100.0, 101.0), np.ones(3, dtype=bool))
    by_mean = min(range(3), key=lambda k: found[k].band.mean)
    by_regret = min(range(3), key=lambda k: found[k].expected_regret)
    assert by_mean == by_regret
    # and regrets differ by exactly what the means differ
    assert found[0].expected_regret - found[1].expected_regret == pytest.approx(
        found[0].band.mean - found[1].band.mean
    )
