"""Which installed parts of the bank and its main run stay, go, or are needed no longer."""

from collections.abc import Callable, Iterable
from dataclasses import replace

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.circuit import Circuit, ReusedParts
from tco.bank.wiring.part_decisions import (
    ROUNDING,
    Judged,
    PartDecision,
    another_stays,
    as_conductor,
    as_fuse,
    as_wished,
    insulated,
    judged_fuse,
    rated,
    settled,
)
from tco.case import Case
from tco.case.parts import ExistingPart
from tco.physics.conductors import ConductorChoice
from tco.sentences import joined, metres, says


def decide_parts(
    case: Case, arrangement: Arrangement, circuit: Circuit
) -> tuple[PartDecision, ...]:
    """Judge the parts of the bank and its main run against a circuit without reused parts.

    Parts of branches and of the distribution are left out, and what spares are for is not asked.
    """
    decided = [
        _decide(part, case, arrangement, circuit)
        for part in case.system.parts
        if part.kind in _JUDGES
    ]
    stays = {kind for d in decided if d.decision == "keep" for kind in _same_place(d.part.kind)}
    return tuple(
        another_stays(one) if one.decision == "replace" and one.part.kind in stays else one
        for one in decided
    )


def reused_parts(case: Case, circuit: Circuit, decisions: Iterable[PartDecision]) -> ReusedParts:
    """Cable and fuses that stay, as the circuit takes them in place of new ones."""
    found = ReusedParts()
    for decision in decisions:
        part = decision.part
        if decision.decision != "keep":
            continue
        if part.kind == "main cable" and found.main_cable is None:
            found = replace(found, main_cable=_as_choice(part, case, circuit))
        elif part.kind == "main fuse" and found.main_fuse is None:
            found = replace(found, main_fuse=as_fuse(part, circuit.charging_v))
        elif (
            part.kind == "string fuse"
            and found.string_fuse is None
            and circuit.string_duty is not None  # else it is kept for its own sake, in no circuit
        ):
            found = replace(found, string_fuse=as_fuse(part, circuit.charging_v))
    return found


def _same_place(kind: str) -> tuple[str, ...]:
    return ("monitor", "shunt") if kind in ("monitor", "shunt") else (kind,)


