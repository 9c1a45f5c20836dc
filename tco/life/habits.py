"""Habits that age a bank, and what changing them gains, each in one sentence.

Laid-up storage, warmth of the space, and a bank that is always full: each habit is changed in the
simulated years and the bank's health followed again. Only what gains at least half a year and
leaves nobody without power is given.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.replacing import replacement_price
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.health import LONGEST_LIFE_YEARS, Life, live
from tco.life.year import YearProfiles, year_profiles

Habit = Literal["storage charge", "cooler space", "warmer space", "charge ceiling"]

LEAST_GAIN_YEARS = 0.5
"""Less is not worth a habit, nor within what such a model can tell. Our choice."""

STORAGE_CHARGE = 0.5
"""State of charge for laying up lithium and sodium cells: 40 to 60 %, common practice, no source.
Lead-acid is laid up full, or it sulphates."""

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
"""What stands beside every advice: such lives are extrapolated."""


@dataclass(frozen=True)
class Advice:
    """A habit to change: years to the end of life as it is and changed, and one sentence.

    `years` and `changed_years` are at most LONGEST_LIFE_YEARS, which then means "or more".
    `caution` is to stand beside it.
    """

    habit: Habit
    years: float
    changed_years: float
    sentence: str
    caution: str

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
    arrangement: Arrangement,
    wiring_ohm: float,
    conditions: Conditions,
    *,
    unevenness: float = 1.0,
) -> tuple[Advice, ...]:
    """Habits worth changing with one bank, the greatest gain first.

    Each gain is of one habit alone; gains do not add up. A change counts only if at no level of
    health more hours go short than before, of essential or of other loads, and the bank does not
    come near empty because of it.

    Parameters
    ----------
    wiring_ohm, unevenness
        As in `tco.life.year.year_profiles`.
    """

    def followed(made: Conditions) -> tuple[YearProfiles, Life]:
        profiles = year_profiles(
            [arrangement], [wiring_ohm], made, case.assumptions, unevenness=[unevenness]
        )
        lives = live(
            profiles,
            horizon_years=case.assumptions.horizon_years,
            end_of_life_health=case.assumptions.end_of_life_health,
            tolerated_hours=case.assumptions.tolerated_hours_without_power,
            replacement_price=replacement_price(case, arrangement),
            day_price=case.prices.day_without_power_price,
            hour_price=case.prices.hour_without_power_price,
        )
        return profiles, lives[0]

    before, life = followed(conditions)
    found: dict[Habit, Advice] = {}
    for change in _changes(case, arrangement, conditions, before):
        after, changed = followed(change.conditions)
        if _costs_power(before, after):
            continue
        advice = _advice(change, _years(life), _years(changed))
        held = found.get(change.habit)
        best = LEAST_GAIN_YEARS if held is None else held.gain_years + 1e-9
        if advice.gain_years >= best:
            found[change.habit] = advice
    return tuple(sorted(found.values(), key=lambda advice: -advice.gain_years))


def _changes(
    case: Case, arrangement: Arrangement, made: Conditions, before: YearProfiles
) -> Iterator[_Change]:
    lead = arrangement.pack.chemistry.family == "lead"
    stored = made.storage_charge
    if made.laid_up.any():
        if lead and stored < STORED_FULL and case.use.charged_when_laid_up != "no":
            yield _laid_up_at(
                1.0, made, "Lead-acid that is left part charged hardens with sulphate."
            )
        elif not lead and stored > STORAGE_CHARGE:
            yield _laid_up_at(
                STORAGE_CHARGE,
                made,
                "The maker's storage instructions go first; look at it monthly.",
            )
    if made.space_degc.max() > COOL_DEGC:
        yield _Change(
            "cooler space",
            replace(made, space_degc=np.minimum(made.space_degc, COOL_DEGC)),
            f"in a space that stays below {COOL_DEGC:g} °C",
            "Do not close openings that the maker or local code asks for.",
        )
    if made.space_degc.min() < WARM_DEGC:
        yield _Change(
            "warmer space",
            replace(made, space_degc=np.maximum(made.space_degc, WARM_DEGC)),
            f"in a space that stays above {WARM_DEGC:g} °C",
            "Heat and insulation beside a battery as its maker and local code allow.",
        )
    if not lead:
        for ceiling in CEILINGS:
            easy = _easy_months(arrangement, before, ceiling)
            if easy.any():
                limits = np.minimum(np.where(easy, ceiling, 1.0), made.charge_ceiling)
                yield _Change(
                    "charge ceiling",
                    replace(made, charge_ceiling=tuple(float(limit) for limit in limits)),
                    f"charged to {ceiling:.0%} only"
                    + ("" if easy.all() else f" in its {easy.sum()} easy months"),
                    "Charge it full now and then all the same, so that its cells are balanced and "
                    "the charge display stays right; by the maker's instructions.",
                )


def _laid_up_at(charge: float, made: Conditions, caution: str) -> _Change:
    return _Change(
        "storage charge",
        replace(made, storage_charge=charge),
        f"laid up at {charge:.0%} charge instead of {made.storage_charge:.0%}",
        caution,
    )


def _easy_months(
    arrangement: Arrangement, before: YearProfiles, ceiling: float
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    lowest = before.monthly_lowest_charge[0, -1]
    empty = 1.0 - arrangement.pack.usable_depth
    short = before.monthly_unserved_wh[0].max(axis=0) > 0.0
    easy: np.ndarray[tuple[int], np.dtype[np.bool_]] = (
        lowest >= empty + RESERVE + 1.0 - ceiling
    ) & ~short
    return easy


def _costs_power(before: YearProfiles, after: YearProfiles) -> bool:
    for name in ("unserved_essential_hours", "unserved_hours"):
        if np.any(after.totals[name] > before.totals[name] + 1e-9):
            return True
    floor = np.minimum(before.totals["lowest_charge"], NEARLY_EMPTY)
    return bool(np.any(after.totals["lowest_charge"] < floor))


def _years(life: Life) -> float:
    return LONGEST_LIFE_YEARS if life.first_life_years is None else life.first_life_years


def _advice(change: _Change, years: float, changed: float) -> Advice:
    more = " or more" if changed >= LONGEST_LIFE_YEARS else ""
    return Advice(
        habit=change.habit,
        years=years,
        changed_years=changed,
        sentence=(
            f"{change.words[0].upper()}{change.words[1:]}, the bank would last "
            f"{changed - years:.1f} years longer ({changed:.1f}{more} instead of {years:.1f})."
        ),
        caution=f"{change.caution} {ESTIMATE}",
    )
