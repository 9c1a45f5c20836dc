"""When the power fails, over many weather years: outages, days in a row, how likely, worst weeks.

A few weather years rank arrangements; how often it gets dark takes more of them, that differ as
years do.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case
from tco.case.weather_file import read_weather_file
from tco.life.conditions import Conditions, conditions
from tco.life.counts import SHORT_SHARE
from tco.life.year import Trace, trace
from tco.physics.arrays import BoolArray, FloatArray
from tco.physics.weather import MONTH_LENGTHS

WEATHER_YEARS = 20
"""Weather years looked at, unless said otherwise; also the most."""

ENOUGH_YEARS = 10
"""A weather file with fewer years does not tell how often power fails: a typical year stands for no
bad one. Years are then drawn from its monthly values. Our choice."""

OWN_STREAM = 40_427
"""Tells these weather years from those of the comparison, which have the case's seed itself."""

DAYS_PER_YEAR = 365
HOURS_PER_YEAR = 8760
FORTNIGHT_DAYS = 14

FULL_AGAIN = 0.98
"""State of charge at which a bank has come back from its storage charge. Our choice."""

_MONTH_STARTS = np.concatenate([[0], np.cumsum(MONTH_LENGTHS)])


@dataclass(frozen=True)
class Moment:
    """An hour of the simulated years: `year` and `month` and `day` count from one, `hour` from 0.

    A year has 365 days; weather years bear numbers, not dates.
    """

    year: int
    month: int
    day: int
    hour: int


@dataclass(frozen=True)
class Outage:
    """Hours on end in which more than a hundredth of what was wanted is missing.

    `essential_kwh` is missing to essential loads, `other_kwh` to the others;
    `hours_without_power` are those of its `hours` that lack essential power, each by the share of
    it that is missing.
    """

    start: Moment
    start_hour: int
    hours: int
    hours_without_power: float
    essential_kwh: float
    other_kwh: float

    @property
    def essential(self) -> bool:
        """Whether an essential load went short."""
        return self.hours_without_power > 0


@dataclass(frozen=True)
class WorstFortnight:
    """The fourteen days that are hardest on the bank, of those in which the system is in use.

    A lay-up counts only where essential loads go short in one and at no time in use.
    `solar_kwh_per_day` is on offer in them, `usual_solar_kwh_per_day` in the same days of the
    other weather years (None where there is only one); `lowest_charge` the state of charge,
    `essential_kwh` missing.
    """

    first: Moment
    last: Moment
    solar_kwh_per_day: float
    usual_solar_kwh_per_day: float | None
    lowest_charge: float
    mean_charge: float
    essential_kwh: float


@dataclass(frozen=True)
class Outages:
    """What goes short with one bank over the weather years.

    `outages` in order of time. `hours_without_power` in a mean year. `longest_run_days`: days
    in a row, each with an essential outage. `share_of_years` with any essential outage,
    `share_of_years_by_month` the share of years with one in that month; `hours_by_month` and
    `kwh_by_month` of essential loads in a mean year, shape (12,).
    """

    years: int
    health: float
    outages: tuple[Outage, ...]
    hours_without_power: float
    essential_kwh_per_year: float
    other_kwh_per_year: float
    longest_run_days: int
    share_of_years: float
    share_of_years_by_month: FloatArray
    hours_by_month: FloatArray
    kwh_by_month: FloatArray
    worst_fortnight: WorstFortnight

    @property
    def essential(self) -> tuple[Outage, ...]:
        """The outages that reach essential loads."""
        return tuple(outage for outage in self.outages if outage.essential)


def many_years(case: Case, *, years: int = WEATHER_YEARS) -> Conditions:
    """Hourly conditions of a case over many weather years of their own, good ones and bad.

    Their seed comes from the case's, in a stream of its own. A weather file with ENOUGH_YEARS of
    its own brings these; from one with fewer, years are drawn by its monthly values as they are by
    typed ones.

    Raises
    ------
    ValueError
        If `years` is not between 1 and 20.
    """
    if not 1 <= years <= WEATHER_YEARS:
        raise ValueError(f"years must be 1 to {WEATHER_YEARS}, got {years}")
    stream = np.random.SeedSequence([case.assumptions.seed, OWN_STREAM])
    seed = int(stream.generate_state(1)[0]) % 2**31
    assumptions = case.assumptions.model_copy(update={"weather_years": years, "seed": seed})
    changed = case.model_copy(update={"assumptions": assumptions})
    if too_few_years(case) is not None:
        climate = case.climate.model_copy(update={"weather_file": None})
        changed = changed.model_copy(update={"climate": climate})
    return conditions(changed, energy_budget(changed), lasting=True)


def too_few_years(case: Case) -> int | None:
    """Years in the case's weather file where they are fewer than ENOUGH_YEARS, else None."""
    if not case.climate.weather_file:
        return None
    years = read_weather_file(case.climate.weather_file).weather.years
    return years if years < ENOUGH_YEARS else None


