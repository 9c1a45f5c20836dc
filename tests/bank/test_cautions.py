"""Which cautions stand beside an arrangement, and that they say what to do."""

from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.cautions import TOUCH_V, cautions
from tco.case import Case, specify
from tco.compare import compare
from tco.report.machine import as_data
from tco.report.text import arrangement_text
from tco.report.wiring.shopping import shopping_html

Build = Callable[..., Case]


def told(case: Case, series: int = 1) -> dict[str, str]:
    found = cautions(case, Arrangement(specify(case.candidates[0]), series, 1))
    assert len({one.key for one in found}) == len(found)
    return {one.key: one.sentence for one in found}


def test_every_bank_has_metal_and_torque(plain_case: Build) -> None:
    assert list(told(plain_case())) == ["short_circuit", "torque"]


def test_from_fifty_volts_it_can_shock_and_hold_an_arc(plain_case: Build) -> None:
    at_48 = plain_case(system={"nominal_voltage_v": 48})
    assert "57 V" in told(at_48, 4)["shock_and_arc"]  # 16 cells of 3.55 V
    assert "licensed" in told(at_48, 4)["shock_and_arc"]
    assert "shock_and_arc" not in told(plain_case(system={"nominal_voltage_v": 36}), 3)
    for volts, there in ((TOUCH_V, True), (TOUCH_V - 0.01, False)):
        pack = {"nominal_voltage_v": 48.0, "charge_voltage_v": volts, "mass_kg": 60.0}
        case = plain_case(system={"nominal_voltage_v": 48}, candidate=pack)
        assert ("shock_and_arc" in told(case)) == there


@pytest.mark.parametrize(
    ("chemistry", "words"),
    [("flooded", ("goggles", "free sulphuric acid", "upright")), ("agm", ("goggles", "cracked"))],
)
def test_lead_has_acid_and_sparks(
    plain_case: Build, chemistry: str, words: tuple[str, ...]
) -> None:
    lead = {"chemistry": chemistry, "nominal_voltage_v": 12.0, "charge_min_degc": None}
    sentence = told(plain_case(candidate=lead))["acid_and_sparks"]
    assert all(word in sentence for word in words)


def test_an_inverter_has_capacitors_and_mains(plain_case: Build) -> None:
    sentence = told(plain_case(system={"inverter": {"continuous_w": 500.0}}))["inverter"]
    for word in ("capacitors", "resistor", "mains", "licensed"):
        assert word in sentence


@pytest.mark.parametrize(
    ("terminal", "words"),
    [
        ("M8", "M8 terminals as their maker states (makers commonly 8 to 14 Nm)"),
        ("M6 bolt", "M6 terminals"),
        ("M10", "M10 terminals as their maker states (makers commonly 15 to 25 Nm)"),
        ("SAE post", "as their maker states (SAE post)"),
        ("", "the packs' terminals as their maker states,"),
    ],
)
def test_torque_goes_by_stud_and_maker(plain_case: Build, terminal: str, words: str) -> None:
    assert words in told(plain_case(candidate={"terminal": terminal}))["torque"]


def test_they_stand_wherever_the_wiring_does(plain_case: Build) -> None:
    lead: dict[str, Any] = {"chemistry": "flooded", "nominal_voltage_v": 12.0, "terminal": "M8"}
    case = plain_case(candidate={**lead, "charge_min_degc": None})
    comparison = compare(case)
    result = comparison.results[0]
    sentences = [one.sentence for one in cautions(case, result.arrangement)]
    text = " ".join(arrangement_text(comparison, result).split())
    page = shopping_html(case, result).replace("&#x27;", "'")
    data = as_data(comparison)["arrangements"][0]["cautions"]
    assert list(data.values()) == sentences
    for sentence in sentences:
        assert " ".join(sentence.split()) in text
        assert sentence in page
