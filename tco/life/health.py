"""Health over the years: year profiles interpolated by health, replacements included.

All lanes (arrangements; with draws, arrangements x draws) are integrated together, month by
month. Within a month the yearly rates at the health of its beginning hold.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tco.life.year import YearProfiles, resistance_growth

FloatArray = NDArray[np.float64]

MONTHS_PER_YEAR = 12
LONGEST_LIFE_YEARS = 40
"""Lives are followed this far; beyond, the answer is "more than 40 years"."""

TOO_SMALL_ABOVE_HEALTH = 0.93
"""A bank that falls short after losing less than this leaves is too small, not worn: a new one
would soon fall short again, so it is not replaced for need. Assumption, no source."""

YEARLY = (
    "needed_wh",
    "delivered_wh",
    "from_bank_wh",
    "unserved_wh",
    "unserved_hours",
    "unserved_essential_hours",
    "unserved_days",
    "engine_wh",
    "shore_wh",
    "generator_wh",
    "solar_wh",
    "heater_wh",
    "locked_out_hours",
    "full_cycles",
)
"""Totals that are followed through the years."""

CALENDAR, CYCLE = -2, -1
ALL, STRESSES = slice(None), slice(-2, None)
"""Where rates hold the stresses: after the totals."""


@dataclass(frozen=True)
class Replacement:
    """A bank replaced: when, and whether health or need said so."""

    year: float
    reason: str


@dataclass(frozen=True)
class Life:
    """The years of one arrangement.

    `health` at the end of each year of the horizon, of the first bank, as if it were never
    replaced; `in_service` the health at each year's end of the bank then in service;
    `first_life_years` None where it is more than LONGEST_LIFE_YEARS. `yearly[name]` has shape
    (horizon,), for each name of YEARLY.
    """

    health: FloatArray
    in_service: FloatArray
    first_life_years: float | None
    replacements: tuple[Replacement, ...]
    remaining_share: float
    yearly: dict[str, FloatArray]
    need_health: float

    @property
    def ends(self) -> tuple[float, ...]:
        """Times at which `health` and `in_service` are given: the ends of the years. [years]"""
        return tuple(float(year) for year in range(1, self.health.size + 1))

    @property
    def resistance_growth(self) -> FloatArray:
        """Resistance of the first bank's packs over new, at the end of each year of the horizon.

        What the simulated years at that health had: see `tco.life.year.resistance_growth`.
        """
        grown: FloatArray = resistance_growth(self.health)
        return grown


def live(
    profiles: YearProfiles, *, horizon_years: int, end_of_life_health: float, tolerated_hours: float
) -> tuple[Life, ...]:
    """Follow every arrangement over the horizon, and its first bank to the end of its life.

    A bank is replaced when its health reaches `end_of_life_health`, or the health below which it
    leaves essential loads without power for more than `tolerated_hours` a year. The latter counts
    only where a new bank would cure it for a while (`need_health`).
    """
    count = profiles.totals["needed_wh"].shape[0]
    threshold = np.maximum(
        end_of_life_health, need_health(profiles, tolerated_hours=tolerated_hours)
    )
    lanes = _Lanes(profiles)
    yearly = np.zeros((horizon_years, len(YEARLY), count))
    health_of_first = np.zeros((count, horizon_years))
    in_service = np.zeros((count, horizon_years))
    calendar, cycle = np.zeros(count), np.zeros(count)
    first_calendar, first_cycle = np.zeros(count), np.zeros(count)
    age = np.zeros(count)
    replaced: list[list[float]] = [[] for _ in range(count)]
    first_life = np.full(count, np.nan)
    now = np.ones(count)
    first = np.ones(count)
    step = 1.0 / MONTHS_PER_YEAR
    for year in range(horizon_years):
        for month in range(MONTHS_PER_YEAR):
            rates = lanes.rates(lanes.weights(now))
            yearly[year] += step * rates[: len(YEARLY)]
            calendar += step * rates[CALENDAR]
            cycle += step * rates[CYCLE]
            before, now = now, 1.0 - lanes.loss(calendar, cycle)
            age += step
            ends = now <= threshold
            if ends.any():
                time = year + month * step
                part = np.clip((before - threshold) / np.maximum(before - now, 1e-12), 0.0, 1.0)
                part = np.where(ends, part, 1.0)
                for lane in np.flatnonzero(ends):
                    moment = time + float(part[lane]) * step
                    replaced[lane].append(moment)
                    if np.isnan(first_life[lane]):
                        first_life[lane] = moment
                # the new bank ages for what is left of the month
                rest = (1.0 - part) * step
                fresh = lanes.rates(lanes.weights(np.ones(count)), STRESSES)
                calendar = np.where(ends, rest * fresh[CALENDAR], calendar)
                cycle = np.where(ends, rest * fresh[CYCLE], cycle)
                age = np.where(ends, rest, age)
                now = np.where(ends, 1.0 - lanes.loss(calendar, cycle), now)
            rates = lanes.rates(lanes.weights(first), STRESSES)
            first_calendar += step * rates[CALENDAR]
            first_cycle += step * rates[CYCLE]
            first = np.maximum(1.0 - lanes.loss(first_calendar, first_cycle), 0.0)
        health_of_first[:, year] = first
        in_service[:, year] = now
    first_life = _beyond(
        lanes, first_life, threshold, first_calendar, first_cycle, first, float(horizon_years)
    )
    return tuple(
        _life(
            lane,
            health_of_first,
            in_service,
            first_life,
            replaced[lane],
            age,
            {name: yearly[:, k] for k, name in enumerate(YEARLY)},
            float(threshold[lane]),
            end_of_life_health,
        )
        for lane in range(count)
    )


def need_health(profiles: YearProfiles, *, tolerated_hours: float) -> FloatArray:
    """Health below which each bank no longer meets the need, shape (arrangements,).

    Zero where it always does over the levels simulated; where even a new bank does not, since
    charging is then what is short; and above TOO_SMALL_ABOVE_HEALTH.
    """
    found = crossing(profiles.health, profiles.totals["unserved_essential_hours"], tolerated_hours)
    return np.where(found > TOO_SMALL_ABOVE_HEALTH, 0.0, found)


def crossing(levels: FloatArray, hours: FloatArray, tolerated_hours: float) -> FloatArray:
    """Health at which hours without power pass what is tolerated; 0 where they never or always do.

    Levels descending, hours of shape (lanes, levels).
    """
    found = np.zeros(hours.shape[0])
    for lane in range(hours.shape[0]):
        over = np.flatnonzero(hours[lane] > tolerated_hours)
        if over.size == 0 or over[0] == 0:
            continue
        low, high = over[0], over[0] - 1
        part = (tolerated_hours - hours[lane, high]) / (hours[lane, low] - hours[lane, high])
        found[lane] = levels[high] + part * (levels[low] - levels[high])
    return found


class _Lanes:
    """Year profiles ready for interpolation at one health per lane."""

    def __init__(self, profiles: YearProfiles) -> None:
        self.levels = profiles.health[::-1].copy()
        names = (*YEARLY, "calendar_stress", "cycle_stress")
        # shape (lanes, levels, names): what one lane needs at one health lies side by side
        self.totals = np.stack([profiles.totals[name][:, ::-1] for name in names], axis=-1)
        self.rows = np.arange(self.totals.shape[0])
        self.exponent = np.array([stress.exponent for stress in profiles.stresses])
        self.larger = np.array([stress.larger_counts for stress in profiles.stresses])

    def weights(self, health: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
        """Lower level and the share of the next one; beyond the ends the end counts."""
        span = self.levels[1] - self.levels[0]
        place = np.clip((health - self.levels[0]) / span, 0.0, self.levels.size - 1.0)
        lower = np.minimum(place.astype(np.intp), self.levels.size - 2)
        return lower, place - lower

    def rates(self, weights: tuple[NDArray[np.intp], FloatArray], which: slice = ALL) -> FloatArray:
        """Yearly totals at the health behind `weights`, shape (names, lanes), stresses last."""
        lower, share = weights
        table = self.totals[:, :, which]
        below = table[self.rows, lower]
        out: FloatArray = (below + share[:, None] * (table[self.rows, lower + 1] - below)).T
        return out

    def loss(self, calendar: FloatArray, cycle: FloatArray) -> FloatArray:
        """Fraction lost, by each lane's model; see `tco.life.stress`."""
        a, b = calendar**self.exponent, cycle**self.exponent
        return np.where(self.larger, np.maximum(a, b), a + b)


