"""Rate and cold of lithium iron phosphate against a published cell, simulated by PyBaMM.

Parameter set Prada2013 of PyBaMM (Sulzer et al., J. Open Res. Softw. 9 (2021) 14): a 2.3 Ah cell,
single particle model with electrolyte. Not installed by the ordinary tests (it is large):
`pip install -e '.[outside]'`; without it these tests skip.

What it can tell: how resistance rises in the cold, the order of its size, and what a rate leaves of
the capacity. What it cannot: the capacity in the cold, since the set has no law of temperature for
electrolyte and diffusion and keeps nearly all of it at -20 degC, which no cell does.
"""

import math
import os
import warnings
from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from tco.physics.arrhenius import GAS_CONSTANT_J_PER_MOL_K
from tco.physics.chemistry import CHEMISTRIES

os.environ.setdefault("PYBAMM_DISABLE_TELEMETRY", "true")
with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    pybamm: Any = pytest.importorskip("pybamm")

pytestmark = pytest.mark.filterwarnings("ignore")
LFP = CHEMISTRIES["lfp"]
CELL_AH = 2.3


@lru_cache
def discharge(c_rate: float, degc: float) -> tuple[Any, Any]:
    """Charge taken out as a share of 2.3 Ah, and the drop below open circuit times hours [V h]."""
    values = pybamm.ParameterValues("Prada2013")
    values["Ambient temperature [K]"] = values["Initial temperature [K]"] = 273.15 + degc
    values["Current function [A]"] = c_rate * CELL_AH
    run = pybamm.Simulation(pybamm.lithium_ion.SPMe(), parameter_values=values)
    found = run.solve([0.0, 1.3 * 3600.0 / c_rate], initial_soc=1.0)
    drop = found["Battery open-circuit voltage [V]"].entries - found["Terminal voltage [V]"].entries
    return found["Discharge capacity [A.h]"].entries / CELL_AH, drop / c_rate


def ohm_ah(c_rate: float, degc: float) -> float:
    """Resistance of the cell at half charge times its capacity. [ohm Ah]"""
    return float(np.interp(0.5, *discharge(c_rate, degc)))


@pytest.mark.parametrize("degc", [10.0, 0.0, -10.0, -20.0])
def test_resistance_in_the_cold_at_the_rate_of_a_house(degc: float) -> None:
    """A tenth of the capacity an hour. Published activation energies are 35 to 40 kJ/mol: what
    these 5 kJ/mol make at the temperature is the tolerance."""
    apart = 1.0 / (273.15 + degc) - 1.0 / 298.15
    tolerance = math.expm1(5_000.0 / GAS_CONSTANT_J_PER_MOL_K * apart)
    published = ohm_ah(0.1, degc) / ohm_ah(0.1, 25.0)
    assert LFP.resistance_factor(degc) == pytest.approx(published, rel=tolerance)
    # at larger currents charge transfer bends: a straight resistance is the safe side
    assert LFP.resistance_factor(degc) > ohm_ah(0.5, degc) / ohm_ah(0.5, 25.0)


def test_a_pack_has_more_resistance_than_its_cells_and_not_much_more() -> None:
    """Ours has links and a board in it, which may make up as much again, or somewhat more."""
    cell = ohm_ah(0.5, 25.0)
    assert cell < LFP.resistance_ohm_ah.value < 3.0 * cell


def test_the_usable_depth_is_there_at_the_continuous_rate_not_much_above() -> None:
    """Our rate effect is resistance alone: right while the depth does not end the discharge."""
    taken = {rate: float(discharge(rate, 25.0)[0][-1]) for rate in (0.1, 0.5, 1.0)}
    assert LFP.discharge_rate_c.value == 0.5
    assert taken[0.1] > taken[0.5] > LFP.usable_depth.value
    # at twice that rate it would not: the limit of the default is no idle one
    assert taken[1.0] < LFP.usable_depth.value
