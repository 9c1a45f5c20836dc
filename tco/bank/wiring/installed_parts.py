"""Which installed parts stay, go, or are needed no longer, and what that is worth.

A part of which nothing is known is not trusted: a fuse without a class has no known interrupt
rating, and is replaced. "Replace" buys a new one of the kind; "remove" has to come out because it
is in the way of the current or would work against the packs; "no longer needed" may come out.
Under-rated parts say by how much.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charger_current_a, charger_suits, takes_a
from tco.bank.wiring.circuit import Circuit, ReusedParts
from tco.bank.wiring.sizing import hot
from tco.case import Case
from tco.case.parts import ExistingPart
from tco.case.use import Solar
from tco.physics.ampacity import ampacity_a, overcurrent_limit_a
from tco.physics.conductor_sizes import find_conductor
from tco.physics.conductors import ConductorChoice, voltage_drop_v
from tco.physics.fuse_classes import find_fuse_class, interrupt_rating_a
from tco.physics.fuses import FuseChoice, FuseDuty, shortcomings
from tco.sentences import degc, joined, metres, says

Decision = Literal["keep", "replace", "remove", "no longer needed"]

_ROUNDING = 1e-9

_Judged = tuple[Decision, str]


@dataclass(frozen=True)
class PartDecision:
    """What becomes of one part. `value` is the money it brings (sale price) when it goes.

    `yearly_saving` is upkeep that is no longer paid.
    """

    part: ExistingPart
    decision: Decision
    reason: str
    value: float
    yearly_saving: float


def decide_parts(
    case: Case, arrangement: Arrangement, circuit: Circuit
) -> tuple[PartDecision, ...]:
    """Judge every installed part against the circuit of an arrangement (without reused parts)."""
    decided = [_decide(part, case, arrangement, circuit) for part in case.system.parts]
    decided = [_with_what_it_serves(decision, decided) for decision in decided]
    stays = {kind for d in decided if d.decision == "keep" for kind in _same_place(d.part.kind)}
    found = []
    for decision in decided:
        if decision.decision == "replace" and decision.part.kind in stays:
            reason = says(decision.reason, "; another one that serves stays in its place")
            decision = _settled(decision.part, "remove", reason)
        found.append(decision)
    return tuple(found)


def reused_kinds(decisions: Iterable[PartDecision]) -> frozenset[str]:
    """Kinds of part that stay, so that they are not bought again."""
    return frozenset(d.part.kind for d in decisions if d.decision == "keep")


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
            found = replace(found, main_fuse=_as_fuse(part, circuit))
        elif (
            part.kind == "string fuse"
            and found.string_fuse is None
            and circuit.string_duty is not None  # else it is kept for its own sake, in no circuit
        ):
            found = replace(found, string_fuse=_as_fuse(part, circuit))
    return found


def _same_place(kind: str) -> tuple[str, ...]:
    return ("monitor", "shunt") if kind in ("monitor", "shunt") else (kind,)


def _decide(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> PartDecision:
    judged = _JUDGES[part.kind](part, case, arrangement, circuit)
    return _settled(part, *_as_wished(part, *judged))


def _as_wished(part: ExistingPart, decision: Decision, reason: str) -> _Judged:
    """The judgement as its owner wants it, as far as that is safe."""
    if part.wish == "be rid of" and decision == "keep":
        if part.kind in _DISPENSABLE:
            return "remove", says("you want to be rid of it; it ", reason)
        return "replace", "you want to be rid of it: a new one takes its place"
    if part.wish == "keep" and decision == "no longer needed":
        return "keep", says("you want to keep it; not needed here: ", reason)
    if part.wish == "keep" and decision != "keep":
        return decision, says("you want to keep it, but that is not safe: ", reason)
    return decision, reason


_DISPENSABLE = ("balancer", "spare")


def _with_what_it_serves(decision: PartDecision, decided: Iterable[PartDecision]) -> PartDecision:
    """A spare stays while a part that it is for does."""
    part = decision.part
    kept = any(one.decision == "keep" and one.part.kind == part.serves for one in decided)
    if part.kind != "spare" or part.wish is not None or not kept:
        return decision
    return _settled(part, "keep", f"a spare for the {part.serves} that stays")


def _settled(part: ExistingPart, decision: Decision, reason: str) -> PartDecision:
    goes = decision != "keep"
    return PartDecision(
        part=part,
        decision=decision,
        reason=reason,
        value=part.sale_price if goes else 0.0,
        yearly_saving=part.yearly_upkeep if decision in ("remove", "no longer needed") else 0.0,
    )


def _main_fuse(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
    guarded = [_main_cable_then(case, arrangement, circuit).fuse_limit_a]
    if circuit.string_fuse is None:  # the main fuse alone protects the links of a single string
        guarded += [cable.choice.fuse_limit_a for cable in circuit.of_role("link")]
    return _fuse(part, replace(circuit.main_duty, conductor_ampacity_a=min(guarded)))


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
) -> _Judged:
    leads = circuit.of_role("lead")
    if circuit.string_duty is None:
        return "no longer needed", "one string has no fuse of its own; the main fuse protects it"
    if part.quantity < arrangement.parallel:
        return "replace", f"{part.quantity} there, one for each of {arrangement.parallel} needed"
    guarded = min(c.choice.fuse_limit_a for c in (*leads, *circuit.of_role("link")))
    for jumper in circuit.of_role("jumper"):  # fed through the fuses of all other strings
        guarded = min(guarded, jumper.choice.fuse_limit_a / (arrangement.parallel - 1))
    return _fuse(part, replace(circuit.string_duty, conductor_ampacity_a=guarded))


def _fuse(part: ExistingPart, duty: FuseDuty) -> _Judged:
    """Judge a fuse by what is asked of one at its place."""
    if part.fuse_class is None or part.rating_a is None:
        return "replace", "its class or rating is not known, so neither is what it can interrupt"
    fuse_class = find_fuse_class(part.fuse_class)
    lacking = shortcomings(fuse_class, part.rating_a, duty)
    if lacking:
        return "replace", "; ".join(one.words for one in lacking)
    return "keep", (
        f"carries {duty.load_current_a:.0f} A, protects the cable, and can interrupt "
        f"{interrupt_rating_a(fuse_class, duty.voltage_v):,.0f} A; a dead short could draw "
        f"{duty.prospective_a:,.0f} A"
    )


def _as_fuse(part: ExistingPart, circuit: Circuit) -> FuseChoice:
    assert part.fuse_class is not None  # or it would not be reused
    assert part.rating_a is not None
    fuse_class = find_fuse_class(part.fuse_class)
    return FuseChoice(
        fuse_class=fuse_class,
        rating_a=part.rating_a,
        interrupt_a=interrupt_rating_a(fuse_class, circuit.charging_v),
        reason="installed already, and stays",
    )


def _as_choice(part: ExistingPart, case: Case, circuit: Circuit) -> ConductorChoice:
    """The installed main cable as a conductor of the circuit, one run each way."""
    assert part.size is not None  # a cable of which the size is not known is not reused
    conductor, code = find_conductor(part.size), case.system.wiring_code
    insulation = part.insulation_degc or case.system.installed_insulation_degc
    may_a = ampacity_a(
        conductor,
        engine_space=hot(case),
        bundled=case.system.bundled_conductors,
        insulation_degc=insulation,
        code=code,
    )
    return ConductorChoice(
        conductor=conductor,
        runs=1,
        governed_by=circuit.of_role("main")[0].choice.governed_by,
        voltage_drop_v=float(voltage_drop_v(circuit.current_a, circuit.main_run_m, conductor)),
        ampacity_a=may_a,
        fuse_limit_a=overcurrent_limit_a(conductor, may_a, code),
        insulation_degc=insulation,
    )


def _cable(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    need = circuit.of_role("main")[0].choice
    if part.size is None or part.length_m is None:
        return "replace", "its size or length is not known"
    has = _as_choice(part, case, circuit)
    runs = f"{need.runs} × " if need.runs > 1 else ""
    faults: list[str] = []
    known = part.insulation_degc or case.system.insulation_degc
    insulated = says(
        "insulation for ",
        degc(has.insulation_degc, "g"),
        "" if known else ", as none is stated",
    )
    if has.fuse_limit_a < circuit.main_fuse.rating_a - _ROUNDING:
        faults.append(
            says(
                f"it may carry {has.fuse_limit_a:.0f} A (",
                insulated,
                f"), less than the {circuit.main_fuse.rating_a:g} A of the main fuse",
            )
        )
    if has.voltage_drop_v > circuit.main_drop_v * (1.0 + _ROUNDING):
        faults.append(
            f"it loses {has.voltage_drop_v:.2f} V and may lose {circuit.main_drop_v:.2f} V"
        )
    if faults:
        return "replace", says(
            f"{part.size} is too thin: ",
            joined(" and ", faults),
            f"; {runs}{need.conductor.label} needed",
        )
    needed_m = 2.0 * circuit.main_run_m
    if part.length_m < needed_m - _ROUNDING:
        return "replace", says(
            "too short: ", metres(part.length_m, "g"), " there, ", metres(needed_m), " needed"
        )
    return "keep", says(
        f"{part.size} carries {has.ampacity_a:.0f} A (",
        insulated,
        f"), loses {has.voltage_drop_v:.2f} V of the {circuit.main_drop_v:.2f} V it may lose, and "
        "is long enough",
    )


def _busbars(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    if circuit.take_off != "busbars":
        return "no longer needed", "this arrangement is wired without busbars"
    return _rated(part, circuit.current_a)


def _switch(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    return _rated(part, circuit.current_a)


def _rated(part: ExistingPart, current_a: float) -> _Judged:
    if part.rating_a is None:
        return "replace", "its rating is not known"
    if part.rating_a < current_a - _ROUNDING:
        return "replace", f"rated {part.rating_a:g} A; {current_a:.0f} A flow for long"
    return "keep", f"rated {part.rating_a:g} A for {current_a:.0f} A"


def _shunt(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    """A monitor or its bare shunt: needed where the pack shows no state of charge of its own."""
    weak = part.rating_a is not None and part.rating_a < circuit.current_a - _ROUNDING
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
) -> _Judged:
    chemistry = arrangement.pack.chemistry
    if not chemistry.cell_management:
        return "no longer needed", f"{chemistry.family_name} has no cells to manage one by one"
    if arrangement.pack.internal_management:
        return "no longer needed", "the pack brings its own management"
    return "keep", "the pack has none of its own: it must be matched to the new cells"


def _contactor(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
    decision, reason = _management(part, case, arrangement, circuit)
    if decision != "keep":
        return decision, reason
    judged, words = _rated(part, circuit.current_a)
    return judged, f"{words}; the external management cuts off through it"


def _balancer(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
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


def _spare(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    return "no longer needed", "a spare for parts that go"


_JUDGES: dict[str, Callable[[ExistingPart, Case, Arrangement, Circuit], _Judged]] = {
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


@dataclass(frozen=True)
class Setting:
    """One thing to set anew on a charger, or to add to it."""

    charger: str
    setting: str
    value: str
    reason: str


def charger_settings(
    case: Case, arrangement: Arrangement, unevenness: float = 1.0
) -> tuple[Setting, ...]:
    """Settings of every charger that stays or is replaced, with the reason for each.

    Voltages are the chemistry's usual ones (common practice); the maker's figures go first.
    `unevenness`: current of the hardest-worked string over an equal share.
    """
    chemistry = arrangement.pack.chemistry
    cells = arrangement.series * arrangement.pack.cells_in_series
    absorption = arrangement.charging_voltage_v
    float_v = min(cells * chemistry.float_v, absorption)
    most_a = takes_a(arrangement, unevenness)
    found: list[Setting] = []
    for charger in case.sources.chargers():
        suits = charger_suits(charger, arrangement)
        if not suits and charger.replacement_price is None:
            continue  # it cannot be set to it; screening says so
        name = charger.name if suits else f"what replaces {charger.name}"
        usual = f"usual for {chemistry.name}; the maker's figure goes first"
        told = usual if "charge_voltage_v" in arrangement.pack.assumed else "as the maker states"
        found += [
            Setting(name, "absorption voltage", f"{absorption:.1f} V", told),
            Setting(name, "float voltage", f"{float_v:.1f} V", usual),
        ]
        gives_a = charger_current_a(case, charger)
        if gives_a > most_a + _ROUNDING and (
            charger.current_adjustable or isinstance(charger, Solar)
        ):
            found.append(
                Setting(
                    name,
                    "charge current",
                    f"at most {most_a:.0f} A",
                    f"it gives up to {gives_a:.0f} A, more than the packs take",
                )
            )
        by_warmth, why = (
            ("on", f"{chemistry.family_name} takes less when warm")
            if chemistry.temperature_compensation
            else ("off", "it would overcharge a cold pack")
        )
        found.append(Setting(name, "temperature compensation", by_warmth, why))
        if chemistry.cell_management:
            harm = "its voltage makes the pack disconnect, or harms it"
            found.append(Setting(name, "equalise", "off", harm))
        if chemistry.cold_charge_cutoff:
            coldest = says(degc(arrangement.pack.charge_min_degc, "g"))
            bars = (
                "; the pack also bars it by itself"
                if arrangement.pack.low_temperature_cutoff
                else ", and the pack does not bar it by itself"
            )
            found.append(
                Setting(
                    name,
                    "low-temperature limit",
                    coldest,
                    says("no charging below ", coldest, bars),
                )
            )
    return tuple(found)
