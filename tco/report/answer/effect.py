"""What the last edit did to the answer, in one line."""

from dataclasses import dataclass

from tco.case.words import money
from tco.compare import Comparison


@dataclass(frozen=True)
class Figures:
    """The answer in four figures: who is first, at what total cost, how long without power.

    `first` is "" where nothing meets every requirement. Hours are those of a mean year with a new
    bank in which essential loads go short.
    """

    first: str
    total: float
    hours_without_power: float
    arrangements: int


def figures(comparison: Comparison) -> Figures:
    """The figures of a comparison; of the nearest arrangement where none meets everything."""
    best = comparison.best
    shown = best or (comparison.results[0] if comparison.results else None)
    if shown is None:
        return Figures("", 0.0, 0.0, 0)
    return Figures(
        best.arrangement.label if best is not None else "",
        float(shown.measures.total_cost),
        float(shown.hours_without_power),
        len(comparison.results),
    )


def effect_line(before: Figures, after: Figures, currency: str) -> str:
    """What changed from one answer to the next; says so where nothing did."""
    if before == after:
        return "the answer is as before"
    clauses = []
    if before.first != after.first:
        clauses.append(f"first: {before.first or 'none passes'} → {after.first or 'none passes'}")
    elif after.first:
        clauses.append(f"first still {after.first}")
    else:
        clauses.append("still none passes")
    old, new = money(before.total, currency), money(after.total, currency)
    clauses.append(f"total {old} → {new}" if old != new else f"total {new} as before")
    hours = [f"{x.hours_without_power:,.1f} h" for x in (before, after)]
    clauses.append(
        f"without power {hours[0]} → {hours[1]} a year"
        if hours[0] != hours[1]
        else f"without power {hours[1]} a year as before"
    )
    if before.arrangements != after.arrangements:
        clauses.append(f"arrangements {before.arrangements} → {after.arrangements}")
    return " · ".join(clauses)
