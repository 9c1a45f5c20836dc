"""What a warranty pays: by age, by use, by condition, by luck; and its last day."""

import datetime
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.case import Case, specify
from tco.case.evidence import WarrantyTerms
from tco.money.warranty import (
    Conditions,
    broken_conditions,
    claim_cost,
    covered_years,
    drawn_recovery,
    expected_recovery,
    last_day,
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
        ({"commercial_use_covered": False}, Conditions(commercial_use=True), "commercial use"),
        ({"operating_min_degc": 0}, Conditions(coldest_operating_degc=-8.0), "as cold as -8 degC"),
        ({"operating_max_degc": 45}, Conditions(hottest_operating_degc=51.0), "as hot as 51 degC"),
        ({"storage_min_degc": -10}, Conditions(coldest_storage_degc=-15.0), "(storage)"),
        ({"storage_max_degc": 30}, Conditions(hottest_storage_degc=35.0), "30 degC or less"),
    ],
)
def test_a_broken_condition_pays_nothing_and_says_why(
    condition: dict[str, Any], use: Conditions, said: str
) -> None:
    (reason,) = broken_conditions(terms(**condition), use)
    assert said in reason
    assert share(terms(**condition), [0.0, 1.0], use=use).tolist() == [0.0, 0.0]
    assert broken_conditions(terms(), use) == ()
    assert share(terms(), 1.0, use=use) == 1.0
    assert broken_conditions(terms(**condition), Conditions()) == ()


def test_recovery_pays_the_freight_where_the_buyer_does() -> None:
    by_buyer, by_maker = terms(honoured_probability=0.5), terms(freight_paid_by="maker")
    assert claim_cost(by_buyer) == 60.0
    assert claim_cost(by_maker) == 0.0
    assert expected_recovery(by_buyer, 0.8, price=500.0) == pytest.approx(0.5 * 400.0 - 60.0)
    assert expected_recovery(by_maker, 0.8, price=500.0) == pytest.approx(0.7 * 400.0)
    assert expected_recovery(by_buyer, 0.8, price=500.0, friction=40.0) == pytest.approx(100.0)


def test_nobody_claims_at_a_loss() -> None:
    assert expected_recovery(terms(), [0.0, 0.1], price=500.0).tolist() == [0.0, 0.0]
    assert drawn_recovery(terms(), 0.1, price=500.0, u=0.0) == 0.0


def test_drawn_claims_average_to_the_expected_one() -> None:
    u = (np.arange(1000) + 0.5) / 1000
    drawn = drawn_recovery(terms(), 0.8, price=500.0, u=u)
    assert set(np.round(drawn, 9)) == {340.0, -60.0}
    expected = expected_recovery(terms(), 0.8, price=500.0)
    assert float(np.mean(drawn)) == pytest.approx(expected, rel=1e-12)


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


# Regulation (EEC, Euratom) 1182/71, article 3(2)(c), from memory: the same date, or the last day
# of a month that does not have it.
@pytest.mark.parametrize(
    ("bought", "years", "last"),
    [
        ((2024, 5, 17), 2.0, (2026, 5, 17)),
        ((2024, 2, 29), 1.0, (2025, 2, 28)),
        ((2024, 2, 29), 4.0, (2028, 2, 29)),
        ((2024, 8, 31), 1.5, (2026, 2, 28)),
        ((2024, 12, 1), 1.0 / 12.0, (2025, 1, 1)),
        ((2024, 12, 1), 0.0, (2024, 12, 1)),
    ],
)
def test_last_day(bought: tuple[int, ...], years: float, last: tuple[int, ...]) -> None:
    assert last_day(datetime.date(*bought), years) == datetime.date(*last)


def test_last_day_out_of_range() -> None:
    with pytest.raises(ValueError, match="cannot be counted"):
        last_day(datetime.date(2024, 1, 1), -1.0)
