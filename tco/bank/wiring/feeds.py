"""The branches of the distribution, to chargers, loads and inverter: what they have to be.

They are in place already, so they are not in the bill; a bank of lower resistance drives a larger
short circuit through them, and their fuses have to stop it. They begin at the end of the main run,
which takes from that short circuit, and are corrected as the main run is: engine space, bundle,
insulation.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.budget import peak_demand
from tco.bank.charging import charger_current_a
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.faults import Fault
from tco.bank.wiring.sizing import CannotWire, Run, protect_run
from tco.case import Case
from tco.case.use import Load
from tco.physics.conductors import ConductorChoice, resistance_ohm
from tco.physics.fuses import FuseChoice

FUSE_BLOCK = "DC fuse block"

OTHER_DROP = 0.10
"""Voltage drop allowed to loads, circuits that are not critical (ABYC E-11, as quoted)."""


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


def feeds(case: Case, circuit: Circuit, runs: Sequence[Run] | None = None) -> tuple[Feed, ...]:
    """Branches of the distribution: the inverter, then what `branch_runs` finds.

    `runs`: that, where somebody has it already.
    """
    found = branch_runs(case) if runs is None else runs
    return (*_inverter(case, circuit), *[_feed(case, circuit, run) for run in found])


def branch_runs(case: Case) -> tuple[Run, ...]:
    """Branches that are no end of the main run: fuse block, loads with their own, every charger.

    Fuse block and chargers keep to `assumptions.critical_drop`, 3 % where nothing else is said:
    ABYC E-11 counts main feeders of panels among the critical circuits, and a charger that loses
    volts never fills the bank. Loads keep to `OTHER_DROP`, or to the same where that is more.
    """
    drop = case.assumptions.critical_drop
    runs: list[Run] = []
    own = loads_of_their_own(case)
    block = tuple(load for load in case.loads if load.via == "dc" and load not in own)
    runs += _loads(case, FUSE_BLOCK, block, case.system.cable_run_m, drop)
    for load in own:
        assert load.cable_run_m is not None  # or it would hang on the fuse block
        runs += _loads(case, load.name, (load,), load.cable_run_m, max(OTHER_DROP, drop))
    for charger in case.sources.chargers():
        gives_a = charger_current_a(case, charger)
        if gives_a > 0.0:
            runs.append(Run(charger.name, gives_a, charger.cable_run_m, drop, installed=True))
    return tuple(runs)


def loads_of_their_own(case: Case) -> tuple[Load, ...]:
    """Direct loads with a cable and a fuse of their own at the distribution."""
    return tuple(load for load in case.loads if load.via == "dc" and load.cable_run_m is not None)


def _loads(
    case: Case, name: str, loads: tuple[Load, ...], length_m: float, drop: float
) -> list[Run]:
    """The branch of some direct loads, none where they draw nothing: those that may run together,
    at the cut-off voltage, and the worst of them starting."""
    system = case.system.model_copy(update={"inverter": None})
    demand = peak_demand(case.model_copy(update={"loads": loads, "system": system}))
    if demand.direct_w <= 0.0:
        return []
    volts = case.system.cutoff_voltage_v
    return [
        Run(
            name,
            demand.direct_w / volts,
            length_m,
            drop,
            installed=True,
            surge_a=demand.loads_surge_w / volts,
        )
    ]


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
