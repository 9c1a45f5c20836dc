"""The fit and the corrections of capacity tests against published sources and libraries."""

import dataclasses
from datetime import date

import numpy as np
import pytest
from scipy.optimize import curve_fit

from tco.case.capacity_models import CapacityTest
from tco.checkup.health_fit import Prior, correct, line_fit, temperature_fraction
from tco.checkup.promise import add_years
from tco.physics.chemistry import CHEMISTRIES, Datum

# NIST StRD, linear least squares, dataset "Norris" (ozone monitors; the 36 pairs from memory,
# confirmed by the certified values they reproduce): y, x.
NORRIS = [
    *((0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5)),
    *((668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4)),
    *((0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6)),
    *((557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3)),
    *((0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0)),
    *((10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5)),
]
NORRIS_CERTIFIED = {
    "intercept": (-0.262323073774029, 0.232818234301152),
    "slope": (1.00211681802045, 0.429796848199937e-3),
    "residual_sd": 0.884796396144373,
}


def _line(x, intercept, slope):
    return intercept + slope * x


def _slopes(x, intercept, slope):
    return np.column_stack([np.ones(x.size), x])


@pytest.fixture
def norris():
    y, x = np.array(NORRIS).T
    return x, y


def test_norris_certified_values(norris):
    """Certified to 15 digits; 1e-9 leaves room for double precision in the normal equations."""
    x, y = norris
    sd = NORRIS_CERTIFIED["residual_sd"]
    design = np.column_stack([np.ones(x.size), x])
    found, covariance = line_fit(design, y, covariance=sd**2 * np.eye(x.size), priors=(None, None))
    for index, name in enumerate(("intercept", "slope")):
        value, uncertainty = NORRIS_CERTIFIED[name]
        assert found[index] == pytest.approx(value, rel=1e-9)
        assert np.sqrt(covariance[index, index]) == pytest.approx(uncertainty, rel=1e-9)
    left = y - design @ found
    assert np.sqrt(left @ left / (x.size - 2)) == pytest.approx(sd, rel=1e-9)


def test_weighted_fit_agrees_with_numpy_and_scipy(norris):
    """Reference libraries, same weights: numpy.polyfit and scipy.optimize.curve_fit."""
    x, y = norris
    sd = 0.5 + 0.002 * x
    found, covariance = line_fit(
        np.column_stack([np.ones(x.size), x]), y, covariance=np.diag(sd**2), priors=(None, None)
    )
    slope, intercept = np.polyfit(x, y, 1, w=1.0 / sd)
    assert found == pytest.approx([intercept, slope], rel=1e-9)
    best, cov = curve_fit(*(_line, x, y), p0=(0.0, 1.0), sigma=sd, absolute_sigma=True, jac=_slopes)
    assert found == pytest.approx(best, rel=1e-7)  # curve_fit's own stopping rule
    assert covariance == pytest.approx(cov, rel=1e-5)


def test_correlated_errors_agree_with_scipy(norris):
    """A common error of all values, as of one meter: curve_fit takes the full covariance too."""
    x, y = norris
    covariance = np.diag(0.5 + 0.001 * x) + 4.0
    found, spread = line_fit(
        np.column_stack([np.ones(x.size), x]), y, covariance=covariance, priors=(None, None)
    )
    best, cov = curve_fit(
        *(_line, x, y), p0=(0.0, 1.0), sigma=covariance, absolute_sigma=True, jac=_slopes
    )
    assert found == pytest.approx(best, rel=1e-6)
    assert spread == pytest.approx(cov, rel=1e-5)


def test_prior_is_the_conjugate_normal_mean():
    """Normal mean, known variance: Gelman and others, Bayesian Data Analysis, 3rd ed., eqs 2.9 and
    2.10 (from memory), for a prior 1.0 +- 0.03 and one value 0.95 +- 0.02."""
    prior, error = 0.03**-2, 0.02**-2
    found, covariance = line_fit(
        [[1.0]], [0.95], covariance=[[0.02**2]], priors=(Prior(1.0, 0.03),)
    )
    assert found[0] == pytest.approx((1.0 * prior + 0.95 * error) / (prior + error), rel=1e-12)
    assert covariance[0, 0] == pytest.approx(1.0 / (prior + error), rel=1e-12)


# IEEE Std 485 cell size correction, rows from memory; the same as in test_lead_acid.
IEEE485 = [(40.0, 1.300), (50.0, 1.190), (60.0, 1.110), (77.0, 1.000), (90.0, 0.940)]


@pytest.mark.parametrize(("degf", "factor"), IEEE485)
def test_lead_acid_temperature_correction(degf, factor):
    test = CapacityTest(
        tested_on=date(2024, 1, 1), measured_ah=50.0, temperature_degc=(degf - 32.0) / 1.8,
        current_a=5.0,
    )  # fmt: skip
    found = correct(test, chemistry=CHEMISTRIES["agm"], rated_ah=100.0)
    assert found.corrected_ah == pytest.approx(50.0 * factor, rel=1e-9)


# US Army TM 10-6140-200-14: 75 % of the capacity at 32 degF, 40 % at 0 degF.
@pytest.mark.parametrize(("degf", "fraction"), [(32.0, 0.75), (0.0, 0.40)])
def test_lead_acid_in_the_cold(degf, fraction):
    found = temperature_fraction((degf - 32.0) / 1.8, chemistry=CHEMISTRIES["flooded"])
    assert found == pytest.approx(fraction, abs=5e-4)  # the curve's -17.8 degC is 0 degF rounded


# Peukert's law t = H (C/(I H))^n evaluated outside this project, 100 Ah at 20 h, hours printed to
# four or five decimals: exponent, current, hours. A sound battery then measures current x hours.
WORKED = [(1.2, 10.0, 8.7055, 5e-5), (1.2, 50.0, 1.26191, 5e-6), (1.05, 50.0, 1.7825, 5e-5)]


@pytest.mark.parametrize(("exponent", "current", "hours", "tolerance"), WORKED)
def test_rate_correction_gives_back_the_rated_capacity(exponent, current, hours, tolerance):
    chemistry = dataclasses.replace(
        CHEMISTRIES["agm"], peukert_exponent=Datum(exponent, "worked example")
    )
    test = CapacityTest(
        tested_on=date(2024, 1, 1), measured_ah=current * hours, temperature_degc=25.0,
        current_a=current,
    )  # fmt: skip
    found = correct(test, chemistry=chemistry, rated_ah=100.0)
    assert found.corrected_ah == pytest.approx(100.0, rel=2.0 * tolerance / hours)


@pytest.mark.parametrize(
    ("start", "years", "end"),
    [
        (date(2024, 2, 29), 1, date(2025, 2, 28)),
        (date(2024, 2, 29), 4, date(2028, 2, 29)),
        (date(2023, 3, 1), 1, date(2024, 3, 1)),
        (date(1896, 2, 29), 4, date(1900, 2, 28)),
    ],
)
def test_anniversaries_by_the_gregorian_calendar(start, years, end):
    """Inter gravissimas (1582): no leap day in 1900, one every other fourth year."""
    assert add_years(start, years) == end
