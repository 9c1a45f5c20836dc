"""What is said of a shop's table: what its columns were taken for, and what is wrong with it."""

import re
from collections import Counter
from collections.abc import Sequence, Set
from typing import Any

from tco.case import Problem
from tco.forms.cells import plain_text, shown_text
from tco.forms.entry import Units
from tco.forms.intake import Difference, Fate
from tco.forms.labels import entry_of
from tco.forms.meanings import KEPT, LEAVE_OUT, meaning_words, unit_words, units_of
from tco.forms.shop_columns import (
    Column,
    ShopTable,
    name_of,
    not_understood,
    table_problems,
)
from tco.forms.shop_table import IntakeRow, rows_of


def table_problem_words(problem: Problem) -> str:
    """A problem of the table as a whole, as a sentence or two."""
    allowed = f" Allowed: {problem.allowed}." if problem.allowed else ""
    mend = f" {problem.mend}" if problem.mend else ""
    what = problem.what if problem.what.startswith("column") else f"the table {problem.what}"
    return f"{what[:1].upper()}{what[1:]}.{allowed}{mend}"


def row_problem_words(problem: Problem) -> str:
    """A problem of a row, to be read beside the row: which cell, what was given, what would do."""
    if problem.what == "is missing":
        return f"{meaning_words(problem.field)} is missing"
    allowed = f"; allowed: {problem.allowed}" if problem.allowed else ""
    mend = f". {problem.mend}" if problem.mend else ""
    if problem.field:
        told = f"{meaning_words(problem.field)}: {problem.given} {problem.what}"
    else:
        told = f"{problem.what}{f': {problem.given}' if problem.given else ''}"
    return f"{' '.join(told.split())}{allowed}{mend}".rstrip(".")


def problem_in_short(problem: Problem) -> str:
    """A problem of a row in a few words, read beside its cells: "Capacity is not a number"."""
    return f"{meaning_words(problem.field)} {problem.what}".strip()


def row_words(row: IntakeRow, line: str) -> str:
    """What is to be mended in a row, in full, after its number and name."""
    told = ". ".join(map(row_problem_words, row.problems))
    return f"{line.capitalize()} {row.number}, {row.data.get('name', 'without a name')} — {told}."


def column_words(column: Column) -> str:
    """What a column is taken for: "Mass, in lb"."""
    if column.field == KEPT:
        return (
            "not understood, kept as it is" if column.how == "not understood" else "kept as it is"
        )
    if column.field == LEAVE_OUT:
        return "left out"
    words = meaning_words(column.field)
    if len(units_of(column.field)) < 2 or not column.unit:
        return words
    return f"{words}, in {unit_words(column.field, column.unit)}"


def strangers_words(table: ShopTable) -> str:
    """Names every column that was not understood; "" where there is none."""
    names = not_understood(table)
    if not names:
        return ""
    what = "1 column was" if len(names) == 1 else f"{len(names)} columns were"
    return f"{what} not understood: {', '.join(f'“{name}”' for name in names)}."


def counts_words(fates: Sequence[Fate], *, whose: str = "here") -> str:
    """How many rows are new, changed, the same: "12 candidates: 9 new, 3 the same as here"."""
    counts = Counter(fate.kind for fate in fates)
    clauses = [
        (counts["new"], "new"),
        (counts["changed"], "changed"),
        (counts["same"], f"the same as {whose}"),
        (counts["doubled"], "repeating a row above"),
    ]
    told = ", ".join(f"{count} {what}" for count, what in clauses if count)
    broken = sum(1 for fate in fates if fate.row.problems)
    mend = f"; {broken} with something to mend" if broken else ""
    return f"{len(fates)} candidate{'s' * (len(fates) != 1)}: {told}{mend}."


def difference_words(different: Difference, units: Units, currency: str) -> str:
    """What would change: "Mass 24 → 23.5 kg"."""
    if different.field == "other":
        return f"{different.column}: {_value_words(different.before)} → {different.after}"
    entry = entry_of(("candidates", different.field))
    before, after = (shown_text(v, entry, units) for v in (different.before, different.after))
    unit = entry.shown_unit(units, currency)
    tail = f" {unit}" if unit and re.fullmatch(r"[-+0-9.,/ ]+", after) else ""
    return f"{entry.label} {before or '(empty)'} → {after}{tail}"


def _value_words(value: Any) -> str:
    return plain_text(value) or "(empty)"


def fate_words(fate: Fate, table: ShopTable, units: Units, currency: str) -> str:
    """What a row is to those that are there, in a few words."""
    different = "; ".join(difference_words(d, units, currency) for d in fate.differences)
    if fate.kind == "doubled":
        return f"as {table.line} {fate.of}" + (f", but {different}" if different else "")
    return f"changed: {different}" if fate.kind == "changed" else fate.kind


def table_report(table: ShopTable) -> str:
    """What each column was taken for, and what is wrong with the table, row by row."""
    width = max((len(name_of(table, n)) for n in range(len(table.columns))), default=0)
    columns = [
        f"  {name_of(table, n):<{width}}  {column_words(column)}"
        for n, column in enumerate(table.columns)
        if column.heading or column.samples
    ]
    rows = rows_of(table)
    lacking = {p.field for p in table_problems(table) if p.what.startswith("has no column")}
    broken = [line for row in rows for line in _row_report(row, table, lacking)]
    count = f"{len(rows)} row{'s' * (len(rows) != 1)}"
    whole = [table_problem_words(problem) for problem in table_problems(table)]
    parts = [
        "\n".join((f"{table.file or 'The table'}: {count}.", *table.said)),
        "\n".join(("What its columns were taken for:", *columns)),
        strangers_words(table),
        "\n".join(("To mend in the table:", *(f"  {line}" for line in whole))) if whole else "",
        "\n".join(("Row by row:", *broken)) if broken else "",
    ]
    return "\n\n".join(part for part in parts if part)


def table_remarks(table: ShopTable) -> str:
    """What was read of forms that shops use, row by row; "" where nothing has to be said."""
    lines = [
        f"  {table.line} {row.number}, {row.data.get('name', 'without a name')}: {said}"
        for row in rows_of(table)
        for said in row.said
    ]
    return "\n".join((f"{table.file or 'The table'}, as it was read:", *lines)) if lines else ""


def _row_report(row: IntakeRow, table: ShopTable, lacking: Set[str]) -> list[str]:
    name = row.data.get("name", "without a name")
    told = [row_problem_words(p) for p in row.problems if p.field not in lacking]
    return [f"  {table.line} {row.number}, {name}: {line}" for line in (*told, *row.said)]
