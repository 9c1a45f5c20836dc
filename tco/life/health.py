"""Health over the years: year profiles interpolated by health, replacements included.

All arrangements are integrated together, month by month (a part of a year at the end of the
horizon in twelfths of it). Within a month the yearly rates at the health of its beginning hold.

A bank is replaced when its health reaches the end of its life, when it is as old as any bank may
get (boards and seals end too), or when both hold: essential loads
are short for more hours a year than is tolerated, and going on costs more than replacing. With e
what being short costs a year over a new bank, E the sum of e since the bank was new, T its age and
P the price of replacing it, that is

    e >= (P + E) / T,    or    e T - E >= P:

the marginal cost passes the average (economic life of an asset; engineering economy texts, from
memory). All in today's money, undiscounted. The left side grows as long as e does, so that a bank
a little smaller is replaced a little earlier. Where charging is what is short, a new bank cures
nothing: e is about nothing and the bank stays.
"""

import math
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tco.life.growth import resistance_growth
from tco.life.year import YearProfiles

FloatArray = NDArray[np.float64]

MONTHS_PER_YEAR = 12
LONGEST_LIFE_YEARS = 40
"""Lives are followed this far; beyond, the answer is "more than 40 years"."""

AGE_SLACK_YEARS = 1e-6
"""A bank at its greatest age at the very end of the horizon is not replaced there: months add up to
years but for the last digits."""

BEYOND_STEP_YEARS = 0.25
"""Step in which a life that outlasts the horizon is followed to its end."""

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

SHORTEST_LIFE_YEARS = 1.0 / 365.0
"""A bank that is replaced on the day it is bought, since scrapping it pays, was used for a day: no
sum then divides by a life of nothing. An assumption."""
CALENDAR, CYCLE = -2, -1
ALL, STRESSES = slice(None), slice(-2, None)
"""Where rates hold the stresses: after the totals."""


@dataclass(frozen=True)
class Replacement:
    """A bank replaced: when, and whether health, age or need said so."""

    year: float
    reason: str


@dataclass(frozen=True)
class Life:
    """The years of one arrangement.

    `ends`: the ends of the years begun within the horizon, the last at the horizon itself;
    `health` at these times of the first bank, as if it were never replaced; `in_service` of the
    bank then in service; `first_life_years` None where it is more than LONGEST_LIFE_YEARS.
    `yearly[name]`, for each name of YEARLY, has one entry for each year begun; where the horizon
    ends within the last, its entry is of that part only.
    """

    ends: FloatArray
    health: FloatArray
    in_service: FloatArray
    first_life_years: float | None
    replacements: tuple[Replacement, ...]
    remaining_share: float
    yearly: dict[str, FloatArray]
    by_age: float = 0.0

    @property
    def counted_life_years(self) -> float:
        """Life of the first bank for sums of money: LONGEST_LIFE_YEARS where it is longer."""
        return LONGEST_LIFE_YEARS if self.first_life_years is None else self.first_life_years

    @property
    def resistance_growth(self) -> FloatArray:
        """Resistance of the first bank's packs over new, at the same times as `health`.

        What the simulated years at that health had: see `tco.life.growth`; `by_age` is this
        bank's part of it that goes with time.
        """
        grown: FloatArray = resistance_growth(self.health, by_age=self.by_age)
        return grown


def year_ends(horizon_years: float) -> FloatArray:
    """Ends of the years begun within the horizon, the last at the horizon itself. [years]"""
    return np.minimum(np.arange(1.0, math.ceil(horizon_years) + 1.0), horizon_years)


