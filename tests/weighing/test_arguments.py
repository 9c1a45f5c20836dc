"""The two arguments: which sides, what is said, and that it is what the draws say."""

from dataclasses import replace

import numpy as np
import pytest

import tco.weighing
from tco.compare import Comparison, compare
from tco.weighing.arguments import (
    cheap_or_premium,
    draws_agree,
    one_or_many,
    share_words,
    verdict,
)
from tests.weighing.helpers import pack

CHEAP, PREMIUM = "1 × Cheap 100 (1S1P)", "1 × Premium 100 (1S1P)"


def passing(comparison: Comparison, wanted) -> list:
    return [r for r in comparison.results if r.feasible and wanted(r)]


def test_the_sides_are_the_cheapest_of_either_kind(comparison: Comparison) -> None:
    found = one_or_many(comparison, with_break_even=False)
    one = passing(comparison, lambda r: r.arrangement.packs == 1)
    many = passing(comparison, lambda r: r.arrangement.parallel > 1)
    assert len(one) > 1
    assert len(many) > 1
    assert found.left is min(one, key=lambda r: r.measures.total_cost)
    assert found.right is min(many, key=lambda r: r.measures.total_cost)

    found = cheap_or_premium(comparison, with_break_even=False)
    assert found.left is not None
    assert found.right is not None
    assert found.left.arrangement.label == CHEAP
    assert found.right.arrangement.label == PREMIUM
    assert "class passes" not in found.answer


def test_without_draws_there_is_no_difference_band(comparison: Comparison) -> None:
    found = cheap_or_premium(comparison, with_break_even=False)
    assert found.difference is None
    assert found.differences is None
    assert found.break_even == ()
    gap = comparison.result(PREMIUM).measures.total_cost - comparison.best.measures.total_cost
    assert found.answer == (
        f"Cheap or premium? Cheap: {CHEAP} costs CHF {gap:,.0f} less than {PREMIUM} over 10 years."
    )


@pytest.mark.parametrize("weigh", [one_or_many, cheap_or_premium])
def test_band_and_sentence_come_from_the_same_draws(drawn: Comparison, weigh) -> None:
    found = weigh(drawn, with_break_even=False)
    differences = found.left.costs - found.right.costs
    np.testing.assert_array_equal(found.differences, differences)
    assert found.difference.mean == pytest.approx(
        found.left.risk.band.mean - found.right.risk.band.mean
    )
    assert found.difference.p50 == pytest.approx(np.median(differences))
    # the sides of this case: the left one is better
    share = np.mean(differences < 0)
    assert f"cheaper in {share_words(share)} of them" in found.answer
    assert f"CHF {-found.difference.mean:,.0f} less on average" in found.answer


def shifted(comparison: Comparison, label: str, by: float) -> Comparison:
    """The same with one arrangement's draws dearer by so much, its figures of today unchanged."""
    results = tuple(
        replace(r, costs=r.costs + by) if r.arrangement.label == label else r
        for r in comparison.results
    )
    return replace(comparison, results=results)


def test_where_the_draws_disagree_both_are_said(drawn: Comparison) -> None:
    odd = shifted(drawn, CHEAP, 2000.0)
    left, right = odd.result(CHEAP), odd.result(PREMIUM)
    mean = float((left.costs - right.costs).mean())
    assert mean > 0
    said = verdict(odd, left, right, roles=("Cheap", "Premium"))
    assert said.startswith(f"It depends: {CHEAP} costs CHF ")
    assert "at today's figures, but the draws do not bear that out" in said
    assert f"there it costs CHF {mean:,.0f} more on average" in said
    share = float(np.mean(left.costs < right.costs))
    assert f"cheaper in {share_words(share)} of them" in said
    # the other way round says the same of the same one
    assert verdict(odd, right, left, roles=("Premium", "Cheap")) == said


