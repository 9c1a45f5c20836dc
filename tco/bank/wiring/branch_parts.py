"""Parts that are there in a branch of the distribution: what stays stands in place of a choice.

A cable is judged by its corrected ampacity, by the voltage it loses and by whether a fuse protects
it; a fuse or breaker by what `tco.physics.fuses.shortcomings` finds, with the cable that will be
there; an isolator by its current, and by the voltage of the panels where it stands on their side.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.faults import Fault
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
from tco.bank.wiring.sizing import CannotWire, Run, duty_of, protect_run
from tco.case import Case
from tco.case.parts import ExistingPart
from tco.case.use import Solar
from tco.physics.conductors import ConductorChoice, resistance_ohm
from tco.physics.fuse_classes import find_fuse_class
from tco.physics.fuses import FuseChoice, FuseDuty, choose_fuse
from tco.sentences import joined, metres, says

PANEL_CURRENT = 1.25
"""Current of panels over their short-circuit current at standard light: NEC 690.8(A)(1)."""

LEAST_FILL_FACTOR = 0.70
"""Peak power over open-circuit voltage times short-circuit current, of crystalline panels 0.70 to
0.82 (from memory): the least gives the largest current."""

COLDEST_PANELS = 1.25
"""Open-circuit voltage in the cold over that at 25 degC: the highest factor of NEC table 690.7(A),
for -36 to -40 degC (from memory). On the safe side elsewhere."""


@dataclass(frozen=True)
class Planned:
    """Cable and fuse of a branch as they will be, and what becomes of its parts.

    Where no conductor does, or no fuse can stop the short circuit, `choice` or `fuse` is None and
    `problem` says why.
    """

    choice: ConductorChoice | None
    fuse: FuseChoice | None
    problem: str = ""
    parts: tuple[PartDecision, ...] = ()


def planned(
    case: Case, circuit: Circuit, run: Run, parts: Sequence[ExistingPart], solar: Solar | None
) -> Planned:
    """Cable and fuse of a branch, with the parts that are there: all of it where none is stated.

    `solar`: whose controller it leads to, if any.
    """
    cables, fuses, switches = _by_place(parts)
    judged = {id(part): _settled(part, _cable(part, case, circuit, run, fuses)) for part in cables}
    stays = [part for part in cables if judged[id(part)].decision == "keep"]
    new = replace(run, installed=run.installed and not cables)
    found = _with_cable(case, circuit, run, stays[0]) if stays else _all_new(case, circuit, new)
    fuse, problem = found.fuse, found.problem
    for part in fuses:
        words = _fuse(part, case, circuit, run, found, known=bool(cables))
        judged[id(part)] = _settled(part, words)
    good = [part for part in fuses if judged[id(part)].decision == "keep"]
    if good:
        fuse, problem = as_fuse(good[0], circuit.charging_v), ""
    for part in switches:
        judged[id(part)] = _settled(part, _switch(part, case, circuit, run.current_a, solar))
    _out_of_the_way(judged, cables, stays)
    _out_of_the_way(judged, fuses, good)
    return Planned(found.choice, fuse, problem, tuple(judged[id(part)] for part in parts))


def at_the_inverter(
    case: Case, circuit: Circuit, current_a: float, parts: Sequence[ExistingPart]
) -> Planned:
    """The end of the main run with the inverter's own fuse, where one is there and serves.

    The main fuse protects what leads there, so that none has to be bought. `current_a`: of the
    inverter. [A]
    """
    choice, here = circuit.of_role("main")[0].choice, circuit.at_distribution()
    run = Run("inverter", min(current_a, circuit.current_a), 0.0, 1.0, surge_a=circuit.surge_a)
    duty = duty_of(case, run, choice, voltage_v=circuit.charging_v, fault=here)
    decisions, fuse = [], None
    for part in parts:
        if part.kind == "isolator":
            decisions.append(_settled(part, _switch(part, case, circuit, run.current_a, None)))
            continue
        one = _settled(part, judged_fuse(part, duty))
        if one.decision == "replace":
            why = says(one.reason, "; the main fuse protects what leads to the inverter")
            one = settled(part, "remove", why)
        elif fuse is None:
            fuse = as_fuse(part, circuit.charging_v)
        decisions.append(one)
    return Planned(choice, fuse or circuit.main_fuse, "", tuple(decisions))


def protects(part: ExistingPart) -> bool:
    """Whether a part is the fuse or breaker of its branch; on the panels' side one switches."""
    return part.kind == "branch fuse" and part.side != "panel side"


