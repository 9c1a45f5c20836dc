"""Tornado and global indices of real costs."""

import dataclasses
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tco.compare import Comparison
from tco.money.draw_ledgers import run_draw_ledgers
from tco.result import Result
from tco.weighing.sensitivity import (
    CHANCES,
    FACTORS,
    WORDS,
    _inputs,
    _tornado_rows,
    draws_at,
    global_indices,
    spread_out,
    tornado,
)


def centres_of(comparison: Comparison, results: Sequence[Result]) -> NDArray[np.float64]:
    """Where the tornado's bars begin: total cost with everything at its centre, one a result."""
    inputs, draws = _tornado_rows(comparison, results)
    costs = run_draw_ledgers(inputs, draws, expected_failures=True, drawn_rates=True).total_cost
    return np.asarray(costs[:, 0])


def test_every_factor_has_a_word() -> None:
    assert set(WORDS) == {*FACTORS, *CHANCES}


def test_the_centre_of_the_tornado_is_the_ledgers_total(comparison: Comparison) -> None:
    """0.5 %: what years between simulated levels of health may err by."""
    found = centres_of(comparison, comparison.results)
    for cost, result in zip(found, comparison.results, strict=True):
        assert cost == pytest.approx(result.measures.total_cost, rel=0.005)


def test_bars_reach_to_either_side_the_widest_first(comparison: Comparison) -> None:
    results = comparison.results[:2]
    centres = centres_of(comparison, results)
    for centre, swings, result in zip(centres, tornado(comparison, results), results, strict=True):
        assert {swing.of for swing in swings} == set(FACTORS)
        widths = [swing.width for swing in swings]
        assert widths == sorted(widths, reverse=True)
        by_name = {swing.of: swing for swing in swings}
        for name in ("pack_price", "parts_and_labour", "failure_rate"):
            assert by_name[name].at_low < centre < by_name[name].at_high, name
        assert by_name["resale"].at_low > centre > by_name["resale"].at_high
        rate = by_name["failure_rate"]
        known = result.failures.knowledge.figures()
        assert (rate.low_value, rate.high_value) == pytest.approx((known["p10"], known["p90"]))


def test_the_price_of_the_packs_moves_the_cost_by_what_the_packs_cost(
    comparison: Comparison,
) -> None:
    """5 % more on the first packs, known to the cent: packs x price x the spread's ends."""
    (swings,) = tornado(comparison, comparison.results[:1])
    swing = next(s for s in swings if s.of == "pack_price")
    arrangement = comparison.results[0].arrangement
    spread = comparison.case.spreads.pack_price
    assert (swing.low_value, swing.high_value) == pytest.approx((spread.low, spread.high))
    assert swing.width == pytest.approx(
        arrangement.packs * arrangement.pack.price * (spread.high - spread.low), rel=1e-6
    )


@pytest.mark.parametrize("of_difference", [False, True])
def test_shares_of_the_variance_make_sense(comparison: Comparison, of_difference: bool) -> None:
    left, right = comparison.results[0], comparison.result("1 × Premium 100 (1S1P)")
    rows = global_indices(comparison, left, right if of_difference else None)
    assert [row.of for row in rows] == [row.of for row in sorted(rows, key=lambda row: -row.total)]
    for row in rows:
        # 1,024 base samples of what happens or does not: estimates err by some hundredths
        assert row.first_order <= row.total + 0.05, row.of
        assert -0.05 < row.total < 1.05, row.of
    # a failure happens or not, at a rate that is believed high or low: the two act together
    assert 0.45 < sum(row.first_order for row in rows) < 1.0
    assert 1.0 < sum(row.total for row in rows) < 2.0
    assert {row.of for row in rows[:2]} == {"failure_events", "failure_rate"}


def test_the_index_of_what_happens_is_the_variance_it_leaves(comparison: Comparison) -> None:
    """Total index of failures that happen: the variance left when all else is known, by brute
    force. Pairs of draws that differ in the events alone; half their mean square difference."""
    result, case = comparison.results[0], comparison.case
    names, rng = (*FACTORS, *CHANCES), np.random.default_rng(2)
    u = np.clip(rng.random((20_000, len(names))), 1e-6, 1.0 - 1e-6)
    other = u.copy()
    other[:, names.index("failure_events")] = rng.random(len(u))
    inputs = _inputs(comparison, [result])
    first, second = (
        run_draw_ledgers(inputs, draws_at(case, 1, x)).total_cost[0] for x in (u, other)
    )
    wanted = ((first - second) ** 2).mean() / 2.0 / first.var()
    found = {row.of: row.total for row in global_indices(comparison, result)}
    assert found["failure_events"] == pytest.approx(wanted, abs=0.12)
    assert wanted > 0.5


def test_each_number_moves_its_own_draws_alone(comparison: Comparison) -> None:
    names = (*FACTORS, *CHANCES)
    base = draws_at(comparison.case, 3, np.full((1, len(names)), 0.3))
    moved_by = {
        "failure_rate": {"failure_u"}, "batch": {"batch_u"}, "pack_luck": {"luck"},
        "failure_events": {"event_u", "event_shift"}, "claims": {"claim_u"},
        "weather": {"weather"}, "pack_price": {"common"},
    }  # fmt: skip
    for name, fields in moved_by.items():
        u = np.full((1, len(names)), 0.3)
        u[0, names.index(name)] = 0.7
        turned = draws_at(comparison.case, 3, u)
        differing = {
            field.name
            for field in dataclasses.fields(base)
            if not np.array_equal(getattr(base, field.name), getattr(turned, field.name))
        }
        assert differing == fields, name


def test_one_number_is_spread_into_unrelated_ones() -> None:
    u = (np.arange(4096) + 0.5) / 4096
    many = spread_out(u, 6)
    assert np.array_equal(many, spread_out(u, 6))
    assert many.min() > 0.0
    assert many.max() < 1.0
    for column in many.T:
        assert stats.kstest(column, "uniform").pvalue > 1e-3
    correlation = np.corrcoef(np.column_stack([u, many]).T) - np.eye(7)
    assert np.abs(correlation).max() < 5.0 / 4096**0.5


def test_the_same_again_with_the_same_seed_only(comparison: Comparison) -> None:
    left = comparison.results[0]
    assert global_indices(comparison, left) == global_indices(comparison, left)
    assert global_indices(comparison, left) != global_indices(comparison, left, seed=2)
