"""Field types shared by the case models, and the base model that accepts other units.

A field's unit is the tail of its name, so the models only say the limits.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator
from pydantic.fields import FieldInfo

from tco.case.units import UnitProblem, split_key, to_canonical, unit_of_field

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Model(BaseModel):
    """Frozen, no unknown fields, and quantities in any unit of `tco.case.units`."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    @model_validator(mode="before")
    @classmethod
    def _accept_units(cls, data: Any) -> Any:
        if not isinstance(data, Mapping):
            return data
        fields = frozenset(cls.model_fields)
        out: dict[str, Any] = {}
        for key, value in data.items():
            found = split_key(key, fields) if isinstance(key, str) else None
            if found is None:
                out[key] = value
                continue
            field, typed = found
            if field in out:
                raise ValueError(f"{field} is given twice ({key} is the same quantity)")
            out[field] = (
                _convert(value, unit_of_field(field), typed)
                if _is_quantity(cls.model_fields[field])
                else value
            )
        return out


def _is_quantity(info: FieldInfo) -> bool:
    return any(getattr(m, "quantity", False) for m in info.metadata) or info.annotation in (
        float,
        float | None,
    )


class _Quantity:
    quantity = True


def _convert(value: Any, unit: str, typed: str) -> Any:
    """Convert a scalar or every item of a list; what cannot be read stays, to be reported."""
    if isinstance(value, list | tuple):
        return tuple(_convert(v, unit, typed) for v in value)
    if value is None or isinstance(value, bool) or not isinstance(value, int | float | str):
        return value
    try:
        return to_canonical(value, unit, typed_unit=typed)
    except UnitProblem as problem:
        return _Unreadable(value, str(problem))


class _Unreadable:
    """A value that could not be converted, carried to the field's own error."""

    def __init__(self, given: Any, why: str) -> None:
        self.given, self.why = given, why

    def __repr__(self) -> str:
        return repr(self.given)


def _reject_unreadable(value: Any) -> Any:
    if isinstance(value, _Unreadable):
        raise ValueError(value.why)
    if isinstance(value, tuple):
        for item in value:
            _reject_unreadable(item)
    return value


_Readable = BeforeValidator(_reject_unreadable)

Number = Annotated[float, _Quantity(), _Readable]
Positive = Annotated[float, _Quantity(), _Readable, Field(gt=0)]
NonNegative = Annotated[float, _Quantity(), _Readable, Field(ge=0)]
Fraction = Annotated[float, _Quantity(), _Readable, Field(ge=0, le=1)]
ShareAboveZero = Annotated[float, _Quantity(), _Readable, Field(gt=0, le=1)]
Temperature = Annotated[float, _Quantity(), _Readable, Field(ge=-60, le=100)]
Rate = Annotated[float, _Quantity(), _Readable, Field(gt=-0.5, lt=1)]


def _twelve(value: Any) -> Any:
    value = _reject_unreadable(value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (float(value),) * 12
    if isinstance(value, list | tuple) and len(value) != 12:
        raise ValueError(
            f"needs one number for every month or twelve, January first; {len(value)} given"
        )
    return value


MonthlyFraction = Annotated[tuple[Fraction, ...], _Quantity(), BeforeValidator(_twelve)]
MonthlyAmount = Annotated[tuple[NonNegative, ...], _Quantity(), BeforeValidator(_twelve)]
MonthlyTemperature = Annotated[tuple[Temperature, ...], _Quantity(), BeforeValidator(_twelve)]


def _months(value: Any) -> Any:
    """Read "all", "Nov-Mar", "May, Jul-Sep", or numbers 1 to 12 into a sorted tuple of 1..12."""
    if isinstance(value, str):
        text = value.strip().lower()
        if text in ("", "all", "all year"):
            return tuple(range(1, 13))
        if text == "none":
            return ()
        found: set[int] = set()
        for part in re.split(r"[,;]", text):
            ends = [_month_number(end, value) for end in part.split("-")]
            if len(ends) > 2:
                raise ValueError(f"{part.strip()!r} is not a month or a range such as Nov-Mar")
            first, last = ends[0], ends[-1]
            length = (last - first) % 12
            found.update((first - 1 + i) % 12 + 1 for i in range(length + 1))
        return tuple(sorted(found))
    if isinstance(value, int) and not isinstance(value, bool):
        value = (value,)
    if isinstance(value, list | tuple):
        return tuple(sorted({_month_number(str(v), value) for v in value}))
    return value


def _month_number(text: str, whole: Any) -> int:
    text = text.strip().lower()
    if text.isdigit() and 1 <= int(text) <= 12:
        return int(text)
    for number, name in enumerate(MONTHS, start=1):
        if len(text) >= 3 and text.startswith(name.lower()):
            return number
    raise ValueError(f"{text!r} in {whole!r} is not a month; write for example Nov-Mar, or 11, 12")


MonthSet = Annotated[tuple[int, ...], BeforeValidator(_months)]

_NAMED_WINDOWS = {
    "any time": "0-24",
    "day": "8-18",
    "morning": "6-12",
    "evening": "17-23",
    "night": "22-6",
}


def _window(value: str) -> str:
    hours_of_window(value)
    return value


def hours_of_window(text: str) -> tuple[float, ...]:
    """Share of each of the 24 hours that lies inside a window of the day.

    Parameters
    ----------
    text
        "8-17", "08:30-12, 13-17", "22-6", or one of any time, day, morning, evening, night.

    Raises
    ------
    ValueError
        When the text is no window.

    Examples
    --------
    >>> hours_of_window("22:30-1")[22], sum(hours_of_window("22:30-1"))
    (0.5, 2.5)
    """
    share = [0.0] * 24
    for part in _NAMED_WINDOWS.get(text.strip().lower(), text).split(","):
        ends = part.split("-")
        if len(ends) != 2:
            raise ValueError(
                f"{part.strip()!r} is no time of day; write for example 8-17 or 08:30-12:00, "
                f"or one of {', '.join(_NAMED_WINDOWS)}"
            )
        start, stop = (_clock(end) for end in ends)
        if stop <= start:
            stop += 24.0
        for hour in range(48):
            covered = min(stop, hour + 1.0) - max(start, float(hour))
            if covered > 0:
                share[hour % 24] = min(1.0, share[hour % 24] + covered)
    return tuple(share)


def _clock(text: str) -> float:
    match = re.fullmatch(r"\s*(\d{1,2})(?::(\d{2}))?\s*", text)
    if match is None or int(match[1]) > 24 or int(match[2] or 0) > 59:
        raise ValueError(f"{text.strip()!r} is not a time of day; write 0 to 24, or hh:mm")
    hours = int(match[1]) + int(match[2] or 0) / 60.0
    if hours > 24:
        raise ValueError(f"{text.strip()!r} is past the end of the day")
    return hours


Window = Annotated[str, AfterValidator(_window)]
Name = Annotated[str, Field(min_length=1, max_length=120)]
