"""Fit of an arrangement in the spaces of a case: bend of the cable, next smaller arrangement."""

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.checks.space import check_space
from tco.bank.fit.models import FitResult
from tco.bank.fit.space import compartments, fit_in_spaces
from tco.case import specify
from tco.compare import compare
from tests.conftest import build_plain_case


def fitted(packs: int, *, series: int = 1, bend_mm: float = 0.0, **space: object) -> FitResult:
    case = build_plain_case(space=space)
    arrangement = Arrangement(specify(case.candidates[0]), series, packs // series)
    result = fit_in_spaces(case, arrangement, bend_radius_mm=bend_mm)
    assert result is not None
    return result


def test_the_bend_of_the_cable_takes_room_above_the_terminals() -> None:
    # the pack is 215 high, the owner asks for 30 above it
    assert fitted(1, height_mm=245.0).fits
    bent = fitted(1, height_mm=245.0, bend_mm=52.0)
    assert bent.shortfall_mm == pytest.approx(22.0)
    assert bent.reason.startswith("22 mm too tall")
    assert "52 mm are kept free at the terminals for the bend of the cable" in bent.reason


def test_the_owner_s_clearance_is_the_floor() -> None:
    assert fitted(1, height_mm=245.0, bend_mm=20.0).fits
    short = fitted(1, height_mm=240.0, bend_mm=20.0)
    assert short.shortfall_mm == pytest.approx(5.0)
    assert "bend" not in short.reason
    case = build_plain_case(space={"clearance_top_mm": 80.0})
    assert compartments(case, bend_radius_mm=50.0)[0].clearance_top_mm == 80.0
    assert compartments(case, bend_radius_mm=90.0)[0].clearance_top_mm == 90.0


def test_the_next_smaller_arrangement_that_fits_is_named_with_whole_strings() -> None:
    room = fitted(8, width_mm=700.0, depth_mm=190.0)
    assert room.fits_at_most == 2
    assert "1S2P (2 packs) fits" in room.reason
    pairs = fitted(8, series=2, width_mm=700.0, depth_mm=190.0)
    assert "2S1P (2 packs) fits" in pairs.reason
    lone = fitted(4, series=2, width_mm=350.0, depth_mm=190.0)
    assert lone.fits_at_most == 1
    assert "fits;" not in lone.reason.replace("one pack fits;", "")  # half a string is no bank
    assert check_space(room).reason == room.reason


def test_screening_uses_the_bend_of_the_cable_that_was_chosen() -> None:
    """A heavy inverter makes a thick cable, and the same pack no longer goes under the lid."""

    def verdict(watts: float) -> str:
        case = build_plain_case(
            space={"height_mm": 246.0},
            system={"inverter": {"name": "inverter", "continuous_w": watts, "efficiency": 0.9}},
            candidate={"continuous_discharge_a": 400.0, "peak_discharge_a": 900.0},
        )
        result = next(r for r in compare(case).results if r.arrangement.parallel == 1)
        assert result.wiring is not None
        check = result.screening.check("space")
        if check.verdict == "fail":
            assert result.wiring.circuit.bend_radius_mm > 31.0
        return check.verdict

    assert verdict(300.0) == "pass"
    assert verdict(2500.0) == "fail"