def test_break_evens_own_up_to_today_where_the_draws_disagree(drawn: Comparison) -> None:
    odd = shifted(drawn, CHEAP, 2000.0)
    found = cheap_or_premium(odd)
    sentence = found.break_even[0].sentence
    assert found.answer.endswith(f"At today's figures, {sentence}")
    assert "At today's figures" not in cheap_or_premium(drawn).answer


def test_agreement_is_of_mean_and_of_most_draws(drawn: Comparison) -> None:
    left, right = drawn.result(CHEAP), drawn.result(PREMIUM)
    assert draws_agree(left, right)
    assert draws_agree(right, left)
    ones = np.ones(10)

    def with_costs(costs: np.ndarray) -> bool:
        return draws_agree(replace(left, costs=costs), replace(right, costs=10.0 * ones))

    assert with_costs(9.0 * ones)
    assert not with_costs(11.0 * ones)
    # dearer in most draws, though cheaper on average, and the other way round
    assert not with_costs(np.array([11.0] * 9 + [-100.0]))
    assert not with_costs(np.array([9.0] * 9 + [100.0]))


def test_either_side_may_win(drawn: Comparison) -> None:
    left, right = drawn.result(CHEAP), drawn.result(PREMIUM)
    assert verdict(drawn, left, right, roles=("a", "b")).startswith(f"a: {CHEAP} costs")
    assert verdict(drawn, right, left, roles=("a", "b")).startswith(f"b: {CHEAP} costs")


def test_a_difference_within_its_own_error_is_not_told_as_one(drawn: Comparison) -> None:
    left, right = drawn.result(CHEAP), drawn.result(PREMIUM)
    gap = float((right.costs - left.costs).mean())
    near = shifted(drawn, CHEAP, gap - 0.01)
    assert verdict(near, near.result(CHEAP), right).endswith(
        "The draws do not tell the two apart: the average is within its own error."
    )
    assert "tell the two apart" not in verdict(drawn, left, right)


def test_one_draw(drawn: Comparison) -> None:
    results = tuple(replace(r, costs=r.costs[:1]) for r in drawn.results)
    said = verdict(drawn, results[0], results[1])
    assert said.endswith(" in one draw.")
    assert "%" not in said


def test_equal_costs_are_equal(comparison: Comparison) -> None:
    left = comparison.result(CHEAP)
    right = replace(left, bank=comparison.result(PREMIUM).bank)
    assert verdict(comparison, left, right) == (
        f"{CHEAP} and {PREMIUM} cost the same over 10 years."
    )


def test_one_year_is_one_year(two_packs) -> None:
    found = cheap_or_premium(compare(two_packs(assumptions={"horizon_years": 1})))
    assert "over 1 year." in found.answer


def test_nothing_passes(two_packs) -> None:
    none = compare(two_packs(system={"mass_limit_kg": 1.0}), draws=20)
    assert none.results
    assert none.best is None
    for weigh in (one_or_many, cheap_or_premium):
        found = weigh(none)
        assert (found.left, found.right, found.difference) == (None, None, None)
        assert (found.break_even, found.rows) == ((), ())
        assert found.answer.endswith("There is nothing to weigh: no arrangement passes.")


def test_no_candidates(two_packs) -> None:
    found = one_or_many(compare(two_packs(candidates=[]), draws=20))
    assert (found.left, found.right) == (None, None)


def test_one_candidate_in_one_arrangement(two_packs) -> None:
    case = two_packs(candidates=[pack("Only 100", 400.0)], assumptions={"max_packs": 1})
    only = compare(case, draws=20)
    found = one_or_many(only)
    assert found.left is only.best
    assert found.right is None
    assert "no bank of several strings passes. On the other side, 1 × Only 100" in found.answer
    found = cheap_or_premium(only)
    assert found.difference is None
    assert "nothing to weigh: no cheap pack and no premium pack passes." in found.answer


