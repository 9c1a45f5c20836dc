"""More light than reaches a place is said as the case is read, as the engine would refuse it."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import CaseError, Climate
from tco.case.toml import case_from_mapping
from tco.physics.weather import synthetic_weather
from tests.case.test_bad_input import GOOD, case_problems, only

ARCTIC = [0.0, 0.3, 1.4, 3.2, 4.6, 5.1, 4.8, 3.3, 1.7, 0.5, 0.02, 0.0]
"""Invented for 69.6 degrees north: midnight sun in June, polar night in December."""


def climate(latitude_deg: float, light: Any) -> dict[str, Any]:
    return {"latitude_deg": latitude_deg, "irradiation_kwh_per_m2_day": light}


def test_a_forgotten_sign_is_guessed() -> None:
    problem = only(case_problems(climate=climate(-69.6, ARCTIC)))
    assert problem.location == ("climate", "latitude_deg")
    assert problem.what.startswith("is -69.6, where Jun has no more than 0.02 kWh/m2 a day")
    assert problem.mend == "Is the latitude's sign forgotten? South is negative; 69.6 would fit."
    case_from_mapping({**GOOD, "climate": GOOD["climate"] | climate(69.6, ARCTIC)})


def test_months_that_are_too_bright_either_way_are_named_each() -> None:
    light = [1.0] * 12
    light[0], light[6] = 9.0, 13.0
    problems = case_problems(climate=climate(51.0, light))
    assert [p.location for p in problems] == [
        ("climate", "irradiation_kwh_per_m2_day", month) for month in (0, 6)
    ]
    assert "13 kWh/m2 a day in Jul" in problems[1].what
    assert "a day, not a month" in problems[1].mend


def test_one_number_for_all_months_is_the_problem_itself() -> None:
    problem = case_problems(climate=climate(0.0, 11.0))[0]
    assert problem.location == ("climate", "irradiation_kwh_per_m2_day")


@settings(max_examples=150, deadline=None)
@given(
    st.floats(-90.0, 90.0),
    st.lists(st.sampled_from([0.0, 0.02, 0.021, 0.5, 2.0, 5.0, 8.0, 9.5, 12.0]), min_size=12,
             max_size=12),
)  # fmt: skip
def test_what_is_read_is_what_the_engine_takes(latitude_deg: float, light: list[float]) -> None:
    degc = {"mean_degc": [5.0] * 12, "min_degc": [0.0] * 12, "max_degc": [9.0] * 12}
    try:
        Climate.model_validate({**degc, **climate(latitude_deg, light)})
    except ValueError:
        with pytest.raises(ValueError, match="irradiation in"):
            synthetic_weather(**degc, **climate(latitude_deg, light), years=1, seed=1)
    else:
        synthetic_weather(**degc, **climate(latitude_deg, light), years=1, seed=1)


def test_a_broken_latitude_hides_no_other_problem() -> None:
    with pytest.raises(CaseError) as caught:
        case_from_mapping({**GOOD, "climate": GOOD["climate"] | climate(95.0, [13.0] * 12)})
    assert [p.field for p in caught.value.problems] == ["climate.latitude_deg"]
