"""Rows of a shop's table: read where they can be, else kept as typed, and what is said of them."""

import pytest

from tco.case.candidate import Candidate
from tco.forms.meanings import LEAVE_OUT
from tco.forms.shop_columns import read_table, with_meaning
from tco.forms.shop_table import IntakeRow, rows_of, rows_of_table
from tco.forms.table_words import (
    column_words,
    row_words,
    strangers_words,
    table_report,
)

HEAD = "Model,Type,Voltage (V),Capacity (Ah),Size (in),Weight (lb),DoD %,Display,Price,Colour\n"
GOOD = 'Good,LiFePO4,12.8,100,13 x 6.8 x 8.5,24.3,80,ja,€ 219,"red, or blue"\n'
BAD = 'Bad,LiFePO4,12.8,plenty,13 x 6 3/4 x 8.5,24 1/2,80,ja,€ 219,"5"" high"\n'


def rows(text: str) -> tuple[IntakeRow, ...]:
    return rows_of(read_table(text))


def test_a_row_with_a_mistake_is_kept_as_typed() -> None:
    good, bad = rows(HEAD + GOOD + BAD)
    assert good.problems == ()
    assert good.data["other"] == {"Colour": "red, or blue"}
    assert bad.data == {
        "name": "Bad",
        "chemistry": "LiFePO4",
        "nominal_voltage_v": "12.8 V",
        "capacity_ah": "plenty",
        "width_mm": "13 in",
        "depth_mm": "6 3/4 in",
        "height_mm": "8.5 in",
        "mass_kg": "24 1/2 lb",
        "usable_depth": "80 %",
        "charge_display": True,
        "price": "€ 219",
        "other": {"Colour": '5" high'},
    }
    assert [(p.row, p.field) for p in bad.problems] == [(3, "capacity_ah")]
    assert bad.unreadable == {"capacity_ah"}


def test_a_row_mended_in_the_grid_is_as_if_it_had_been_right() -> None:
    _, bad = rows(HEAD + GOOD + BAD)
    (right,) = rows(HEAD + BAD.replace("plenty", "100"))
    mended = Candidate.model_validate({**bad.data, "capacity_ah": "100"})
    assert mended == Candidate.model_validate(right.data)


@pytest.mark.parametrize("said", ["n/a", "?", "–"])
def test_what_a_shop_does_not_say_is_no_mistake_of_a_typed_row(said: str) -> None:
    _, bad = rows(HEAD + GOOD + BAD.replace("24 1/2", said))
    assert "mass_kg" not in bad.data
    assert [problem.field for problem in bad.problems] == ["capacity_ah"]


def test_thousands_under_a_decimal_comma_are_still_asked_back_in_the_grid() -> None:
    (row,) = rows("Model;Type;V;Ah;Price\nBrae;AGM;12,8;1.250;99\n")
    assert "can mean" in row.problems[0].what
    with pytest.raises(ValueError, match="can mean"):
        Candidate.model_validate(row.data)
    mended = Candidate.model_validate({**row.data, "capacity_ah": "1250"})
    assert mended.nominal_voltage_v == 12.8


def test_forms_that_shops_use_are_read_and_said() -> None:
    (row,) = rows("Model,Type,V,Ah,Price,Cycles\nBrae,AGM,12,100,99,4000-6000\n")
    assert row.problems == ()
    assert row.data["rated_cycles"] == 4000.0
    assert "cautious end" in row.said[0]
    report = table_report(read_table("Model,Type,V,Ah,Price,Cycles\nB,AGM,12,9,9,4000-6000\n"))
    assert "row 2, B: " in report
    assert "cautious end" in report


def test_a_range_in_a_row_with_a_mistake_keeps_the_unit_of_its_heading() -> None:
    (row,) = rows("Model,Type,V,Ah,Price,Weight (lb)\nBrae,AGM,12,lots,99,24-26\n")
    assert row.data["mass_kg"] == "24-26 lb"
    mended = Candidate.model_validate({**row.data, "capacity_ah": 100})
    assert mended.mass_kg == pytest.approx(26 * 0.45359237)


