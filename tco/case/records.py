"""The rows of a candidate table: headings and units as shops write them, turned into candidates.

A heading is a field name (`mass_kg`), a field with another unit (`mass_lb`), or one of the words
of `HEADINGS`, with its unit in brackets: `Weight (lb)`. A cell may carry its own unit (`"31 lb"`).
`Size (mm)` holds width x depth x height in one cell. Columns that mean nothing to us are kept in
`Candidate.other`.
"""

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from pydantic import ValidationError

from tco.case.candidate import Candidate
from tco.case.cells import UNKNOWN, read_cell, read_size
from tco.case.explain import from_validation, shown
from tco.case.headings import SIZE, field_of_heading, heading_problems, other_heading
from tco.case.problems import CaseError, Problem
from tco.case.quantities import LONGEST_TEXT
from tco.case.separators import cells_of, separator_of
from tco.case.shop_forms import means_thousands, read_shop_form
from tco.case.units import UnitProblem

Meaning = tuple[str, str]
"""The field a column is taken for ("" where it is kept as it is) and the unit of its numbers."""

_BLANK = " ,;\t\r\n\u00a0"
_LOOKED_AT = 30
"""Rows among which the headings are looked for: a price list may begin with an address."""
_POINT_AS_THOUSANDS = re.compile(r"(?<![0-9.,])[1-9][0-9]{0,2}\.[0-9]{3}(?![0-9.,])")
_NEVER_BELOW_ONE_PERCENT = frozenset({"usable_depth", "rated_depth", "end_of_life"})
_TEXTS = frozenset({"name", "maker", "management_link", "terminal", "link", "notes"})


@dataclass(frozen=True)
class Remark:
    """What was read out of a cell, where that is not plainly what stands in it."""

    row: int
    item: str
    field: str
    sentence: str


@dataclass(frozen=True)
class TableRead:
    """What a table gave: candidates of sound rows, problems of the others, remarks on either."""

    candidates: tuple[Candidate, ...] = ()
    problems: tuple[Problem, ...] = ()
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True)
class _Column:
    heading: str
    field: str
    unit: str
    other: str


@dataclass
class _Row:
    """Converted values of a row, the same as typed, and what is to be said of it."""

    number: int
    item: str
    raw: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)


def records_of(text: str, *, file: str = "") -> tuple[list[list[str]], str]:
    """The cells of a table given as text, row by row, and what stands between them.

    Raises
    ------
    CaseError
        Where a cell is longer than any cell of a table.
    """
    text = text.removeprefix("\ufeff")
    delimiter = separator_of(text, _headings_meant)
    try:
        return cells_of(text, delimiter), delimiter
    except csv.Error:
        raise CaseError(
            [
                Problem(
                    f"has a cell of more than {csv.field_size_limit():,} characters",
                    file=file,
                    mend="Look for a quotation mark that is opened and never closed.",
                )
            ]
        ) from None


def _headings_meant(rows: Iterable[list[str]]) -> tuple[int, int]:
    filled = (row for row in rows if any(c.strip() for c in row))
    found = ((fields_named(row), len(row)) for row in islice(filled, _LOOKED_AT))
    return max(found, default=(0, 0))


def fields_named(row: Sequence[str]) -> int:
    """How many fields of a candidate the cells of a row name, as a row of headings does."""
    return len({field_of_heading(cell)[0] for cell in row} - {""})


def heading_place(records: Sequence[Sequence[str]]) -> int | None:
    """Place of the row of headings; None where every row is empty.

    The first row that is not empty, or a later one that names three fields or more where that one
    names but one or none.
    """
    filled = [n for n, row in enumerate(records) if any(c.strip(_BLANK) for c in row)]
    if not filled or fields_named(records[filled[0]]) > 1:
        return filled[0] if filled else None
    return next((n for n in filled[:_LOOKED_AT] if fields_named(records[n]) > 2), filled[0])


def read_records(
    records: Sequence[Sequence[str]],
    *,
    file: str = "",
    decimal_comma: bool = False,
    meanings: Sequence[Meaning] | None = None,
) -> TableRead:
    """What can be read of a table given as rows of cells, headings among them.

    Rows are numbered as a spreadsheet numbers them: the first of `records` is row 1.

    Parameters
    ----------
    decimal_comma
        Numbers have a decimal comma, so that `1.250` is asked back.
    meanings
        What each column is taken for, in place of what its heading says; the first row that is not
        empty then holds the headings, whatever they are.
    """
    filled = [n for n, row in enumerate(records) if any(c.strip(_BLANK) for c in row)]
    head = heading_place(records) if meanings is None else next(iter(filled), None)
    if head is None:
        mend = "Give a heading row and a candidate."
        return TableRead(problems=(Problem("has no rows", file=file, mend=mend),))
    columns = _columns([heading.strip() for heading in records[head]], meanings)
    problems = heading_problems(
        [column.field for column in columns],
        [column.heading for column in columns],
        file=file,
        row=head + 1,
    )
    lacking = {p.field for p in problems if p.what.startswith("has no column")}
    candidates: list[Candidate] = []
    remarks: list[Remark] = []
    names: dict[str, int] = {}
    for place in filled:
        if place <= head:
            continue
        row = _read_row(records[place], columns, file, place + 1, decimal_comma)
        candidate = _candidate(row, file, lacking)
        name = str(row.raw.get("name", "")).strip()
        if name and name in names:
            row.problems.append(
                Problem(
                    f"is already the name of row {names[name]}",
                    file=file,
                    row=row.number,
                    item=row.item,
                    field="name",
                    mend="Give each candidate its own name.",
                )
            )
        elif name:
            names[name] = row.number
        problems.extend(row.problems)
        remarks.extend(row.remarks)
        if candidate is not None and not row.problems:
            candidates.append(candidate)
    return TableRead(tuple(candidates), tuple(problems), tuple(remarks))


