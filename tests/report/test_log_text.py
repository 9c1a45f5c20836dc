"""The text of a log is taken apart and put together without losing anything."""

from pathlib import Path

import pytest

from tco.case.capacity_log import parse_log
from tco.report.log_text import LogText, take_apart

DEMOS = Path(__file__).resolve().parents[2] / "candidates_demo"
LOGS = ("otterbank_log.csv", "otterbank_old_log.csv")


@pytest.mark.parametrize("name", LOGS)
def test_a_log_means_the_same_after(name: str) -> None:
    text = (DEMOS / name).read_text(encoding="utf-8")
    taken = take_apart(text)
    assert parse_log(taken.text()) == parse_log(text)
    assert take_apart(taken.text()) == taken


def test_what_is_stated_is_found_and_written_in_place() -> None:
    log = take_apart(
        "# remark one\n# battery: Fell 24/230\n# strings: 2\nDate,Ah\n2024-05-04,200\n"
    )
    assert log.stated("candidate") == "Fell 24/230"
    assert log.stated("bought") == ""
    changed = log.with_stated("candidate", "Other").with_stated("bought", "2024-01-02")
    assert changed.lines == ("remark one", "candidate: Other", "strings: 2", "bought: 2024-01-02")
    assert changed.with_stated("strings", " ").lines == (
        "remark one", "candidate: Other", "bought: 2024-01-02",
    )  # fmt: skip
    assert changed.rows == log.rows


def test_ragged_rows_and_doubled_headings_are_kept() -> None:
    log = take_apart("Date;Ah;Ah\n2024-05-04;1,5\n2025-05-04;1,4;1,3;extra\n")
    assert log.headings == ("Date", "Ah", "Ah again", "column 4")
    assert log.rows == (("2024-05-04", "1,5", "", ""), ("2025-05-04", "1,4", "1,3", "extra"))
    assert log.separator == ";"


def test_an_empty_log() -> None:
    assert take_apart("") == LogText()
    assert take_apart("").tests == 0
    assert LogText(rows=(("", " "), ("2024-05-04", ""))).tests == 1
