"""Health over the years: year profiles between levels of health, replacements included.

Each arrangement is followed month by month (a part of a year at the end of the
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
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from tco.bank.bank import Bank
from tco.bank.costs import replacement_price
from tco.case import Case
from tco.life.growth import resistance_growth
from tco.life.service import (
    GOES_ON,
    NEED,
    OLD,
    WORN,
    Pace,
    Rule,
    between_levels,
    health_left,
    level_of,
    put_in_service,
    served,
)
from tco.life.year import YearProfiles, ends_of_life
from tco.physics.arrays import FloatArray
from tco.physics.compiled import compiled

MONTHS_PER_YEAR = 12
LONGEST_LIFE_YEARS = 40
"""Lives are followed this far; beyond, the answer is "more than 40 years"."""

BEYOND_STEP_YEARS = 0.25
"""Step in which a life that outlasts the horizon is followed to its end."""

YEARLY = (
    "needed_wh",
    "delivered_wh",
    "from_bank_wh",
    "unserved_wh",
    "hours_any_load_short",
    "hours_without_power",
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
SHORT, DAYS = YEARLY.index("hours_without_power"), YEARLY.index("unserved_days")


EndsBy = Literal["wear", "need", "age"]
_ENDS_BY: dict[int, EndsBy] = {WORN: "wear", NEED: "need", OLD: "age"}


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
    ends within the last, its entry is of that part only. `first_ends_by`: what ends the first bank,
    None where that is not known. `worn_hours_without_power`: hours a year in which essential loads
    go short with a bank that is worn out.
    """

    ends: FloatArray
    health: FloatArray
    in_service: FloatArray
    first_life_years: float | None
    replacements: tuple[Replacement, ...]
    remaining_share: float
    yearly: dict[str, FloatArray]
    by_age: float = 0.0
    first_ends_by: EndsBy | None = None
    worn_hours_without_power: float = 0.0

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


def lives_of(case: Case, banks: Sequence[Bank], profiles: YearProfiles) -> tuple[Life, ...]:
    """How long every bank of a case lasts, and how often it is replaced within the horizon."""
    assumptions, prices = case.assumptions, case.prices
    return live(
        profiles,
        horizon_years=assumptions.horizon_years,
        end_of_life_health=ends_of_life(banks, assumptions),
        tolerated_hours=assumptions.tolerated_hours_without_power,
        replacement_price=[replacement_price(case, bank) for bank in banks],
        day_price=prices.day_without_power_price,
        hour_price=prices.hour_without_power_price,
        longest_life_years=assumptions.longest_life_years,
    )


