"""Each row of the ledger by hand, and what must hold of all of them."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.bank.bank import Bank
from tco.bank.replacing import disposal_price
from tco.bank.wiring.wiring import wire
from tco.case import Case
from tco.money.discounting import present_value_factor, real_rate
from tco.money.ledger import ledger
from tests.conftest import build_plain_case
from tests.money.helpers import FREE, amount, bank_of, life_of, priced, rows_of

Build = Callable[..., Case]

STILL = {"discount_rate": 0.05, "inflation": 0.0, "pack_price_trend": 0.0, "tax_rate": 0.0}


def still(plain_case: Build, prices: dict[str, Any] | None = None, **changes: Any) -> Case:
    """A case without inflation, trend and tax."""
    return plain_case(prices={**STILL, **(prices or {})}, **changes)


# ---------------------------------------------------------------- the day of purchase


def test_packs_and_freight(plain_case: Build) -> None:
    rows = rows_of(still(plain_case), life_of(10), parallel=3)
    assert amount(rows, "packs", 0.0) == 1200.0
    assert amount(rows, "freight", 0.0) == 60.0


def test_tax_is_on_goods_and_labour_and_not_on_disposal(plain_case: Build) -> None:
    life = life_of(10, replaced=(4.0,), left=0.25)

    def rows(tax: float) -> Any:
        case = still(
            plain_case,
            {"tax_rate": tax},
            system={"old_bank": {"chemistry": "agm", "mass_kg": 30.0}},
        )
        wiring = wire(case, bank_of(case), current_a=50.0)
        return rows_of(case, life, wiring=wiring)

    without, taxed = rows(0.0), rows(0.2)
    for item in (
        *("packs", "freight", "wiring parts", "labour"),
        *("replacement packs", "replacement labour", "yearly checks"),
    ):
        assert amount(without, item) > 0
        assert amount(taxed, item) == pytest.approx(1.2 * amount(without, item)), item
    for item in ("old bank", "disposal", "residual value"):
        assert amount(without, item) != 0
        assert amount(taxed, item) == pytest.approx(amount(without, item)), item
    assert any("with 20 % tax" in row.reason for row in taxed)


def test_a_tax_with_a_fraction_of_a_percent_is_named_in_full(plain_case: Build) -> None:
    rows = rows_of(still(plain_case, {"tax_rate": 0.0625}), life_of(10))
    assert any("6.25 % tax" in row.reason for row in rows)


def test_wiring_parts_and_labour_make_the_bill(plain_case: Build) -> None:
    case = still(plain_case)
    wiring = wire(case, bank_of(case), current_a=50.0)
    rows = rows_of(case, life_of(10), wiring=wiring)
    assert amount(rows, "wiring parts") > 0
    assert amount(rows, "labour") > 0
    both = amount(rows, "wiring parts") + amount(rows, "labour")
    assert both == pytest.approx(wiring.cost)
    assert amount(rows_of(case, life_of(10)), "wiring parts") == 0.0


def test_a_charger_without_a_profile_is_bought(plain_case: Build) -> None:
    old = {"name": "old", "rating_a": 10, "nights_per_month": 1, "profiles": ["lead"]}
    priced = still(plain_case, sources={"shore": [{**old, "replacement_price": 130.0}]})
    assert amount(rows_of(priced, life_of(10)), "charger", 0.0) == 130.0
    suits = {**old, "replacement_price": 130.0, "profiles": ["lithium"]}
    assert amount(
        rows_of(still(plain_case, sources={"shore": [suits]}), life_of(10)), "charger"
    ) == (0.0)


@pytest.mark.parametrize(
    ("old", "paid"),
    [
        ({"chemistry": "agm", "mass_kg": 40.0}, -20.0),  # the core is paid for, 0.50 a kg
        ({"chemistry": "lfp", "mass_kg": 40.0}, 60.0),
        ({"chemistry": "agm", "mass_kg": 40.0, "sale_price": 75.0}, -75.0),
    ],
)
def test_the_old_bank_is_sold_credited_or_taken_away(
    plain_case: Build, old: dict[str, Any], paid: float
) -> None:
    case = still(plain_case, system={"old_bank": old})
    assert amount(rows_of(case, life_of(10)), "old bank", 0.0) == pytest.approx(paid)


def test_disposal_by_family(plain_case: Build) -> None:
    case = plain_case(prices={"disposal_price_per_kg_sodium": 2.0})
    assert disposal_price(case, "sodium-ion", 10.0) == 20.0
    assert disposal_price(case, "gel", 10.0) == -5.0
    assert disposal_price(case, "lto", 10.0) == 15.0


# ---------------------------------------------------------------- later


def test_a_replacement_at_the_price_of_its_year(plain_case: Build) -> None:
    prices = {"inflation": 0.02, "pack_price_trend": -0.03}
    case = still(plain_case, prices)
    # the pack follows inflation and its own real trend, the freight inflation alone
    each = 400.0 * 1.02**4.5 * 0.97**4.5 + 20.0 * 1.02**4.5
    rows = rows_of(case, life_of(10, replaced=(4.5,)), parallel=2)
    assert amount(rows, "replacement packs", 4.5) == pytest.approx(2 * each)
    old = 22.0 * 1.5 * 1.02**4.5
    assert amount(rows, "disposal", 4.5) == pytest.approx(old)


def test_labour_of_a_replacement_by_hand(plain_case: Build) -> None:
    prices = {
        "labour_per_hour": 60.0,
        "minutes_per_termination": 12.0,
        "minutes_per_pack": 30.0,
        "minutes_per_kg_lifted": 0.5,
    }
    rows = rows_of(still(plain_case, prices), life_of(10, replaced=(3.0,)), parallel=2)
    # 2 packs x 30 min, 22 kg x 0.5 min, two ends a pack, each 0.3 of making one (12 min)
    assert amount(rows, "replacement labour", 3.0) == pytest.approx(60 + 11 + 4 * 0.3 * 12)


def test_every_replacement_is_paid(plain_case: Build) -> None:
    rows = rows_of(still(plain_case), life_of(10, replaced=(2.5, 5.0, 7.5)))
    assert [r.year for r in rows if r.item == "replacement packs"] == [2.5, 5.0, 7.5]


def test_bought_energy_days_without_power_and_checks(plain_case: Build) -> None:
    case = still(
        plain_case,
        {
            "inflation": 0.03,
            "day_without_power_price": 25.0,
            "labour_per_hour": 60.0,
            "check_minutes_per_termination_year": 2.0,
        },
    )
    life = life_of(
        10, engine_wh=40_000.0, shore_wh=20_000.0, generator_wh=5_000.0, unserved_days=3.0
    )
    prices = priced(engine=0.9, shore=0.3, generator=2.0)
    wiring = wire(case, bank_of(case), current_a=50.0)
    rows = rows_of(case, life, wiring=wiring, conditions=prices)
    for year in (1.0, 10.0):
        grown = 1.03**year
        assert amount(rows, "engine charging", year) == pytest.approx(36.0 * grown)
        assert amount(rows, "shore power", year) == pytest.approx(6.0 * grown)
        assert amount(rows, "generator", year) == pytest.approx(10.0 * grown)
        assert amount(rows, "days without power", year) == pytest.approx(75.0 * grown)
        checks = 2.0 * wiring.connections * grown
        assert amount(rows, "yearly checks", year) == pytest.approx(checks)
    assert len([r for r in rows if r.item == "generator"]) == 10


# ---------------------------------------------------------------- the end


def test_the_end_sells_what_is_left_and_bears_what_is_used(plain_case: Build) -> None:
    case = still(plain_case, assumptions={"resale_share": 0.4})
    rows = rows_of(case, life_of(10, left=0.25), parallel=2)
    assert amount(rows, "residual value", 10.0) == pytest.approx(-800.0 * 0.4 * 0.25)
    assert amount(rows, "disposal", 10.0) == pytest.approx(22.0 * 1.5 * 0.75)


def test_a_new_bank_has_no_disposal_and_a_worn_one_no_value(plain_case: Build) -> None:
    new = rows_of(still(plain_case), life_of(10, left=1.0))
    assert amount(new, "disposal") == 0.0
    assert amount(new, "residual value") == pytest.approx(-160.0)
    worn = rows_of(still(plain_case), life_of(10, left=0.0))
    assert amount(worn, "residual value") == 0.0
    assert amount(worn, "disposal") == pytest.approx(16.5)


def test_nobody_sells_what_has_no_resale_yet_it_still_has_to_go(plain_case: Build) -> None:
    case = still(plain_case, assumptions={"resale_share": 0.0})
    rows = rows_of(case, life_of(10, left=0.5))
    assert amount(rows, "residual value") == 0.0
    assert amount(rows, "disposal") == pytest.approx(8.25)


@given(left=st.floats(0.0, 1.0))
@settings(deadline=None)
def test_the_total_never_jumps_with_the_life_that_is_left(left: float) -> None:
    case = build_plain_case(prices=STILL)

    def total(share: float) -> float:
        return sum(r.present for r in rows_of(case, life_of(10, left=share)))

    low, high = total(0.0), total(1.0)
    # rows below half a cent are left out of the ledger
    assert total(left) == pytest.approx(low + left * (high - low), abs=0.02)


def test_residual_follows_the_price_of_its_day(plain_case: Build) -> None:
    case = still(plain_case, {"inflation": 0.02, "pack_price_trend": -0.03})
    rows = rows_of(case, life_of(10, left=1.0))
    assert amount(rows, "residual value") == pytest.approx(-160.0 * (1.02 * 0.97) ** 10)


# ---------------------------------------------------------------- all rows


FULL: dict[str, Any] = {
    "replaced": (3.3, 6.6),
    "left": 0.4,
    "engine_wh": 50_000.0,
    "unserved_days": 2.0,
}


def test_rows_are_in_order_and_each_is_discounted_from_its_time(plain_case: Build) -> None:
    case = plain_case(prices={"discount_rate": 0.07})
    rows = rows_of(case, life_of(10, **FULL))
    assert [r.year for r in rows] == sorted(r.year for r in rows)
    assert len(rows) > 10
    for row in rows:
        assert row.present == pytest.approx(row.amount * present_value_factor(0.07, row.year))
        assert row.reason
    assert {r.year for r in rows} <= {0.0, 3.3, 6.6, *map(float, range(1, 11))}


def test_without_discounting_present_is_the_amount(plain_case: Build) -> None:
    rows = rows_of(plain_case(prices={"discount_rate": 0.0}), life_of(10, left=0.2))
    assert all(row.present == row.amount for row in rows)


@given(d=st.floats(-0.1, 0.3), i=st.floats(-0.05, 0.2), trend=st.sampled_from([0.0, -0.04]))
@settings(deadline=None, max_examples=40)
def test_nominal_at_the_nominal_rate_is_real_at_the_real_rate(
    d: float, i: float, trend: float
) -> None:
    """NIST Handbook 135: constant and current dollars give the same present value."""
    prices = {"pack_price_trend": trend, "tax_rate": 0.1}
    bought = priced(engine=0.9, shore=0.3, generator=2.0)
    life = life_of(10, **FULL)
    nominal = build_plain_case(prices={**prices, "discount_rate": d, "inflation": i})
    real = build_plain_case(prices={**prices, "discount_rate": real_rate(d, i), "inflation": 0.0})
    totals = [
        sum(row.present for row in ledger(case, Bank(bank_of(case)), life=life, conditions=bought))
        for case in (nominal, real)
    ]
    assert totals[0] == pytest.approx(totals[1], rel=1e-9)


@pytest.mark.parametrize("horizon", [1, 40])
def test_the_shortest_and_the_longest_horizon(plain_case: Build, horizon: int) -> None:
    case = still(plain_case, assumptions={"horizon_years": horizon})
    rows = rows_of(case, life_of(horizon, unserved_days=1.0), conditions=FREE)
    assert max(r.year for r in rows) == float(horizon)
    assert len([r for r in rows if r.item == "days without power"]) == horizon


# ---------------------------------------------------------------- own time, shipping, spares, hours


def test_own_labour_is_shown_and_not_paid(plain_case: Build) -> None:
    life = life_of(10, replaced=(4.0,))

    def rows(own: bool) -> Any:
        case = still(plain_case, {"own_labour": own, "tax_rate": 0.2})
        return rows_of(case, life, wiring=wire(case, bank_of(case), current_a=50.0))

    paid, own = rows(False), rows(True)
    for item in ("labour", "replacement labour", "yearly checks"):
        assert amount(paid, item) > 0.0
        assert amount(own, item) == 0.0
        said = [row.reason for row in own if row.item == item]
        assert len(said) == sum(row.item == item for row in paid)
        assert all("own time" in reason for reason in said)
        assert not any("own time" in row.reason for row in paid)
    hours = [row.reason.split(" h")[0] for row in paid if row.item == "labour"]
    assert [row.reason.split(" h")[0] for row in own if row.item == "labour"] == hours
    assert amount(own, "wiring parts") == pytest.approx(amount(paid, "wiring parts"))


def test_dangerous_goods_for_each_pack_shipped(plain_case: Build) -> None:
    life = life_of(10, replaced=(4.0,))
    prices = {"dangerous_goods_price": 15.0, "tax_rate": 0.2, "inflation": 0.02}
    rows = rows_of(still(plain_case, prices), life, parallel=3)
    assert amount(rows, "dangerous goods", 0.0) == pytest.approx(1.2 * 3 * 15.0)
    assert amount(rows, "dangerous goods", 4.0) == pytest.approx(1.2 * 3 * 15.0 * 1.02**4)
    lead = still(plain_case, prices, candidate={"chemistry": "agm", "nominal_voltage_v": 12.0})
    assert amount(rows_of(lead, life), "dangerous goods") == 0.0
    assert amount(rows_of(still(plain_case), life), "dangerous goods") == 0.0


def test_spare_packs_are_bought_with_freight_and_sold(plain_case: Build) -> None:
    case = still(
        plain_case,
        {"dangerous_goods_price": 15.0, "tax_rate": 0.2},
        assumptions={"spare_packs": 2, "resale_share": 0.4},
    )
    rows = rows_of(case, life_of(10, left=0.25), parallel=3)
    assert amount(rows, "spare packs", 0.0) == pytest.approx(1.2 * 2 * 420.0)
    assert amount(rows, "dangerous goods", 0.0) == pytest.approx(1.2 * (3 + 2) * 15.0)
    # three quarters of the bank's life is gone, none of the spares'
    assert amount(rows, "residual value", 10.0) == pytest.approx(-0.4 * 400.0 * (3 * 0.25 + 2))


def test_hours_without_power_have_their_price(plain_case: Build) -> None:
    life = life_of(10, unserved_days=2.0, hours_without_power=7.0)
    case = still(plain_case, {"hour_without_power_price": 3.0, "day_without_power_price": 40.0})
    rows = rows_of(case, life)
    assert amount(rows, "hours without power", 1.0) == pytest.approx(21.0)
    assert amount(rows, "days without power", 1.0) == pytest.approx(80.0)
    assert amount(rows_of(still(plain_case), life), "hours without power") == 0.0


# ---------------------------------------------------------------- part of a last year


def test_a_last_part_of_a_year_counts_its_part_at_the_horizon(plain_case: Build) -> None:
    case = still(plain_case, {"inflation": 0.03}, assumptions={"horizon_years": 7.5})
    wiring = wire(case, bank_of(case), current_a=50.0)
    rows = rows_of(case, life_of(7.5, left=0.5), wiring=wiring)
    checks = {row.year: row.amount for row in rows if row.item == "yearly checks"}
    assert sorted(checks) == [1, 2, 3, 4, 5, 6, 7, 7.5]
    assert checks[7.5] / 1.03**7.5 == pytest.approx(0.5 * checks[7.0] / 1.03**7.0)
    assert max(row.year for row in rows) == 7.5
    assert amount(rows, "residual value", 7.5) == pytest.approx(
        -400.0 * 1.03**7.5 * case.assumptions.resale_share * 0.5
    )
