"""Health of a bank from its capacity tests: corrected to standard conditions, and fitted.

Standard conditions are 25 degC and the current of the rated capacity. The fit is
``health(t) = start - fade * t**z`` with t in years since the purchase; z is that of the
chemistry's ageing model: 0.5 where losses grow with the square root of time (Naumann 2018, LFP),
1 otherwise. It is a straight line in ``t**z``, by weighted least squares, with what is known
beforehand counted as one more measurement of each parameter (the Gaussian prior of Bayesian linear
regression). A smooth fit cannot see a sudden failure coming: of a cell, a board or a joint.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from tco.case.capacity_models import CapacityTest
from tco.physics.arrays import FloatArray
from tco.physics.chemistry import Chemistry
from tco.physics.lead_acid import ieee485_temperature_factor, peukert_capacity_factor
from tco.sentences import Quantity, says

DAYS_PER_YEAR = 365.25

METER_SHARE = 0.01
"""Standard uncertainty of the meter's ampere-hours, the same error in every test with that meter.
Assumption: a battery monitor's usual accuracy, no source."""
REPEAT_SHARE = 0.01
"""Spread from one test to the next, as a share of the rated capacity: how full it was, when it
was stopped. Assumption."""
CORRECTION_SHARE = 0.25
"""Standard uncertainty of a correction, as a share of its size. Assumption: the published
temperature tables for lead-acid differ from each other by about that."""
UNKNOWN_DEGC, UNKNOWN_SPREAD_K = 20.0, 8.0
"""Temperature taken where none was noted, and its standard uncertainty. Assumption."""
UNKNOWN_RATE_SPREAD = 0.04
"""Standard uncertainty of a lead-acid capacity where no current was noted. Assumption."""
LITHIUM_RATE_SPREAD = 0.01
"""Uncertainty for each C of current away from the rated one, where resistance alone ends the
discharge a little sooner: small, so not corrected. Assumption."""

_IEEE_LOWEST_DEGC, _IEEE_HIGHEST_DEGC = (40.0 - 32.0) / 1.8, (100.0 - 32.0) / 1.8


@dataclass(frozen=True)
class Corrected:
    """A capacity test at standard conditions; `temperature_degc` and `current_a` as noted.

    `temperature_fraction` and `rate_fraction` are the shares of the standard capacity that the
    temperature and the current leave; `corrected_ah` is the measured Ah over both, `health` that
    over the rated Ah. `spread` is the standard uncertainty of `health` that is this test's own;
    `temperature_error` and `rate_error` are by how much health would be off with a correction
    that is CORRECTION_SHARE too large, and those errors, like the meter's, are shared by all
    tests. `assumed` says what was not noted.
    """

    tested_on: date
    measured_ah: float
    temperature_degc: float | None
    current_a: float | None
    temperature_fraction: float
    rate_fraction: float
    corrected_ah: float
    health: float
    spread: float
    temperature_error: float
    rate_error: float
    assumed: tuple[str, ...] = ()

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of `health`, the shared errors and the meter's included."""
        meter = METER_SHARE * self.health
        return math.hypot(self.spread, self.temperature_error, self.rate_error, meter)


def temperature_fraction(
    temperature_degc: float, *, chemistry: Chemistry, rate_c: float | None = None
) -> float:
    """Share of the 25 degC capacity that can be drawn at a temperature.

    `rate_c`: share of the capacity drawn in an hour, None: the rated one. [1/h]

    Lead-acid from 40 to 100 degF: one over the factor of IEEE Std 485 (a sizing factor; IEEE 450
    and 1188 have tables of their own for tests, not at hand). At and below 0 degC the chemistry's
    own curve (US Army TM 10-6140-200-14), between the two a straight line, above 100 degF no
    further credit. Other chemistries: `Chemistry.capacity_fraction_at_rate`.
    """
    if not chemistry.ieee485 or temperature_degc <= 0.0:
        rate = 1.0 / chemistry.rated_hours if rate_c is None else rate_c
        return chemistry.capacity_fraction_at_rate(temperature_degc, rate)
    inside = float(np.clip(temperature_degc, _IEEE_LOWEST_DEGC, _IEEE_HIGHEST_DEGC))
    fraction = 1.0 / float(ieee485_temperature_factor(inside))
    if temperature_degc >= _IEEE_LOWEST_DEGC:
        return fraction
    at_zero = float(chemistry.capacity_fraction(0.0))
    return at_zero + temperature_degc / _IEEE_LOWEST_DEGC * (fraction - at_zero)


