"""A log of capacity tests: one row per full discharge, read and written without loss.

Lines that begin with `#` say what the log belongs to, such as `# candidate: Fell 24/230`,
`# strings: 2`, `# bought: 2025-03-01`; other such lines are remarks and are kept. Then come a
heading row and the tests. Headings and cells take any unit, as in a candidate table (`Temp (F)`,
`"210 Ah"`); the voltages of the cells stand in one column each (`Cell 1 (mV)`) or together in one
cell (`3.301 3.298 3.305 3.299`). Columns that mean nothing to us are kept in `CapacityTest.other`.
"""

import csv
import difflib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tco.case.capacity_models import CapacityLog, CapacityTest
from tco.case.cells import NO, UNKNOWN, YES
from tco.case.explain import from_validation, shown
from tco.case.files import read_text
from tco.case.log_cells import read_cell_voltages, read_date, read_quantity
from tco.case.log_headings import (
    HEADER,
    HEADER_FIELDS,
    REQUIRED,
    Column,
    column_of,
    columns_of,
    heading_problems,
)
from tco.case.problems import CaseError, Problem
from tco.case.separators import cells_of, separator_of
from tco.case.units import UnitProblem, split_key

_BLANK = " ,;\t\r\n\u00a0"
_TEXTS = frozenset({"note"})


@dataclass
class _Row:
    """What a row gives: values, the same as typed, and what could not be read."""

    raw: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def read_log(path: str | Path) -> CapacityLog:
    """Read a log of capacity tests.

    Commas, semicolons or tabs between the cells; UTF-8, UTF-16 or Windows-1252.

    Raises
    ------
    CaseError
        With every problem of every row at once, each naming file, row and field.
    """
    path = Path(path)
    return parse_log(read_text(path, what="capacity log", any_encoding=True), file=path.name)


def parse_log(text: str, *, file: str = "") -> CapacityLog:
    """Log of a text; see `read_log`."""
    text = text.removeprefix("\ufeff")
    try:
        delimiter = log_separator(text)
        rows = cells_of(text, delimiter)
    except csv.Error:
        mend = "Look for a quotation mark that is opened and never closed."
        raise CaseError([Problem("cannot be read as a table", file=file, mend=mend)]) from None
    stated, problems = _Row(), []
    remarks: list[str] = []
    numbered = []
    for number, row in enumerate(rows, start=1):
        if not any(cell.strip(_BLANK) for cell in row):
            continue
        if re.match(r"\s*#\s*[^\s#]", row[0]):
            while len(row) > 1 and not row[-1].strip():  # a spreadsheet fills the line up
                row.pop()
            remark = _header_line(delimiter.join(row).strip(), stated, file, number)
            remarks.extend([remark] if remark else [])
        else:
            numbered.append((number, row))
    problems.extend(stated.problems)
    if not numbered:
        mend = "Give a heading row with date and Ah, and a row for each test."
        raise CaseError([*problems, Problem("has no rows", file=file, mend=mend)])
    columns = columns_of(numbered[0][1])
    problems.extend(heading_problems(columns, file=file, row=numbered[0][0]))
    lacking = {name for name in REQUIRED if name not in {c.field for c in columns}}
    tests: list[CapacityTest] = []
    rows_of_tests: list[int] = []
    for number, row in numbered[1:]:
        found = _read_row(row, columns, file=file, number=number, decimal_comma=delimiter == ";")
        broken = {problem.field for problem in found.problems} | lacking
        try:
            tests.append(CapacityTest.model_validate(found.raw))
            rows_of_tests.append(number)
        except ValidationError as error:
            raised = from_validation(
                error, CapacityTest, found.raw, file=file, row=number, typed=found.typed
            )
            found.problems.extend(p for p in raised if p.field not in broken)
        problems.extend(found.problems)
    if not numbered[1:]:
        problems.append(Problem("has no tests", file=file, mend="Give a row for each test."))
    raw = {**stated.raw, "remarks": tuple(remarks), "tests": tuple(tests)}
    try:
        log = CapacityLog.model_validate(raw)
    except ValidationError as error:
        raised = from_validation(error, CapacityLog, raw, file=file, typed=stated.typed)
        broken = {problem.field for problem in problems}
        said = broken if tests else broken | {"tests"}
        problems.extend(_in_its_row(p, rows_of_tests) for p in raised if p.field not in said)
        log = None
    if problems or log is None:
        raise CaseError(problems)
    return log


def _in_its_row(problem: Problem, rows: Sequence[int]) -> Problem:
    """A problem of one of the tests, as a problem of the row it stands in."""
    match problem.location:
        case ("tests", int(place), *_, str(name)):
            return replace(problem, row=rows[place], field=name, location=())
        case _:
            return replace(problem, location=())


