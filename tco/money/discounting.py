"""Time value of money: factors of ASTM E917 and NIST Handbook 135.

Rates are per year, as fractions. Amounts at time t (years, 0 is the day of purchase) are
discounted by (1 + rate)^-t.
"""

import math
from collections.abc import Iterable


def present_value_factor(rate: float, years: float) -> float:
    """Single present value factor, (1 + d)^-n (NIST Handbook 135: SPV).

    Raises
    ------
    ValueError
        When the rate is -1 or below.
    """
    _check(rate)
    return float((1.0 + rate) ** -years)


def uniform_present_value_factor(rate: float, years: float) -> float:
    """Present value of one paid at the end of each year: (1 - (1+d)^-n)/d; n at rate 0 (UPV).

    Raises
    ------
    ValueError
        When the rate is -1 or below, or the years below zero.
    """
    _check(rate)
    if years < 0:
        raise ValueError(f"years must not be below zero, got {years:g}")
    if rate == 0.0:
        return float(years)
    # expm1 and log1p keep every digit at rates near zero
    return -math.expm1(-years * math.log1p(rate)) / rate


def capital_recovery_factor(rate: float, years: float) -> float:
    """Equal yearly amount that is worth one today, 1/UPV (CRF).

    Raises
    ------
    ValueError
        When there are no years to spread over, or the rate is -1 or below.
    """
    if years <= 0:
        raise ValueError(f"years must be above zero, got {years:g}")
    return 1.0 / uniform_present_value_factor(rate, years)


def real_rate(rate: float, inflation: float) -> float:
    """Discount rate for amounts in constant money: (1 + d)/(1 + i) - 1 (NIST Handbook 135).

    Raises
    ------
    ValueError
        When either rate is -1 or below.
    """
    _check(rate)
    _check(inflation)
    return (rate - inflation) / (1.0 + inflation)


def net_present_value(rate: float, flows: Iterable[tuple[float, float]]) -> float:
    """Sum of (time in years, amount) pairs, each discounted to today.

    Raises
    ------
    ValueError
        When the rate is -1 or below.
    """
    return sum(amount * present_value_factor(rate, time) for time, amount in flows)


def _check(rate: float) -> None:
    if rate <= -1.0:
        raise ValueError(f"a rate must be above -1, got {rate:g}")