def live(
    profiles: YearProfiles,
    *,
    horizon_years: float,
    end_of_life_health: float,
    tolerated_hours: float,
    replacement_price: ArrayLike,
    day_price: float,
    hour_price: float = 0.0,
    longest_life_years: float = LONGEST_LIFE_YEARS,
) -> tuple[Life, ...]:
    """Follow every arrangement over the horizon, and its first bank to the end of its life.

    Parameters
    ----------
    tolerated_hours
        Hours a year that essential loads may be short before need counts.
    replacement_price
        What it takes to replace each bank, in today's money, shape (arrangements,) or one for all.
    day_price, hour_price
        What a day, and an hour, on which essential loads are short costs. With both at zero a bank
        is never replaced for need.
    longest_life_years
        Age at which a bank is replaced whatever its health.
    """
    lanes = _Lanes(profiles)
    count = len(profiles.stresses)
    by_age = profiles.by_age if profiles.by_age.size else np.zeros(count)
    rule = _Rule(
        lanes=lanes,
        end_of_life=end_of_life_health,
        tolerated_hours=tolerated_hours,
        longest_life=longest_life_years,
        price=np.broadcast_to(np.asarray(replacement_price, dtype=np.float64), (count,)),
        cost=lanes.short_cost(day_price, hour_price),
    )
    ends_of_years = year_ends(horizon_years)
    years = ends_of_years.size
    yearly = np.zeros((years, len(YEARLY), count))
    health_of_first = np.zeros((count, years))
    in_service = np.zeros((count, years))
    first_calendar, first_cycle = np.zeros(count), np.zeros(count)
    replaced: list[list[Replacement]] = [[] for _ in range(count)]
    first_life = np.full(count, np.nan)
    first = np.ones(count)
    bank = _Bank.new(rule, np.zeros(count))
    for year in range(years):
        step = (float(ends_of_years[year]) - year) / MONTHS_PER_YEAR
        for month in range(MONTHS_PER_YEAR):
            rates = lanes.rates(lanes.weights(bank.health))
            yearly[year] += step * rates[: len(YEARLY)]
            before = bank
            bank = before.aged(rule, rates, step)
            part, why = rule.ended(before, bank)
            ends = part <= 1.0
            if ends.any():
                time = year + month * step
                for lane in np.flatnonzero(ends):
                    moment = time + float(part[lane]) * step
                    replaced[lane].append(Replacement(moment, rule.reason(float(why[lane]))))
                    if np.isnan(first_life[lane]):
                        first_life[lane] = min(max(moment, SHORTEST_LIFE_YEARS), longest_life_years)
                # the new bank ages for what is left of the month
                fresh = _Bank.new(rule, np.where(ends, (1.0 - part) * step, 0.0))
                bank = fresh.where(ends, bank)
            rates = lanes.rates(lanes.weights(first), STRESSES)
            first_calendar += step * rates[CALENDAR]
            first_cycle += step * rates[CYCLE]
            first = np.maximum(1.0 - lanes.loss(first_calendar, first_cycle), 0.0)
        health_of_first[:, year] = first
        in_service[:, year] = bank.health
    first_life = _beyond(rule, first_life, bank, horizon_years)
    return tuple(
        Life(
            ends=ends_of_years,
            health=health_of_first[lane],
            in_service=in_service[lane],
            first_life_years=None if np.isnan(first_life[lane]) else float(first_life[lane]),
            replacements=tuple(replaced[lane]),
            remaining_share=_left(float(bank.age[lane]), float(first_life[lane])),
            yearly={name: yearly[:, k, lane].copy() for k, name in enumerate(YEARLY)},
            by_age=float(by_age[lane]),
        )
        for lane in range(count)
    )


def _left(age: float, first_life: float) -> float:
    full = LONGEST_LIFE_YEARS if math.isnan(first_life) else first_life
    return max(0.0, 1.0 - age / full) if full > 0 else 0.0


class _Lanes:
    """Year profiles ready for interpolation at one health per lane."""

    def __init__(self, profiles: YearProfiles) -> None:
        self.levels = profiles.health[::-1].copy()
        names = (*YEARLY, "calendar_stress", "cycle_stress")
        # shape (lanes, levels, names): what one lane needs at one health lies side by side
        self.totals = np.stack([profiles.totals[name][:, ::-1] for name in names], axis=-1)
        self.short = self.totals[:, :, YEARLY.index("unserved_essential_hours")]
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

    def between(
        self, table: FloatArray, weights: tuple[NDArray[np.intp], FloatArray]
    ) -> FloatArray:
        """Values of a table of shape (lanes, levels) at the health behind `weights`."""
        lower, share = weights
        below = table[self.rows, lower]
        out: FloatArray = below + share * (table[self.rows, lower + 1] - below)
        return out

    def short_cost(self, day_price: float, hour_price: float) -> FloatArray:
        """What being short costs a year over a new bank, at each level, shape (lanes, levels)."""
        days = self.totals[:, :, YEARLY.index("unserved_days")]
        paid = day_price * days + hour_price * self.short
        cost: FloatArray = paid - paid[:, -1:]
        return cost

    def loss(self, calendar: FloatArray, cycle: FloatArray) -> FloatArray:
        """Fraction lost, by each lane's model; see `tco.life.stress`."""
        a, b = calendar**self.exponent, cycle**self.exponent
        return np.where(self.larger, np.maximum(a, b), a + b)


