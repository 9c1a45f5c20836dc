"""A case as somebody with pencil and paper would keep it: what was typed, cell by cell.

`PlainCase` knows rows by their place and cells by their text, and nothing of edits, paths with ids
or journals. `stored` and `meant` bring what the store holds, and what the screen shows, into the
same form: a number as a number is written, "80 %" under a heading in percent as 80.
"""

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tco.forms import labels
from tco.forms.entry import Entry
from tests.browser.driver import MARK

Table = str
Cells = dict[str, str]

TABLES: dict[Table, tuple[Entry, ...]] = {
    "system.spaces": labels.SPACE,
    "system.parts": labels.PARTS,
    "loads": labels.LOAD,
    "sources.solar": labels.SOLAR,
    "sources.engine": labels.ENGINE,
    "sources.shore": labels.SHORE,
    "sources.generator": labels.GENERATOR,
    "candidates": labels.CANDIDATE,
    "prices.conductors": labels.CONDUCTOR_PRICES,
    "prices.fuses": labels.FUSE_PRICES,
}
"""Grids of rows: their columns, in the order of the screen."""
SCREENS: dict[str, tuple[Table, ...]] = {
    "System and use": tuple(TABLES)[:7],
    "Candidates": ("candidates",),
    "Prices and assumptions": ("prices.conductors", "prices.fuses"),
}
MONTHLY = {
    "sources.solar": "shade",
    "sources.engine": "hours_per_day",
    "sources.shore": "nights_per_month",
}
"""What is asked month by month of each row of a table."""
WEATHER = tuple(f"climate.{entry.field}" for entry in labels.WEATHER)
AWAY = "use.days_away_per_month"
SHARES = frozenset(
    {e.field for entries in TABLES.values() for e in entries if e.kind == "share"}
    | {e.field for e in (*labels.MONEY, *labels.LIFE, *labels.SEARCH) if e.kind == "share"}
    | {e.field for e in (*labels.INVERTER, *labels.USE) if e.kind == "share"}
    | {"shade"}
)
"""Fields whose heading says percent."""
IN_POINTS = ("spreads.discount_rate", "spreads.inflation")


def meant(text: str, name: str = "") -> str:
    """What a text says, however it is written; `name` is the field it stands in."""
    text = re.sub(r"\s*,\s+", ", ", text.removeprefix(MARK).strip())
    if is_share(name):
        text = re.sub(r"(?<=[0-9])\s*%$", "", text)
    if re.fullmatch(r"[-+]?[0-9]+([.,][0-9]+)?", text) and not re.search(r",[0-9]{3}$", text):
        return f"{float(text.replace(',', '.')):.10g}"
    return text


def is_share(name: str) -> bool:
    return name.split("/")[0].split(".")[-1] in SHARES or name.startswith(IN_POINTS)


