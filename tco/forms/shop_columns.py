"""A shop's table, and what each of its columns is taken for: guessed, and open to be changed.

Rows keep the number they have where they come from. A table that stands on its side, as data sheets
often do (fields down, packs across), is turned; its rows are then numbered by their column.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from tco.case import CaseError, Problem
from tco.case.files import text_of
from tco.case.headings import OTHER, REQUIRED, field_of_heading, other_heading
from tco.case.records import fields_named, records_of
from tco.case.sheets import is_sheet, sheet_rows
from tco.forms.meanings import (
    FIELDS,
    KEPT,
    LEAVE_OUT,
    PARTS,
    SIZE,
    chosen_unit,
    fits,
    meaning_words,
    units_of,
)

How = Literal["understood", "not understood", "marked as kept", "chosen"]
SAMPLES = 2
"""Cells of a column that are shown beside its heading."""
_LOOKED_AT = 30
"""Rows among which the headings are looked for."""
_MOST_HEADINGS = 200
"""Cells of a row among which headings are looked for; a long list turned on its side has more."""
_BLANK = " \t\r\n\u00a0"


@dataclass(frozen=True)
class Column:
    """A column: its heading as the shop wrote it, what it is taken for, and its first cells.

    `field` is one of `tco.forms.meanings.FIELDS`, `KEPT` or `LEAVE_OUT`; `unit` a key of its
    `units_of`, or what the heading says where no such unit is known.
    """

    heading: str
    field: str
    unit: str
    how: How
    samples: tuple[str, ...] = ()


@dataclass(frozen=True)
class ShopTable:
    """A table as it was read.

    Attributes
    ----------
    records
        All its cells; turned where `turned`.
    head
        Place of the headings among the records; None where there are none.
    rows
        Places of the records that hold candidates.
    decimal_comma
        Its numbers have a decimal comma, so that `1.250` is asked back.
    said
        Sentences about how it was read.
    """

    file: str
    records: tuple[tuple[str, ...], ...]
    head: int | None
    rows: tuple[int, ...] = ()
    columns: tuple[Column, ...] = ()
    decimal_comma: bool = False
    turned: bool = False
    said: tuple[str, ...] = ()

    @property
    def line(self) -> str:
        """What a row of it is called where it comes from."""
        return "column" if self.turned else "row"


def read_table(data: bytes | str, *, file: str = "") -> ShopTable:
    """Read a table: a spreadsheet, a file of text, or cells pasted from somewhere.

    Raises
    ------
    CaseError
        Where it is no table, or is empty.
    """
    records, delimiter = _records(data, file)
    records = [[cell.strip(_BLANK) for cell in record] for record in records]
    if not any(cell for record in records for cell in record):
        raise CaseError([Problem("has no rows", file=file, mend="Give headings and a candidate.")])
    sideways = _on_its_side(records)
    upright, across = _headings(records), _headings(sideways)
    turned = across[1] > max(1, upright[1])
    head, _ = across if turned else upright
    table = ShopTable(
        file=file,
        records=tuple(map(tuple, sideways if turned else records)),
        head=head,
        decimal_comma=delimiter == ";" or (delimiter == "\t" and _has_decimal_comma(records)),
        turned=turned,
    )
    return _understood(table)


def _records(data: bytes | str, file: str) -> tuple[list[list[str]], str]:
    """Cells of a table, and the separator that stood between them; "" in a spreadsheet."""
    if isinstance(data, bytes):
        if is_sheet(data):
            return [list(record) for record in sheet_rows(data, file=file)], ""
        data = text_of(data, file=file, what="table of candidates", any_encoding=True)
    records, delimiter = records_of(data, file=file)
    return [list(record) for record in records], delimiter


def _on_its_side(records: Sequence[Sequence[str]]) -> list[list[str]]:
    width = max(map(len, records))
    filled = ([*record, *[""] * (width - len(record))] for record in records)
    return [list(cells) for cells in zip(*filled, strict=True)]


def _headings(records: Sequence[Sequence[str]]) -> tuple[int | None, int]:
    """Place of the row of headings, None where there is none, and how many fields it names.

    Where no heading is known to us, a first row without any figure above rows with figures is
    taken for headings all the same.
    """
    looked_at = records[:_LOOKED_AT]
    known = [fields_named(record[:_MOST_HEADINGS]) for record in looked_at]
    most = max(known)
    place = known.index(most)
    if most > 1 or (most == 1 and not _has_figure(records[place])):
        return place, most
    first = next(n for n, record in enumerate(records) if any(record))
    below = any(_has_figure(record) for record in records[first + 1 :])
    return (first if below and not _has_figure(records[first]) else None), 0


def _has_figure(record: Sequence[str]) -> bool:
    return any(re.search(r"[0-9]", cell) for cell in record)


def _has_decimal_comma(records: Sequence[Sequence[str]]) -> bool:
    cells = [cell for record in records for cell in record]
    comma = any(re.match(r"[-+]?[0-9]+,[0-9]{1,2}(?![0-9,.])", cell) for cell in cells)
    return comma and not any(re.match(r"[-+]?[0-9]+\.[0-9]{1,2}(?![0-9,.])", c) for c in cells)


def _understood(table: ShopTable) -> ShopTable:
    """The table with its columns guessed and its rows found."""
    said = []
    if table.turned:
        said.append(
            "The table stands on its side, fields down and packs across. It was turned: each of "
            "its columns is a candidate."
        )
    first = 0 if table.head is None else table.head + 1
    above = [n for n, record in enumerate(table.records[: first - 1]) if any(record)]
    if table.head is not None and above:
        said.append(f"{_places(above, table.line)} above the headings: passed over.")
    if table.head is None:
        headings: tuple[str, ...] = ("",) * max(map(len, table.records))
    else:
        headings = table.records[table.head]
    meanings = [_guess(heading) for heading in headings]
    rows = [n for n in range(first, len(table.records)) if any(table.records[n])]
    units = table.records[rows[0]] if table.head is not None and rows else ()
    if _are_units(units, meanings):
        said.append(f"{_places(rows[:1], table.line)} holds the units of the columns.")
        meanings = [
            (field, cell.strip("()[]") if units_of(field) and cell else unit, how)
            for (field, unit, how), cell in zip(meanings, units, strict=False)
        ]
        rows = rows[1:]
    columns = []
    for place, (field, unit, how) in enumerate(meanings):
        cells = [table.records[n][place] for n in rows if place < len(table.records[n])]
        samples = tuple(dict.fromkeys(cell for cell in cells if cell))[:SAMPLES]
        columns.append(Column(headings[place], field, chosen_unit(field, unit), how, samples))
    return replace(table, rows=tuple(rows), columns=tuple(columns), said=tuple(said))


def _guess(heading: str) -> tuple[str, str, How]:
    field, unit = field_of_heading(heading)
    if field:
        return field, unit, "understood"
    marked = heading.lower().startswith(OTHER.strip())
    return KEPT, "", "marked as kept" if marked else "not understood"


def _are_units(record: Sequence[str], meanings: Sequence[tuple[str, str, How]]) -> bool:
    """Whether a row below the headings holds their units: no figure, and units that fit."""
    stated = [
        fits(field, cell.strip("()[]"))
        for cell, (field, _, _) in zip(record, meanings, strict=False)
        if cell and units_of(field)
    ]
    return len(stated) > 1 and all(stated) and not _has_figure(record)


def _places(places: Sequence[int], line: str) -> str:
    """Rows by their numbers: "Row 3", "Rows 1 to 4"."""
    word = line.capitalize()
    first, last = places[0] + 1, places[-1] + 1
    return f"{word} {first}" if first == last else f"{word}s {first} to {last}"


def with_meaning(table: ShopTable, column: int, field: str, unit: str = "") -> ShopTable:
    """The table with a column, by its place, taken for something else.

    Parameters
    ----------
    field
        One of `FIELDS`, `KEPT` or `LEAVE_OUT`.
    unit
        A key of `units_of(field)`; "" for the field's own.

    Raises
    ------
    ValueError
        Where there is no such field, or it cannot be in that unit.
    """
    if field not in (*FIELDS, KEPT, LEAVE_OUT):
        raise ValueError(f"no field of a candidate is called {field!r}")
    if not fits(field, unit):
        raise ValueError(f"{field} cannot be in {unit!r}")
    old = table.columns[column]
    new = replace(old, field=field, unit=chosen_unit(field, unit), how="chosen")
    if (new.field, new.unit) == (old.field, old.unit) and old.field != KEPT:
        return table
    columns = (*table.columns[:column], new, *table.columns[column + 1 :])
    return replace(table, columns=columns)


def name_of(table: ShopTable, column: int) -> str:
    """What a column is called: its heading, or its place where it has none."""
    return other_heading(table.columns[column].heading, column)


def kept_names(table: ShopTable, meanings: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Names under which columns are kept, no two alike; "" for those that mean a field."""
    found: list[str] = []
    for place, (field, _) in enumerate(meanings):
        plain = name_of(table, place)
        name, times = plain, 1
        while name in found:
            times += 1
            name = f"{plain} ({times})"
        found.append("" if field in FIELDS else name)
    return tuple(found)


