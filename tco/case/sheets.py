"""Tables out of spreadsheets (xlsx, xls, ods), as rows of text like those of a CSV file.

A spreadsheet is small on disk and can be huge unpacked: one cell far down and far right is enough.
So before it is read its parts are unpacked into nothing, counted, and searched for the farthest
cell; what is beyond the limits below is refused.
"""

import datetime
import io
import json
import re
import subprocess
import sys
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from xml.parsers import expat

import python_calamine

from tco.case.cells import written
from tco.case.problems import CaseError, Problem
from tco.case.records import fields_named, heading_place

MOST_ROWS, MOST_COLUMNS, MOST_CELLS = 20_000, 1_000, 2_000_000
LARGEST_UNPACKED_BYTES = 200_000_000
"""More than any list of batteries. A choice of ours."""
LONGEST_S = 60.0
"""Longer than reading any list of batteries takes. A choice of ours."""
_ROOT = Path(__file__).parents[2]

_ZIP, _OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
"""Name of the stream that holds a locked xlsx file (Microsoft, MS-OFFCRYPTO, 2.3.4.4)."""
_CHUNK = 1 << 16
_ENOUGH_FIELDS = 3
"""A sheet with a row that names so many fields of a candidate is taken for the table."""

Rows = tuple[tuple[str, ...], ...]


def is_sheet(data: bytes) -> bool:
    """Whether a file's bytes begin as those of a spreadsheet do (xlsx, ods: a zip; xls: OLE)."""
    return data.startswith((_ZIP, _OLE))


def sheet_rows(data: bytes, *, file: str = "") -> Rows:
    """Rows of the sheet that looks most like a table of candidates, cells as text.

    That is the first visible sheet with a row that names three fields or more, else the first with
    anything in it. The first row is the sheet's row 1, empty or not. Numbers come plain, dates as
    2026-03-01, yes and no as such, what is empty or an error as "".

    Raises
    ------
    CaseError
        Where it is no spreadsheet, is damaged or locked with a password, or holds more than
        `MOST_ROWS`, `MOST_COLUMNS`, `MOST_CELLS` or `LARGEST_UNPACKED_BYTES`.
    """
    if data.startswith(_ZIP):
        _check_unpacked(data, file)
    elif not data.startswith(_OLE):
        raise _failed(file, "is no spreadsheet", "Save it as xlsx, ods or CSV.")
    elif _ENCRYPTED in data:
        raise _locked(file)
    first: Rows | None = None
    for rows in every_sheet(data, file) if data.startswith(_ZIP) else _apart(data, file):
        place = heading_place(rows)
        if place is None:
            continue
        if fields_named(rows[place]) >= _ENOUGH_FIELDS:
            return rows
        first = rows if first is None else first
    return first or ()


def _failed(file: str, what: str, mend: str) -> CaseError:
    return CaseError([Problem(what, file=file, mend=mend)])


def _locked(file: str) -> CaseError:
    mend = "Take the password off, or save the sheet as CSV."
    return _failed(file, "is locked with a password", mend)


def _damaged(file: str) -> CaseError:
    mend = "Open it in a spreadsheet program and save it again, or save the sheet as CSV."
    return _failed(file, "is damaged, or no spreadsheet", mend)


def _too_large(file: str) -> CaseError:
    return _failed(
        file,
        f"is larger than {MOST_ROWS:,} rows, {MOST_COLUMNS:,} columns or {MOST_CELLS:,} cells, "
        f"or than {LARGEST_UNPACKED_BYTES // 1_000_000} MB unpacked",
        "Delete what lies far below and right of the table, or copy the table to a new sheet.",
    )


def _apart(data: bytes, file: str) -> list[Rows]:
    """The same of an xls file, read by a process of its own.

    Such a file says itself how much memory its parts take. A damaged one can ask for more than
    there is, which ends the process that reads it without a word: not the one that serves people.
    """
    command = [sys.executable, "-m", "tco.case.apart"]
    try:
        ran = subprocess.run(
            command, input=data, capture_output=True, timeout=LONGEST_S, cwd=_ROOT, check=True
        )
    except (subprocess.TimeoutExpired, subprocess.CalledProcessError):
        raise _damaged(file) from None
    said: dict[str, Any] = json.loads(ran.stdout)
    if "problems" in said:
        raise CaseError([Problem(what, file=file, mend=mend) for what, mend in said["problems"]])
    return [tuple(tuple(row) for row in rows) for rows in said["sheets"]]


def every_sheet(data: bytes, file: str) -> list[Rows]:
    """Rows of every visible sheet. Raises CaseError, as `sheet_rows`."""
    try:
        with python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)) as book:
            found = []
            for place, sheet in enumerate(book.sheets_metadata):
                if sheet.typ != python_calamine.SheetTypeEnum.WorkSheet:
                    continue
                if sheet.visible != python_calamine.SheetVisibleEnum.Visible:
                    continue
                cells = book.get_sheet_by_index(place)
                height, width = cells.total_height, cells.total_width
                if height > MOST_ROWS or width > MOST_COLUMNS or height * width > MOST_CELLS:
                    raise _too_large(file)
                found.append(_rows(cells.to_python(skip_empty_area=False)))
            return found
    except python_calamine.PasswordError:
        raise _locked(file) from None
    except (python_calamine.CalamineError, OSError, ValueError):
        raise _damaged(file) from None
    except BaseException as error:
        if type(error).__name__ != "PanicException":  # the reader gave up; it is no Exception
            raise
        raise _damaged(file) from None


