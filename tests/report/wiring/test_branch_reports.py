"""Parts of branches in the data, the shopping list, before and after, and on the page."""

from collections import Counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.wiring.feeds import Feed
from tco.compare import Comparison, compare
from tco.physics.fuse_classes import INSTALLED
from tco.report.machine import as_data
from tco.report.wiring.before_after import LATER, before_after_drawing, before_and_after
from tco.report.wiring.page import diagram_with_links, wiring_page
from tco.report.wiring.shopping import also_needed, lines_by_key, links, shopping_list
from tco.report.wiring.words import feed_words
from tco.result import Result
from tests.conftest import build_plain_case

KEEPS = [
    {"name": "roof breaker", "kind": "branch fuse", "branch": "roof", "rating_a": 40.0,
     "fuse_class": "DC rail breaker"},
    {"name": "roof cable", "kind": "branch cable", "branch": "roof", "size": "16 mm2",
     "length_m": 6.0, "insulation_degc": 105},
    {"name": "roof switch", "kind": "isolator", "branch": "roof", "side": "panel side",
     "rating_a": 32.0, "rating_v": 150.0},
]  # fmt: skip
GOES = [
    {"name": "thin cable", "kind": "branch cable", "branch": "DC-DC", "size": "4 mm2",
     "length_m": 6.0},
    {"name": "large fuse", "kind": "branch fuse", "branch": "DC-DC", "fuse_class": "MEGA",
     "rating_a": 300.0},
    {"name": "weak isolator", "kind": "isolator", "branch": "sine", "rating_a": 10.0,
     "link": "https://isolator.example"},
    {"name": "weak posts", "kind": "distribution bars", "rating_a": 20.0,
     "link": "https://posts.example"},
    {"name": "panel isolator", "kind": "isolator", "branch": "roof", "side": "panel side",
     "rating_a": 2.0, "rating_v": 150.0},
]  # fmt: skip


def compared(parts: list[dict[str, Any]], **changes: Any) -> tuple[Comparison, Result]:
    roof = {"name": "roof", "peak_w": 500.0, "controller_a": 30.0, "panel_voltage_v": 80.0}
    engine = {"name": "DC-DC", "rating_a": 40.0, "hours_per_day": 1.0, "cable_run_m": 3.0}
    comparison = compare(
        build_plain_case(
            system={"parts": parts, "inverter": {"name": "sine", "continuous_w": 600.0}},
            sources={"solar": [{**roof, "profiles": ["lithium"]}],
                     "engine": [{**engine, "profiles": ["lithium"]}]},
            assumptions={"weather_years": 1, "max_packs": 1},
            candidate={"short_circuit_a": 1_420.0},
            **changes,
        )
    )  # fmt: skip
    (result,) = comparison.results
    assert result.wiring is not None
    return comparison, result


def branch_of(comparison: Comparison, result: Result, name: str) -> dict[str, Any]:
    (row,) = as_data(comparison)["arrangements"]
    return next(one for one in row["branches"] if one["branch"] == name)


def test_the_data_tell_what_stays_in_a_branch() -> None:
    comparison, result = compared([*KEEPS, *GOES])
    told = branch_of(comparison, result, "roof")
    assert (told["size"], told["cable_in_place"]) == ("16 mm2", True)
    assert told["fuse"] == {"class": "DC rail breaker", "rating_a": 40.0, "interrupt_a": 6_000.0}
    assert told["fuse_in_place"] is True
    assert [(one["part"], one["side"], one["in_place"]) for one in told["isolators"]] == [
        ("roof switch", "panel side", True), ("panel isolator", "panel side", False),
    ]  # fmt: skip
    other = branch_of(comparison, result, "DC-DC")
    assert (other["cable_in_place"], other["fuse_in_place"], other["isolators"]) == (
        False, False, [],
    )  # fmt: skip
    (row,) = as_data(comparison)["arrangements"]
    fates = {one["part"]: (one["branch"], one["decision"]) for one in row["existing_parts"]}
    assert fates["roof cable"] == ("roof", "keep")
    assert fates["weak posts"] == (None, "replace")


def test_what_goes_is_on_the_shopping_list_with_what_to_look_for() -> None:
    comparison, result = compared([*KEEPS, *GOES])
    lines = {line.part: line for line in shopping_list(comparison.case, result)}
    feed = next(one for one in comparison.feeds(result) if one.name == "DC-DC")
    assert feed.fuse is not None
    assert feed.choice is not None
    fuse = f"branch fuse {feed.fuse.fuse_class.name} {feed.fuse.rating_a:g} A, DC-DC"
    assert f"interrupts {feed.fuse.interrupt_a:,.0f} A" in lines[fuse].note
    assert lines[f"cable {feed.choice.conductor.label}, black"].serves[-1] == "source DC-DC"
    # 600 W at 90 % and 10.5 V are 63 A
    assert "at least 63 A for long" in lines["isolator, sine"].note
    assert lines["isolator, sine"].link == "https://isolator.example"
    assert lines["distribution bars"].link == "https://posts.example"
    # 500 W at 80 V and a fill factor of 0.7 are 8.9 A, in bright light 11 A; 100 V in the cold
    assert lines["isolator, roof, panel side"].note == "at least 11 A, to be opened at 100 V DC"
    besides = also_needed(comparison.case, result)
    assert not [words for words in besides if words.startswith(("for roof,", "for DC-DC,"))]
    assert [words for words in besides if words.startswith("for DC fuse block,")]
    assert lines_by_key(list(lines.values()))["distribution"][0].part == "distribution bars"


