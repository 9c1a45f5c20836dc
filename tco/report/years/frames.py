"""Tables of the years and of a year: health, state of charge, the energy budget."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from tco.case.times import MONTHS
from tco.compare import Comparison
from tco.life.outages import WorstFortnight
from tco.life.second_opinion import SecondOpinion
from tco.physics.weather import MONTH_LENGTHS
from tco.result import Result

SECOND = "first bank, never replaced, by another model (Wang 2011)"


def health(result: Result, second: SecondOpinion | None = None) -> pd.DataFrame:
    """Health at each year's end of the bank in service, and of the first one. Year 0 is new.

    The first one is left out where it is in service all the time.
    """
    life = result.life
    names = [("bank in service", life.in_service)]
    if life.replacements:
        names.append(("first bank, never replaced", life.health))
    if second is not None:
        names.append((SECOND, second.health))
    return pd.DataFrame(
        [
            {"year": year, "bank": name, "health": value}
            for name, values in names
            for year, value in zip([0.0, *life.ends], [1.0, *map(float, values)], strict=True)
        ]
    )


HOURS_PER_YEAR, FORTNIGHT = 8760, 14


@dataclass(frozen=True)
class ChargeYear:
    """State of charge by day of the weather year that holds the worst fortnight.

    `days`: day 0..364, lowest, mean and highest charge of it (fractions). `start` and `end` are
    the first and the last day of the fortnight whose mean charge is lowest, `lowest` the lowest
    charge within it.
    """

    days: pd.DataFrame
    start: int
    end: int
    lowest: float
    weather_year: int

    @property
    def words(self) -> str:
        """When the worst fortnight is, and how low it goes."""
        return (
            f"Worst fortnight: {day_text(self.start)} to {day_text(self.end)} of weather year "
            f"{self.weather_year + 1}; charge falls to {self.lowest:.0%}."
        )


def day_text(day: int) -> str:
    """Day of a 365-day year as a date.

    >>> day_text(0), day_text(364)
    ('1 Jan', '31 Dec')
    """
    lengths = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    for month, length in zip(MONTHS, lengths, strict=True):
        if day < length:
            return f"{day + 1} {month}"
        day -= length
    raise ValueError("a year has 365 days")


def charge_year(charge: np.ndarray) -> ChargeYear:
    """Find the worst fortnight in hourly states of charge, shape (years * 8760,)."""
    by_day = np.asarray(charge, dtype=float).reshape(-1, 365, 24)
    means = by_day.mean(axis=2)
    sums = np.cumsum(np.pad(means, ((0, 0), (1, 0))), axis=1)
    fortnights = (sums[:, FORTNIGHT:] - sums[:, :-FORTNIGHT]) / FORTNIGHT
    year, start = np.unravel_index(int(np.argmin(fortnights)), fortnights.shape)
    chosen = by_day[year]
    end = int(start) + FORTNIGHT - 1
    frame = pd.DataFrame(
        {
            "day": np.arange(365),
            "date": pd.date_range("2001-01-01", periods=365, freq="D"),
            "lowest": chosen.min(axis=1),
            "mean": chosen.mean(axis=1),
            "highest": chosen.max(axis=1),
        }
    )
    lowest = float(chosen[int(start) : end + 1].min())
    return ChargeYear(frame, int(start), end, lowest, int(year))


def worst_year(charge: np.ndarray, worst: WorstFortnight) -> ChargeYear:
    """State of charge by day of the weather year in which the given fortnight begins."""
    chosen = np.asarray(charge, dtype=float).reshape(-1, 365, 24)[worst.first.year - 1]
    start = sum(MONTH_LENGTHS[: worst.first.month - 1]) + worst.first.day - 1
    return ChargeYear(
        pd.DataFrame(
            {
                "day": np.arange(365),
                "date": pd.date_range("2001-01-01", periods=365, freq="D"),
                "lowest": chosen.min(axis=1),
                "mean": chosen.mean(axis=1),
                "highest": chosen.max(axis=1),
            }
        ),
        start,
        min(start + FORTNIGHT - 1, 364),
        worst.lowest_charge,
        worst.first.year - 1,
    )


def budget(comparison: Comparison) -> pd.DataFrame:
    """Mean power by month and hour of the day: with somebody there, or laid up. [W]"""
    power = comparison.budget.essential_w + comparison.budget.other_w
    for month in range(12):
        if month + 1 not in comparison.case.use.months_in_use:
            power[month] = comparison.budget.away_w[month]
    return pd.DataFrame(
        [
            {"month": MONTHS[month], "hour": hour, "watts": float(power[month, hour])}
            for month in range(12)
            for hour in range(24)
        ]
    )


def daily_need(comparison: Comparison) -> pd.DataFrame:
    """Energy of a day by month. [kWh]"""
    return pd.DataFrame(
        {"month": list(MONTHS), "kwh": [float(wh) / 1000.0 for wh in comparison.budget.daily_wh]}
    )
