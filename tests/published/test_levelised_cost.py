"""Levelised cost of storage by the definition of Schmidt, Melchior, Hawkes and Staffell, Joule 3
(2019) 81-100 (formula from memory):

    LCOS = [investment + sum O&M_n/(1+r)^n + sum charging_n/(1+r)^n + end of life/(1+r)^(N+1)]
           / sum discharged_n/(1+r)^n

One departure: the paper pays the end of life in the year after the last, the ledger at the
horizon, when the bank is sold. The worked example is ours: a pack of 400 with 20 of freight, 30 kWh
a year bought at 0.40, 200 kWh a year out of the bank, 8 %, six years.
"""

import pytest

from tco.money.measures import measure
from tests.conftest import build_plain_case
from tests.money.helpers import life_of, priced, rows_of

RATE, YEARS = 0.08, 6


def schmidt(*, end_of_life_year: int, end_of_life: float) -> float:
    """The formula, written out: 420 at once, 30 kWh a year bought at 0.4, 200 kWh a year out."""
    costs, energy = 420.0, 0.0
    for n in range(1, YEARS + 1):
        costs += 30.0 * 0.4 / (1 + RATE) ** n
        energy += 200.0 / (1 + RATE) ** n
    costs += end_of_life / (1 + RATE) ** end_of_life_year
    return costs / energy


def cost_per_kwh(left: float) -> float:
    case = build_plain_case(
        prices={"discount_rate": RATE, "inflation": 0.0, "tax_rate": 0.0, "pack_price_trend": 0.0},
        assumptions={"horizon_years": YEARS, "resale_share": 0.5},
    )
    life = life_of(YEARS, left=left, from_bank_wh=200_000.0, generator_wh=30_000.0)
    found = measure(
        rows_of(case, life, conditions=priced(generator=0.4)),
        life,
        case.prices,
        horizon_years=YEARS,
    ).cost_per_kwh
    assert found is not None
    return found


def test_without_an_end_of_life() -> None:
    """Half of a life left sold for half its price, 400 x 0.25 = 100, and half of 11 kg at 1.5 to
    be rid of: 8.25."""
    assert cost_per_kwh(0.5) == pytest.approx(
        schmidt(end_of_life_year=YEARS, end_of_life=8.25 - 100.0), rel=1e-12
    )


def test_used_up() -> None:
    assert cost_per_kwh(0.0) == pytest.approx(
        schmidt(end_of_life_year=YEARS, end_of_life=16.5), rel=1e-12
    )


def test_paying_the_end_a_year_later_matters_little() -> None:
    """The departure from the paper, in figures: less than 0.2 % here."""
    ours, paper = (schmidt(end_of_life_year=n, end_of_life=16.5) for n in (YEARS, YEARS + 1))
    assert 0.0 < ours / paper - 1.0 < 0.002


def test_figure_by_hand() -> None:
    """UPV(8 %, 6) = 4.622880 (NIST Handbook 135 formula), SPV = 0.630170:
    (420 + 12 x 4.622880 + 16.5 x 0.630170) / (200 x 4.622880) = 485.8724 / 924.5760 = 0.525508."""
    assert cost_per_kwh(0.0) == pytest.approx(0.525508, abs=1e-6)
