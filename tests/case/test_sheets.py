"""Candidate tables in spreadsheets: read like the same table as CSV, refused where too large.

`data/packs.xls` and `data/locked.xlsx` (password "open") were written for these tests; every other
file is made here.
"""

import datetime
import io
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import CaseError, read_candidates, read_case, sheets, write_case
from tco.case.sheets import MOST_COLUMNS, MOST_ROWS, cell_text, sheet_rows
from tests.conftest import build_plain_case

DATA = Path(__file__).parent / "data"
HEADINGS = ["Model", "Type", "Voltage", "Capacity (Ah)", "Price", "Weight (lb)", "BMS inside"]
ROWS = [
    ["Fell 100", "LiFePO4", 12.8, 100, 499.5, 31, True],
    ["Fell 200", "LiFePO4", 12.8, 200, 1299, None, False],
]


def xlsx(*sheets: list[list[Any]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for rows in sheets:
        sheet = book.create_sheet()
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


NAMESPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text")
)
KIND = "application/vnd.oasis.opendocument.spreadsheet"


def ods(table: str, *, entry: str = "") -> bytes:
    """The least that is an ods file: a table of rows and cells in OpenDocument's XML."""
    out = io.BytesIO()
    manifest = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", KIND)
        archive.writestr(
            "META-INF/manifest.xml",
            f'<m:manifest xmlns:m="{manifest}" xmlns:manifest="{manifest}"><m:file-entry '
            f'm:full-path="/" m:media-type="{KIND}"/>{entry}</m:manifest>',
        )
        archive.writestr(
            "content.xml",
            f"<office:document-content {NAMESPACES}><office:body><office:spreadsheet>"
            f'<table:table table:name="packs">{table}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return out.getvalue()


def ods_cell(value: Any, times: int = 1) -> str:
    repeated = f' table:number-columns-repeated="{times}"' if times > 1 else ""
    if value is None:
        return f"<table:table-cell{repeated}/>"
    if isinstance(value, bool):
        kind = f'office:value-type="boolean" office:boolean-value="{str(value).lower()}"'
    elif isinstance(value, int | float):
        kind = f'office:value-type="float" office:value="{value}"'
    else:
        kind = 'office:value-type="string"'
    return f"<table:table-cell {kind}{repeated}><text:p>{value}</text:p></table:table-cell>"


def ods_row(cells: str, times: int = 1) -> str:
    repeated = f' table:number-rows-repeated="{times}"' if times > 1 else ""
    return f"<table:table-row{repeated}>{cells}</table:table-row>"


def ods_table(rows: list[list[Any]]) -> str:
    """Rows as an office program writes them: the empty rest of the sheet is in it too."""
    rest = ods_row(ods_cell(None, 16_384), 1_048_576 - len(rows))
    return "".join(ods_row("".join(map(ods_cell, row))) for row in rows) + rest


def packs(tmp_path: Path, name: str) -> Path:
    if name == "packs.xls":
        return DATA / name
    rows = [["Price list, invented"], [], HEADINGS, *ROWS]
    path = tmp_path / name
    path.write_bytes(xlsx([["Cover"]], rows) if name.endswith("xlsx") else ods(ods_table(rows)))
    return path


@pytest.mark.parametrize("name", ["packs.xlsx", "packs.xls", "packs.ods"])
def test_a_table_is_read_from_every_kind(tmp_path: Path, name: str) -> None:
    first, second = read_candidates(packs(tmp_path, name))
    assert (first.name, first.chemistry, first.capacity_ah) == ("Fell 100", "lfp", 100.0)
    assert (first.price, second.price) == (499.5, 1299.0)
    assert first.mass_kg == pytest.approx(31 * 0.45359237)  # pound, 1959
    assert second.mass_kg is None
    assert (first.internal_management, second.internal_management) == (True, False)


def test_a_case_may_name_a_spreadsheet_but_is_not_written_to_it(tmp_path: Path) -> None:
    table = packs(tmp_path, "packs.xlsx")
    before = table.read_bytes()
    case = build_plain_case(candidates=[])
    write_case(case, tmp_path / "c.toml")
    read = read_case(tmp_path / "c.toml", candidates=table)
    assert [candidate.name for candidate in read.candidates] == ["Fell 100", "Fell 200"]
    with pytest.raises(CaseError, match="is a spreadsheet"):
        write_case(read.model_copy(update={"candidates_file": "packs.xlsx"}), tmp_path / "c.toml")
    assert table.read_bytes() == before


def test_rows_are_those_of_the_spreadsheet() -> None:
    rows = sheet_rows(xlsx([[], ["A list"], HEADINGS, ["Fell", "nicad", 12, 1, 1, None, None]]))
    assert rows[2] == tuple(HEADINGS)
    assert rows[0] == ("",) * len(HEADINGS)


def test_a_problem_names_the_row_of_the_spreadsheet(tmp_path: Path) -> None:
    path = tmp_path / "t.xlsx"
    path.write_bytes(xlsx([[], ["A list"], HEADINGS, [], ["Fell", "nicad", 12, 1, 1, None, None]]))
    with pytest.raises(CaseError) as caught:
        read_candidates(path)
    assert [(p.file, p.row, p.field) for p in caught.value.problems] == [("t.xlsx", 5, "chemistry")]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (100.0, "100"), (12.8, "12.8"), (0.1 + 0.2, "0.3"), (1.299, "1.2990"), (7, "7"),
        (True, "yes"), (False, "no"), ("  Fell ", "Fell"), ("", ""),
        (datetime.date(2026, 3, 1), "2026-03-01"),
        (datetime.datetime(2026, 3, 1), "2026-03-01"),
        (datetime.datetime(2026, 3, 1, 5, 30), "2026-03-01T05:30:00"),
    ],
)  # fmt: skip
def test_cells_as_text(value: Any, text: str) -> None:
    assert cell_text(value) == text