def fields_filled(field: str) -> tuple[str, ...]:
    """Fields of a candidate that a column of this field fills."""
    if field == SIZE:
        return PARTS
    return () if field in (KEPT, LEAVE_OUT) else (field,)


def meanings_in_force(table: ShopTable) -> tuple[tuple[str, str], ...]:
    """Field and unit of each column as they are taken; of two that mean the same the first."""
    seen: set[str] = set()
    found = []
    for column in table.columns:
        parts = set(fields_filled(column.field))
        found.append((KEPT, "") if parts & seen else (column.field, column.unit))
        seen |= parts
    return tuple(found)


def not_understood(table: ShopTable) -> tuple[str, ...]:
    """Names of the columns that mean nothing to us and of which nobody has said anything."""
    return tuple(
        name_of(table, place)
        for place, column in enumerate(table.columns)
        if column.how == "not understood" and (column.heading or column.samples)
    )


def table_problems(table: ShopTable) -> tuple[Problem, ...]:
    """What is wrong with the table as a whole: its headings, and what its columns mean."""
    found = [*_no_headings(table), *_doubled(table), *_strange_units(table), *_lacking(table)]
    if not table.rows:
        found.append(Problem("has headings only, no candidate", table.file))
    return tuple(found)


def _no_headings(table: ShopTable) -> Iterator[Problem]:
    if table.head is None:
        yield Problem(
            "has no row of headings, so that nothing is known of its columns",
            table.file,
            mend="Say what each column means, or copy the table with its headings.",
        )


