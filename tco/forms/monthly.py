"""Grids in which every cell has a path of its own: months in a row, the ends of a spread."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tco.case.spreads import Spreads
from tco.case.times import MONTHS
from tco.forms import labels
from tco.forms.cells import cell_value, shown_text
from tco.forms.entry import Entry, Units
from tco.forms.grid_edits import value_seen
from tco.forms.sheet import Changes, Sheet
from tco.workspace.document import MONTH_STEPS
from tco.workspace.edits import Document, Edit, Path, Value, same

ENDS = ("low", "high")


@dataclass(frozen=True)
class Line:
    """One line of a grid of months: the path of its section or row, its entry, its label.

    `usual` is the amount of a month of which nothing is stated; None where each has to be given.
    """

    path: Path
    entry: Entry
    label: str
    usual: float | None = 0.0

    @property
    def name(self) -> str:
        """What tells this line from others."""
        return "/".join((*self.path, self.entry.field))


def months_sheet(document: Document, lines: Sequence[Line], units: Units) -> Sheet:
    """What a grid of months shows: a row for each line, a column for each month."""
    made = {}
    for line in lines:
        values = _months(document, line)
        texts = (shown_text(value, line.entry, units) for value in values)
        made[line.name] = {m: text for m, text in zip(MONTHS, texts, strict=True) if text}
    return Sheet(MONTHS, tuple(made), made)


def _months(document: Document, line: Line) -> list[Value]:
    place = (*line.path, line.entry.field)
    whole = document.get(place)
    stated = [document.get((*place, step)) for step in MONTH_STEPS]
    if whole is not None and all(value is None for value in stated):
        return [
            whole[n] if isinstance(whole, list) and n < len(whole) else whole for n in range(12)
        ]
    return [line.usual if value is None else value for value in stated]


def months_edits(
    changes: Changes, document: Document, lines: Sequence[Line], units: Units
) -> tuple[tuple[Edit, ...], str]:
    """Edits of single months."""
    by_name = {line.name: line for line in lines}
    wanted: dict[Path, Value] = {}
    seen: dict[Path, Value] = {}
    for change in changes.cells:
        line = by_name[change.row]
        place = (*line.path, line.entry.field)
        value = cell_value(line.entry, units, change.after)
        if document.get(place) is not None:  # what stood for all twelve, or could not be read
            wanted[place] = None
            wanted.update(_each(document, line, place))
        if value is None:
            value = line.usual if line.usual is not None else ""
        month = MONTHS.index(change.column)
        cell = (*place, MONTH_STEPS[month])
        wanted[cell] = value
        shown_now = _months(document, line)[month]
        now_seen = value_seen(shown_now, change.before, line.entry, units)
        if not same(now_seen, shown_now):
            seen[cell] = now_seen
    edits = tuple(
        Edit(path, seen.get(path, document.get(path)), value) for path, value in wanted.items()
    )
    return edits, ""


def _each(document: Document, line: Line, place: Path) -> Mapping[Path, Value]:
    return {
        (*place, step): value
        for step, value in zip(MONTH_STEPS, _months(document, line), strict=True)
    }


def spreads_sheet(document: Document) -> Sheet:
    """What the grid of uncertain quantities shows: a row for each, and its two ends."""
    made = {}
    for name, _, entries in labels.SPREADS:
        usual: dict[str, Any] = getattr(Spreads(), name).model_dump()
        made[name] = {
            e.field: shown_text(
                document.get(("spreads", name, e.field), usual[e.field]), e, "metric"
            )
            for e in entries
        }
    return Sheet(ENDS, tuple(made), made)


def spreads_edits(changes: Changes, document: Document) -> tuple[tuple[Edit, ...], str]:
    """Edits of the ends of spreads; a spread that has one end stated has both."""
    entries = {(name, e.field): e for name, _, ends in labels.SPREADS for e in ends}
    wanted: dict[Path, Value] = {}
    seen: dict[Path, Value] = {}
    for change in changes.cells:
        usual: dict[str, Any] = getattr(Spreads(), change.row).model_dump()
        for end in ENDS:
            path = ("spreads", change.row, end)
            wanted.setdefault(path, document.get(path, usual[end]))
        entry = entries[(change.row, change.column)]
        typed = cell_value(entry, "metric", change.after)
        place = ("spreads", change.row, change.column)
        wanted[place] = usual[change.column] if typed is None else typed
        shown_now = document.get(place, usual[change.column])
        now_seen = value_seen(shown_now, change.before, entry, "metric")
        if not same(now_seen, shown_now):
            seen[place] = now_seen
    edits = tuple(
        Edit(path, seen.get(path, document.get(path)), value) for path, value in wanted.items()
    )
    return edits, ""