def test_what_a_program_wrote_is_read() -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Model", "Price", "Capacity"])
    sheet["A2"], sheet["B2"], sheet["C2"] = "Fell", "#N/A", datetime.date(2026, 3, 1)
    sheet.merge_cells("A2:A3")
    hidden = book.create_sheet("old")
    hidden.sheet_state = "hidden"
    hidden.append(HEADINGS)
    out = io.BytesIO()
    book.save(out)
    assert sheet_rows(out.getvalue())[:2] == (("Model", "Price", "Capacity"),
                                              ("Fell", "", "2026-03-01"))  # fmt: skip


@pytest.mark.parametrize(
    ("row", "column"), [(1_048_576, 16_384), (MOST_ROWS + 1, 1), (1, MOST_COLUMNS + 1)]
)
def test_a_cell_far_away_is_refused_before_it_is_read(row: int, column: int) -> None:
    """Read as it stands, the first of them takes half a terabyte and ends the program."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.cell(row, column, "x")
    out = io.BytesIO()
    book.save(out)
    with pytest.raises(CaseError, match="is larger than 20,000 rows"):
        sheet_rows(out.getvalue())


@pytest.mark.parametrize(
    "table",
    [
        ods_row(ods_cell(1), 1_048_576),
        ods_row(ods_cell(1, 16_384)),
        ods_row(ods_cell(1, 900), 19_000),
        ods_row(ods_cell(None), 1_048_575) + ods_row(ods_cell(1)),
        ods_row('<table:table-cell table:formula="of:=1" table:number-columns-repeated="9999"/>'),
    ],
)
def test_repeated_cells_are_refused(table: str) -> None:
    with pytest.raises(CaseError, match="is larger than 20,000 rows"):
        sheet_rows(ods(table))


def test_a_zip_that_unpacks_to_too_much_is_refused() -> None:
    out = io.BytesIO(xlsx([HEADINGS]))
    with (
        zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open("xl/media/picture.bin", "w") as stream,
    ):
        for _ in range(210):
            stream.write(bytes(1_000_000))
    assert len(out.getvalue()) < 300_000
    with pytest.raises(CaseError, match="200 MB unpacked"):
        sheet_rows(out.getvalue())


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"name,price\n", "is no spreadsheet"),
        (b"PK\x03\x04rest", "is damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest", "is damaged"),
        (xlsx([HEADINGS])[:-200], "is damaged"),
        (ods("<table:table-row>"), "is damaged"),
        ((DATA / "packs.xls").read_bytes()[:3000], "is damaged"),
        ((DATA / "locked.xlsx").read_bytes(), "is locked with a password"),
    ],
)
def test_what_is_no_sound_spreadsheet_is_refused(data: bytes, why: str) -> None:
    with pytest.raises(CaseError, match=why):
        sheet_rows(data, file="t.xlsx")


def test_an_archive_of_something_else() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("letter.txt", "hello")
    with pytest.raises(CaseError, match="is damaged, or no spreadsheet"):
        sheet_rows(out.getvalue())


def test_an_empty_spreadsheet_has_no_rows(tmp_path: Path) -> None:
    (tmp_path / "t.xlsx").write_bytes(xlsx([]))
    with pytest.raises(CaseError, match="has no rows"):
        read_candidates(tmp_path / "t.xlsx")


SOUND = {
    "xlsx": xlsx([HEADINGS, *ROWS]),
    "xls": (DATA / "packs.xls").read_bytes(),
    "ods": ods(ods_table([HEADINGS, *ROWS])),
}


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(["xlsx", "ods"]), st.data())
def test_damage_gives_rows_or_a_case_error(kind: str, data: st.DataObject) -> None:
    _damaged(kind, data)


@settings(max_examples=10, deadline=None)
@given(st.data())
def test_damage_of_an_old_file_takes_only_its_reader_with_it(data: st.DataObject) -> None:
    """Some of them ask for more memory than there is, which ends a process without a word."""
    _damaged("xls", data)


def test_a_reader_that_is_gone_is_a_damaged_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets.sys, "executable", "false")  # ends with a failure, says nothing
    with pytest.raises(CaseError, match="is damaged, or no spreadsheet"):
        sheet_rows(SOUND["xls"], file="t.xls")


def _damaged(kind: str, data: st.DataObject) -> None:
    broken = bytearray(SOUND[kind])
    for _ in range(data.draw(st.integers(1, 8))):
        broken[data.draw(st.integers(8, len(broken) - 1))] = data.draw(st.integers(0, 255))
    try:
        rows = sheet_rows(bytes(broken), file="t")
    except CaseError:
        return
    assert all(isinstance(cell, str) for row in rows for cell in row)
