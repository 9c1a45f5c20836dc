"""Tables of what was typed: what is assumed, and what cannot be read."""

from collections.abc import Sequence

import pandas as pd

from tco.case import Problem
from tco.case.case import Case
from tco.compare import Comparison
from tco.forms import labels
from tco.forms.cells import plain_text, shown_text
from tco.forms.entry import Entry
from tco.report.frames import words


def assumed(case: Case, comparison: Comparison) -> pd.DataFrame:
    """What the shops do not say and is assumed: candidate, field, value with unit, source."""
    headings = {entry.field: entry for entry in labels.CANDIDATE}
    rows = []
    best_last = [result.arrangement.pack for result in reversed(comparison.results)]
    packs = {pack.name: pack for pack in best_last}  # of several blocks of a cell the best
    for name in (candidate.name for candidate in case.candidates if candidate.name in packs):
        pack = packs[name]
        for field, datum in pack.assumed.items():
            entry, value = headings.get(field), f"{datum.value:g}"
            if isinstance(datum.value, bool):
                value = plain_text(datum.value)
            elif entry is not None:
                value = _assumed_value(datum.value, entry, case)
            rows.append(
                {
                    "Candidate": pack.name,
                    "Not stated": entry.label if entry is not None else field.replace("_", " "),
                    "Taken as": value,
                    "Because": words(datum.source, case.units),
                }
            )
    return pd.DataFrame(rows, columns=["Candidate", "Not stated", "Taken as", "Because"])


def _assumed_value(value: float, entry: Entry, case: Case) -> str:
    shown = shown_text(value, entry, case.units)
    return f"{shown} {entry.shown_unit(case.units, case.prices.currency)}".strip()


def problems(found: Sequence[Problem]) -> pd.DataFrame:
    """What is wrong with what was typed, and how to mend it."""
    rows = []
    for problem in found:
        where = problem.item or problem.file or problem.field.split(".")[0].split("[")[0]
        row = f", row {problem.row}" if problem.row is not None else ""
        allowed = f"allowed: {problem.allowed}" if problem.allowed else ""
        mend = ". ".join(part for part in (allowed, problem.mend) if part)
        rows.append(
            {
                "Where": f"{where}{row}",
                "What": labels.label_of(problem.field) if problem.field else "",
                "Typed": problem.given,
                "Problem": problem.what,
                "How to mend it": mend,
            }
        )
    return pd.DataFrame(rows, columns=["Where", "What", "Typed", "Problem", "How to mend it"])