def _by_place(
    parts: Iterable[ExistingPart],
) -> tuple[list[ExistingPart], list[ExistingPart], list[ExistingPart]]:
    """Cables, fuses, and what switches: isolators, and breakers on the side of the panels."""
    cables, fuses, switches = [], [], []
    for part in parts:
        if part.kind == "branch cable":
            cables.append(part)
        elif protects(part):
            fuses.append(part)
        else:
            switches.append(part)
    return cables, fuses, switches


def _settled(part: ExistingPart, judged: Judged) -> PartDecision:
    return settled(part, *as_wished(part, *judged))


def _out_of_the_way(
    judged: dict[int, PartDecision], parts: Iterable[ExistingPart], stays: Sequence[ExistingPart]
) -> None:
    """Parts that do not serve come out where another one of their place stays."""
    for part in parts:
        if stays and judged[id(part)].decision == "replace":
            judged[id(part)] = another_stays(judged[id(part)])


def _at_fuse(circuit: Circuit, run: Run, size: ConductorChoice) -> Fault:
    out_ohm = 2.0 * float(resistance_ohm(size.conductor, run.length_m)) / size.runs
    return circuit.at_distribution(out_ohm=out_ohm)


def _duty(case: Case, circuit: Circuit, run: Run, size: ConductorChoice) -> FuseDuty:
    there = _at_fuse(circuit, run, size)
    return duty_of(case, run, size, voltage_v=circuit.charging_v, fault=there)


def _all_new(case: Case, circuit: Circuit, run: Run) -> Planned:
    try:
        choice, fuse, _ = protect_run(
            case,
            run,
            voltage_v=circuit.charging_v,
            fault=lambda size: _at_fuse(circuit, run, size),
        )
    except CannotWire as found:
        return Planned(found.conductor, None, found.why)
    return Planned(choice, fuse)


def _with_cable(case: Case, circuit: Circuit, run: Run, part: ExistingPart) -> Planned:
    """The cable that stays, with the fuse that is chosen for it."""
    has = _as_choice(part, case, circuit, run)
    try:
        return Planned(has, choose_fuse(_duty(case, circuit, run, has)))
    except ValueError as problem:
        return Planned(has, None, str(problem))


def _as_choice(part: ExistingPart, case: Case, circuit: Circuit, run: Run) -> ConductorChoice:
    main = circuit.of_role("main")[0].choice
    return as_conductor(part, case, current_a=run.current_a, length_m=run.length_m, like=main)


def _cable(
    part: ExistingPart,
    case: Case,
    circuit: Circuit,
    run: Run,
    fuses: Iterable[ExistingPart],
) -> Judged:
    if part.size is None or part.length_m is None:
        return "replace", "its size or length is not known"
    has, allowed_v = _as_choice(part, case, circuit, run), run.drop * case.system.nominal_voltage_v
    of = insulated(part, case)
    faults: list[str] = []
    if has.ampacity_a < run.current_a - ROUNDING:
        faults.append(
            says(f"it may carry {has.ampacity_a:.0f} A (", of, f"); {run.current_a:.0f} A flow")
        )
    if has.voltage_drop_v > allowed_v * (1.0 + ROUNDING):
        faults.append(f"it loses {has.voltage_drop_v:.2f} V and may lose {allowed_v:.2f} V")
    if not faults and not _can_be_fused(case, circuit, run, has, fuses):
        faults.append(
            says(
                f"no fuse both carries {run.current_a:.0f} A for long and protects the "
                f"{has.fuse_limit_a:.0f} A it may be fused at (",
                of,
                ")",
            )
        )
    if faults:
        return "replace", says(f"{part.size} is too thin: ", joined(" and ", faults))
    needed_m = 2.0 * run.length_m
    if part.length_m < needed_m - ROUNDING:
        return "replace", says(
            "too short: ", metres(part.length_m, "g"), " there, ", metres(needed_m), " needed"
        )
    return "keep", says(
        f"{part.size} carries {has.ampacity_a:.0f} A (",
        of,
        f") for {run.current_a:.0f} A, loses {has.voltage_drop_v:.2f} V of the {allowed_v:.2f} V "
        "it may lose, and is long enough",
    )


