"""Habits that age a bank or waste power, and what changing them gains, each in one sentence.

Storage while laid up or away for long, warmth of the space, a bank that is always full, a heater
that runs for nobody: each habit is changed in the simulated years and the bank's health followed
again. Only what gains at least half a year, or saves power that is paid for, and leaves nobody
without power is given.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.case import Case
from tco.life.conditions import Conditions, days_there
from tco.life.health import Life, lives_of
from tco.life.outages import runs
from tco.life.second_opinion import second_opinion
from tco.life.year import YearProfiles, year_profiles
from tco.physics.arrays import BoolArray
from tco.sentences import Quantity, begun, says

Habit = Literal[
    "storage charge", "charge when away", "cooler space", "warmer space", "charge ceiling",
    "heater when laid up",
]  # fmt: skip

LEAST_GAIN_YEARS = 0.5
"""Less is not worth a habit, nor within what such a model can tell. Our choice."""

STORAGE_CHARGE = 0.5
"""State of charge for laying up lithium and sodium cells: 40 to 60 %, common practice, no source.
Lead-acid is laid up full, or it sulphates."""

LONG_ABSENCE_DAYS = 14
"""From so many days away on end a bank may be left as if laid up. Our choice."""

LEAST_CURED_HOURS = 1.0
"""Less time without power cured in a year is not worth a word. Our choice."""

LEAST_SAVED_KWH = 5.0
"""Less bought energy saved in a year is not worth a habit. Our choice."""

STORED_FULL = 0.98
"""From here on a bank counts as laid up full."""

COOL_DEGC = 20.0
"""The space never warmer than this, by shade and air. Our choice."""

WARM_DEGC = 10.0
"""The space never colder than this. Our choice."""

CEILINGS = (0.9, 0.8)
"""Charge ceilings tried in the easy months. Common practice, no source."""

RESERVE = 0.15
"""A month is easy where the worn bank keeps this much above empty, and what the ceiling takes
away besides. Our choice."""

NEARLY_EMPTY = 0.1
"""No advice may bring a bank down to this charge that did not get there before. Our choice."""


ESTIMATE = "Ageing was tested for a few years: which way it goes is surer than how many years."
"""What stands beside every advice: such lives are extrapolated, and so are told in whole years."""

SECOND_YEAR = ("full_cycles", "mean_degc", "mean_charge", "mean_c_rate")
"""Totals of a new bank's year that the second model looks at."""


@dataclass(frozen=True)
class Advice:
    """A habit to change: years to the end of life as it is and changed, and one sentence.

    `years` and `changed_years` are at most the age any bank is given, which then means "or more".
    `saved_kwh` of bought energy are saved in a mean year of a new bank, where that is what the
    advice is about (else 0); `cured_hours` are those of a mean year in which a new bank would no
    longer leave essential loads short. `second_gain_years` is the gain by the second model (Wang
    2011, lithium iron phosphate only; 0 where by it both banks outlive that age), None where there
    is no such model or no gain is looked for. `caution` is to stand beside it.
    """

    habit: Habit
    years: float
    changed_years: float
    sentence: str
    caution: str
    saved_kwh: float = 0.0
    cured_hours: float = 0.0
    second_gain_years: float | None = None

    @property
    def gain_years(self) -> float:
        """Years gained."""
        return self.changed_years - self.years


@dataclass(frozen=True)
class _Change:
    habit: Habit
    conditions: Conditions
    words: str
    caution: str


def habits(
    case: Case,
    bank: Bank,
    conditions: Conditions,
) -> tuple[Advice, ...]:
    """Habits worth changing with one bank, the greatest gain first.

    Each gain is of one habit alone; gains do not add up. A change counts only if at no level of
    health more hours go short than before, of essential or of other loads, and the bank does not
    come near empty because of it.
    """

    def followed(made: Conditions) -> tuple[YearProfiles, Life]:
        profiles = year_profiles([bank], made, case.assumptions)
        return profiles, lives_of(case, [bank], profiles)[0]

    before, life = followed(conditions)
    found: dict[Habit, Advice] = {}
    for change in _changes(case, bank.arrangement, conditions, before):
        after, changed = followed(change.conditions)
        if _costs_power(before, after):
            continue
        years = life.counted_life_years, changed.counted_life_years
        advice = _advice(case, bank.arrangement, change, (before, after), years)
        held = found.get(change.habit)
        best = LEAST_GAIN_YEARS if held is None else held.gain_years + 1e-9
        if advice.gain_years >= best:
            found[change.habit] = _with_cure(advice, before, after)
    saving = _heater_off(case, conditions, before, life, followed)
    if saving is not None:
        found[saving.habit] = saving
    return tuple(sorted(found.values(), key=lambda advice: -advice.gain_years))


