"""What is missing while a pack is out: the whole bank, or one string of several.

A bank with one string out is a bank with one string less, new, over the weather years, so that
current limits, energy left, sun and season all count. Where that bank is itself among those
compared, its year is known; it is simulated where it is not. A bank of one string is dark:
everything that essential loads want is missing. Either way only what a sound bank would have given
counts, so that days on which nobody wants power, and those that are lost anyway, cost nothing more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.case import Assumptions
from tco.life.conditions import Conditions
from tco.life.year import run_alike
from tco.physics.arrays import FloatArray

DAYS_PER_YEAR = 365.0
HOURS_PER_DAY = 24


@dataclass(frozen=True)
class Missing:
    """What one day with a pack out costs in power, on the mean of all days of the year.

    `days`: days lost, a share of one (as `Assumptions.lost_day_hours` counts them); `hours`: hours
    for which essential loads go short, each for the share that is missing.
    """

    days: float
    hours: float


def wanted(conditions: Conditions) -> Missing:
    """What essential loads want: days lost and hours short, a day, if there is no power at all.

    Days and hours on which nothing essential is switched on, such as those with nobody there,
    count nothing.
    """
    hours = (conditions.essential_w > 0.0).reshape(-1, HOURS_PER_DAY).sum(axis=1)
    return Missing(
        days=float(np.minimum(1.0, hours / conditions.lost_day_hours).mean()),
        hours=float(hours.mean()),
    )


def missing_with_a_pack_out(
    banks: Sequence[Bank],
    conditions: Conditions,
    assumptions: Assumptions,
    *,
    lost_days: FloatArray,
    hours_without_power: FloatArray,
) -> tuple[Missing, ...]:
    """What is missing with one pack out, for each bank.

    Parameters
    ----------
    banks
        A bank that is simulated with a string out keeps the resistance of its wiring, a known one
        has its own; in the demo cases that makes less than a thousandth of a day for each day with
        a pack out.
    lost_days, hours_without_power
        Days a year that a sound new bank loses, and hours it is short of essential power, shape
        (banks,).
    """
    dark = wanted(conditions)
    days = np.full(len(banks), dark.days * DAYS_PER_YEAR)
    hours = np.full(len(banks), dark.hours * DAYS_PER_YEAR)
    known = {_layout(bank.arrangement): row for row, bank in enumerate(banks)}
    less = []
    for row, bank in enumerate(banks):
        arrangement = bank.arrangement
        if arrangement.parallel == 1 or dark.hours == 0.0:
            continue
        smaller = known.get(_layout(arrangement, strings_out=1))
        if smaller is None:
            less.append(row)
        else:
            days[row], hours[row] = lost_days[smaller], hours_without_power[smaller]
    if less:
        days[less], hours[less] = _simulated(
            [_string_out(banks[k]) for k in less],
            conditions,
            assumptions,
        )
    extra_days = np.maximum(days - lost_days, 0.0) / DAYS_PER_YEAR
    extra_hours = np.maximum(hours - hours_without_power, 0.0) / DAYS_PER_YEAR
    return tuple(Missing(float(d), float(h)) for d, h in zip(extra_days, extra_hours, strict=True))


def _string_out(bank: Bank) -> Bank:
    fewer = bank.arrangement.parallel - 1
    return replace(bank, arrangement=replace(bank.arrangement, parallel=fewer))


def _layout(arrangement: Arrangement, *, strings_out: int = 0) -> tuple[int, int, int]:
    """What tells banks apart; packs by identity, since two candidates may bear one name."""
    return id(arrangement.pack), arrangement.series, arrangement.parallel - strings_out


def _simulated(
    banks_left: Sequence[Bank],
    conditions: Conditions,
    assumptions: Assumptions,
) -> tuple[FloatArray, FloatArray]:
    """Days lost and hours short a year of new banks."""
    out = run_alike(banks_left, conditions, assumptions, health=1.0)
    return (
        out["unserved_days"] / conditions.years,
        out["hours_without_power"] / conditions.years,
    )
