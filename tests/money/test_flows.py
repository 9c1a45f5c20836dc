"""What is bought and at what unit price: energy by source, wiring renewed, reasons that reckon."""

import math
import re
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from tco.bank.wiring.wiring import wire
from tco.case import Case
from tco.life.conditions import Bought
from tco.money.discounting import present_value_factor, real_rate
from tests.money.helpers import amount, bank_of, life_of, priced, rows_of

Build = Callable[..., Case]

STILL = {"discount_rate": 0.05, "inflation": 0.0, "pack_price_trend": 0.0, "tax_rate": 0.0}


def still(plain_case: Build, prices: dict[str, Any] | None = None, **changes: Any) -> Case:
    """A case without inflation, trend and tax."""
    return plain_case(prices={**STILL, **(prices or {})}, **changes)


FULL: dict[str, Any] = {
    "replaced": (3.3, 6.6),
    "left": 0.4,
    "engine_wh": 50_000.0,
    "unserved_days": 2.0,
}


# ---------------------------------------------------------------- three kinds of money


def test_constant_money_is_nominal_less_inflation_and_gives_the_same_present_value(
    plain_case: Build,
) -> None:
    case = plain_case(prices={"discount_rate": 0.05, "inflation": 0.03})
    for row in rows_of(case, life_of(10, **FULL)):
        assert row.constant == pytest.approx(row.amount / 1.03**row.year)
        real = row.constant * present_value_factor(real_rate(0.05, 0.03), row.year)
        assert real == pytest.approx(row.present)
    at_once = [row for row in rows_of(case, life_of(10, **FULL)) if row.year == 0]
    assert at_once
    assert all(row.amount == row.constant == row.present for row in at_once)


# ---------------------------------------------------------------- energy, source by source


def test_each_source_of_energy_has_its_row_and_its_price(plain_case: Build) -> None:
    """100 kWh reach the bank: 3/4 of them from the marina at 0.30 with 90 %, the rest at 1.50."""
    sources: Any = SimpleNamespace(
        bought=(Bought("shore", "marina", 0.75, 0.30, 0.9), Bought("shore", "camp", 0.25, 1.5, 0.5))
    )
    rows = rows_of(still(plain_case), life_of(10, shore_wh=100e3), conditions=sources)
    marina, camp = (
        next(row for row in rows if row.year == 2.0 and row.source == name)
        for name in ("marina", "camp")
    )
    assert marina.item == camp.item == "shore power"
    assert marina.quantity == pytest.approx(75.0 / 0.9)
    assert marina.amount == pytest.approx(75.0 / 0.9 * 0.30)
    assert camp.amount == pytest.approx(25.0 / 0.5 * 1.5)
    assert "83.3 kWh × 0.30 per kWh from marina" in marina.reason
    assert "75.0 kWh reach the bank, 90% by its charger" in marina.reason
    assert "taken to be 75% of all shore power" in marina.reason
    (alone,) = (
        row.reason
        for row in rows_of(
            still(plain_case), life_of(10, engine_wh=1e3), conditions=priced(engine=1)
        )
        if row.item == "engine charging" and row.year == 1.0
    )
    assert "taken to be" not in alone
    assert "reach the bank" not in alone


def test_a_row_that_costs_nothing_is_not_kept_for_the_name_of_its_source(plain_case: Build) -> None:
    """Only the owner's work is: a source may be called what its rows say."""
    free: Any = SimpleNamespace(bought=(Bought("shore", "own time share", 1.0, 0.0, 1.0),))
    paid: Any = SimpleNamespace(bought=(Bought("shore", "own time share", 1.0, 0.3, 1.0),))
    life = life_of(10, shore_wh=1e3)
    for own in (False, True):
        case = still(plain_case, {"own_labour": own})
        items = [row.item for row in rows_of(case, life, conditions=free)]
        assert "shore power" not in items
        assert ("yearly checks" in items) == own
        assert "shore power" in [row.item for row in rows_of(case, life, conditions=paid)]