def _heater_off(
    case: Case,
    made: Conditions,
    before: YearProfiles,
    life: Life,
    followed: Callable[[Conditions], tuple[YearProfiles, Life]],
) -> Advice | None:
    """Heaters that warm a laid-up bank from the mains: turned off, or the charger unplugged."""
    heater_kwh = float(before.totals["laid_up_heater_wh"][0, 0]) / 1000.0
    if case.use.charged_when_laid_up != "shore" or heater_kwh < LEAST_SAVED_KWH:
        return None
    after, changed = followed(replace(made, heater_when_laid_up=False))
    saved_kwh = float(before.totals["shore_wh"][0, 0] - after.totals["shore_wh"][0, 0]) / 1000.0
    if saved_kwh < LEAST_SAVED_KWH or _costs_power(before, after):
        return None
    pulled, _ = followed(replace(made, shore_w=np.where(made.laid_up, 0.0, made.shore_w)))
    how = "turn the battery's heater off"
    if not _costs_power(before, pulled):
        how = f"unplug the charger, or {how}"
    return Advice(
        habit="heater when laid up",
        years=life.counted_life_years,
        changed_years=changed.counted_life_years,
        sentence=(
            f"{how[0].upper()}{how[1:]}, while laid up: it saves {saved_kwh:.0f} kWh a year that "
            "warm a battery nobody uses."
        ),
        caution="Not below the cold the maker allows for storage; look at the charge monthly, and "
        "charge it only once it is warm enough.",
        saved_kwh=saved_kwh,
    )


def _changes(
    case: Case, arrangement: Arrangement, made: Conditions, before: YearProfiles
) -> Iterator[_Change]:
    chemistry = arrangement.pack.chemistry
    if made.laid_up.any():
        kept = case.use.charged_when_laid_up != "no"
        if chemistry.sulphates and made.storage_charge_lead < STORED_FULL and kept:
            yield _Change(
                "storage charge",
                replace(made, storage_charge_lead=1.0),
                _laid_up_words(1.0, made.storage_charge_lead),
                f"{chemistry.family_name.capitalize()} that is left part charged hardens with "
                "sulphate.",
            )
        elif not chemistry.sulphates and made.storage_charge > STORAGE_CHARGE:
            yield _Change(
                "storage charge",
                replace(made, storage_charge=STORAGE_CHARGE),
                _laid_up_words(STORAGE_CHARGE, made.storage_charge),
                "The maker's storage instructions go first; look at it monthly.",
            )
    away = np.tile(np.repeat(long_absences(case), 24), made.years)
    left_at = made.storage_charge if made.laid_up.any() else STORAGE_CHARGE
    if not chemistry.sulphates and away.any() and left_at < STORED_FULL:
        yield _Change(
            "charge when away",
            replace(made, laid_up=made.laid_up | away, storage_charge=left_at),
            f"left at {left_at:.0%} charge when nobody is there for two weeks or longer",
            "Use it down before you leave, and see that it is charged again for your return; the "
            "maker's storage instructions go first.",
        )
    if made.space_degc.max() > COOL_DEGC:
        yield _Change(
            "cooler space",
            replace(made, space_degc=np.minimum(made.space_degc, COOL_DEGC)),
            says("in a space that stays below ", Quantity(COOL_DEGC, "°C", "g")),
            "Do not close openings that the maker or local code asks for.",
        )
    if made.space_degc.min() < WARM_DEGC:
        yield _Change(
            "warmer space",
            replace(made, space_degc=np.maximum(made.space_degc, WARM_DEGC)),
            says("in a space that stays above ", Quantity(WARM_DEGC, "°C", "g")),
            "Heat and insulation beside a battery as its maker and local code allow.",
        )
    if not chemistry.sulphates:
        in_use = np.bincount(made.month, ~made.laid_up.astype(np.bool_), 12) > 0.0
        for ceiling in CEILINGS:
            easy = _easy_months(arrangement, before, ceiling) & in_use
            if easy.any():
                limits = np.minimum(np.where(easy, ceiling, 1.0), made.charge_ceiling)
                yield _Change(
                    "charge ceiling",
                    replace(made, charge_ceiling=tuple(float(limit) for limit in limits)),
                    f"charged to {ceiling:.0%} only"
                    + ("" if easy.sum() == in_use.sum() else f" in its {easy.sum()} easy months"),
                    "Charge it full now and then all the same, so that its cells are balanced and "
                    "the charge display stays right; by the maker's instructions.",
                )


