"""What is to come with one bank: how often power fails, why, what would cure it, which habits help.

Told of a new bank and of one worn to its end of life, since a bank that suffices new may not later.
"""

from dataclasses import dataclass

from tco.bank.bank import Bank
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.cures import (
    NEGLIGIBLE_HOURS,
    Enlargement,
    WeakPoint,
    extra_capacity_needed,
    extra_solar_needed,
    weak_point,
)
from tco.life.habits import Advice, habits
from tco.life.outages import Outages, many_years, outages, too_few_years


@dataclass(frozen=True)
class Outlook:
    """What goes short over many weather years with a bank at one health, why, and the cure.

    `more_capacity` and `more_solar` are None where there is nothing to cure.
    """

    health: float
    found: Outages
    weak: WeakPoint
    more_capacity: Enlargement | None
    more_solar: Enlargement | None


@dataclass(frozen=True)
class YearsAhead:
    """The outlook of a bank when new and when worn to its end of life, and habits worth changing.

    `file_years`: years in the case's weather file where these were too few, so that `new` and
    `worn` are over years drawn from its monthly values; None otherwise.
    """

    new: Outlook
    worn: Outlook
    habits: tuple[Advice, ...]
    file_years: int | None


def outlook(
    case: Case,
    bank: Bank,
    weather: Conditions,
    *,
    health: float = 1.0,
    by_age: float = 0.0,
    found: Outages | None = None,
) -> Outlook:
    """How often power fails with a bank at one health, why, and what would cure it.

    The cure is down to the hours the case tolerates; where these are not exceeded, down to less
    than is worth a word.

    Parameters
    ----------
    weather
        The weather years to go through, as `tco.life.outages.many_years` has them.
    by_age
        How its resistance grows with time, as in `tco.life.year.YearProfiles`.
    found
        Its outages in them, if they are known.
    """
    if found is None:
        found = outages(case, bank, weather, health=health, by_age=by_age)
    weak = weak_point(case, bank, weather, health=health, by_age=by_age)
    if weak.verdict == "none":
        return Outlook(health, found, weak, None, None)
    tolerated = case.assumptions.tolerated_hours_without_power
    asked = tolerated if weak.hours_without_power > tolerated else NEGLIGIBLE_HOURS
    return Outlook(
        health=health,
        found=found,
        weak=weak,
        more_capacity=extra_capacity_needed(
            case,
            bank,
            weather,
            tolerated_hours=asked,
            health=health,
            by_age=by_age,
        ),
        more_solar=extra_solar_needed(
            case,
            bank,
            weather,
            tolerated_hours=asked,
            health=health,
            by_age=by_age,
        ),
    )


def years_ahead(
    case: Case,
    bank: Bank,
    conditions: Conditions,
    *,
    by_age: float = 0.0,
) -> YearsAhead:
    """All that is to come with one bank.

    Parameters
    ----------
    by_age
        As in `tco.life.year.YearProfiles`.
    conditions
        Those of the comparison, in which habits are tried; power failures are looked for in
        `tco.life.outages.many_years`.
    """
    weather = many_years(case)
    worn = case.assumptions.end_of_life_of(bank.arrangement.pack.chemistry)
    return YearsAhead(
        new=outlook(case, bank, weather),
        worn=outlook(case, bank, weather, health=worn, by_age=by_age),
        habits=habits(case, bank, conditions),
        file_years=too_few_years(case),
    )
