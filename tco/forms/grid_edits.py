"""Changes of a grid, or of a field, as edits of a case."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from tco.case.shop_forms import read_shop_form
from tco.forms.cells import MARK, block_of, cell_value, shown_text
from tco.forms.entry import Entry, Units
from tco.forms.sheet import Change, Changes, Sheet
from tco.workspace.document import new_row_id, row_entries, rows, sections, under
from tco.workspace.edits import Document, Edit, Path, Value, same

CANDIDATES: Path = ("candidates",)
SPEAKING_OF_CANDIDATES: tuple[Path, ...] = (
    ("evidence",),
    ("marks",),
    ("warranties",),
    ("reliability", "stated_classes"),
    ("reliability", "stated_rates"),
)
"""Lists whose rows name a candidate."""
LOG_CANDIDATE: Path = ("log", "about", "candidate")
_LONG_TEXTS = frozenset({"notes", "note"})


def table_sheet(
    document: Document,
    table: Path,
    entries: Sequence[Entry],
    units: Units,
    usual: Sequence[Mapping[str, Any]] = (),
) -> Sheet:
    """What a grid of a list of the case shows.

    `usual` are the rows that hold as long as the case states none; their ids are the same for
    everybody.
    """
    columns = tuple(entry.field for entry in entries)
    if table in document or not usual:
        held = sections(document, table)
    else:
        held = {usual_id(number): dict(row) for number, row in enumerate(usual, start=1)}
    made = {
        row: {e.field: text for e in entries if (text := shown_text(cells.get(e.field), e, units))}
        for row, cells in held.items()
    }
    return Sheet(columns, tuple(held), made)


def usual_id(number: int) -> str:
    """Id of one of the usual rows of a list."""
    return f"#usual{number:02d}"


def table_edits(
    changes: Changes,
    document: Document,
    table: Path,
    entries: Sequence[Entry],
    units: Units,
    *,
    order: Sequence[str] = (),
    usual: Sequence[Mapping[str, Any]] = (),
) -> tuple[tuple[Edit, ...], str]:
    """Edits of a list of the case, and what was read of forms that shops use ("" for nothing).

    Parameters
    ----------
    order
        Ids of the rows as the grid shows them, so that a block pasted into one cell can be spread
        over those below.
    """
    if changes == Changes():
        return (), ""
    entry_of = {entry.field: entry for entry in entries}
    wanted: dict[Path, Value] = {}
    said: list[str] = []
    if table not in document:
        wanted[table] = []
        for number, data in enumerate(usual, start=1):
            wanted.update(row_entries(table, data, row_id=usual_id(number), order=float(number)))
    for row in changes.gone:
        place = (*table, row)
        wanted.update(dict.fromkeys((*under(document, place), *_below(wanted, place)), None))
    places = {
        row: float(held[(*table, row)])
        for held in (document, wanted)
        for row in rows(held, table)
        if held[(*table, row)] is not None
    }
    for row in changes.added:
        wanted[(*table, row)] = places[row] = _place(row, order, places)
    typed_in, seen = set(changes.cells), dict[Path, Value]()
    for change in _spread(changes.cells, order, [entry.field for entry in entries]):
        if change.row not in places and change.row not in order:  # new, from a block
            wanted[(*table, change.row)] = places[change.row] = _place(change.row, order, places)
        entry = entry_of[change.column]
        path = (*table, change.row, change.column)
        if change in typed_in and path not in wanted:
            seen[path] = value_seen(document.get(path), change.before, entry, units)
        of_shops = table == CANDIDATES
        for field, value in _read(entry, units, change.after, said, of_shops=of_shops).items():
            wanted[(*table, change.row, field)] = value
    if table == CANDIDATES:
        _follow_names(wanted, document, changes.gone)
    edits = tuple(
        Edit(path, seen.get(path, document.get(path)), value) for path, value in wanted.items()
    )
    return edits, " ".join(dict.fromkeys(said))


def value_seen(now: Value, shown: str, entry: Entry, units: Units) -> Value:
    """What a cell held where it was typed in: its value, unless it showed something else then.

    An edit made of what is shown no longer is asked about, not written.
    """
    text = shown.removeprefix(MARK).strip()
    then = cell_value(entry, units, text)
    return now if text == shown_text(now, entry, units) or same(then, now) else then


def _place(row: str, order: Sequence[str], known: Mapping[str, float]) -> float:
    """The number that puts a new row where the grid shows it: between its neighbours, or last."""
    last = max(known.values(), default=0.0)
    at = order.index(row) if row in order else len(order)
    before = [known[r] for r in order[:at] if r in known]
    after = [known[r] for r in order[at + 1 :] if r in known]
    if not after:
        return last + 1.0
    return (max(before, default=min(after) - 2.0) + min(after)) / 2.0


def _below(wanted: Mapping[Path, Value], place: Path) -> list[Path]:
    return [path for path in wanted if path[: len(place)] == place]


def _read(
    entry: Entry, units: Units, text: str, said: list[str], *, of_shops: bool
) -> dict[str, Value]:
    """What a text typed into a cell sets, by field: its own, and those a shop's form speaks of."""
    value = cell_value(entry, units, text)
    found: dict[str, Value] = {entry.field: value}
    form = read_shop_form(entry.field, value) if of_shops and isinstance(value, str) else None
    if form is not None:
        said.append(form.said)
        found.update((f, v) for f, v in form.values.items() if f != entry.field)
    return found


