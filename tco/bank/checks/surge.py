"""Whether the inverter still sees enough voltage while a load starts.

A surge that packs and fuses bear can yet end at the inverter: what packs and cables lose at that
current may take it below its cut-off. Ohm's law on a bank at rest.
"""

from collections.abc import Iterable

import numpy as np

from tco.bank.bank import Bank
from tco.bank.budget import PeakDemand, surge_w
from tco.bank.checks.check import ROUNDING, Check, Verdict
from tco.bank.cold import design_temperature_degc, months_of_draw
from tco.case import Case
from tco.sentences import degc, says

HALF_CHARGED = 0.5
"""Charge at which a load has to start still. Own choice."""


def check_surge_voltage(case: Case, bank: Bank, demand: PeakDemand) -> Iterable[Check]:
    """Check the voltage at the inverter in the worst surge, of a new bank half charged.

    At the design temperature of the coldest month with a draw, packs, cables and fuses together. A
    caution where it falls below the inverter's cut-off; a failure where that happens even to a full
    and warm bank whose resistance is stated. None without an inverter or without wiring.
    """
    if case.system.inverter is None or bank.wiring is None:
        return
    pack, cutoff_v = bank.arrangement.pack, case.system.cutoff_voltage_v
    surge_a = surge_w(case, demand) / cutoff_v
    cold = min(design_temperature_degc(case, month) for month in months_of_draw(case))
    left_v = _left_v(bank, surge_a, charge=HALF_CHARGED, degc=cold)
    margin = left_v - cutoff_v
    where = says(
        f"in a surge of {surge_a:.0f} A half charged at ",
        degc(cold, ".0f"),
        f" {left_v:.1f} V are left at the inverter, which gives up at {cutoff_v:g} V",
    )
    verdict: Verdict = "pass"
    reason: str = where
    if margin < -ROUNDING:
        stated = "internal_resistance_mohm" not in pack.assumed
        full_v = _left_v(bank, surge_a, charge=1.0, degc=25.0)
        verdict = "fail" if stated and full_v < cutoff_v - ROUNDING else "caution"
        if verdict == "fail":
            reason = says(where, f"; full and warm it would be {full_v:.1f} V, too little as well")
        else:
            guess = "" if stated else " (the packs' resistance is assumed)"
            reason = says(where, f": start such loads while the bank is well charged{guess}")
    yield Check("surge_voltage", left_v, cutoff_v, "V", margin, verdict, reason)


def _left_v(bank: Bank, amps: float, *, charge: float, degc: float) -> float:
    """Voltage at the inverter with a current drawn from a bank at rest. [V]"""
    arrangement, pack = bank.arrangement, bank.arrangement.pack
    curve = pack.chemistry.open_circuit_v
    cell_v = float(np.interp(charge, np.linspace(0.0, 1.0, len(curve)), curve))
    packs_ohm = arrangement.pack_resistance_ohm * float(pack.chemistry.resistance_factor(degc))
    rest_v = arrangement.series * pack.cells_in_series * cell_v
    return rest_v - amps * (packs_ohm + bank.ohm)
