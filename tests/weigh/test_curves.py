"""Curves over use and years, and maps of two quantities."""

from pathlib import Path

import numpy as np
import pytest

from tco import read_case
from tco.compare import Comparison, compare
from tco.weigh.breakeven import ranked
from tco.weigh.curves import (
    HORIZONS,
    USE_FACTORS,
    horizon_curve,
    most_telling_map,
    two_way,
    use_curve,
)
from tco.weigh.knobs import Knob, frozen_classes, knobs, use
from tco.weigh.weighing import Weighing

DEMO = Path(__file__).resolve().parents[2] / "candidates_demo"


def knob(comparison: Comparison, of: str) -> Knob:
    left, right = comparison.results[:2]
    return next(k for k in knobs(comparison.case, left, right) if k.of == of)


@pytest.fixture(scope="module")
def weekends() -> Comparison:
    """The demo case that is used on weekends, so that one can use it more."""
    return compare(read_case(DEMO / "coldharbour.toml"))


def test_a_kwh_gets_cheaper_with_use_until_the_bank_is_too_small(weekends: Comparison) -> None:
    best = weekends.best
    points = use_curve(weekends, [best], knob(weekends, "energy used"))
    assert [point.x for point in points] == list(USE_FACTORS)
    energy = [point.kwh_per_year for point in points]
    assert energy == sorted(energy)
    enough = [point for point in points if point.hours_without_power == 0.0]
    assert len(enough) >= 4
    prices = [point.cost_per_kwh for point in enough]
    assert prices == sorted(prices, reverse=True)
    # half as much again of a cost that is mostly bought once: nearly in inverse proportion
    first, last = enough[0], enough[-1]
    assert last.cost_per_kwh / first.cost_per_kwh < 1.3 * first.kwh_per_year / last.kwh_per_year


def test_past_what_the_bank_holds_days_without_power_make_a_kwh_dearer(plain_case) -> None:
    case = plain_case(
        load={"power_w": 40.0, "hours_per_day": 5.0},
        assumptions={"autonomy_days": 1.0, "credibility": 1.0},
    )
    comparison = compare(case)
    result = comparison.results[0]
    energy = next(k for k in knobs(case, result, result) if k.of == "energy used")
    points = use_curve(comparison, [result], energy)
    least = min(points, key=lambda point: point.cost_per_kwh)
    assert points[0].x < least.x < points[-1].x
    assert points[-1].hours_without_power > least.hours_without_power
    assert points[-1].cost_per_kwh > least.cost_per_kwh


def test_points_are_what_compare_says(comparison: Comparison) -> None:
    results = comparison.results[:2]
    points = use_curve(comparison, results, knob(comparison, "energy used"))
    frozen = frozen_classes(comparison.case, tuple(results))
    labels = [r.arrangement.label for r in results]
    whole = compare(use(frozen, 0.6), only=labels)
    for label in labels:
        (point,) = [p for p in points if p.label == label and p.x == 0.6]
        assert point.total_cost == whole.result(label).measures.total_cost
        assert point.cost_per_kwh == whole.result(label).measures.cost_per_kwh


def test_a_year_gets_cheaper_the_longer_it_is_kept_until_it_is_replaced(
    comparison: Comparison,
) -> None:
    best = comparison.best
    points = horizon_curve(comparison, [best], knob(comparison, "years of use"))
    assert [point.x for point in points] == list(HORIZONS)
    at = {point.x: point for point in points}
    life = best.life.first_life_years
    within = [at[float(h)].annual_cost for h in HORIZONS if h < life]
    assert len(within) > 3
    assert within == sorted(within, reverse=True)
    assert at[10.0].total_cost == best.measures.total_cost  # the case's own ten years
    totals = [point.total_cost for point in points]
    assert totals == sorted(totals)


def test_a_map_has_the_difference_at_every_corner(comparison: Comparison) -> None:
    left, right = comparison.results[0], comparison.result("1 × Premium 100 (1S1P)")
    known = {k.of: k for k in knobs(comparison.case, left, right)}
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
    gaps = np.array([gap for _, _, gap in found.points]).reshape(4, 4)
    assert (np.diff(gaps, axis=1) < 0).all()  # the dearer the premium pack, the less left is behind


def test_the_map_that_tells_most_is_over_the_two_nearest_break_evens(
    comparison: Comparison,
) -> None:
    left, right = comparison.results[0], comparison.result("1 × Premium 100 (1S1P)")
    found = most_telling_map(comparison, left, right, steps=3)
    first, second = ranked(comparison.case, left, right)[:2]
    assert first[1].at is not None
    assert second[1].at is not None
    assert (found.x.of, found.y.of) == (first[0].of, second[0].of)
    assert {gap > 0 for _, _, gap in found.points} == {True, False}  # the lead changes on it


def test_without_two_break_evens_the_widest_swings_are_mapped(two_packs) -> None:
    comparison = compare(two_packs())
    left = comparison.best
    right = max(comparison.results, key=lambda r: r.measures.total_cost)
    rows = ranked(comparison.case, left, right)
    crossing = [k.of for k, row in rows if row.at is not None]
    assert len(crossing) < 2
    frozen = frozen_classes(comparison.case, (left, right))
    weighing = Weighing(left, right)
    swings = {
        k.of: abs(
            weighing.difference(k.turn(frozen, k.high)) - weighing.difference(k.turn(frozen, k.low))
        )
        for k, _ in rows
        if k.of not in crossing
    }
    widest = sorted(swings, key=lambda of: -swings[of])
    found = most_telling_map(comparison, left, right, steps=2)
    assert [found.x.of, found.y.of] == [*crossing, *widest][:2]
