"""Break-even: roots of known functions, and of a real difference checked from outside."""

from collections.abc import Callable
from itertools import pairwise
from math import sin

import pytest

from tco.case import Case
from tco.compare import Comparison, compare
from tco.weighing.breakeven import BreakEven, break_even, break_evens
from tco.weighing.drivers import (
    Driver,
    drivers,
    failure_rate,
    frozen_classes,
    how_often,
    place,
    use,
)

A, B = "1 × Cheap 100 (1S1P)", "2 × Premium 100 (1S2P)"


class Known:
    """Stands in for a Repricing: the difference is a known function of the driver's value."""

    def __init__(self, function: Callable[[float], float]) -> None:
        self.function = function

    def difference(self, case: float) -> float:
        return self.function(case)


def on(
    comparison: Comparison,
    function: Callable[[float], float],
    *,
    now: float = 5.0,
    low: float = 0.0,
    high: float = 10.0,
    whole: bool = False,
) -> BreakEven:
    driver = Driver(
        "thing", "unit", low, high, now,
        turn=lambda case, value: value,
        words=lambda value: f"{value:.1f}",
        clause=lambda value, above: f"the thing {'rises' if above else 'falls'} past {value:.1f}",
        whole=whole,
    )  # fmt: skip
    left, right = comparison.result(A), comparison.result(B)
    return break_even(comparison.case, left, right, driver, repricing=Known(function))


def test_a_line_crosses_where_it_does(comparison: Comparison) -> None:
    row = on(comparison, lambda x: x - 7.3)  # left less right: left cheaper below
    assert row.at == pytest.approx(7.3, abs=0.01)
    assert row.crossings == (row.at,)
    assert (row.cheaper_below, row.cheaper_above) == (A, B)
    assert row.sentence == (
        f"{A} stays ahead until the thing rises past 7.3 (now 5.0); then {B} is cheaper."
    )


def test_the_other_way_round(comparison: Comparison) -> None:
    row = on(comparison, lambda x: 2.2 - x)
    assert (row.cheaper_below, row.cheaper_above) == (B, A)
    assert row.sentence == (
        f"{A} stays ahead until the thing falls past 2.2 (now 5.0); then {B} is cheaper."
    )


def test_of_several_crossings_the_nearest_by_ratio_is_told_and_the_others_named(
    comparison: Comparison,
) -> None:
    # sin crosses at pi, 2 pi, 3 pi; from 5, 2 pi is nearest (ratio 1.26; pi is 1.59)
    row = on(comparison, sin, low=1.0, high=10.0)
    assert row.crossings == pytest.approx((3.1416, 6.2832, 9.4248), abs=0.01)
    assert row.at == pytest.approx(6.2832, abs=0.01)
    assert (row.cheaper_below, row.cheaper_above) == (A, B)
    assert row.sentence.endswith("The lead changes again at 3.1 and 9.4.")


def test_today_is_looked_at_too(comparison: Comparison) -> None:
    """A dip between two points of the grid is found where today's value lies in it."""
    row = on(comparison, lambda x: abs(x - 5.6) - 0.2, now=5.6)
    assert row.crossings == pytest.approx((5.4, 5.8), abs=0.01)


@pytest.mark.parametrize(("sign", "ahead"), [(-1.0, A), (1.0, B)])
def test_none_in_the_range_is_said_plainly(comparison: Comparison, sign: float, ahead: str) -> None:
    row = on(comparison, lambda x: sign * (1.0 + x))
    assert row.at is None
    assert row.crossings == ()
    assert row.cheaper_below == row.cheaper_above == ahead
    assert row.sentence == (
        f"No break-even on thing: {ahead} is cheaper all the way from 0.0 to 10.0."
    )


def test_equal_everywhere_is_no_lead(comparison: Comparison) -> None:
    row = on(comparison, lambda x: 0.001)
    assert row.at is None
    assert row.sentence == f"{A} and {B} cost the same at every value of thing."


def test_a_crossing_at_the_very_end_of_the_range_counts(comparison: Comparison) -> None:
    assert on(comparison, lambda x: x - 9.999).at == pytest.approx(9.999, abs=0.01)
    assert on(comparison, lambda x: x - 10.001).at is None


@pytest.mark.parametrize(
    ("turn", "now", "ahead", "told"),
    [
        (8.4, 5.0, A, "unless the thing rises past 9.0"),  # at 9 the other one leads
        (8.4, 10.0, B, "unless the thing falls past 8.0"),
        (8.0, 8.0, A, "unless the thing rises past 9.0"),  # a tie at 8 is the left side's still
    ],
)
def test_whole_numbers(
    comparison: Comparison, turn: float, now: float, ahead: str, told: str
) -> None:
    seen = []

    def gap(x: float) -> float:
        seen.append(x)
        return x - turn

    row = on(comparison, gap, now=now, low=1.0, high=25.0, whole=True)
    assert row.at == 9.0
    assert all(x == round(x) for x in seen)
    assert row.sentence.startswith(f"{ahead} stays ahead {told}")


