"""What a warranty pays, by age, use and condition, and the cheapest way to meet a failure."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.case import Case, specify
from tco.case.evidence import WarrantyTerms
from tco.money.warranty import (
    NO_CLAIM,
    ON_TOP,
    WAITED_FOR,
    WarrantyUse,
    broken_conditions,
    cheapest_way,
    claim_cost,
    covered_years,
    payout_share,
    throughput_limit_kwh,
    warranty_of,
)


def terms(**changes: Any) -> WarrantyTerms:
    data = {"candidate": "Fell", "term_years": 5.0, "return_freight_price": 60.0}
    return WarrantyTerms.model_validate(data | changes)


def share(of: WarrantyTerms, age: Any, **more: Any) -> Any:
    return payout_share(of, age, nominal_energy_kwh=2.5, **more)


def test_full_value_to_the_last_day_without_proration() -> None:
    assert share(terms(), [0.0, 2.0, 5.0, 5.001]).tolist() == [1.0, 1.0, 1.0, 0.0]


def test_proration_is_a_straight_line_to_nothing() -> None:
    found = share(terms(prorated_after_years=1.0), [0.0, 1.0, 2.0, 3.0, 5.0, 6.0])
    np.testing.assert_allclose(found, [1.0, 1.0, 0.75, 0.5, 0.0, 0.0])


def test_proration_from_the_start_and_from_the_end() -> None:
    assert share(terms(prorated_after_years=0.0), 2.5) == pytest.approx(0.5)
    assert share(terms(prorated_after_years=5.0), 5.0) == 1.0


def test_no_term_no_payment() -> None:
    assert share(terms(term_years=0.0), 0.0) == 0.0


def test_throughput_ends_it() -> None:
    limited = terms(throughput_kwh=2000.0, cycles=1000.0)
    assert throughput_limit_kwh(limited, 2.5) == 2000.0
    assert throughput_limit_kwh(limited, 1.5) == 1500.0
    assert throughput_limit_kwh(terms(), 2.5) == np.inf
    used = np.array([0.0, 2000.0, 2000.1])
    assert share(limited, 1.0, throughput_kwh=used).tolist() == [1.0, 1.0, 0.0]


def test_cover_ends_by_term_or_by_use() -> None:
    found = covered_years(
        terms(throughput_kwh=2000.0), nominal_energy_kwh=2.5, kwh_per_year=[0.0, 400.0, 1000.0]
    )
    assert found.tolist() == [5.0, 5.0, 2.0]


@given(
    ages=st.lists(st.floats(0.0, 15.0), min_size=2, max_size=8),
    term=st.floats(0.1, 12.0),
    start=st.floats(0.0, 1.0),
)
def test_payment_only_falls_with_age(ages: list[float], term: float, start: float) -> None:
    of = terms(term_years=term, prorated_after_years=start * term)
    found = share(of, sorted(ages))
    assert np.all(np.diff(found) <= 0.0)
    assert np.all((found >= 0.0) & (found <= 1.0))
    assert [share(of, age) for age in sorted(ages)] == found.tolist()


@pytest.mark.parametrize(
    ("condition", "use", "said"),
    [
        ({"commercial_use_covered": False}, WarrantyUse(commercial_use=True), "commercial use"),
        ({"operating_min_degc": 0}, WarrantyUse(coldest_operating_degc=-8.0), "as cold as -8 degC"),
        ({"operating_max_degc": 45}, WarrantyUse(hottest_operating_degc=51.0), "as hot as 51 degC"),
        (
            {"storage_min_degc": -10},
            WarrantyUse(coldest_storage_degc=-15.0),
            "as cold as -15 degC while laid up",
        ),
        ({"storage_max_degc": 30}, WarrantyUse(hottest_storage_degc=35.0), "30 degC or less"),
    ],
)
def test_a_broken_condition_pays_nothing_and_says_why(
    condition: dict[str, Any], use: WarrantyUse, said: str
) -> None:
    (reason,) = broken_conditions(terms(**condition), use)
    assert said in reason
    assert share(terms(**condition), [0.0, 1.0], use=use).tolist() == [0.0, 0.0]
    assert broken_conditions(terms(), use) == ()
    assert share(terms(), 1.0, use=use) == 1.0
    assert broken_conditions(terms(**condition), WarrantyUse()) == ()


def test_the_owner_pays_the_freight_where_the_maker_does_not() -> None:
    assert claim_cost(terms()) == 60.0
    assert claim_cost(terms(freight_paid_by="maker")) == 0.0


GIVEN: dict[str, Any] = {
    "pack_price": 500.0, "tax": 1.0, "trouble_price": 20.0, "wait_days": 10.0, "day_price": 5.0,
    "spare_value": 0.4, "on_the_shelf": False,
}  # fmt: skip


def met(of: WarrantyTerms, promised: Any = 1.0, **changes: Any) -> Any:
    return cheapest_way(of, promised, **{**GIVEN, **changes})


def total(of: WarrantyTerms, promised: float = 1.0, **changes: Any) -> float:
    """What the failure takes besides the pack, by the way chosen."""
    given, claim = {**GIVEN, **changes}, met(of, promised, **changes)
    claimed = 0.0 if claim.way == NO_CLAIM else claim_cost(of) + given["trouble_price"]
    return float(
        claim.days * given["day_price"]
        + claimed
        - of.honoured_probability * claim.refund * given["pack_price"]
    )


def test_three_ways_by_hand() -> None:
    """Honoured half of the time, 28 days, 60 of freight and 20 of trouble; 10 days to buy one."""
    half = terms(honoured_probability=0.5, downtime_days=28.0)
    # waited for: 80 and 28 + 5 days against 250; on top: 80 and 10 days against 100 of resale
    for day_price, way, days in ((5.0, WAITED_FOR, 33.0), (9.0, ON_TOP, 10.0)):
        found = met(half, day_price=day_price)
        assert (found.way, found.days) == (way, days)
    assert total(half) == pytest.approx(80.0 + 33.0 * 5.0 - 250.0)
    assert total(half, day_price=9.0) == pytest.approx(80.0 + 90.0 - 0.5 * 0.4 * 500.0)
    # money counts in full and is not waited for; a spare on the shelf makes the pack count in full
    assert met(half.model_copy(update={"paid_in": "money"})).way == ON_TOP
    assert total(half.model_copy(update={"paid_in": "money"})) == pytest.approx(80 + 50 - 250)
    assert total(half, on_the_shelf=True, wait_days=1.0) == pytest.approx(80.0 + 5.0 - 250.0)
    # nobody claims at a loss
    found = met(half, 0.1, day_price=9.0)
    assert (found.way, found.refund, found.days) == (NO_CLAIM, 0.0, 10.0)


def test_ways_of_many_ages_are_those_of_each() -> None:
    shares = np.array([1.0, 0.5, 0.2, 0.0])
    together = met(terms(), shares)
    for k, share_ in enumerate(shares.tolist()):
        alone = met(terms(), share_)
        assert (together.way[k], together.refund[k], together.days[k]) == (
            alone.way, alone.refund, alone.days,
        )  # fmt: skip


MONEY = st.floats(0.0, 5000.0)


@given(
    honoured=st.floats(0.0, 1.0),
    downtime=st.floats(0.0, 90.0),
    lead=st.floats(0.0, 60.0),
    day_price=MONEY,
    price=MONEY,
    trouble=st.floats(0.0, 500.0),
    shares=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
    paid_in=st.sampled_from(["pack", "money"]),
    shelf=st.booleans(),
)
def test_better_cover_never_costs_more(
    honoured: float, downtime: float, lead: float, day_price: float, price: float, trouble: float,
    shares: tuple[float, float], paid_in: str, shelf: bool,
) -> None:  # fmt: skip
    """No cover, a smaller share and a larger one: each costs as much as the next or more."""
    of = terms(honoured_probability=honoured, downtime_days=downtime, paid_in=paid_in)
    changes = {
        "wait_days": lead, "day_price": day_price, "pack_price": price, "trouble_price": trouble,
        "on_the_shelf": shelf,
    }  # fmt: skip
    small, large = sorted(shares)
    none, less, more = (total(of, x, **changes) for x in (0.0, small, large))
    slack = 1e-9 * (1.0 + abs(none))
    assert none == pytest.approx(lead * day_price)
    assert more <= less + slack
    assert less <= none + slack
    sooner = of.model_copy(update={"downtime_days": downtime / 2.0})
    assert total(sooner, large, **changes) <= more + slack


def test_terms_take_what_they_do_not_state_from_the_pack(
    plain_case: Callable[..., Case],
) -> None:
    case = plain_case(candidate={"warranty_years": 3.0, "freight_price": 25.0})
    pack = specify(case.candidates[0])
    bare = warranty_of(pack, [terms()])
    assert (bare.candidate, bare.term_years, bare.return_freight_price) == (pack.name, 3.0, 25.0)
    own = terms(candidate=pack.name, honoured_probability=0.4)
    assert warranty_of(pack, [terms(), own]) == own
    half = WarrantyTerms(candidate=pack.name, honoured_probability=0.4)
    assert warranty_of(pack, [half]).term_years == 3.0


def test_terms_without_a_term_are_refused() -> None:
    with pytest.raises(ValueError, match="warranty_of"):
        share(WarrantyTerms(candidate="Fell"), 1.0)


@pytest.mark.parametrize("bad", [{"age": -0.1}, {"age": 1.0, "throughput_kwh": -1.0}])
def test_out_of_range(bad: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="negative"):
        share(terms(), **bad)