def _beyond(
    lanes: _Lanes,
    first_life: FloatArray,
    threshold: FloatArray,
    calendar: FloatArray,
    cycle: FloatArray,
    health: FloatArray,
    year: float,
) -> FloatArray:
    """End of the first lives that outlast the horizon, in quarter-year steps."""
    first_life = first_life.copy()
    calendar, cycle, now = calendar.copy(), cycle.copy(), health.copy()
    step = 0.25
    while year < LONGEST_LIFE_YEARS and np.isnan(first_life).any():
        rates = lanes.rates(lanes.weights(now), STRESSES)
        calendar += step * rates[CALENDAR]
        cycle += step * rates[CYCLE]
        before, now = now, 1.0 - lanes.loss(calendar, cycle)
        part = np.clip((before - threshold) / np.maximum(before - now, 1e-12), 0.0, 1.0)
        ends = np.isnan(first_life) & (now <= threshold)
        first_life[ends] = (year + part * step)[ends]
        year += step
    return first_life


def _life(
    lane: int,
    health: FloatArray,
    in_service: FloatArray,
    first_life: FloatArray,
    replaced: Sequence[float],
    age: FloatArray,
    yearly: dict[str, FloatArray],
    threshold: float,
    end_of_life_health: float,
) -> Life:
    life = None if np.isnan(first_life[lane]) else float(first_life[lane])
    reason = (
        f"health reaches {threshold:.0%}"
        if threshold <= end_of_life_health
        else f"below {threshold:.0%} health it no longer meets the need"
    )
    full = LONGEST_LIFE_YEARS if life is None else life
    return Life(
        health=health[lane],
        in_service=in_service[lane],
        first_life_years=life,
        replacements=tuple(Replacement(moment, reason) for moment in replaced),
        remaining_share=max(0.0, 1.0 - float(age[lane]) / full) if full > 0 else 0.0,
        yearly={name: values[:, lane].copy() for name, values in yearly.items()},
        need_health=threshold,
    )


__all__ = ["LONGEST_LIFE_YEARS", "Life", "Replacement", "live", "need_health"]
