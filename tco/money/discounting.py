"""Time value of money: factors of ASTM E917 and NIST Handbook 135.

Rates are per year, as fractions. Amounts at time t (years, 0 is the day of purchase) are
discounted by (1 + rate)^-t.
"""

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
    """Present value of one paid at the end of each year: (1 - (1+d)^-n)/d; n at rate 0 (UPV)."""
    _check(rate)
    if abs(rate) < 1e-12:
        return float(years)
    return float((1.0 - (1.0 + rate) ** -years) / rate)


def capital_recovery_factor(rate: float, years: float) -> float:
    """Equal yearly amount that is worth one today, 1/UPV (CRF).

    Raises
    ------
    ValueError
        When there are no years to spread over.
    """
    if years <= 0:
        raise ValueError(f"years must be above zero, got {years:g}")
    return 1.0 / uniform_present_value_factor(rate, years)


def escalating_present_value_factor(rate: float, escalation: float, years: int) -> float:
    """Present value of one, grown by `escalation` a year, paid at each year's end (UPV*).

    (1+e)/(d-e) (1 - ((1+e)/(1+d))^n); n where both rates are equal (NIST Handbook 135).
    """
    _check(rate)
    ratio = (1.0 + escalation) / (1.0 + rate)
    if abs(ratio - 1.0) < 1e-12:
        return float(years)
    return float((1.0 + escalation) / (rate - escalation) * (1.0 - ratio**years))


def net_present_value(rate: float, flows: Iterable[tuple[float, float]]) -> float:
    """Sum of (time in years, amount) pairs, each discounted to today."""
    return sum(amount * present_value_factor(rate, time) for time, amount in flows)


def _check(rate: float) -> None:
    if rate <= -1.0:
        raise ValueError(f"a rate must be above -1, got {rate:g}")
