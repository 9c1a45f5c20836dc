"""Between the plain data of a case and the text people see and type; nothing typed is lost.

A row is plain data of one entry of the case (`{"name": "kettle", "power_w": 900}`). What is typed
is put into it as text, under a key that carries the unit it was typed in (`{"width_in": "24"}`),
and the case models read it from there.
"""

from collections.abc import Mapping, MutableMapping, Sequence
from typing import Any

from pydantic import BaseModel

from tco.case.quantities import MONTHS
from tco.case.units import from_canonical, unit_of_field
from tco.forms.labels import IMPERIAL, Entry, Units

Row = dict[str, Any]


def shown_text(row: Mapping[str, Any], entry: Entry, units: Units) -> str:
    """Text of one entry of a row, in the unit of its heading; "" where nothing is stated."""
    typed_key = entry.key(units)
    if typed_key != entry.field and typed_key in row:
        return plain_text(row[typed_key])
    for other in _keys(entry):
        if other in row and other != entry.field:  # typed while another unit was shown
            return f"{plain_text(row[other])} {other.rsplit('_', 1)[-1]}".replace(" percent", " %")
    value = row.get(entry.field)
    if value is None:
        return ""
    if entry.kind == "months":
        return months_text(value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        if entry.kind == "share":
            return f"{100.0 * value:.10g}"
        own, typed = unit_of_field(entry.field) or "", entry.typed_unit(units)
        if entry.kind == "number" and typed != own:
            return f"{from_canonical(float(value), own, typed):.4g}"
        if own in IMPERIAL and abs(value) >= 1.0:
            return f"{round(value, 2):.10g}"  # it may have been pounds or inches
        return f"{value:.6g}" if abs(value) < 1e5 else f"{value:.10g}"
    return plain_text(value)


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


def put(row: MutableMapping[str, Any], entry: Entry, units: Units, text: str) -> None:
    """Write typed text into a row, in place; empty text takes the entry out of it."""
    text = text.strip()
    for key in _keys(entry):
        row.pop(key, None)
    row.pop(entry.field, None)
    if not text:
        return
    if entry.kind == "yes_no":
        row[entry.field] = {"yes": True, "no": False}.get(text.lower(), text)
    elif entry.kind == "words":
        row[entry.field] = [part.strip() for part in text.split(",") if part.strip()]
    else:
        row[entry.key(units)] = text


def _keys(entry: Entry) -> tuple[str, ...]:
    """Keys, other than the field itself, under which a value may have been typed."""
    every: tuple[Units, ...] = ("metric", "imperial")
    return tuple({entry.key(units) for units in every} - {entry.field})


def grid_of(
    rows: Sequence[Mapping[str, Any]], entries: Sequence[Entry], units: Units
) -> list[dict[str, str | None]]:
    """Rows as text for an editable grid, keyed by field; an empty cell is None."""
    return [
        {entry.field: shown_text(row, entry, units) or None for entry in entries} for row in rows
    ]


def rows_of(
    grid: Mapping[Any, Mapping[str, Any]],
    before: Sequence[Mapping[str, Any]],
    entries: Sequence[Entry],
    units: Units,
) -> list[Row]:
    """Plain rows of an edited grid.

    Parameters
    ----------
    grid
        Cells by row number, then field. Numbers below `len(before)` are rows that were there.
    before
        The rows the grid was made of. Cells that were not touched keep their exact value.
    """
    made = []
    for number, cells in grid.items():
        known = isinstance(number, int) and number < len(before)
        row: Row = dict(before[number]) if known else {}
        for entry in entries:
            cell = cells.get(entry.field)
            text = "" if cell is None or cell != cell else str(cell).strip()
            if text != shown_text(row, entry, units):
                put(row, entry, units, text)
        if row:
            made.append(row)
    return made


def default_text(model: type[BaseModel] | None, entry: Entry, units: Units) -> str:
    """What an empty field is taken as, in the unit of its label; "" where it has to be given."""
    info = model.model_fields.get(entry.field) if model is not None else None
    if info is None or info.is_required():
        return ""
    default = info.get_default(call_default_factory=True, validated_data={})
    if default is None:
        return entry.none
    return shown_text({entry.field: default}, entry, units)


def month_texts(row: Mapping[str, Any], entry: Entry, units: Units, default: float) -> list[str]:
    """The twelve texts of a monthly entry, January first."""
    stated = {
        key: row[key] for key in (entry.field, *_keys(entry)) if row.get(key) is not None
    } or {entry.field: default}
    texts = []
    for month in range(12):
        one: Row = {}
        for key, value in stated.items():
            if isinstance(value, list | tuple):
                one[key] = value[month] if month < len(value) else ""
            else:
                one[key] = value
        texts.append(shown_text(one, entry, units))
    return texts


def put_months(
    row: MutableMapping[str, Any], entry: Entry, units: Units, texts: Sequence[str]
) -> None:
    """Write twelve typed texts into a row, in place."""
    for key in (entry.field, *_keys(entry)):
        row.pop(key, None)
    row[entry.key(units)] = [text.strip() for text in texts]
