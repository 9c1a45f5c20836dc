"""Cost of a failure by age: warranty, model gone, days without power, hazard; and in the ledger."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tco.bank.arrangements import Arrangement
from tco.case import Case, specify
from tco.money.failures import (
    FailureCosts,
    covered_by_warranty_years,
    failure_costs,
    failure_knowledge,
)
from tco.money.ledger import bank_age_index, ledger
from tests.money.helpers import FREE, life_of

PlainCase = Callable[..., Case]
PACK = {"warranty_years": 5.0}
MILD: Any = SimpleNamespace(space_degc=np.array([10.0, 20.0]), **vars(FREE))
TERMS = {"candidate": "Plain 100", "honoured_probability": 0.8}


def costs(
    case: Case, *, series: int = 1, parallel: int = 1, kwh: float = 100.0, space: Any = MILD
) -> FailureCosts:
    arrangement = Arrangement(specify(case.candidates[0]), series, parallel)
    known = failure_knowledge(case)[case.candidates[0].name]
    return failure_costs(case, arrangement, known, conditions=space, bank_kwh_per_year=kwh)


def covered(plain_case: PlainCase, **changes: Any) -> Case:
    return plain_case(
        **{"candidate": PACK, "warranties": [{**TERMS, **changes.pop("terms", {})}], **changes}
    )


def test_a_warranty_pays_less_later_and_nothing_after_its_term(plain_case: PlainCase) -> None:
    found = costs(covered(plain_case, terms={"prorated_after_years": 2.0}))
    # full for two years, then 5/6, 1/2 and 1/6 of the way from 2 to 5 years, at mid-year
    wanted = 0.8 * np.array([1, 1, 2.5 / 3, 1.5 / 3, 0.5 / 3, 0, 0, 0, 0, 0])
    claim_worth = wanted * 400.0 > 40.0 + 20.0
    np.testing.assert_allclose(found.warranty_share, np.where(claim_worth, wanted, 0.0), rtol=1e-12)
    np.testing.assert_allclose(found.pack_share, 1.0 - found.warranty_share, rtol=1e-12)


def test_no_claim_that_costs_more_than_it_returns(plain_case: PlainCase) -> None:
    case = covered(plain_case, prices={"claim_trouble": 500.0})
    assert (costs(case).warranty_share == 0.0).all()
    # nor does anybody pay for the trouble then
    without = costs(plain_case(candidate={"warranty_years": 0.0}, prices={"claim_trouble": 500.0}))
    np.testing.assert_allclose(costs(case).other, without.other, rtol=1e-12)


def test_throughput_ends_a_warranty_early(plain_case: PlainCase) -> None:
    # one pack of 1.28 kWh; 200 kWh allowed at 100 a year: two years
    case = covered(plain_case, terms={"throughput_kwh": 200.0})
    assert np.flatnonzero(costs(case).warranty_share).tolist() == [0, 1]
    # two packs share the work
    assert np.flatnonzero(costs(case, parallel=2).warranty_share).tolist() == [0, 1, 2, 3]
    bank = Arrangement(specify(case.candidates[0]), 1, 2)
    assert covered_by_warranty_years(case, bank, 100.0) == pytest.approx(4.0)


def test_a_broken_condition_voids_the_warranty(plain_case: PlainCase) -> None:
    case = covered(plain_case, terms={"operating_min_degc": 0.0})
    frost: Any = SimpleNamespace(space_degc=np.array([-5.0, 20.0]), **vars(FREE))
    assert costs(case).warranty_share[0] > 0.0
    assert (costs(case, space=frost).warranty_share == 0.0).all()


def test_a_model_that_is_gone_costs_the_whole_bank(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        reliability={"model_gone_after_years": 3.0},
        assumptions={"horizon_years": 6, "resale_share": 0.25},
    )
    # four packs bought, three sound ones sold at a quarter
    wanted = [1.0, 1.0, 1.0, 3.25, 3.25, 3.25]
    np.testing.assert_allclose(costs(case, parallel=4).pack_share, wanted, rtol=1e-12)
    # one pack has nothing to match
    assert (costs(case).pack_share == 1.0).all()


def test_days_lost_by_one_failure(plain_case: PlainCase) -> None:
    """One string: dark until the new pack comes. Two: half is missing as long. Two in series fail
    as often as two alone and darken all each time."""
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={"day_without_power_price": 30.0, "usual_lead_time_days": 10.0},
    )
    for series, parallel, days in (
        (1, 1, 10.0),
        (2, 1, 10.0),
        (1, 2, 5.0),
        (1, 4, 2.5),
        (2, 2, 5.0),
    ):
        found = costs(case, series=series, parallel=parallel)
        np.testing.assert_allclose(found.outage, days * 30.0, rtol=1e-4)


def test_a_stated_lead_time_and_a_claims_downtime(plain_case: PlainCase) -> None:
    quick = plain_case(
        candidate={"warranty_years": 0.0, "lead_time_days": 3.0},
        prices={"day_without_power_price": 10.0},
    )
    np.testing.assert_allclose(costs(quick).outage, 30.0, rtol=1e-4)
    waiting = covered(
        plain_case, terms={"downtime_days": 45.0}, prices={"day_without_power_price": 10.0}
    )
    found = costs(waiting).outage
    np.testing.assert_allclose(found[:5], 450.0, rtol=1e-4)  # under warranty
    np.testing.assert_allclose(found[5:], 100.0, rtol=1e-4)  # after it, the usual ten


def test_a_spare_on_the_shelf_shortens_the_outage_alone(plain_case: PlainCase) -> None:
    prices = {"day_without_power_price": 10.0, "hour_without_power_price": 0.5}
    case = plain_case(candidate={"warranty_years": 0.0}, prices=prices)
    shelf = plain_case(
        candidate={"warranty_years": 0.0}, prices=prices, assumptions={"spare_packs": 1},
        reliability={"swap_days": 2.0},
    )  # fmt: skip
    # ten days until a new one comes, two to swap a spare; a day is 10 and 24 hours at 0.5
    np.testing.assert_allclose(costs(case).outage, 10.0 * 22.0, rtol=1e-4)
    np.testing.assert_allclose(costs(shelf).outage, 2.0 * 22.0, rtol=1e-4)
    np.testing.assert_allclose(
        costs(shelf).other - costs(shelf).outage, costs(case).other - costs(case).outage
    )
    np.testing.assert_array_equal(costs(shelf).pack_share, costs(case).pack_share)


def test_own_time_and_dangerous_goods_of_a_failure(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={
            "tax_rate": 0.2, "own_labour": True, "dangerous_goods_price": 15.0,
            "day_without_power_price": 0.0,
        },
    )  # fmt: skip
    np.testing.assert_allclose(costs(case).other, 1.2 * (20.0 + 15.0), rtol=1e-12)


def test_labour_freight_and_tax_of_a_failure(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={
            "tax_rate": 0.2, "labour_per_hour": 60.0, "minutes_per_pack": 30.0,
            "minutes_per_kg_lifted": 1.0, "day_without_power_price": 0.0,
        },
    )  # fmt: skip
    # 30 min and 11 kg: 41 min at 60 an hour, and 20 of freight
    np.testing.assert_allclose(costs(case).other, 1.2 * (41.0 + 20.0), rtol=1e-12)
    assert costs(case).pack_share[0] == pytest.approx(1.2)


def test_hazard_is_flat_or_rises_and_comes_out_even(plain_case: PlainCase) -> None:
    np.testing.assert_allclose(costs(plain_case()).hazard, 1.0, rtol=1e-12)
    rising = costs(plain_case(reliability={"weibull_shape": 2.5, "reference_years": 10.0})).hazard
    assert (np.diff(rising) > 0.0).all()
    # as many failures in the reference years as at the mean rate
    assert rising.sum() == pytest.approx(10.0, rel=1e-12)
    # cumulative hazard 10 (t/10)^2.5: 10 x 0.1^2.5 in the first year
    assert rising[0] == pytest.approx(10.0 * 0.1**2.5, rel=1e-12)
    infant = costs(plain_case(reliability={"weibull_shape": 0.6})).hazard
    assert (np.diff(infant) < 0.0).all()


def test_expected_failures_grow_with_packs(plain_case: PlainCase) -> None:
    single, four = costs(plain_case()), costs(plain_case(), parallel=4)
    assert four.expected(3) == pytest.approx(4.0 * single.expected(3))
    assert single.expected(3) == pytest.approx(single.knowledge.posterior.mean)
    assert single.expected(99) == single.expected(9)  # beyond the last year the last holds


def test_ledger_pays_expected_failures_by_the_age_of_the_bank(plain_case: PlainCase) -> None:
    case = covered(
        plain_case,
        prices={"discount_rate": 0.0, "inflation": 0.03, "pack_price_trend": -0.05},
        reliability={"weibull_shape": 2.0},
    )
    arrangement, found = Arrangement(specify(case.candidates[0]), 1, 2), costs(case, parallel=2)
    rows = ledger(
        case, arrangement, wiring=None, life=life_of(10, replaced=(4.2,)), conditions=MILD,
        failures=found,
    )  # fmt: skip
    by_year = {row.year: row.amount for row in rows if row.item == "failures"}
    for year, age in ((1.0, 0), (4.0, 3), (5.0, 0), (10.0, 5)):
        rate = 2 * found.knowledge.posterior.mean * found.hazard[age]
        pack = 400.0 * (1.03 * 0.95) ** year * found.pack_share[age]
        assert by_year[year] == pytest.approx(rate * (pack + found.other[age] * 1.03**year))


def test_age_at_mid_year() -> None:
    assert [bank_age_index(y + 0.5, ()) for y in range(4)] == [0, 1, 2, 3]
    # replaced at 1.5 sharp counts for that year; at 1.6 from the next
    assert [bank_age_index(y + 0.5, (1.5,)) for y in range(4)] == [0, 0, 1, 2]
    assert [bank_age_index(y + 0.5, (1.6,)) for y in range(4)] == [0, 1, 0, 1]


def test_without_failures_the_ledger_has_no_such_row(plain_case: PlainCase) -> None:
    case = plain_case()
    rows = ledger(
        case, Arrangement(specify(case.candidates[0]), 1, 1), wiring=None, life=life_of(10),
        conditions=MILD,
    )  # fmt: skip
    assert not [row for row in rows if row.item == "failures"]
