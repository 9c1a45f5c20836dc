"""The branches that join chargers, fuse block and inverter to the distribution: what they have to be.

They are in place already, so they are not in the bill; a bank of lower resistance drives a larger
short circuit through them, and their fuses have to stop it. They begin at the end of the main run,
which takes from that short circuit, and are corrected as the main run is: engine space, bundle,
insulation.
"""

from dataclasses import dataclass

from tco.bank.charging import charger_current_a
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.faults import Fault
from tco.bank.wiring.sizing import CannotWire, Run, protect_run
from tco.case import Case
from tco.physics.conductors import ConductorChoice, resistance_ohm
from tco.physics.fuses import FuseChoice

FUSE_BLOCK = "DC fuse block"


@dataclass(frozen=True)
class Feed:
    """One branch: the least its cable and fuse have to be for its current.

    `fault_a`: the most that a short circuit at its fuse could draw. `of_main_run`: it is the end of
    the main run itself, and the main fuse protects it. Where no conductor does, or no fuse can stop
    the short circuit, `choice` or `fuse` is None and `problem` says why.
    """

    name: str
    current_a: float
    length_m: float
    choice: ConductorChoice | None
    fuse: FuseChoice | None
    fault_a: float
    problem: str = ""
    of_main_run: bool = False


def feeds(case: Case, circuit: Circuit, *, direct_loads_a: float) -> tuple[Feed, ...]:
    """Branches of the distribution: the inverter, the fuse block, then every charger.

    All keep to `assumptions.critical_drop`, 3 % where nothing else is said: ABYC E-11 counts main
    feeders of panels among the critical circuits, and a charger that loses volts never fills the
    bank. `direct_loads_a`: the direct loads that may run together. [A]
    """
    drop = case.assumptions.critical_drop
    runs = [
        Run(charger.name, charger_current_a(case, charger), charger.cable_run_m, drop)
        for charger in case.sources.chargers()
    ]
    if direct_loads_a > 0.0:
        runs.insert(0, Run(FUSE_BLOCK, direct_loads_a, case.system.cable_run_m, drop))
    return (*_inverter(case, circuit), *[_feed(case, circuit, run) for run in runs])


def _inverter(case: Case, circuit: Circuit) -> tuple[Feed, ...]:
    """The main run leads to the inverter: what of it lies behind the distribution is no thinner."""
    inverter = case.system.inverter
    if inverter is None:
        return ()
    return (
        Feed(
            name=inverter.name,
            current_a=inverter.continuous_w / inverter.efficiency / case.system.cutoff_voltage_v,
            length_m=case.system.cable_run_m,
            choice=circuit.of_role("main")[0].choice,
            fuse=circuit.main_fuse,
            fault_a=circuit.short_circuit_a,
            of_main_run=True,
        ),
    )


def _feed(case: Case, circuit: Circuit, run: Run) -> Feed:
    def at_fuse(size: ConductorChoice) -> Fault:
        out_ohm = 2.0 * float(resistance_ohm(size.conductor, run.length_m)) / size.runs
        return circuit.at_distribution(out_ohm=out_ohm)

    choice: ConductorChoice | None
    fuse: FuseChoice | None
    problem = ""
    try:
        choice, fuse, _ = protect_run(case, run, voltage_v=circuit.charging_v, fault=at_fuse)
    except CannotWire as found:
        choice, fuse, problem = found.conductor, None, found.why
    there_a = circuit.at_distribution().most_a
    return Feed(run.name, run.current_a, run.length_m, choice, fuse, there_a, problem)
