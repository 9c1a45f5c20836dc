"""Which installed parts stay, go, or are needed no longer, and what that is worth.

A part of which nothing is known is not trusted: a fuse without a class has no known interrupt
rating, and is replaced.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from tco.bank.arrangements import Arrangement
from tco.bank.circuit import Circuit
from tco.case import Case
from tco.case.parts import ExistingPart
from tco.physics.conductors import find_conductor
from tco.physics.fuses import CONTINUOUS_FILL, find_fuse_class, interrupt_rating_a

Decision = Literal["keep", "replace", "remove", "no longer needed"]


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
    """Judge every installed part against the circuit of an arrangement."""
    return tuple(_decide(part, case, arrangement, circuit) for part in case.system.parts)


def reused(decisions: Iterable[PartDecision]) -> frozenset[str]:
    """Kinds of part that stay, so that they are not bought again."""
    return frozenset(d.part.kind for d in decisions if d.decision == "keep")


def _decide(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> PartDecision:
    judge = _JUDGES[part.kind]
    decision, reason = judge(part, case, arrangement, circuit)
    goes = decision != "keep"
    return PartDecision(
        part=part,
        decision=decision,
        reason=reason,
        value=part.sale_price if goes else 0.0,
        yearly_saving=part.yearly_upkeep if decision in ("remove", "no longer needed") else 0.0,
    )


_Judged = tuple[Decision, str]


def _main_fuse(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
    ampacity = circuit.of_role("main")[0].choice.ampacity_a
    return _fuse(part, circuit, circuit.current_a, ampacity, circuit.short_circuit_a)


def _string_fuse(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
    leads = circuit.of_role("lead")
    if not leads:
        return "no longer needed", "one string has no fuse of its own; the main fuse protects it"
    if part.quantity < arrangement.parallel:
        return "replace", f"{part.quantity} there, one for each of {arrangement.parallel} needed"
    return _fuse(
        part, circuit, leads[0].current_a, leads[0].choice.ampacity_a, circuit.short_circuit_a
    )


def _fuse(
    part: ExistingPart, circuit: Circuit, load_a: float, ampacity_a: float, short_a: float
) -> _Judged:
    if part.fuse_class is None or part.rating_a is None:
        return "replace", "its class or rating is not known, so neither is what it can interrupt"
    interrupt = 0.0
    fuse_class = find_fuse_class(part.fuse_class)
    if circuit.charging_v <= fuse_class.max_voltage_v:
        interrupt = interrupt_rating_a(fuse_class, circuit.charging_v)
    if interrupt <= 0.0:
        return "replace", f"{part.fuse_class} is not made for {circuit.charging_v:.1f} V"
    if interrupt < short_a:
        return "replace", (
            f"interrupts {interrupt:,.0f} A; a dead short could draw {short_a:,.0f} A"
        )
    if part.rating_a * CONTINUOUS_FILL < load_a:
        return "replace", (
            f"{part.rating_a:g} A carries {part.rating_a * CONTINUOUS_FILL:.0f} A for long; "
            f"{load_a:.0f} A are needed"
        )
    if part.rating_a > ampacity_a:
        return "replace", f"{part.rating_a:g} A does not protect a cable of {ampacity_a:.0f} A"
    return "keep", (
        f"carries {load_a:.0f} A, protects the cable, and interrupts {interrupt:,.0f} A of the "
        f"{short_a:,.0f} A a dead short could draw"
    )


def _cable(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    main = circuit.of_role("main")
    need = main[0].choice
    metres = sum(cable.length_m * cable.choice.runs for cable in main)
    if part.size is None or part.length_m is None:
        return "replace", "its size or length is not known"
    size = find_conductor(part.size)
    needed_area = need.conductor.area_mm2 * need.runs
    if size.area_mm2 < needed_area - 1e-9:
        runs = f"{need.runs} × " if need.runs > 1 else ""
        return "replace", (
            f"{part.size} is too thin: {runs}{need.conductor.label} needed "
            f"({need.governed_by} governs)"
        )
    if part.length_m < metres / need.runs - 1e-9:
        return "replace", f"{part.length_m:g} m there, {metres / need.runs:.1f} m needed"
    return "keep", f"{part.size} is at least the {need.conductor.label} needed, and long enough"


def _busbars(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    if circuit.take_off != "busbars":
        return "no longer needed", "this arrangement is wired without busbars"
    return _rated(part, circuit.current_a)


def _in_line(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    return _rated(part, circuit.current_a)


def _rated(part: ExistingPart, current_a: float) -> _Judged:
    if part.rating_a is None:
        return "replace", "its rating is not known"
    if part.rating_a < current_a:
        return "replace", f"rated {part.rating_a:g} A; {current_a:.0f} A flow for long"
    return "keep", f"rated {part.rating_a:g} A for {current_a:.0f} A"


def _monitor(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    if arrangement.pack.charge_display:
        return "no longer needed", "the pack shows its own state of charge"
    if part.rating_a is not None and part.rating_a < circuit.current_a:
        return "replace", f"its shunt is rated {part.rating_a:g} A; {circuit.current_a:.0f} A flow"
    return "keep", "the pack has no display of its own; set it to the new capacity"


def _management(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
    family = arrangement.pack.chemistry.family
    if family == "lead":
        return "no longer needed", "lead-acid has no cells to manage one by one"
    if arrangement.pack.internal_management:
        return "no longer needed", "the pack brings its own management"
    return "keep", "the pack has none of its own: it must be matched to the new cells"


def _balancer(
    part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit
) -> _Judged:
    if arrangement.series == 1:
        return "no longer needed", "no packs in series to balance"
    return "keep", f"evens out {arrangement.series} packs in series; check its voltage range"


def _spare(part: ExistingPart, case: Case, arrangement: Arrangement, circuit: Circuit) -> _Judged:
    return "no longer needed", "a spare for parts that go"


_JUDGES: dict[str, Callable[[ExistingPart, Case, Arrangement, Circuit], _Judged]] = {
    "main fuse": _main_fuse,
    "string fuse": _string_fuse,
    "main cable": _cable,
    "busbars": _busbars,
    "switch": _in_line,
    "shunt": _in_line,
    "monitor": _monitor,
    "external management": _management,
    "contactor": _management,
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


def charger_settings(case: Case, arrangement: Arrangement) -> tuple[Setting, ...]:
    """Settings that have to change on the chargers that stay, with the reason for each.

    Voltages are the chemistry's usual ones (common practice); the maker's figures go first.
    """
    chemistry = arrangement.pack.chemistry
    cells = arrangement.series * arrangement.pack.cells_in_series
    absorption, float_v = cells * chemistry.absorption_v, cells * chemistry.float_v
    found: list[Setting] = []
    for charger in case.sources.chargers():
        name = charger.name
        found += [
            Setting(
                name, "absorption voltage", f"{absorption:.1f} V", f"usual for {chemistry.key}"
            ),
            Setting(name, "float voltage", f"{float_v:.1f} V", f"usual for {chemistry.key}"),
        ]
        if chemistry.family == "lead":
            found.append(
                Setting(name, "temperature compensation", "on", "lead-acid takes less when warm")
            )
            continue
        found += [
            Setting(name, "temperature compensation", "off", "it would overcharge a cold pack"),
            Setting(name, "equalise", "off", "its voltage makes the pack disconnect, or harms it"),
            Setting(
                name,
                "low-temperature limit",
                f"{arrangement.pack.charge_min_degc:g} degC",
                "the maker bars charging below it",
            ),
        ]
    return tuple(found)


def needs_alternator_protection(case: Case, arrangement: Arrangement) -> tuple[str, ...]:
    """Names of alternators that charge directly and would see a pack disconnect under load.

    The load dump can destroy the alternator's diodes and regulator, and spike the whole system.
    """
    if arrangement.pack.chemistry.family == "lead":
        return ()
    return tuple(source.name for source in case.sources.engine if source.direct)
