"""Lead-acid batteries: rate, cold and heat.

Sealed and flooded lead-acid gives off hydrogen when charged and is sized for the coldest weeks;
the functions here only do the arithmetic. The maker's data for the very battery come first.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tco.physics.arrays import FloatArray

IEEE485_TEMPERATURE_DEGF = (40.0, 50.0, 60.0, 70.0, 77.0, 90.0, 100.0)
IEEE485_FACTOR = (1.300, 1.190, 1.110, 1.040, 1.000, 0.940, 0.910)
"""Cell size correction, base 77 degF (25 degC). IEEE Std 485, table of temperature correction
factors; the rows are from memory."""

TM_COLD_TEMPERATURE_DEGF = 0.0
TM_COLD_CAPACITY_FRACTION = 0.40
"""Capacity left at 0 degF. US Army TM 10-6140-200-14. Another source and another definition
than the IEEE table (capacity against room temperature, not a sizing factor)."""

IEEE450_END_OF_LIFE = 0.8
"""Share of its capacity at which a lead-acid battery is to be replaced: IEEE Std 450 (vented) and
1188 (valve regulated); from memory. Below it, capacity falls fast."""

COLDEST_EXTENSION_DEGC = -20.0
"""End of the cold extension, 4 degF below the last figure it rests on: our choice."""


SULPHATION = 0.5
"""A lead-acid bank that is never fully recharged ages faster by this share (0.5: half as fast
again), one that misses it on every other day by half of that: sulphate that is not turned back
hardens. Our choice, to be changed where better is known; no source gives it by days.

It lies between what one published model gives: Schiffer, Sauer, Bindner, Cronin, Lundsager, Kaiser,
J. Power Sources 168 (2007) 66-78, weight of the energy turned over by the time t since the last
full charge and the lowest charge since, 1 + (6.614e-5 + 3.307e-3 (1 - lowest)) t per hour at the
ten-hour current (constants from memory). At half charge that is 1.14 on average of a week between
full charges (here six days in seven missed: 1.43, the safe side) and 1.62 of a month (here 1.48).
Weaker currents weigh more in that model, and it lets corrosion be, which here grows alike."""


def _celsius(temperature_degf: float) -> float:
    return (temperature_degf - 32.0) / 1.8


def _check_rating(capacity_ah: float, rated_hours: float, exponent: float) -> None:
    if not 0.0 < capacity_ah < np.inf:
        raise ValueError("capacity_ah must be finite and above zero")
    if not 0.0 < rated_hours < np.inf:
        raise ValueError("rated_hours must be finite and above zero")
    if not 1.0 <= exponent < np.inf:
        raise ValueError("exponent must be finite and at least 1 (1 means no rate effect)")


def peukert_capacity_factor(
    current_a: ArrayLike, *, capacity_ah: float, rated_hours: float, exponent: float
) -> Any:
    """Return the share of the rated capacity that a constant current can draw.

    ``(C / (I * H)) ** (n - 1)``: the current times the time ``t = H * (C / (I * H)) ** n`` of
    Peukert's law (W. Peukert, Elektrotechnische Zeitschrift 20 (1897)) over the capacity. At and
    below the rated current it is 1: the law would promise ever more capacity there, without limit
    as the current falls to zero, and no datasheet bears that out. That cap is our choice and errs
    towards too little.

    Parameters
    ----------
    current_a
        Discharge current, scalar or array, zero or more. [A]
    capacity_ah
        Capacity at the rated time. [Ah]
    rated_hours
        Time in which the rated capacity is drawn, 20 for a C20 capacity. [h]
    exponent
        Peukert exponent, at least 1. [-]

    Returns
    -------
    float or array of the same shape, above 0 and at most 1. [fraction]

    Raises
    ------
    ValueError
        If a current is negative, the capacity or the time not above zero, or the exponent
        under 1.
    """
    _check_rating(capacity_ah, rated_hours, exponent)
    current: FloatArray = np.asarray(current_a, dtype=np.float64)
    if not np.all(np.isfinite(current) & (current >= 0.0)):
        raise ValueError("current_a must be finite and not negative")
    rated_a = capacity_ah / rated_hours
    return (rated_a / np.maximum(current, rated_a)) ** (exponent - 1.0)


def ieee485_temperature_factor(temperature_degc: ArrayLike, *, extrapolate: bool = False) -> Any:
    """Return by how much a lead-acid battery must be larger for a cold electrolyte.

    Linear interpolation in the table of IEEE Std 485, which covers 40 to 100 degF (4.4 to
    37.8 degC) here. Required capacity = capacity at 25 degC x factor.

    With ``extrapolate`` the range is -20 degC and up, by our own extension: towards the cold a
    straight line from the last IEEE row (1.300 at 40 degF) to the inverse of the 40 % capacity
    that US Army TM 10-6140-200-14 gives for 0 degF (2.5), and on at the same slope to -20 degC
    (2.62). That is another source with another definition, and a straight line in the factor
    asks for more than the 75 % at 32 degF of the same manual: it errs towards a larger battery.
    Above 100 degF the factor stays at 0.910: no credit for more heat.

    A discharged lead-acid battery freezes in such cold; the maker's limits come first.

    Parameters
    ----------
    temperature_degc
        Electrolyte temperature, scalar or array. [degC]
    extrapolate
        Whether to go outside the IEEE table as described.

    Returns
    -------
    float or array of the same shape. [-]

    Raises
    ------
    ValueError
        If a temperature is outside the range named above.
    """
    rows_degf = list(IEEE485_TEMPERATURE_DEGF)
    factors = list(IEEE485_FACTOR)
    lowest_degc, highest_degc = _celsius(rows_degf[0]), _celsius(rows_degf[-1])
    if extrapolate:
        lowest_degc, highest_degc = COLDEST_EXTENSION_DEGC, np.inf
        lowest_degf = COLDEST_EXTENSION_DEGC * 1.8 + 32.0
        slope_per_degf = (1.0 / TM_COLD_CAPACITY_FRACTION - factors[0]) / (
            TM_COLD_TEMPERATURE_DEGF - rows_degf[0]
        )
        factors.insert(0, factors[0] + slope_per_degf * (lowest_degf - rows_degf[0]))
        rows_degf.insert(0, lowest_degf)
    celsius: FloatArray = np.asarray(temperature_degc, dtype=np.float64)
    slack_k = 1e-9  # 40 degF typed in degC must not fall outside by rounding
    inside = (celsius >= lowest_degc - slack_k) & (celsius <= highest_degc + slack_k)
    if not np.all(np.isfinite(celsius) & inside):
        raise ValueError(
            f"temperature_degc must lie in {lowest_degc:.1f} to {highest_degc:.1f} degC"
            + ("" if extrapolate else " (the IEEE 485 table); extrapolate=True goes further")
        )
    return np.interp(celsius * 1.8 + 32.0, rows_degf, factors)
