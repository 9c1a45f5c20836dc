"""Curves over use and years, and maps of two quantities."""

from pathlib import Path

import numpy as np
import pytest

from tco import read_case
from tco.compare import Comparison, compare
from tco.weighing.breakeven import ranked
from tco.weighing.curves import (
    DAYS,
    HORIZONS,
    horizon_curve,
    telling_pair,
    two_way,
    use_curve,
)
from tco.weighing.days_present import with_days_present
from tco.weighing.drivers import drivers, frozen_classes
from tco.weighing.repricing import Repricing

DEMO = Path(__file__).resolve().parents[2] / "candidates_demo"


@pytest.fixture(scope="module")
def weekends() -> Comparison:
    """The demo case that is used on weekends, so that one can use it more."""
    return compare(read_case(DEMO / "coldharbour.toml"))


def test_a_kwh_gets_cheaper_from_weekend_user_to_full_timer(weekends: Comparison) -> None:
    best = weekends.best
    points = use_curve(weekends, [best])
    assert [point.x for point in points] == sorted({*DAYS, 50.0})  # 50 days are the case's own
    assert (points[0].x, points[-1].x) == (30.0, 365.0)
    energy = [point.kwh_per_year for point in points]
    assert energy == sorted(energy)
    # what nobody turns stays: twelve times the days make some twelve times the energy
    assert energy[-1] / energy[0] == pytest.approx(365.0 / 30.0, rel=0.15)
    served = [point for point in points if point.hours_without_power < 1.0]
    assert len(served) >= 5
    prices = [point.cost_per_kwh for point in served]
    assert prices == sorted(prices, reverse=True)


def test_the_case_s_own_point_is_its_result(weekends: Comparison) -> None:
    results = weekends.results[:2]
    own = {p.label: p for p in use_curve(weekends, results) if p.todays}
    assert set(own) == {r.arrangement.label for r in results}
    for result in results:
        point = own[result.arrangement.label]
        assert point.x == 50.0
        assert point.total_cost == result.measures.total_cost
        assert point.cost_per_kwh == result.measures.cost_per_kwh
        assert point.used_kwh_per_year == result.year["delivered_wh"] / 1000.0
        assert point.hours_without_power == result.year["hours_without_power"]


def test_both_axes_count_the_same_kwh(weekends: Comparison) -> None:
    """Energy a year times the cost of one is the cost a year, on every point of either curve."""
    points = [
        *use_curve(weekends, weekends.results[:2]),
        *horizon_curve(weekends, weekends.results[:2]),
    ]
    for point in points:
        assert point.kwh_per_year * point.cost_per_kwh == pytest.approx(point.annual_cost)
        assert point.kwh_per_year < point.used_kwh_per_year  # some comes straight from a charger


def test_at_no_discount_it_is_the_mean_of_the_years(two_packs) -> None:
    case = two_packs(prices={"discount_rate": 0.0})
    comparison = compare(case)
    best = comparison.best
    own = next(p for p in horizon_curve(comparison, [best]) if p.todays)
    assert own.kwh_per_year == pytest.approx(np.mean(best.life.yearly["from_bank_wh"]) / 1000.0)


def test_where_the_bank_is_too_small_the_points_say_so(plain_case) -> None:
    case = plain_case(
        load={"power_w": 70.0, "hours_per_day": 5.0},
        use={"days_away_per_month": [26.0] * 12},
        assumptions={"autonomy_days": 1.0, "credibility": 1.0},
    )
    comparison = compare(case)
    result = comparison.results[0]
    points = use_curve(comparison, [result])
    tolerated = case.assumptions.tolerated_hours_without_power
    for point in points:
        assert point.enough == (point.hours_without_power <= tolerated)
    assert points[0].enough
    assert not points[-1].enough
    assert points[-1].hours_without_power > points[0].hours_without_power


def test_points_are_what_compare_says(comparison: Comparison) -> None:
    results = comparison.results[:2]
    points = use_curve(comparison, results)
    frozen = frozen_classes(comparison.case, tuple(results))
    labels = [r.arrangement.label for r in results]
    whole = compare(with_days_present(frozen, 120.0), only=labels)
    for label in labels:
        (point,) = [p for p in points if p.label == label and p.x == 120.0]
        assert point.total_cost == whole.result(label).measures.total_cost
        assert point.cost_per_kwh == whole.result(label).measures.cost_per_kwh