@dataclass(frozen=True)
class _Rule:
    """When a bank is replaced; `cost`: e at each level of health, shape (lanes, levels)."""

    lanes: _Lanes
    end_of_life: float
    tolerated_hours: float
    longest_life: float
    price: FloatArray
    cost: FloatArray

    def ended(self, before: "_Bank", now: "_Bank") -> tuple[FloatArray, FloatArray]:
        """Part of the step after which each bank's life ended, above 1 where it goes on.

        Then why: the hours a year it was short, NaN for its health, infinity for its age.
        """
        worn = _passed(self.end_of_life - before.health, self.end_of_life - now.health)
        short = _passed(before.short - self.tolerated_hours, now.short - self.tolerated_hours)
        dear = _passed(before.regret(self), now.regret(self))
        dear = np.where(now.cost > 0.0, dear, GOES_ON)
        need = np.maximum(short, dear)
        hours = before.short + np.minimum(need, 1.0) * (now.short - before.short)
        old = _passed(before.age - self.longest_life, now.age - self.longest_life)
        old = np.where(now.age > self.longest_life + AGE_SLACK_YEARS, old, GOES_ON)
        why = np.where(need < worn, hours, np.nan)
        part = np.minimum(worn, need)
        return np.minimum(part, old), np.where(old < part, np.inf, why)

    def reason(self, hours: float) -> str:
        """Why a bank is replaced; hours as `ended` gives them."""
        if math.isinf(hours):
            return f"{self.longest_life:.0f} years old: boards and seals end too"
        if math.isnan(hours):
            return f"health reaches {self.end_of_life:.0%}"
        return f"short for {hours:,.0f} h a year: replacing costs less than going without"


GOES_ON = 2.0


def _passed(before: FloatArray, now: FloatArray) -> FloatArray:
    """Part of a step after which something rose to zero; 0 where it was there, or GOES_ON."""
    part = np.clip(-before / np.maximum(now - before, 1e-12), 0.0, 1.0)
    return np.where(now >= 0.0, part, GOES_ON)


@dataclass(frozen=True)
class _Bank:
    """The banks in service, each array of shape (lanes,).

    `short`: hours a year essential loads are short; `cost`: e, what that costs a year over a new
    bank; `spent`: E, the sum of it.
    """

    age: FloatArray
    calendar: FloatArray
    cycle: FloatArray
    health: FloatArray
    short: FloatArray
    cost: FloatArray
    spent: FloatArray

    @classmethod
    def new(cls, rule: _Rule, age: FloatArray) -> "_Bank":
        """Banks in service for part of a month, at the rates of new ones."""
        lanes, zero = rule.lanes, np.zeros(age.size)
        new = cls(zero, zero, zero, np.ones(age.size), zero, zero, zero)
        return new.aged(rule, lanes.rates(lanes.weights(new.health)), age)

    def aged(self, rule: _Rule, rates: FloatArray, step: FloatArray | float) -> "_Bank":
        """The banks after a step at these rates."""
        lanes = rule.lanes
        calendar = self.calendar + step * rates[CALENDAR]
        cycle = self.cycle + step * rates[CYCLE]
        health = 1.0 - lanes.loss(calendar, cycle)
        weights = lanes.weights(health)
        cost = lanes.between(rule.cost, weights)
        return _Bank(
            age=self.age + step,
            calendar=calendar,
            cycle=cycle,
            health=health,
            short=lanes.between(lanes.short, weights),
            cost=cost,
            spent=self.spent + step * (self.cost + cost) / 2.0,
        )

    def regret(self, rule: _Rule) -> FloatArray:
        """How far the marginal cost has passed the average, times the age: e T - E - P."""
        return self.cost * self.age - self.spent - rule.price

    def where(self, chosen: NDArray[np.bool_], other: "_Bank") -> "_Bank":
        """These banks where chosen, the others elsewhere."""
        return _Bank(
            **{
                entry.name: np.where(chosen, getattr(self, entry.name), getattr(other, entry.name))
                for entry in fields(self)
            }
        )


def _beyond(rule: _Rule, first_life: FloatArray, bank: _Bank, year: float) -> FloatArray:
    """End of the first lives that outlast the horizon."""
    first_life = first_life.copy()
    lanes = rule.lanes
    while year < LONGEST_LIFE_YEARS and np.isnan(first_life).any():
        before = bank
        step = min(BEYOND_STEP_YEARS, LONGEST_LIFE_YEARS - year)
        bank = before.aged(rule, lanes.rates(lanes.weights(before.health)), step)
        part, _ = rule.ended(before, bank)
        ends = np.isnan(first_life) & (part <= 1.0)
        first_life[ends] = np.minimum(year + part * step, rule.longest_life)[ends]
        year += step
    return first_life


__all__ = ["LONGEST_LIFE_YEARS", "Life", "Replacement", "live", "year_ends"]
