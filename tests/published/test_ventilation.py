"""Air for lead-acid batteries, against worked values of the standards."""

import math

import pytest

from tco.physics.ventilation import (
    AIR_M3_PER_AH,
    GAS_M3_PER_AH,
    airflow_m3_per_h,
    gassing_current_a,
    opening_cm2,
    opening_diameter_mm,
)

FARADAY_C_PER_MOL = 96_485.332
MOLAR_M3_AT_0_DEGC = 22.414e-3
"""CODATA; an ideal gas at 0 degC and 101.325 kPa."""


def test_the_worked_airflow_of_the_standard() -> None:
    """EN IEC 62485-2 as a calculator works it: 12 vented cells of 220 Ah on boost, 2.64 m3/h.

    0.05 x 12 x 20 x 220 / 1000, and openings of 28 x 2.64 = 73.9 cm2 each.
    """
    airflow = airflow_m3_per_h(12, gassing_current_a(220.0, "vented"))
    assert airflow == pytest.approx(2.64, abs=0.005)
    assert opening_cm2(airflow) == pytest.approx(73.9, abs=0.05)


def test_the_rounded_constant_is_that_of_its_factors() -> None:
    assert pytest.approx(0.05, abs=0.0005) == AIR_M3_PER_AH


def test_hydrogen_of_an_ampere_hour_by_faradays_law() -> None:
    """Two electrons a molecule; the standard rounds to two digits."""
    by_law = 3600.0 / (2.0 * FARADAY_C_PER_MOL) * MOLAR_M3_AT_0_DEGC
    assert pytest.approx(by_law, rel=0.01) == GAS_M3_PER_AH


def test_the_rate_of_ieee_484() -> None:
    """IEEE Std 484: 1.27e-7 m3/s for each ampere and cell at 25 degC (from memory)."""
    at_25 = GAS_M3_PER_AH / 3600.0 * 298.15 / 273.15
    assert at_25 == pytest.approx(1.27e-7, rel=0.01)


def test_the_air_keeps_hydrogen_under_one_percent() -> None:
    """4 % over the margin of five: 0.8 % of hydrogen in the air, for any bank."""
    airflow = airflow_m3_per_h(6, 4.4)
    assert 6 * 4.4 * GAS_M3_PER_AH / airflow == pytest.approx(0.04 / 5.0, rel=0.06)


def test_a_round_opening_has_its_area() -> None:
    d = opening_diameter_mm(2.64)
    assert math.pi * (d / 20.0) ** 2 == pytest.approx(opening_cm2(2.64))


def test_valve_regulated_cells_give_off_less() -> None:
    assert gassing_current_a(100.0, "valve-regulated") == pytest.approx(0.8)
    assert gassing_current_a(100.0, "vented") == pytest.approx(2.0)


@pytest.mark.parametrize(("cells", "amps"), [(0, 1.0), (6, -0.1)])
def test_what_cannot_be_is_told(cells: int, amps: float) -> None:
    with pytest.raises(ValueError, match="one cell or more"):
        airflow_m3_per_h(cells, amps)


def test_no_current_no_air() -> None:
    assert airflow_m3_per_h(6, 0.0) == opening_diameter_mm(0.0) == 0.0