def _candidate(row: _Row, file: str, lacking: set[str]) -> Candidate | None:
    """The candidate of a row, or None, and in the row what is wrong with it."""
    broken = {problem.field for problem in row.problems}
    if "size" in broken:
        broken.update(SIZE)
    try:
        return Candidate.model_validate(row.raw)
    except ValidationError as error:
        row.problems.extend(
            problem
            for problem in from_validation(
                error,
                Candidate,
                row.raw,
                file=file,
                row=row.number,
                item=_item(row.raw.get("name", "")),
                typed=row.typed,
            )
            if problem.field not in broken
            and not (problem.field in lacking and problem.what == "is missing")
        )
        return None


def _columns(headings: Sequence[str], meanings: Sequence[Meaning] | None) -> list[_Column]:
    columns = []
    kept: set[str] = set()
    for index, heading in enumerate(headings):
        if meanings is None:
            field, unit = field_of_heading(heading)
        else:
            field, unit = meanings[index] if index < len(meanings) else ("", "")
        other = "" if field else other_heading(heading, index)
        plain, times = other, 1
        while other and other in kept:
            times += 1
            other = f"{plain} ({times})"
        kept.add(other)
        columns.append(_Column(heading, field, unit, other))
    return columns


def _is_bare_share(text: str, unit: str) -> bool:
    """Whether a cell under "%" holds a share: a cell that shows 80 % holds 0.8 in a spreadsheet."""
    return unit == "%" and re.fullmatch(r"0?[.,][0-9]+|1(?:[.,]0+)?", text) is not None


def _item(name: Any) -> str:
    text = str(name).strip()
    return f"candidate {shown(text)}" if text else ""


def _read_row(
    cells: Sequence[str],
    columns: Sequence[_Column],
    file: str,
    number: int,
    decimal_comma: bool,
) -> _Row:
    name = next(
        (c for c, column in zip(cells, columns, strict=False) if column.field == "name"), ""
    )
    row = _Row(number, _item(name))
    other: dict[str, str] = {}
    beside: dict[str, tuple[float, str]] = {}

    def report(
        what: str, field: str = "", given: str = "", allowed: str = "", mend: str = ""
    ) -> None:
        row.problems.append(Problem(what, file, number, row.item, field, given, allowed, mend))

    if len(cells) > len(columns) and any(c.strip() for c in cells[len(columns) :]):
        report(
            f"has {len(cells)} cells under {len(columns)} headings",
            given=shown(list(cells[len(columns) :])),
            mend="Put text that holds the separator in quotes, or head every column.",
        )
    for cell, column in zip(cells, columns, strict=False):
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
                row.raw.update(zip(SIZE, read_size(text, column.unit), strict=True))
                row.typed.update(dict.fromkeys(SIZE, given))
            else:
                row.raw[field] = read_cell(text, field, column.unit, decimal_comma=decimal_comma)
                if field in _NEVER_BELOW_ONE_PERCENT and _is_bare_share(text, column.unit):
                    row.raw[field] *= 100.0
                    percent = f"{100.0 * row.raw[field]:g} %"
                    said = f"{given} is read as {percent}, as a spreadsheet keeps it."
                    row.remarks.append(Remark(number, row.item, field, said))
                row.typed[field] = given
        except UnitProblem as problem:
            form = None
            asked_back = decimal_comma and _POINT_AS_THOUSANDS.search(text)
            if not asked_back or means_thousands(field, text):
                form = read_shop_form(field, text, typed_unit=column.unit)
            if form is not None:
                row.raw[field], row.typed[field] = form.values[field], given
                row.remarks.append(Remark(number, row.item, field, f"{form.said}."))
                beside.update((f, (v, given)) for f, v in form.values.items() if f != field)
                continue
            mend = problem.mend or "Leave the cell empty where the shop does not say."
            report(problem.what, field, given, problem.allowed, mend)
            row.raw.pop(field, None)
    broken = {problem.field for problem in row.problems}
    for field, (value, given) in beside.items():
        own = row.raw.get(field)
        if own is None and field not in broken:
            row.raw[field], row.typed[field] = value, given
        elif own is not None and abs(own - value) > 1e-9 * abs(value):
            said = f"{field} is {own:g} by its own column, {value:g} by {given}: its column counts."
            row.remarks.append(Remark(number, row.item, field, said))
    if other:
        row.raw["other"] = other
    return row
