"""Whether a battery keeps its promise: fitted health against the warranty, and its dates.

A test at home is evidence for a claim, not proof: the maker's own test conditions and the
warranty's own words decide. Capacity tests end with a flat battery; mind the maker's limits, and
that essential loads (pumps, alarms) have another source meanwhile.
"""

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from tco.case.capacity_models import CapacityTest
from tco.checkup.cell_balance import Imbalance, imbalance
from tco.checkup.health_fit import DAYS_PER_YEAR, HealthFit, Prior, ageing_exponent, fit_health
from tco.physics.arrays import FloatArray
from tco.physics.chemistry import Chemistry

Verdict = Literal["kept", "doubtful", "broken", "no promise"]
Claim = Literal["claim now", "test before it lapses", "not due", "lapsed", "no warranty"]

SURE = 0.9
"""Probability from which "kept", "broken", "finished" or "enough" is said, that of one side of
the 80 % band. Our choice."""
NEW_START = Prior(1.0, 0.03)
"""Health of a new bank over its rated Ah: makers deliver within a few percent of the label.
Assumption, no source."""
FADE_SPREAD_WITH_FORECAST, FADE_SPREAD_WITHOUT = 0.5, 1.0
"""Standard deviation of the loss expected in the first year, as a share of it: where the year's
simulation of this very use says how much, and where only the datasheet does. Assumption."""
NOTICE_DAYS = 30
"""Days before the warranty ends by which the claim should be out, for the seller's own tests and
a lost letter. Common practice, no source."""
TEST_EVERY_MONTHS = 12
"""Time between capacity tests where nothing presses. Common practice, no source."""
TEST_UNEVEN_AFTER_MONTHS = 3
"""The same where a cell stands out. Our choice."""
REPLACE_BELOW = 0.8
"""Share of the rated capacity below which a lead-acid battery is to be replaced. IEEE 450 and
1188, from memory; applied to other chemistries as common practice, no source."""
LONGEST_YEARS = 40.0
"""Crossings later than this are not dated."""


def add_years(day: date, years: float) -> date:
    """The day so many years later by the calendar; parts of a year count in months.

    A day that the month lacks becomes its last day: a year after 29 February ends on the 28th.

    >>> add_years(date(2024, 2, 29), 1), add_years(date(2024, 8, 31), 1.5)
    (datetime.date(2025, 2, 28), datetime.date(2026, 2, 28))

    Raises
    ------
    ValueError
        If the years are negative, or lead beyond the year 9999.
    """
    if not 0.0 <= years < 7000.0:
        raise ValueError("years must be zero or more, and fewer than 7000")
    months = int(years * 12.0 + 1e-6)
    count = day.month - 1 + months
    year, month = day.year + count // 12, count % 12 + 1
    rest = timedelta(days=int((years * 12.0 - months) * DAYS_PER_YEAR / 12.0 + 1e-6))
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1])) + rest


