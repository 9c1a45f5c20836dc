"""Failure rates and lives against the NIST/SEMATECH e-Handbook, a workbook, and scipy."""

from math import log

import numpy as np
import pytest
from scipy import stats

from tco.case.evidence import ReliabilityAssumptions
from tco.money.evidence import GammaRate, weibull_scale_years
from tco.money.failures import hazard_by_age
from tco.money.reliability import (
    cumulative_hazard,
    first_failure_probability,
    mean_life_bounds,
    mean_life_lower_bound,
)

# NIST/SEMATECH e-Handbook 8.2.5: a 50 % chance that the MTBF is above 600 h, 95 % that it is above
# 250 h, is a Gamma prior of shape 2.863 and 1522.5 h. Half a unit of the last digit of both moves
# the lives by 0.12 + 0.02 h and by 0.03 + 0.01 h (scipy's inverse Gamma, outside this project).
LIVES_OF_PRIOR = [(0.50, 600.0, 0.14), (0.95, 250.0, 0.04)]


@pytest.mark.parametrize(("share", "hours", "tolerance"), LIVES_OF_PRIOR)
def test_mean_lives_of_a_prior(share, hours, tolerance):
    assert 1.0 / GammaRate(2.863, 1522.5).quantile(share) == pytest.approx(hours, abs=tolerance)


# e-Handbook 8.4.6: prior a 2, b 1400 (from memory), two failures in 1909 h of test (from memory):
# posterior a 4, b 3309. MTBF exceeded with a probability; digits as printed.
MTBF = [(0.90, 495.3, 0.05), (0.80, 599.995, 5e-4), (0.50, 901.13, 5e-3), (0.10, 1896.5, 0.05)]


def test_posterior():
    posterior = GammaRate(2.0, 1400.0).updated(2.0, 1909.0)
    assert (posterior.shape, posterior.pack_years) == (4.0, 3309.0)  # sums of whole numbers


@pytest.mark.parametrize(("share", "hours", "tolerance"), MTBF)
def test_posterior_mean_lives(share, hours, tolerance):
    # a mean life is exceeded where its rate is not
    found = 1.0 / GammaRate(4.0, 3309.0).quantile(share)
    assert found == pytest.approx(hours, abs=tolerance)


# e-Handbook 8.4.5.1: 800 h, 2 failures, 90 % two-sided. 127.07 and 2251.23 are evaluated from the
# printed formula outside this project.
def test_bounds_of_the_mean_life():
    low, high = mean_life_bounds(800.0, 2, confidence=0.90)
    assert low == pytest.approx(127.07, abs=5e-3)
    assert high == pytest.approx(2251.23, abs=5e-3)


# e-Handbook 8.4.5.1, table of factors by which the estimate T/r is multiplied (from memory):
# confidence, failures, lower, upper. One unit of the fourth decimal: two upper factors for one
# failure are 1/(-ln(1 - alpha/2)) = 19.49573 and 39.49789, so they are not rounded to the nearest.
FACTORS = [
    (0.60, 1, 0.3340, 4.4814),
    (0.60, 2, 0.4674, 2.4260),
    (0.80, 1, 0.2571, 9.4912),
    (0.80, 2, 0.3758, 3.7607),
    (0.90, 1, 0.2108, 19.4958),
    (0.90, 2, 0.3177, 5.6281),
    (0.95, 1, 0.1795, 39.4978),
    (0.95, 2, 0.2768, 8.2573),
]


@pytest.mark.parametrize(("confidence", "failures", "lower", "upper"), FACTORS)
def test_factors(confidence, failures, lower, upper):
    low, high = mean_life_bounds(float(failures), failures, confidence=confidence)
    assert low == pytest.approx(lower, abs=1e-4)
    assert high == pytest.approx(upper, abs=1e-4)


# e-Handbook 8.4.5.1: without failures the lower bound is T/(-ln alpha).
@pytest.mark.parametrize("alpha", [0.4, 0.1, 0.05, 0.01])
def test_no_failures(alpha):
    found = mean_life_lower_bound(800.0, 0, confidence=1.0 - alpha)
    assert found == pytest.approx(800.0 / -log(alpha), rel=1e-12)


# HELM workbook 46.1: two exponential parts, means 6000 h and 7000 h, at 8000 h. Digits printed.
def test_two_parts_in_series():
    hazards = [float(cumulative_hazard(8000.0, scale=mean)) for mean in (6000.0, 7000.0)]
    assert first_failure_probability(hazards[:1]) == pytest.approx(0.7364, abs=5e-5)
    assert first_failure_probability(hazards[1:]) == pytest.approx(0.6811, abs=5e-5)
    assert first_failure_probability(hazards) == pytest.approx(0.916, abs=5e-4)


# Weibull: a spreadsheet manual's worked example (105; shape 20, scale 100), and e-Handbook 8.1.6
# (t 1000, shape 1.5, scale 5000; from memory). Half a unit of the last digit.
WEIBULL = [(105.0, 20.0, 100.0, 0.929581, 5e-7), (1000.0, 1.5, 5000.0, 0.08556, 5e-6)]


@pytest.mark.parametrize(("time", "shape", "scale", "failed", "tolerance"), WEIBULL)
@pytest.mark.parametrize("years", [1, 7])
def test_weibull_failures_by_age(time, shape, scale, failed, tolerance, years):
    """The hazard the ledger and the draws use: so many failures in each year of age over the mean
    rate of the reference years. Time is told in years of which `years` make up the example's."""
    unit = time / years
    assumptions = ReliabilityAssumptions(weibull_shape=min(shape, 10.0), reference_years=4.0)
    if shape > 10.0:  # beyond what a user may state, not beyond the formula
        assumptions = assumptions.model_copy(update={"weibull_shape": shape})
    rate = (4.0 * unit / scale) ** shape / 4.0  # mean failures a year of the first four
    assert weibull_scale_years(rate, shape=shape, reference_years=4.0) == pytest.approx(
        scale / unit, rel=1e-12
    )
    found = first_failure_probability(rate * hazard_by_age(assumptions, years))
    assert found == pytest.approx(failed, abs=tolerance)


def test_weibull_failures_by_age_against_scipy():
    """Mean rate 0.02 over ten years: the same life as scipy's, year by year."""
    for shape in (0.7, 1.0, 2.5):
        assumptions = ReliabilityAssumptions(weibull_shape=shape, reference_years=10.0)
        scale = weibull_scale_years(0.02, shape=shape, reference_years=10.0)
        failing = 0.02 * hazard_by_age(assumptions, 15)
        survived = stats.weibull_min(shape, scale=scale).sf(np.arange(16.0))
        # two libraries in double precision: a few units of the last place
        np.testing.assert_allclose(np.exp(-failing), survived[1:] / survived[:-1], rtol=1e-12)
