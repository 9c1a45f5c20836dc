"""The health an old bank must have to meet the need, by the same simulated year as the others."""

import math

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.budget import energy_budget
from tco.case import Candidate, Case, specify
from tco.life.conditions import conditions
from tco.life.year import year_profiles

LOWEST_HEALTH = 0.3
"""The need is looked for down to this health. Our choice."""


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
    return Arrangement(specify(candidate), 1, 1)


def needed_health(case: Case, arrangement: Arrangement) -> float:
    """Health below which a bank leaves essential loads without power longer than tolerated.

    The weather years are simulated at health 1 and at `assumptions.end_of_life_health` and the
    levels between; straight lines between the levels. inf where even a new bank falls short
    (too small, or too little charging); the lowest level where that still does: that or less
    is enough. Cables are left out of account.
    """
    assumptions = case.assumptions.model_copy(update={"end_of_life_health": LOWEST_HEALTH})
    hourly = conditions(case, energy_budget(case))
    profiles = year_profiles([arrangement], [0.0], hourly, assumptions)
    hours = profiles.totals["unserved_essential_hours"][0]
    tolerated = assumptions.tolerated_hours_without_power
    over = np.flatnonzero(hours > tolerated)
    if over.size == 0:
        return float(profiles.health[-1])
    first = int(over[0])
    if first == 0:
        return math.inf
    share = (tolerated - hours[first - 1]) / (hours[first] - hours[first - 1])
    step = profiles.health[first] - profiles.health[first - 1]
    return float(profiles.health[first - 1] + share * step)
