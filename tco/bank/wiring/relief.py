"""A main cable that is there and loses a little too much, relieved by thicker cables of the bank.

Leads, jumpers and links are each sized for a share of the allowed drop, and the main run keeps to
what they leave. Where an installed main cable fails by nothing else, they may be made to leave it
more: what they cost more is set against a new main cable.
"""

from collections.abc import Iterator, Mapping

from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.circuit_parts import Role
from tco.bank.wiring.installed_parts import drop_of_a_cable_that_only_loses_too_much
from tco.bank.wiring.sizing import USUAL_PARTS, DropParts
from tco.case import Case
from tco.physics.conductors import ConductorChoice

_MARGIN = 1e-6
"""Of the drop, against rounding."""


def relieving(case: Case, circuit: Circuit) -> Iterator[DropParts]:
    """Shares of the drop with which a main cable that only loses too much would stay.

    One kind of the bank's cables made thicker, then all of them; nothing where no main cable fails
    by its drop alone, or where it loses more than all of them leave.
    """
    has_v = drop_of_a_cable_that_only_loses_too_much(case, circuit)
    if has_v is None:
        return
    allowed_v = case.assumptions.critical_drop * case.system.nominal_voltage_v
    left_v = allowed_v - has_v * (1.0 + _MARGIN)
    drops = {role: drop_v for role, drop_v in circuit.bank_drops_v.items() if drop_v > 0.0}
    groups: list[tuple[Role, ...]] = [(role,) for role in drops]
    if len(drops) > 1:
        groups.append(tuple(drops))
    for group in groups:
        of_group = sum(drops[role] for role in group)
        may_v = left_v - (sum(drops.values()) - of_group)
        if may_v > 0.0:
            factor = may_v / of_group
            sized = {role: _share(circuit, role, allowed_v) * factor for role in group}
            yield _parts(sized)


def _share(circuit: Circuit, role: Role, allowed_v: float) -> float:
    """What the cables of one role lose where they were sized, of the allowed drop."""
    return circuit.of_role(role)[0].choice.voltage_drop_v / allowed_v


def _parts(sized: Mapping[Role, float]) -> DropParts:
    return DropParts(
        lead=sized.get("lead", USUAL_PARTS.lead),
        jumper=sized.get("jumper", USUAL_PARTS.jumper),
        link=sized.get("link", USUAL_PARTS.link),
    )


_NAMES: Mapping[Role, str] = {"lead": "string leads", "jumper": "jumpers", "link": "series links"}


def what_is_thicker(usual: Circuit, other: Circuit) -> str:
    """The cables of a bank that another circuit of it has thicker, in words."""
    found = []
    for role, name in _NAMES.items():
        for old, new in zip(usual.of_role(role)[:1], other.of_role(role)[:1], strict=True):
            if _size(old.choice) != _size(new.choice):
                found.append(f"{name} of {_size(new.choice)} in place of {_size(old.choice)}")
    return " and ".join(found)


def _size(choice: ConductorChoice) -> str:
    runs = f"{choice.runs} × " if choice.runs > 1 else ""
    return f"{runs}{choice.conductor.label}"
