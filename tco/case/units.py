"""Units at the edge: what people type, turned into what the engine computes with.

Inside, a quantity has one unit, written in its field name (`width_mm`, `mass_kg`). At the edge
the same quantity may be typed with another unit, in the key (`width_in = 24`), in the value
(`width_mm = "24 in"`) or in a table's heading (`Width (in)`). Everything goes through
`to_canonical`.

Conversion factors are exact by definition (international yard and pound, 1959).
"""

import math
import re
from collections.abc import Callable, Mapping
from types import MappingProxyType


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


def _fahrenheit(value: float) -> float:
    return (value - 32.0) * 5.0 / 9.0


_SAME = _times(1.0)

# canonical unit -> {typed unit: conversion}; typed units are compared in lower case.
CONVERSIONS: Mapping[str, Mapping[str, Callable[[float], float]]] = MappingProxyType(
    {
        "mm": {
            "mm": _SAME,
            "cm": _times(10.0),
            "m": _times(1000.0),
            "in": _times(25.4),
            "inch": _times(25.4),
            "inches": _times(25.4),
            '"': _times(25.4),
            "″": _times(25.4),
            "ft": _times(304.8),
        },
        "m": {
            "m": _SAME,
            "mm": _times(0.001),
            "cm": _times(0.01),
            "ft": _times(0.3048),
            "feet": _times(0.3048),
            "in": _times(0.0254),
        },
        "kg": {
            "kg": _SAME,
            "g": _times(0.001),
            "lb": _times(0.45359237),
            "lbs": _times(0.45359237),
            "oz": _times(0.45359237 / 16.0),
        },
        "degc": {
            "degc": _SAME,
            "deg c": _SAME,
            "c": _SAME,
            "°c": _SAME,
            "° c": _SAME,
            "ºc": _SAME,
            "℃": _SAME,
            "degf": _fahrenheit,
            "deg f": _fahrenheit,
            "f": _fahrenheit,
            "°f": _fahrenheit,
            "° f": _fahrenheit,
            "ºf": _fahrenheit,
            "℉": _fahrenheit,
        },
        "w": {"w": _SAME, "kw": _times(1000.0), "wp": _SAME, "kwp": _times(1000.0)},
        "wh": {"wh": _SAME, "kwh": _times(1000.0)},
        "kwh": {"kwh": _SAME, "wh": _times(0.001)},
        "a": {"a": _SAME, "ma": _times(0.001), "amp": _SAME, "amps": _SAME},
        "ah": {"ah": _SAME, "mah": _times(0.001)},
        "v": {"v": _SAME, "mv": _times(0.001), "vdc": _SAME, "volt": _SAME, "volts": _SAME},
        "mohm": {"mohm": _SAME, "mω": _SAME, "ohm": _times(1000.0), "ω": _times(1000.0)},
        "cycles": {"cycles": _SAME, "cycle": _SAME},
        "years": {
            "years": _SAME,
            "year": _SAME,
            "yr": _SAME,
            "yrs": _SAME,
            "y": _SAME,
            "months": _times(1.0 / 12.0),
            "month": _times(1.0 / 12.0),
        },
        "days": {
            "days": _SAME,
            "day": _SAME,
            "d": _SAME,
            "weeks": _times(7.0),
            "week": _times(7.0),
        },
        "hours": {
            "hours": _SAME,
            "h": _SAME,
            "hour": _SAME,
            "min": _times(1.0 / 60.0),
            "minutes": _times(1.0 / 60.0),
        },
        "deg": {"deg": _SAME, "°": _SAME},
        "": {"": _SAME, "%": _times(0.01), "percent": _times(0.01)},
        "#": {"": _SAME},
    }
)
"""Units that may be typed for each unit the engine uses; "" is a share (percent may be typed),
"#" a plain number."""

SHOWN: Mapping[str, str] = MappingProxyType(
    {
        "degc": "degC",
        "degf": "degF",
        "w": "W",
        "kw": "kW",
        "wp": "Wp",
        "wh": "Wh",
        "kwh": "kWh",
        "a": "A",
        "ma": "mA",
        "ah": "Ah",
        "mah": "mAh",
        "v": "V",
        "mv": "mV",
        "#": "",
        "percent": "%",
    }
)
"""How a unit is written for people, where that differs from its key."""

_KEY_UNITS = sorted(
    {
        unit
        for table in CONVERSIONS.values()
        for unit in table
        if unit.replace("°", "").isalpha() and unit.isascii()
    }
    | {"percent"},
    key=len,
    reverse=True,
)

