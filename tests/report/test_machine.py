"""The comparison as plain data."""

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tco import Comparison, compare, read_case
from tco.case import Case
from tco.report.machine import as_data, as_json

DEMO = Path(__file__).resolve().parents[2] / "candidates_demo"
PROMISED = {
    *("candidate", "series", "parallel", "feasible", "checks", "usable_kwh", "wh_per_kg"),
    *("wh_per_l", "wiring_cost", "total_cost", "annual_cost", "cost_per_kwh"),
    *("years_to_replacement", "hours_any_load_short_per_year", "ledger"),
    *("fit", "wiring", "existing_parts", "charger_settings", "weak_point", "health", "year"),
    *("weak_point_reason", "weak_point_when_worn", "weak_point_when_worn_reason"),
}


@pytest.fixture(scope="module")
def otterbank() -> Comparison:
    return compare(read_case(DEMO / "otterbank.toml"))


def plain_types(value: Any) -> bool:
    if isinstance(value, dict):
        return all(type(key) is str and plain_types(entry) for key, entry in value.items())
    if isinstance(value, list):
        return all(map(plain_types, value))
    return value is None or type(value) in (str, int, float, bool)


def test_keys_are_those_promised(otterbank: Comparison) -> None:
    data = as_data(otterbank)
    assert {"answer", "arrangements"} <= data.keys()
    for row in data["arrangements"]:
        assert row.keys() >= PROMISED
        assert set(row["year"]) == {
            *("needed_kwh", "delivered_kwh", "unserved_kwh", "bought_kwh", "locked_out_hours"),
            *("heater_kwh", "longest_gap_hours", "solar_locked_out_kwh"),
            *("laid_up_locked_out_hours", "laid_up_heater_kwh", "laid_up_solar_locked_out_kwh"),
            *("too_cold_to_charge_hours", "coldest_offered_degc"),
        }
        for check in row["checks"]:
            assert list(check) == [
                *("key", "of", "requirement", "value", "limit", "unit", "margin"),
                *("verdict", "reason"),
            ]
        for entry in row["ledger"]:
            assert list(entry) == [
                *("year", "item", "amount", "present", "reason"),
                *("constant", "quantity", "unit", "source"),
            ]


def test_values_are_those_of_the_comparison(otterbank: Comparison) -> None:
    data = as_data(otterbank)
    assert data["required_current_a"] == otterbank.required_current_a
    assert data["energy_budget"]["daily_kwh"] == list(otterbank.budget.daily_wh / 1000)
    assert data["energy_budget"]["worst_month"] == "Jan"
    for row, result in zip(data["arrangements"], otterbank.results, strict=True):
        assert row["label"] == result.arrangement.label
        assert row["total_cost"] == result.measures.total_cost
        assert row["wh_per_kg"] == result.wh_per_kg
        assert row["years_to_replacement"] == result.life.first_life_years
        assert row["hours_any_load_short_per_year"] == result.year["hours_any_load_short"]
        assert row["health"] == list(result.life.health)
        assumed = result.arrangement.pack.assumed
        assert set(row["assumed"]) == set(assumed)
        for field, said in row["assumed"].items():
            assert said.endswith(assumed[field].source)
            if not isinstance(assumed[field].value, bool):
                assert said.startswith(f"{assumed[field].value:g}: ")
        told, year = row["year"], result.year
        of_all = year["locked_out_hours"] + year["laid_up_locked_out_hours"]
        assert told["locked_out_hours"] == of_all
        assert told["too_cold_to_charge_hours"] <= of_all
        cold = result.screening.check("charging_in_the_cold")
        assert told["coldest_offered_degc"] == cold.value
        heated = year["heater_wh"] + year["laid_up_heater_wh"]
        assert told["heater_kwh"] == pytest.approx(heated / 1000.0)
        assert told["solar_locked_out_kwh"] == year["solar_locked_out_wh"] / 1000.0


def test_sums_add_up(otterbank: Comparison) -> None:
    for row in as_data(otterbank)["arrangements"]:
        assert math.fsum(e["present"] for e in row["ledger"]) == pytest.approx(
            row["total_cost"], rel=1e-12
        )
        assert math.fsum(e["amount"] for e in row["ledger"] if e["year"] == 0) == pytest.approx(
            row["first_cost"], rel=1e-12
        )
        if row["wiring_cost"] is None:
            assert row["wiring"] is None
        else:
            assert math.fsum(line["cost"] for line in row["wiring"]["bill"]) == pytest.approx(
                row["wiring_cost"], rel=1e-12
            )


def test_the_text_is_strict_json_and_gives_the_data_back(otterbank: Comparison) -> None:
    data, text = as_data(otterbank), as_json(otterbank)
    assert plain_types(data)
    assert json.loads(text, parse_constant=pytest.fail) == data
    assert text.isascii()
    assert as_json(compare(read_case(DEMO / "otterbank.toml"))) == text


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, np.float64("nan")])
def test_numbers_that_are_not_finite_are_null(otterbank: Comparison, bad: float) -> None:
    first = otterbank.results[0]
    broken = replace(
        otterbank,
        results=(replace(first, measures=replace(first.measures, annual_cost=bad)),),
    )
    data = json.loads(as_json(broken), parse_constant=pytest.fail)
    assert data["arrangements"][0]["annual_cost"] is None


def test_what_is_not_known_is_null(plain_case: Callable[..., Case]) -> None:
    case = plain_case(candidate={"width_mm": None})
    row = as_data(compare(case))["arrangements"][0]
    assert row["wh_per_l"] is None
    assert row["feasible"] is True
    assert row["verified"] is False
    space = next(check for check in row["checks"] if check["key"] == "space")
    assert (space["value"], space["margin"], space["verdict"]) == (None, None, "unknown")


def test_a_case_without_candidates(plain_case: Callable[..., Case]) -> None:
    data = json.loads(as_json(compare(plain_case(candidates=[]))))
    assert data["arrangements"] == []
    assert "no candidate" in data["answer"]


def test_doubts_name_their_candidate(plain_case: Callable[..., Case]) -> None:
    case = plain_case(candidate={"rated_cycles": 50_000, "rated_depth": 0.8})
    found = as_data(compare(case))["doubts"]
    assert list(found) == ["Plain 100"]
    assert any("50000 cycles" in sentence for sentence in found["Plain 100"])


def test_conventions_are_said_and_prices_doubted(otterbank: Comparison) -> None:
    data = as_data(otterbank)
    assert "Each year's end: energy" in data["conventions"]["timing"]
    assert data["conventions"]["discount_rate"] == otterbank.case.prices.discount_rate
    assert data["doubts_about_prices"] == []
    for row in data["arrangements"]:
        for entry in row["ledger"]:
            inflated = (1.0 + data["conventions"]["inflation"]) ** entry["year"]
            assert entry["constant"] * inflated == pytest.approx(entry["amount"])
    prices = otterbank.case.prices.model_copy(update={"hour_without_power_price": 2.0})
    case = otterbank.case.model_copy(update={"prices": prices})
    assert len(as_data(replace(otterbank, case=case))["doubts_about_prices"]) == 1


def test_a_void_warranty_lasts_no_year(plain_case: Callable[..., Case]) -> None:
    row = {"candidate": "Plain 100", "commercial_use_covered": False}
    case = plain_case(candidate={"warranty_years": 5.0}, warranties=[row], use={"commercial": True})
    for found in as_data(compare(case))["arrangements"]:
        assert found["warranty_years_in_this_use"] == 0.0
        assert found["warranty_void_because"] == ["The warranty does not cover commercial use."]
