"""The second opinion: limits, directions, and that it stands beside the first."""

from pathlib import Path

import numpy as np
import pytest

from tco.case import read_case
from tco.compare import compare
from tco.life.growth import RESISTANCE_GROWTH_PER_LOSS
from tco.life.second_opinion import INCLUDES, SecondOpinion, second_opinion
from tco.physics.chemistry import CHEMISTRIES

LFP = CHEMISTRIES["lfp"]
YEAR = {"full_cycles": 150.0, "mean_degc": 20.0, "mean_c_rate": 0.1, "mean_charge": 0.8}
DEMO = Path(__file__).parents[2] / "candidates_demo"


def opinion(years: int = 10, **changes: float) -> SecondOpinion:
    got = second_opinion(LFP, {**YEAR, **changes}, horizon_years=years)
    assert got is not None
    return got


@pytest.mark.parametrize("key", sorted(set(CHEMISTRIES) - {"lfp"}))
def test_only_for_the_chemistry_it_was_fitted_to(key: str) -> None:
    assert second_opinion(CHEMISTRIES[key], YEAR, horizon_years=5) is None


def test_no_use_no_loss_by_cycles() -> None:
    got = opinion(full_cycles=0.0)
    assert np.array_equal(got.health, np.ones(10))
    assert got.years_to(0.8) is None
    assert got.calendar_resistance[-1] > 1.0  # time alone
    assert got.includes == INCLUDES


def test_more_of_it_ages_more() -> None:
    base = opinion()
    assert np.all(np.diff(base.health) < 0.0)
    for changes in ({"full_cycles": 200.0}, {"mean_degc": 30.0}):
        assert np.all(opinion(**changes).health < base.health), changes
    for changes in ({"mean_degc": 30.0}, {"mean_charge": 1.0}):
        assert np.all(opinion(**changes).calendar_resistance > base.calendar_resistance), changes


def test_beyond_the_tests_the_ends_count() -> None:
    assert np.array_equal(opinion(mean_degc=-15.0).health, opinion(mean_degc=0.0).health)
    assert np.array_equal(opinion(mean_c_rate=12.0).health, opinion(mean_c_rate=10.0).health)
    assert np.array_equal(opinion(mean_c_rate=0.01).health, opinion(mean_c_rate=0.5).health)
    assert opinion(full_cycles=1e7).health[-1] == 0.0
    with pytest.raises(ValueError, match="at least 1"):
        second_opinion(LFP, YEAR, horizon_years=0)


def test_years_to_a_health() -> None:
    got = opinion(30)
    eighth = float(got.health[7])
    assert got.years_to(eighth) == pytest.approx(8.0)
    between = got.years_to((eighth + float(got.health[8])) / 2.0)
    assert between == pytest.approx(8.5)
    assert got.years_to(1.0) == 0.0
    assert got.years_to(float(got.health[-1]) - 1e-6) is None


def test_beside_the_first_opinion_of_a_comparison() -> None:
    found = compare(read_case(DEMO / "otterbank.toml"))
    for result in found.results:
        growth = result.life.resistance_growth
        loss = 1.0 - result.life.health
        assert np.all(growth >= 1.0 + RESISTANCE_GROWTH_PER_LOSS * loss - 1e-12)
        assert growth == pytest.approx(
            1.0 + np.maximum(RESISTANCE_GROWTH_PER_LOSS * loss, result.life.by_age * loss**2)
        )
        assert np.all(np.diff(growth) >= 0.0)
        got = second_opinion(
            result.arrangement.pack.chemistry, result.year, horizon_years=result.life.health.size
        )
        if result.arrangement.pack.chemistry.key != "lfp":
            assert got is None
            continue
        assert got is not None
        # cycles alone, and cells that are spared the datasheet: above the first, not absurdly
        assert got.health.shape == result.life.health.shape
        assert 0.5 < got.health[-1] < 1.0
