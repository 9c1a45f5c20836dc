"""Bare cells and management units are typed on the candidates screen and answered at once."""

import pytest

from tests.screens.helpers import (
    SCREENS,
    Opened,
    changed,
    held,
    pack,
    shown_problems,
    type_into_grid,
)

CELL = {
    "name": "Ridge 280", "chemistry": "lfp", "bare_cell": "yes", "nominal_voltage_v": "3.2 V",
    "capacity_ah": "280", "price": "68", "mass_kg": "5.4 kg", "internal_resistance_mohm": "0.5",
    "continuous_discharge_a": "140", "continuous_charge_a": "140", "width_mm": "174",
    "depth_mm": "72", "height_mm": "204",
}  # fmt: skip
UNIT = {
    "name": "Warden", "most_cells": "8", "continuous_discharge_a": "200 A",
    "peak_discharge_a": "350", "charge_display": "yes", "low_temperature_cutoff": "yes",
    "price": "€ 160",
}  # fmt: skip


def test_cells_are_typed_and_then_a_unit_for_them(opened: Opened) -> None:
    app = opened("candidates")
    type_into_grid(app, "candidates", added_rows=[CELL])
    assert not app.exception
    assert not held(app).problems
    answer = held(app).comparison
    assert answer is not None
    alone = answer.result("8 × Ridge 280 (8S1P)")
    assert "cell_management" in {check.key for check in alone.screening.failures()}
    type_into_grid(app, "management_units", added_rows=[UNIT])
    assert not app.exception
    assert not held(app).problems
    (unit,) = held(app).case.management_units
    assert (unit.most_cells, unit.continuous_discharge_a, unit.price) == (8, 200.0, 160.0)
    answer = held(app).comparison
    assert answer is not None
    watched = answer.result("8 × Ridge 280 (8S1P)")
    assert watched.screening.check("cell_management").verdict == "pass"
    assert watched.feasible


@pytest.mark.parametrize("screen", SCREENS)
def test_every_screen_shows_a_bank_of_cells(opened: Opened, screen: str) -> None:
    cell = {key: float(text) if key in NUMBERS else text for key, text in CELL.items()}
    unit = {"name": "Warden", "most_cells": 8, "continuous_discharge_a": 200.0, "price": 160.0}
    plain = {"nominal_voltage_v": 3.2, "mass_kg": 5.4, "bare_cell": True}
    text = changed("otterbank", candidates=[cell | plain, pack("Small")], management_units=[unit])
    app = opened(screen, text)
    assert not app.exception
    answer = held(app).comparison
    assert answer is not None
    app.session_state["arrangement shown"] = "8 × Ridge 280 (8S1P)"
    assert not app.run().exception


NUMBERS = {
    "capacity_ah", "price", "internal_resistance_mohm", "continuous_discharge_a",
    "continuous_charge_a", "width_mm", "depth_mm", "height_mm",
}  # fmt: skip


def test_a_cell_of_twelve_volts_is_told_beside_the_grid(opened: Opened) -> None:
    app = opened("candidates")
    type_into_grid(app, "candidates", added_rows=[CELL | {"nominal_voltage_v": "12.8"}])
    assert "one cell of lithium iron phosphate has 3.2 V" in shown_problems(app)
