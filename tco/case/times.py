"""Months and hours of the day as people write them: "Nov-Mar", "22-6", "evening"."""

import re
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_FULL_MONTHS = (
    *("january", "february", "march", "april", "may", "june", "july", "august"),
    *("september", "october", "november", "december"),
)
_DASHES = str.maketrans({"–": "-", "—": "-", "\u2212": "-"})


class InWords:
    """Mark of a field that is written in words and has no unit."""


def parse_months(value: Any) -> Any:
    """Months as sorted numbers 1 to 12.

    Parameters
    ----------
    value
        "all", "none", "Nov-Mar", "May, Jul-Sep", a number 1 to 12, or a list of numbers or names.
        Anything else comes back as it is, for pydantic to refuse.

    Raises
    ------
    ValueError
        When a part is no month.

    Examples
    --------
    >>> parse_months("Nov-Feb, June")
    (1, 2, 6, 11, 12)
    """
    if isinstance(value, bool):
        raise ValueError("is not a month; write for example Nov-Mar, or 11, 12")
    if isinstance(value, str):
        text = value.strip().lower().translate(_DASHES)
        if text in ("", "all", "all year"):
            return tuple(range(1, 13))
        if text == "none":
            return ()
        found: set[int] = set()
        for part in re.split(r"[,;]", text):
            ends = [_month_number(end) for end in re.split(r"-|\bto\b", part)]
            if len(ends) > 2:
                raise ValueError(f"{part.strip()!r} is not a month or a range such as Nov-Mar")
            first, last = ends[0], ends[-1]
            length = (last - first) % 12
            found.update((first - 1 + i) % 12 + 1 for i in range(length + 1))
        return tuple(sorted(found))
    if isinstance(value, int):
        value = (value,)
    if isinstance(value, list | tuple):
        return tuple(sorted({_month_number(str(v)) for v in value}))
    return value


def _month_number(text: str) -> int:
    text = text.strip().lower().rstrip(".")
    if re.fullmatch(r"0?[1-9]|1[0-2]", text):
        return int(text)
    for number, name in enumerate(_FULL_MONTHS, start=1):
        if len(text) >= 3 and name.startswith(text):
            return number
    raise ValueError(f"{text!r} is not a month; write for example Nov-Mar, or 11, 12")


MonthSet = Annotated[tuple[int, ...], InWords(), BeforeValidator(parse_months)]

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

    A window that ends at or before its start crosses midnight; "8-8" is the whole day.

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
    plain = text.strip().lower().translate(_DASHES)
    for part in _NAMED_WINDOWS.get(plain, plain).split(","):
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
    match = re.fullmatch(r"\s*([0-9]{1,2})(?::([0-9]{2}))?\s*", text)
    if match is None or int(match[1]) > 24 or int(match[2] or 0) > 59:
        raise ValueError(f"{text.strip()!r} is not a time of day; write 0 to 24, or hh:mm")
    hours = int(match[1]) + int(match[2] or 0) / 60.0
    if hours > 24:
        raise ValueError(f"{text.strip()!r} is past the end of the day")
    return hours


Window = Annotated[str, AfterValidator(_window)]