def _doubled(table: ShopTable) -> Iterator[Problem]:
    first: dict[str, int] = {}
    for place, (column, now) in enumerate(
        zip(table.columns, meanings_in_force(table), strict=True)
    ):
        parts = fields_filled(column.field)
        if parts and now[0] == KEPT:
            part = next(part for part in parts if part in first)
            one, two = name_of(table, first[part]), name_of(table, place)
            yield Problem(
                f"columns “{one}” and “{two}” both mean {meaning_words(part)}",
                table.file,
                _heading_row(table),
                field=part,
                mend=f"Until one of them means something else, “{one}” counts and “{two}” is kept "
                "as it is.",
            )
        else:
            first.update(dict.fromkeys(parts, place))


def _strange_units(table: ShopTable) -> Iterator[Problem]:
    for place, column in enumerate(table.columns):
        if not fits(column.field, column.unit):
            yield Problem(
                f"column “{name_of(table, place)}” is in “{column.unit}”, which is no unit of "
                f"{meaning_words(column.field)}",
                table.file,
                _heading_row(table),
                field=column.field,
                allowed=", ".join(unit.words for unit in units_of(column.field)),
                mend="Say what unit the column is in.",
            )


def _lacking(table: ShopTable) -> Iterator[Problem]:
    there = {part for column in table.columns for part in fields_filled(column.field)}
    for field in REQUIRED if there else ():
        if field not in there:
            yield Problem(
                f"has no column for {meaning_words(field)}",
                table.file,
                _heading_row(table),
                field=field,
                mend="Say which column it is, or type it into the grid afterwards.",
            )


def _heading_row(table: ShopTable) -> int | None:
    return None if table.head is None else table.head + 1
