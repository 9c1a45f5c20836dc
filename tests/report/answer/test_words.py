"""The sentence that answers the question."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from tco import Comparison, compare
from tco.bank.checks.check import Check, Screening
from tco.case import Case
from tco.case.words import money
from tco.life.health import Replacement
from tco.money.risk import risks
from tco.report.answer.words import answer
from tco.report.words import years
from tco.result import Result


@pytest.fixture(scope="module")
def comparison(plain_case: Callable[..., Case]) -> Comparison:
    found = compare(plain_case(assumptions={"largest_bank_over_need": 20}))
    assert len(found.results) > 2
    assert all(result.screening.verified for result in found.results[:2])
    return found


def with_verdict(result: Result, verdict: str) -> Result:
    check = Check("charge_current", None, None, "", None, verdict, "why", "display")  # type: ignore[arg-type]
    checks = (*result.screening.checks, check)
    return replace(result, screening=Screening(checks=checks, fit=None))


@pytest.mark.parametrize(
    ("amount", "currency", "digits", "text"),
    [
        (1200.4, "€", 0, "€1,200"),
        (-1200.4, "€", 0, "-€1,200"),
        (1200, "CHF", 0, "CHF 1,200"),
        (-0.3, "$", 0, "$0"),
        (-0.004, "$", 2, "$0.00"),
        (2.055, "kr", 1, "kr 2.1"),
        (5, "", 0, "5"),
    ],
)
def test_money(amount: float, currency: str, digits: int, text: str) -> None:
    assert money(amount, currency, digits=digits) == text


@pytest.mark.parametrize(
    ("life", "text"),
    [
        (None, "more than 40 years"),
        (0.01, "less than a month"),
        (1 / 12, "1 month"),
        (0.5, "6 months"),
        (1.26, "1.3 years"),
        (12.4, "12 years"),
    ],
)
def test_years(life: float | None, text: str) -> None:
    assert years(life) == text


def test_the_best_and_the_next_are_named_with_their_cost(comparison: Comparison) -> None:
    first, second = comparison.results[:2]
    text = answer(comparison)
    assert text.startswith(f"Buy {first.arrangement.label}: ")
    assert f"{first.arrangement.usable_wh / 1000:.1f} kWh usable" in text
    assert f"€{first.measures.total_cost:,.0f} over 10 years in present value" in text
    more = second.measures.total_cost - first.measures.total_cost
    assert text.endswith(f"Next comes {second.arrangement.label}, €{more:,.0f} dearer.")


def test_only_what_is_known_counts_as_meeting_the_requirements(comparison: Comparison) -> None:
    first, second = comparison.results[:2]
    open_one = with_verdict(second, "unknown")
    text = answer(replace(comparison, results=(first, open_one)))
    assert "Of 2 arrangements, 1 meets every requirement and 1 more may" in text
    assert "what is not stated must be asked first (charge current, display)" in text


def test_an_open_question_of_the_best_stands_beside_it(comparison: Comparison) -> None:
    text = answer(replace(comparison, results=(with_verdict(comparison.results[0], "unknown"),)))
    assert "once the maker has confirmed what is not stated (charge current, display): " in text
    assert "Of 1 arrangement, 0 meet every requirement and 1 more may" in text
    assert "Next comes" not in text


def test_a_next_one_may_be_cheaper_where_something_is_open(comparison: Comparison) -> None:
    first, second = comparison.results[:2]
    cheap = replace(
        with_verdict(second, "unknown"),
        measures=replace(second.measures, total_cost=first.measures.total_cost - 100.0),
    )
    assert "€100 cheaper, but" in answer(replace(comparison, results=(first, cheap)))


def test_replacements_are_told(comparison: Comparison) -> None:
    first = comparison.results[0]
    life = replace(
        first.life, first_life_years=4.0, replacements=(Replacement(4.0, "worn"),) * 2,
        first_ends_by="need",
    )  # fmt: skip
    text = answer(replace(comparison, results=(replace(first, life=life),)))
    assert (
        "it should last 4 years here, until it no longer carries the hard weeks, so buying it "
        "again 2 times is in that sum."
    ) in text


def test_none_passes_and_the_nearest_says_why(comparison: Comparison) -> None:
    failed = tuple(with_verdict(result, "fail") for result in comparison.results[:2])
    text = answer(replace(comparison, results=failed))
    assert text == (
        "None of the 2 arrangements meets every requirement. The nearest, "
        f"{failed[0].arrangement.label}, fails on charge current, display (why)."
    )
    assert answer(replace(comparison, results=failed[:1])).startswith("The only arrangement, ")


def test_no_candidate(comparison: Comparison) -> None:
    assert "no candidate yet" in answer(replace(comparison, results=()))


# ---------------------------------------------------------------- what the draws say of it


def drawn(comparison: Comparison, *costs: Sequence[float]) -> Comparison:
    """The first arrangements, with these costs in the draws; all eligible."""
    table = np.array(costs, dtype=float)
    chosen = comparison.results[: len(costs)]
    found = risks(table, np.ones(len(costs), dtype=bool))
    return replace(
        comparison,
        results=tuple(
            replace(result, costs=row, risk=risk)
            for result, row, risk in zip(chosen, table, found, strict=True)
        ),
    )


def test_draws_that_bear_the_answer_out(comparison: Comparison) -> None:
    """Means 107.5 and 130; cheapest in three of the four draws."""
    found = drawn(comparison, [100, 100, 100, 130], [130, 131, 132, 127])
    second = found.results[1].arrangement.label
    assert (
        f"4 draws of everything uncertain bear that out: it costs least on average, €22 less than "
        f"{second}, and is cheapest in 75% of them."
    ) in answer(found)


def test_draws_that_put_two_level(comparison: Comparison) -> None:
    """Differences -30, 30, -20, 40, -10: mean 2, standard error 13.9; cheapest in 2 and 3 of 5."""
    found = drawn(comparison, [130, 100, 120, 100, 110], [100, 130, 100, 140, 100])
    text = answer(found)
    assert text.startswith(f"Buy {found.results[0].arrangement.label}: ")
    assert (
        f"But 5 draws of everything uncertain put it level with "
        f"{found.results[1].arrangement.label}: it is cheapest in 40% of them, the other in 60%."
    ) in text


def test_draws_that_put_the_answer_behind(comparison: Comparison) -> None:
    """The third is 50 cheaper on average: 48 to 52, in every draw; the second is far off."""
    found = drawn(comparison, [150, 152, 148], [900, 900, 900], [100, 100, 100])
    first, _, third = (result.arrangement.label for result in found.results)
    assert (
        f"But 3 draws of everything uncertain do not bear that out: on average {third} costs €50 "
        f"less; it is cheapest in 100% of them, {first} in 0%."
    ) in answer(found)


def test_least_on_average_and_yet_not_the_most_often(comparison: Comparison) -> None:
    """40 dear draws against 60 that are 1 dearer: mean lead 0.4 x 100 - 0.6 = 39.4."""
    found = drawn(comparison, [100] * 100, [200] * 40 + [99] * 60)
    assert (
        "In 100 draws of everything uncertain too it costs least on average, €39 less than "
        f"{found.results[1].arrangement.label}, but it is cheapest in 40% of them and "
        f"{found.results[1].arrangement.label} in 60%."
    ) in answer(found)


def test_a_rival_of_which_something_is_open_is_called_so(comparison: Comparison) -> None:
    found = drawn(comparison, [150, 151, 152], [100, 100, 100])
    opened = replace(found, results=(found.results[0], with_verdict(found.results[1], "unknown")))
    label = opened.results[1].arrangement.label
    assert f"on average {label} (something of it is not stated) costs €51 less" in answer(opened)


def test_one_draw_and_one_arrangement_say_nothing(comparison: Comparison) -> None:
    assert "One draw does not say how firm that is." in answer(drawn(comparison, [1], [2]))
    assert not re.search(r"\bdraws?\b", answer(drawn(comparison, [1, 2, 3])))
    assert not re.search(r"\bdraws?\b", answer(comparison))
