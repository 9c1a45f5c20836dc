"""The sentence that answers the question."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tco import Comparison, compare
from tco.bank.screening import Check, Screening
from tco.case import Case
from tco.compare import Result
from tco.life.health import Replacement
from tco.report.answer import answer, money, years


@pytest.fixture(scope="module")
def comparison(plain_case: Callable[..., Case]) -> Comparison:
    found = compare(plain_case(assumptions={"largest_bank_over_need": 20}))
    assert len(found.results) > 2
    assert all(result.screening.verified for result in found.results[:2])
    return found


def with_verdict(result: Result, verdict: str) -> Result:
    check = Check("charger, display", None, None, "", None, verdict, "why")  # type: ignore[arg-type]
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
    assert "what is not stated must be asked first (charger, display)" in text


def test_an_open_question_of_the_best_stands_beside_it(comparison: Comparison) -> None:
    text = answer(replace(comparison, results=(with_verdict(comparison.results[0], "unknown"),)))
    assert "once the maker has confirmed what is not stated (charger, display): " in text
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
    life = replace(first.life, first_life_years=4.0, replacements=(Replacement(4.0, "worn"),) * 2)
    text = answer(replace(comparison, results=(replace(first, life=life),)))
    assert "it should last 4 years here, so buying it again 2 times is in that sum." in text


def test_none_passes_and_the_nearest_says_why(comparison: Comparison) -> None:
    failed = tuple(with_verdict(result, "fail") for result in comparison.results[:2])
    text = answer(replace(comparison, results=failed))
    assert text == (
        "None of the 2 arrangements meets every requirement. The nearest, "
        f"{failed[0].arrangement.label}, fails on charger, display (why)."
    )
    assert answer(replace(comparison, results=failed[:1])).startswith("The only arrangement, ")


def test_no_candidate(comparison: Comparison) -> None:
    assert "no candidate yet" in answer(replace(comparison, results=()))
