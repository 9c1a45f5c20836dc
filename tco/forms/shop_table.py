"""A shop's candidate table as plain rows, those with mistakes as they were typed."""

import csv
import io
import re
from typing import Any

from tco.case import Problem
from tco.case.headings import field_of_heading
from tco.case.table import parse_rows

Row = dict[str, Any]


def rows_of_table(text: str, *, file: str = "") -> tuple[list[Row], tuple[Problem, ...]]:
    """Rows of a table for the grid, and the problems in them.

    Rows that can be read come converted. A row with a mistake comes as typed, each cell with the
    unit of its heading, so that it can be mended in the grid.
    """
    candidates, problems = parse_rows(text, file=file)
    broken = {problem.row for problem in problems if problem.row is not None}
    rows: list[Row] = [
        candidate.model_dump(mode="json", exclude_unset=True, exclude_none=True)
        for candidate in candidates
    ]
    return rows + _typed_rows(text, broken), problems


def _typed_rows(text: str, wanted: set[int]) -> list[Row]:
    if not wanted:
        return []
    try:
        records = list(csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""), _dialect(text)))
    except csv.Error:
        return []  # `parse_rows` has told which mistake it is
    head = next((n for n, record in enumerate(records) if any(c.strip() for c in record)), 0)
    meanings = [field_of_heading(heading.strip()) for heading in records[head]] if records else []
    rows = []
    for number in sorted(wanted):
        if not head + 1 < number <= len(records):
            continue
        row: Row = {}
        for cell, (field, unit) in zip(records[number - 1], meanings, strict=False):
            typed = cell.strip()
            if not typed or not field:
                continue
            row.update(_typed(field, unit, typed))
        if row:
            rows.append(row)
    return rows


def _typed(field: str, unit: str, text: str) -> Row:
    if field == "size":
        parts = [part.strip() for part in re.split(r"[x×*]", text.lower())]
        if len(parts) != 3:
            return {"width_mm": text}
        return {
            name: f"{part} {unit}".strip() if re.fullmatch(r"[0-9.,]+", part) else part
            for name, part in zip(("width_mm", "depth_mm", "height_mm"), parts, strict=True)
        }
    return {field: f"{text} {unit}".strip() if re.fullmatch(r"[-+0-9.,]+", text) else text}


def _dialect(text: str) -> type[csv.excel]:
    """The separator under which most headings mean something."""

    class Found(csv.excel):
        delimiter = ","

    def known(delimiter: str) -> int:
        first = next((line for line in text.splitlines() if line.strip()), "")
        cells = next(csv.reader([first.lstrip("\ufeff")], delimiter=delimiter), [])
        return sum(1 for cell in cells if field_of_heading(cell.strip())[0])

    Found.delimiter = max(",;\t", key=known)
    return Found
