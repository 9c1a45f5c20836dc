"""Air for lead-acid, by the standard's figures; none for what gives off no gas."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Check
from tco.bank.checks.gas import check_ventilation
from tco.case import Case, specify

Build = Callable[..., Case]

LEAD = {"nominal_voltage_v": 12.0, "capacity_ah": 110.0, "charge_min_degc": None, "mass_kg": 30.0}


def bank(plain_case: Build, chemistry: str, **space: Any) -> tuple[Case, Arrangement]:
    """A 24 V bank of 220 Ah: twelve cells in series."""
    case = plain_case(
        system={"nominal_voltage_v": 24}, space=space, candidate={**LEAD, "chemistry": chemistry}
    )
    return case, Arrangement(specify(case.candidates[0]), 2, 2)


def ventilation(plain_case: Build, chemistry: str, **space: Any) -> Check:
    (found,) = check_ventilation(*bank(plain_case, chemistry, **space))
    return found


def test_the_standards_worked_bank(plain_case: Build) -> None:
    """Twelve vented cells, 220 Ah: 2.64 m3/h, openings of 73.9 cm2 each, 97 mm across."""
    found = ventilation(plain_case, "flooded")
    assert found.verdict == "caution"
    assert "2.64 m3/h" in found.reason
    assert found.limit == pytest.approx(10 * math.sqrt(73.9 * 4 / math.pi), abs=0.1)
    assert "97 mm" in found.reason
    for word in ("explodes", "outdoors", "local code"):
        assert word in found.reason


def test_a_charger_that_fails_gasses_with_all_it_has(plain_case: Build) -> None:
    """One panel of 200 W, 0.95 x 200 W or so over 25.7 V: 0.05 x 12 cells x those amperes."""
    case, arrangement = bank(plain_case, "flooded")
    (found,) = check_ventilation(case, arrangement)
    amps = case.sources.solar[0].peak_w * case.sources.solar[0].efficiency / (24 * 1.07)
    assert f"push all of {amps:.0f} A into gas: {0.05 * 12 * amps:.1f} m3/h" in found.reason


def test_valve_regulated_cells_want_less_air(plain_case: Build) -> None:
    vented, agm = (ventilation(plain_case, key).limit for key in ("flooded", "agm"))
    assert vented is not None
    assert agm == pytest.approx(vented * math.sqrt(8.0 / 20.0))


def test_openings_that_are_stated_are_judged(plain_case: Build) -> None:
    needed = ventilation(plain_case, "flooded").limit
    assert needed is not None
    enough = ventilation(plain_case, "flooded", vent_diameter_mm=needed)
    assert (enough.verdict, enough.margin) == ("pass", 0.0)
    small = ventilation(plain_case, "flooded", vent_diameter_mm=needed - 10.0)
    assert small.verdict == "fail"
    assert small.margin == pytest.approx(-10.0)


def test_the_worst_space_decides(plain_case: Build) -> None:
    case, arrangement = bank(plain_case, "flooded", vent_diameter_mm=200.0)
    (one,) = case.system.spaces
    for other, verdict in ((50.0, "fail"), (None, "caution"), (150.0, "pass")):
        second = one.model_copy(update={"name": "second", "vent_diameter_mm": other})
        system = case.system.model_copy(update={"spaces": (one, second)})
        (found,) = check_ventilation(case.model_copy(update={"system": system}), arrangement)
        assert found.verdict == verdict


def test_lithium_and_sodium_have_no_such_check(plain_case: Build) -> None:
    for key, volts in (("lfp", 12.8), ("sodium-ion", 12.0)):
        case = plain_case(candidate={"chemistry": key, "nominal_voltage_v": volts})
        assert list(check_ventilation(case, Arrangement(specify(case.candidates[0]), 1, 1))) == []


def test_an_imperial_reader_is_told_cubic_feet(plain_case: Build) -> None:
    """2.64 m3/h over 0.3048 m cubed and 60 minutes: 1.55 ft3/min."""
    reason = ventilation(plain_case, "flooded").reason
    told = getattr(reason, "told")("imperial")  # noqa: B009
    assert "1.55 ft3/min" in told
    assert "m3/h" not in told
