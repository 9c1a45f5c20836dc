"""Metric values and sentences of the engine, as a reader with pounds and inches wants them."""

import re

from tco.case.units import from_canonical
from tco.forms.labels import Units

KG_PER_LB = 0.45359237
MM_PER_IN = 25.4
M_PER_FT = 0.3048
"""Exact by definition (international yard and pound, 1959)."""

_FACTORS = {"kg": ("lb", KG_PER_LB), "mm": ("in", MM_PER_IN), "m": ("ft", M_PER_FT)}
_DECIMALS = {"lb": 0, "in": 1, "ft": 1, "degF": 1}

# a price by mass; and a number right before its unit; "mm2" and "kg/..." are other units
_PER_KG = re.compile(r"([0-9][0-9,]*\.[0-9]+) per kg\b")
_QUANTITY = re.compile(r"(?<![\w.,])(-?[0-9][0-9,]*(?:\.[0-9]+)?) (kg|mm|degC)(?![\w/])")


def shown(
    value: float, unit: str, *, imperial: bool, difference: bool = False
) -> tuple[float, str]:
    """A value with its unit, turned to lb, in, ft or degF for imperial readers.

    `difference` marks a difference of temperatures (a margin), which has no offset.
    """
    if not imperial:
        return value, unit
    if unit == "degC":
        return value * 1.8 + (0.0 if difference else 32.0), "degF"
    if unit in _FACTORS:
        name, factor = _FACTORS[unit]
        return value / factor, name
    return value, unit


def in_words(sentence: str, *, imperial: bool) -> str:
    """A sentence with every `12 mm`, `43 kg`, `-5 degC` and `1.50 per kg` turned for US readers."""
    if not imperial:
        return sentence

    def turned(match: re.Match[str]) -> str:
        value, unit = shown(float(match[1].replace(",", "")), match[2], imperial=True)
        return f"{value:,.{_DECIMALS[unit]}f} {unit}"

    def per_pound(match: re.Match[str]) -> str:
        return f"{float(match[1].replace(',', '')) * KG_PER_LB:,.2f} per lb"

    return _PER_KG.sub(per_pound, _QUANTITY.sub(turned, sentence))


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
