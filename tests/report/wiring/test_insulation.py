"""What cable is insulated for is said wherever its size is: list, drawing, reasons, data."""

import xml.etree.ElementTree as ET
from typing import Any

import pytest

from tco.compare import Comparison, compare
from tco.report.machine import as_data
from tco.report.wiring.page import diagram_with_links
from tco.report.wiring.shopping import shopping_html, shopping_list
from tests.conftest import build_plain_case


def compared(degc: int | None, **changes: Any) -> Comparison:
    return compare(
        build_plain_case(
            system={
                "insulation_degc": degc,
                "cable_run_m": 0.5,
                "inverter": {"continuous_w": 900.0},
                "parts": [{"name": "old", "kind": "main cable", "size": "25 mm2", "length_m": 9.0}],
            },
            assumptions={"weather_years": 1, "max_packs": 1},
            **changes,
        )
    )


@pytest.mark.parametrize(
    ("degc", "units", "said"),
    [
        (None, "metric", "cable insulated for 105 degC (assumed)"),
        (105, "metric", "cable insulated for 105 degC,"),
        (70, "metric", "cable insulated for 70 degC,"),
        (70, "imperial", "cable insulated for 158.0 degF,"),
    ],
)
def test_it_is_said_in_list_drawing_and_reasons(degc: int | None, units: str, said: str) -> None:
    comparison = compared(degc, units=units)
    (result,) = comparison.results
    assert result.wiring is not None
    drawing = " ".join(ET.fromstring(diagram_with_links(comparison, result)).itertext())
    assert said in drawing
    cables = [
        line for line in shopping_list(comparison.case, result) if line.part.startswith("cable ")
    ]
    assert all(said in line.note for line in cables)
    if cables:
        assert said in shopping_html(comparison.case, result)
    metric = said.replace("158.0 degF", "70 degC")
    assert metric in result.screening.check("wiring").reason
    (row,) = as_data(comparison)["arrangements"]
    assert {one["insulation_degc"] for one in row["wiring"]["conductors"]} <= {70, 105}


def test_house_wire_takes_thicker_cable_than_marine_cable() -> None:
    areas = {}
    for degc in (70, 105):
        (result,) = compared(degc).results
        assert result.wiring is not None
        (choice, *_) = [c.choice for c in result.wiring.circuit.of_role("main")]
        areas[degc] = choice.runs * choice.conductor.area_mm2
    assert areas[70] > areas[105]


def test_the_old_cable_s_fate_names_its_insulation() -> None:
    (result,) = compared(None).results
    assert result.wiring is not None
    (old,) = result.wiring.parts
    assert "insulation for 70 degC, as none is stated" in old.reason
