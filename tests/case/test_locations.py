"""Every problem of a case says where in the data it is, so that a screen can point at the cell."""

from pathlib import Path
from typing import Any

import pytest

from tco.case import CaseError, Problem
from tco.case.table import parse_rows
from tco.case.toml import case_from_mapping
from tests.case.test_bad_input import HEAD, case_problems, only

PACK = {"name": "Fell 100", "chemistry": "lfp", "nominal_voltage_v": 12.8, "capacity_ah": 100}


@pytest.mark.parametrize(
    ("sections", "location"),
    [
        ({"use": {"living_degf": 400}}, ("use", "living_degc")),
        ({"system": {"cable_run_ft": -3}}, ("system", "cable_run_m")),
        ({"climate": {"mean_degc": [9, 9, 9, "x", *[9] * 8]}}, ("climate", "mean_degc", 3)),
        ({"climate": {"mean_degc": 200}}, ("climate", "mean_degc")),
        ({"loads": [{"name": "a", "power_w": 1, "hours_per_day": 1}, "b"]}, ("loads", 1)),
        ({"candidates": [PACK]}, ("candidates", 0, "price")),
        ({"candidates": [PACK | {"price": 1, "mass_lb": "heavy"}]}, ("candidates", 0, "mass_kg")),
        ({"system": {"spaces": [{"width_mm": 1, "depth_mm": 1}]}},
         ("system", "spaces", 0, "height_mm")),
        ({"system": {"cable_rum_m": 3}}, ("system", "cable_rum_m")),
        ({"system": {"inverter": {"continuous_w": 9, "surge_w": 5}}},
         ("system", "inverter", "surge_w")),
        ({"climate": {"weather_file": "no/such.epw"}}, ("climate", "weather_file")),
    ],
)  # fmt: skip
def test_where_a_problem_is(sections: dict[str, Any], location: tuple[str | int, ...]) -> None:
    problem = only(case_problems(**sections))
    assert problem.location == location
    assert str(location) not in str(problem)


def test_a_weather_file_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "site.epw").write_text("nothing like weather")
    for path in ("site.epw", "none.epw"):
        problems = case_problems(climate={"weather_file": str(tmp_path / path)})
        assert {problem.location for problem in problems} == {("climate", "weather_file")}


def test_a_row_of_a_table_is_no_place_in_a_case() -> None:
    _, problems = parse_rows(HEAD + "A,nicad,12,x,1\n")
    assert [(p.row, p.field, p.location) for p in problems] == [
        (2, "capacity_ah", ()),
        (2, "chemistry", ()),
    ]


def test_the_sentence_is_the_same_with_a_location() -> None:
    plain = Problem("is odd", field="system.cable_run_m")
    assert str(Problem("is odd", field="system.cable_run_m", location=("a", 1))) == str(plain)


def test_all_missing_sections_are_located() -> None:
    with pytest.raises(CaseError) as caught:
        case_from_mapping({"title": "x"})
    assert [p.location for p in caught.value.problems] == [("system",), ("climate",)]
