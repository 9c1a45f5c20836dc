"""Candidate tables (CSV and spreadsheets) in, and out as CSV without loss.

What headings and cells may hold is said in `tco.case.records`.
"""

from collections.abc import Sequence
from pathlib import Path

from tco.case.candidate import Candidate
from tco.case.cells import quoted, written
from tco.case.files import read_bytes, text_of, write_text
from tco.case.headings import written_heading
from tco.case.problems import CaseError, Problem
from tco.case.records import TableRead, read_records, records_of
from tco.case.sheets import is_sheet, sheet_rows

_WHAT = "candidate table"


def read_candidates(path: str | Path) -> tuple[Candidate, ...]:
    """Read a candidate table.

    Text with commas, semicolons or tabs between the cells (UTF-8, UTF-16 or Windows-1252), or a
    spreadsheet (xlsx, xls, ods).

    Raises
    ------
    CaseError
        With every problem of every row at once, each naming file, row, candidate and field.
    """
    path = Path(path)
    data = read_bytes(path, what=_WHAT)
    if is_sheet(data):
        return _sound(read_records(sheet_rows(data, file=path.name), file=path.name))
    text = text_of(data, file=path.name, what=_WHAT, any_encoding=True)
    return parse_candidates(text, file=path.name)


def parse_candidates(text: str, *, file: str = "") -> tuple[Candidate, ...]:
    """Candidates of a table given as text; see `read_candidates`."""
    return _sound(read_rows(text, file=file))


def _sound(read: TableRead) -> tuple[Candidate, ...]:
    if read.problems:
        raise CaseError(read.problems)
    return read.candidates


def read_rows(text: str, *, file: str = "") -> TableRead:
    """What can be read of a table given as text; see `tco.case.records.read_records`."""
    try:
        records, delimiter = records_of(text, file=file)
    except CaseError as error:
        return TableRead(problems=error.problems)
    return read_records(records, file=file, decimal_comma=delimiter == ";")


def parse_rows(text: str, *, file: str = "") -> tuple[tuple[Candidate, ...], tuple[Problem, ...]]:
    """Candidates of the rows that can be read, and the problems of the others.

    A heading row without candidates gives neither. Rows are numbered as a spreadsheet numbers them.
    """
    read = read_rows(text, file=file)
    return read.candidates, read.problems


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
