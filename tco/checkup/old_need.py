"""What a case asks of its old bank, by the same simulated years as the others."""

import math
from dataclasses import dataclass

import numpy as np

from tco.bank.arrangements import Arrangement, arranged
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Candidate, Case, specify
from tco.life.conditions import conditions
from tco.life.cures import (
    Enlargement,
    WeakPoint,
    extra_capacity_needed,
    extra_solar_needed,
    weak_point,
)
from tco.life.year import HEALTH_LEVELS, year_profiles
from tco.physics.arrays import FloatArray

LOWEST_HEALTH = 0.1
"""The need is looked for down to this health. Our choice."""

DOWN_TO = (0.3, 0.2, LOWEST_HEALTH)
"""Each is simulated as the end of its life: the levels down to the first, and then those of the
others that lie lower. The most worn banks in use are well above the first. Our choice."""


def old_bank_arrangement(
    case: Case, *, rated_ah: float | None = None, chemistry: str | None = None
) -> Arrangement:
    """The old bank as one pack of the system's voltage; the case says what is not given.

    Raises
    ------
    ValueError
        If the case has no old bank, or its Ah are not known.
    """
    old = case.system.old_bank
    if old is None:
        raise ValueError("the case has no old bank")
    capacity_ah = rated_ah if rated_ah is not None else old.capacity_ah
    if capacity_ah is None:
        raise ValueError("the Ah of the old bank are not known")
    candidate = Candidate(
        name="the old bank",
        chemistry=chemistry or old.chemistry,
        nominal_voltage_v=float(case.system.nominal_voltage_v),
        capacity_ah=capacity_ah,
        price=0.0,
    )
    return arranged(case, specify(candidate), 1, 1)


@dataclass(frozen=True)
class OldNeed:
    """What a case asks of its old bank.

    `hours` are those of a mean year in which essential loads go short at each health of `levels`
    (from 1 downward), shapes (levels,); `tolerated_hours` a year the case allows. `weak` says what
    is too small with a new bank of that size; `more_capacity` and `more_solar` how much more of
    either would do, None where a new bank is enough.
    """

    levels: FloatArray
    hours: FloatArray
    tolerated_hours: float
    weak: WeakPoint
    more_capacity: Enlargement | None
    more_solar: Enlargement | None

    @property
    def missing(self) -> str:
        """What even a new bank of that size lacks: the weak point, or what alone would cure it.

        Twice the capacity tells little of a bank far too small: where only more capacity brings
        the hours down to what is tolerated, or only more solar, that is what is missing; where
        neither does, what leaves fewer.
        """
        verdict, more, sun = self.weak.verdict, self.more_capacity, self.more_solar
        if verdict not in ("battery", "charging") or more is None or sun is None:
            return verdict
        if (more.factor is None) != (sun.factor is None):
            return "charging" if more.factor is None else "battery"
        if more.factor is None:
            return "battery" if more.hours_without_power < sun.hours_without_power else "charging"
        return verdict

    @property
    def needed_health(self) -> float:
        """Health below which essential loads go short for longer than tolerated.

        Straight lines between the levels. inf where even a new bank falls short (too small, or
        too little charging); 0 where the lowest level still does: the search ended there, and no
        need was found.
        """
        over = np.flatnonzero(self.hours > self.tolerated_hours)
        if over.size == 0:
            return 0.0
        first = int(over[0])
        if first == 0:
            return math.inf
        before, at = self.hours[first - 1], self.hours[first]
        share = (self.tolerated_hours - before) / (at - before)
        step = self.levels[first] - self.levels[first - 1]
        return float(self.levels[first - 1] + share * step)

    def hours_at(self, health: float) -> float:
        """Hours short a year at a health; beyond the levels, those of the nearest."""
        return float(np.interp(health, self.levels[::-1], self.hours[::-1]))


def need_of(case: Case) -> OldNeed | None:
    """What the case asks of its old bank; None where it has none, or does not say its Ah."""
    old = case.system.old_bank
    if old is None or old.capacity_ah is None:
        return None
    return old_need(case, old_bank_arrangement(case))


def old_need(case: Case, arrangement: Arrangement) -> OldNeed:
    """What the case asks of a bank: its hours short by health, and what is missing when new.

    The weather years are simulated at health 1 down to LOWEST_HEALTH. Cables are left out of
    account.
    """
    bank, hourly = Bank(arrangement), conditions(case, energy_budget(case))
    levels = hours = np.zeros(0)
    for lowest in DOWN_TO:
        assumptions = case.assumptions.model_copy(
            update={"end_of_life_health": lowest, "lead_end_of_life_health": lowest}
        )
        profiles = year_profiles([bank], hourly, assumptions)
        levels = np.concatenate([levels, profiles.health[0]])
        hours = np.concatenate([hours, profiles.totals["hours_without_power"][0]])
    worn = np.flatnonzero((levels < DOWN_TO[0]) | (np.arange(levels.size) < HEALTH_LEVELS))
    order = worn[np.argsort(-levels[worn])]
    levels, hours = levels[order], hours[order]
    tolerated = case.assumptions.tolerated_hours_without_power
    more = sun = None
    if hours[0] > tolerated:
        more = extra_capacity_needed(case, bank, hourly)
        sun = extra_solar_needed(case, bank, hourly)
    return OldNeed(
        levels=levels,
        hours=hours,
        tolerated_hours=tolerated,
        weak=weak_point(case, bank, hourly),
        more_capacity=more,
        more_solar=sun,
    )
