"""Chemistry curves against published cells and field manuals."""

import math

import numpy as np
import pytest

from tco.physics.chemistry import CHEMISTRIES

LFP = CHEMISTRIES["lfp"]
SOC = np.linspace(0.0, 1.0, 11)

PRADA2013 = {0.1: 2.978, 0.2: 3.169, 0.5: 3.266, 0.8: 3.310, 0.9: 3.314, 1.0: 3.600}
"""Open-circuit volts of one LFP cell at 25 degC, the Prada2013 set of PyBaMM (its curves from
Afshar 2017, arXiv 1709.03970, and Chen 2020, J. Electrochem. Soc. 167, 080534)."""


@pytest.mark.parametrize(("soc", "volts"), PRADA2013.items())
def test_lfp_open_circuit_voltage(soc: float, volts: float) -> None:
    # another published set differs by 0.21 V at 10 % and under 0.07 V between 20 and 90 %
    tolerance = 0.21 if soc <= 0.1 else 0.07
    ours = float(np.interp(soc, SOC, LFP.open_circuit_v))
    assert ours == pytest.approx(volts, abs=tolerance)


def test_lfp_mean_voltage() -> None:
    """Mean over the whole discharge, same set: 3.196 V; nominal 3.2 V on every datasheet."""
    mean = float(np.trapezoid(LFP.open_circuit_v, SOC))
    assert mean == pytest.approx(3.196, abs=0.03)  # ten straight pieces for a curved end
    assert LFP.cell_voltage_v == pytest.approx(3.196, abs=0.01)


def test_lead_acid_in_the_cold() -> None:
    """US Army TM 10-6140-200-14: 75 % of room-temperature capacity at 32 degF, 40 % at 0 degF."""
    for key in ("agm", "gel", "flooded"):
        fraction = CHEMISTRIES[key].capacity_fraction
        assert fraction(0.0) == pytest.approx(0.75, abs=0.005)
        assert fraction((0 - 32) / 1.8) == pytest.approx(0.40, abs=0.005)


def test_lfp_in_the_cold() -> None:
    """Electrochim. Acta 60 (2012) 269: an LFP cathode keeps under half at -20 degC."""
    assert LFP.capacity_fraction(-20.0) < 0.5
    # a maker's 10 Ah cell, low quality: two digits printed
    for degc, fraction in ((0.0, 0.80), (-10.0, 0.66), (-20.0, 0.44)):
        assert LFP.capacity_fraction(degc) == pytest.approx(fraction, abs=0.005)


def test_lfp_charge_transfer_in_the_cold() -> None:
    """Activation energy 35 to 40 kJ/mol (Kashkooli 2017; Chen 2020), 0 against 25 degC."""
    inverse = (1 / 273.15 - 1 / 298.15) / 8.314
    low = math.exp(35_000 * inverse)
    transfer = LFP.charge_transfer_j_per_mol
    assert 35_000 <= transfer <= 40_000
    # the whole rises less than its charge-transfer part, and more than the electrolyte's 17 kJ/mol
    assert math.exp(17_000 * inverse) < LFP.resistance_factor(0.0) < low


def test_ranges_of_the_trade() -> None:
    """Common practice, no source: Peukert, coulombic efficiency, self-discharge a month."""
    assert 1.05 <= CHEMISTRIES["agm"].peukert_exponent.value <= 1.15
    assert 1.1 <= CHEMISTRIES["gel"].peukert_exponent.value <= 1.25
    assert 1.2 <= CHEMISTRIES["flooded"].peukert_exponent.value <= 1.6
    assert CHEMISTRIES["flooded"].coulombic_efficiency.value == 0.85
    assert 0.02 <= LFP.self_discharge_per_month.value <= 0.03
    assert 0.04 <= CHEMISTRIES["flooded"].self_discharge_per_month.value <= 0.06
    assert 1000 <= LFP.specific_heat_j_per_kg_k.value <= 1130
