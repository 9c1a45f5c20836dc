"""The shopping list: what is bought, where, how much, and the tools for it."""

import csv
import io
import re
from typing import Any

import pytest

from tco.case import Case, read_case
from tco.compare import Comparison, compare
from tco.report.wiring.shopping import (
    in_units,
    lines_by_key,
    links,
    shopping_csv,
    shopping_html,
    shopping_list,
    tools,
)
from tco.result import Result
from tests.conftest import build_plain_case
from tests.screens.helpers import ROOT

DEMOS = ("otterbank", "larch_hut", "coldharbour")


@pytest.fixture(scope="module", params=DEMOS)
def comparison(request: pytest.FixtureRequest) -> Comparison:
    return compare(read_case(ROOT / "candidates_demo" / f"{request.param}.toml"))


def first(**changes: Any) -> tuple[Case, Result]:
    case = build_plain_case(**changes)
    return case, next(r for r in compare(case).results if r.arrangement.parallel == 1)


def test_the_list_is_packs_and_the_bill_without_labour(comparison: Comparison) -> None:
    for result in comparison.results[:10]:
        lines = shopping_list(comparison.case, result)
        pack = result.arrangement.pack
        assert lines[0].cost == pytest.approx(result.arrangement.packs * pack.price)
        assert pack.name in lines[0].part
        if result.wiring is None:
            continue
        parts = {line.part: line.cost for line in lines}
        bought = {line.part: line.cost for line in result.wiring.bill if line.part != "labour"}
        assert bought.items() <= parts.items()
        assert "labour" not in parts
        # packs, freight, parts and chargers are what the ledger pays for them on the first day
        paid = sum(
            row.amount
            for row in result.ledger
            if row.year == 0 and row.item in ("packs", "freight", "wiring parts", "charger")
        )
        tax = 1.0 + comparison.case.prices.tax_rate
        assert sum(line.cost for line in lines) * tax == pytest.approx(paid)


def test_a_link_is_that_of_the_very_size(plain_links: tuple[Case, Result]) -> None:
    """16 mm2 has 6 mm2 in its name, and 2/0 AWG has 0 AWG: neither may take the other's link."""
    case, result = plain_links
    assert result.wiring is not None
    found = links(case, result.wiring)
    sizes = {cable.conductor.label for cable in result.wiring.circuit.cables}
    assert sizes == {"16 mm2"}
    assert found["cable 16 mm2, red"] == "https://sixteen.example"
    assert found["lug 16 mm2"] == "https://sixteen.example"
    assert found["battery switch"] == "https://switch.example"
    fuse = result.wiring.main_fuse
    assert fuse.fuse_class.name == "MRBF"
    assert found[f"main fuse MRBF {fuse.rating_a:g} A"] == "https://mrbf.example"
    assert found["main fuse holder MRBF"] == "https://mrbf.example"


@pytest.fixture(scope="module")
def plain_links() -> tuple[Case, Result]:
    rows = [
        {"size": "6 mm2", "price_per_m": 1.0, "lug_price": 1.0, "link": "https://six.example"},
        {"size": "16 mm2", "price_per_m": 2.0, "lug_price": 1.0, "link": "https://sixteen.example"},
    ]
    fuses = [
        {"fuse_class": "MRBF", "fuse_price": 1.0, "holder_price": 2.0,
         "link": "https://mrbf.example"},
    ]  # fmt: skip
    return first(
        system={
            "cable_run_m": 1.0,
            "inverter": {"name": "inverter", "continuous_w": 800.0, "efficiency": 0.9},
            "parts": [
                {"name": "weak", "kind": "switch", "rating_a": 5.0, "price": 20.0,
                 "link": "https://switch.example"},
            ],
        },
        prices={"conductors": rows, "fuses": fuses},
        candidate={"link": "https://pack.example", "short_circuit_a": 4_000.0},
    )  # fmt: skip


def test_the_packs_and_parts_carry_the_user_s_links(plain_links: tuple[Case, Result]) -> None:
    case, result = plain_links
    lines = shopping_list(case, result)
    assert lines[0].link == "https://pack.example"
    page = shopping_html(case, result)
    for address in ("pack", "sixteen", "mrbf", "switch"):
        assert f'href="https://{address}.example"' in page
    by_key = lines_by_key(lines)
    assert by_key["pack 1.1"] == [lines[0]]
    assert {line.part for line in by_key["switch"]} == {"battery switch"}


def test_the_csv_gives_the_list_back_and_sums_to_it(comparison: Comparison) -> None:
    case = comparison.case
    lines = shopping_list(case, comparison.results[0])
    rows = list(csv.DictReader(io.StringIO(shopping_csv(lines, units=case.units))))
    assert [row["part"] for row in rows] == [line.part for line in lines]
    for row, line in zip(rows, lines, strict=True):
        assert float(row["cost"]) == pytest.approx(line.cost, abs=0.005)
    units = {row["unit"] for row in rows}
    assert ("ft" in units, "m" in units) == ((True, False) if case.units == "imperial" else
                                             ("ft" in units, "m" in units))  # fmt: skip


def test_lengths_turn_with_their_price_and_the_cost_stays() -> None:
    _, result = first()
    case = build_plain_case()
    cable = next(x for x in shopping_list(case, result) if x.part.startswith("cable"))
    turned = in_units(cable, "imperial")
    assert turned.unit == "ft"
    assert turned.quantity == pytest.approx(cable.quantity / 0.3048)
    assert turned.unit_price == pytest.approx(cable.unit_price * 0.3048)
    assert turned.cost == pytest.approx(cable.cost)
    assert in_units(cable, "metric") is cable


@pytest.mark.parametrize("name", ["<b>R&D</b>", 'x" onload="y'])
def test_the_page_escapes_names_and_shows_no_other_kind_of_link(name: str) -> None:
    case, result = first(candidate={"name": name, "link": "javascript:alert(1)"})
    page = shopping_html(case, result)
    assert "<b>" not in page
    assert 'onload="' not in page
    assert not re.search(r'href="javascript', page)


def test_the_page_shows_the_sum_with_and_without_tax() -> None:
    case, result = first(prices={"tax_rate": 0.2, "currency": "CHF"})
    cost = sum(line.cost for line in shopping_list(case, result))
    page = shopping_html(case, result)
    assert f"CHF {cost:,.2f}" in page
    assert f"CHF {1.2 * cost:,.2f} with 20 % tax" in page
    assert "licensed" in page


def test_tools_name_the_largest_lug_and_a_second_pair_of_hands() -> None:
    _, light = first()
    assert light.wiring is not None
    largest = max(light.wiring.circuit.cables, key=lambda c: c.conductor.area_mm2)
    assert largest.conductor.label in tools(light)[0]
    assert not any("hoist" in tool for tool in tools(light))
    _, heavy = first(candidate={"mass_kg": 40.0})
    assert any("hoist" in tool for tool in tools(heavy))
