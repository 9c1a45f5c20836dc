"""Blocks of bare cells where people read of them: shopping list, text, data, drawing, ceilings."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.cell_work import block_parts
from tco.case import Case
from tco.compare import Comparison, compare
from tco.report.answer.untried import untried
from tco.report.answer.words import answer
from tco.report.machine import as_json
from tco.report.text import arrangement_text, comparison_text
from tco.report.wiring.before_after import before_after_drawing, before_and_after
from tco.report.wiring.commissioning import STAGES, commissioning
from tco.report.wiring.diagram import wiring_diagram
from tco.report.wiring.shopping import shopping_html, shopping_list, tools

CELL: dict[str, Any] = {
    "name": "Ridge 280", "maker": "Aldercell", "chemistry": "lfp", "bare_cell": True,
    "nominal_voltage_v": 3.2, "capacity_ah": 280.0, "mass_kg": 5.4, "width_mm": 174.0,
    "depth_mm": 72.0, "height_mm": 204.0, "internal_resistance_mohm": 0.5, "rated_cycles": 4000.0,
    "charge_min_degc": 0.0, "price": 68.0, "link": "https://example.org/cell",
}  # fmt: skip
STAGE = list(STAGES)
UNIT: dict[str, Any] = {
    "name": "Warden", "fewest_cells": 4, "most_cells": 16, "continuous_discharge_a": 120.0,
    "cell_voltages_visible": True, "charge_display": True, "low_temperature_cutoff": True,
    "price": 160.0, "there": 1, "link": "https://example.org/unit",
}  # fmt: skip


@pytest.fixture(scope="module")
def comparison(plain_case: Callable[..., Case]) -> Comparison:
    return compare(
        plain_case(
            candidates=[CELL],
            management_units=[UNIT],
            space={"width_mm": 2000.0},
            assumptions={
                "largest_bank_over_need": 20.0, "autonomy_days": 10.0, "weather_years": 1,
                "max_packs": 2,
            },
        )
    )  # fmt: skip


def test_the_shopping_list_is_what_the_ledger_pays(comparison: Comparison) -> None:
    wired = [result for result in comparison.results if result.wiring is not None]
    assert {result.arrangement.packs for result in wired} == {1, 2}
    for result in wired:
        lines = shopping_list(comparison.case, result)
        paid = sum(
            row.amount
            for row in result.ledger
            if row.year == 0.0 and row.item in ("packs", "parts of blocks", "wiring parts")
        )
        assert sum(line.cost for line in lines) == pytest.approx(paid)
        first = lines[0]
        assert (first.part, first.quantity, first.unit_price, first.link) == (
            "Aldercell Ridge 280", result.arrangement.pieces, 68.0, "https://example.org/cell",
        )  # fmt: skip
        units = [line for line in lines if line.part == "management unit Warden"]
        assert sum(line.quantity for line in units) == result.arrangement.packs - 1
        assert all(line.link == "https://example.org/unit" for line in units)


def test_the_list_to_print_tells_what_building_takes(comparison: Comparison) -> None:
    result = comparison.result("8 × Ridge 280 (4S2P)")
    page = shopping_html(comparison.case, result)
    assert "cell link, 4 terminals" in page
    assert "live at all times" in page
    assert any("insulated" in tool and "ratchet" in tool for tool in tools(result))


def test_text_and_data_tell_the_same_block(comparison: Comparison) -> None:
    label = "8 × Ridge 280 (2 × 4S1P)"
    result = comparison.result(label)
    text = arrangement_text(comparison, result)
    assert "8 × 68.00 bare cells = 544.00" in text
    assert "1 × 160.00 management unit Warden" in text
    assert "1 × Warden is there already" in text
    data = json.loads(as_json(comparison))
    block = next(row["block"] for row in data["arrangements"] if row["label"] == label)
    assert (block["cells"], block["blocks"]) == (8, 2)
    assert (block["cells_in_series"], block["cells_in_parallel"]) == (4, 1)
    assert (block["management_unit"], block["management_units_there"]) == ("Warden", 1)
    cost = 8 * block["cell_price"] + sum(p["quantity"] * p["price"] for p in block["parts"])
    assert cost == pytest.approx(2 * result.arrangement.pack.price - 160.0)


def test_the_drawing_shows_blocks(comparison: Comparison) -> None:
    result = comparison.result("8 × Ridge 280 (2 × 4S1P)")
    assert result.wiring is not None
    wiring = result.wiring
    drawing = wiring_diagram(comparison.case, result.arrangement, wiring.circuit, wiring.bill)
    assert drawing.count("4S1P 280 Ah") == 2
    assert "block of 4 bare cells under Warden" in drawing


def test_the_list_to_print_cautions_about_cells_and_the_rest(comparison: Comparison) -> None:
    result = comparison.result("8 × Ridge 280 (4S2P)")
    page = shopping_html(comparison.case, result)
    assert "which nothing switches off" in page
    assert "the cells&#x27; terminals" in page
    assert page.index("Before you build it") < page.index("Bare cells:")


def test_before_and_after_show_what_makes_the_blocks(comparison: Comparison) -> None:
    """One unit is there and stays; the cells and all that is bought for the blocks come."""
    result = comparison.result("8 × Ridge 280 (2 × 4S1P)")
    rows = before_and_after(comparison.case, result)
    assert [one.words for row in rows if row.name == "battery" for one in row.after] == [
        result.arrangement.label
    ]
    (row,) = (row for row in rows if row.name == "of the blocks")
    assert [(one.words, one.fate) for one in row.before] == [("management unit Warden", "stays")]
    assert [(one.words, one.fate) for one in row.after] == [
        ("management unit Warden", "stays"),
        *(
            (part.part if part.quantity == 1 else f"{part.quantity} × {part.part}", "comes")
            for part in block_parts(result.arrangement)
        ),
    ]
    assert {"6 × cell link, 2 terminals", "8 × insulation of a cell"} <= {
        one.words for one in row.after
    }
    assert "management unit Warden" in before_after_drawing(comparison.case, result)


def test_cells_are_evened_before_they_are_joined_and_watched_before_they_are_charged(
    comparison: Comparison,
) -> None:
    result = comparison.result("8 × Ridge 280 (2 × 4S1P)")
    steps = commissioning(comparison.case, result.bank)
    assert [STAGE.index(s.stage) for s in steps] == sorted(STAGE.index(s.stage) for s in steps)
    words = [step.what for step in steps]

    def place(of: str) -> int:
        (found,) = (n for n, what in enumerate(words) if of in what)
        return found

    order = ("each of the 8 cells", "one charge before they are joined", "Stand each block's 4",
             "one link at a time", "sense leads from the most negative", "Set every block",
             "Charge each of the 2 blocks", "It shows 4 voltages", "Try that it disconnects",
             "first time to the top at a small")  # fmt: skip
    assert [place(of) for of in order] == sorted(place(of) for of in order)
    assert "a supply that is set to 3.55 V" in words[place("one charge before")]  # LFP, a cell
    assert "pass 3.55 V" in words[place("first time to the top")]
    assert {s.where for s in steps if "sense leads" in s.what} == {"Warden"}
    assert "pack" not in " ".join(step.what for step in steps if step.stage in ("built", "even"))


def test_steps_of_packs_know_no_cells(plain_case: Callable[..., Case]) -> None:
    best = compare(plain_case()).results[0]
    steps = commissioning(plain_case(), best.bank)
    assert steps
    assert not [step for step in steps if step.where == "cells" or "group" in step.what]


def test_the_answer_says_that_somebody_has_to_build_it(comparison: Comparison) -> None:
    assert comparison.best is not None
    assert "bare cells to be built into a battery by somebody trained" in answer(comparison)


def test_what_a_ceiling_leaves_out_is_told(
    comparison: Comparison, plain_case: Callable[..., Case]
) -> None:
    said = untried(comparison)
    assert said.startswith("Not tried: more than 2 packs or blocks (")
    assert said.endswith("): Ridge 280.")
    flat = " ".join(comparison_text(comparison).split())
    assert said in flat
    data = json.loads(as_json(comparison))
    assert data["not_tried"] == [{"candidate": "Ridge 280", "ceiling": "max_packs", "at": 2}]
    assert untried(compare(plain_case())) == ""