def _spread(
    changes: Iterable[Change], order: Sequence[str], columns: Sequence[str]
) -> list[Change]:
    """Changes, those of a block pasted into one open cell taken apart into cells and rows."""
    found: list[Change] = []
    for change in changes:
        block = block_of(change.after)
        if len(block) == 1 and len(block[0]) == 1:
            found.append(Change(change.row, change.column, change.before, block[0][0]))
            continue
        if change.column in _LONG_TEXTS and all(len(line) == 1 for line in block):
            found.append(change)
            continue
        start = order.index(change.row) if change.row in order else len(order)
        first = columns.index(change.column)
        below = [*order[start:], *(new_row_id() for _ in block)]
        if change.row not in order:
            below.insert(0, change.row)
        for row, line in zip(below, block, strict=False):
            for column, text in zip(columns[first:], line, strict=False):
                found.append(Change(row, column, "", text))
    return found


def _follow_names(wanted: dict[Path, Value], document: Document, gone: Sequence[str]) -> None:
    """What is said of candidates follows their names, and goes where they went."""
    names = {row: document.get((*CANDIDATES, row, "name")) for row in rows(document, CANDIDATES)}
    spoken_of = {
        document.get((*table, row, "candidate"))
        for table in SPEAKING_OF_CANDIDATES
        for row in rows(document, table)
    }
    orphans = spoken_of - set(names.values())
    if len(orphans) == 1 and list(names.values()).count(None) == 1:
        # the one candidate whose name was emptied is the one that is still spoken of
        names = {row: orphans.copy().pop() if name is None else name for row, name in names.items()}
    renamed = {
        names[path[1]]: value
        for path, value in wanted.items()
        if path[:1] == CANDIDATES and path[2:] == ("name",)
        and path[1] in names and path[1] not in gone and value not in (None, *names.values())
    }  # fmt: skip
    times = list(names.values())
    still = {name for row, name in names.items() if row not in gone} | {
        value for path, value in wanted.items() if path[:1] == CANDIDATES and path[-1] == "name"
    }
    lost = {names[row] for row in gone if row in names} - still
    for table in SPEAKING_OF_CANDIDATES:
        for row in rows(document, table):
            path = (*table, row, "candidate")
            name = document.get(path)
            if name in lost:
                wanted.update(dict.fromkeys(under(document, (*table, row)), None))
            elif name in renamed and times.count(name) == 1:
                wanted[path] = renamed[name]
    about = document.get(LOG_CANDIDATE)
    if about in renamed and times.count(about) == 1:
        wanted[LOG_CANDIDATE] = renamed[about]


def field_edits(
    document: Document,
    path: Path,
    entry: Entry,
    units: Units,
    text: str,
    *,
    shown: str | None = None,
    optional: bool = False,
) -> tuple[Edit, ...]:
    """Edits of one field of a section; an `optional` section goes with the last of its fields.

    `shown` is the text that the field showed before.
    """
    place = (*path, entry.field)
    value, before = cell_value(entry, units, text), document.get(place)
    if shown is not None:
        before = value_seen(before, shown, entry, units)
    edits = [Edit(place, before, value)]
    others = set(under(document, path)) - {place, path, (*path, "name")}
    if optional and value is None and not others:
        edits += [
            Edit(rest, document[rest], None) for rest in under(document, path) if rest != place
        ]
    return tuple(edits)


def rows_added(
    document: Document, table: Path, data: Iterable[Mapping[str, Any]]
) -> tuple[Edit, ...]:
    """Edits that put rows, given as plain data, at the end of a list."""
    wanted: dict[Path, Value] = {} if table in document else {table: []}
    last = max((document[(*table, row)] for row in rows(document, table)), default=0.0)
    for number, row in enumerate(data, start=1):
        wanted.update(row_entries(table, row, row_id=new_row_id(), order=last + number))
    return tuple(Edit(path, document.get(path), value) for path, value in wanted.items())


def cells_set(document: Document, row: Path, values: Mapping[str, Value]) -> tuple[Edit, ...]:
    """Edits that set cells of a row, by field."""
    return tuple(
        Edit((*row, name), document.get((*row, name)), value) for name, value in values.items()
    )
