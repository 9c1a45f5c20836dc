"""What is told of failures and of the warranty, in words."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from tco.case import Case
from tco.compare import compare
from tco.report.failures import frames as evidence_frames
from tco.report.failures.words import USUAL_DOUBTS

PlainCase = Callable[..., Case]
PACK = {"warranty_years": 5.0}


def told(case: Case) -> str:
    (result,) = (r for r in compare(case).results if r.arrangement.packs == 1)
    return evidence_frames.warranty(result, case)


def terms(**changes: Any) -> dict[str, Any]:
    return {"candidate": PACK, "warranties": [{"candidate": "Plain 100", **changes}]}


def test_a_void_cover_says_why(plain_case: PlainCase) -> None:
    case = plain_case(**terms(commercial_use_covered=False), use={"commercial": True})
    assert "does not hold in this use. The warranty does not cover commercial use." in told(case)
    case = plain_case(**terms(operating_min_degc=40.0))
    assert "in use; the warranty asks for 40 °C or more" in told(case)
    case = plain_case(**terms(storage_min_degc=40.0), use={"months_in_use": [6, 7, 8]})
    assert "while laid up; the warranty asks for 40 °C or more" in told(case)


def test_limits_are_told_in_the_units_of_the_case(plain_case: PlainCase) -> None:
    """40 degC is 104 degF; the coldest hour is told in no other unit either."""
    text = told(plain_case(**terms(operating_min_degc=40.0), units="imperial"))
    assert re.search(r"as cold as \d+\.\d °F in use; the warranty asks for 104.0 °F or more", text)
    assert "degC" not in text
    assert "°C" not in text


def test_what_nobody_typed_is_told(plain_case: PlainCase) -> None:
    usual = (
        "the buyer pays the freight of a claim; 7 claims in 10 are honoured; a claim takes 28 "
        "days; commercial use is covered"
    )
    assert usual == USUAL_DOUBTS
    assert f"as nothing else is typed: {usual}." in told(plain_case(candidate=PACK))
    earns = told(plain_case(candidate=PACK, use={"commercial": True}))
    assert f"{usual} (yours is commercial: ask the maker in writing)." in earns
    case = plain_case(**terms(freight_paid_by="buyer", commercial_use_covered=True))
    assert "typed: 7 claims in 10 are honoured; a claim takes 28 days." in told(case)
    stated = {"freight_paid_by": "maker", "honoured_probability": 0.9, "downtime_days": 9.0}
    assert "granted" not in told(plain_case(**terms(**stated, commercial_use_covered=True)))


def test_a_warranty_that_is_none_takes_nothing_for_granted(plain_case: PlainCase) -> None:
    assert "granted" not in told(plain_case())
    assert "granted" not in told(plain_case(**terms(operating_min_degc=40.0)))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"term_years": 0.0}, "No warranty is stated."),
        ({"honoured_probability": 0.01}, "No claim is worth its trouble."),
        (
            {"honoured_probability": 0.9, "paid_in": "money"},
            "gives back 90% of the price on average",
        ),
        ({"honoured_probability": 0.9, "term_years": 2.0}, "ends after 2.0 years"),
        ({"honoured_probability": 0.9, "term_years": 2.0}, "until the end of year 2"),
        ({"downtime_days": 1.0}, "claimed and the maker's pack waited for"),
        ({"paid_in": "money"}, "bought at once and the old one claimed besides"),
    ],
)
def test_how_a_cover_is_used(plain_case: PlainCase, changes: dict[str, Any], said: str) -> None:
    assert said in told(plain_case(**terms(**changes)))


def test_the_chance_of_a_failure_is_that_of_the_rate(plain_case: PlainCase) -> None:
    """One pack at 0.1 a year for ten years: 1 - exp(-1) = 63 %."""
    stated = {"stated_rates": [{"candidate": "Plain 100", "rate_per_pack_year": 0.1}]}
    assert "fails in 10 years is 63%" in told(plain_case(reliability=stated))


def test_a_report_tells_what_it_says_alone(plain_case: PlainCase) -> None:
    """800 and two failures, 80 % two-sided, as the bands beside it: 150 to 1,504.

    The formula of the e-Handbook, 8.4.5.1, and chi-square's 10 % points of tables: 1600 / 10.645
    (six degrees, upper) and 1600 / 1.064 (four, lower; with one digit more, 1.0636).
    """
    report = {
        "candidate": "Plain 100", "quality": "own", "units": 400, "months": 24.0, "failures": 2,
    }  # fmt: skip
    (result, *_) = compare(plain_case(evidence=[report])).results
    rows = evidence_frames.story(result.failures.knowledge)
    assert "alone it says a pack lasts 150 to 1,504 years (8 in 10 sure)" in " ".join(rows["What"])


def test_conditions_in_the_notes_are_told_with_the_warranty(plain_case: PlainCase) -> None:
    void = {**PACK, "notes": "Warranty void above 2000 m unless registered."}
    said = told(plain_case(candidate=void))
    assert "Noted of it: “Warranty void above 2000 m unless registered.” Nothing is reck" in said
    assert "whether it narrows the 5 years" in said
    assert "Noted of it" not in told(plain_case(candidate={**PACK, "notes": "Two to lift it"}))
    assert "Noted of it" not in told(plain_case(candidate={"notes": "No warranty claims"}))
