"""Failures and money of blocks of bare cells: rates by the cell, one bought for a failure."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tco.bank.budget import energy_budget
from tco.bank.choices import tried
from tco.case import Case
from tco.compare import compare
from tco.money.cell_failures import share_bought_anew, that_can_fail
from tco.money.draw_ledgers import run_draw_ledgers
from tco.money.evidence import class_prior, price_classes
from tests.money.draw_ledger_helpers import study_of

Build = Callable[..., Case]
CELL: dict[str, Any] = {
    "name": "Ridge 280", "chemistry": "lfp", "bare_cell": True, "nominal_voltage_v": 3.2,
    "capacity_ah": 280.0, "mass_kg": 5.4, "internal_resistance_mohm": 0.5, "price": 68.0,
    "warranty_years": 5.0, "rated_cycles": 2000.0,
}  # fmt: skip
UNIT: dict[str, Any] = {
    "name": "Warden", "fewest_cells": 4, "most_cells": 16, "continuous_discharge_a": 300.0,
    "charge_display": True, "price": 160.0,
}  # fmt: skip


def cells(build: Build, volts: int = 24, **changes: Any) -> Case:
    start: dict[str, Any] = {
        "candidates": [CELL], "management_units": [UNIT], "system": {"nominal_voltage_v": volts},
        "assumptions": {"largest_bank_over_need": 20.0, "autonomy_days": 20.0,
                        "weather_years": 1, "max_packs": 2},
    }  # fmt: skip
    return build(**start | changes)


def test_a_block_of_eight_cells_fails_like_a_pack_of_its_class(plain_case: Build) -> None:
    """The assumption itself: half the cells', half the board's; sixteen half as often again."""
    case = cells(plain_case)
    usual = class_prior("middling", "lithium", case.reliability).mean
    rates = {r.arrangement.layout: r.failures.expected(0) for r in compare(case).results}
    assert rates["8S1P"] == pytest.approx(usual)
    assert rates["8S2P"] == pytest.approx(1.5 * usual)
    assert rates["2 × 8S1P"] == pytest.approx(2.0 * usual)


def test_reports_of_cells_count_cells(plain_case: Build) -> None:
    """A hundred cells for two years are two hundred cell-years, and no failure among them."""
    report = {"candidate": "Ridge 280", "quality": "own", "units": 100, "months": 24.0,
              "failures": 0}  # fmt: skip
    plain, seen = (
        compare(cells(plain_case, **more)).results[0].failures.knowledge
        for more in ({}, {"evidence": [report]})
    )
    prior = plain.posterior
    assert seen.posterior.mean == pytest.approx(prior.shape / (prior.pack_years + 200.0))


def test_cheap_among_cells_not_among_packs(plain_case: Build) -> None:
    packs = [
        {"name": f"Pack {n}", "chemistry": "lfp", "nominal_voltage_v": 25.6, "capacity_ah": 100.0,
         "price": 800.0}
        for n in range(2)
    ]  # fmt: skip
    case = cells(plain_case, candidates=[CELL, *packs, CELL | {"name": "Other", "price": 66.0}])
    assert price_classes(case.candidates, case.reliability)["Ridge 280"] == "middling"


def test_a_failure_takes_a_cell_or_the_unit(plain_case: Build) -> None:
    case = cells(plain_case)
    arrangement = tried(case, energy_budget(case)).arrangements[0]
    pack = arrangement.pack
    assert that_can_fail(arrangement) == 16
    assert share_bought_anew(pack) * pack.price == pytest.approx((8 * 68.0 + 8 * 160.0) / 16)
    result = compare(case).results[0]
    one = result.failures.one.pack_share[-1]  # beyond the warranty
    assert one == pytest.approx(share_bought_anew(result.arrangement.pack))


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"prices": {"tax_rate": 0.2, "day_without_power_price": 200.0}},
        {"reliability": {"model_gone_after_years": 0.0}},
        {"load": {"power_w": 120.0, "hours_per_day": 20.0, "when": "any time"}},
    ],
)
def test_the_ledger_and_the_draws_pay_the_same(plain_case: Build, changes: dict[str, Any]) -> None:
    study = study_of(cells(plain_case, **changes))
    assert {r.arrangement.layout for r in study.results} >= {"8S1P", "2 × 8S1P"}
    found = run_draw_ledgers(study.plain(), study.central(), expected_failures=True)
    totals = [r.measures.total_cost for r in study.results]
    np.testing.assert_allclose(found.total_cost[:, 0], totals, rtol=1e-8)


def test_every_part_of_a_block_is_in_the_ledger(plain_case: Build) -> None:
    case = cells(plain_case, management_units=[UNIT | {"there": 1}], prices={"tax_rate": 0.2})
    for result in compare(case).results:
        pack, packs = result.arrangement.pack, result.arrangement.packs
        bought = [r for r in result.ledger if r.item in ("packs", "parts of blocks")]
        saved = 160.0  # the unit that is there
        assert sum(r.amount for r in bought) == pytest.approx(1.2 * (packs * pack.price - saved))
        reasons = " ".join(r.reason for r in bought)
        assert f"{result.arrangement.pieces} bare cells × 68.00" in reasons
        for part in ("cell link", "compression plates", "insulation"):
            assert part in reasons
        assert ("management unit Warden" in reasons) is (packs > 1)


def test_a_warranty_is_on_the_cell(plain_case: Build) -> None:
    """50 kWh a cell: 8S1P turns over an eighth of the bank's energy in each."""
    terms = {"candidate": "Ridge 280", "term_years": 30.0, "throughput_kwh": 50.0}
    case = cells(plain_case, warranties=[terms])
    result = next(r for r in compare(case).results if r.arrangement.layout == "8S1P")
    each = result.year["from_bank_wh"] / 1000.0 / 8.0
    assert result.failures.covered_years == pytest.approx(min(30.0, 50.0 / each))