def live(
    profiles: YearProfiles,
    *,
    horizon_years: float,
    end_of_life_health: ArrayLike,
    tolerated_hours: float,
    replacement_price: ArrayLike,
    day_price: float,
    hour_price: float = 0.0,
    longest_life_years: float = LONGEST_LIFE_YEARS,
) -> tuple[Life, ...]:
    """Follow every arrangement over the horizon, and its first bank to the end of its life.

    Parameters
    ----------
    end_of_life_health
        Health at which each bank is replaced, shape (arrangements,) or one for all.
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
    count, ends_of_years = len(profiles.stresses), year_ends(horizon_years)
    places, filled = profiles.filled((*YEARLY, "calendar_stress", "cycle_stress"))
    totals = np.ascontiguousarray(filled[:, :, : len(YEARLY)])
    hours, calendar, cycle = (
        np.ascontiguousarray(filled[:, :, column]) for column in (SHORT, -2, -1)
    )
    cost = day_price * totals[:, :, DAYS] + hour_price * hours
    cost = np.ascontiguousarray(cost - cost[:, -1:])
    price = np.broadcast_to(np.asarray(replacement_price, dtype=np.float64), (count,))
    ends = np.broadcast_to(np.asarray(end_of_life_health, dtype=np.float64), (count,))
    years = ends_of_years.size
    lives = []
    for row, stress in enumerate(profiles.stresses):
        lowest = float(profiles.health[row, -1])
        span = (1.0 - lowest) / (places.size - 1)
        pace = Pace(lowest, span, calendar[row], cycle[row], hours[row], cost[row])
        rule = Rule(
            float(ends[row]), tolerated_hours, float(longest_life_years), float(price[row]),
            stress.exponent, stress.larger_counts, True,
        )  # fmt: skip
        yearly = np.zeros((years, len(YEARLY)))
        health, in_service = np.zeros(years), np.zeros(years)
        ended = np.zeros((years * MONTHS_PER_YEAR, 3))
        number, age, first_life, first_why = _follow(
            pace, rule, totals[row], ends_of_years, yearly, health, in_service, ended
        )
        known = None
        if not math.isnan(first_life):
            known = min(max(first_life, SHORTEST_LIFE_YEARS), longest_life_years)
        lives.append(
            Life(
                ends=ends_of_years,
                health=health,
                in_service=in_service,
                first_life_years=known,
                replacements=tuple(
                    Replacement(moment, _reason(rule, int(why), short))
                    for moment, why, short in ended[:number].tolist()
                ),
                remaining_share=_left(age, known),
                yearly={name: yearly[:, k].copy() for k, name in enumerate(YEARLY)},
                by_age=float(profiles.by_age[row]) if profiles.by_age.size else 0.0,
                first_ends_by=_ENDS_BY.get(first_why),
                worn_hours_without_power=float(hours[row, 0]),
            )
        )
    return tuple(lives)


def _left(age: float, first_life: float | None) -> float:
    full = LONGEST_LIFE_YEARS if first_life is None else first_life
    return max(0.0, 1.0 - age / full) if full > 0 else 0.0


def _reason(rule: Rule, why: int, hours: float) -> str:
    """Why a bank is replaced; the hours a year it was then short."""
    if why == OLD:
        return f"{rule.longest_life:.0f} years old: boards and seals end too"
    if why == NEED:
        return f"short for {hours:,.0f} h a year: replacing costs less than going without"
    return f"health reaches {rule.end_of_life:.0%}"


@compiled
def _follow(
    pace: Pace,
    rule: Rule,
    totals: FloatArray,
    ends_of_years: FloatArray,
    yearly: FloatArray,
    health: FloatArray,
    in_service: FloatArray,
    ended: FloatArray,
) -> tuple[int, float, float, int]:
    """Follow one arrangement month by month.

    `totals`, shape (levels, names), are summed into `yearly`, shape (years, names). Each life that
    ends fills a row of `ended`: when, why, hours short. Returns how many did, the age of the bank
    in service at the end, the life of the first (NaN: longer than followed), and why it ends.
    """
    size = pace.calendar.size
    bank = put_in_service(0.0, pace, rule)
    number, first_life, first_why = 0, math.nan, -1
    first, first_calendar, first_cycle = 1.0, 0.0, 0.0
    for year in range(ends_of_years.size):
        step = (ends_of_years[year] - year) / MONTHS_PER_YEAR
        for month in range(MONTHS_PER_YEAR):
            level, share = level_of(bank.health, pace.lowest, pace.span, size)
            for k in range(totals.shape[1]):
                low, high = totals[level, k], totals[level + 1, k]
                yearly[year, k] += step * (low + share * (high - low))
            before = bank
            bank, part, why = served(before, step, level, share, pace, rule)
            if part < GOES_ON:
                moment = year + month * step + part * step
                ended[number, 0], ended[number, 1] = moment, why
                ended[number, 2] = before.hours + part * (bank.hours - before.hours)
                number += 1
                if math.isnan(first_life):
                    first_life, first_why = moment, why
                # the new bank ages for what is left of the month
                bank = put_in_service((1.0 - part) * step, pace, rule)
            level, share = level_of(first, pace.lowest, pace.span, size)
            first_calendar += step * between_levels(pace.calendar, level, share)
            first_cycle += step * between_levels(pace.cycle, level, share)
            lasting = health_left(first_calendar, first_cycle, rule.exponent, rule.larger_counts)
            first = max(lasting, 0.0)
        health[year], in_service[year] = first, bank.health
    age, time = bank.age, ends_of_years[-1]
    while math.isnan(first_life) and time < LONGEST_LIFE_YEARS:  # it outlasts the horizon
        step = min(BEYOND_STEP_YEARS, LONGEST_LIFE_YEARS - time)
        level, share = level_of(bank.health, pace.lowest, pace.span, size)
        bank, part, why = served(bank, step, level, share, pace, rule)
        if part < GOES_ON:
            first_life, first_why = min(time + part * step, rule.longest_life), why
        time += step
    return number, age, first_life, first_why
