"""Total, annual and levelised cost of small ledgers worked out by hand."""

from typing import Any

import pytest

from tco.case import Prices
from tco.money.discounting import net_present_value
from tco.money.ledger import LedgerRow
from tco.money.measures import Measures, measure
from tests.money.helpers import life_of


def rows_at(rate: float, *flows: tuple[float, float]) -> tuple[LedgerRow, ...]:
    return tuple(
        LedgerRow(year, "thing", amount, amount, amount * (1 + rate) ** -year, "by hand")
        for year, amount in flows
    )


def measured(rate: float, horizon: int, *flows: tuple[float, float], **yearly: Any) -> Measures:
    return measure(
        rows_at(rate, *flows),
        life_of(horizon, **yearly),
        Prices(discount_rate=rate),
        horizon_years=horizon,
    )


def test_levelised_cost_by_schmidts_definition() -> None:
    """Schmidt et al., Joule 3 (2019) 81-100 (formula from memory): present costs over energy.

    1000 paid today, 50 a year for three years, 100 to be rid of it at the end of the third (Schmidt
    puts that a year later), 500 kWh a year, 10 %: costs 1000 + 50 (1/1.1 + 1/1.21 + 1/1.331) +
    100/1.331; energy 500 x the same sum of factors.
    """
    factors = 1 / 1.1 + 1 / 1.21 + 1 / 1.331
    costs = 1000 + 50 * factors + 100 / 1.331
    got = measured(0.10, 3, (0, 1000), (1, 50), (2, 50), (3, 50), (3, 100), from_bank_wh=500_000.0)
    assert got.cost_per_kwh == pytest.approx(costs / (500 * factors))
    # 1199.4741 over 1243.4260 kWh
    assert got.cost_per_kwh == pytest.approx(0.96465, abs=5e-6)


def test_the_levelised_cost_is_the_price_that_pays_for_all() -> None:
    got = measured(0.06, 8, (0, 2500), (4.2, 900), (8, -300), from_bank_wh=730_000.0)
    assert got.cost_per_kwh is not None
    income = net_present_value(0.06, [(t, 730 * got.cost_per_kwh) for t in range(1, 9)])
    assert income == pytest.approx(got.total_cost)


def test_energy_that_never_went_through_the_bank_does_not_count() -> None:
    got = measured(0.0, 2, (0, 100), from_bank_wh=50_000.0, delivered_wh=900_000.0)
    assert got.cost_per_kwh == pytest.approx(1.0)


def test_nothing_delivered_has_no_cost_per_kwh() -> None:
    assert measured(0.05, 5, (0, 1000)).cost_per_kwh is None


def test_total_is_the_sum_of_what_is_present_and_first_cost_what_is_paid_today() -> None:
    got = measured(0.05, 5, (0, 1000), (0, -50), (2, 210.0), (5, -127.63))
    assert got.total_cost == pytest.approx(950 + 210 / 1.05**2 - 127.63 / 1.05**5)
    assert got.first_cost == 950


def test_annual_cost_is_worth_the_total() -> None:
    got = measured(0.05, 5, (0, 1000))
    assert net_present_value(0.05, [(t, got.annual_cost) for t in range(1, 6)]) == pytest.approx(
        1000
    )
    # one year: the price and a year's interest
    assert measured(0.05, 1, (0, 1000)).annual_cost == pytest.approx(1050)


def test_without_interest_everything_is_a_plain_mean() -> None:
    got = measured(0.0, 4, (0, 1000), (2, 200), from_bank_wh=100_000.0)
    assert got.annual_cost == pytest.approx(300)
    assert got.cost_per_kwh == pytest.approx(3.0)


def test_annual_cost_in_prices_of_year_0_rises_with_inflation_and_is_worth_the_total() -> None:
    got = measure(
        rows_at(0.05, (0, 1000), (3, 500)),
        life_of(8),
        Prices(discount_rate=0.05, inflation=0.02),
        horizon_years=8,
    )
    paid = [(float(t), got.annual_cost_real * 1.02**t) for t in range(1, 9)]
    assert net_present_value(0.05, paid) == pytest.approx(got.total_cost)
    assert got.annual_cost_real < got.annual_cost