@dataclass(frozen=True)
class Band:
    """An 80 % band: one in ten lies below `low`, one in ten above `high`."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True)
class Promise:
    """Fitted health against the warranty.

    `warranty_end` is the day by the calendar, `last_claim_day` that many days of notice earlier;
    both None where no warranty is stated, and so is `probability_broken`, the probability that
    health on `warranty_end` is below `threshold`. `crossing` holds the early (one in ten), the
    median and the late day on which health crosses `threshold`; None is later than 40 years.
    `forecast_today` is what the simulation expected by today, None where it was not given.
    """

    fit: HealthFit
    rated_ah: float
    today: date
    threshold: float
    warranty_years: float
    notice_days: int
    warranty_end: date | None
    last_claim_day: date | None
    health_today: Band
    health_at_end: Band | None
    probability_below_today: float
    probability_broken: float | None
    crossing: tuple[date | None, date | None, date | None]
    verdict: Verdict
    claim: Claim
    next_test: date
    forecast_today: float | None
    imbalance: Imbalance | None


def forecast_at(forecast_health: ArrayLike, years: float, *, exponent: float) -> float | None:
    """Health of a forecast by year at any time within it, straight in ``t**exponent``.

    `forecast_health[i]` is the health at the end of year i + 1; 1 at the beginning. None beyond
    its end.
    """
    known: FloatArray = np.concatenate([[1.0], np.asarray(forecast_health, dtype=np.float64)])
    if not 0.0 <= years <= known.size - 1:
        return None
    grid = np.arange(known.size, dtype=np.float64) ** exponent
    return float(np.interp(years**exponent, grid, known))


def expected_fade(
    *,
    exponent: float,
    forecast_health: ArrayLike | None,
    warranty_years: float,
    threshold: float,
    calendar_life_years: float,
) -> Prior:
    """Loss in the first year expected before any test, and how uncertain that is.

    From the forecast, by least squares through a health of 1 at the start; else from the
    warranty, taken as just kept; else from the calendar life, to 80 %.

    Raises
    ------
    ValueError
        If the forecast is empty or holds a health outside 0 to 1.
    """
    if forecast_health is not None:
        health: FloatArray = np.asarray(forecast_health, dtype=np.float64)
        if health.ndim != 1 or health.size == 0 or not np.all((health >= 0.0) & (health <= 1.0)):
            raise ValueError("forecast_health must hold one health, 0 to 1, for each year")
        power = np.arange(1.0, health.size + 1.0) ** exponent
        mean = float(np.sum((1.0 - health) * power) / np.sum(power**2))
        mean = max(mean, 1e-3)  # a forecast without loss still may be wrong
        return Prior(mean, FADE_SPREAD_WITH_FORECAST * mean)
    if warranty_years > 0.0 and threshold < 1.0:
        mean = (1.0 - threshold) / warranty_years**exponent
    else:
        mean = (1.0 - REPLACE_BELOW) / calendar_life_years**exponent
    return Prior(mean, FADE_SPREAD_WITHOUT * mean)


def judge_promise(
    tests: Sequence[CapacityTest],
    *,
    chemistry: Chemistry,
    rated_ah: float,
    bought: date,
    today: date,
    warranty_years: float,
    threshold: float,
    forecast_health: ArrayLike | None = None,
    notice_days: int = NOTICE_DAYS,
) -> Promise:
    """Fit the tests of a bank and hold them against its warranty.

    Parameters
    ----------
    rated_ah
        Rated capacity of what was tested. [Ah]
    warranty_years, threshold
        The warranty, 0 for none, and the health it promises to the end. [years], [fraction]
    forecast_health
        Health at the end of each year as the simulation expects it (`Life.health`).

    Raises
    ------
    ValueError
        If there is no test, a test lies before the purchase or after today, the threshold is not
        within 0 to 1, or the warranty or the days of notice are negative.
    """
    check_dates(tests, bought=bought, today=today)
    if not 0.0 < threshold < 1.0:
        raise ValueError("threshold must lie between 0 and 1")
    if warranty_years < 0.0 or notice_days < 0:
        raise ValueError("warranty_years and notice_days must not be negative")
    exponent = ageing_exponent(chemistry)
    fit = fit_health(
        tests,
        chemistry=chemistry,
        rated_ah=rated_ah,
        bought=bought,
        start=NEW_START,
        fade=expected_fade(
            exponent=exponent,
            forecast_health=forecast_health,
            warranty_years=warranty_years,
            threshold=threshold,
            calendar_life_years=chemistry.calendar_life_years.value,
        ),
    )
    end = add_years(bought, warranty_years) if warranty_years > 0.0 else None
    last = max(bought, end - timedelta(days=notice_days)) if end is not None else None
    broken = fit.probability_below(threshold, end) if end is not None else None
    below = fit.probability_below(threshold, today)
    at_last = fit.probability_below(threshold, last) if last is not None else 0.0
    years = fit.years_to(threshold)
    cells = imbalance(tests, chemistry=chemistry)
    uneven = cells is not None and bool(cells.caution)
    return Promise(
        fit=fit,
        rated_ah=rated_ah,
        today=today,
        threshold=threshold,
        warranty_years=warranty_years,
        notice_days=notice_days,
        warranty_end=end,
        last_claim_day=last,
        health_today=band_on(fit, today),
        health_at_end=band_on(fit, end) if end is not None else None,
        probability_below_today=below,
        probability_broken=broken,
        crossing=(_day(bought, years[0]), _day(bought, years[1]), _day(bought, years[2])),
        verdict=_verdict(broken),
        claim=_claim(today=today, end=end, below_today=below, below_at_last=at_last),
        next_test=_next_test(
            fit.tests[-1].tested_on, today=today, end=end, last=last, uneven=uneven
        ),
        forecast_today=None
        if forecast_health is None
        else forecast_at(forecast_health, fit.years(today), exponent=exponent),
        imbalance=cells,
    )


def check_dates(tests: Sequence[CapacityTest], *, bought: date, today: date) -> None:
    """Raises ValueError where a day cannot be: judged before bought, tested after judged."""
    if today < bought:
        raise ValueError(f"today ({today}) is before the purchase ({bought})")
    late = [test.tested_on for test in tests if test.tested_on > today]
    if late:
        raise ValueError(f"a test is dated after today: {late[0]} is later than {today}")


def band_on(fit: HealthFit, day: date) -> Band:
    """The 80 % band of the fitted health on a day."""
    low, middle, high = (float(value) for value in fit.health(day))
    return Band(low, middle, high)


def _day(bought: date, years: float) -> date | None:
    if years > LONGEST_YEARS:
        return None
    return bought + timedelta(days=round(float(years) * DAYS_PER_YEAR))


def _verdict(broken: float | None) -> Verdict:
    if broken is None:
        return "no promise"
    if broken >= SURE:
        return "broken"
    return "kept" if broken <= 1.0 - SURE else "doubtful"


def _claim(*, today: date, end: date | None, below_today: float, below_at_last: float) -> Claim:
    if end is None:
        return "no warranty"
    if today > end:
        return "lapsed"
    if below_today >= 0.5:
        return "claim now"
    return "test before it lapses" if below_at_last > 1.0 - SURE else "not due"


def _next_test(
    tested: date, *, today: date, end: date | None, last: date | None, uneven: bool
) -> date:
    """A year after the last test, but a month before the last day to claim; never in the past.

    Sooner where a cell stands out.
    """
    due = add_years(tested, (TEST_UNEVEN_AFTER_MONTHS if uneven else TEST_EVERY_MONTHS) / 12.0)
    if end is not None and last is not None and today <= end:
        due = min(due, last - timedelta(days=30))
    return max(due, today)
