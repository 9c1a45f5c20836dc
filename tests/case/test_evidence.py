"""The models of evidence: limits, what does not go together, and a case that carries them."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from tco.case import Case
from tco.case.evidence import (
    FieldReport,
    ReliabilityAssumptions,
    StatedClass,
    WarrantyTerms,
)
from tco.case.toml import case_from_mapping, case_to_toml, parse_toml

REPORT: dict[str, Any] = {
    "candidate": "Fell",
    "quality": "owner report",
    "units": 12,
    "months": 30,
    "failures": 1,
}


def words(error: ValidationError) -> str:
    return "; ".join(f"{e['loc']} {e['msg']}" for e in error.errors())


def test_failures_among_no_units_are_refused() -> None:
    with pytest.raises(ValidationError) as caught:
        FieldReport.model_validate(REPORT | {"units": 0})
    assert "no units were seen" in words(caught.value)


def test_more_failures_than_units_are_possible_where_failed_ones_were_replaced() -> None:
    assert FieldReport.model_validate(REPORT | {"units": 2, "failures": 3}).failures == 3


@pytest.mark.parametrize(
    "bad", [{"units": -1}, {"months": -0.1}, {"failures": 1.5}, {"quality": "hearsay"}]
)
def test_a_report_out_of_range(bad: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        FieldReport.model_validate(REPORT | bad)


def test_a_term_may_be_typed_in_months_and_the_chance_as_a_percentage() -> None:
    terms = WarrantyTerms.model_validate(
        {
            "candidate": "Fell",
            "term_years": "18 months",
            "honoured_probability": "55 %",
            "operating_min_degf": 32,
            "downtime_days": "6 weeks",
        }
    )
    assert terms.term_years == pytest.approx(1.5)
    assert terms.honoured_probability == pytest.approx(0.55)
    assert terms.operating_min_degc == pytest.approx(0.0)
    assert terms.downtime_days == pytest.approx(42.0)


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        ({"term_years": 3, "prorated_after_years": 4}, "after the end of the term"),
        ({"operating_min_degc": 40, "operating_max_degc": 0}, "above operating_max_degc"),
        ({"storage_min_degc": 40, "storage_max_degc": 0}, "above storage_max_degc"),
    ],
)
def test_terms_that_do_not_go_together(bad: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError) as caught:
        WarrantyTerms.model_validate({"candidate": "Fell"} | bad)
    assert said in words(caught.value)


def test_assumptions_need_every_row_once() -> None:
    usual = ReliabilityAssumptions()
    with pytest.raises(ValidationError) as caught:
        ReliabilityAssumptions(
            priors=usual.priors[1:],
            weights=(*usual.weights, usual.weights[0]),
            mark_factors=usual.mark_factors[:-1],
            cheap_below=2.0,
            stated_classes=(
                StatedClass(candidate="Fell", price_class="cheap"),
                StatedClass(candidate="Fell", price_class="premium"),
            ),
        )
    said = words(caught.value)
    assert "has no row for cheap lithium" in said
    assert "speaks of 'own' again, as row 1 does" in said
    assert "has no row for connections" in said
    assert "above premium_above" in said
    assert "speaks of 'Fell' again, as row 1 does" in said


def test_default_priors_order_the_classes() -> None:
    """What the words say: cheap fails more often than premium, in every family."""
    rate = {
        (row.price_class, row.family): row.rate_per_pack_year
        for row in ReliabilityAssumptions().priors
    }
    for family in ("lithium", "sodium", "lead"):
        assert rate["cheap", family] > rate["middling", family] > rate["premium", family]


def test_default_weights_follow_the_quality() -> None:
    weights = [row.weight for row in ReliabilityAssumptions().weights]
    assert weights == sorted(weights, reverse=True)


def plain_data(plain_case: Callable[..., Case], **more: Any) -> dict[str, Any]:
    case = plain_case()
    assert len(case.candidates) == 1
    return parse_toml(case_to_toml(case)) | more


def test_a_case_with_evidence_comes_back(plain_case: Callable[..., Case]) -> None:
    name = plain_case().candidates[0].name
    data = plain_data(
        plain_case,
        evidence=[REPORT | {"candidate": name, "source": "boat club"}],
        marks=[{"candidate": name, "part": "cell restraint", "mark": "poor"}],
        warranties=[{"candidate": name, "term_years": 5, "prorated_after_years": 2}],
        reliability={
            "weibull_shape": 1.3,
            "stated_classes": [{"candidate": name, "price_class": "premium"}],
        },
    )
    case = Case.model_validate(data)
    again = Case.model_validate(parse_toml(case_to_toml(case)))
    assert again == case
    assert again.evidence[0].source == "boat club"
    assert again.reliability.weibull_shape == 1.3


def test_rows_of_strangers_and_doubles_are_all_reported(plain_case: Callable[..., Case]) -> None:
    name = plain_case().candidates[0].name
    mark = {"candidate": name, "part": "connections", "mark": "good"}
    data = plain_data(
        plain_case,
        evidence=[REPORT | {"candidate": "Stranger"}],
        marks=[mark, mark],
        warranties=[{"candidate": name}, {"candidate": name}],
        reliability={"stated_classes": [{"candidate": "Nobody", "price_class": "cheap"}]},
    )
    with pytest.raises(ValidationError) as caught:
        Case.model_validate(data)
    said = words(caught.value)
    assert "'Stranger', which is no candidate" in said
    assert f"speaks of {name!r}, 'connections' again, as row 1 does" in said
    assert f"('warranties', 1, 'candidate') speaks of {name!r} again" in said
    assert "'Nobody', which is no candidate" in said


def test_a_broken_row_does_not_hide_the_others(plain_case: Callable[..., Case]) -> None:
    data = plain_data(
        plain_case,
        evidence=[
            REPORT | {"candidate": "Stranger"},
            {"candidate": "", "quality": "own", "units": 1, "months": 1, "failures": 0},
        ],
        reliability="none",
    )
    with pytest.raises(ValidationError) as caught:
        Case.model_validate(data)
    assert "'Stranger', which is no candidate" in words(caught.value)


def test_the_file_of_a_plain_case_reads_as_before(
    plain_case: Callable[..., Case], tmp_path: Path
) -> None:
    case = case_from_mapping(plain_data(plain_case))
    assert case == plain_case()