def correct(test: CapacityTest, *, chemistry: Chemistry, rated_ah: float) -> Corrected:
    """Turn a measured capacity into the one at 25 degC and the rated current.

    Lead-acid is corrected for the current by Peukert's law, to the chemistry's rated hours; at
    and below the rated current not at all. Lithium and sodium are not corrected for the current:
    their resistance only ends the discharge a little sooner.

    Raises
    ------
    ValueError
        If the rated capacity is not above zero.
    """
    if not 0.0 < rated_ah < np.inf:
        raise ValueError("rated_ah must be finite and above zero")
    assumed: list[str] = []
    variance = 0.0
    degc = test.temperature_degc
    rate_c = None if test.current_a is None else test.current_a / rated_ah
    if degc is None:
        degc = UNKNOWN_DEGC
        assumed.append(says("temperature not noted: ", Quantity(degc, "degC", "g"), " assumed"))
        low, high = (
            temperature_fraction(degc + sign * UNKNOWN_SPREAD_K, chemistry=chemistry, rate_c=rate_c)
            for sign in (-1.0, 1.0)
        )
        variance += (0.5 * (high - low)) ** 2
    by_temperature = temperature_fraction(degc, chemistry=chemistry, rate_c=rate_c)
    by_rate = 1.0
    exponent = chemistry.peukert_exponent.value
    rated_a = rated_ah / chemistry.rated_hours
    if test.current_a is None:
        assumed.append("current not noted: the rated one assumed")
        variance += UNKNOWN_RATE_SPREAD**2 if exponent > 1.0 else LITHIUM_RATE_SPREAD**2
    elif exponent > 1.0:
        by_rate = float(
            peukert_capacity_factor(
                test.current_a,
                capacity_ah=rated_ah,
                rated_hours=chemistry.rated_hours,
                exponent=exponent,
            )
        )
    else:
        variance += (LITHIUM_RATE_SPREAD * (test.current_a - rated_a) / rated_ah) ** 2
    corrected_ah = test.measured_ah / (by_temperature * by_rate)
    health = corrected_ah / rated_ah
    return Corrected(
        tested_on=test.tested_on,
        measured_ah=test.measured_ah,
        temperature_degc=test.temperature_degc,
        current_a=test.current_a,
        temperature_fraction=by_temperature,
        rate_fraction=by_rate,
        corrected_ah=corrected_ah,
        health=health,
        spread=math.hypot(REPEAT_SHARE, health * math.sqrt(variance)),
        temperature_error=health * CORRECTION_SHARE * (1.0 / by_temperature - 1.0),
        rate_error=health * CORRECTION_SHARE * (1.0 / by_rate - 1.0),
        assumed=tuple(assumed),
    )


@dataclass(frozen=True)
class Prior:
    """What is known of a parameter before any test: mean and standard deviation."""

    mean: float
    spread: float