@pytest.mark.parametrize(
    ("turn", "now", "ahead", "told", "at"),
    [
        # today is 7.5 years; the lead changes at `turn` (left cheaper below it)
        (7.2, 7.5, B, "unless the thing falls past 7.0", 7.5),
        (7.7, 7.5, A, "unless the thing rises past 8.0", 8.0),
        (6.4, 7.5, B, "unless the thing falls past 6.0", 7.0),
        (9.4, 7.5, A, "unless the thing rises past 10.0", 10.0),
    ],
)
def test_whole_numbers_around_a_value_that_is_none(
    comparison: Comparison, turn: float, now: float, ahead: str, told: str, at: float
) -> None:
    seen = []

    def gap(x: float) -> float:
        seen.append(x)
        return x - turn

    row = on(comparison, gap, now=now, low=1.0, high=25.0, whole=True)
    assert all(x in (round(x), now) for x in seen)
    assert row.sentence.startswith(f"{ahead} stays ahead {told} (now 7.5)")
    assert row.at == at


@pytest.mark.parametrize("turn", [3.2, 4.0, 8.4, 17.6])
@pytest.mark.parametrize("now", [2.0, 7.5, 10.0, 24.0])
def test_what_is_told_of_whole_numbers_is_where_the_other_one_leads(
    comparison: Comparison, turn: float, now: float
) -> None:
    """The value told has the other one ahead, and its neighbour towards today has not."""
    row = on(comparison, lambda x: x - turn, now=now, low=1.0, high=25.0, whole=True)
    ahead_now = A if now <= turn else B
    toward = row.told - 1.0 if row.told > now else row.told + 1.0
    assert (A if row.told <= turn else B) != ahead_now
    assert (A if toward <= turn else B) == ahead_now
    assert f"past {row.told:.1f}" in row.sentence
    assert row.told_words == f"{row.told:.1f} or {'more' if row.told > now else 'less'}"


def test_a_horizon_within_a_year_is_told_and_priced_as_it_is(two_packs) -> None:
    case = two_packs(assumptions={"horizon_years": 7.5, "max_packs": 2})
    results = compare(case).results
    driver = next(k for k in drivers(case, results[0], results[1]) if k.of == "years of use")
    assert driver.words(driver.now) == "7.5 years"
    assert driver.words(1.0) == "1 year"
    assert driver.turn(case, driver.now).assumptions.horizon_years == 7.5
    row = break_even(case, results[0], results[1], driver)
    if row.at is not None:
        assert "(now 7.5 years)" in row.sentence


def test_a_range_of_ratios_is_looked_at_in_ratios() -> None:
    driver = ratio_driver(0.001, 10.0, 0.1)
    assert driver.steps(5) == pytest.approx([0.001, 0.01, 0.1, 1.0, 10.0])
    # today's value keeps its place among them, and both sides get their share
    steps = ratio_driver(0.001, 10.0, 0.05).steps(7)
    assert 0.05 in steps
    assert len(steps) == 7
    ratios = [b / a for a, b in pairwise(steps)]
    assert max(ratios) / min(ratios) < 1.6


def ratio_driver(low: float, high: float, now: float, **more: bool) -> Driver:
    return Driver(
        "thing", "unit", low, high, now, lambda case, value: case, str, lambda value, above: "",
        **({"by_ratio": True} | more),
    )  # fmt: skip


@pytest.mark.parametrize("now", [0.0, 0.01, 3.0, 9.99, 10.0])
@pytest.mark.parametrize("number", [2, 3, 7, 9])
def test_both_ends_and_today_are_always_looked_at(now: float, number: int) -> None:
    steps = ratio_driver(0.0, 10.0, now, by_ratio=False).steps(number)
    assert {0.0, now, 10.0} <= set(steps)
    assert steps == sorted(steps)
    inside = 0.0 < now < 10.0
    assert len(steps) == max(number, 3 if inside else 2)


def test_places_in_a_range() -> None:
    assert place(0.1, 0.001, 10.0, by_ratio=True) == pytest.approx(0.5)
    assert place(2.5, 0.0, 10.0, by_ratio=False) == 0.25
    for ratio in (True, False):
        assert place(0.001, 0.001, 10.0, by_ratio=ratio) == 0.0
        assert place(10.0, 0.001, 10.0, by_ratio=ratio) == pytest.approx(1.0)


