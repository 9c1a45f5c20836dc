"""Candidate tables (CSV): headings and units as shops write them, and back without loss.

A heading is a field name (`mass_kg`), a field with another unit (`mass_lb`), or one of the words
of `HEADINGS`, with its unit in brackets: `Weight (lb)`. A cell may carry its own unit (`"31 lb"`).
`Size (mm)` holds width x depth x height in one cell. Columns that mean nothing to us are kept in
`Candidate.other`.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tco.case.candidate import Candidate
from tco.case.cells import UNKNOWN, quoted, read_cell, read_size, written
from tco.case.explain import from_validation, shown
from tco.case.files import read_text, write_text
from tco.case.headings import HEADINGS as HEADINGS
from tco.case.headings import (
    SIZE,
    field_of_heading,
    heading_problems,
    other_heading,
    written_heading,
)
from tco.case.problems import CaseError, Problem
from tco.case.quantities import LONGEST_TEXT
from tco.case.units import UnitProblem

_BLANK = " ,;\t\r\n\u00a0"


@dataclass(frozen=True)
class _Column:
    heading: str
    field: str
    unit: str
    other: str


def read_candidates(path: str | Path) -> tuple[Candidate, ...]:
    """Read a candidate table.

    Commas, semicolons or tabs between the cells; UTF-8, UTF-16 or Windows-1252.

    Raises
    ------
    CaseError
        With every problem of every row at once, each naming file, row, candidate and field.
    """
    path = Path(path)
    text = read_text(path, what="candidate table", any_encoding=True)
    return parse_candidates(text, file=path.name)


def parse_candidates(text: str, *, file: str = "") -> tuple[Candidate, ...]:
    """Candidates of a table given as text; see `read_candidates`."""
    candidates, problems = parse_rows(text, file=file)
    if problems:
        raise CaseError(problems)
    return candidates


def parse_rows(text: str, *, file: str = "") -> tuple[tuple[Candidate, ...], tuple[Problem, ...]]:
    """Candidates of the rows that can be read, and the problems of the others.

    A heading row without candidates gives neither. Rows are numbered as a spreadsheet numbers them.
    """
    text = text.removeprefix("\ufeff")
    delimiter = _delimiter(text)
    try:
        rows = _records(text, delimiter)
    except csv.Error:
        return (), (
            Problem(
                f"has a cell of more than {csv.field_size_limit():,} characters",
                file=file,
                mend="Look for a quotation mark that is opened and never closed.",
            ),
        )
    numbered = [
        (n, row) for n, row in enumerate(rows, start=1) if any(c.strip(_BLANK) for c in row)
    ]
    if not numbered:
        return (), (Problem("has no rows", file=file, mend="Give a heading row and a candidate."),)
    columns = _columns([heading.strip() for heading in numbered[0][1]])
    problems = heading_problems(
        [column.field for column in columns],
        [column.heading for column in columns],
        file=file,
        row=numbered[0][0],
    )
    lacking = {p.field for p in problems if p.what.startswith("has no column")}
    candidates = []
    names: dict[str, int] = {}
    for number, row in numbered[1:]:
        raw, typed, found = _row_mapping(
            row, columns, file=file, number=number, decimal_comma=delimiter == ";"
        )
        item = _item(raw.get("name", ""))
        broken = {problem.field for problem in found}
        if "size" in broken:
            broken.update(SIZE)
        name = str(raw.get("name", "")).strip()
        try:
            candidate = Candidate.model_validate(raw)
        except ValidationError as error:
            candidate = None
            found.extend(
                problem
                for problem in from_validation(
                    error, Candidate, raw, file=file, row=number, item=item, typed=typed
                )
                if problem.field not in broken
                and not (problem.field in lacking and problem.what == "is missing")
            )
        if name and name in names:
            found.append(
                Problem(
                    f"is already the name of row {names[name]}",
                    file=file,
                    row=number,
                    item=item,
                    field="name",
                    mend="Give each candidate its own name.",
                )
            )
        elif name:
            names[name] = number
        problems.extend(found)
        if candidate is not None and not found:
            candidates.append(candidate)
    return tuple(candidates), tuple(problems)


def _records(text: str, delimiter: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))


def _delimiter(text: str) -> str:
    """The separator under which most headings mean something; the more frequent one on a tie."""

    def known(delimiter: str) -> tuple[int, int]:
        try:
            rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
            first = next((row for row in rows if any(c.strip() for c in row)), [])
        except csv.Error:
            return 0, 0
        return len({field_of_heading(h)[0] for h in first} - {""}), len(first)

    return max(",;\t", key=known)


def _columns(headings: Sequence[str]) -> list[_Column]:
    columns = []
    kept: set[str] = set()
    for index, heading in enumerate(headings):
        field, unit = field_of_heading(heading)
        other = "" if field else other_heading(heading, index)
        plain, times = other, 1
        while other and other in kept:
            times += 1
            other = f"{plain} ({times})"
        kept.add(other)
        columns.append(_Column(heading, field, unit, other))
    return columns


def _item(name: Any) -> str:
    text = str(name).strip()
    return f"candidate {shown(text)}" if text else ""


def _row_mapping(
    row: Sequence[str],
    columns: Sequence[_Column],
    *,
    file: str,
    number: int,
    decimal_comma: bool,
) -> tuple[dict[str, Any], dict[str, str], list[Problem]]:
    """Converted values, the same as typed, and what could not be read."""
    raw: dict[str, Any] = {}
    typed: dict[str, str] = {}
    other: dict[str, str] = {}
    problems: list[Problem] = []
    name = next((c for c, column in zip(row, columns, strict=False) if column.field == "name"), "")

    def report(
        what: str, field: str = "", given: str = "", allowed: str = "", mend: str = ""
    ) -> None:
        problems.append(Problem(what, file, number, _item(name), field, given, allowed, mend))

    if len(row) > len(columns) and any(c.strip() for c in row[len(columns) :]):
        report(
            f"has {len(row)} cells under {len(columns)} headings",
            given=shown(row[len(columns) :]),
            mend="Put text that holds the separator in quotes, or head every column.",
        )
    for cell, column in zip(row, columns, strict=False):
        text, field = cell.strip(), column.field
        if not text:
            continue
        if not field:
            other[column.other] = text
            if len(text) > LONGEST_TEXT:
                del other[column.other]
                report("is too long", column.other, shown(text), f"{LONGEST_TEXT} characters")
            continue
        if text.lower() in UNKNOWN and field not in _TEXTS:
            continue
        given = f"{shown(text)} under {shown(column.heading)}"
        try:
            if field == "size":
                raw.update(zip(SIZE, read_size(text, column.unit), strict=True))
                typed.update(dict.fromkeys(SIZE, given))
            else:
                raw[field] = read_cell(text, field, column.unit, decimal_comma=decimal_comma)
                typed[field] = given
        except UnitProblem as problem:
            mend = problem.mend or "Leave the cell empty where the shop does not say."
            report(problem.what, field, given, problem.allowed, mend)
            raw.pop(field, None)
    if other:
        raw["other"] = other
    return raw, typed, problems


_TEXTS = frozenset({"name", "maker", "management_link", "terminal", "link", "notes"})


def write_candidates(candidates: Sequence[Candidate], path: str | Path) -> None:
    """Write a candidate table; `read_candidates` gives equal candidates.

    Raises
    ------
    CaseError
        Where the file cannot be written.
    """
    write_text(candidates_to_csv(candidates), Path(path))


def candidates_to_csv(candidates: Sequence[Candidate]) -> str:
    """Text of a candidate table in canonical units, columns without any value left out."""
    rows = [
        candidate.model_dump(mode="json", exclude_none=True, exclude_unset=True)
        for candidate in candidates
    ]
    needed = {name for name, info in Candidate.model_fields.items() if info.is_required()}
    fields = [
        field
        for field in Candidate.model_fields
        if field != "other"
        and (field in needed or any(row.get(field) not in (None, "") for row in rows))
    ]
    others = sorted({key for row in rows for key in row.get("other", {})})
    lines = [[*fields, *map(written_heading, others)]]
    for row in rows:
        extra = row.get("other", {})
        lines.append(
            [written(row.get(field)) for field in fields] + [extra.get(k, "") for k in others]
        )
    return "".join(",".join(map(quoted, line)) + "\n" for line in lines)
