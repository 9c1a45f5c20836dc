"""What is believed of failures: prior, evidence and posterior of every candidate."""

import numpy as np
import pandas as pd

from tco.case import Case
from tco.case.words import money
from tco.compare import Comparison
from tco.money.evidence import EvidenceRow, Knowledge
from tco.money.reliability import mean_life_bounds
from tco.report.failures.words import warranty_words
from tco.result import Result
from tco.sentences import told

PER = 100.0
"""Failures are told per hundred packs and year: fewer noughts to count."""
STEPS = {"class": "believed of its class", "mark": "looked at", "report": "reported",
         "posterior": "so believed now"}  # fmt: skip
LAWS = (
    "Failures follow one of two laws. Shape 1, the exponential law: a pack of any age fails as "
    "often as a new one. Any other shape, the Weibull law: above 1 failures grow with age (wear of "
    "seals, plates, cells), below 1 they come early (faults of making). Either way the rates below "
    "are the mean over the first years named beside it, for every candidate alike. Of bare cells a "
    "rate is that of one cell: a block fails as often as its cells and its unit together."
)
"""The laws of failure with age that can be chosen by the shape, for people."""


def by_candidate(comparison: Comparison) -> dict[str, Result]:
    """The best-ranked result of every candidate, in the order of the case."""
    best: dict[str, Result] = {}
    for result in comparison.results:
        best.setdefault(result.arrangement.pack.name, result)
    names = [candidate.name for candidate in comparison.case.candidates]
    return {name: best[name] for name in names if name in best}


def rate(value: float) -> str:
    """A failure rate as people say it.

    >>> rate(0.02), rate(0.4)
    ('one pack in 50 a year', 'two packs in 5 a year')
    """
    if value > 0.25:
        return f"{_count(round(5 * value))} in 5 a year" if value < 1 else f"{value:.1f} a year"
    return f"one pack in {1.0 / value:,.0f} a year" if value > 0 else "none"


def _count(packs: int) -> str:
    words = ("no pack", "one pack", "two packs", "three packs", "four packs", "five packs")
    return words[min(packs, 5)]


def opening(comparison: Comparison) -> str:
    """How much is known from the field, and what it changes most, in one sentence."""
    known = {name: r.failures.knowledge for name, r in by_candidate(comparison).items()}
    if not known:
        return "No candidate yet, so nothing is believed of failures."
    seen = [k for k in known.values() if any(row.step in ("report", "mark") for row in k.rows)]
    if not seen:
        of, their = (
            ("the only candidate", "its")
            if len(known) == 1
            else (f"any of the {len(known)} candidates", "their")
        )
        return (
            f"Nothing is known from the field of {of}: what is believed of {their} failures is "
            f"that of {their} class."
        )
    most = max(seen, key=lambda k: abs(k.posterior.mean / _class_mean(k) - 1.0))
    figures = most.figures()
    return (
        f"{len(seen)} of {len(known)} candidates have been looked at or reported on; it changes "
        f"most for {most.candidate}, from {rate(_class_mean(most))} to "
        f"{rate(figures['posterior'])} (8 in 10 sure: {rate(figures['p10'])} to "
        f"{rate(figures['p90'])})."
    )


def _class_mean(knowledge: Knowledge) -> float:
    return knowledge.rows[0].mean


def rates(comparison: Comparison) -> pd.DataFrame:
    """Rate of every candidate before and after the evidence, per hundred packs and year."""
    rows = []
    for name, result in by_candidate(comparison).items():
        knowledge = result.failures.knowledge
        figures = knowledge.figures()
        rows.append(
            {
                "candidate": name,
                "class": knowledge.price_class,
                "before": PER * _class_mean(knowledge),
                "now": PER * figures["posterior"],
                "p10": PER * figures["p10"],
                "p90": PER * figures["p90"],
                "reports": sum(row.step == "report" for row in knowledge.rows),
                "marks": sum(row.step == "mark" for row in knowledge.rows),
            }
        )
    columns = ["candidate", "class", "before", "now", "p10", "p90", "reports", "marks"]
    return pd.DataFrame(rows, columns=columns).sort_values("now")


def story(knowledge: Knowledge) -> pd.DataFrame:
    """From the class to what is believed now, one row for each step."""
    return pd.DataFrame(
        [
            {
                "Step": STEPS[row.step],
                "What": _told(row),
                "Then, per 100 packs and year": f"{PER * row.mean:.2f} "
                f"({PER * row.p10:.2f} to {PER * row.p90:.2f})",
            }
            for row in knowledge.rows
        ]
    )


def _told(row: EvidenceRow) -> str:
    """What a step is: the mark and its factor, or the report, what it saw and how it counts."""
    if row.step == "posterior":
        return ""
    parts = [row.what]
    if row.factor is not None:
        parts.append(f"failures × {row.factor:g}")
    if row.pack_years is not None and row.failures is not None:
        parts.append(f"{row.failures:g} failed in {row.pack_years:,.0f} pack-years")
        parts += [_alone(row.pack_years, row.failures)] if row.pack_years > 0.0 else []
    if row.weight is not None:
        parts.append(f"counts {_weight(row.weight)}")
    return "; ".join([*parts, *([row.note] if row.note else [])])


def _weight(weight: float) -> str:
    return f"{weight:.0%}" if weight >= 0.01 else f"{weight:.2%}"


SURE = 0.8
"""How sure the bounds of a report by itself are: 8 in 10, as the bands beside it."""


def _alone(pack_years: float, failures: float) -> str:
    """What a report would say without anything believed before: bounds of the years to a failure.

    >>> _alone(800.0, 2)
    'alone it says a pack lasts 150 to 1,504 years (8 in 10 sure)'
    """
    low, high = mean_life_bounds(pack_years, round(failures), confidence=SURE)
    span = (
        f"{low:,.0f} years or more" if high == float("inf") else f"{low:,.0f} to {high:,.0f} years"
    )
    return f"alone it says a pack lasts {span} (8 in 10 sure)"


def warranty(result: Result, case: Case) -> str:
    """What the warranty gives back over the years of age, and what a failure costs, in words.

    In the case's own units; with what is taken for granted of the warranty.
    """
    failures, price = result.failures, result.arrangement.pack.price
    currency = case.prices.currency
    event = failures.first
    first = event.pack_share[0] * price + event.other[0]
    later = event.pack_share[-1] * price + event.other[-1]
    years = event.pack_share.size
    holds = told(warranty_words(result, case), case.units, signs=True)
    text = (
        f"{holds} In {result.arrangement.label} a failure costs "
        f"{money(first, currency)} in the first year of a bank and {money(later, currency)} in "
        f"year {years}, days without power included; the chance that at least one pack fails in "
        f"{years} years is {failures.chance(years):.0%}."
    )
    gone = np.flatnonzero(failures.gone)
    if gone.size:
        text += (
            f" From year {gone[0] + 1} on the model is taken to be gone: a failed pack then means "
            "a whole new bank" + (", once the spare is used." if failures.spares else ".")
        )
    return text
