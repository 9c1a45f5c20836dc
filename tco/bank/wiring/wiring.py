"""What it takes to wire an arrangement: its circuit, what becomes of old parts, and the bill.

A bank of four honestly costs more to wire than a bank of one: every fuse, lead, lug and minute is
in `Wiring.bill`, less the parts that stay.
"""

from dataclasses import dataclass
from functools import partial

from tco.bank.arrangements import Arrangement
from tco.bank.checks.alternators import needs_alternator_protection
from tco.bank.fit.spread import TOGETHER, Spread
from tco.bank.wiring.bill import LABOUR, BillLine, bill
from tco.bank.wiring.circuit import NOTHING_REUSED, Circuit, circuit
from tco.bank.wiring.external_management import needs_external, wanted_parts
from tco.bank.wiring.installed_parts import (
    PartDecision,
    Setting,
    charger_settings,
    decide_parts,
    reused_kinds,
    reused_parts,
)
from tco.case import Case
from tco.physics.fuses import FuseChoice

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
    shunt = has_shunt(case, arrangement)
    placed = partial(
        circuit,
        case,
        arrangement,
        current_a=current_a,
        surge_a=surge_a,
        with_contactor=needs_external(arrangement),
        spread=spread,
    )
    built = placed(with_shunt=shunt)
    decisions = decide_parts(case, arrangement, built)
    reused = reused_parts(case, built, decisions)
    # one that its owner wants to keep, though the pack has a display of its own
    kept = not shunt and bool(reused_kinds(decisions) & {"monitor", "shunt"})
    if kept or reused != NOTHING_REUSED:
        built = placed(with_shunt=shunt or kept, reused=reused)
    exposed = needs_alternator_protection(case, arrangement)
    return Wiring(
        circuit=built,
        parts=decisions,
        settings=charger_settings(case, arrangement, built.sharing.unevenness),
        exposed_alternators=exposed,
        bill=bill(
            case,
            arrangement,
            built,
            decisions=decisions,
            management=wanted_parts(case, arrangement, decisions),
            protect_alternators=len(exposed),
        ),
    )


def has_shunt(case: Case, arrangement: Arrangement) -> bool:
    """Whether a monitor's shunt sits in the negative of this arrangement."""
    if arrangement.pack.charge_display:
        return False
    return any(part.kind in ("monitor", "shunt") for part in case.system.parts)