def _decide(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> PartDecision:
    judged = _JUDGES[part.kind](part, case, arrangement, circuit)
    return settled(part, *as_wished(part, *judged))


def _main_fuse(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> Judged:
    guarded = [_main_cable_then(case, arrangement, circuit).fuse_limit_a]
    if circuit.string_fuse is None:  # the main fuse alone protects the links of a single string
        guarded += [cable.choice.fuse_limit_a for cable in circuit.of_role("link")]
    return judged_fuse(part, replace(circuit.main_duty, conductor_ampacity_a=min(guarded)))


def _main_cable_then(case: Case, arrangement: Arrangement, circuit: Circuit) -> ConductorChoice:
    """The main cable as it will be: an installed one that stays, or the new one."""
    for part in case.system.parts:
        if (
            part.kind == "main cable"
            and _decide(part, case, arrangement, circuit).decision == "keep"
        ):
            return _as_choice(part, case, circuit)
    return circuit.of_role("main")[0].choice


def _string_fuse(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> Judged:
    leads = circuit.of_role("lead")
    if circuit.string_duty is None:
        return "no longer needed", "one string has no fuse of its own; the main fuse protects it"
    if part.quantity < arrangement.parallel:
        return "replace", f"{part.quantity} there, one for each of {arrangement.parallel} needed"
    guarded = min(c.choice.fuse_limit_a for c in (*leads, *circuit.of_role("link")))
    for jumper in circuit.of_role("jumper"):  # fed through the fuses of all other strings
        guarded = min(guarded, jumper.choice.fuse_limit_a / (arrangement.parallel - 1))
    return judged_fuse(part, replace(circuit.string_duty, conductor_ampacity_a=guarded))


def _as_choice(part: ExistingPart, case: Case, circuit: Circuit) -> ConductorChoice:
    """The installed main cable as a conductor of the circuit."""
    return as_conductor(
        part,
        case,
        current_a=circuit.current_a,
        length_m=circuit.main_run_m,
        like=circuit.of_role("main")[0].choice,
    )


def _cable(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> Judged:
    need = circuit.of_role("main")[0].choice
    if part.size is None or part.length_m is None:
        return "replace", "its size or length is not known"
    has = _as_choice(part, case, circuit)
    runs = f"{need.runs} × " if need.runs > 1 else ""
    faults: list[str] = []
    if _carries_too_little(has, circuit):
        faults.append(
            says(
                f"it may carry {has.fuse_limit_a:.0f} A (",
                insulated(part, case),
                f"), less than the {circuit.main_fuse.rating_a:g} A of the main fuse",
            )
        )
    if _loses_too_much(has, circuit):
        faults.append(
            f"it loses {has.voltage_drop_v:.2f} V and may lose {circuit.main_drop_v:.2f} V"
        )
    if faults:
        return "replace", says(
            f"{part.size} is too thin: ",
            joined(" and ", faults),
            f"; {runs}{need.conductor.label} needed",
        )
    needed_m = _needed_m(circuit)
    if part.length_m < needed_m - ROUNDING:
        return "replace", says(
            "too short: ", metres(part.length_m, "g"), " there, ", metres(needed_m), " needed"
        )
    return "keep", says(
        f"{part.size} carries {has.ampacity_a:.0f} A (",
        insulated(part, case),
        f"), loses {has.voltage_drop_v:.2f} V of the {circuit.main_drop_v:.2f} V it may lose, and "
        "is long enough",
    )


def _carries_too_little(has: ConductorChoice, circuit: Circuit) -> bool:
    return has.fuse_limit_a < circuit.main_fuse.rating_a - ROUNDING


def _loses_too_much(has: ConductorChoice, circuit: Circuit) -> bool:
    return has.voltage_drop_v > circuit.main_drop_v * (1.0 + ROUNDING)


def _needed_m(circuit: Circuit) -> float:
    return 2.0 * circuit.main_run_m


def drop_of_a_cable_that_only_loses_too_much(case: Case, circuit: Circuit) -> float | None:
    """Voltage that a main cable would lose which fails by that alone; None where there is none.

    Of several the one that loses least. [V]
    """
    found = []
    for part in case.system.parts:
        if part.kind != "main cable" or part.wish == "be rid of":
            continue
        if part.size is None or part.length_m is None:
            continue
        has = _as_choice(part, case, circuit)
        long_enough = part.length_m >= _needed_m(circuit) - ROUNDING
        if long_enough and _loses_too_much(has, circuit) and not _carries_too_little(has, circuit):
            found.append(has.voltage_drop_v)
    return min(found, default=None)


def _busbars(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> Judged:
    if circuit.take_off != "busbars":
        return "no longer needed", "this arrangement is wired without busbars"
    return rated(part, circuit.current_a)


def _switch(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> Judged:
    return rated(part, circuit.current_a)


def _shunt(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> Judged:
    """A monitor or its bare shunt: needed where the pack shows no state of charge of its own."""
    weak = part.rating_a is not None and part.rating_a < circuit.current_a - ROUNDING
    if arrangement.pack.charge_display:
        if weak:
            return "remove", (
                f"the pack shows its own state of charge, and the shunt of {part.rating_a:g} A is "
                f"too weak for the {circuit.current_a:.0f} A in the negative"
            )
        if part.wish == "keep" and part.rating_a is None:
            return "remove", "all of the current passes its shunt, whose rating is not known"
        return "no longer needed", "the pack shows its own state of charge"
    if weak:
        return "replace", f"its shunt is rated {part.rating_a:g} A; {circuit.current_a:.0f} A flow"
    if part.rating_a is None:
        return "replace", (
            f"the rating of its shunt is not known; {circuit.current_a:.0f} A flow in the negative"
        )
    return "keep", (
        f"the pack has no display of its own, and {part.rating_a:g} A carry "
        f"{circuit.current_a:.0f} A; set it to the new capacity"
    )


def _management(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> Judged:
    chemistry = arrangement.pack.chemistry
    if not chemistry.cell_management:
        return "no longer needed", f"{chemistry.family_name} has no cells to manage one by one"
    if arrangement.pack.internal_management:
        return "no longer needed", "the pack brings its own management"
    return "keep", "the pack has none of its own: it must be matched to the new cells"


def _contactor(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> Judged:
    decision, reason = _management(part, case, arrangement, circuit)
    if decision != "keep":
        return decision, reason
    judged, words = rated(part, circuit.current_a)
    return judged, f"{words}; the external management cuts off through it"


def _balancer(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> Judged:
    if arrangement.series == 1:
        return "no longer needed", "no packs in series to balance"
    name = arrangement.pack.name
    linked = any(c.management_link for c in case.candidates if c.name == name)
    if linked and arrangement.pack.internal_management:
        return "no longer needed", "the packs' own management is linked from pack to pack"
    return "keep", (
        f"evens out {arrangement.series} packs in series, which a pack's own management does not; "
        "check its voltage range"
    )


def _spare(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> Judged:
    return "no longer needed", "a spare for parts that go"


_JUDGES: dict[str, Callable[[ExistingPart, Case, Arrangement, Circuit], Judged]] = {
    "main fuse": _main_fuse,
    "string fuse": _string_fuse,
    "main cable": _cable,
    "busbars": _busbars,
    "switch": _switch,
    "shunt": _shunt,
    "monitor": _shunt,
    "external management": _management,
    "contactor": _contactor,
    "balancer": _balancer,
    "spare": _spare,
}
