"""What is checked of bare cells: management, cells in series, and what their builder is told."""

from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.bank import Bank, wired
from tco.bank.budget import energy_budget, peak_demand
from tco.bank.checks.check import Check
from tco.bank.checks.screening import required_current_a, screen
from tco.bank.choices import tried
from tco.case import Case

Build = Callable[..., Case]
CELL: dict[str, Any] = {
    "name": "Ridge 280", "chemistry": "lfp", "bare_cell": True, "nominal_voltage_v": 3.2,
    "capacity_ah": 280.0, "mass_kg": 5.4, "internal_resistance_mohm": 0.5, "price": 68.0,
}  # fmt: skip
UNIT: dict[str, Any] = {
    "name": "Warden", "fewest_cells": 4, "most_cells": 16, "continuous_discharge_a": 120.0,
    "cell_voltages_visible": True, "low_temperature_cutoff": True, "price": 160.0,
}  # fmt: skip
HUNGRY = {"largest_bank_over_need": 20.0, "autonomy_days": 10.0}


def banks(case: Case) -> dict[str, Bank]:
    amps = required_current_a(case, peak_demand(case))
    return {
        a.label: wired(case, a, current_a=amps)
        for a in tried(case, energy_budget(case)).arrangements
    }


def checks(case: Case, label: str) -> dict[str, Check]:
    bank = banks(case)[label]
    found = screen(case, bank, budget=energy_budget(case), demand=peak_demand(case))
    return {check.key: check for check in found.checks}


def cells(build: Build, **changes: Any) -> Case:
    start = {"candidates": [CELL], "management_units": [UNIT], "assumptions": HUNGRY}
    return build(**start | changes)


def test_a_unit_watches_its_cells(plain_case: Build) -> None:
    check = checks(cells(plain_case), "4 × Ridge 280 (4S1P)")["cell_management"]
    assert (check.verdict, check.reason) == (
        "pass",
        "Warden watches its cells and disconnects by itself",
    )


def test_cells_that_nothing_watches_are_ruled_out(plain_case: Build) -> None:
    case = cells(plain_case, management_units=[UNIT | {"most_cells": 16, "fewest_cells": 8}])
    check = checks(case, "4 × Ridge 280 (4S1P)")["cell_management"]
    assert check.verdict == "fail"
    assert "Give a management unit for 4 cells in series" in check.reason


def test_an_external_management_will_do_one_for_each_string(plain_case: Build) -> None:
    """It counts where it can act: with a contactor, there or bought."""
    prices = {"external_management_price": 120.0, "contactor_price": 90.0}
    case = cells(plain_case, management_units=[], prices=prices)
    for label, units in (("8 × Ridge 280 (4S2P)", 1), ("8 × Ridge 280 (2 × 4S1P)", 2)):
        check = checks(case, label)["cell_management"]
        assert check.verdict == "caution"
        assert f"{units} × external management and 1 × contactor" in check.reason
        assert any(d.kind == "contactor" for d in banks(case)[label].wiring.circuit.devices)  # type: ignore[union-attr]


def test_monitoring_of_cells_is_credited_to_the_unit(plain_case: Build) -> None:
    wanted = {"required": {"cell_voltages_visible": True, "charge_display": True}}
    found = checks(cells(plain_case, system=wanted), "4 × Ridge 280 (4S1P)")
    assert found["cell_voltages_visible"].verdict == "pass"
    assert found["charge_display"].verdict == "unknown"  # the unit's sheet does not say


@pytest.mark.parametrize(("most", "verdict"), [(None, "pass"), (4, "pass"), (3, "fail")])
def test_as_many_cells_in_series_as_their_maker_allows(
    plain_case: Build, most: int | None, verdict: str
) -> None:
    case = cells(plain_case, candidates=[CELL | {"max_series": most}])
    assert checks(case, "4 × Ridge 280 (4S1P)")["packs_in_series"].verdict == verdict


@pytest.mark.parametrize(("most", "verdict"), [(8, "pass"), (4, "pass"), (3, "fail")])
def test_as_many_cells_together_as_their_maker_allows(
    plain_case: Build, most: int, verdict: str
) -> None:
    case = cells(plain_case, candidates=[CELL | {"max_packs": most}])
    check = checks(case, "4 × Ridge 280 (4S1P)")["number_of_packs"]
    assert check.verdict == verdict
    if most < 8:  # what one would keep is more than that, and counts blocks
        assert (check.value, check.limit, check.unit) == (4.0, float(most), "cells")


def test_the_units_current_is_the_blocks(plain_case: Build) -> None:
    """1,300 W at 10.5 V are 124 A: more than the unit lets through, less than the cells carry."""
    inverter = {"inverter": {"continuous_w": 1300.0, "surge_w": 1300.0, "efficiency": 1.0}}
    case = cells(plain_case, system=inverter)
    assert checks(case, "4 × Ridge 280 (4S1P)")["continuous_current"].verdict == "fail"
    assert checks(case, "8 × Ridge 280 (4S2P)")["continuous_current"].verdict == "fail"
    assert checks(case, "8 × Ridge 280 (2 × 4S1P)")["continuous_current"].verdict == "pass"


def test_who_builds_with_cells_is_told_what_it_takes(plain_case: Build) -> None:
    check = checks(cells(plain_case), "8 × Ridge 280 (4S2P)")["cell_assembly"]
    assert check.verdict == "caution"
    for words in ("insulated tools", "live at all times", "fuse", "trained", "local code", "press",
                  "sees the 2 cells of a group as one"):  # fmt: skip
        assert words in check.reason
    alone = checks(cells(plain_case), "4 × Ridge 280 (4S1P)")["cell_assembly"]
    assert "of a group" not in alone.reason
    assert "cell_assembly" not in checks(plain_case(), "1 × Plain 100 (1S1P)")