def test_a_year_gets_cheaper_the_longer_it_is_kept_until_it_is_replaced(
    comparison: Comparison,
) -> None:
    best = comparison.best
    points = horizon_curve(comparison, [best])
    assert [point.x for point in points] == list(HORIZONS)
    assert [point.x for point in points if point.todays] == [10.0]
    at = {point.x: point for point in points}
    life = best.life.first_life_years
    within = [at[float(h)].annual_cost for h in HORIZONS if h < life]
    assert len(within) > 3
    assert within == sorted(within, reverse=True)
    assert at[10.0].total_cost == best.measures.total_cost  # the case's own ten years
    totals = [point.total_cost for point in points]
    assert totals == sorted(totals)


def test_a_horizon_that_ends_within_a_year_is_on_the_curve(two_packs) -> None:
    comparison = compare(two_packs(assumptions={"horizon_years": 7.5, "max_packs": 2}))
    best = comparison.best
    (own,) = [p for p in horizon_curve(comparison, [best]) if p.todays]
    assert own.x == 7.5
    assert own.total_cost == best.measures.total_cost


def test_a_map_has_the_difference_at_every_corner(comparison: Comparison) -> None:
    left, right = comparison.results[0], comparison.result("1 × Premium 100 (1S1P)")
    known = {k.of: k for k in drivers(comparison.case, left, right)}
    x, y = known["years of use"], known["price of Premium 100"]
    found = two_way(comparison.case, left, right, x, y, steps=4)
    assert len(found.points) == 16
    frozen = frozen_classes(comparison.case, (left, right))
    labels = [left.arrangement.label, right.arrangement.label]
    for first, second, gap in found.points[::5]:
        assert first == round(first)
        whole = compare(y.turn(x.turn(frozen, first), second), only=labels)
        a, b = (whole.result(label).measures.total_cost for label in labels)
        assert gap == a - b
    # today's own difference is one of them
    (todays,) = [gap for first, second, gap in found.points if (first, second) == (x.now, y.now)]
    assert todays == left.measures.total_cost - right.measures.total_cost
    gaps = np.array([gap for _, _, gap in found.points]).reshape(4, 4)
    assert (np.diff(gaps, axis=1) < 0).all()  # the dearer the premium pack, the less left is behind


def test_the_map_that_tells_most_is_over_the_two_nearest_break_evens(
    comparison: Comparison,
) -> None:
    left, right = comparison.results[0], comparison.result("1 × Premium 100 (1S1P)")
    x, y = telling_pair(comparison.case, left, right)
    found = two_way(comparison.case, left, right, x, y, steps=3)
    first, second = ranked(comparison.case, left, right)[:2]
    assert first[1].at is not None
    assert second[1].at is not None
    assert (found.x.of, found.y.of) == (first[0].of, second[0].of)
    known = ranked(comparison.case, left, right)
    again = telling_pair(comparison.case, left, right, found=known)
    assert [driver.of for driver in again] == [found.x.of, found.y.of]
    assert {gap > 0 for _, _, gap in found.points} == {True, False}  # the lead changes on it


def test_without_two_break_evens_the_widest_swings_are_mapped(two_packs) -> None:
    comparison = compare(two_packs())
    left = comparison.best
    right = max(comparison.results, key=lambda r: r.measures.total_cost)
    rows = ranked(comparison.case, left, right)
    crossing = [k.of for k, row in rows if row.at is not None]
    assert len(crossing) < 2
    frozen = frozen_classes(comparison.case, (left, right))
    repricing = Repricing(left, right)
    swings = {
        k.of: abs(
            repricing.difference(k.turn(frozen, k.high))
            - repricing.difference(k.turn(frozen, k.low))
        )
        for k, _ in rows
        if k.of not in crossing
    }
    widest = sorted(swings, key=lambda of: -swings[of])
    found = telling_pair(comparison.case, left, right)
    assert [driver.of for driver in found] == [*crossing, *widest][:2]
