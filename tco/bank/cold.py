"""How cold the battery's space gets, and whether a pack may be charged and used there."""

from functools import lru_cache

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.case import Case, Pack
from tco.physics.heat import space_temperature_degc, surface_conductance_w_per_k


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
    there = month + 1 in use.months_in_use
    return _space_degc(outdoor, use.living_degc, coldest_warmth(case), there)


def _night_degc(case: Case, month: int) -> float:
    """Temperature of the space at the mean daily minimum, heated only if always occupied. [degC]"""
    always_there = month + 1 in case.use.months_in_use and case.use.days_away_per_month[month] == 0
    outdoor, living = case.climate.min_degc[month], case.use.living_degc
    return _space_degc(outdoor, living, coldest_warmth(case), always_there)


@lru_cache(maxsize=1024)  # asked for every month of every bank
def _space_degc(outdoor: float, living: float, warmth: float, occupied: bool) -> float:
    return float(
        space_temperature_degc(outdoor, living_degc=living, warmth=warmth, occupied=occupied)
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


MASS_DENSITY_KG_PER_L = 1.6
"""Density of packs, for the surface of one that states no dimensions. Common practice."""


def conductance_w_per_k(arrangement: Arrangement) -> float:
    """Heat that passes the bare surface of all packs for each K above their space. [W/K]"""
    return surface_conductance_w_per_k(*_dimensions_mm(arrangement.pack), packs=arrangement.packs)


def _dimensions_mm(pack: Pack) -> tuple[float, float, float]:
    if pack.dimensions_mm is not None:
        return pack.dimensions_mm
    side = (pack.mass_kg / MASS_DENSITY_KG_PER_L * 1e6) ** (1.0 / 3.0)
    return side, side, side


def surface_share(case: Case) -> float:
    """Heat that passes the packs' surface with the foam of their space, over that without.

    The thinnest foam decides, as the coldest space does.
    """
    return max(space.surface_share for space in case.system.spaces)


def heater_lift_k(case: Case, arrangement: Arrangement) -> float:
    """How far above their space the packs' own heaters can hold them for good. [K]"""
    heat_w = arrangement.pack.heater_w * arrangement.packs
    return heat_w / (conductance_w_per_k(arrangement) * surface_share(case))
