"""What is wrong with what was typed, in the words and units of the screen it was typed on."""

from collections.abc import Sequence
from typing import Any

from tco.case.explain import limits_of, range_words
from tco.case.plausibility import case_doubts
from tco.case.units import from_canonical, unit_of_field
from tco.forms.cells import shown_text
from tco.forms.edit_words import ROW_WORDS, entry_at, place_words, row_name, shortened
from tco.forms.entry import NICE, Entry, Units
from tco.sentences import says
from tco.workspace.document import is_row, model_of, path_at, plain
from tco.workspace.edits import Document, Path
from tco.workspace.journal import row_of
from tco.workspace.reading import Mistake, Reading

_INSTEAD = {
    "left out": "Left out until it is mended.",
    "as before": "Until then the value before holds.",
    "passed over": "Passed over until then.",
}


MISSING = "is missing"
"""What a problem says of a field that has to be given and is empty."""
_MOST_NAMED = 4


def still_missing(mistakes: Sequence[Mistake], document: Document) -> str:
    """What is not filled in yet, field by field, and that the answer goes on without it."""
    of_field: dict[str, list[str]] = {}
    for mistake in mistakes:
        row = row_of(mistake.path)
        name = row_name(row, document) or "a new row" if row is not None else ""
        of_field.setdefault(entry_at(mistake.path).label, []).append(name)
    clauses = []
    for label, names in of_field.items():
        told_names = [name for name in names[:_MOST_NAMED] if name]
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        clauses.append(f"{label}{' of ' if told_names else ''}{', '.join(told_names)}{more}")
    without = any(mistake.instead == "left out" for mistake in mistakes)
    end = "The answer goes on without these rows until then." if without else ""
    return f"Still to fill in: {'; '.join(clauses)}. {end}".strip()


def told(mistake: Mistake, document: Document, units: Units, currency: str) -> str:
    """Where, what was typed, what is allowed in the units of the screen, what holds meanwhile."""
    path, problem = mistake.path, mistake.problem
    entry = entry_at(path) if _is_cell(path) else None
    where = place_words(path, document, document) if entry is not None else _section(path, problem)
    value = shown_text(document.get(path), entry, units) if entry is not None else ""
    given = f" “{shortened(value)}”" if value else ""
    allowed = (allowed_words(path, entry, units, currency) if entry else "") or problem.allowed
    clauses = [f"{where[:1].upper()}{where[1:]}:{given} {problem.what}."]
    if allowed and not problem.what.startswith(("can mean", MISSING)):
        clauses.append(f"Allowed: {allowed}.")
    if problem.mend and "fraction" not in problem.mend:
        mend = f"Fill in: {entry.label}." if problem.what == MISSING and entry else problem.mend
        clauses.append(mend if mend.endswith((".", "?")) else f"{mend}.")
    instead = _INSTEAD.get(mistake.instead, "")
    row = row_of(path)
    if mistake.instead == "left out" and row is not None:
        instead = f"Until then {_row_words(row, document)} is left out."
    clauses.append(instead)
    return " ".join(clause for clause in clauses if clause)


def short(mistake: Mistake, document: Document) -> str:
    """Where a mistake is and what the answer rests on instead, in a few words."""
    where = (
        place_words(mistake.path, document, document)
        if _is_cell(mistake.path)
        else _section(mistake.path, mistake.problem)
    )
    row = row_of(mistake.path)
    if mistake.instead == "left out" and row is not None:
        return f"{where} (left out: {_row_words(row, document)})"
    return f"{where} ({'as before' if mistake.instead == 'as before' else 'passed over'})"


def _row_words(row: Path, document: Document) -> str:
    one = ROW_WORDS.get(row[-2], ("row", ""))[0]
    name = row_name(row, document)
    return f"the {one} {name}" if name else f"the {one} without a name"


def _is_cell(path: Path) -> bool:
    return len(path) > 0 and not is_row(path[-1]) and model_of(path) is None


def _section(path: Path, problem: Any) -> str:
    steps = [step for step in path if not is_row(step)]
    if not steps:
        return problem.item or problem.file or "the case"
    return ROW_WORDS.get(steps[-1], ("", steps[-1].replace("_", " ")))[1]


def allowed_words(path: Path, entry: Entry, units: Units, currency: str) -> str:
    """The range that a field allows, in the unit of its heading; "" where it has none."""
    steps = [step for step in path if not is_row(step) and not step.isdigit()]
    model = model_of(tuple(steps[:-1]))
    info = model.model_fields.get(steps[-1]) if model is not None else None
    if info is None or entry.kind not in ("number", "share", "price"):
        return ""
    limits = limits_of(info)
    if not limits:
        return ""
    unit = entry.shown_unit(units, currency)
    if entry.kind == "share":
        shown = {key: round(100.0 * limit, 10) for key, limit in limits.items()}
        return range_words(shown, "%")
    own, typed = unit_of_field(entry.field), entry.typed_unit(units)
    if entry.kind == "number" and typed != own:
        limits = {key: from_canonical(limit, own, typed) for key, limit in limits.items()}
        unit = NICE.get(typed, typed)
    return range_words(limits, unit)


def located_doubts(reading: Reading) -> tuple[tuple[Path, str], ...]:
    """Values that can be and are doubtful: the path of each, and a sentence that names its row."""
    _, places = plain(reading.good)
    found = []
    for doubt in case_doubts(reading.case):
        path = path_at(doubt.location, places)
        row = row_of(path)
        name = row_name(row, reading.good) if row is not None else ""
        found.append((path, says(f"{name}: ", doubt.sentence) if name else doubt.sentence))
    return tuple(dict.fromkeys(found))