def test_an_unreadable_size_is_kept() -> None:
    (row,) = rows("Model,Type,V,Ah,Price,Size\nBrae,AGM,12,100,99,33 x 17\n")
    assert row.data["width_mm"] == "33 x 17"
    assert row.unreadable >= {"width_mm", "depth_mm", "height_mm"}


def test_cells_beyond_the_headings_are_told() -> None:
    (row,) = rows("Model,Type,V,Ah,Price\nBrae,AGM,12,100,1,299\n")
    assert "6 cells under 5 headings" in row.problems[0].what


def test_what_a_row_lacks_is_told_at_the_row() -> None:
    (row,) = rows("Model,V,Ah,Price\nBrae,12,100,99\n")
    assert [(p.field, p.what) for p in row.problems] == [("chemistry", "is missing")]


def test_a_column_left_out_is_in_no_row() -> None:
    table = with_meaning(read_table(HEAD + GOOD + BAD), 9, LEAVE_OUT)
    assert not any("other" in row.data for row in rows_of(table))


def test_columns_of_one_heading_are_both_kept() -> None:
    (good,) = rows("Model,Type,V,Ah,Price,Seen,Seen\nBrae,AGM,12,100,99,a,b\n")
    (bad,) = rows("Model,Type,V,Ah,Price,Seen,Seen\nBrae,AGM,12,lots,99,a,b\n")
    assert good.data["other"] == bad.data["other"] == {"Seen": "a", "Seen (2)": "b"}


def test_rows_for_opening_a_case() -> None:
    found, problems = rows_of_table(HEAD + GOOD + BAD, file="packs.csv")
    assert [row["name"] for row in found] == ["Good", "Bad"]
    assert [(p.file, p.row) for p in problems] == [("packs.csv", 3)]
    found, problems = rows_of_table("nothing like\na table at all\n")
    assert found == []
    assert problems
    found, problems = rows_of_table("")
    assert found == []
    assert "no rows" in problems[0].what


def test_a_report_says_what_every_column_was_taken_for() -> None:
    table = read_table("May list\n" + HEAD + GOOD + BAD, file="packs.csv")
    report = table_report(table)
    assert report.startswith("packs.csv: 2 rows.\nRow 1 above the headings: passed over.")
    for column in table.columns:
        assert f"{column.heading} " in report
        assert column_words(column) in report
    assert "  Weight (lb)    Mass, in lb\n" in report
    assert "  DoD %          Usable share, in %\n" in report
    assert "1 column was not understood: “Colour”." in report
    assert "  row 4, Bad: Capacity: 'plenty' under 'Capacity (Ah)' is not a number" in report
    assert "row 3" not in report


def test_a_report_of_a_sound_table_speaks_of_no_mistake() -> None:
    report = table_report(read_table("Model,Type,V,Ah,Price\nBrae,AGM,12,100,99\n"))
    assert "mend" not in report
    assert "not understood" not in report
    assert "Row by row" not in report


def test_a_missing_column_is_told_once_and_not_in_every_row() -> None:
    report = table_report(read_table("Model,V,Ah,Price\nBrae,12,100,99\nTarn,12,100,99\n"))
    assert report.count("Chemistry") == 1


def test_the_rows_of_a_turned_table_are_its_columns() -> None:
    table = read_table("Model\tBrae\tTarn\nType\tAGM\tAGM\nV\t12\t12\nAh\t9\tlots\nPrice\t1\t2\n")
    _, bad = rows_of(table)
    assert row_words(bad, table.line).startswith("Column 3, Tarn — Capacity:")
    assert "  column 3, Tarn: Capacity:" in table_report(table)


def test_columns_not_understood_are_counted() -> None:
    assert strangers_words(read_table("Model,Colour,Shelf\nA,1,2\n")) == (
        "2 columns were not understood: “Colour”, “Shelf”."
    )
    assert strangers_words(read_table("Model,Price\nA,1\n")) == ""
