"""The text of a log is taken apart and put together without losing anything."""

from pathlib import Path

import pytest

from tco.case import CaseError
from tco.case.capacity_log import parse_log
from tco.case.log_headings import FIELDS, HEADER_FIELDS
from tco.forms.log_labels import LOG_LABELS
from tco.forms.log_text import LogText, as_placed, take_apart

DEMOS = Path(__file__).resolve().parents[2] / "candidates_demo"
LOGS = ("otterbank_log.csv", "otterbank_old_log.csv")


@pytest.mark.parametrize("name", LOGS)
def test_a_log_means_the_same_after(name: str) -> None:
    text = (DEMOS / name).read_text(encoding="utf-8")
    taken = take_apart(text)
    assert parse_log(taken.text()) == parse_log(text)
    assert take_apart(taken.text()) == taken


def test_what_is_stated_is_found() -> None:
    log = take_apart(
        "# remark one\n# battery: Fell 24/230\n# strings: 2\nDate,Ah\n2024-05-04,200\n"
    )
    assert log.stated("candidate") == "Fell 24/230"
    assert log.stated("bought") == ""


def test_ragged_rows_and_doubled_headings_are_kept() -> None:
    log = take_apart("Date;Ah;Ah\n2024-05-04;1,5\n2025-05-04;1,4;1,3;extra\n")
    assert log.headings == ("Date", "Ah", "Ah again", "column 4")
    assert log.rows == (("2024-05-04", "1,5", "", ""), ("2025-05-04", "1,4", "1,3", "extra"))
    assert log.separator == ";"


def test_an_empty_log() -> None:
    assert take_apart("") == LogText()
    assert take_apart("").tests == 0
    assert LogText(rows=(("", " "), ("2024-05-04", ""))).tests == 1


def test_columns_for_cells_come_before_the_remarks() -> None:
    log = LogText(rows=(("2025-05-04", "200", "", "", "", "windy"),)).with_cells(2)
    assert log.headings[-3:] == ("Cell 1 (mV)", "Cell 2 (mV)", "Remark")
    assert log.rows == (("2025-05-04", "200", "", "", "", "", "", "windy"),)
    assert log.cells == 2
    assert log.with_cells(2) == log.with_cells(1) == log
    assert log.with_cells(3).headings[-2:] == ("Cell 3 (mV)", "Remark")
    bare = take_apart("Date,Ah\n2025-05-04,200\n").with_cells(1)
    assert bare.headings == ("Date", "Ah", "Cell 1 (mV)")
    filled = LogText(
        log.lines, log.headings, (("2025-05-04", "200", *[""] * 3, "3330", "3331", ""),)
    )
    assert parse_log(filled.text()).tests[0].cell_voltages_v == (3.330, 3.331)


def test_problems_are_placed_as_the_screen_shows_them() -> None:
    log = take_apart(
        "# candidate: A\n# bought: 2026-13-01\nDate,Measured (Ah)\n2026-05-12,lots\n,200\n"
    )
    with pytest.raises(CaseError) as caught:
        parse_log(log.text(), file="capacity log")
    placed = {problem.item: problem for problem in as_placed(caught.value.problems, log)}
    assert set(placed) == {"the battery", "test 1", "test 2"}
    assert placed["the battery"].field == "Bought"
    assert placed["test 1"].field == "Measured Ah"
    assert (placed["test 2"].field, placed["test 2"].mend) == ("Date", "Fill in: Date.")
    assert not any(problem.file or problem.row for problem in placed.values())


def test_every_field_of_a_log_has_a_name_on_the_screen() -> None:
    assert set(LOG_LABELS) >= FIELDS | HEADER_FIELDS