def _header_line(line: str, into: _Row, file: str, number: int) -> str:
    """Read a `# word: value` line; a line that states nothing comes back, to be kept."""
    remark = line.lstrip("# ").strip()
    word, colon, value = remark.partition(":")
    plain, value = " ".join(word.lower().replace("_", " ").split()), value.strip()
    known = HEADER.get(plain)
    unit = ""
    if known is None and colon:
        split = split_key(plain.replace(" ", "_").replace("-", "_"), HEADER_FIELDS)
        known, unit = split if split is not None else (None, "")
    if not colon or known is None:
        words = [*HEADER, *(name.replace("_", " ") for name in HEADER_FIELDS)]
        close = difflib.get_close_matches(plain, words, n=1, cutoff=0.8) if colon else []
        if not close:
            return remark
        what = f"the line {shown(remark)} states nothing we know"
        mend = f"Write '# {close[0]}: ...', or drop the colon of a remark."
        into.problems.append(Problem(what, file=file, row=number, mend=mend))
        return ""
    given = shown(f"{word.strip()}: {value}")
    try:
        if known in into.raw:
            raise UnitProblem("is given twice", mend="Remove one of the two.")
        into.raw[known] = _header_value(known, value, unit)
        into.typed[known] = given
    except UnitProblem as problem:
        into.problems.append(
            Problem(
                problem.what,
                file=file,
                row=number,
                field=known,
                given=given,
                allowed=problem.allowed,
                mend=problem.mend,
            )
        )
    return ""


def _header_value(name: str, value: str, unit: str) -> Any:
    if not value:
        raise UnitProblem("is empty", mend="Give a value, or remove the line.")
    if name == "bought":
        return read_date(value)
    if name == "old_bank":
        if value.lower() not in YES | NO:
            raise UnitProblem("is neither yes nor no", allowed="yes, no")
        return value.lower() in YES
    if name in ("candidate", "chemistry"):
        return value
    number = read_quantity(value, name, unit)
    if name == "strings":
        if number != int(number):
            raise UnitProblem("is not a whole number")
        return int(number)
    return number


def log_separator(text: str) -> str:
    """What stands between the cells of a log given as text."""
    return separator_of(text, _headings_meant)


def _headings_meant(rows: Iterable[list[str]]) -> tuple[int, int]:
    for row in rows:
        if any(cell.strip(_BLANK) for cell in row) and not re.match(r"\s*#\s*[^\s#]", row[0]):
            return sum(bool(column_of(heading).field) for heading in row), len(row)
    return 0, 0


def _read_row(
    row: Sequence[str], columns: Sequence[Column], *, file: str, number: int, decimal_comma: bool
) -> _Row:
    out = _Row()
    cells: dict[int, float | None] = {}
    other: dict[str, str] = {}

    def report(what: str, name: str, given: str, allowed: str = "", mend: str = "") -> None:
        out.problems.append(Problem(what, file, number, "", name, given, allowed, mend))

    if any(cell.strip() for cell in row[len(columns) :]):
        mend = "Put text that holds the separator in quotes, or head every column."
        what = f"has {len(row)} cells under {len(columns)} headings"
        report(what, "", shown(list(row[len(columns) :])), mend=mend)
    for cell, column in zip(row, columns, strict=False):
        text, name = cell.strip(), column.field
        empty = text.lower() in UNKNOWN and name not in _TEXTS
        if column.cell is not None:
            cells.setdefault(column.cell, None)
        if not text or (empty and name):
            continue
        if not name:
            other[column.heading] = text
            continue
        given = f"{shown(text)} under {shown(column.heading)}"
        try:
            if name == "tested_on":
                out.raw[name] = read_date(text)
            elif name in _TEXTS:
                out.raw[name] = text
            elif name == "cell_voltages_v":
                voltages = read_cell_voltages(text, column.unit)
                if column.cell is None:
                    out.raw[name] = voltages
                elif len(voltages) == 1:
                    cells[column.cell] = voltages[0]
                else:
                    raise UnitProblem("has more than one voltage under one cell")
            else:
                out.raw[name] = read_quantity(text, name, column.unit, decimal_comma=decimal_comma)
            out.typed[name] = given
        except UnitProblem as problem:
            mend = problem.mend or "Leave the cell empty where it was not read."
            report(problem.what, name, given, problem.allowed, mend)
            cells.pop(column.cell or 0, None)
    missing = sorted(index for index, value in cells.items() if value is None)
    if missing and len(missing) < len(cells):
        what = f"lacks {', '.join(f'cell {index}' for index in missing)} where others are given"
        report(what, "cell_voltages_v", "", mend="Give every cell of a test or none.")
    elif cells and not missing:
        out.raw["cell_voltages_v"] = tuple(cells[index] for index in sorted(cells))
    if other:
        out.raw["other"] = other
    return out
