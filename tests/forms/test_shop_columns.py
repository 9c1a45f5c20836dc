"""What the columns of a shop's table are taken for: whatever the file, and open to be changed."""

import io
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tco.case import CaseError, read_candidates
from tco.case.table import candidates_to_csv
from tco.forms import labels
from tco.forms.entry import Units
from tco.forms.meanings import KEPT, LEAVE_OUT, chosen_unit, fits, units_of
from tco.forms.shop_columns import (
    meanings_in_force,
    not_understood,
    read_table,
    table_problems,
    with_meaning,
)
from tco.forms.shop_table import rows_of

ROOT = Path(__file__).resolve().parents[2]
DEMOS = tuple(
    ROOT / "candidates_demo" / f"{name}_candidates.csv"
    for name in ("otterbank", "larch_hut", "coldharbour")
)
ROWS = (
    ("Model", "Type", "Voltage (V)", "Capacity (Ah)", "Weight (lb)", "Price", "Colour"),
    ("Brae 100", "LiFePO4", "12.8", "100", "24.5", "€ 219", "red"),
    ("Brae 200", "LiFePO4", "12.8", "200", "48", "€ 399", "blue"),
)
READ = [
    {
        "name": "Brae 100",
        "chemistry": "lfp",
        "nominal_voltage_v": 12.8,
        "capacity_ah": 100.0,
        "mass_kg": 11.113013065,
        "price": 219.0,
        "other": {"Colour": "red"},
    },
    {
        "name": "Brae 200",
        "chemistry": "lfp",
        "nominal_voltage_v": 12.8,
        "capacity_ah": 200.0,
        "mass_kg": 21.77243376,
        "price": 399.0,
        "other": {"Colour": "blue"},
    },
]


def text(separator: str = ",", rows: tuple[tuple[str, ...], ...] = ROWS) -> str:
    return "".join(separator.join(row) + "\n" for row in rows)