def _laid_up_words(charge: float, now: float) -> str:
    return f"laid up at {charge:.0%} charge instead of {now:.0%}"


def long_absences(case: Case) -> BoolArray:
    """The days of a year, shape (365,), in which nobody is there for LONG_ABSENCE_DAYS on end.

    Not those laid up; an absence over the new year counts as two.
    """
    occupied, laid_up = days_there(case)
    found = np.zeros(occupied.size, dtype=np.bool_)
    for first, last in runs(~occupied & ~laid_up):
        found[first:last] = last - first >= LONG_ABSENCE_DAYS
    return found


def _easy_months(
    arrangement: Arrangement, before: YearProfiles, ceiling: float
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    lowest = before.monthly_lowest_charge[0, -1]
    empty = 1.0 - arrangement.usable_depth
    short = before.monthly_unserved_wh[0].max(axis=0) > 0.0
    easy: np.ndarray[tuple[int], np.dtype[np.bool_]] = (
        lowest >= empty + RESERVE + 1.0 - ceiling
    ) & ~short
    return easy


def _costs_power(before: YearProfiles, after: YearProfiles) -> bool:
    for name in ("hours_without_power", "hours_any_load_short"):
        if np.any(after.totals[name] > before.totals[name] + 1e-9):
            return True
    floor = np.minimum(before.totals["lowest_charge"], NEARLY_EMPTY)
    return bool(np.any(after.totals["lowest_charge"] < floor))


def _with_cure(advice: Advice, before: YearProfiles, after: YearProfiles) -> Advice:
    """The advice with the hours without power that it cures as well."""
    name = "hours_without_power"
    cured_hours = float(before.totals[name][0, 0] - after.totals[name][0, 0])
    words = ""
    if cured_hours >= LEAST_CURED_HOURS:
        words = f" New, it would leave essential loads short {cured_hours:.0f} h a year less."
    return replace(advice, sentence=says(advice.sentence, words), cured_hours=cured_hours)


def _advice(
    case: Case,
    arrangement: Arrangement,
    change: _Change,
    profiles: tuple[YearProfiles, YearProfiles],
    years: tuple[float, float],
) -> Advice:
    """In whole years, beside the second model's; `profiles` and `years` as it is and changed."""
    oldest = case.assumptions.longest_life_years
    now, changed = years
    gain = _whole(changed - now)
    lasts = f"about {_whole(now) + gain}"
    if changed >= oldest:
        lasts = f"{oldest:g}, the most any bank is given,"
    before, after = (_second_years(case, arrangement, made) for made in profiles)
    words, second = ".", None
    if before is not None and after is not None:
        second = after - before
        outlived = oldest if min(before, after) >= oldest else None
        words = f"; {_second_words(second, outlived)}."
    return Advice(
        habit=change.habit,
        years=now,
        changed_years=changed,
        sentence=says(
            begun(change.words),
            f", the bank would last about {_count(gain)} longer ({lasts} instead of "
            f"{_whole(now)}){words}",
        ),
        caution=f"{change.caution} {ESTIMATE}",
        second_gain_years=second,
    )


def _second_years(case: Case, arrangement: Arrangement, made: YearProfiles) -> float | None:
    """Years by the second model, at most the age any bank is given; None where there is none."""
    oldest = case.assumptions.longest_life_years
    year = {name: float(made.totals[name][0, 0]) for name in SECOND_YEAR}
    opinion = second_opinion(arrangement.pack.chemistry, year, horizon_years=oldest)
    if opinion is None:
        return None
    found = opinion.years_to(case.assumptions.end_of_life_of(arrangement.pack.chemistry))
    return oldest if found is None else found


def _second_words(gain: float, outlived: float | None) -> str:
    start = "by a second model, which counts use and warmth but not how full the bank is,"
    if outlived is not None:
        return f"{start} {outlived:g} years or more either way"
    if _whole(abs(gain)) == 0:
        return f"{start} no longer"
    return f"{start} about {_count(_whole(abs(gain)))} {'longer' if gain > 0.0 else 'less'}"


def _whole(years: float) -> int:
    return int(years + 0.5)


def _count(years: int) -> str:
    return f"{years} year{'' if years == 1 else 's'}"