def line_fit(
    design: ArrayLike,
    values: ArrayLike,
    *,
    covariance: ArrayLike,
    priors: Sequence[Prior | None],
) -> tuple[FloatArray, FloatArray]:
    """Return the parameters of a linear model and their covariance.

    Generalised least squares, ``(X' C^-1 X + P)^-1 (X' C^-1 y + P m)``, with P the inverse
    variances of the priors and m their means (Gelman and others, Bayesian Data Analysis, 3rd ed.,
    section 14.8, from memory: a prior counts as one more observation). None is no prior.

    Parameters
    ----------
    design
        X, shape (n, p).
    values
        y, shape (n,).
    covariance
        C, covariance of the errors of y, shape (n, n).

    Raises
    ------
    ValueError
        If the parameters cannot be told from each other: too few values and no prior.
    """
    x: FloatArray = np.atleast_2d(np.asarray(design, dtype=np.float64))
    y: FloatArray = np.asarray(values, dtype=np.float64)
    weighted = np.linalg.solve(np.asarray(covariance, dtype=np.float64), np.column_stack([x, y]))
    precision = x.T @ weighted[:, :-1]
    right = x.T @ weighted[:, -1]
    for index, prior in enumerate(priors):
        if prior is not None:
            precision[index, index] += prior.spread**-2
            right[index] += prior.mean * prior.spread**-2
    scale = np.sqrt(np.diag(precision))
    if np.any(scale == 0.0) or np.linalg.cond(precision / np.outer(scale, scale)) > 1e12:
        raise ValueError("the tests cannot tell start from fading: test again, some months apart")
    found = np.linalg.inv(precision / np.outer(scale, scale)) / np.outer(scale, scale)
    return found @ right, found


_STRATA = 256


@dataclass(frozen=True)
class HealthFit:
    """Fitted health: `start - fade * t**exponent`, t in years since `bought`.

    `covariance` is that of (start, fade), the meter's common error and any widening included.
    `learnt` is the share of the prior's variance of `fade` that the tests took away, 0 to 1; 1
    without a prior. `widened` is by how much the scatter of the tests exceeds what was stated for
    them (Birge ratio, at least 1).
    """

    bought: date
    exponent: float
    start: float
    fade: float
    covariance: FloatArray
    tests: tuple[Corrected, ...]
    learnt: float
    widened: float

    @cached_property
    def _cloud(self) -> tuple[FloatArray, FloatArray]:
        """Equally likely pairs (start, fade) with fade above zero, a fixed lattice: no chance.

        Strata of the normal law of `fade`, cut at zero, and of `start` given `fade`.
        """
        sd = float(np.sqrt(self.covariance[1, 1]))
        middle = (np.arange(_STRATA) + 0.5) / _STRATA
        below = float(ndtr(-self.fade / sd))
        if below > 1.0 - 1e-12:  # every test says that health rises
            fade = np.full(_STRATA, 0.0)
        else:
            fade = np.maximum(self.fade + sd * ndtri(below + middle * (1.0 - below)), 0.0)
        slope = self.covariance[0, 1] / self.covariance[1, 1]
        left = max(float(self.covariance[0, 0] - slope * self.covariance[0, 1]), 0.0)
        start = self.start + slope * (fade - self.fade)
        both = start[:, None] + np.sqrt(left) * ndtri(middle)[None, :]
        return both.ravel(), np.repeat(fade, _STRATA)

    def years(self, day: date) -> float:
        """Years since the purchase."""
        return (day - self.bought).days / DAYS_PER_YEAR

    def health(self, day: date, *, quantiles: Sequence[float] = (0.1, 0.5, 0.9)) -> FloatArray:
        """Quantiles of the fitted health on a day, never below zero; 0.1 to 0.9 is the 80 % band.

        Raises ValueError for a day before the purchase.
        """
        if day < self.bought:
            raise ValueError(f"{day} is before the purchase ({self.bought})")
        start, fade = self._cloud
        health = start - fade * self.years(day) ** self.exponent
        return np.maximum(np.quantile(health, quantiles), 0.0)

    def probability_below(self, threshold: float, day: date) -> float:
        """Probability that the fitted health on a day is below a threshold."""
        start, fade = self._cloud
        return float(np.mean(start - fade * self.years(day) ** self.exponent < threshold))

    def years_to(
        self, threshold: float, *, quantiles: Sequence[float] = (0.1, 0.5, 0.9)
    ) -> FloatArray:
        """Quantiles of the years since purchase at which health crosses a threshold.

        Zero where it starts below; inf where that share never crosses it.
        """
        start, fade = self._cloud
        margin = np.maximum(start - threshold, 0.0)
        with np.errstate(divide="ignore"):
            ratio = np.where(margin == 0.0, 0.0, margin / np.where(fade > 0.0, fade, 1e-300))
            years = np.where(ratio > 1e200, np.inf, ratio) ** (1.0 / self.exponent)
        return np.quantile(years, quantiles, method="inverted_cdf")


