"""The branches of the distribution, to chargers, loads and inverter: what they have to be.

They are in place already; a bank of lower resistance drives a larger short circuit through them,
and their fuses have to stop it. They begin at the end of the main run, which takes from that short
circuit, and are corrected as the main run is: engine space, bundle, insulation. Where the case
says what is there, that is judged, and stands in the branch if it stays; what does not is bought.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.budget import peak_demand
from tco.bank.charging import charger_current_a, charging_together_a
from tco.bank.wiring.branch_parts import Planned, at_the_inverter, planned, protects
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.part_decisions import PartDecision, as_wished, rated, settled
from tco.bank.wiring.sizing import Run
from tco.case import Case
from tco.case.parts import FUSE_BLOCK, INVERTER, OF_A_BRANCH, ExistingPart
from tco.case.use import Load, Solar
from tco.physics.conductors import ConductorChoice
from tco.physics.fuses import FuseChoice

OTHER_DROP = 0.10
"""Voltage drop allowed to loads, circuits that are not critical (ABYC E-11, as quoted)."""

BARS = "distribution bars"


@dataclass(frozen=True)
class Branch:
    """A branch that is no end of the main run: its key on the drawing, and its run of cable.

    `solar`: whose controller it leads to, if any.
    """

    key: str
    run: Run
    solar: Solar | None = None


@dataclass(frozen=True)
class Feed:
    """One branch: the least its cable and fuse have to be for its current, or what stays there.

    `key` is that of what it leads to on the drawing. `fault_a`: the most that a short circuit at
    its fuse could draw. `of_main_run`: it is the end of the main run itself, and the main fuse
    protects it. Where no conductor does, or no fuse can stop the short circuit, `choice` or `fuse`
    is None and `problem` says why. `parts`: what becomes of what the case says is there.
    """

    name: str
    current_a: float
    length_m: float
    choice: ConductorChoice | None
    fuse: FuseChoice | None
    fault_a: float
    problem: str = ""
    of_main_run: bool = False
    key: str = ""
    parts: tuple[PartDecision, ...] = ()

    @property
    def cable_stays(self) -> bool:
        """Whether `choice` is a cable that is there and stays."""
        return any(d.part.kind == "branch cable" and d.decision == "keep" for d in self.parts)

    @property
    def fuse_stays(self) -> bool:
        """Whether `fuse` is one that is there and stays in this branch."""
        return any(d.decision == "keep" for d in self.parts if protects(d.part))

    @property
    def stated(self) -> bool:
        """Whether nothing of it is only taken to be in place."""
        kinds = {d.part.kind for d in self.parts if d.part.side != "panel side"}
        return self.of_main_run or {"branch cable", "branch fuse"} <= kinds

    @property
    def new_cable(self) -> bool:
        """Whether one that is there goes, and `choice` is bought in its place."""
        goes = any(d.part.kind == "branch cable" for d in self.parts) and not self.cable_stays
        return goes and self.choice is not None and not self.of_main_run

    @property
    def new_fuse(self) -> bool:
        """Whether one that is there goes, and `fuse` is bought in its place."""
        goes = any(protects(d.part) for d in self.parts) and not self.fuse_stays
        return goes and self.fuse is not None and not self.of_main_run

    @property
    def switches(self) -> tuple[PartDecision, ...]:
        """Isolators that will be there, kept or bought anew, and breakers on the panels' side."""
        return tuple(
            d
            for d in self.parts
            if d.decision in ("keep", "replace")
            and d.part.kind != "branch cable"
            and not protects(d.part)
        )


def feeds(case: Case, circuit: Circuit, found: Sequence[Branch] | None = None) -> tuple[Feed, ...]:
    """Branches of the distribution: the inverter, then what `branches` finds.

    `found`: that, where somebody has it already.
    """
    there = branches(case) if found is None else found
    return (*_inverter(case, circuit), *[_feed(case, circuit, branch) for branch in there])


