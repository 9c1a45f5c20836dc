"""Cost of a failure by age: warranty, model gone, days without power, hazard; and in the ledger."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.costs import bank_costs
from tco.bank.replacing import dangerous_goods_price, disposal_price
from tco.case import Case, read_case, specify
from tco.case.evidence import WarrantyTerms
from tco.compare import compare
from tco.life.pack_failure_outage import Missing
from tco.money.failure_parts import PARTS, only
from tco.money.failures import (
    FailureCosts,
    failure_costs,
    failure_knowledge,
    hazard_by_age,
    warranty_use,
)
from tco.money.ledger import LedgerRow, expected_failures, ledger
from tco.money.renewal import BY_AGE
from tests.money.helpers import FREE, life_of

DEMO = Path(__file__).parents[2] / "candidates_demo"
PlainCase = Callable[..., Case]
PACK = {"warranty_years": 5.0}
IN_USE = np.zeros(2, dtype=bool)
MILD: Any = SimpleNamespace(space_degc=np.array([10.0, 20.0]), laid_up=IN_USE, **vars(FREE))
TERMS = {"candidate": "Plain 100", "honoured_probability": 0.8}


ALWAYS = Missing(days=1.0, hours=24.0)
"""Power wanted every hour, and all of it missing."""


def costs(
    case: Case,
    *,
    series: int = 1,
    parallel: int = 1,
    kwh: float = 100.0,
    space: Any = MILD,
    missing: Missing = ALWAYS,
    life: float | None = None,
) -> FailureCosts:
    arrangement = Arrangement(specify(case.candidates[0]), series, parallel)
    known = failure_knowledge(case, [case.candidates[0].name])[case.candidates[0].name]
    return failure_costs(
        case, arrangement, known, use=warranty_use(case, space),
        hazard=hazard_by_age(case.reliability, case.assumptions.horizon_years),
        bank_kwh_per_year=kwh, missing=missing, life_years=life,
    )  # fmt: skip


def covered(plain_case: PlainCase, **changes: Any) -> Case:
    return plain_case(
        **{"candidate": PACK, "warranties": [{**TERMS, **changes.pop("terms", {})}], **changes}
    )


def test_a_warranty_pays_less_later_and_nothing_after_its_term(plain_case: PlainCase) -> None:
    case = covered(plain_case, terms={"prorated_after_years": 2.0, "paid_in": "money"})
    found = costs(case)
    # full for two years, then 5/6, 1/2 and 1/6 of the way from 2 to 5 years, at mid-year
    wanted = 0.8 * np.array([1, 1, 2.5 / 3, 1.5 / 3, 0.5 / 3, 0, 0, 0, 0, 0])
    claim_worth = wanted * 400.0 > 40.0 + 20.0
    np.testing.assert_allclose(found.warranty_share, np.where(claim_worth, wanted, 0.0), rtol=1e-12)
    np.testing.assert_allclose(found.one.pack_share, 1.0 - found.warranty_share, rtol=1e-12)


def test_no_claim_that_costs_more_than_it_returns(plain_case: PlainCase) -> None:
    case = covered(plain_case, prices={"claim_trouble": 500.0})
    assert (costs(case).warranty_share == 0.0).all()
    # nor does anybody pay for the trouble then
    without = costs(plain_case(candidate={"warranty_years": 0.0}, prices={"claim_trouble": 500.0}))
    np.testing.assert_allclose(costs(case).one.other, without.one.other, rtol=1e-12)


def test_a_claim_has_to_be_worth_its_trouble_at_the_lowest_price_of_packs(
    plain_case: PlainCase,
) -> None:
    """0.8 x 400 = 320 today, 0.8 x 400 x 0.9^10 = 112 at the horizon; a claim costs 20 + 100."""
    terms = {"paid_in": "money"}

    def share(trend: float, trouble: float) -> Any:
        prices = {"pack_price_trend": trend, "claim_trouble": trouble, "day_without_power_price": 0}
        return costs(covered(plain_case, terms=terms, prices=prices)).warranty_share[0]

    assert share(0.0, 100.0) == pytest.approx(0.8)
    assert share(-0.1, 100.0) == 0.0
    assert share(-0.1, 90.0) == pytest.approx(0.8)
    assert share(0.1, 290.0) == pytest.approx(0.8)
    assert share(0.1, 310.0) == 0.0  # prices that rise are lowest today


def test_throughput_ends_a_warranty_early(plain_case: PlainCase) -> None:
    # one pack of 1.28 kWh; 200 kWh allowed at 100 a year: two years
    case = covered(plain_case, terms={"throughput_kwh": 200.0})
    assert np.flatnonzero(costs(case).warranty_share).tolist() == [0, 1]
    # two packs share the work
    assert np.flatnonzero(costs(case, parallel=2).warranty_share).tolist() == [0, 1, 2, 3]
    assert (costs(case).covered_years, costs(case, parallel=2).covered_years) == (2.0, 4.0)


def test_a_broken_condition_voids_the_warranty_and_is_told(plain_case: PlainCase) -> None:
    case = covered(plain_case, terms={"operating_min_degc": 0.0})
    frost: Any = SimpleNamespace(**{**vars(MILD), "space_degc": np.array([-5.0, 20.0])})
    assert costs(case).warranty_share[0] > 0.0
    assert costs(case).void == ()
    assert (costs(case, space=frost).warranty_share == 0.0).all()
    (reason,) = costs(case, space=frost).void
    assert "as cold as -5 degC in use" in reason


def test_limits_for_use_and_for_storage_each_ask_their_own_hours(plain_case: PlainCase) -> None:
    """Frost while laid up breaks no limit for use, but one for storage."""
    winter: Any = SimpleNamespace(
        **{
            **vars(MILD),
            "space_degc": np.array([-15.0, 12.0, 31.0]),
            "laid_up": np.array([True, False, False]),
        }
    )
    use = warranty_use(plain_case(), winter)
    assert (use.coldest_operating_degc, use.hottest_operating_degc) == (12.0, 31.0)
    assert (use.coldest_storage_degc, use.hottest_storage_degc) == (-15.0, -15.0)
    for limit, broken in (
        ({"operating_min_degc": 0.0}, ()),
        ({"storage_max_degc": 25.0}, ()),
        ({"operating_max_degc": 30.0}, ("in use",)),
        ({"storage_min_degc": -10.0}, ("while laid up",)),
    ):
        found = costs(covered(plain_case, terms=limit), space=winter).void
        assert len(found) == len(broken)
        assert all(words in reason for words, reason in zip(broken, found, strict=True))
    never: Any = SimpleNamespace(**{**vars(winter), "laid_up": np.zeros(3, dtype=bool)})
    assert warranty_use(plain_case(), never).coldest_storage_degc is None


@pytest.mark.parametrize(("series", "parallel"), [(1, 4), (4, 1), (2, 2)])
def test_a_model_that_is_gone_costs_the_whole_bank(
    plain_case: PlainCase, series: int, parallel: int
) -> None:
    """In series as in parallel: packs of one bank must match."""
    case = plain_case(
        candidate={"warranty_years": 0.0, "freight_price": 15.0},
        reliability={"model_gone_after_years": 3.0},
        prices={"labour_per_hour": 0.0, "day_without_power_price": 0.0},
        assumptions={"horizon_years": 6, "resale_share": 0.25},
    )
    found = costs(case, series=series, parallel=parallel, life=10.0)
    # four packs bought, three sound ones sold at a quarter of what is left of ten years
    gone = [4.0 - 3.0 * 0.25 * left for left in (0.65, 0.55, 0.45)]
    np.testing.assert_allclose(found.first.pack_share, [1.0, 1.0, 1.0, *gone], rtol=1e-12)
    np.testing.assert_allclose(found.first.other, [15.0] * 3 + [60.0] * 3, rtol=1e-12)
    # one pack has nothing to match
    assert (costs(case).first.pack_share == 1.0).all()
    assert not costs(case).gone.any()


def test_a_spare_is_what_a_gone_model_asks_for(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        reliability={"model_gone_after_years": 3.0},
        assumptions={"spare_packs": 1},
    )
    assert (costs(case, parallel=4).first.pack_share == 1.0).all()
    assert (costs(case, parallel=4).all_packs.pack_share > 2.0).all()


def test_a_whole_bank_is_waited_for_though_a_spare_is_on_the_shelf(plain_case: PlainCase) -> None:
    """Ten days for what is ordered, two for what is there."""
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={"day_without_power_price": 30.0, "hour_without_power_price": 0.0},
        reliability={"swap_days": 2.0},
        assumptions={"spare_packs": 1},
    )
    found = costs(case, parallel=2)
    np.testing.assert_allclose(found.one.outage, 60.0, rtol=1e-12)
    np.testing.assert_allclose(found.all_packs.outage, 300.0, rtol=1e-12)


def test_sound_packs_at_the_end_of_their_life_fetch_nothing(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        assumptions={"horizon_years": 5.5, "resale_share": 0.5},
    )
    found = costs(case, parallel=3, life=4.0).all_packs.pack_share
    # three bought; two sold at half of what is left of four years; a year begun is a year
    left = [3.5 / 4, 2.5 / 4, 1.5 / 4, 0.5 / 4, 0.0, 0.0]
    np.testing.assert_allclose(found, [3.0 - 2.0 * 0.5 * share for share in left], rtol=1e-12)


def test_chance_of_a_failure_is_that_of_a_poisson_law(plain_case: PlainCase) -> None:
    """Two packs at 0.05 a year over three years: 1 - exp(-0.3)."""
    rate = [{"candidate": "Plain 100", "rate_per_pack_year": 0.05}]
    found = costs(plain_case(reliability={"stated_rates": rate}), parallel=2)
    assert found.chance(3) == pytest.approx(1.0 - np.exp(-0.3), rel=1e-9)
    assert found.chance(0) == 0.0


def test_days_lost_by_one_failure(plain_case: PlainCase) -> None:
    """Until the new pack comes, the days on which power is wanted and missing."""
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={
            "day_without_power_price": 30.0, "hour_without_power_price": 2.0,
            "usual_lead_time_days": 10.0,
        },
    )  # fmt: skip
    for missing, price in (
        (ALWAYS, 10.0 * (30.0 + 24.0 * 2.0)),
        (Missing(0.25, 3.0), 10.0 * (0.25 * 30.0 + 3.0 * 2.0)),
        (Missing(0.0, 0.0), 0.0),
    ):
        np.testing.assert_allclose(costs(case, missing=missing).first.outage, price, rtol=1e-12)


def test_a_stated_lead_time_and_a_claims_downtime(plain_case: PlainCase) -> None:
    quick = plain_case(
        candidate={"warranty_years": 0.0, "lead_time_days": 3.0},
        prices={"day_without_power_price": 10.0},
    )
    np.testing.assert_allclose(costs(quick).first.outage, 30.0, rtol=1e-12)
    of_this, of_another = (
        quick.candidates[0].model_copy(update=changes)
        for changes in ({"lead_time_days": None}, {"name": "Other"})
    )
    both = quick.model_copy(update={"candidates": (of_this, of_another)})
    np.testing.assert_allclose(costs(both).first.outage, 100.0, rtol=1e-12)  # its own is not stated
    waiting = covered(
        plain_case, terms={"downtime_days": 15.0}, prices={"day_without_power_price": 10.0}
    )
    found = costs(waiting).first.outage
    # honoured four times in five; refused, the usual ten days begin
    np.testing.assert_allclose(found[:5], (15.0 + 0.2 * 10.0) * 10.0, rtol=1e-12)
    np.testing.assert_allclose(found[5:], 100.0, rtol=1e-12)  # no cover, the usual ten
    # where a day is dear nobody waits
    dear = covered(
        plain_case, terms={"downtime_days": 15.0}, prices={"day_without_power_price": 100.0}
    )
    np.testing.assert_allclose(costs(dear).first.outage, 1000.0, rtol=1e-12)


@settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    terms=st.tuples(st.floats(0.0, 12.0), st.floats(0.0, 12.0)),
    chance=st.floats(0.0, 1.0),
    downtime=st.floats(0.0, 60.0),
    day=st.floats(0.0, 2000.0),
    hour=st.floats(0.0, 1000.0),
    spares=st.integers(0, 1),
    paid_in=st.sampled_from(["pack", "money"]),
)
def test_longer_cover_never_raises_the_cost_of_a_failure(
    plain_case: PlainCase, terms: tuple[float, float], chance: float, downtime: float, day: float,
    hour: float, spares: int, paid_in: str,
) -> None:  # fmt: skip
    """At no age, in neither kind of failure; a longer term, and money at once, never cost more."""
    short, long = sorted(terms)
    found = []
    for term in (0.0, short, long):
        case = covered(
            plain_case,
            terms={
                "term_years": term, "honoured_probability": chance, "downtime_days": downtime,
                "paid_in": paid_in,
            },
            prices={"day_without_power_price": day, "hour_without_power_price": hour},
            assumptions={"spare_packs": spares},
        )  # fmt: skip
        costs_ = costs(case, parallel=2, missing=Missing(0.4, 5.0))
        found.append(
            np.concatenate(
                [event.pack_share * 400.0 + event.other for event in (costs_.one, costs_.all_packs)]
            )
        )
    slack = 1e-9 * (1.0 + found[0])
    assert (found[1] <= found[0] + slack).all()
    assert (found[2] <= found[1] + slack).all()


@pytest.mark.parametrize("name", ["coldharbour", "otterbank"])
def test_no_arrangement_of_a_demo_is_better_off_without_its_warranty(name: str) -> None:
    case = read_case(DEMO / f"{name}.toml")
    bare = case.model_copy(
        update={
            "warranties": tuple(
                WarrantyTerms(candidate=c.name, term_years=0.0) for c in case.candidates
            )
        }
    )
    without = {r.arrangement.label: r.measures.total_cost for r in compare(bare).results}
    for result in compare(case).results:
        assert result.measures.total_cost <= without[result.arrangement.label] + 1e-6


def test_a_spare_on_the_shelf_shortens_the_outage_alone(plain_case: PlainCase) -> None:
    prices = {"day_without_power_price": 10.0, "hour_without_power_price": 0.5}
    case = plain_case(candidate={"warranty_years": 0.0}, prices=prices)
    shelf = plain_case(
        candidate={"warranty_years": 0.0}, prices=prices, assumptions={"spare_packs": 1},
        reliability={"swap_days": 2.0},
    )  # fmt: skip
    # ten days until a new one comes, two to swap a spare; a day is 10 and 24 hours at 0.5
    with_one, without = costs(shelf).first, costs(case).first
    np.testing.assert_allclose(without.outage, 10.0 * 22.0, rtol=1e-12)
    np.testing.assert_allclose(with_one.outage, 2.0 * 22.0, rtol=1e-12)
    np.testing.assert_allclose(with_one.other - with_one.outage, without.other - without.outage)
    np.testing.assert_array_equal(with_one.pack_share, without.pack_share)


def test_own_time_and_dangerous_goods_of_a_failure(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={
            "tax_rate": 0.2, "own_labour": True, "dangerous_goods_price": 15.0,
            "day_without_power_price": 0.0,
        },
    )  # fmt: skip
    np.testing.assert_allclose(costs(case).first.other, 1.2 * (20.0 + 15.0), rtol=1e-12)


def test_labour_freight_and_tax_of_a_failure(plain_case: PlainCase) -> None:
    case = plain_case(
        candidate={"warranty_years": 0.0},
        prices={
            "tax_rate": 0.2, "labour_per_hour": 60.0, "minutes_per_pack": 30.0,
            "minutes_per_kg_lifted": 1.0, "day_without_power_price": 0.0,
        },
    )  # fmt: skip
    # 30 min and 11 kg: 41 min at 60 an hour, and 20 of freight
    np.testing.assert_allclose(costs(case).first.other, 1.2 * (41.0 + 20.0), rtol=1e-12)
    assert costs(case).first.pack_share[0] == pytest.approx(1.2)


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
        reliability={"weibull_shape": 2.0, "model_gone_after_years": 99.0},
    )
    arrangement, found = Arrangement(specify(case.candidates[0]), 1, 2), costs(case, parallel=2)
    rows = ledger(
        case, Bank(arrangement), life=life_of(10, replaced=(4.2, 8.4)), conditions=MILD,
        failures=found,
    )  # fmt: skip
    by_year = {row.year: row.amount for row in rows if row.item == "failures"}
    # the ages at mid-year of banks new at 0, 4.2 and 8.4 years
    for year, age in ((1.0, 0), (4.0, 3), (5.0, 0), (8.0, 3), (9.0, 0), (10.0, 1)):
        rate = 2 * found.knowledge.posterior.mean * found.hazard[age]
        pack = 400.0 * (1.03 * 0.95) ** year * found.one.pack_share[age]
        assert by_year[year] == pytest.approx(rate * (pack + found.one.other[age] * 1.03**year))
    assert not [row for row in rows if row.item == "life renewed"]


def test_ledger_credits_the_life_that_a_failure_renews(plain_case: PlainCase) -> None:
    """One pack that lasts past the horizon: each failure leaves more of a life to sell."""
    case = plain_case(
        prices={"discount_rate": 0.0, "inflation": 0.0, "pack_price_trend": 0.0},
        candidate={"warranty_years": 0.0},
        assumptions={"horizon_years": 4, "resale_share": 0.5},
        reliability={"stated_rates": [{"candidate": "Plain 100", "rate_per_pack_year": 1e-3}]},
    )
    bank, found = Arrangement(specify(case.candidates[0]), 1, 1), costs(case, life=20.0)
    life = replace(life_of(4), first_life_years=20.0)
    rows = ledger(case, Bank(bank), life=life, conditions=MILD, failures=found)
    gone = disposal_price(case, "lfp", bank.mass_kg)
    # renewed at 0.5, 1.5, ... years: so much more of twenty years left, sold at half of 400 and not
    # yet to be disposed of. One pack in a thousand fails in a year, so an earlier failure has come
    # first with a chance of 0.4 % at most, and this sum leaves that out
    wanted = sum(1e-3 * t / 20.0 * (0.5 * 400.0 + gone) for t in (0.5, 1.5, 2.5, 3.5))
    swap = bank_costs(case, Bank(bank)).swap
    table = expected_failures(case, Bank(bank), life, found, swap=swap)
    assert table[3].sum() == pytest.approx(wanted, rel=4e-3)
    assert table[2].sum() == pytest.approx(4e-3, rel=4e-3)
    credit = [row.amount for row in rows if row.item == "life renewed"]
    assert credit == pytest.approx([-wanted], rel=4e-3)


def test_a_bank_that_fails_its_need_at_once_does_not_last_longest(plain_case: PlainCase) -> None:
    """A life of 0 years is one of next to none, not an unknown one (None) of forty years."""
    case = plain_case()
    bank, made = Arrangement(specify(case.candidates[0]), 1, 1), costs(case)

    def table(years: float | None) -> np.ndarray:
        life = replace(life_of(10), first_life_years=years)
        swap = bank_costs(case, Bank(bank)).swap
        return expected_failures(case, Bank(bank), life, made, swap=swap)

    np.testing.assert_array_equal(table(0.0), table(1e-6))
    np.testing.assert_array_equal(table(None), table(40.0))
    assert not np.allclose(table(0.0)[3], table(None)[3])


def test_without_failures_the_ledger_has_no_such_row(plain_case: PlainCase) -> None:
    case = plain_case()
    rows = ledger(
        case, Bank(Arrangement(specify(case.candidates[0]), 1, 1)), life=life_of(10),
        conditions=MILD,
    )  # fmt: skip
    assert not [row for row in rows if row.item == "failures"]


def failure_rows(case: Case, *, parallel: int = 1, **changes: Any) -> dict[float, LedgerRow]:
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    rows = ledger(
        case, Bank(arrangement), life=life_of(10, replaced=changes.pop("replaced", ())),
        conditions=MILD, failures=costs(case, parallel=parallel, **changes),
    )  # fmt: skip
    return {row.year: row for row in rows if row.item == "failures"}


def split(row: LedgerRow) -> tuple[float, dict[str, float]]:
    """What one failure takes, and the parts of it, as the reason tells them."""
    whole, _, sums = row.reason.partition(" = ")
    told = re.findall(r"([+−]?) ?([0-9,]+\.[0-9]{2}) ((?:for|that) [^+−]*)", sums)
    parts = {
        what.strip(): (-1.0 if sign == "−" else 1.0) * float(number.replace(",", ""))
        for sign, number, what in told
    }
    return float(whole.rpartition(" × ")[2].replace(",", "")), parts


RETURNED = "that the warranty returns on average"


def test_the_reason_of_failures_splits_what_one_takes(plain_case: PlainCase) -> None:
    """No inflation, no trend: the pack at 400, the days of its absence at 5, 0.8 x 400 returned."""
    case = covered(
        plain_case,
        terms={"paid_in": "money", "downtime_days": 0.0},
        prices={
            "inflation": 0.0, "pack_price_trend": 0.0, "day_without_power_price": 5.0,
            "hour_without_power_price": 0.0, "own_labour": True,
            "usual_lead_time_days": 10.0, "claim_trouble": 20.0,
        },
    )  # fmt: skip
    rows = failure_rows(case)
    whole, parts = split(rows[1.0])
    freight = 20.0 + dangerous_goods_price(case, specify(case.candidates[0]))
    assert parts == {
        "for the pack": 400.0,
        "for labour, freight and the claim": pytest.approx(freight + 20.0 + 20.0),
        "for time without power until it is replaced": 50.0,
        RETURNED: -320.0,
    }
    assert whole == pytest.approx(sum(parts.values()))
    number = rows[1.0].quantity or 0.0
    assert rows[1.0].amount == pytest.approx(number * whole)


def test_the_warranty_is_named_only_in_years_in_which_it_pays(plain_case: PlainCase) -> None:
    """Five years of cover of two strings: the sixth year has none, the one after a new bank has."""
    case = covered(
        plain_case, terms={"paid_in": "money"}, reliability={"model_gone_after_years": 99.0}
    )
    paid = {year for year, row in failure_rows(case, parallel=2).items() if "warr" in row.reason}
    assert paid == {1.0, 2.0, 3.0, 4.0, 5.0}
    again = replace(life_of(10, replaced=(7.0,)), first_life_years=7.0)
    rows = ledger(
        case, Bank(Arrangement(specify(case.candidates[0]), 1, 2)), life=again,
        conditions=MILD, failures=costs(case, parallel=2, life=7.0),
    )  # fmt: skip
    paid = {row.year for row in rows if row.item == "failures" and RETURNED in row.reason}
    assert paid == {1.0, 2.0, 3.0, 4.0, 5.0, 8.0, 9.0, 10.0}
    assert not [row for row in rows if "of a bank bought anew after a failure" in row.reason]


def test_after_the_term_only_a_bank_bought_after_a_failure_is_covered(
    plain_case: PlainCase,
) -> None:
    """A single pack is a new bank after each failure, with a warranty that begins again."""
    rows = failure_rows(covered(plain_case, terms={"paid_in": "money"}))
    for year, row in rows.items():
        assert RETURNED in row.reason
        assert ("of a bank bought anew after a failure" in row.reason) == (year > 5.0)


def test_a_void_warranty_covers_no_year_and_is_not_named(plain_case: PlainCase) -> None:
    case = covered(plain_case, terms={"operating_min_degc": 12.0, "paid_in": "money"})
    assert costs(case).void
    assert costs(case).covered_years == 0.0
    rows = failure_rows(case, parallel=2)
    assert not [row for row in rows.values() if "warranty" in row.reason or "claim" in row.reason]
    assert all(row.amount > 0.0 for row in rows.values())


def test_parts_of_the_cost_add_up(plain_case: PlainCase) -> None:
    case = covered(
        plain_case, reliability={"model_gone_after_years": 3.0}, prices={"tax_rate": 0.19}
    )
    rows = failure_rows(case, parallel=3)
    for year, row in rows.items():
        whole, parts = split(row)
        assert sum(parts.values()) == pytest.approx(whole, abs=0.021), year
        assert row.amount == pytest.approx((row.quantity or 0.0) * whole, abs=0.01)
    assert "for packs bought, less sound ones sold, with 19 % tax" in rows[9.0].reason
    assert "for the pack, with 19 % tax" in rows[1.0].reason


def test_parts_add_up_in_every_column_that_is_money(plain_case: PlainCase) -> None:
    """Whether a model is gone, and what a claim brings, is told by each part."""
    case = covered(
        plain_case, reliability={"model_gone_after_years": 3.0},
        prices={"day_without_power_price": 7.0},
    )  # fmt: skip
    found = costs(case, parallel=3)
    parts = {part: only(found, part) for part in PARTS}
    for column, name in enumerate(BY_AGE):
        whole = found.by_age[:, column]
        told = [table[:, column] for table in parts.values()]
        if name == "gone" or name.endswith("refund"):
            np.testing.assert_array_equal(told, [whole] * len(PARTS), err_msg=name)
        else:
            np.testing.assert_allclose(np.sum(told, axis=0), whole, rtol=1e-12, err_msg=name)
    assert (found.by_age[:, BY_AGE.index("one_outage")] > 0.0).all()
