"""What a step did, in a few words: "price of Fell 24/230: 1,590 to 1,490"."""

from collections.abc import Sequence

from tco.case.times import MONTHS
from tco.forms import labels
from tco.forms.cells import plain_text, shown_text
from tco.forms.entry import Entry, Units
from tco.forms.log_labels import LOG_LABELS
from tco.workspace.document import LOG, MONTH_STEPS, is_row
from tco.workspace.edits import Document, Edit, Path, Value
from tco.workspace.journal import row_of

ROW_WORDS = {
    "candidates": ("candidate", "candidates"),
    "management_units": ("management unit", "management units"),
    "loads": ("load", "loads"),
    "solar": ("solar array", "solar arrays"),
    "engine": ("engine charger", "engine chargers"),
    "shore": ("mains charger", "mains chargers"),
    "generator": ("generator", "generators"),
    "spaces": ("space", "spaces"),
    "parts": ("part", "parts"),
    "conductors": ("cable price", "cable prices"),
    "fuses": ("fuse price", "fuse prices"),
    "evidence": ("report", "reports"),
    "marks": ("mark", "marks"),
    "warranties": ("warranty", "warranties"),
    "priors": ("prior", "priors"),
    "weights": ("source weight", "source weights"),
    "mark_factors": ("factor of a mark", "factors of marks"),
    "stated_classes": ("price class", "price classes"),
    "stated_rates": ("failure rate", "failure rates"),
    "rows": ("capacity test", "capacity tests"),
}
"""What a row of each list is called, one and several."""
_NAMED_BY = ("name", "candidate", "size", "fuse_class", "quality", "part", "price_class", "Date")
_MOST_NAMED = 3
_LONGEST = 60


def described(edits: Sequence[Edit], before: Document, units: Units, currency: str = "") -> str:
    """What edits do to a document, in one line."""
    after = {**before, **{edit.path: edit.after for edit in edits}}
    rows = [e for e in edits if is_row(e.path[-1])]
    came = [e.path for e in rows if e.after is not None and not _usual(e.path)]
    went = [e.path for e in rows if e.after is None]
    whole = {*came, *went, *(e.path for e in rows)}
    single = [
        edit
        for edit in edits
        if not is_row(edit.path[-1])
        and edit.after not in ([], {})
        and row_of(edit.path) not in whole
    ]
    clauses = [
        *_rows_words(came, after, "added"),
        *_rows_words(went, before, "taken out"),
        *_cells_words(single, before, after, units, currency),
    ]
    return "; ".join(clauses) or "nothing"


def _usual(path: Path) -> bool:
    return path[-1].startswith("#usual")


def _rows_words(paths: Sequence[Path], document: Document, what: str) -> list[str]:
    tables: dict[Path, list[Path]] = {}
    for path in paths:
        tables.setdefault(path[:-1], []).append(path)
    found = []
    for table, members in tables.items():
        one, several = ROW_WORDS.get(table[-1], ("row", "rows"))
        names = [row_name(path, document) for path in members]
        told = ", ".join(name for name in names[:_MOST_NAMED] if name)
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        count = one if len(names) == 1 else f"{len(names)} {several}"
        found.append(f"{count} {what}{': ' if told else ''}{told}{more}")
    return found


def row_name(row: Path, document: Document) -> str:
    """What a row is called: its name, or what it speaks of; "" where it has neither yet."""
    for field in _NAMED_BY:
        value = document.get((*row, field))
        if value not in (None, ""):
            return shortened(plain_text(value))
    return ""


def _cells_words(
    edits: Sequence[Edit], before: Document, after: Document, units: Units, currency: str
) -> list[str]:
    if not edits:
        return []
    if len(edits) == 1:
        return [_cell_words(edits[0], before, after, units, currency)]
    places = [place_words(edit.path, before, after) for edit in edits]
    told = list(dict.fromkeys(places))
    named = ", ".join(told[:_MOST_NAMED])
    more = len(told) - _MOST_NAMED
    return [f"{named} and {more} more" if more > 0 else named]


def _cell_words(edit: Edit, before: Document, after: Document, units: Units, currency: str) -> str:
    place = place_words(edit.path, before, after)
    old, new = (_value_words(v, edit.path, units, currency) for v in (edit.before, edit.after))
    if not old:
        return f"{place}: {new}"
    return f"{place}: {old} to {new}" if new else f"{place}: emptied, was {old}"


def place_words(path: Path, before: Document, after: Document) -> str:
    """What a cell is called: "price of Fell 24/230", "engine runs of the diesel in March"."""
    entry, month = _entry_and_month(path)
    row = row_of(path)
    name = (row_name(row, before) or row_name(row, after)) if row is not None else ""
    if row is not None and not name:
        name = f"a new {ROW_WORDS.get(row[-2], ('row', ''))[0]}"
    label = entry.label[:1].lower() + entry.label[1:] if entry.label[1:2].islower() else entry.label
    of = f" of {name}" if name and path[-1] != "name" else ""
    if path[-1] == "name" and row is not None:
        label = f"name of {ROW_WORDS.get(row[-2], ('row', ''))[0]}"
    return f"{label}{of}{f' in {month}' if month else ''}"


def entry_at(path: Path) -> Entry:
    """The entry that the cell at a path is typed as."""
    return _entry_and_month(path)[0]


def _entry_and_month(path: Path) -> tuple[Entry, str]:
    """The entry that a cell is typed as, and the month of a monthly one."""
    steps = [step for step in path if not is_row(step)] or [""]
    month = MONTHS[int(steps.pop()) - 1] if steps[-1] in MONTH_STEPS and len(steps) > 1 else ""
    if steps[0] == LOG:
        return Entry(steps[-1], LOG_LABELS.get(steps[-1], steps[-1]), "text"), month
    return labels.entry_of(steps), month


def _value_words(value: Value, path: Path, units: Units, currency: str) -> str:
    if value in (None, ""):
        return ""
    entry, _ = _entry_and_month(path)
    text = shown_text(value, entry, units)
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) >= 1000:
        text = f"{value:,.10g}" if entry.kind == "price" else text
    unit = entry.shown_unit(units, "" if entry.kind == "price" else currency)
    if isinstance(value, str) and not _number(text):
        unit = ""
    gap = "" if unit in ("%", "°") else " "
    return shortened(f"{text}{gap}{unit}".strip())


def _number(text: str) -> bool:
    return text.replace(".", "").replace(",", "").lstrip("-").isdigit()


def shortened(text: str) -> str:
    """A text on one line, cut where it is long."""
    plain = " ".join(text.split())
    return plain if len(plain) <= _LONGEST else f"{plain[: _LONGEST - 1]}…"
