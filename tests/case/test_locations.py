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


LAMP = {"name": "lamp", "power_w": 5, "hours_per_day": 2}
PRICED = PACK | {"price": 1}


@pytest.mark.parametrize(
    ("sections", "found"),
    [
        ({"loads": [LAMP, 7, LAMP, LAMP | {"name": "fan"}, LAMP]},
         [("loads", 1), ("loads", 2, "name"), ("loads", 4, "name")]),
        ({"candidates": ["?", PRICED, PRICED]}, [("candidates", 0), ("candidates", 2, "name")]),
        ({"loads": [LAMP, LAMP | {"name": "kettle", "via": "inverter"}]}, [("loads", 1, "via")]),
        ({"evidence": [{"candidate": "Fell 100", "quality": "own", "units": 1, "months": 1,
                        "failures": 0}, {"candidate": "Nobody", "quality": "own", "units": 1,
                        "months": 1, "failures": 0}], "candidates": [PRICED]},
         [("evidence", 1, "candidate")]),
        ({"warranties": [{"candidate": "Fell 100"}] * 3, "candidates": [PRICED]},
         [("warranties", 1, "candidate"), ("warranties", 2, "candidate")]),
        ({"marks": [{"candidate": "Fell 100", "part": "connections", "mark": "good"}] * 2,
          "candidates": [PRICED]}, [("marks", 1, "part")]),
        ({"reliability": {"stated_rates": [{"candidate": "X", "rate_per_pack_year": 0.1}]}},
         [("reliability", "stated_rates", 0, "candidate")]),
        ({"prices": {"conductors": [{"size": s, "price_per_m": 1, "lug_price": 1}
                                    for s in ("10 mm2", "6 mm2", "10 mm2")]}},
         [("prices", "conductors", 2, "size")]),
        ({"system": {"spaces": [{"name": n, "width_mm": 9, "depth_mm": 9, "height_mm": 9}
                                for n in "aba"]}}, [("system", "spaces", 2, "name")]),
        ({"system": {"inverter": {"continuous_w": 500, "cutoff_voltage_v": 50}}},
         [("system", "inverter", "cutoff_voltage_v")]),
        ({"reliability": {"weights": []}}, [("reliability", "weights")] * 4),
        ({"system": {"parts": [{"name": "f", "kind": "main fuse", "fuse_class": "new"}]}},
         [("system", "parts", 0, "fuse_class")]),
        ({"system": {"parts": [{"name": "f", "kind": "branch fuse"},
                               {"name": "f", "kind": "isolator", "branch": "nowhere"},
                               {"name": "f", "kind": "isolator", "branch": "lamp"},
                               {"name": "f", "kind": "isolator", "branch": "fan"}]},
          "loads": [LAMP, LAMP | {"name": "fan", "cable_run_m": 2}]},
         [("system", "parts", 0, "branch"), ("system", "parts", 1, "branch"),
          ("system", "parts", 2, "branch")]),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_said_at_its_row(
    sections: dict[str, Any], found: list[tuple[str | int, ...]]
) -> None:
    assert [problem.location for problem in case_problems(**sections)] == found


def test_the_later_of_two_rows_is_named() -> None:
    problem = only(case_problems(loads=[LAMP, LAMP]))
    assert str(problem) == (
        "c.toml, load 'lamp', loads[2].name: is already the name of load 1. Give each its own name."
    )
