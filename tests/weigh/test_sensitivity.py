"""Tornado and global indices of real costs."""

import pytest

from tco.compare import Comparison
from tco.weigh.sensitivity import FACTORS, WORDS, central_costs, global_indices, tornado


def test_every_factor_has_a_word() -> None:
    assert set(WORDS) == set(FACTORS)


def test_the_centre_of_the_tornado_is_the_ledgers_total(comparison: Comparison) -> None:
    """0.5 %: what years between simulated levels of health may err by."""
    found = central_costs(comparison, comparison.results)
    for cost, result in zip(found, comparison.results, strict=True):
        assert cost == pytest.approx(result.measures.total_cost, rel=0.005)


def test_bars_reach_to_either_side_the_widest_first(comparison: Comparison) -> None:
    results = comparison.results[:2]
    centres = central_costs(comparison, results)
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
        # 512 base samples: estimates err by some hundredths
        assert row.first_order <= row.total + 0.05, row.of
        assert -0.05 < row.total < 1.05, row.of
    assert 0.7 < sum(row.first_order for row in rows) < 1.1
    assert 0.9 < sum(row.total for row in rows) < 1.5


def test_the_same_again_with_the_same_seed_only(comparison: Comparison) -> None:
    left = comparison.results[0]
    assert global_indices(comparison, left) == global_indices(comparison, left)
    assert global_indices(comparison, left) != global_indices(comparison, left, seed=2)
