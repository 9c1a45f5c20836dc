"""The cables that join chargers and the fuse block to the distribution: what they have to be.

They are in place already, so they are not in the bill; a bank of lower resistance drives a larger
short circuit through them, and their fuses have to stop it.
"""

from dataclasses import dataclass

from tco.bank.charging import charger_current_a
from tco.bank.wiring.circuit import Circuit
from tco.case import Case
from tco.physics.conductors import ConductorChoice, smallest_conductor
from tco.physics.fuses import FuseChoice, NoFuseFits, choose_fuse

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
    found = []
    if direct_loads_a > 0.0:
        found.append(
            _feed(case, circuit, FUSE_BLOCK, direct_loads_a, case.system.cable_run_m, OTHER_DROP)
        )
    for charger in case.sources.chargers():
        found.append(
            _feed(
                case,
                circuit,
                charger.name,
                charger_current_a(case, charger),
                charger.cable_run_m,
                case.assumptions.critical_drop,
            )
        )
    return tuple(found)


def _feed(
    case: Case, circuit: Circuit, name: str, current_a: float, length_m: float, drop: float
) -> Feed:
    ampacity = 0.0
    while True:
        try:
            choice = smallest_conductor(
                current_a=current_a,
                one_way_length_m=length_m,
                nominal_voltage_v=float(case.system.nominal_voltage_v),
                allowed_drop_fraction=drop,
                system=case.system.conductor_sizes,
                minimum_ampacity_a=ampacity,
            )
        except ValueError as problem:
            return Feed(name, current_a, length_m, None, None, str(problem))
        try:
            fuse = choose_fuse(
                load_current_a=current_a,
                conductor_ampacity_a=choice.ampacity_a,
                voltage_v=circuit.charging_v,
                prospective_a=circuit.short_circuit_a,
            )
        except NoFuseFits as problem:
            if problem.ampacity_needed_a is None or problem.ampacity_needed_a <= ampacity:
                return Feed(name, current_a, length_m, choice, None, str(problem))
            ampacity = problem.ampacity_needed_a
            continue
        return Feed(name, current_a, length_m, choice, fuse)