# The number at the head of a cell, in any of the usual ways to write one, and what follows it.
_NUMBER = re.compile(
    r"([+-]?(?:[0-9][0-9.,'’_\u0020]*[0-9]|[.,]?[0-9]+)[.,]?(?:e[+-]?[0-9]+)?)(?![0-9])(.*)",
    re.IGNORECASE | re.DOTALL,
)
_MIXED_FRACTION = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)(?![0-9])(.*)", re.DOTALL)
_MEASURED_IN_FRACTIONS = frozenset({"mm", "m", "kg", "hours"})
"""What is measured in halves and quarters; of volts, amperes or cycles 12/24 is two values."""
_FRACTIONS = frozenset({2, 3, 4, 8, 16, 32, 64})
"""Parts of an inch on a rule, of a pound or an hour (common practice, no source)."""
_THREE_DECIMALS = re.compile(r"([1-9][0-9]{0,2})\.([0-9]{3})(?![0-9.,])")
"""Of something whole, such as cycles, three digits after a point are thousands."""
_BLANKS = str.maketrans(dict.fromkeys("\xa0\u2009\u202f\t\r\n", " ") | {"\u2212": "-"})


class UnitProblem(ValueError):  # noqa: N818
    """A typed quantity that cannot be read: what is wrong, what is allowed, how to mend it."""

    def __init__(self, what: str, *, allowed: str = "", mend: str = "") -> None:
        self.what, self.allowed, self.mend = what, allowed, mend
        super().__init__(". ".join(part for part in (what, mend) if part))


def unit_of_field(field: str) -> str:
    """Canonical unit at the end of a field name, or before `_per_`; "" where it has none.

    >>> unit_of_field("width_mm"), unit_of_field("hours_per_day"), unit_of_field("usable_depth")
    ('mm', 'hours', '')
    """
    if "_" not in field:
        return ""
    tail = field.split("_per_", 1)[0].rsplit("_", 1)[-1]
    return tail if tail in CONVERSIONS else ""


def shown_unit(unit: str) -> str:
    """A unit's key as people write it.

    >>> shown_unit("degf"), shown_unit("mm")
    ('degF', 'mm')
    """
    return SHOWN.get(unit.lower(), unit)