def outages(
    case: Case,
    bank: Bank,
    conditions: Conditions | None = None,
    *,
    health: float = 1.0,
    by_age: float | None = None,
) -> Outages:
    """When and how long power fails with one bank at one health.

    Parameters
    ----------
    conditions
        The weather years to go through; None: `many_years`.
    by_age
        As in `tco.life.year.trace`.

    Raises
    ------
    ValueError
        If the conditions are not whole years.
    """
    made = many_years(case) if conditions is None else conditions
    if made.month.size != HOURS_PER_YEAR * made.years:
        raise ValueError(f"conditions must have {HOURS_PER_YEAR} hours for each of their years")
    run = trace(bank, made, case.assumptions, health=health, by_age=by_age)
    missing = run.unserved_essential_wh + run.unserved_other_wh
    short = missing > SHORT_SHARE * (made.essential_w + made.other_w)
    dark = run.unserved_essential_wh > SHORT_SHARE * made.essential_w
    share = np.zeros(dark.size)
    share[dark] = run.unserved_essential_wh[dark] / made.essential_w[dark]
    found = tuple(_outage(first, last, share, run) for first, last in runs(short | dark))
    by_year = dark.reshape(made.years, HOURS_PER_YEAR)
    in_month = np.stack(
        [by_year[:, made.month[:HOURS_PER_YEAR] == month].any(axis=1) for month in range(12)]
    )
    dark_days: BoolArray = np.logical_or.reduce(dark.reshape(-1, 24), axis=1)
    return Outages(
        years=made.years,
        health=health,
        outages=found,
        hours_without_power=float(share.sum()) / made.years,
        essential_kwh_per_year=float(run.unserved_essential_wh.sum()) / 1000.0 / made.years,
        other_kwh_per_year=float(run.unserved_other_wh.sum()) / 1000.0 / made.years,
        longest_run_days=max((last - first for first, last in runs(dark_days)), default=0),
        share_of_years=float(by_year.any(axis=1).mean()),
        share_of_years_by_month=in_month.mean(axis=1),
        hours_by_month=np.bincount(made.month, share, 12) / made.years,
        kwh_by_month=np.bincount(made.month, run.unserved_essential_wh, 12) / 1000.0 / made.years,
        worst_fortnight=_worst_fortnight(made, run),
    )


def runs(true: BoolArray) -> Iterator[tuple[int, int]]:
    """First and last + 1 of each run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], true, [False]]).astype(np.int8)))
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        yield int(first), int(last)


def moment(hour: int) -> Moment:
    """The moment of an hour counted through the simulated years."""
    year, rest = divmod(hour, HOURS_PER_YEAR)
    day, of_day = divmod(rest, 24)
    month = int(np.searchsorted(_MONTH_STARTS, day, side="right")) - 1
    return Moment(year + 1, month + 1, day - int(_MONTH_STARTS[month]) + 1, of_day)


def one_in(share: float) -> str:
    """A share of at most WEATHER_YEARS years in words, as it is.

    >>> one_in(0.0), one_in(0.2), one_in(0.45), one_in(0.95), one_in(1.0)
    ('in no year', 'in 1 year of 5', 'in 9 years of 20', 'in 19 years of 20', 'in every year')
    """
    if share <= 0.0:
        return "in no year"
    if share >= 1.0:
        return "in every year"
    exact = Fraction(share).limit_denominator(WEATHER_YEARS)
    years = "year" if exact.numerator == 1 else "years"
    return f"in {exact.numerator} {years} of {exact.denominator}"


def _outage(first: int, last: int, share: FloatArray, run: Trace) -> Outage:
    return Outage(
        start=moment(first),
        start_hour=first,
        hours=last - first,
        hours_without_power=float(share[first:last].sum()),
        essential_kwh=float(run.unserved_essential_wh[first:last].sum()) / 1000.0,
        other_kwh=float(run.unserved_other_wh[first:last].sum()) / 1000.0,
    )


def _worst_fortnight(made: Conditions, run: Trace) -> WorstFortnight:
    """Most essential energy missing; among equals, the lowest mean state of charge.

    Of fortnights without a day laid up, unless only others miss any.
    """
    missing = _over_fortnights(run.unserved_essential_wh)
    charge = _over_fortnights(run.charge) / (24.0 * FORTNIGHT_DAYS)
    in_use = _over_fortnights(_from_storage(made, run).astype(np.float64)) < 0.5
    short_in_use = missing.max(where=in_use, initial=0.0) > 0.0
    prefer = in_use.any() and (short_in_use or missing.max() <= 0.0)
    counted = in_use if prefer else np.ones_like(in_use)
    most = missing[counted].max()
    worst = np.flatnonzero(counted & (missing >= most - 1e-9 * max(most, 1.0)))
    day = int(worst[np.argmin(charge[worst])])
    hours = slice(24 * day, 24 * (day + FORTNIGHT_DAYS))
    solar = made.solar_w.reshape(-1, 24).sum(axis=1) / 1000.0
    days = np.arange(day, day + FORTNIGHT_DAYS)
    usual = None
    if made.years > 1:
        others = [
            solar[(days + DAYS_PER_YEAR * n) % solar.size].mean() for n in range(1, made.years)
        ]
        usual = float(np.mean(others))
    return WorstFortnight(
        first=moment(24 * day),
        last=moment(24 * (day + FORTNIGHT_DAYS) - 1),
        solar_kwh_per_day=float(solar[days].mean()),
        usual_solar_kwh_per_day=usual,
        lowest_charge=float(run.charge[hours].min()),
        mean_charge=float(charge[day]),
        essential_kwh=float(run.unserved_essential_wh[hours].sum()) / 1000.0,
    )


def _from_storage(made: Conditions, run: Trace) -> BoolArray:
    """Hours laid up, and those after a lay-up until the bank is full for the first time."""
    laid_up, hours = made.laid_up.astype(np.bool_), np.arange(run.charge.size)
    last_full = np.maximum.accumulate(np.where(run.charge >= FULL_AGAIN, hours, -1))
    last_laid_up = np.maximum.accumulate(np.where(laid_up, hours, -1))
    return laid_up | (last_laid_up > last_full)


def _over_fortnights(hourly: FloatArray) -> FloatArray:
    """Sums over every fourteen whole days, by the day they begin."""
    by_day = hourly.reshape(-1, 24).sum(axis=1)
    sums: FloatArray = np.convolve(by_day, np.ones(FORTNIGHT_DAYS), mode="valid")
    return sums
