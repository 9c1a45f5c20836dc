"""The second published model stands beside the first as plain numbers: text, data and screen."""

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tco import Comparison, compare, read_case
from tco.case import Case
from tco.report.machine import as_data
from tco.report.text import arrangement_text
from tco.report.years.first_bank import at_its_end, health_by_year, resistance_sentence
from tco.report.years.two_models import FAR_APART, second_of, second_sentence

DEMO = Path(__file__).resolve().parents[3] / "candidates_demo"


@pytest.fixture(scope="module")
def otterbank() -> Comparison:
    return compare(read_case(DEMO / "otterbank.toml"))


def test_both_figures_are_said(otterbank: Comparison) -> None:
    best = otterbank.results[0]
    second = second_of(best)
    assert second is not None
    ours, theirs = float(best.life.health[-1]), float(second.health[-1])
    assert abs(ours - theirs) > FAR_APART
    said = second_sentence(best, second)
    assert f"{ours:.0%} of the first bank's capacity is left after 10 years" in said
    assert f"by a second one (Wang 2011) {theirs:.0%}" in said
    assert "count on the range between them" in said
    assert said in " ".join(arrangement_text(otterbank, best).split())


def test_the_first_bank_is_followed_until_it_is_replaced(
    otterbank: Comparison, plain_case: Callable[..., Case]
) -> None:
    """Replaced by health in a long horizon: 70 % then, by our model, in every sentence."""
    assumptions = otterbank.case.assumptions.model_copy(update={"horizon_years": 30.0})
    long = compare(otterbank.case.model_copy(update={"assumptions": assumptions}))
    best = next(r for r in long.results if r.life.replacements and second_of(r) is not None)
    life, second = best.life, second_of(best)
    assert second is not None
    first = life.replacements[0]
    assert first.year < 30.0
    assert life.health[-1] < at_its_end(life.health, life) - 0.02
    end = f"{at_its_end(life.health, life):.0%}"
    if "health" in first.reason:
        assert at_its_end(life.health, life) == pytest.approx(0.7, abs=0.005)
    said = second_sentence(best, second)
    assert f"{end} of the first bank's capacity is left when it is replaced in year" in said
    assert "30 years" not in said
    assert f"when it is replaced in year {first.year:.1f}: " in resistance_sentence(life)
    years = " ".join(arrangement_text(long, best).split())
    listed = years.split("Health of the first bank at the end of each year ")[1]
    listed = listed.split(" By our main model")[0]
    assert listed.endswith(f"replaced in year {first.year:.1f} at {end}")
    assert f"{math.ceil(first.year)}: " not in listed
    row = next(r for r in as_data(long)["arrangements"] if r["label"] == best.arrangement.label)
    assert row["first_bank_replaced_in_year"] == first.year
    assert f"{row['health_when_replaced']:.0%}" == end
    assert len(row["health"]) == 30  # its meaning is kept


def test_a_first_bank_that_stays_is_followed_to_the_horizon(otterbank: Comparison) -> None:
    life = next(r.life for r in otterbank.results if not r.life.replacements)
    assert health_by_year(life)[-1] == f"10: {life.health[-1]:.0%}"
    assert "Resistance of the first bank after 10 years: " in resistance_sentence(life)


def test_models_that_agree_are_said_to(otterbank: Comparison) -> None:
    best = otterbank.results[0]
    second = second_of(best)
    assert second is not None
    near = replace(second, health=best.life.health + 0.03)
    assert "the two agree within 3 percent of new" in second_sentence(best, near)
    assert "the two agree within 1 percent of new" in second_sentence(
        best, replace(second, health=best.life.health)
    )


def test_where_a_second_model_has_nothing_to_say(plain_case: Callable[..., Case]) -> None:
    lead = {"chemistry": "agm", "nominal_voltage_v": 12.0, "mass_kg": 30.0}
    comparison = compare(plain_case(candidate=lead))
    best = comparison.results[0]
    assert second_of(best) is None
    assert second_sentence(best, None) == ""
    assert "Wang" not in arrangement_text(comparison, best)
    assert as_data(comparison)["arrangements"][0]["second_opinion"] is None


def test_data_hold_both_at_the_same_times(otterbank: Comparison) -> None:
    rows = as_data(otterbank)["arrangements"]
    told = [row for row in rows if row["second_opinion"] is not None]
    assert {row["chemistry"] for row in told} == {"lfp"}
    for row in told:
        assert row["second_opinion"]["model"] == "Wang 2011"
        assert len(row["second_opinion"]["health"]) == len(row["health"])
    second = second_of(otterbank.results[0])
    assert second is not None
    assert np.array_equal(rows[0]["second_opinion"]["health"], second.health)
