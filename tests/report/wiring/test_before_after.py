"""Before and after: every part that is there goes or stays, everything bought comes."""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from tco.bank.bank import Bank
from tco.case import Case, read_case
from tco.compare import compare
from tco.report.wiring.before_after import LATER, before_after_drawing, before_and_after
from tco.result import Result

Build = Callable[..., Case]
DEMOS = Path(__file__).parents[3] / "candidates_demo"


def results(demo: str) -> tuple[Case, tuple[Result, ...]]:
    case = read_case(DEMOS / f"{demo}.toml")
    return case, tuple(r for r in compare(case).results if r.wiring is not None)


@pytest.mark.parametrize("demo", ["otterbank", "coldharbour", "larch_hut"])
def test_every_part_and_every_line_of_the_bill_has_its_place(demo: str) -> None:
    case, found = results(demo)
    for result in found:
        rows = before_and_after(case, result)
        before = [one for row in rows for one in row.before]
        after = [one for row in rows for one in row.after]
        assert result.wiring is not None
        for decision in result.wiring.parts:
            (one,) = (b for b in before if b.words == decision.part.name)
            assert one.fate == ("stays" if decision.decision == "keep" else "goes")
            kept = [a for a in after if a.words == decision.part.name]
            assert len(kept) == (decision.decision == "keep")
        bought = [line.part for line in result.wiring.bill if not line.part.startswith(LATER)]
        for part, times in Counter(bought).items():
            assert sum(a.words.endswith(part) and a.fate == "comes" for a in after) == times, part
        assert {one.fate for one in before} <= {"goes", "stays"}
        assert {one.fate for one in after} <= {"comes", "stays"}
        assert next(one.words for one in after if one.fate == "comes") == result.arrangement.label


def test_a_charger_without_a_profile_goes_and_another_comes() -> None:
    case, found = results("otterbank")
    rows = before_and_after(case, found[0])
    (row,) = (r for r in rows if r.before and r.before[0].words == "shore charger")
    assert row.before[0].fate == "goes"
    assert (row.after[0].words, row.after[0].fate) == ("in place of shore charger", "comes")
    (panels,) = (r for r in rows if r.before and r.before[0].words == "roof panels")
    assert (panels.before[0].fate, panels.after[0].fate) == ("stays", "stays")


def test_the_drawing_says_all_of_it_with_its_reason() -> None:
    case, found = results("otterbank")
    for result in found[:6]:
        text = unescape(before_after_drawing(case, result))
        for row in before_and_after(case, result):
            for one in (*row.before, *row.after):
                assert f"{one.words}: {one.fate}" in text
                assert one.why in text
        # goes, stays and comes are told by the frame, not by colour alone
        drawn = Counter(re.findall(r"<rect[^>]*stroke-dasharray", text))
        assert sum(drawn.values()) > 1


def test_a_monitor_that_is_bought_stands_beside_the_one_that_goes(plain_case: Build) -> None:
    weak = {"name": "old one", "kind": "monitor", "rating_a": 5.0}
    case = plain_case(candidate={"charge_display": False}, system={"parts": [weak]})
    rows = {row.name: row for row in before_and_after(case, compare(case).results[0])}
    assert [one.words for one in rows["shunt and monitor"].before] == ["old one"]
    assert [one.words for one in rows["shunt and monitor"].after] == ["monitor with shunt"]


def test_lengths_are_in_the_users_units() -> None:
    case, found = results("otterbank")
    feet = case.model_copy(update={"units": "imperial"})
    text = " ".join(before_after_drawing(feet, result) for result in found[:8])
    assert re.search(r"\d ft of cable", text)
    assert not re.search(r"\d m of cable", text)


def test_a_bank_that_cannot_be_wired_has_no_drawing() -> None:
    case, found = results("coldharbour")
    bare = replace(found[0], bank=Bank(found[0].arrangement))
    assert before_and_after(case, bare) == ()
    assert before_after_drawing(case, bare) == ""


def test_names_do_no_harm_in_the_drawing(plain_case: Build) -> None:
    part = {"name": "<b>x</b> " * 13, "kind": "switch", "rating_a": 300.0}
    case = plain_case(candidate={"name": "<i>y</i>"}, system={"parts": [part]})
    text = before_after_drawing(case, compare(case).results[0])
    assert "<b>" not in text
    assert "<i>" not in text
