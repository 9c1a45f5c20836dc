"""The warranty in words: whether it holds in this use, how long, and what is taken for granted."""

from tco.case import Case
from tco.case.evidence import WarrantyTerms
from tco.money.warranty import NO_CLAIM, ON_TOP, WAITED_FOR, warranty_of
from tco.result import Result
from tco.sentences import joined, says

WAYS = {
    NO_CLAIM: "a new pack is bought, without a claim",
    WAITED_FOR: "it is claimed and the maker's pack waited for",
    ON_TOP: "a new pack is bought at once and the old one claimed besides",
}
"""How a failure is met at least cost, in words."""


def cover(result: Result) -> str:
    """Whether the warranty holds in this use, how long, and why not."""
    failures = result.failures
    if failures.void:
        return says("The warranty does not hold in this use. ", joined(" ", failures.void))
    if failures.covered_years <= 0.0:
        return "No warranty is stated."
    back, way = failures.warranty_share, failures.first.way
    told = f"In this use the warranty ends after {failures.covered_years:.1f} years."
    years = int((back > 0).sum())
    if not years:
        return f"{told} No claim is worth its trouble."
    last = "nothing later" if years == 1 else f"something until the end of year {years}"
    return (
        f"{told} It gives back {back[0]:.0%} of the price on average in the first year, and "
        f"{last}; it costs least if {WAYS[int(way[0])]}."
    )


def taken_for_granted(terms: WarrantyTerms, *, commercial: bool = False) -> tuple[str, ...]:
    """What is believed of a warranty where nothing else is typed, one clause each.

    `commercial`: whether the case earns its living, so that its owner has to ask.
    """
    payer = "the buyer pays" if terms.freight_paid_by == "buyer" else "the maker pays"
    covered = "commercial use is covered" if terms.commercial_use_covered else (
        "commercial use is not covered"
    )  # fmt: skip
    clauses = {
        "freight_paid_by": f"{payer} the freight of a claim",
        "honoured_probability": f"{10.0 * terms.honoured_probability:.3g} claims in 10 are "
        "honoured",
        "downtime_days": f"a claim takes {terms.downtime_days:g} days",
        "commercial_use_covered": covered
        + (" (yours is commercial: ask the maker in writing)" if commercial else ""),
    }
    return tuple(text for field, text in clauses.items() if field not in terms.model_fields_set)


USUAL_DOUBTS = "; ".join(taken_for_granted(WarrantyTerms(candidate="any")))
"""What is taken for granted of a warranty of which nothing is typed."""


def doubts(result: Result, case: Case) -> str:
    """What is taken for granted of an arrangement's warranty, as not typed; "" where nothing is."""
    if result.failures.void or result.failures.covered_years <= 0.0:
        return ""
    clauses = taken_for_granted(
        warranty_of(result.arrangement.pack, case.warranties), commercial=case.use.commercial
    )
    return f"Taken for granted, as nothing else is typed: {'; '.join(clauses)}." if clauses else ""


CONDITIONS = (
    "warrant", "guarant", "claim", "void", "registe", "unless", "only if", "only when", "provided",
    "prorat", "pro rata", "exclu", "not cover", "proof of", "installer", "commercial", "business",
)  # fmt: skip
"""Beginnings of words by which notes say something of a warranty. Own choice."""


def noted(result: Result, case: Case) -> str:
    """What a candidate's notes say of its warranty, to be asked about; "" where they say nothing.

    Notes are text for people: nothing is reckoned with them.
    """
    pack = result.arrangement.pack
    notes = next((c.notes for c in case.candidates if c.name == pack.name), "")
    if pack.warranty_years <= 0.0 or not any(word in notes.lower() for word in CONDITIONS):
        return ""
    return (
        f"Noted of it: “{notes.strip()}” Nothing is reckoned with that: ask in writing "
        f"whether it narrows the {pack.warranty_years:g} years, and type the terms under Evidence."
    )


def warranty_words(result: Result, case: Case) -> str:
    """`cover`, what it takes for granted, and what the notes say of it."""
    return joined(" ", (cover(result), doubts(result, case), noted(result, case)))
