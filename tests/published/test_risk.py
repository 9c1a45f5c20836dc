"""Expected regret against its closed form for two normals.

For independent costs A ~ N(100, 10), B ~ N(102, 20) the expected regret of choosing A, the one
with the lower mean, is E max(0, A - B) = s phi(m/s) - m Phi(-m/s) with m = 2, s^2 = 10^2 + 20^2:
the normal unit loss integral, which is the expected value of perfect information (Raiffa and
Schlaifer, Applied Statistical Decision Theory, 1961; from memory). Evaluated with scipy: 7.956.
"""

import numpy as np
import pytest
from scipy import stats

from tco.money.risk import risks

REGRET = 7.956
"""To the four digits printed; half a unit of the last is 0.0005."""


def test_the_closed_form_itself() -> None:
    m, s = 2.0, np.sqrt(500.0)
    loss = s * stats.norm.pdf(m / s) - m * stats.norm.cdf(-m / s)
    assert loss == pytest.approx(REGRET, abs=0.0005)


def test_expected_regret_of_two_normals() -> None:
    """A grid of 1000 x 1000 equally likely quantiles stands for the two independent costs."""
    u = (np.arange(1000) + 0.5) / 1000
    a = np.repeat(stats.norm.ppf(u, 100.0, 10.0), 1000)
    b = np.tile(stats.norm.ppf(u, 102.0, 20.0), 1000)
    first, second = risks(np.array([a, b]), np.ones(2, dtype=bool))
    # a quantile grid cuts the tails: its error falls with the number of points (0.002 here)
    assert first.expected_regret == pytest.approx(REGRET, abs=0.004)
    # the other choice regrets more by the difference of the means
    assert second.expected_regret == pytest.approx(REGRET + 2.0, abs=0.004)
    # P(A < B) = Phi(m/s)
    assert first.probability_cheapest == pytest.approx(
        stats.norm.cdf(2.0 / np.sqrt(500.0)), abs=0.001
    )


def test_expected_regret_by_random_draws() -> None:
    rng = np.random.default_rng(11)
    costs = np.array([rng.normal(100.0, 10.0, 200_000), rng.normal(102.0, 20.0, 200_000)])
    first, _ = risks(costs, np.ones(2, dtype=bool))
    loss = np.maximum(costs[0] - costs[1], 0.0)
    error = loss.std() / np.sqrt(loss.size)
    assert first.expected_regret == pytest.approx(REGRET, abs=4.0 * error)