# ---------------------------------------------------------------- the wiring, or not


def rewired(plain_case: Build, share: float, **prices: Any) -> tuple[Any, Any]:
    case = still(plain_case, prices, assumptions={"rewired_share": share})
    wiring = wire(case, bank_of(case, 2), current_a=50.0)
    return wiring, rows_of(case, life_of(10, replaced=(4.0,)), wiring=wiring, parallel=2)


def test_wiring_that_is_used_again_costs_nothing_and_says_so(plain_case: Build) -> None:
    _, rows = rewired(plain_case, 0.0)
    assert not [row for row in rows if row.item == "rewiring"]
    (labour,) = (row for row in rows if row.item == "replacement labour")
    assert "the wiring is used again" in labour.reason
    _, own = rewired(plain_case, 0.0, own_labour=True)
    assert not [row for row in own if row.item == "rewiring"]


def test_all_wiring_anew_is_the_first_fitting_again(plain_case: Build) -> None:
    wiring, rows = rewired(plain_case, 1.0, tax_rate=0.2)
    first = amount(rows, "wiring parts", 0.0) + amount(rows, "labour", 0.0)
    assert first == pytest.approx(1.2 * wiring.cost)
    again = amount(rows, "rewiring", 4.0) + amount(rows, "replacement labour", 4.0)
    assert again == pytest.approx(first)


def test_part_of_the_wiring_anew_is_that_part_at_the_prices_of_its_year(plain_case: Build) -> None:
    _, whole = rewired(plain_case, 1.0)
    _, part = rewired(plain_case, 0.3, inflation=0.02)
    assert amount(part, "rewiring", 4.0) == pytest.approx(
        0.3 * amount(whole, "rewiring", 4.0) * 1.02**4
    )
    wiring, own = rewired(plain_case, 0.3, own_labour=True)
    assert amount(own, "rewiring", 4.0) == pytest.approx(
        0.3 * sum(line.cost for line in wiring.bill if line.part != "labour")
    )


# ---------------------------------------------------------------- reasons that reckon


def test_reasons_multiply_out_to_their_amounts(plain_case: Build) -> None:
    """The figures of a reason, as printed, times each other are the amount, to their digits."""
    case = plain_case(
        prices={
            "inflation": 0.03, "tax_rate": 0.0, "hour_without_power_price": 3.0,
            "dangerous_goods_price": 15.0,
        },
        system={"old_bank": {"chemistry": "agm", "mass_kg": 40.0}},
    )  # fmt: skip
    life = life_of(
        10, replaced=(4.0,), left=0.25, engine_wh=50e3, shore_wh=70e3, unserved_days=2.0,
        hours_without_power=7.0,
    )  # fmt: skip
    wiring = wire(case, bank_of(case, 2), current_a=50.0)
    rows = rows_of(case, life, wiring=wiring, parallel=2, conditions=priced(engine=0.9, shore=0.3))
    reckoned = {
        *("packs", "freight", "old bank", "labour", "engine charging", "shore power"),
        *("days without power", "hours without power", "yearly checks", "replacement labour"),
        *("dangerous goods", "disposal", "residual value"),
    }
    seen = set()
    for row in rows:
        if row.item not in reckoned:
            continue
        factors = re.findall(
            r"(?:(?<=^)|(?<=× )|(?<=, ))([\d,]+(?:\.\d+)?)(%?)(?= (?:×|h |h$|kWh|kg|"
            r"days|of|for|per|packs)|%| |;|,|:|$)",
            row.reason,
        )
        figures = [float(f.replace(",", "")) / (100 if percent else 1) for f, percent in factors]
        if row.item == "yearly checks":
            figures = figures[1:]  # the minutes are told as hours again
        assert math.prod(figures) == pytest.approx(abs(row.amount), rel=0.02), row
        seen.add(row.item)
    assert seen == reckoned