def _can_be_fused(
    case: Case, circuit: Circuit, run: Run, has: ConductorChoice, fuses: Iterable[ExistingPart]
) -> bool:
    """Whether a fuse that shops hold, or one that is there, serves with a cable.

    What no thicker cable would mend is no fault of the cable.
    """
    try:
        duty = _duty(case, circuit, run, has)
    except ValueError:
        return True
    if any(judged_fuse(part, duty)[0] == "keep" for part in fuses if part.wish != "be rid of"):
        return True
    try:
        choose_fuse(duty)
    except ValueError as problem:
        return getattr(problem, "ampacity_needed_a", None) is None
    return True


def _fuse(
    part: ExistingPart, case: Case, circuit: Circuit, run: Run, there: Planned, *, known: bool
) -> Judged:
    """Judge a fuse or breaker with the cable there will be; `known`: whether one was stated."""
    if there.choice is None:
        return "replace", there.problem
    try:
        duty = _duty(case, circuit, run, there.choice)
    except ValueError as problem:
        return "replace", str(problem)
    decision, words = judged_fuse(part, duty)
    too_large = part.rating_a is not None and part.rating_a > duty.conductor_ampacity_a
    if decision == "replace" and too_large and not known:
        words += ", the least that serves in this branch: state the cable that is there"
    return decision, words


def _switch(
    part: ExistingPart, case: Case, circuit: Circuit, current_a: float, solar: Solar | None
) -> Judged:
    """Judge an isolator, or a breaker that stands on the panels' side and is one."""
    if part.side != "panel side" or solar is None:
        decision, words = rated(part, current_a)
        if part.rating_v is not None and part.rating_v < circuit.charging_v:
            return "replace", _not_made_for(part.rating_v, circuit.charging_v)
        return decision, words
    volts = solar.panel_voltage_v
    decision, words = rated(part, panels_a(case, solar))
    if decision != "keep":
        return decision, f"{words}, {_BASIS[volts is not None]}"
    made_for_v = _made_for_v(part)
    if volts is None:
        return "keep", f"{words}, {_BASIS[False]}; check that it may be opened at their voltage"
    if made_for_v is None:
        return "replace", (
            f"the voltage it may be opened at is not known; the panels reach "
            f"{COLDEST_PANELS * volts:.0f} V in the cold, and an arc of direct current burns on"
        )
    if made_for_v < COLDEST_PANELS * volts:
        return "replace", _not_made_for(made_for_v, COLDEST_PANELS * volts)
    return "keep", (
        f"{words}, and {made_for_v:g} V for {COLDEST_PANELS * volts:.0f} V in the cold; mind its "
        "plus and minus where it is marked, for an arc it is not made for burns on"
    )


def _made_for_v(part: ExistingPart) -> float | None:
    if part.rating_v is not None:
        return part.rating_v
    return None if part.fuse_class is None else find_fuse_class(part.fuse_class).max_voltage_v


def _not_made_for(rating_v: float, voltage_v: float) -> str:
    return (
        f"made to be opened at {rating_v:g} V at most, not at {voltage_v:.1f} V: an arc of direct "
        "current burns on"
    )


_BASIS = {
    True: "the most that the panels give",
    False: "the most that panels at the battery's voltage would give, as theirs is not stated",
}


def panels_a(case: Case, solar: Solar) -> float:
    """The most that panels give at short circuit in bright light, before their controller. [A]

    `PANEL_CURRENT` times peak power over open-circuit voltage and `LEAST_FILL_FACTOR`; where the
    voltage is not stated, that of the battery, below which they could not charge it.
    """
    volts = solar.panel_voltage_v or float(case.system.nominal_voltage_v)
    return PANEL_CURRENT * solar.peak_w / (LEAST_FILL_FACTOR * volts)
