"""The rows of a shop's table as plain data for the case: read where they can be, else as typed."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tco.case import CaseError, Problem
from tco.case.cells import UNKNOWN, read_cell
from tco.case.explain import shown
from tco.case.headings import REQUIRED
from tco.case.records import read_records
from tco.case.shop_forms import read_shop_form
from tco.case.units import UnitProblem
from tco.forms.meanings import KEPT, LEAVE_OUT, PARTS, SIZE, own_unit, unit_words
from tco.forms.shop_columns import (
    ShopTable,
    kept_names,
    meanings_in_force,
    name_of,
    read_table,
    table_problems,
)

TEXTS = frozenset({"name", "maker", "management_link", "terminal", "link", "notes", "chemistry"})
_UNITLESS = re.compile(r"[-+−]?[0-9][0-9.,'’ \u00a0\u202f/]*")


@dataclass(frozen=True)
class IntakeRow:
    """A row of a shop's table.

    Attributes
    ----------
    number
        Of the row as a spreadsheet counts them (of the column, in a table that was turned).
    data
        Its cells for the case, by field: converted where the row can be read, else as typed, with
        the units of the headings, so that it can be mended.
    problems
        What cannot be read.
    said
        Sentences about forms that shops use and that were read, such as a range.
    """

    number: int
    data: dict[str, Any]
    problems: tuple[Problem, ...] = ()
    said: tuple[str, ...] = ()

    @property
    def unreadable(self) -> frozenset[str]:
        """Fields that have a problem."""
        found = {problem.field for problem in self.problems}
        return frozenset(found | set(PARTS)) if SIZE in found else frozenset(found)


def rows_of(table: ShopTable) -> tuple[IntakeRow, ...]:
    """The rows of a table under the meanings in force, in their order."""
    meanings = meanings_in_force(table)
    return tuple(_row(table, place, meanings) for place in table.rows)


def rows_of_table(
    data: bytes | str, *, file: str = ""
) -> tuple[list[dict[str, Any]], tuple[Problem, ...]]:
    """Rows of a table as plain data for the case, under the meanings guessed, and their problems.

    A row that says nothing of a candidate is passed over.
    """
    try:
        table = read_table(data, file=file)
    except CaseError as error:
        return [], error.problems
    rows = [row for row in rows_of(table) if set(row.data) - {"other"}]
    problems = [problem for row in rows for problem in row.problems]
    return [row.data for row in rows], (*table_problems(table), *problems)


def _row(table: ShopTable, place: int, meanings: Sequence[tuple[str, str]]) -> IntakeRow:
    number = place + 1
    record = [
        "" if n < len(meanings) and meanings[n][0] == LEAVE_OUT else cell
        for n, cell in enumerate(table.records[place])
    ]
    read = read_records(
        [[name_of(table, n) for n in range(len(meanings))], record],
        file=table.file,
        decimal_comma=table.decimal_comma,
        meanings=[(KEPT, "") if field == LEAVE_OUT else (field, unit) for field, unit in meanings],
    )
    problems = [replace(problem, row=number) for problem in read.problems if problem.row != 1]
    said = tuple(dict.fromkeys(remark.sentence for remark in read.remarks))
    if read.candidates and not problems:
        data = read.candidates[0].model_dump(mode="json", exclude_unset=True, exclude_none=True)
        return IntakeRow(number, data, (), said)
    data = _as_typed(table, record, meanings)
    told = {problem.field for problem in problems}
    problems += [
        Problem("is missing", table.file, number, _item(data), field)
        for field in REQUIRED
        if field not in data and field not in told
    ]
    return IntakeRow(number, data, tuple(problems), said)


def _item(data: Mapping[str, Any]) -> str:
    return f"candidate {shown(data['name'])}" if data.get("name") else ""


def _as_typed(
    table: ShopTable, record: Sequence[str], meanings: Sequence[tuple[str, str]]
) -> dict[str, Any]:
    """Cells of a row with a mistake, each as somebody would type it into the grid."""
    data: dict[str, Any] = {}
    other: dict[str, str] = {}
    names = kept_names(table, meanings)
    for place, (cell, (field, unit)) in enumerate(zip(record, meanings, strict=False)):
        if not cell:
            continue
        if field in (KEPT, LEAVE_OUT):
            other[names[place]] = cell
        elif field in TEXTS:
            data[field] = cell
        elif cell.lower() not in UNKNOWN:
            data.update(_typed(field, unit, cell, decimal_comma=table.decimal_comma))
    if other:
        data["other"] = other
    return data


def _typed(field: str, unit: str, text: str, *, decimal_comma: bool) -> dict[str, Any]:
    if field == SIZE:
        parts = [part.strip() for part in re.split(r"[x×*]", text.lower())]
        if len(parts) != len(PARTS):
            return {PARTS[0]: text}
        tail = re.search(r"[a-z\"″]+$", parts[-1])
        own = tail[0] if tail is not None else unit
        return {name: _with_unit(part, name, own) for name, part in zip(PARTS, parts, strict=True)}
    if own_unit(field) == "#":
        return {field: _read(field, text)}
    if decimal_comma:
        # 1.250 under a decimal comma is asked back: the grid, with its point, asks of 1,250
        text = re.sub(r"^([-+]?[1-9][0-9]{0,2})\.([0-9]{3})(?![0-9.,])", r"\1,\2", text)
    return {field: _with_unit(text, field, unit)}


def _with_unit(text: str, field: str, unit: str) -> str:
    """A text with the unit of its heading, where it has none of its own."""
    if not unit:
        return text
    full = f"{text} {unit_words(field, unit)}"
    if _UNITLESS.fullmatch(text):
        return full
    in_another = unit != own_unit(field)
    return full if in_another and read_shop_form(field, full) is not None else text


def _read(field: str, text: str) -> Any:
    """Yes, no and ways to stand as the grid has them; anything else, and mistakes, as typed."""
    try:
        value = read_cell(text, field, "")
    except UnitProblem:
        return text
    if isinstance(value, bool):
        return value
    return list(value) if isinstance(value, tuple) else text