def test_one_candidate_in_two_arrangements_is_one_against_many_of_the_same(two_packs) -> None:
    case = two_packs(
        candidates=[pack("Only 100", 400.0)],
        assumptions={"max_packs": 2, "largest_bank_over_need": 20.0},
    )
    found = one_or_many(compare(case, draws=50))
    assert found.left.arrangement.label == "1 × Only 100 (1S1P)"
    assert found.right.arrangement.label == "2 × Only 100 (1S2P)"
    assert len(found.break_even) == 7


def test_without_a_single_pack_a_single_string_stands_for_one(two_packs) -> None:
    case = two_packs(
        system={"nominal_voltage_v": 24},
        assumptions={"max_packs": 4, "largest_bank_over_need": 20.0},
    )
    found = one_or_many(compare(case), with_break_even=False)
    assert (found.left.arrangement.series, found.left.arrangement.parallel) == (2, 1)
    assert found.right.arrangement.parallel == 2
    assert "? One string: 2 ×" in found.answer


def test_without_classes_the_halves_by_price_stand_for_them(two_packs) -> None:
    """Three packs near in price are all middling; and the answer owns up."""
    case = two_packs(
        candidates=[pack("A", 400.0), pack("B", 410.0), pack("C", 420.0)],
        assumptions={"max_packs": 2, "largest_bank_over_need": 20.0},
    )
    comparison = compare(case)
    assert {r.failures.knowledge.price_class for r in comparison.results} == {"middling"}
    found = cheap_or_premium(comparison, with_break_even=False)
    assert found.left.arrangement.pack.name == "A"
    assert found.right.arrangement.pack.name in ("B", "C")
    assert found.note.startswith("No pack of the cheap or the premium class passes, so the cheaper")
    assert found.answer == f"{found.opening} {found.note}"


def test_two_packs_of_which_the_cheaper_has_most_arrangements(two_packs) -> None:
    """The halves are of packs, not of arrangements: a median over these would be A's own price."""
    case = two_packs(
        candidates=[pack("A", 400.0), pack("B", 410.0, max_parallel=1)],
        assumptions={"max_packs": 4, "largest_bank_over_need": 20.0},
    )
    found = cheap_or_premium(compare(case), with_break_even=False)
    assert found.left.arrangement.pack.name == "A"
    assert found.right.arrangement.pack.name == "B"


def test_the_nearest_break_even_ends_the_answer(drawn: Comparison) -> None:
    found = cheap_or_premium(drawn)
    assert found.answer_tells_first
    assert found.answer.endswith(found.break_even[0].sentence)


def test_each_argument_is_one_call_from_the_package(drawn: Comparison) -> None:
    assert tco.weighing.one_or_many(drawn).answer == one_or_many(drawn).answer
    assert tco.weighing.cheap_or_premium(drawn).answer == cheap_or_premium(drawn).answer
    assert sorted(tco.weighing.__all__) == tco.weighing.__all__
    assert all(hasattr(tco.weighing, name) for name in tco.weighing.__all__)


def test_the_answer_is_its_parts(drawn: Comparison) -> None:
    found = cheap_or_premium(drawn)
    assert found.note == ""
    assert found.answer == f"{found.opening} {found.break_even[0].sentence}"


def test_the_table_has_words_for_both_sides(comparison: Comparison) -> None:
    rows = {row.what: row for row in one_or_many(comparison, with_break_even=False).rows}
    assert rows["power left with one pack dead"].left == "0%"
    assert rows["power left with one pack dead"].right == "50%"
    assert rows["total cost"].left == f"CHF {comparison.best.measures.total_cost:,.0f}"
    assert all(row.left and row.right for row in rows.values())


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "0%"), (0.004, "under 1%"), (0.5, "50%"), (0.994, "over 99%"), (1.0, "100%")],
)
def test_a_share_is_never_rounded_to_certainty(share: float, words: str) -> None:
    assert share_words(share) == words