def ageing_exponent(chemistry: Chemistry) -> float:
    """Power of time in the fit, the one the chemistry's losses follow."""
    return chemistry.loss_exponent


def fit_health(
    tests: Sequence[CapacityTest],
    *,
    chemistry: Chemistry,
    rated_ah: float,
    bought: date,
    start: Prior | None = None,
    fade: Prior | None = None,
) -> HealthFit:
    """Correct the tests and fit the course of health to them.

    Parameters
    ----------
    rated_ah
        Rated capacity of what was tested. [Ah]
    start, fade
        What is known beforehand of the health when new and of the loss in the first year.

    Raises
    ------
    ValueError
        If there is no test, one is dated before the purchase, or too few and no prior.
    """
    if not tests:
        raise ValueError("there is no test to fit")
    if any(test.tested_on < bought for test in tests):
        raise ValueError("a test is dated before the purchase")
    corrected = tuple(
        sorted(
            (correct(test, chemistry=chemistry, rated_ah=rated_ah) for test in tests),
            key=lambda test: test.tested_on,
        )
    )
    exponent = ageing_exponent(chemistry)
    years = np.array([(test.tested_on - bought).days for test in corrected]) / DAYS_PER_YEAR
    health = np.array([test.health for test in corrected])
    spread = np.array([test.spread for test in corrected])
    design = np.column_stack([np.ones(years.size), -(years**exponent)])
    common = np.full((years.size, years.size), (METER_SHARE * health.mean()) ** 2)
    for errors in (
        [test.temperature_error for test in corrected],
        [test.rate_error for test in corrected],
    ):
        common += np.outer(errors, errors)
    priors = (start, fade)
    covariance = np.diag(spread**2) + common
    widened = _scatter(design, health, covariance=covariance)
    if widened > 1.0:
        covariance = np.diag((widened * spread) ** 2) + common
    found, around = line_fit(design, health, covariance=covariance, priors=priors)
    learnt = 1.0 if fade is None else 1.0 - float(around[1, 1]) / fade.spread**2
    return HealthFit(
        bought=bought,
        exponent=exponent,
        start=float(found[0]),
        fade=float(found[1]),
        covariance=around,
        tests=corrected,
        learnt=float(np.clip(learnt, 0.0, 1.0)),
        widened=widened,
    )


def _scatter(design: FloatArray, health: FloatArray, *, covariance: FloatArray) -> float:
    """By how much tests scatter more than stated, at least 1: the Birge ratio, sqrt(chi2 / dof).

    About a line of their own, without priors: tests that agree with each other and not with what
    was expected do not scatter. About their mean where all are of one age. (R. T. Birge, Physical
    Review 40 (1932) 207, from memory.)
    """
    for columns in (2, 1):
        free = health.size - columns
        if free < 1:
            continue
        try:
            found, _ = line_fit(
                design[:, :columns], health, covariance=covariance, priors=(None,) * columns
            )
        except ValueError:  # one age only
            continue
        left = health - design[:, :columns] @ found
        chi_square = float(left @ np.linalg.solve(covariance, left))
        return max(1.0, math.sqrt(chi_square / free))
    return 1.0
