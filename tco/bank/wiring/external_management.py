"""Who watches the cells: the pack itself, or an external management that opens a contactor.

Cells that may neither be overcharged nor deeply discharged need something that watches each of them
and can disconnect the bank (makers' instructions; IEC 62619 asks it of the battery system; from
memory). One external unit watches the cells of one string; all of them open one contactor.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.part_decisions import PartDecision
from tco.case import Case

UNIT, CONTACTOR = "external management", "contactor"


@dataclass(frozen=True)
class Wanted:
    """A part of an external management that has to be bought; `price` None: none is stated."""

    part: str
    quantity: int
    price: float | None


def needs_external(arrangement: Arrangement) -> bool:
    """Whether the cells need watching and the packs do not do it themselves."""
    pack = arrangement.pack
    return pack.chemistry.cell_management and not pack.internal_management


def wanted_parts(
    case: Case, arrangement: Arrangement, decisions: Sequence[PartDecision]
) -> tuple[Wanted, ...]:
    """What of an external management is not there; nothing where the packs need none."""
    if not needs_external(arrangement):
        return ()
    there = {UNIT: 0, CONTACTOR: 0}
    stated = {UNIT: case.prices.external_management_price, CONTACTOR: case.prices.contactor_price}
    for decision in decisions:
        kind = decision.part.kind
        if kind in there and decision.decision == "keep":
            there[kind] += decision.part.quantity
        elif kind in there and decision.decision == "replace" and decision.part.price is not None:
            stated[kind] = decision.part.price / decision.part.quantity
    wanted = {UNIT: arrangement.parallel, CONTACTOR: 1}
    return tuple(
        Wanted(kind, wanted[kind] - there[kind], stated[kind])
        for kind in wanted
        if wanted[kind] > there[kind]
    )


def can_disconnect(case: Case, arrangement: Arrangement) -> bool:
    """Whether something may disconnect the bank under a source that charges it."""
    if not needs_external(arrangement):
        return arrangement.pack.chemistry.cell_management
    installed = any(part.kind == CONTACTOR for part in case.system.parts)
    return installed or case.prices.contactor_price is not None
