"""Metric values, as a reader with pounds and inches wants them; sentences: `tco.sentences`."""

from tco.case.units import from_canonical
from tco.forms.entry import Units
from tco.sentences import imperial as in_imperial


def shown(
    value: float, unit: str, *, imperial: bool, difference: bool = False
) -> tuple[float, str]:
    """A value with its unit, turned to lb, in, ft or degF for imperial readers.

    `difference` marks a difference of temperatures (a margin), which has no offset.
    """
    return in_imperial(value, unit, difference=difference) if imperial else (value, unit)


def mass(kg: float, units: Units, *, digits: int = 0) -> str:
    """A mass in the user's unit."""
    if units == "imperial":
        return f"{from_canonical(kg, 'kg', 'lb'):,.{digits}f} lb"
    return f"{kg:,.{digits}f} kg"


def temperature(degc: float, units: str) -> str:
    """A temperature in the user's unit."""
    if units == "imperial":
        return f"{from_canonical(degc, 'degc', 'degf'):.0f} °F"
    return f"{degc:.0f} °C"
