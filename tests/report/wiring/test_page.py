"""The page of the wiring never fails: what cannot be wired or fused is told."""

import json
import xml.etree.ElementTree as ET
from html import unescape
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.compare import Comparison, compare
from tco.report.machine import as_data
from tco.report.wiring.page import diagram_with_links, wiring_page
from tests.conftest import build_plain_case

SVG = "{http://www.w3.org/2000/svg}"
STIFF = {"short_circuit_a": 40_000.0}


def engine(amps: float, metres: float) -> dict[str, Any]:
    charger = {"name": "DC-DC", "rating_a": amps, "hours_per_day": 1.0, "cable_run_m": metres}
    return {"solar": [], "engine": [charger]}


def words_of(text: str) -> str:
    return " ".join(" ".join(ET.fromstring(text).itertext()).split())


def compared(**changes: Any) -> Comparison:
    changes.setdefault("assumptions", {"weather_years": 1, "max_packs": 2})
    return compare(build_plain_case(**changes))


def test_a_branch_that_cannot_be_fused_is_told_on_page_drawing_and_in_the_data() -> None:
    """A charger of 700 A wants a fuse of 875 A, larger than any that stops such a bank."""
    comparison = compared(
        sources=engine(700.0, 1.0), candidate=STIFF,
        assumptions={"weather_years": 1, "max_packs": 1},
    )  # fmt: skip
    (result,) = comparison.results
    assert result.wiring is not None
    unfused = [feed for feed in comparison.feeds(result) if feed.fuse is None]
    assert unfused, [feed.fault_a for feed in comparison.feeds(result)]
    page = wiring_page(comparison, result)
    drawing = words_of(diagram_with_links(comparison, result))
    assert "it cannot be fused" in page
    assert "it cannot be fused" in drawing
    (row,) = as_data(comparison)["arrangements"]
    told = {branch["branch"]: branch for branch in row["branches"]}
    for feed in unfused:
        assert told[feed.name]["fuse"] is None
        assert told[feed.name]["problem"] == feed.problem != ""


def test_an_arrangement_that_cannot_be_wired_has_a_page_that_says_why() -> None:
    comparison = compared(
        system={"cable_run_m": 90.0,
                "inverter": {"name": "inverter", "continuous_w": 3000.0, "efficiency": 0.9}},
    )  # fmt: skip
    result = comparison.results[0]
    assert result.wiring is None
    assert result.bank.why_not
    first = " ".join(result.bank.why_not.split()[:6])
    assert first in unescape(" ".join(wiring_page(comparison, result).split()))
    assert first in words_of(diagram_with_links(comparison, result))
    row = as_data(comparison)["arrangements"][0]
    assert (row["wiring"], row["branches"]) == (None, [])


@pytest.mark.parametrize("name", ["panel", "DC fuse block", "inverter"])
def test_branches_of_one_name_do_not_stop_it(name: str) -> None:
    twice = [{"name": name, "peak_w": 200.0, "controller_a": 15.0} for _ in range(2)]
    comparison = compared(
        sources={"solar": twice},
        system={"inverter": {"name": name, "continuous_w": 300.0, "efficiency": 0.9}},
    )
    for result in comparison.results:
        drawing = words_of(diagram_with_links(comparison, result))
        assert drawing.count(f"{name}, cable in place") >= 2
        assert wiring_page(comparison, result).startswith("<div")


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    volts=st.sampled_from([12, 24, 48]),
    metres=st.floats(0.02, 80.0),
    charger_a=st.floats(0.01, 900.0),
    charger_m=st.floats(0.02, 200.0),
    load_w=st.floats(0.0, 9_000.0),
    own_m=st.none() | st.floats(0.02, 100.0),
    short_a=st.none() | st.floats(5.0, 90_000.0),
    code=st.sampled_from(["ABYC E-11", "NEC"]),
    degc=st.sampled_from([None, 60, 70, 105]),
    bundled=st.integers(1, 24),
    take_off=st.sampled_from(["busbars", "diagonal", "one end"]),
)
def test_whatever_the_system_there_is_a_page(
    volts: int, metres: float, charger_a: float, charger_m: float, load_w: float,
    own_m: float | None, short_a: float | None, code: str, degc: int | None, bundled: int,
    take_off: str,
) -> None:  # fmt: skip
    load = {"name": "heater", "power_w": load_w, "hours_per_day": 0.1, "cable_run_m": own_m}
    comparison = compared(
        system={
            "nominal_voltage_v": volts, "cable_run_m": metres, "wiring_code": code,
            "insulation_degc": degc, "bundled_conductors": bundled, "take_off": take_off,
        },
        loads=[load], sources=engine(charger_a, charger_m),
        candidate={"short_circuit_a": short_a},
        assumptions={"weather_years": 1, "max_packs": 2 * volts // 12},
    )  # fmt: skip
    assert comparison.results
    json.dumps(as_data(comparison))
    for result in comparison.results:
        ET.fromstring(diagram_with_links(comparison, result))
        assert wiring_page(comparison, result).startswith("<div")