def test_a_pack_said_never_to_fail_is_weighed_all_the_same(two_packs) -> None:
    rate = {"candidate": "Cheap 100", "rate_per_pack_year": 0.0}
    case = two_packs(reliability={"stated_rates": [rate]})
    comparison = compare(case)
    left, right = comparison.result(A), comparison.result(B)
    row = break_even(case, left, right, failure_rate(left))
    assert "never" in row.sentence or "never" in row.range_in_words


def test_a_real_crossing_is_one_for_compare_too(comparison: Comparison) -> None:
    """Premium against cheap over the premium's price: the whole tool on both sides of the root."""
    left, right = comparison.result(A), comparison.result("1 × Premium 100 (1S1P)")
    frozen = frozen_classes(comparison.case, (left, right))
    rows = {row.of: row for row in break_evens(comparison.case, left, right)}
    row = rows["price of Premium 100"]
    assert row.at is not None

    def gap(price: float) -> float:
        changed = [
            c.model_copy(update={"price": price}) if c.name == "Premium 100" else c
            for c in frozen.candidates
        ]
        results = compare(frozen.model_copy(update={"candidates": tuple(changed)}))
        a, b = (results.result(r.arrangement.label) for r in (left, right))
        return a.measures.total_cost - b.measures.total_cost

    assert gap(row.at - 3.0) > 0 > gap(row.at + 3.0)  # left dearer below, cheaper above
    assert (row.cheaper_below, row.cheaper_above) == (right.arrangement.label, A)


def test_all_seven_are_weighed_the_nearest_first(comparison: Comparison) -> None:
    left, right = comparison.result(A), comparison.result("1 × Premium 100 (1S1P)")
    rows = break_evens(comparison.case, left, right)
    assert {row.of for row in rows} == {
        "failures of Cheap 100", "price of Premium 100", "credibility of claims",
        "energy used", "years of use", "a day without power", "discount rate",
    }  # fmt: skip
    crossing = [row.at is not None for row in rows]
    assert crossing == sorted(crossing, reverse=True)
    ratios = [
        max(row.at / row.now, row.now / row.at)
        for row in rows
        if row.at is not None and row.of != "discount rate"
    ]
    assert ratios
    assert ratios == sorted(ratios)


def test_the_failures_that_part_cheap_from_premium(comparison: Comparison) -> None:
    left, right = comparison.result("2 × Cheap 100 (1S2P)"), comparison.result(B)
    rows = {row.of: row for row in break_evens(comparison.case, left, right)}
    row = rows["failures of Cheap 100"]
    assert row.at is not None
    years, bank_years = 1.0 / row.at, 0.5 / row.at
    assert (
        f"until a pack of Cheap 100 fails more than once in {years:.2g} years "
        f"(in a bank of 2, once in {bank_years:.2g} years; now once in"
    ) in row.sentence


def test_rates_in_words() -> None:
    assert how_often(0.01) == "once in 100 years"
    assert how_often(0.4) == "once in 2.5 years"
    assert how_often(0.5) == "once in 2 years"
    assert how_often(1.5) == "1.5 times a year"
    assert how_often(0.0) == "never"


def test_ranges_hold_todays_value_however_odd(two_packs) -> None:
    case: Case = two_packs(
        prices={"day_without_power_price": 5000.0, "discount_rate": -0.02, "currency": "CHF"},
        assumptions={"horizon_years": 40, "credibility": 0.05, "max_packs": 2},
    )
    results = compare(case).results
    for driver in drivers(case, results[0], results[1]):
        assert driver.low <= driver.now <= driver.high, driver.of
        assert driver.low < driver.high, driver.of


def test_a_pack_that_costs_nothing_still_has_a_range_of_prices(two_packs) -> None:
    case = two_packs()
    free = case.candidates[0].model_copy(update={"price": 0.0})
    case = case.model_copy(update={"candidates": (free, *case.candidates[1:])})
    result = next(r for r in compare(case).results if r.arrangement.pack.name == free.name)
    driver = drivers(case, result, result)[1]
    assert driver.low == 0.0
    assert driver.high >= 400.0


@pytest.mark.parametrize("factor", [0.5, 1.0, 2.0, 6.0])
def test_use_scales_energy_even_of_a_load_that_runs_all_day(plain_case, factor: float) -> None:
    case = plain_case(load={"hours_per_day": 20.0, "when": "any time"})
    (load,) = use(case, factor).loads
    assert load.hours_per_day <= 24.0
    assert load.power_w * load.hours_per_day == pytest.approx(factor * 20.0 * 20.0)


def test_use_keeps_the_power_while_hours_are_left(plain_case) -> None:
    (load,) = use(plain_case(), 1.6).loads  # 5 h in the window from 17 to 22 become 8
    assert (load.power_w, load.hours_per_day, load.when) == (20.0, 8.0, "any time")