def branches(case: Case) -> tuple[Branch, ...]:
    """Branches that are no end of the main run: fuse block, loads with their own, every charger.

    Fuse block and chargers keep to `assumptions.critical_drop`, 3 % where nothing else is said:
    ABYC E-11 counts main feeders of panels among the critical circuits, and a charger that loses
    volts never fills the bank. Loads keep to `OTHER_DROP`, or to the same where that is more.
    """
    drop = case.assumptions.critical_drop
    found: list[Branch] = []
    own = loads_of_their_own(case)
    block = tuple(load for load in case.loads if load.via == "dc" and load not in own)
    for run in _loads(case, FUSE_BLOCK, block, case.system.cable_run_m, drop):
        found.append(Branch("fuse block", run))
    for load in own:
        assert load.cable_run_m is not None  # or it would hang on the fuse block
        for run in _loads(case, load.name, (load,), load.cable_run_m, max(OTHER_DROP, drop)):
            found.append(Branch(f"load {load.name}", run))
    for charger in case.sources.chargers():
        gives_a = charger_current_a(case, charger)
        if gives_a > 0.0:
            run = Run(charger.name, gives_a, charger.cable_run_m, drop, installed=True)
            solar = charger if isinstance(charger, Solar) else None
            found.append(Branch(f"source {charger.name}", run, solar))
    return tuple(found)


def loads_of_their_own(case: Case) -> tuple[Load, ...]:
    """Direct loads with a cable and a fuse of their own at the distribution."""
    return tuple(load for load in case.loads if load.via == "dc" and load.cable_run_m is not None)


def has_parts_of_branches(case: Case) -> bool:
    """Whether the case says what is there at the distribution or behind it."""
    return any(part.kind in (*OF_A_BRANCH, BARS) for part in case.system.parts)


def decide_branch_parts(
    case: Case, circuit: Circuit, found: Sequence[Feed]
) -> tuple[PartDecision, ...]:
    """Judge the distribution's bars and every part of a branch, as the feeds have them."""
    decided = {id(d.part): d for feed in found for d in feed.parts}
    for part in case.system.parts:
        if part.kind == BARS:
            judged = rated(part, through_bars_a(case, circuit, found))
            decided[id(part)] = settled(part, *as_wished(part, *judged))
        elif part.kind in OF_A_BRANCH and id(part) not in decided:
            idle = as_wished(part, "no longer needed", f"nothing flows through {part.branch}")
            decided[id(part)] = settled(part, *idle)
    return tuple(decided.values())


def through_bars_a(case: Case, circuit: Circuit, found: Sequence[Feed]) -> float:
    """What the bars carry onto which all branches land. [A]

    The main run's current, or what all branches draw together, or what chargers that may run
    together give: whichever is most.
    """
    draw_a = sum(feed.current_a for feed in found if not feed.key.startswith("source "))
    return max(circuit.current_a, draw_a, charging_together_a(case))


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


def _parts_of(case: Case, *names: str) -> tuple[ExistingPart, ...]:
    return tuple(part for part in case.system.parts if part.branch in names)


def _inverter(case: Case, circuit: Circuit) -> tuple[Feed, ...]:
    """The main run leads to the inverter: what of it lies behind the distribution is no thinner."""
    inverter = case.system.inverter
    if inverter is None:
        return ()
    current_a = inverter.continuous_w / inverter.efficiency / case.system.cutoff_voltage_v
    parts = _parts_of(case, INVERTER, inverter.name)
    short_circuit_a = circuit.short_circuit_a
    made = Planned(circuit.of_role("main")[0].choice, circuit.main_fuse)
    if parts:
        made = at_the_inverter(case, circuit, current_a, parts)
    if made.fuse is not circuit.main_fuse:
        short_circuit_a = circuit.at_distribution().most_a
    return (
        Feed(
            name=inverter.name,
            current_a=current_a,
            length_m=case.system.cable_run_m,
            choice=made.choice,
            fuse=made.fuse,
            fault_a=short_circuit_a,
            of_main_run=True,
            key="inverter",
            parts=made.parts,
        ),
    )


def _feed(case: Case, circuit: Circuit, branch: Branch) -> Feed:
    run = branch.run
    made = planned(case, circuit, run, _parts_of(case, run.name), branch.solar)
    return Feed(
        name=run.name,
        current_a=run.current_a,
        length_m=run.length_m,
        choice=made.choice,
        fuse=made.fuse,
        fault_a=circuit.at_distribution().most_a,
        problem=made.problem,
        key=branch.key,
        parts=made.parts,
    )
