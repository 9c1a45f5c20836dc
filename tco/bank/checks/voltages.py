"""Whether inverter and direct loads bear a full bank, and run from a nearly empty one."""

from collections.abc import Iterable

import numpy as np

from tco.bank.arrangements import MOST_BELOW_CUTOFF, Arrangement
from tco.bank.bank import Bank
from tco.bank.cautions import TOUCH_V
from tco.bank.checks.check import Check, Verdict, limit_check
from tco.case import Case
from tco.case.system import HIGHEST_FRACTION


def check_charging_voltage(case: Case, arrangement: Arrangement) -> Iterable[Check]:
    """Check that what hangs on the bank bears the voltage at which it is charged full.

    Beyond a stated voltage a failure, beyond the assumed one (`HIGHEST_FRACTION`) a caution. No
    check where neither an inverter nor a direct load is there.
    """
    system = case.system
    assumed_v = HIGHEST_FRACTION * system.nominal_voltage_v
    bears: list[tuple[str, float | None]] = []
    if system.inverter is not None:
        bears.append(("the inverter", system.inverter.highest_voltage_v))
    if any(load.via == "dc" or system.inverter is None for load in case.loads):
        bears.append(("direct loads", system.loads_highest_voltage_v))
    if not bears:
        return
    who, stated = min(bears, key=lambda one: assumed_v if one[1] is None else one[1])
    limit = assumed_v if stated is None else stated
    volts = arrangement.charging_voltage_v
    guess = " (assumed)" if stated is None else ""
    usual = " (assumed)" if "charge_voltage_v" in arrangement.pack.assumed else ""
    numbers = f"charged full at {volts:.1f} V{usual}; {who} bear{'s' * (who[-1] == 'r')} "
    numbers += f"{limit:.1f} V{guess}"
    if volts >= TOUCH_V:
        numbers += "; at this voltage bare parts can shock and arcs do not go out by themselves"
    full, block = _charge_at(arrangement, limit), arrangement.pack.block
    state = "the pack's charge voltage"
    if block is not None:
        state = f"the cell's charge voltage ({limit / arrangement.series / block.series:.2f} V)"
    yield limit_check(
        "charging_voltage",
        volts,
        limit,
        "V",
        at_least=False,
        good=numbers,
        bad=f"{numbers}: beyond it devices switch off or burn out. Ask their makers what they bear "
        "and state it; or, where the pack's maker allows it, have every charger stop at "
        f"{limit:.1f} V, which fills it to about {full:.0%}, and state that as "
        f"{state}",
        short="fail" if stated is not None else "caution",
    )


def _charge_at(arrangement: Arrangement, volts: float) -> float:
    """State of charge at which the bank rests at a voltage, 25 degC."""
    curve = arrangement.pack.chemistry.open_circuit_v
    cell_v = volts / (arrangement.series * arrangement.pack.cells_in_series)
    return float(np.interp(cell_v, curve, np.linspace(0.0, 1.0, len(curve))))


def check_cutoff(case: Case, bank: Bank, *, hardest_a: float) -> Iterable[Check]:
    """Check that the inverter runs from all of the usable charge; what it does not is not counted.

    A caution where the last share of it lies under the cut-off voltage at rest, a failure where all
    of it does, at rest or at the hardest draw. The reason also says how full the bank has to be for
    the hardest continuous current [A], whose drop over packs and wiring, new and at 25 degC,
    reaches the cut-off earlier. No check without loads behind an inverter.
    """
    arrangement = bank.arrangement
    behind = any(load.via == "inverter" for load in case.loads)
    if case.system.inverter is None or not behind:
        return
    pack, cutoff = arrangement.pack, case.system.cutoff_voltage_v
    stated_wh = arrangement.energy_wh * pack.usable_depth
    drop_v = hardest_a * (arrangement.pack_resistance_ohm + bank.ohm)
    needed = _charge_at(arrangement, cutoff + drop_v)
    hard = (
        f"; at the hardest continuous draw ({hardest_a:.0f} A, {drop_v:.1f} V lost in packs and "
        f"cables, new and warm) it gives up below {needed:.0%} of charge"
    )
    lost = stated_wh - arrangement.usable_wh
    margin = -lost / 1000.0
    verdict: Verdict = "pass"
    if arrangement.below_cutoff >= MOST_BELOW_CUTOFF:
        verdict = "fail"
        reason = f"even full the bank rests under the inverter's cut-off ({cutoff:g} V)"
    elif needed >= 1.0:
        verdict = "fail"
        reason = f"even full the bank falls under the inverter's cut-off ({cutoff:g} V)"
    elif lost > 0.0:
        verdict = "caution"
        reason = (
            f"the last {arrangement.below_cutoff:.0%} of charge lie under the inverter's cut-off "
            f"({cutoff:g} V), so only {arrangement.usable_depth:.0%} of the "
            f"{pack.usable_depth:.0%} that may be drawn count; an inverter that may be set lower, "
            "within the pack's limits, would free the rest"
        )
    else:
        reason = f"the usable charge lies above the inverter's cut-off ({cutoff:g} V)"
    if needed > 1.0 - pack.usable_depth:
        reason += hard
        verdict = "caution" if verdict == "pass" else verdict
    usable, stated = arrangement.usable_wh / 1000.0, stated_wh / 1000.0
    yield Check("inverter_cutoff", usable, stated, "kWh", margin, verdict, reason)
