"""Between the value of a cell, as a journal keeps it, and the text people see and type.

What was typed is kept: a plain number in the unit of the case as a number, everything else as its
text, with the unit of the heading added where it has none of its own (`24` typed under inches is
kept as `24 in`). `shown_text` leaves out the unit that the heading says already.
"""

import math
import re
from typing import Any

from pydantic import BaseModel

from tco.case.cells import UNKNOWN
from tco.case.shop_forms import means_thousands
from tco.case.times import MONTHS
from tco.case.units import (
    UnitProblem,
    from_canonical,
    parse_number,
    to_canonical,
    unit_of_field,
)
from tco.forms.entry import IMPERIAL, NICE, Entry, Units

_WORDS = re.compile(r"\b(?:to|up|min|max|ca|approx|about|at|least|most|from)\b\.?", re.IGNORECASE)
_HAS_UNIT = re.compile(r"[^\W\d_]|[%\"″°$£€@]")
_TAIL = re.compile(r"(.*?[0-9.,])\s*([^\d\s.,'’()+-]+(?: ?[^\W\d_]+)?)", re.DOTALL)
_KNOWN_OR_NOT = ("number", "share", "price", "yes_no")
MARK = "⚠ "
"""Before what cannot be read, in a grid: taken off again when it is typed over."""


def cell_value(entry: Entry, units: Units, text: str) -> Any:
    """What is kept of a text typed for an entry; None of an empty one.

    A dash, a question mark and the like say of a number, as in a shop's table, that it is not
    known.
    """
    text = text.removeprefix(MARK).strip()
    if not text or (entry.kind in _KNOWN_OR_NOT and text.lower() in UNKNOWN):
        return None
    if entry.kind == "yes_no":
        return {"yes": True, "no": False}.get(text.lower(), text)
    if entry.kind == "words":
        return [part.strip() for part in text.split(",") if part.strip()]
    if entry.kind in ("number", "share", "price"):
        unit = added_unit(entry, units)
        if unit:
            return f"{text} {unit}" if _bare(text) else text
        number = None if _means_thousands(entry, text) else _plain_number(text)
        return text if number is None else number
    return text


def added_unit(entry: Entry, units: Units) -> str:
    """The unit that the heading says and the case does not take by itself: "%", "in", "°F"."""
    own, typed = unit_of_field(entry.field), entry.typed_unit(units)
    return NICE.get(typed, typed) if typed not in ("", own) else ""


def _means_thousands(entry: Entry, text: str) -> bool:
    return means_thousands(entry.field, text, money=entry.kind == "price")


def _bare(text: str) -> bool:
    """Whether a text is numbers only, without any unit."""
    rest = _WORDS.sub("", text)
    return re.search(r"[0-9]", rest) is not None and _HAS_UNIT.search(rest) is None


def _plain_number(text: str) -> float | None:
    if not re.fullmatch(r"[-+]?[0-9]+(?:[.,][0-9]+)?", text):
        return None
    try:
        number = parse_number(text)
    except UnitProblem:
        return None  # it can be read in two ways; the text is kept and asked back
    return number if math.isfinite(number) else None


def shown_text(value: Any, entry: Entry, units: Units) -> str:
    """Text of a value in the unit of its heading; "" where nothing is stated."""
    if value is None:
        return ""
    if entry.kind == "months":
        return months_text(value)
    if entry.kind not in ("number", "share", "price") or isinstance(value, bool):
        return plain_text(value)
    if isinstance(value, str):
        return _shown_typed(value, entry, units)
    if isinstance(value, int | float):
        return _shown_number(float(value), entry, units)
    return plain_text(value)


def _shown_typed(text: str, entry: Entry, units: Units) -> str:
    """A text as typed, less the unit of the heading; a number without a unit is in the case's."""
    unit = added_unit(entry, units)
    found = _TAIL.fullmatch(text)
    if found is not None and unit and found[2] == unit and _bare(found[1]):
        return found[1]
    if found is None and unit and _bare(text):
        try:
            return _shown_number(to_canonical(text, unit_of_field(entry.field)), entry, units)
        except UnitProblem:
            return text
    return text


def _shown_number(value: float, entry: Entry, units: Units) -> str:
    if entry.kind == "share":
        return f"{100.0 * value:.10g}"
    own, typed = unit_of_field(entry.field), entry.typed_unit(units)
    if entry.kind == "number" and typed != own:
        return f"{from_canonical(value, own, typed):.4g}"
    if _means_thousands(entry, shown := f"{value:.10g}"):
        return f"{shown}0"  # typed again it stays what it is
    if own in IMPERIAL and abs(value) >= 1.0:
        return f"{round(value, 2):.10g}"  # it may have been pounds or inches
    return f"{value:.10g}"


def plain_text(value: Any) -> str:
    """A value as somebody would type it.

    >>> plain_text(True), plain_text(["lead", "lithium"]), plain_text(2.50)
    ('yes', 'lead, lithium', '2.5')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.12g}"
    if isinstance(value, list | tuple):
        return ", ".join(plain_text(item) for item in value)
    return str(value)


def months_text(value: Any) -> str:
    """Months as people write them; what is no list of months comes back as typed.

    >>> months_text([1, 2, 11, 12]), months_text(list(range(1, 13))), months_text([5, 7])
    ('Nov-Feb', 'all', 'May, Jul')
    """
    if not isinstance(value, list | tuple) or not all(
        isinstance(month, int) and 1 <= month <= 12 for month in value
    ):
        return plain_text(value)
    chosen = sorted(set(value))
    if len(chosen) in (0, 12):
        return "all" if chosen else "none"
    starts = [month for month in chosen if (month - 2) % 12 + 1 not in chosen]
    parts = []
    for start in starts:
        end = start
        while end % 12 + 1 in chosen:
            end = end % 12 + 1
        first, last = MONTHS[start - 1], MONTHS[end - 1]
        parts.append(first if start == end else f"{first}-{last}")
    return ", ".join(parts)


def default_text(model: type[BaseModel] | None, entry: Entry, units: Units) -> str:
    """What an empty field is taken as, in the unit of its label; "" where it has to be given."""
    info = model.model_fields.get(entry.field) if model is not None else None
    if info is None or info.is_required():
        return ""
    default = info.get_default(call_default_factory=True, validated_data={})
    if default is None:
        return entry.none
    return shown_text(default, entry, units)


def block_of(text: str) -> list[list[str]]:
    """The cells of a block pasted into one: rows by line, cells by tab; one cell of other text."""
    if "\t" not in text and "\n" not in text.strip("\r\n"):
        return [[text.strip("\r\n")]]
    return [line.split("\t") for line in text.strip("\r\n").splitlines()]
