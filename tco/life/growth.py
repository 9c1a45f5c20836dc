"""How the resistance of a pack grows: with the capacity it loses, or with time where that is more.

Naumann et al. 2018 (see `tco.physics.ageing`) found that resistance grows in a straight line with
time, much faster in heat than capacity is lost. It is summed over the hours of the year of a new
bank; health says how old such a bank is, and so how far its resistance has grown.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tco.life.stress import TABLE_DEGC, Stress
from tco.physics.ageing import (
    NAUMANN_COLDEST_DEGC,
    NAUMANN_RESISTANCE_SOC_OFFSET,
    NAUMANN_WARMEST_DEGC,
    naumann_resistance_rate,
)
from tco.physics.arrays import FloatArray

RESISTANCE_GROWTH_PER_LOSS = 2.0
"""Resistance grows at least by this share for each share of capacity lost (20 % lost: 40 % more).
From memory; NMC cells in store grew 1.7 to 2.2 for each share by Schmalstieg 2014 (25 to 45 degC,
constants from memory). Lithium iron phosphate: in ten years at 25 degC and half charge 1.25 for
each share by Naumann 2018, but 3.5 at 40 degC and half charge: hence the second rule."""

STORE_GROWTH_PER_HOUR: FloatArray = (
    3600.0
    * naumann_resistance_rate(np.clip(TABLE_DEGC, NAUMANN_COLDEST_DEGC, NAUMANN_WARMEST_DEGC), 0.5)
    / NAUMANN_RESISTANCE_SOC_OFFSET
)
"""Growth in store per hour by temperature (TABLE_DEGC), without the factor of the charge, which is
NAUMANN_RESISTANCE_SOC_SQUARE (charge - 0.5)^2 + NAUMANN_RESISTANCE_SOC_OFFSET."""


def age_growth(
    stress: Stress, resistance_per_year: float, calendar_per_year: float, cycle_per_year: float
) -> float:
    """What time adds to the resistance of a bank by when all its capacity would be lost.

    With both losses the power z of their stress, and every year like the first, a bank that lost
    the share L is (L / K)^(1/z) years old, K the loss of its first year. Its resistance has then
    grown by `resistance_growth`'s A L^(1/z), A = r / K^(1/z). 0 where no law of time is known.

    Parameters
    ----------
    resistance_per_year
        r, growth of a year, `resistance_growth` of `tco.life.records.RESULT`. [share of the new
        resistance]
    calendar_per_year, cycle_per_year
        Stresses of the same year, of a new bank.
    """
    loss = float(stress.loss(np.array([calendar_per_year]), np.array([cycle_per_year]))[0])
    if stress.growth_scale == 0.0 or loss <= 0.0:
        return 0.0
    return stress.growth_scale * resistance_per_year / loss ** (1.0 / stress.exponent)


def resistance_growth(health: ArrayLike, *, by_age: float = 0.0) -> Any:
    """Resistance of a worn pack over new, at a health (scalar or array).

    The larger of the growth with loss and of that with time. `by_age` is A of `age_growth`, which
    only the square root law of lithium iron phosphate has, hence the square.
    """
    loss = 1.0 - np.asarray(health, dtype=np.float64)
    return 1.0 + np.maximum(RESISTANCE_GROWTH_PER_LOSS * loss, by_age * loss**2)