def parse_number(text: str) -> float:
    """A number as shops write it: thousands marks, decimal comma, stray blanks.

    Thousands marks (blank, apostrophe, underscore, comma, point) must stand between groups of
    three digits, so that a forgotten or a double digit is not passed over.

    >>> parse_number("1,299.00"), parse_number("12,8"), parse_number("1 250")
    (1299.0, 12.8, 1250.0)

    Raises
    ------
    UnitProblem
        When no number can be read, when it can be read in two ways (`"1,250"`), or when it is too
        large for a computer's number.
    """
    s = text.translate(_BLANKS).replace("’", "'").strip()
    sign = s[:1] if s[:1] in ("+", "-") else ""
    body, _, exponent = s[len(sign) :].lower().partition("e")
    body = body.rstrip(".,") if re.fullmatch(r"[0-9]+[.,]", body) else body
    if "e" in s.lower() and not re.fullmatch(r"[+-]?[0-9]+", exponent):
        raise UnitProblem("is not a number")
    if re.fullmatch(r"[0-9]{1,3}(?:([ '_])[0-9]{3})(?:\1[0-9]{3})*(?:[.,][0-9]+)?", body):
        body = re.sub(r"[ '_]", "", body).replace(",", ".")
    elif re.fullmatch(r"[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+|[0-9]{1,3}(?:,[0-9]{3}){2,}", body):
        body = body.replace(",", "")
    elif re.fullmatch(r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+|[0-9]{1,3}(?:\.[0-9]{3}){2,}", body):
        body = body.replace(".", "").replace(",", ".")
    elif re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", body):
        whole, _, rest = body.partition(",")
        raise UnitProblem(
            f"can mean {sign}{whole}{rest} or {sign}{whole}.{rest}",
            mend=f"Write {sign}{whole}{rest} or {sign}{whole}.{plain_decimals(rest)}.",
        )
    elif re.fullmatch(r"[0-9]*[.,]?[0-9]+", body):
        body = body.replace(",", ".")
    else:
        raise UnitProblem(
            "is not a number", mend="Write the number alone; a remark goes into the notes."
        )
    number = float(f"{sign}{body}e{exponent or 0}")
    if not math.isfinite(number):
        raise UnitProblem("is too large")
    return number


def plain_decimals(digits: str) -> str:
    """Decimals written so that they cannot be taken for thousands, that is, not three of them.

    >>> plain_decimals("250"), plain_decimals("625"), plain_decimals("000")
    ('25', '6250', '0')
    """
    short = digits.rstrip("0") or "0"
    return f"{short}0" if len(short) == 3 else short


_CURRENCY = r"(?:[A-Z]{3}|[A-Z]{0,3}[^\w\s.,'()+\-/%~<>=?!]|kr|Rs|zł|Kč|Fr|Ft|lei)\.?"
_PRICE = re.compile(
    rf"(?:{_CURRENCY}\s*)?([+-]?[0-9][0-9.,' _]*?(?:e[+-]?[0-9]+)?)(?:[.,][-–—]+)?"
    rf"\s*(?:{_CURRENCY})?"
)


def parse_price(text: str) -> float:
    """An amount of money with or without a currency sign, which is not kept.

    Money has at most two decimals, so three digits after a single mark are thousands.

    >>> parse_price("€ 1.299,-"), parse_price("1,299 USD"), parse_price("CHF 1'299.50")
    (1299.0, 1299.0, 1299.5)

    Raises
    ------
    UnitProblem
        When the text is anything but one amount (`"2 for 900"`, `"499 (was 599)"`).
    """
    match = _PRICE.fullmatch(text.translate(_BLANKS).replace("’", "'").strip())
    if match is None:
        raise UnitProblem(
            "is not one amount of money",
            mend="Write the amount alone, such as 1299 or € 1.299,00; put a remark in the notes.",
        )
    number = match[1].strip()
    if re.fullmatch(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}", number):
        number = number.replace(",", "").replace(".", "")
    return parse_number(number)


def to_canonical(value: float | int | str, unit: str, *, typed_unit: str = "") -> float:
    """Turn a typed quantity into the canonical unit.

    Parameters
    ----------
    value
        A number, or text such as `"24 in"`, `"10 1/4 in"`, `"12,8 V"`, `"80 %"`.
    unit
        Canonical unit wanted, a key of `CONVERSIONS`; "" for a share, "#" for a plain number.
    typed_unit
        Unit the number is in where the text has none (a column heading's), "" for canonical.

    Raises
    ------
    UnitProblem
        When the number or the unit cannot be read.

    Examples
    --------
    >>> to_canonical("24 in", "mm"), to_canonical("10 1/4 in", "mm")
    (609.6, 260.35)
    >>> to_canonical("80 %", "")
    0.8
    """
    table = CONVERSIONS[unit]
    if isinstance(value, bool):
        raise UnitProblem("is not a number")
    if isinstance(value, int | float):
        try:
            number, given = float(value), ""
        except OverflowError:
            raise UnitProblem("is too large") from None
    else:
        number, given = _number_and_unit(value, unit)
    given = given or typed_unit.lower().strip() or ("" if unit == "#" else unit)
    if given not in table:
        allowed = ", ".join(dict.fromkeys(shown_unit(u) for u in table if u))
        raise UnitProblem(
            f"has the unit {shown_unit(given)!r}, which does not fit here",
            allowed=allowed or "a plain number",
        )
    result = table[given](number)
    if isinstance(value, str) and not math.isfinite(result):
        raise UnitProblem("is too large")
    # 12 significant digits hide the rounding of a product such as 24 * 25.4 and lose nothing typed
    return result if table[given] is _SAME else float(f"{result:.12g}")


def _number_and_unit(text: str, unit: str) -> tuple[float, str]:
    plain = text.translate(_BLANKS).strip()
    mixed = _MIXED_FRACTION.fullmatch(plain)
    if mixed is not None:
        parts, whole = int(mixed[2]), int(mixed[3])
        if unit not in _MEASURED_IN_FRACTIONS or whole not in _FRACTIONS or parts >= whole:
            raise UnitProblem("is two numbers", mend="Write one number.")
        return int(mixed[1] or 0) + parts / whole, mixed[4].lower().strip()
    if unit == "cycles" and (point := _THREE_DECIMALS.match(plain)) is not None:
        raise UnitProblem(
            f"can mean {point[1]}{point[2]} or {point[1]}",
            mend=f"Write {point[1]}{point[2]} or {point[1]}.",
        )
    match = _NUMBER.fullmatch(plain)
    if match is None:
        raise UnitProblem(
            "is not a number", mend="Write the number alone; a remark goes into the notes."
        )
    unit = match[2].lower().strip()
    if unit and not re.search(r"""[^\W\d_]|[%"″°℃℉]""", unit):
        raise UnitProblem(
            "is not a number", mend="Write the number alone; a remark goes into the notes."
        )
    return parse_number(match[1]), unit


def from_canonical(value: float, unit: str, typed_unit: str) -> float:
    """The inverse of `to_canonical`, to show a limit in the unit somebody typed.

    >>> from_canonical(100.0, "degc", "degf")
    212.0
    """
    convert = CONVERSIONS[unit][typed_unit.lower()]
    zero = convert(0.0)
    return float(f"{(value - zero) / (convert(1.0) - zero):.6g}")


def split_key(key: str, fields: frozenset[str]) -> tuple[str, str] | None:
    """Find the field a key such as `width_in` means, and the unit it was typed in.

    Returns None where no field fits. A key that is a field itself has unit "".

    >>> split_key("width_in", frozenset({"width_mm"}))
    ('width_mm', 'in')
    """
    if key in fields:
        return key, ""
    for typed in _KEY_UNITS:
        if not key.endswith("_" + typed):
            continue
        stem = key[: -len(typed) - 1]
        for field in fields:
            unit = unit_of_field(field)
            if unit and field == f"{stem}_{unit}" and typed in CONVERSIONS[unit]:
                return field, typed
            if not unit and field == stem and typed == "percent":
                return field, typed
    return None
