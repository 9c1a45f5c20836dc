"""What an editable grid shows, and what its report changes of it.

A grid widget is made of a frame that never changes while it lives, and reports all that was done
to it since: cells changed by place, rows added (by place among themselves), rows taken out. A
`Sheet` remembers what the grid shows, row by row under the row's own id, so that a report becomes
changes of single cells: those that this very grid did not show before.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tco.case.files import whole_text

Cells = dict[str, str]
"""Texts of a row by column; a column without text is not in it."""


@dataclass(frozen=True)
class Change:
    """One cell of a grid changed: row id, column, the text before and the text typed."""

    row: str
    column: str
    before: str
    after: str


@dataclass(frozen=True)
class Changes:
    """What a report says was done: rows that came and went, by id, and cells."""

    added: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    cells: tuple[Change, ...] = ()


@dataclass
class Sheet:
    """A grid as it was made (`rows`, ids in order, and `made`, their texts) and as it now is.

    `edited` are texts changed in rows that were there, `added` the rows added to it, with the ids
    given to them, `gone` the ids of rows taken out of it.
    """

    columns: tuple[str, ...]
    rows: tuple[str, ...]
    made: dict[str, Cells]
    edited: dict[str, Cells] = field(default_factory=dict)
    added: list[tuple[str, Cells]] = field(default_factory=list)
    gone: frozenset[str] = frozenset()

    def shown(self) -> list[tuple[str, Cells]]:
        """Rows as the grid shows them now: id and texts; added rows without text do not count."""
        there = [(row, self._cells(row)) for row in self.rows if row not in self.gone]
        return [*there, *((row, cells) for row, cells in self.added if cells)]

    def _cells(self, row: str) -> Cells:
        cells = {**self.made[row], **self.edited.get(row, {})}
        return {column: text for column, text in cells.items() if text}

    def order(self) -> list[str]:
        """Ids of the rows in the order in which the grid shows them."""
        return [row for row, _ in self.shown()]


def report_taken(sheet: Sheet, report: Mapping[str, Any], new_id: Callable[[], str]) -> Changes:
    """What a report changes of a sheet, which from then on shows it.

    Parameters
    ----------
    report
        What the widget holds: `edited_rows` (place to column to value), `added_rows` (column to
        value each) and `deleted_rows` (places), all counted from the frame it was made of.
    new_id
        Gives an id to a row that is new.
    """
    gone_now = frozenset(sheet.rows[int(place)] for place in report.get("deleted_rows") or ())
    edited_now = {
        sheet.rows[int(place)]: {
            column: _text(value) for column, value in cells.items() if column in sheet.columns
        }
        for place, cells in (report.get("edited_rows") or {}).items()
        if int(place) < len(sheet.rows)
    }
    cells = []
    for row in sheet.rows:
        old, new = sheet.edited.get(row, {}), edited_now.get(row, {})
        for column in dict.fromkeys((*old, *new)):
            made = sheet.made[row].get(column, "")
            before, after = old.get(column, made), new.get(column, made)
            if before != after and row not in gone_now:
                cells.append(Change(row, column, before, after))
    gone = tuple(row for row in sheet.rows if row in gone_now - sheet.gone)
    sheet.edited, sheet.gone = edited_now, sheet.gone | gone_now
    typed = [_cells(row, sheet.columns) for row in report.get("added_rows") or ()]
    came, left, more = _added(sheet, typed, new_id)
    return Changes(came, (*gone, *left), (*cells, *more))


def _text(value: Any) -> str:
    return "" if value is None or value != value else whole_text(str(value))


def _cells(row: Mapping[str, Any], columns: Sequence[str]) -> Cells:
    texts = {column: _text(row.get(column)) for column in columns}
    return {column: text for column, text in texts.items() if text.strip()}


def _added(
    sheet: Sheet, typed: Sequence[Cells], new_id: Callable[[], str]
) -> tuple[tuple[str, ...], tuple[str, ...], list[Change]]:
    """Added rows that came, those that left, and cells changed in those that stayed.

    The widget knows them by place only, and places move when one is taken out: rows are matched
    by the cells that they share, and take their ids along.
    """
    before = sheet.added
    pairs = _matched([cells for _, cells in before], typed)
    by_new = {new: old for old, new in pairs}
    after: list[tuple[str, Cells]] = []
    came: list[str] = []
    changes: list[Change] = []
    for place, cells in enumerate(typed):
        old = by_new.get(place)
        row, shown = before[old] if old is not None else (new_id(), {})
        after.append((row, cells))
        if cells and not shown:
            came.append(row)
        changes += [
            Change(row, column, shown.get(column, ""), cells.get(column, ""))
            for column in dict.fromkeys((*shown, *cells))
            if shown.get(column, "") != cells.get(column, "")
        ]
    stayed = {row for row, cells in after if cells}
    left = tuple(row for row, cells in before if cells and row not in stayed)
    sheet.added = after
    return tuple(came), left, [change for change in changes if change.row not in left]


def _matched(old: Sequence[Cells], new: Sequence[Cells]) -> list[tuple[int, int]]:
    """Pairs of places, old and new, in order, that share the most cells."""
    if len(new) >= len(old):
        return [(place, place) for place in range(len(old))]
    # best[i][j]: most cells shared by the first i old and the first j new rows, in order
    best = [[0] * (len(new) + 1) for _ in range(len(old) + 1)]
    for i in range(1, len(old) + 1):
        for j in range(1, len(new) + 1):
            together = best[i - 1][j - 1] + 1 + 2 * _shared(old[i - 1], new[j - 1])
            best[i][j] = max(best[i - 1][j], best[i][j - 1], together)
    pairs = []
    i, j = len(old), len(new)
    while i and j:
        if best[i][j] == best[i - 1][j]:
            i -= 1
        elif best[i][j] == best[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            pairs.append((i, j))
    return pairs[::-1]


def _shared(one: Cells, other: Cells) -> int:
    return sum(1 for column, text in one.items() if other.get(column) == text)
