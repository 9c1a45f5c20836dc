"""Bare cells and management units as they are typed: what is one, what does not go together."""

from collections.abc import Callable
from typing import Any

import pytest
from pydantic import ValidationError

from tco.case import Candidate, Case, doubts, price_doubts, specify
from tco.case.candidate import is_bare_cell
from tco.case.management_unit import ManagementUnit
from tco.case.table import candidates_to_csv, parse_candidates
from tco.case.toml import case_from_mapping, case_to_toml, parse_toml

CELL: dict[str, Any] = {
    "name": "Ridge 280", "chemistry": "lfp", "nominal_voltage_v": 3.2, "capacity_ah": 280.0,
    "price": 68.0,
}  # fmt: skip
UNIT: dict[str, Any] = {
    "name": "Warden", "most_cells": 8, "continuous_discharge_a": 100.0, "price": 95.0,
}  # fmt: skip


def cell(**changes: Any) -> Candidate:
    return Candidate.model_validate(CELL | changes)


@pytest.mark.parametrize(
    ("changes", "bare"),
    [
        ({}, True),
        ({"bare_cell": True}, True),
        ({"bare_cell": False}, False),
        ({"internal_management": True}, False),
        ({"nominal_voltage_v": 6.4}, False),
        ({"nominal_voltage_v": 12.8}, False),
        ({"chemistry": "nmc", "nominal_voltage_v": 3.7}, True),
        ({"chemistry": "lto", "nominal_voltage_v": 2.4}, True),
        ({"chemistry": "sodium-ion", "nominal_voltage_v": 3.1}, True),
        ({"chemistry": "gel", "nominal_voltage_v": 2.0}, False),  # needs no management
    ],
)
def test_what_is_a_bare_cell(changes: dict[str, Any], bare: bool) -> None:
    assert is_bare_cell(cell(**changes)) is bare


def test_a_bare_cell_has_no_management_unless_it_says_so() -> None:
    """A pack of lithium is assumed to have one; a cell never."""
    assert specify(cell(nominal_voltage_v=12.8)).internal_management is True
    assert specify(cell()).internal_management is False


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"nominal_voltage_v": 12.8}, "bare_cell", "one cell of lithium iron phosphate has 3.2 V"),
        ({"chemistry": "agm", "nominal_voltage_v": 2.0}, "bare_cell", "needs no management"),
        ({"internal_management": True}, "internal_management", "yes for a bare cell"),
    ],
)
def test_what_does_not_go_with_a_bare_cell(changes: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(ValidationError) as caught:
        cell(bare_cell=True, **changes)
    (error,) = caught.value.errors()
    assert error["loc"] == (field,)
    assert words in error["msg"]


@pytest.mark.parametrize("heading", ["bare_cell", "Bare cell", "Cell only", "single cell"])
def test_a_shop_table_says_bare_cell(heading: str) -> None:
    text = (
        f"name,chemistry,V,Ah,price,{heading}\nRidge,lfp,3.2,280,68,yes\nPack,lfp,12.8,100,300,\n"
    )
    first, second = parse_candidates(text)
    assert (first.bare_cell, second.bare_cell) == (True, None)
    assert parse_candidates(candidates_to_csv([first, second])) == (first, second)


def test_a_single_cell_that_does_not_say_so_is_asked_about() -> None:
    assert any("taken for a bare cell" in sentence for sentence in doubts(cell()))
    assert not any("taken for a bare cell" in s for s in doubts(cell(bare_cell=True)))


def test_cells_are_doubted_as_cells() -> None:
    """A cell of 30 mm is not in inches, and its own management lacks no cold cut-off."""
    thin = {"width_mm": 130.0, "depth_mm": 30.0, "height_mm": 200.0, "capacity_ah": 80.0}
    said = " ".join(doubts(cell(bare_cell=True, **thin)))
    assert "another unit" not in said
    assert "cut-off" not in said


def test_a_cell_holds_more_in_a_kilogram_and_a_litre_than_a_pack() -> None:
    """314 Ah in 5.6 kg and 174 x 72 x 207 mm: common on the market, from memory."""
    size = {"width_mm": 174.0, "depth_mm": 72.0, "height_mm": 207.0, "mass_kg": 5.6}
    assert doubts(cell(bare_cell=True, capacity_ah=314.0, **size)) == ()
    assert "Wh/kg is far above" in " ".join(
        doubts(cell(bare_cell=True, capacity_ah=314.0, **size | {"mass_kg": 3.5}))
    )
    assert "Wh/kg is far below" in " ".join(
        doubts(cell(bare_cell=True, capacity_ah=314.0, **size | {"mass_kg": 12.0}))
    )


def test_prices_of_cells_are_held_against_cells() -> None:
    packs = [cell(name=f"P{n}", nominal_voltage_v=12.8, price=900.0) for n in range(4)]
    assert price_doubts([*packs, cell(price=70.0)]) == {}
    cells = [cell(name=f"C{n}", price=70.0) for n in range(3)]
    assert (
        "the other lithium cells" in price_doubts([*packs, *cells, cell(price=20.0)])["Ridge 280"]
    )


# --- management units -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "cells", "chemistry", "serves"),
    [
        ({}, 8, "lfp", True),
        ({}, 7, "lfp", False),  # made for eight, no fewer
        ({}, 9, "lfp", False),
        ({"fewest_cells": 4}, 4, "lfp", True),
        ({"fewest_cells": 4}, 3, "lfp", False),
        ({"chemistry": "lfp"}, 8, "lfp", True),
        ({"chemistry": "lfp"}, 8, "nmc", False),
    ],
)
def test_what_a_unit_serves(
    changes: dict[str, Any], cells: int, chemistry: str, serves: bool
) -> None:
    assert ManagementUnit.model_validate(UNIT | changes).serves(cells, chemistry) is serves


def test_what_a_unit_does_not_state_is_taken_cautiously() -> None:
    unit = ManagementUnit.model_validate(UNIT)
    assert (unit.peak_a, unit.charge_a) == (100.0, 50.0)
    stated = {"peak_discharge_a": 250.0, "continuous_charge_a": 80.0}
    unit = ManagementUnit.model_validate(UNIT | stated)
    assert (unit.peak_a, unit.charge_a) == (250.0, 80.0)


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"fewest_cells": 9}, "fewest_cells"), ({"peak_discharge_a": 99.0}, "peak_discharge_a")],
)
def test_a_unit_whose_numbers_are_swapped(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(ValidationError) as caught:
        ManagementUnit.model_validate(UNIT | changes)
    assert [error["loc"] for error in caught.value.errors()] == [(field,)]


def test_units_are_in_the_file_of_a_case(plain_case: Callable[..., Case]) -> None:
    case = plain_case(management_units=[UNIT | {"there": 2, "link": "https://example.org"}])
    assert case.management_units[0].there == 2
    assert case_from_mapping(parse_toml(case_to_toml(case))) == case


def test_two_units_of_one_name_are_refused(plain_case: Callable[..., Case]) -> None:
    with pytest.raises(ValidationError, match="already the name of management unit 1"):
        plain_case(management_units=[UNIT, UNIT])