def _rows(cells: Sequence[Sequence[Any]]) -> Rows:
    return tuple(tuple(map(cell_text, row)) for row in cells)


def cell_text(value: Any) -> str:
    """A cell of a spreadsheet as somebody would have typed it.

    >>> cell_text(100.0), cell_text(0.1 + 0.2), cell_text(True), cell_text(1.299)
    ('100', '0.3', 'yes', '1.2990')
    """
    if isinstance(value, float):
        short = float(f"{value:.15g}")
        return str(int(short)) if short == int(short) and abs(short) < 1e15 else written(short)
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        value = value.date()
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return written(value) if isinstance(value, bool | int) else str(value).strip()


_BROKEN_ZIP = (
    *(zipfile.BadZipFile, zlib.error, expat.ExpatError),
    *(NotImplementedError, EOFError, OSError, ValueError),
)
"""What `zipfile` and the XML reader raise for what is none."""


def _check_unpacked(data: bytes, file: str) -> None:
    """Refuse a zip that unpacks to too much, or has a cell too far away."""
    total = 0
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if any(info.filename.lower().endswith("workbook.bin") for info in archive.infolist()):
                raise _failed(file, "is a binary workbook", "Save it as xlsx, ods or CSV.")
            if sum(info.file_size for info in archive.infolist()) > LARGEST_UNPACKED_BYTES:
                raise _too_large(file)
            for info in archive.infolist():
                extent = _Extent()
                with archive.open(info) as stream:
                    while chunk := stream.read(_CHUNK):
                        total += len(chunk)
                        if info.filename.lower().endswith(".xml"):
                            extent.feed(chunk)
                        if total > LARGEST_UNPACKED_BYTES or extent.too_large:
                            raise _too_large(file)
    except RuntimeError:  # a part of the zip is encrypted
        raise _locked(file) from None
    except _BROKEN_ZIP:
        raise _damaged(file) from None


_EMPTY_CELL = frozenset({"number-columns-repeated", "style-name", "content-validation-name"})
"""Attributes of a cell of an ods file that holds nothing."""


class _Extent:
    """How far away the farthest cell of a sheet's XML lies, and how many cells are repeated."""

    def __init__(self) -> None:
        self.too_large = False
        self._row = self._column = 0
        self._rows_repeated = self._repeated = 1
        self._cells = 0
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler = self._start
        self._starts = {
            "row": self._xlsx_row,
            "c": self._xlsx_cell,
            "table-row": self._ods_row,
            "table-cell": self._ods_cell,
            "covered-table-cell": self._ods_cell,
            "table": self._ods_table,
        }

    def feed(self, chunk: bytes) -> None:
        """Read on in the XML."""
        self._parser.Parse(chunk, False)

    def _start(self, name: str, given: Mapping[str, str]) -> None:
        start = self._starts.get(name.rsplit(":", 1)[-1])
        if start is not None:
            start({key.rsplit(":", 1)[-1]: value for key, value in given.items()})

    def _reached(self, row: int, column: int) -> None:
        if row > MOST_ROWS or column > MOST_COLUMNS:
            self.too_large = True

    def _xlsx_row(self, given: Mapping[str, str]) -> None:
        self._row = int(given["r"]) if given.get("r", "").isdecimal() else self._row + 1
        self._column = 0

    def _xlsx_cell(self, given: Mapping[str, str]) -> None:
        match = re.fullmatch(r"([A-Za-z]+)([0-9]+)", given.get("r", ""))
        if match is None:
            self._column += 1
            self._reached(self._row, self._column)
            return
        column = 0
        for letter in match[1].upper()[:6]:
            column = 26 * column + ord(letter) - ord("A") + 1
        self._column = column
        self._reached(int(match[2]), column)

    def _ods_table(self, given: Mapping[str, str]) -> None:
        self._row = self._column = self._cells = 0
        self._rows_repeated = 1

    def _ods_row(self, given: Mapping[str, str]) -> None:
        self._row += self._rows_repeated
        self._column = 0
        self._rows_repeated = _times(given.get("number-rows-repeated"))

    def _ods_cell(self, given: Mapping[str, str]) -> None:
        times = _times(given.get("number-columns-repeated"))
        self._column += times
        if given.keys() <= _EMPTY_CELL:
            return  # however often it is repeated
        self._reached(self._row + self._rows_repeated, self._column)
        self._cells += times * self._rows_repeated
        if self._cells > MOST_CELLS:
            self.too_large = True


def _times(text: str | None) -> int:
    return int(text) if text is not None and text.isdecimal() else 1
