"""Fit, wiring, old parts and charger settings as plain data."""

import math
from typing import Any

import pytest

from tco.case import read_case
from tco.compare import compare
from tco.report.machine import as_data
from tests.screens.helpers import ROOT

DEMOS = ("otterbank", "larch_hut", "coldharbour")


@pytest.fixture(scope="module", params=DEMOS)
def rows(request: pytest.FixtureRequest) -> list[dict[str, Any]]:
    case = read_case(ROOT / "candidates_demo" / f"{request.param}.toml")
    found: list[dict[str, Any]] = as_data(compare(case))["arrangements"]
    return found


def test_the_fit_says_where_every_pack_stands_or_what_is_missing(
    rows: list[dict[str, Any]],
) -> None:
    for row in rows:
        fit = row["fit"]
        space = next(c for c in row["checks"] if c["key"] == "space")
        if fit is None:
            assert space["verdict"] == "unknown"
            continue
        assert fit["fits"] == (space["verdict"] == "pass")
        assert fit["reason"] == space["reason"]
        if fit["fits"]:
            assert len(fit["layout"]) == row["packs"]
            assert fit["shortfall_mm"] == 0
        else:
            assert len(fit["layout"]) == fit["fits_at_most"] < row["packs"]
            whole = fit["fits_at_most"] // row["series"]
            assert (f"{row['series']}S{whole}P (" in fit["reason"]) == (whole >= 1)


def test_the_wiring_adds_up_and_its_shares_are_one(rows: list[dict[str, Any]]) -> None:
    for row in rows:
        wiring = row["wiring"]
        if wiring is None:
            assert row["wiring_cost"] is None
            continue
        assert math.fsum(line["cost"] for line in wiring["bill"]) == pytest.approx(
            row["wiring_cost"], rel=1e-12
        )
        for line in wiring["bill"]:
            assert line["cost"] == pytest.approx(line["quantity"] * line["unit_price"])
            assert set(line) == {"part", "quantity", "unit", "unit_price", "cost"}
        assert len(wiring["string_shares"]) == row["parallel"]
        assert math.fsum(wiring["string_shares"]) == pytest.approx(1.0)
        assert wiring["connections"] == sum(2 * c["runs"] for c in wiring["conductors"])
        assert wiring["main_fuse"]["interrupt_a"] >= wiring["short_circuit_a"]
        assert wiring["heat_w"] == pytest.approx(
            wiring["resistance_milliohm"] / 1000 * wiring["current_a"] ** 2
        )
        assert (wiring["string_fuse"] is None) == (row["parallel"] == 1)
        assert "licensed" in wiring["caution"]


def test_old_parts_are_decided_with_reason_and_money_in_the_ledger(
    rows: list[dict[str, Any]],
) -> None:
    for row in rows:
        for part in row["existing_parts"]:
            assert part["decision"] in ("keep", "replace", "remove", "no longer needed")
            assert part["reason"]
            assert part["decision"] != "keep" or part["value"] == 0
        brought = math.fsum(part["value"] for part in row["existing_parts"])
        booked = math.fsum(e["amount"] for e in row["ledger"] if e["item"] == "old parts")
        assert brought == pytest.approx(-booked)


def test_yearly_checks_are_two_minutes_of_every_connection(rows: list[dict[str, Any]]) -> None:
    """The ledger's reason holds the minutes: connections times what the case says for each."""
    for row in rows:
        if row["wiring"] is None:
            continue
        checks = [e for e in row["ledger"] if e["item"] == "yearly checks"]
        assert checks
        minutes = {float(e["reason"].split(" min")[0]) for e in checks}
        assert minutes == {2.0 * row["wiring"]["connections"]}


def test_the_demos_use_every_kind_of_decision_of_the_otterbank() -> None:
    case = read_case(ROOT / "candidates_demo" / "otterbank.toml")
    rows = as_data(compare(case))["arrangements"]
    one = next(row for row in rows if row["label"] == "1 × Fell 24/230 (1S1P)")
    decided = {part["part"]: part["decision"] for part in one["existing_parts"]}
    assert decided == {
        "old main fuse": "replace",  # ANL stops 6 kA, less than the bank drives
        "main cables": "keep",
        "pair of busbars": "no longer needed",
        "red key switch": "replace",  # rated 100 A
        "battery monitor": "no longer needed",
        "24 V balancer": "no longer needed",
        "two spare AGM terminals and a hydrometer": "no longer needed",
    }
