"""What it takes to wire an arrangement: its circuit, what becomes of old parts, and the bill.

A bank of four honestly costs more to wire than a bank of one: every fuse, lead, lug and minute is
in `Wiring.bill`, less the parts that stay.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from tco.bank.arrangements import Arrangement
from tco.bank.checks.alternators import needs_alternator_protection
from tco.bank.fit.spread import TOGETHER, Spread
from tco.bank.wiring.bill import LABOUR, BillLine, bill
from tco.bank.wiring.charger_settings import Setting, charger_settings
from tco.bank.wiring.circuit import NOTHING_REUSED, Circuit, circuit
from tco.bank.wiring.external_management import needs_external, wanted_parts
from tco.bank.wiring.feeds import Feed, decide_branch_parts, feeds, has_parts_of_branches
from tco.bank.wiring.installed_parts import decide_parts, reused_parts
from tco.bank.wiring.part_decisions import PartDecision, reused_kinds, with_spares
from tco.bank.wiring.relief import relieving, what_is_thicker
from tco.bank.wiring.sizing import USUAL_PARTS, CannotWire, DropParts
from tco.case import Case
from tco.case.words import money
from tco.physics.fuses import FuseChoice
from tco.sentences import says

CAUTION = (
    "A bank can drive thousands of amperes through a dropped spanner. Sizes and fuses here are a "
    "plan, not an approval: follow the makers' instructions and the local code (afloat ABYC E-11 "
    "or ISO 13297, in the US the NEC, elsewhere the rules after IEC 60364), fuse close to the "
    "terminal, and have the work done or checked by somebody licensed for it."
)


@dataclass(frozen=True)
class Wiring:
    """The wiring of one arrangement.

    `parts` says what becomes of each part that is there already, `settings` what to change on the
    chargers, `exposed_alternators` which alternators need protection from a pack that
    disconnects. The bill holds only what has to be bought or done.
    """

    circuit: Circuit
    parts: tuple[PartDecision, ...]
    settings: tuple[Setting, ...]
    exposed_alternators: tuple[str, ...]
    bill: tuple[BillLine, ...]

    @property
    def cost(self) -> float:
        """Sum of the bill, without tax."""
        return sum(line.cost for line in self.bill)

    @property
    def labour_cost(self) -> float:
        """The labour in the bill, without tax."""
        return sum(line.cost for line in self.bill if line.part == LABOUR)

    @property
    def labour_hours(self) -> float:
        """Hours of fitting and wiring."""
        return sum(line.quantity for line in self.bill if line.part == LABOUR)

    @property
    def connections(self) -> int:
        """Crimped and bolted ends of the whole circuit, old cables that stay included."""
        return self.circuit.connections

    @property
    def resistance_ohm(self) -> float:
        """Cables, joints and fuses seen by the inverter, without the packs. [ohm]"""
        return self.circuit.ohm

    @property
    def short_circuit_a(self) -> float:
        """What a dead short at the bank could draw. [A]"""
        return self.circuit.short_circuit_a

    @property
    def main_fuse(self) -> FuseChoice:
        """The fuse of the main run."""
        return self.circuit.main_fuse

    @property
    def string_fuse(self) -> FuseChoice | None:
        """The fuse of each string; None with one string, which the main fuse protects."""
        return self.circuit.string_fuse

    @property
    def yearly_saving(self) -> float:
        """Upkeep of parts that are no longer there."""
        return sum(decision.yearly_saving for decision in self.parts)


def wire(
    case: Case,
    arrangement: Arrangement,
    *,
    current_a: float,
    surge_a: float = 0.0,
    spread: Spread = TOGETHER,
) -> Wiring:
    """Wire an arrangement for a continuous current at its terminals.

    A monitor with its shunt stays in the circuit where one is installed already and the pack has
    no state-of-charge display of its own.

    Parameters
    ----------
    current_a
        The current the loads draw, at the inverter's cut-off voltage. [A]
    surge_a
        What they draw while the worst of them starts, there too; 0 for no more. [A]
    spread
        Which of the bank's cables run from one space to another.

    Raises
    ------
    CannotWire
        When no conductor or fuse does; the message says what would have to change.
    """
    wired = partial(_wired, case, arrangement, current_a=current_a, surge_a=surge_a, spread=spread)
    usual, judged = wired()
    others = []
    for drop_parts in relieving(case, judged):
        try:
            other, _ = wired(drop_parts=drop_parts)
        except CannotWire:
            continue
        if _main_cable_stays(other) and _bends_in_its_space(case, usual.circuit, other.circuit):
            others.append(other)
    if not others:
        return usual
    return _cheaper(case, usual, min(others, key=_net_cost))


def _wired(
    case: Case,
    arrangement: Arrangement,
    *,
    current_a: float,
    surge_a: float,
    spread: Spread,
    drop_parts: DropParts = USUAL_PARTS,
) -> tuple[Wiring, Circuit]:
    """The wiring with the bank's cables sized for their shares of the drop, and the circuit
    without reused parts that old ones were judged by."""
    shunt = has_shunt(case, arrangement)
    placed = partial(
        circuit,
        case,
        arrangement,
        current_a=current_a,
        surge_a=surge_a,
        with_contactor=needs_external(arrangement),
        spread=spread,
        drop_parts=drop_parts,
    )
    judged = built = placed(with_shunt=shunt)
    decisions = decide_parts(case, arrangement, judged)
    reused = reused_parts(case, judged, decisions)
    # one that its owner wants to keep, though the pack has a display of its own
    kept = not shunt and bool(reused_kinds(decisions) & {"monitor", "shunt"})
    if kept or reused != NOTHING_REUSED:
        built = placed(with_shunt=shunt or kept, reused=reused)
    branches: tuple[Feed, ...] = ()
    if has_parts_of_branches(case):
        branches = feeds(case, built)
        decisions = (*decisions, *decide_branch_parts(case, built, branches))
    decisions = _as_listed(case, with_spares(decisions))
    exposed = needs_alternator_protection(case, arrangement)
    made = Wiring(
        circuit=built,
        parts=decisions,
        settings=charger_settings(case, arrangement, built.sharing.unevenness),
        exposed_alternators=exposed,
        bill=bill(
            case,
            arrangement,
            built,
            decisions=decisions,
            branches=branches,
            management=wanted_parts(case, arrangement, decisions),
            protect_alternators=len(exposed),
        ),
    )
    return made, judged


def _as_listed(case: Case, decisions: Iterable[PartDecision]) -> tuple[PartDecision, ...]:
    """Decisions in the order in which the case lists the parts."""
    places = {id(part): place for place, part in enumerate(case.system.parts)}
    return tuple(sorted(decisions, key=lambda decision: places[id(decision.part)]))


def _main_cable_stays(wiring: Wiring) -> bool:
    return any(d.part.kind == "main cable" and d.decision == "keep" for d in wiring.parts)


def _bends_in_its_space(case: Case, usual: Circuit, other: Circuit) -> bool:
    """Whether thicker cables take no more room at the terminals than is kept free anyway."""
    free_mm = min(space.clearance_top_mm for space in case.system.spaces)
    return other.bend_radius_mm <= max(usual.bend_radius_mm, free_mm)


def _net_cost(wiring: Wiring) -> float:
    """Bill less what the parts that go bring."""
    return wiring.cost - sum(decision.value for decision in wiring.parts)


def _cheaper(case: Case, usual: Wiring, relieved: Wiring) -> Wiring:
    """A new main cable, or thicker cables of the bank that relieve the old one, with the reason."""
    currency = case.prices.currency
    new, thick = (money(_net_cost(wiring), currency, digits=2) for wiring in (usual, relieved))
    thicker = what_is_thicker(usual.circuit, relieved.circuit)
    if _net_cost(relieved) <= _net_cost(usual):
        words = (
            f"; {thicker} relieve it: the wiring costs {thick} so, and {new} with a new main cable"
        )
        return replace(relieved, parts=_told(relieved.parts, "keep", words))
    words = (
        f"; {thicker} would relieve it, but the wiring would cost {thick} so, and {new} with a new "
        "main cable"
    )
    return replace(usual, parts=_told(usual.parts, "replace", words))


def _told(parts: Sequence[PartDecision], decision: str, words: str) -> tuple[PartDecision, ...]:
    """Decisions with words added to that on the main cable."""
    return tuple(
        replace(one, reason=says(one.reason, words))
        if one.part.kind == "main cable" and one.decision == decision
        else one
        for one in parts
    )


def has_shunt(case: Case, arrangement: Arrangement) -> bool:
    """Whether a monitor's shunt sits in the negative of this arrangement."""
    if arrangement.pack.charge_display:
        return False
    return any(part.kind in ("monitor", "shunt") for part in case.system.parts)