def test_what_is_kept_costs_nothing_and_what_goes_is_in_the_bill() -> None:
    plain, kept, gone = (compared(parts)[1].wiring for parts in ([], KEEPS, GOES))
    assert plain is not None
    assert kept is not None
    assert gone is not None
    assert kept.bill == plain.bill
    assert gone.cost > plain.cost
    assert gone.labour_hours > plain.labour_hours


def test_a_link_of_a_fuse_class_serves_the_branch_s_too() -> None:
    """Of the class bought, and of no other that begins alike."""
    fuses = [
        {"fuse_class": name, "fuse_price": 5.0, "holder_price": 9.0, "link": f"https://{n}.example"}
        for n, name in enumerate(("blade", "MIDI", "MEGA", "MRBF"))
    ]
    comparison, result = compared(GOES, prices={"fuses": fuses})
    assert result.wiring is not None
    found = links(comparison.case, result.wiring)
    for line in result.wiring.bill:
        if line.part.startswith("branch fuse"):
            (n,) = (n for n, name in enumerate(("blade", "MIDI", "MEGA", "MRBF"))
                    if f" {name}" in line.part)  # fmt: skip
            assert found[line.part] == f"https://{n}.example"


def test_before_and_after_hold_every_part_of_a_branch() -> None:
    comparison, result = compared([*KEEPS, *GOES])
    assert result.wiring is not None
    rows = {row.name: row for row in before_and_after(comparison.case, result)}
    assert [one.fate for one in rows["branch fuses"].before] == ["stays", "goes"]
    assert [one.words for one in rows["isolators"].before] == [
        "roof switch", "weak isolator", "panel isolator",
    ]  # fmt: skip
    assert [one.words for one in rows["distribution bars"].after] == ["2 × distribution bars"]
    assert "roof cable" in [one.words for one in rows["cables"].after]
    after = [one for row in rows.values() for one in row.after]
    bought = [line.part for line in result.wiring.bill if not line.part.startswith(LATER)]
    for part, times in Counter(bought).items():
        assert sum(a.words.endswith(part) and a.fate == "comes" for a in after) == times, part


def words(result: tuple[Comparison, Result], name: str) -> str:
    comparison, found = result
    feed: Feed = next(one for one in comparison.feeds(found) if one.name == name)
    return feed_words(feed, imperial=False)


def test_a_branch_in_words_says_what_stays_and_what_is_new() -> None:
    both = compared([*KEEPS, *GOES])
    assert "the cable that is there stays: 16 mm²" in words(both, "roof")
    assert "DC rail breaker 40 A in place stays, interrupts 6,000 A" in words(both, "roof")
    assert "isolator 32 A on the panel side, in place" in words(both, "roof")
    assert "new cable: 16 mm²" in words(both, "DC-DC")
    assert "; new fuse" in words(both, "DC-DC")
    assert "cable in place: at least" in words(both, "DC fuse block")
    assert "isolator, to be bought" in words(both, "sine")


PART = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["branch fuse", "isolator", "branch cable", "distribution bars"]),
        "branch": st.sampled_from(["roof", "DC-DC", "DC fuse block"]),
        "side": st.sampled_from([None, "battery side", "panel side"]),
        "rating_a": st.none() | st.floats(0.001, 1e6),
        "rating_v": st.none() | st.floats(0.1, 2_000.0),
        "fuse_class": st.sampled_from([None, *(one.name for one in INSTALLED)]),
        "size": st.sampled_from([None, "18 AWG", "120 mm2"]),
        "length_m": st.none() | st.floats(0.02, 90.0),
        "quantity": st.sampled_from([1, 3]),
        "wish": st.sampled_from([None, "keep", "be rid of"]),
    }
)


def possible(part: dict[str, Any]) -> dict[str, Any]:
    """A part without what does not go with its kind or branch."""
    kind, side = part["kind"], part["side"]
    if kind == "distribution bars":
        return {**part, "branch": None, "side": None}
    if kind == "branch cable" or (side == "panel side" and part["branch"] != "roof"):
        return {**part, "side": None}
    return part


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(parts=st.lists(PART, max_size=8))
def test_whatever_is_there_it_is_told_everywhere(parts: list[dict[str, Any]]) -> None:
    stated = [{"name": f"part {n}", **possible(part)} for n, part in enumerate(parts)]
    comparison, result = compared(stated)
    assert result.wiring is not None
    assert [d.part.name for d in result.wiring.parts] == [part["name"] for part in stated]
    assert all(d.reason for d in result.wiring.parts)
    assert wiring_page(comparison, result).startswith("<div")
    assert "<svg" in diagram_with_links(comparison, result)
    drawing = before_after_drawing(comparison.case, result)
    for part in stated:
        assert part["name"] in drawing
    keys = {f'data-part="{key}"' for line in result.wiring.bill for key in line.serves}
    page = wiring_page(comparison, result)
    assert all(key in page for key in keys)
    paid = sum(row.amount for row in result.ledger if row.year == 0 and row.item == "wiring parts")
    bought = sum(line.cost for line in result.wiring.bill if line.part != "labour")
    assert paid == pytest.approx(bought)
