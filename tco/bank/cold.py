"""How cold the battery's space gets, and whether a pack may be charged and used there."""

import numpy as np

from tco.case import Case
from tco.physics.heat import space_temperature_degc


def coldest_warmth(case: Case) -> float:
    """Warmth share of the coldest battery space: packs in it decide for the bank."""
    return min(space.warmth_share for space in case.system.spaces)


def design_temperature_degc(case: Case, month: int) -> float:
    """Temperature at which a month's energy is judged: between its mean and mean minimum. [degC]

    A bank takes hours to follow the air, so that it sees neither the night's minimum nor, in a
    cold spell, the monthly mean. Common practice, no source.
    """
    climate, use = case.climate, case.use
    outdoor = (climate.mean_degc[month] + climate.min_degc[month]) / 2.0
    return float(
        space_temperature_degc(
            outdoor,
            living_degc=use.living_degc,
            warmth=coldest_warmth(case),
            occupied=month + 1 in use.months_in_use,
        )
    )


def _night_degc(case: Case, month: int) -> float:
    """Temperature of the space at the mean daily minimum, heated only if always occupied. [degC]"""
    always_there = month + 1 in case.use.months_in_use and case.use.days_away_per_month[month] == 0
    return float(
        space_temperature_degc(
            case.climate.min_degc[month],
            living_degc=case.use.living_degc,
            warmth=coldest_warmth(case),
            occupied=always_there,
        )
    )


def coldest_night(case: Case, months: list[int]) -> tuple[float, int]:
    """The coldest of the usual nights of some months in the space, and its month (0..11)."""
    nights = [_night_degc(case, month) for month in months]
    at = int(np.argmin(nights))
    return nights[at], months[at]


def months_of_draw(case: Case) -> list[int]:
    """Months (0..11) in which power is drawn: those in use, or with a load when nobody is there."""
    away = {month for load in case.loads if load.also_when_away for month in load.months}
    return [m for m in range(12) if m + 1 in away or m + 1 in case.use.months_in_use]
