"""What may become of a part that is there, and how parts of every place are judged alike.

A part of which nothing is known is not trusted: a fuse without a class has no known interrupt
rating, and is replaced. "Replace" buys a new one of the kind; "remove" has to come out because it
is in the way of the current or would work against the packs; "no longer needed" may come out.
Under-rated parts say by how much.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from tco.bank.wiring.sizing import hot
from tco.case import Case
from tco.case.parts import ExistingPart
from tco.physics.ampacity import ampacity_a, overcurrent_limit_a
from tco.physics.conductor_sizes import find_conductor
from tco.physics.conductors import ConductorChoice, voltage_drop_v
from tco.physics.fuse_classes import find_fuse_class, interrupt_rating_a
from tco.physics.fuses import FuseChoice, FuseDuty, shortcomings
from tco.sentences import degc, says

Decision = Literal["keep", "replace", "remove", "no longer needed"]

Judged = tuple[Decision, str]

ROUNDING = 1e-9


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


def settled(part: ExistingPart, decision: Decision, reason: str) -> PartDecision:
    """A decision with the money that follows from it."""
    goes = decision != "keep"
    return PartDecision(
        part=part,
        decision=decision,
        reason=reason,
        value=part.sale_price if goes else 0.0,
        yearly_saving=part.yearly_upkeep if decision in ("remove", "no longer needed") else 0.0,
    )


_DISPENSABLE = ("balancer", "spare")


def as_wished(part: ExistingPart, decision: Decision, reason: str) -> Judged:
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


def another_stays(decision: PartDecision) -> PartDecision:
    """The decision on a part that does not serve, where another one that does stays."""
    reason = says(decision.reason, "; another one that serves stays in its place")
    return settled(decision.part, "remove", reason)


def with_spares(decided: Iterable[PartDecision]) -> tuple[PartDecision, ...]:
    """Decisions in which a spare stays while a part that it is for does."""
    decided = tuple(decided)
    stays = {one.part.kind for one in decided if one.decision == "keep"}
    return tuple(
        settled(one.part, "keep", f"a spare for the {one.part.serves} that stays")
        if one.part.kind == "spare" and one.part.wish is None and one.part.serves in stays
        else one
        for one in decided
    )


def reused_kinds(decisions: Iterable[PartDecision]) -> frozenset[str]:
    """Kinds of part that stay, so that they are not bought again."""
    return frozenset(d.part.kind for d in decisions if d.decision == "keep")


def rated(part: ExistingPart, current_a: float) -> Judged:
    """Judge what has to carry a current for long. [A]"""
    if part.rating_a is None:
        return "replace", "its rating is not known"
    if part.rating_a < current_a - ROUNDING:
        return "replace", f"rated {part.rating_a:g} A; {current_a:.0f} A flow for long"
    return "keep", f"rated {part.rating_a:g} A for {current_a:.0f} A"


def judged_fuse(part: ExistingPart, duty: FuseDuty) -> Judged:
    """Judge a fuse or breaker by what is asked of one at its place."""
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


def as_fuse(part: ExistingPart, voltage_v: float) -> FuseChoice:
    """An installed fuse or breaker that stays, as a circuit takes it."""
    assert part.fuse_class is not None  # or it would not be reused
    assert part.rating_a is not None
    fuse_class = find_fuse_class(part.fuse_class)
    return FuseChoice(
        fuse_class=fuse_class,
        rating_a=part.rating_a,
        interrupt_a=interrupt_rating_a(fuse_class, voltage_v),
        reason="installed already, and stays",
    )


def as_conductor(
    part: ExistingPart,
    case: Case,
    *,
    current_a: float,
    length_m: float,
    like: ConductorChoice,
) -> ConductorChoice:
    """An installed cable as a conductor of a run, one each way, corrected where the case lays it.

    Parameters
    ----------
    current_a, length_m
        Of the run, one way.
    like
        What would be chosen new; the same limit governs.
    """
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
        governed_by=like.governed_by,
        voltage_drop_v=float(voltage_drop_v(current_a, length_m, conductor)),
        ampacity_a=may_a,
        fuse_limit_a=overcurrent_limit_a(conductor, may_a, code),
        insulation_degc=insulation,
    )


def insulated(part: ExistingPart, case: Case) -> str:
    """What an installed cable is taken to be insulated for, as a sentence of quantities."""
    known = part.insulation_degc or case.system.insulation_degc
    return says(
        "insulation for ",
        degc(part.insulation_degc or case.system.installed_insulation_degc, "g"),
        "" if known else ", as none is stated",
    )