def xlsx() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Our list for May"])
    sheet.append([])
    for row in ROWS:
        sheet.append([float(cell) if cell.replace(".", "").isdigit() else cell for cell in row])
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def ods() -> bytes:
    rows = "".join(
        "<table:table-row>"
        + "".join(
            f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p>'
            "</table:table-cell>"
            for cell in row
        )
        + "</table:table-row>"
        for row in ROWS
    )
    space = "urn:oasis:names:tc:opendocument:xmlns"
    content = (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<office:document-content xmlns:office="{space}:office:1.0" '
        f'xmlns:table="{space}:table:1.0" xmlns:text="{space}:text:1.0" office:version="1.2">'
        f'<office:body><office:spreadsheet><table:table table:name="May">{rows}'
        "</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    manifest = (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<manifest:manifest xmlns:manifest="{space}:manifest:1.0" manifest:version="1.2">'
        '<manifest:file-entry manifest:full-path="/" '
        'manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>'
        "</manifest:manifest>"
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", manifest)
    return stream.getvalue()


FORMS = {
    "comma": text().encode(),
    "semicolon": text(";").encode(),
    "pasted": text("\t"),
    "pasted with blanks": text("\t").replace("Brae 100", "\u00a0Brae 100 "),
    "UTF-8 with a mark": b"\xef\xbb\xbf" + text().encode(),
    "UTF-16": text("\t").encode("utf-16"),
    "Windows-1252": text(";").encode("cp1252"),
    "xlsx": xlsx(),
    "ods": ods(),
    "turned": text("\t", tuple(zip(*ROWS, strict=True))),
    "empty lines": "\n\n"
    + text().replace("Brae 200", "\n,,,,,,\nBrae 200").replace("\n\n,", "\n,"),
}


@pytest.mark.parametrize("form", FORMS)
def test_the_same_table_in_every_form(form: str) -> None:
    table = read_table(FORMS[form], file="packs")
    assert [row.data for row in rows_of(table)] == READ
    assert not_understood(table) == ("Colour",)
    assert table_problems(table) == ()


def test_rows_keep_the_numbers_they_have_in_the_file() -> None:
    assert [row.number for row in rows_of(read_table(text()))] == [2, 3]
    assert [row.number for row in rows_of(read_table(xlsx()))] == [4, 5]
    titled = read_table("Our list for May\n" + text())
    assert [row.number for row in rows_of(titled)] == [3, 4]
    assert titled.said == ("Row 1 above the headings: passed over.",)


def test_a_table_on_its_side_is_turned_and_said_so() -> None:
    table = read_table(FORMS["turned"])
    assert table.turned
    assert table.line == "column"
    assert [row.number for row in rows_of(table)] == [2, 3]
    assert "stands on its side" in table.said[0]
    assert not read_table(text()).turned


def test_a_data_sheet_of_one_pack_is_turned() -> None:
    table = read_table("Model\tBrae 100\nWeight\t24 lb\nPrice\t€ 219\n")
    assert table.turned
    assert [row.data for row in rows_of(table)] == [
        {"name": "Brae 100", "mass_kg": "24 lb", "price": "€ 219"}
    ]


def test_a_row_of_units_below_the_headings() -> None:
    table = read_table(
        "Model;Type;Voltage;Capacity;Weight;Width;Price\n;;V;Ah;[lb];in;€\n"
        "Brae;AGM;12;100;24;10,5;99\n"
    )
    (row,) = rows_of(table)
    assert row.number == 3
    assert row.data["mass_kg"] == pytest.approx(24 * 0.45359237)
    assert row.data["width_mm"] == pytest.approx(10.5 * 25.4)
    assert "Row 2 holds the units of the columns." in table.said


def test_first_rows_without_a_figure_are_not_all_units() -> None:
    table = read_table("Model,Type,Voltage,Capacity,Price\nBrae,AGM,?,?,?\nTarn,AGM,12,100,99\n")
    assert [row.data["name"] for row in rows_of(table)] == ["Brae", "Tarn"]


def test_a_decimal_comma_between_tabs_is_noticed() -> None:
    head = "Model\tType\tVoltage\tPrice\tCapacity\n"
    comma = read_table(f"{head}Brae\tAGM\t12,8\t99\t1.250\n")
    assert [p.field for row in rows_of(comma) for p in row.problems] == ["capacity_ah"]
    point = read_table(f"{head}Brae\tAGM\t12.8\t99\t1.250\n")
    assert rows_of(point)[0].data["capacity_ah"] == 1.25


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_our_own_file_comes_back_exactly(path: Path) -> None:
    candidates = read_candidates(path)
    table = read_table(candidates_to_csv(candidates))
    assert not_understood(table) == tuple(
        column.heading for column in table.columns if column.field == KEPT
    )
    rows = rows_of(table)
    assert not any(row.problems for row in rows)
    assert [row.data for row in rows] == [
        candidate.model_dump(mode="json", exclude_unset=True, exclude_none=True)
        for candidate in candidates
    ]


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_our_own_labels_are_understood(units: Units) -> None:
    headings = [entry.heading(units, "€") for entry in labels.CANDIDATE]
    table = read_table("\t".join(headings) + "\n" + "\t".join("1" for _ in headings) + "\n")
    assert not_understood(table) == ()
    assert [column.field for column in table.columns] == [e.field for e in labels.CANDIDATE]
    for column, entry in zip(table.columns, labels.CANDIDATE, strict=True):
        typed = entry.typed_unit(units).replace("percent", "%")
        assert column.unit == chosen_unit(entry.field, typed)


def test_every_column_that_means_nothing_is_named() -> None:
    table = read_table("Model,Colour,,other: Weight,Price\nBrae,red,x,9,99\n")
    assert not_understood(table) == ("Colour", "column 3")
    assert table.columns[3].how == "marked as kept"
    assert rows_of(table)[0].data["other"] == {"Colour": "red", "column 3": "x", "Weight": "9"}


def test_a_column_gets_another_meaning_and_unit() -> None:
    table = read_table("Model,Mass of one,Colour,V,Type,Ah,Price\nA,24,red,12,agm,9,9\n")
    changed = with_meaning(with_meaning(table, 1, "mass_kg", "lb"), 2, LEAVE_OUT)
    assert changed.columns[1].how == "chosen"
    (row,) = rows_of(changed)
    assert row.data["mass_kg"] == pytest.approx(24 * 0.45359237)
    assert "other" not in row.data
    assert not_understood(changed) == ()
    assert rows_of(with_meaning(changed, 1, "mass_kg", "kg"))[0].data["mass_kg"] == 24.0
    assert not_understood(with_meaning(table, 1, KEPT)) == ("Colour",)
    with pytest.raises(ValueError, match="no field"):
        with_meaning(table, 1, "colour")
    with pytest.raises(ValueError, match="cannot be in"):
        with_meaning(table, 1, "mass_kg", "mm")


def test_two_columns_that_mean_the_same_are_both_named() -> None:
    table = read_table("Model,Type,V,Ah,Price,Weight (kg),Mass (lb)\nA,agm,12,100,9,10,30\n")
    (problem,) = table_problems(table)
    assert "“Weight (kg)”" in problem.what
    assert "“Mass (lb)”" in problem.what
    (row,) = rows_of(table)
    assert row.data["mass_kg"] == 10.0
    assert row.data["other"] == {"Mass (lb)": "30"}
    first = with_meaning(table, 5, KEPT)
    assert table_problems(first) == ()
    assert rows_of(first)[0].data["mass_kg"] == pytest.approx(30 * 0.45359237)


def test_a_size_in_one_cell_and_a_width_clash() -> None:
    table = read_table("Model,Type,V,Ah,Price,Size (cm),Width\nA,agm,12,100,9,33 x 17 x 21,330\n")
    assert meanings_in_force(table)[5:] == (("size", "cm"), (KEPT, ""))
    assert "both mean Width" in table_problems(table)[0].what


def test_a_unit_nobody_knows_is_asked_for() -> None:
    table = read_table("Model,Type,V,Ah,Price,Weight (stone)\nA,agm,12,100,9,40\n")
    (problem,) = table_problems(table)
    assert "stone" in problem.what
    assert problem.allowed == "kg, g, lb, oz"
    assert [p.field for p in rows_of(table)[0].problems] == ["mass_kg"]
    assert rows_of(with_meaning(table, 5, "mass_kg", "lb"))[0].problems == ()


def test_a_table_without_headings_is_told_and_can_be_matched() -> None:
    table = read_table("Brae 100\tAGM\t12\t100\t99\nBrae 200\tAGM\t12\t200\t199\n")
    assert table.head is None
    assert "no row of headings" in table_problems(table)[0].what
    for place, field in enumerate(
        ("name", "chemistry", "nominal_voltage_v", "capacity_ah", "price")
    ):
        table = with_meaning(table, place, field)
    rows = rows_of(table)
    assert [row.number for row in rows] == [1, 2]
    assert [row.data["name"] for row in rows] == ["Brae 100", "Brae 200"]
    assert not any(row.problems for row in rows)


def test_strange_headings_are_headings_all_the_same() -> None:
    table = read_table("Modell;Preis\nBrae 100;99\n")
    assert not_understood(table) == ("Modell", "Preis")
    assert [row.number for row in rows_of(table)] == [2]


def test_columns_that_every_table_needs_are_asked_for() -> None:
    problems = table_problems(read_table("Model,Price,Volts\nA,9,12\n"))
    assert [problem.field for problem in problems] == ["chemistry", "capacity_ah"]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        "  \n \t\n",
        b"\x00\x01\x02",
        b"PK\x03\x04 no zip",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 no sheet",
    ],
)
def test_what_is_no_table_is_refused_with_a_reason(data: bytes | str) -> None:
    with pytest.raises(CaseError) as told:
        read_table(data, file="packs")
    assert told.value.problems[0].what


def test_headings_alone_are_told() -> None:
    (problem,) = table_problems(read_table("Model,Type,V,Ah,Price\n"))
    assert "no candidate" in problem.what


def test_units_are_offered_once_each() -> None:
    assert [unit.words for unit in units_of("width_mm")] == ["mm", "cm", "m", "in", "ft"]
    assert [unit.key for unit in units_of("charge_min_degc")] == ["degc", "degf"]
    assert [unit.key for unit in units_of("usable_depth")] == ["", "%"]
    assert units_of("price") == units_of("name") == units_of(KEPT) == ()
    assert chosen_unit("width_mm", "Inches") == "in"
    assert chosen_unit("self_discharge_per_month", "%/month") == "%"
    assert fits("width_mm", "″")
    assert not fits("width_mm", "kg")
