"""Units at the edge: what people type, turned into what the engine computes with.

Inside, a quantity has one unit, written in its field name (`width_mm`, `mass_kg`). At the edge
the same quantity may be typed with another unit, in the key (`width_in = 24`), in the value
(`width_mm = "24 in"`) or in a table's heading (`Width (in)`). Everything goes through
`to_canonical`.

Conversion factors are exact by definition (international yard and pound, 1959).
"""

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
            "ft": _times(304.8),
        },
        "m": {
            "m": _SAME,
            "mm": _times(0.001),
            "cm": _times(0.01),
            "ft": _times(0.3048),
            "in": _times(0.0254),
        },
        "kg": {
            "kg": _SAME,
            "g": _times(0.001),
            "lb": _times(0.45359237),
            "lbs": _times(0.45359237),
        },
        "degc": {
            "degc": _SAME,
            "c": _SAME,
            "°c": _SAME,
            "degf": _fahrenheit,
            "f": _fahrenheit,
            "°f": _fahrenheit,
        },
        "w": {"w": _SAME, "kw": _times(1000.0), "wp": _SAME},
        "wh": {"wh": _SAME, "kwh": _times(1000.0)},
        "kwh": {"kwh": _SAME, "wh": _times(0.001)},
        "a": {"a": _SAME, "ma": _times(0.001)},
        "ah": {"ah": _SAME, "mah": _times(0.001)},
        "v": {"v": _SAME, "mv": _times(0.001)},
        "mohm": {"mohm": _SAME, "mω": _SAME, "ohm": _times(1000.0), "ω": _times(1000.0)},
        "years": {
            "years": _SAME,
            "year": _SAME,
            "yr": _SAME,
            "y": _SAME,
            "months": _times(1.0 / 12.0),
        },
        "days": {"days": _SAME, "day": _SAME, "d": _SAME, "weeks": _times(7.0)},
        "hours": {
            "hours": _SAME,
            "h": _SAME,
            "hour": _SAME,
            "min": _times(1.0 / 60.0),
            "minutes": _times(1.0 / 60.0),
        },
        "deg": {"deg": _SAME, "°": _SAME},
        "": {"": _SAME, "%": _times(0.01), "percent": _times(0.01)},
    }
)

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

_NUMBER = re.compile(r"^\s*([+-]?(?:\d[\d\s'_]*)?(?:[.,]\d+)*(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


class UnitProblem(ValueError):
    """A typed quantity that cannot be read; the message says what is allowed."""


def unit_of_field(field: str) -> str:
    """Canonical unit at the end of a field name, or "" where it has none.

    >>> unit_of_field("width_mm"), unit_of_field("usable_depth")
    ('mm', '')
    """
    tail = field.rsplit("_", 1)[-1]
    return tail if tail in CONVERSIONS and "_" in field and "_per_" not in field else ""


def parse_number(text: str) -> float:
    """A number as shops write it: thousands marks, decimal comma, stray blanks.

    >>> parse_number("1,299.00"), parse_number("12,8"), parse_number("1 250")
    (1299.0, 12.8, 1250.0)

    Raises
    ------
    UnitProblem
        When no number can be read, or when it can be read in two ways (`"1,250"`).
    """
    s = text.strip().replace("\u00a0", " ").replace("'", "").replace(" ", "").replace("_", "")
    if "," in s and "." in s:
        thousands = "," if s.rfind(".") > s.rfind(",") else "."
        s = s.replace(thousands, "").replace(",", ".")
    elif s.count(",") > 1:
        s = s.replace(",", "")
    elif "," in s:
        whole, _, rest = s.partition(",")
        if len(rest) == 3 and whole.strip("+-") not in ("", "0"):
            raise UnitProblem(
                f"{text!r} can mean {whole}{rest} or {whole}.{rest}; write it without the comma"
            )
        s = f"{whole}.{rest}"
    try:
        return float(s)
    except ValueError:
        raise UnitProblem(f"{text!r} is not a number") from None


def to_canonical(value: float | int | str, unit: str, *, typed_unit: str = "") -> float:
    """Turn a typed quantity into the canonical unit.

    Parameters
    ----------
    value
        A number, or text such as `"24 in"`, `"12,8 V"`, `"80 %"`.
    unit
        Canonical unit wanted, a key of `CONVERSIONS`; "" for a plain number or fraction.
    typed_unit
        Unit the number is in where the text has none (a column heading's), "" for canonical.

    Raises
    ------
    UnitProblem
        When the number or the unit cannot be read.

    Examples
    --------
    >>> to_canonical("24 in", "mm")
    609.6
    >>> to_canonical("80 %", "")
    0.8
    """
    table = CONVERSIONS[unit]
    if isinstance(value, bool):
        raise UnitProblem(f"expected a number, not {value}")
    if isinstance(value, int | float):
        number, given = float(value), ""
    else:
        match = _NUMBER.match(value)
        if match is None or not match.group(1).strip():
            raise UnitProblem(f"{value!r} is not a number")
        number, given = parse_number(match.group(1)), match.group(2).lower().strip()
    given = given or typed_unit.lower().strip() or unit
    if given not in table:
        allowed = ", ".join(sorted(u for u in table if u)) or "no unit"
        raise UnitProblem(f"unit {given!r} does not fit here; allowed: {allowed}")
    result = table[given](number)
    # 12 significant digits hide the rounding of a product such as 24 * 25.4 and lose nothing typed
    return result if given == unit else float(f"{result:.12g}")


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