def stored(value: Any, name: str) -> str:
    """What a value in the store says."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value * 100 if is_share(name) else value:.10g}"
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    return meant(str(value), name)


@dataclass
class PlainCase:
    """Fields by dotted name; tables as lists of rows; months of a row as "shade/03" in it."""

    fields: Cells = field(default_factory=dict)
    tables: dict[Table, list[Cells]] = field(default_factory=dict)

    def said(self) -> "PlainCase":
        """The same with what every text says; what is empty is not in it."""
        return PlainCase(
            {name: m for name, text in self.fields.items() if (m := meant(text, name))},
            {
                table: [
                    {name: m for name, text in row.items() if (m := meant(text, name))}
                    for row in rows
                ]
                for table, rows in self.tables.items()
                if rows
            },
        )


def read_stored(document: Mapping[tuple[str, ...], Any]) -> PlainCase:
    """What a document of the store says, in the form of `PlainCase.said`."""
    order: dict[Table, list[tuple[float, str]]] = {}
    cells: dict[tuple[Table, str], Cells] = {}
    fields: Cells = {}
    for path, value in document.items():
        ids = [place for place, step in enumerate(path) if step.startswith("#")]
        if not ids:
            name = ".".join(path[:-1]) + "/" + path[-1] if path[-1].isdigit() else ".".join(path)
            if value not in ([], {}) and (said := stored(value, name)):
                fields[name] = said
            continue
        assert len(ids) == 1, path
        table, row, rest = ".".join(path[: ids[0]]), path[ids[0]], path[ids[0] + 1 :]
        if not rest:
            order.setdefault(table, []).append((value, row))
        elif said := stored(value, "/".join(rest)):
            cells.setdefault((table, row), {})["/".join(rest)] = said
    known = {(table, row) for table, rows in order.items() for _, row in rows}
    assert set(cells) <= known, f"cells of no row: {set(cells) - known}"
    return PlainCase(
        fields,
        {
            table: [cells.get((table, row), {}) for _, row in sorted(rows)]
            for table, rows in order.items()
        },
    )


def difference(one: PlainCase, other: PlainCase) -> list[str]:
    """What two cases say differently, a line each."""
    told = [
        f"{name}: {one.fields.get(name, '')!r} is {other.fields.get(name, '')!r}"
        for name in sorted({*one.fields, *other.fields})
        if one.fields.get(name, "") != other.fields.get(name, "")
    ]
    for table in sorted({*one.tables, *other.tables}):
        mine, theirs = one.tables.get(table, []), other.tables.get(table, [])
        if len(mine) != len(theirs):
            told.append(f"{table}: {len(mine)} rows are {len(theirs)}: {mine} {theirs}")
            continue
        for number, (a, b) in enumerate(zip(mine, theirs, strict=True)):
            told += [
                f"{table} row {number} {name}: {a.get(name, '')!r} is {b.get(name, '')!r}"
                for name in sorted({*a, *b})
                if a.get(name, "") != b.get(name, "")
            ]
    return told


@dataclass
class Written:
    """A plain case with its past: each thing done is one step, taken back and made again."""

    now: PlainCase
    usual: dict[Table, list[Cells]] = field(default_factory=dict)
    spreads: Cells = field(default_factory=dict)
    past: list[PlainCase] = field(default_factory=list)
    future: list[PlainCase] = field(default_factory=list)
    steps: int = 0

    def begin(self) -> PlainCase:
        """A copy to be changed, then given to `done`."""
        return copy.deepcopy(self.now)

    def done(self, after: PlainCase) -> bool:
        """Take what was changed as one step; nothing changed is none."""
        if not difference(after.said(), self.now.said()):
            return False
        self.past.append(self.now)
        self.now, self.future, self.steps = after, [], self.steps + 1
        return True

    def undo(self) -> None:
        self.future.append(self.now)
        self.now, self.steps = self.past.pop(), self.steps + 1

    def redo(self) -> None:
        self.past.append(self.now)
        self.now, self.steps = self.future.pop(), self.steps + 1

    def rows(self, table: Table) -> list[Cells]:
        """Rows as the screen should show them: the usual ones until one of them is changed."""
        return self.now.tables.get(table) or self.usual.get(table, [])

    def table(self, case: PlainCase, table: Table) -> list[Cells]:
        """Rows of a table to be changed; with the first change the usual ones become one's own."""
        if not case.tables.get(table):
            case.tables[table] = copy.deepcopy(self.usual.get(table, []))
        return case.tables[table]

    def spread(self, name: str) -> str:
        """One end of a spread: as typed, else the usual."""
        return self.now.fields.get(name, self.spreads[name])

    def months(self) -> list[list[str]]:
        """Lines of the grid of months as the screen should show them."""
        fields = self.now.fields
        lines = [[fields.get(f"{name}/{n:02d}", "") for n in range(1, 13)] for name in WEATHER]
        lines.append([fields.get(f"{AWAY}/{n:02d}", "0") for n in range(1, 13)])
        for table, name in MONTHLY.items():
            for row in self.rows(table):
                lines.append([row.get(f"{name}/{n:02d}", "0") for n in range(1, 13)])
        return lines

    def month_place(self, line: int) -> tuple[Table, int, str]:
        """Of a line of the grid of months: its table ("" for none), row, and name."""
        names = (*WEATHER, AWAY)
        if line < len(names):
            return "", 0, names[line]
        line -= len(names)
        for table, name in MONTHLY.items():
            count = len(self.rows(table))
            if line < count:
                return table, line, name
            line -= count
        raise IndexError(line)


def shown_rows(written: Written, grid: str) -> list[list[str]]:
    """Texts that a grid should show, row by row, in the order of its columns."""
    if grid == "climate":
        return [["", *line] for line in written.months()]
    if grid == "spreads":
        names = [name for name, _, _ in labels.SPREADS]
        return [
            ["", *(written.spread(f"spreads.{name}.{end}") for end in ("low", "high")), ""]
            for name in names
        ]
    columns = [entry.field for entry in TABLES[grid]]
    return [[row.get(column, "") for column in columns] for row in written.rows(grid)]


def column_names(grid: str) -> Sequence[str]:
    """Fields of the columns of a grid, as far as that matters to how a text is read."""
    if grid == "climate":
        return [""] * 13
    if grid == "spreads":
        return [""] * 4
    return [entry.field for entry in TABLES[grid]]
