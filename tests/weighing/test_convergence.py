"""Draws doubled until the standard error is small, or somebody stops it."""

from dataclasses import replace
from math import inf, sqrt

import numpy as np
import pytest

import tco.weighing.convergence as module
from tco.compare import Comparison, compare
from tco.weighing.convergence import convergence, draw_until_settled, judged, next_draws


def error(values: np.ndarray) -> float:
    return float(np.std(values, ddof=1) / sqrt(values.size))


def test_the_errors_are_those_of_the_best_and_of_its_lead(drawn: Comparison) -> None:
    known = convergence(drawn)
    means = sorted((float(r.costs.mean()), r) for r in drawn.results if r.feasible)
    best, second = means[0][1], means[1][1]
    assert known.best == best.arrangement.label
    assert known.draws == 400
    assert known.mean == pytest.approx(best.risk.band.mean)
    assert known.mean_error == pytest.approx(error(best.costs))
    assert known.difference_error == pytest.approx(error(best.costs - second.costs))
    assert known.error == max(known.mean_error, known.difference_error)


def test_the_best_is_that_of_the_draws_not_of_todays_figures(drawn: Comparison) -> None:
    first, *rest = drawn.results
    odd = replace(drawn, results=(replace(first, costs=first.costs + 5000.0), *rest))
    assert convergence(odd).best != first.arrangement.label


def test_without_draws_nothing_is_known(comparison: Comparison) -> None:
    assert convergence(comparison) is None


def test_one_draw_knows_no_error(two_packs) -> None:
    assert convergence(compare(two_packs(), draws=1)).error == inf


def test_draws_double_until_both_errors_are_small(two_packs) -> None:
    case = two_packs()
    found = draw_until_settled(case, share=0.02, start=50, seed=3)
    assert found.reason == "settled"
    assert [step.draws for step in found.steps] == [50 * 2**k for k in range(len(found.steps))]
    assert len(found.steps) > 2
    for step in found.steps[:-1]:
        assert step.error > 0.02 * step.mean
    last = found.last
    assert last.mean_error <= last.target == pytest.approx(0.02 * last.mean)
    assert last.difference_error <= last.target
    # the comparison is the very one that was asked about
    known = convergence(found.comparison)
    assert (known.draws, known.mean, known.error) == (last.draws, last.mean, last.error)
    assert str(found) == (
        f"Settled after {last.draws:,} draws; standard error {last.error:,.1f} "
        f"(wanted: {last.target:,.1f})."
    )


def test_a_round_is_judged_by_itself_as_among_others(two_packs) -> None:
    """One round at a time, as a screen does it, ends where `draw_until_settled` ends."""
    case = two_packs()
    found = draw_until_settled(case, share=0.02, start=50, seed=3)
    steps = [judged(compare(case, draws=50, seed=3), share=0.02)]
    while steps[-1].reason is None:
        steps.append(judged(compare(case, draws=next_draws(steps[-1]), seed=3), share=0.02))
    assert tuple(steps) == found.steps


def test_the_most_draws_are_not_exceeded(drawn: Comparison) -> None:
    known = judged(drawn, share=1e-6, most=700)
    assert known.reason is None
    assert next_draws(known, most=700) == 700
    assert judged(drawn, share=1e-6, most=400).reason == "most draws"


def test_nothing_to_choose_is_not_judged(two_packs) -> None:
    assert judged(compare(two_packs(system={"mass_limit_kg": 1.0}), draws=20)) is None


def test_the_last_round_is_what_compare_gives(two_packs) -> None:
    found = draw_until_settled(two_packs(), share=0.05, start=64, seed=5)
    again = compare(two_packs(), draws=found.last.draws, seed=5)
    for a, b in zip(found.comparison.results, again.results, strict=True):
        np.testing.assert_array_equal(a.costs, b.costs)


def test_the_most_draws_end_it_and_it_says_so(two_packs) -> None:
    found = draw_until_settled(two_packs(), share=1e-6, start=40, most=100)
    assert [step.draws for step in found.steps] == [40, 80, 100]
    assert found.reason == found.last.reason == "most draws"
    assert str(found).startswith("Not settled: ended at the most allowed, 100 draws")


def test_the_user_may_stop_it(two_packs) -> None:
    asked = []

    def stop() -> bool:
        asked.append(1)
        return len(asked) == 2

    found = draw_until_settled(two_packs(), share=1e-6, start=40, stop=stop)
    assert [step.draws for step in found.steps] == [40, 80]
    assert found.reason == "stopped"
    assert str(found).startswith("Not settled: stopped at 80 draws")


@pytest.mark.parametrize("round_", [1, 2, 3])
def test_an_interrupt_gives_the_last_whole_round(
    two_packs, monkeypatch: pytest.MonkeyPatch, round_: int
) -> None:
    rounds = []

    def interrupted(*given, **more):
        rounds.append(more["draws"])
        if len(rounds) == round_:
            raise KeyboardInterrupt
        return compare(*given, **more)

    monkeypatch.setattr(module, "compare", interrupted)
    if round_ == 1:
        with pytest.raises(KeyboardInterrupt):
            draw_until_settled(two_packs(), share=1e-6, start=40)
        return
    found = draw_until_settled(two_packs(), share=1e-6, start=40)
    assert found.reason == found.last.reason == "stopped"
    assert len(found.steps) == round_ - 1
    assert found.last.draws == found.comparison.results[0].costs.size == 40 * 2 ** (round_ - 2)


def test_where_nothing_passes_there_is_nothing_to_settle(two_packs) -> None:
    found = draw_until_settled(two_packs(system={"mass_limit_kg": 1.0}), start=10)
    assert (found.reason, found.last) == ("nothing to choose", None)
    assert str(found) == "Nothing passes, so there was nothing to settle."
    assert found.comparison.results


def test_progress_never_goes_back_and_names_the_draws(two_packs) -> None:
    told = []
    draw_until_settled(
        two_packs(), share=1e-6, start=20, most=80, progress=lambda s, what: told.append((s, what))
    )
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[-1] == pytest.approx(1.0)
    assert "(40 draws)" in " ".join(what for _, what in told)


@pytest.mark.parametrize(
    "given", [{"share": 0.0}, {"share": -1.0}, {"start": 1}, {"start": 200, "most": 100}]
)
def test_nonsense_is_refused(two_packs, given: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"share|start"):
        draw_until_settled(two_packs(), **given)
