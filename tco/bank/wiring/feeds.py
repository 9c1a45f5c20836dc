"""The cables that join chargers and the fuse block to the distribution: what they have to be.

They are in place already, so they are not in the bill; a bank of lower resistance drives a larger
short circuit through them, and their fuses have to stop it.
"""

from dataclasses import dataclass

from tco.bank.charging import charger_current_a
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.sizing import CannotWire, Run, protect_run
from tco.case import Case
from tco.physics.conductors import ConductorChoice
from tco.physics.fuses import FuseChoice

OTHER_DROP = 0.10
"""Voltage drop allowed to circuits that are not critical (ABYC E-11, as quoted)."""

FUSE_BLOCK = "DC fuse block"


@dataclass(frozen=True)
class Feed:
    """One branch: the least its cable and fuse have to be for its current.

    Where no conductor does, or no fuse can stop this bank's short circuit, it is None and `problem`
    says why.
    """

    name: str
    current_a: float
    length_m: float
    choice: ConductorChoice | None
    fuse: FuseChoice | None
    problem: str = ""


def feeds(case: Case, circuit: Circuit, *, direct_loads_a: float) -> tuple[Feed, ...]:
    """Branches of the distribution: the fuse block, then every charger.

    Chargers are critical circuits (3 % or what the case allows: a charger that loses volts never
    fills the bank), the fuse block is not. `direct_loads_a`: the direct loads that may run
    together. [A]
    """
    runs = [
        Run(
            charger.name,
            charger_current_a(case, charger),
            charger.cable_run_m,
            case.assumptions.critical_drop,
            at_bank=False,
        )
        for charger in case.sources.chargers()
    ]
    if direct_loads_a > 0.0:
        block = Run(FUSE_BLOCK, direct_loads_a, case.system.cable_run_m, OTHER_DROP, at_bank=False)
        runs.insert(0, block)
    return tuple(_feed(case, circuit, run) for run in runs)


def _feed(case: Case, circuit: Circuit, run: Run) -> Feed:
    choice: ConductorChoice | None
    fuse: FuseChoice | None
    try:
        choice, fuse = protect_run(
            case, run, voltage_v=circuit.charging_v, prospective_a=circuit.short_circuit_a
        )
        problem = ""
    except CannotWire as found:
        choice, fuse, problem = found.conductor, None, found.why
    return Feed(run.name, run.current_a, run.length_m, choice, fuse, problem)
