"""One step of a bank in service: it wears, and its life ends by health, by need or by age.

The ledger's years (`tco.life.health`) and every draw (`tco.money.draw_ledger_kernel`) take this one
step. Why a life ends is told in `tco.life.health`. Compiled.
"""

import math
from typing import NamedTuple

from tco.physics.arrays import FloatArray
from tco.physics.compiled import compiled, inlined

AGE_SLACK_YEARS = 1e-6
"""A bank at its greatest age at the very end of the horizon is not replaced there: months add up to
years but for the last digits."""

GOES_ON = 2.0
"""In place of the part of a step after which a life ends: above 1, it does not."""

WORN, NEED, OLD = 0, 1, 2
"""Why a life ended."""


class Serving(NamedTuple):
    """A bank in service.

    `age` [years]; stress summed up, calendar and cycle; `hours` a year that essential loads are
    short at its health; `cost` what being short costs a year over a new bank, e of
    `tco.life.health`; `spent` the sum of that, E.
    """

    age: float
    calendar: float
    cycle: float
    health: float
    hours: float
    cost: float
    spent: float


class Pace(NamedTuple):
    """What a year does at each level of health, ascending and evenly apart, arrays (levels,).

    `lowest` and `span`: the first level and the step between them. Stress a year, calendar and
    cycle; hours short and what they cost over a new bank.
    """

    lowest: float
    span: float
    calendar: FloatArray
    cycle: FloatArray
    hours: FloatArray
    cost: FloatArray


class Rule(NamedTuple):
    """When a bank is replaced, and by which law it wears (`tco.life.stress`).

    `price`: what replacing it takes, P of `tco.life.health`. `may_need`: whether need can end a
    life at all.
    """

    end_of_life: float
    tolerated_hours: float
    longest_life: float
    price: float
    exponent: float
    larger_counts: bool
    may_need: bool


@inlined
def level_of(health: float, lowest: float, span: float, size: int) -> tuple[int, float]:
    """Level below a health and the share of the next; beyond the ends the end counts."""
    place = min(max((health - lowest) / span, 0.0), size - 1.0)
    level = min(int(place), size - 2)
    return level, place - level


@inlined
def between_levels(values: FloatArray, level: int, share: float) -> float:
    """Straight line between two levels."""
    return float(values[level] + share * (values[level + 1] - values[level]))


@inlined
def health_left(calendar: float, cycle: float, exponent: float, larger_counts: bool) -> float:
    """Health after accumulated stresses; see `tco.life.stress`."""
    if exponent == 0.5:
        a, b = math.sqrt(calendar), math.sqrt(cycle)
    else:
        a, b = calendar**exponent, cycle**exponent
    return float(1.0 - (max(a, b) if larger_counts else a + b))


@inlined
def part_passed(before: float, now: float) -> float:
    """Part of a step after which something rose to zero; 0 where it was there, or GOES_ON."""
    if now < 0.0:
        return GOES_ON
    return min(max(-before / max(now - before, 1e-12), 0.0), 1.0)


@compiled
def served(
    bank: Serving, step: float, level: int, share: float, pace: Pace, rule: Rule
) -> tuple[Serving, float, int]:
    """A bank after a step [years] at the pace of its health, as if it went on.

    `level` and `share` are the place of its health (`level_of`). Then the part of the step after
    which its life ends (GOES_ON: not in it), and why.
    """
    calendar = bank.calendar + step * between_levels(pace.calendar, level, share)
    cycle = bank.cycle + step * between_levels(pace.cycle, level, share)
    health = health_left(calendar, cycle, rule.exponent, rule.larger_counts)
    age = bank.age + step
    part, why = part_passed(rule.end_of_life - bank.health, rule.end_of_life - health), WORN
    hours = cost = spent = 0.0
    if rule.may_need:
        level, share = level_of(health, pace.lowest, pace.span, pace.calendar.size)
        hours = between_levels(pace.hours, level, share)
        cost = between_levels(pace.cost, level, share)
        spent = bank.spent + step * (bank.cost + cost) / 2.0
        if hours >= rule.tolerated_hours and cost > 0.0:
            over = part_passed(bank.hours - rule.tolerated_hours, hours - rule.tolerated_hours)
            dear = part_passed(
                bank.cost * bank.age - bank.spent - rule.price, cost * age - spent - rule.price
            )
            need = max(over, dear)
            if need < part:
                part, why = need, NEED
    if age > rule.longest_life + AGE_SLACK_YEARS:
        old = min(max((rule.longest_life - bank.age) / step, 0.0), 1.0)
        if old < part:
            part, why = old, OLD
    return Serving(age, calendar, cycle, health, hours, cost, spent), part, why


@compiled
def put_in_service(age: float, pace: Pace, rule: Rule) -> Serving:
    """A new bank after the first part of a month, at the pace of new ones. [years]"""
    top = pace.calendar.size - 1
    new = Serving(0.0, 0.0, 0.0, 1.0, pace.hours[top], 0.0, 0.0)
    if age == 0.0:
        return new
    return served(new, age, top - 1, 1.0, pace, rule)[0]
