"""Power failures, their cause and cure, and habits, in sentences, for screens and command line."""

from collections.abc import Sequence

from tco.case.times import MONTHS
from tco.life.outages import ENOUGH_YEARS, Outages, one_in
from tco.life.outlook import Outlook, YearsAhead
from tco.report.words import count, years
from tco.result import Result

VERDICTS = {
    "battery": "the battery is the weak point",
    "charging": "the charging is the weak point, not the battery",
    "cold": "the cold is the weak point",
    "none": "nothing is too small",
}
TOO_LITTLE = "too little goes short to name a weak point"


def state_words(health: float) -> str:
    """Which bank is meant.

    >>> state_words(1.0), state_words(0.7)
    ('new', 'worn to 70%')
    """
    return "new" if health >= 1.0 else f"worn to {health:.0%}"


def dark_words(found: Outages) -> str:
    """How often essential loads go without power.

    "leaves essential loads without power in 9 years of 20, 3.4 h in a mean year"
    """
    if not found.essential:
        span = count(found.years, "weather year")
        return f"keeps essential loads powered through {'all ' * (found.years > 1)}{span}"
    if found.years == 1:
        return (
            "leaves essential loads without power in the one weather year looked at, "
            f"{_amount(found.hours_without_power, 'h')}"
        )
    return (
        f"leaves essential loads without power {one_in(found.share_of_years)}, "
        f"{_amount(found.hours_without_power, 'h')} in a mean year"
    )


def verdict_words(ahead: Outlook) -> str:
    """What is the weak point; that nothing is too small only where nothing goes short."""
    if ahead.weak.verdict == "none" and ahead.found.essential:
        return TOO_LITTLE
    return VERDICTS[ahead.weak.verdict]


def opening(result: Result, chosen: Outlook, other: Outlook) -> str:
    """Whether the lights stay on, how long the bank serves, and what is too small, new and worn.

    `chosen` is the bank that is asked about, `other` the same at its other health.
    """
    life = result.life.first_life_years
    serves = "over 40 years" if life is None else years(life)
    bank = result.arrangement.label
    if chosen.health < 1.0:
        bank += f", {state_words(chosen.health)},"
    here, there = verdict_words(chosen), verdict_words(other)
    if here == there:
        which = f"new or worn, {here}"
    else:
        which = (
            f"when {state_words(chosen.health)}, {here}; when {state_words(other.health)}, {there}"
        )
    return f"{bank} {dark_words(chosen.found)}, and serves {serves}; {which}."


def weather_words(file_years: int | None, found: Outages) -> str:
    """Where the weather years come from, if not from the case's own; else nothing."""
    if file_years is None:
        return ""
    return (
        f"The weather file has {count(file_years, 'year')}, fewer than the {ENOUGH_YEARS} it takes "
        f"to tell how often power fails: {count(found.years, 'year')} were drawn from its monthly "
        "values instead, as dull and cold ones differ from year to year."
    )


def longest_words(found: Outages) -> str:
    """The longest essential outage and the longest run of days with one; there must be one."""
    longest = max(outage.hours for outage in found.essential)
    return f"longest {_long(longest)}, {_days(found.longest_run_days)} in a row"


FEW_DAYS, YEAR_DAYS = 100, 365
"""From so many days a length of time is told in years, and the days of a weather year."""


def _long(hours: int) -> str:
    """Hours, where there are many of them in years besides.

    >>> _long(31), _long(171_794)
    ('31 h', '171,794 h (19.6 years)')
    """
    many = hours / 24.0 >= FEW_DAYS
    return f"{hours:,} h" + (f" ({hours / 24.0 / YEAR_DAYS:.1f} years)" if many else "")


def _days(days: int) -> str:
    """Days, where there are many of them in years besides.

    >>> _days(1), _days(7300)
    ('1 day', '7,300 days (20.0 years)')
    """
    many = days >= FEW_DAYS
    words = f"{days:,} day{'s' * (days != 1)}"
    return words + (f" ({days / YEAR_DAYS:.1f} years)" if many else "")


def worst_words(found: Outages) -> str:
    """The hardest fortnight in words."""
    worst = found.worst_fortnight
    span = f"of {found.years} weather years" if found.years > 1 else "of the weather year"
    of_year = f" of year {worst.first.year}" if found.years > 1 else ""
    text = (
        f"Hardest fortnight {span}: from {worst.first.day} "
        f"{MONTHS[worst.first.month - 1]}{of_year}; the sun gives "
        f"{worst.solar_kwh_per_day:.2f} kWh a day"
    )
    if worst.usual_solar_kwh_per_day is not None:
        text += f" ({worst.usual_solar_kwh_per_day:.2f} in other years)"
    text += f", charge falls to {worst.lowest_charge:.0%}"
    if worst.essential_kwh > 0:
        text += f", and essential loads miss {_amount(worst.essential_kwh, 'kWh')}"
    return f"{text}."


def cause_and_cure(ahead: Outlook) -> Sequence[str]:
    """What is too small, and what extra capacity and what extra solar would bring."""
    said = [ahead.weak.reason]
    if ahead.more_capacity is not None:
        said.append(f"More capacity: {_first_small(ahead.more_capacity.reason)}")
    if ahead.more_solar is not None:
        said.append(f"More solar: {_first_small(ahead.more_solar.reason)}")
    return said


def outage_words(ahead: Outlook) -> Sequence[str]:
    """One bank's power failures, with cause and cure, in sentences."""
    found = ahead.found
    bank = "A new bank" if ahead.health >= 1.0 else f"A bank {state_words(ahead.health)}"
    if not found.essential:
        return [f"{bank} {dark_words(found)}.", worst_words(found)]
    dark = f"{bank} {dark_words(found)}; {longest_words(found)}."
    if ahead.weak.verdict == "none":
        return [dark, worst_words(found), "That is too little to look for a cause."]
    return [dark, worst_words(found), *cause_and_cure(ahead)]


def habit_words(ahead: YearsAhead) -> Sequence[tuple[str, str]]:
    """Each habit worth changing, with the caution that stands beside it."""
    return [(advice.sentence, advice.caution) for advice in ahead.habits]


NO_HABIT = "None that was tried gains half a year without leaving somebody dark."


def _amount(value: float, unit: str) -> str:
    return f"less than 0.1 {unit}" if value < 0.05 else f"{value:,.1f} {unit}"


def _first_small(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
