"""Fields and grids over a case: what is typed becomes edits of single cells, kept at once.

A widget is made of what the case holds and keeps its key as long as it shows just that. It gets a
new one when the case was changed from elsewhere (undo, another grid, another tab), or when its
state was dropped by leaving the screen. What was typed is read in `on_change` and compared with
what this very widget showed before; nothing is drawn there before the edit is kept.
"""

import re
import secrets
import time
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Literal

import pandas as pd
import streamlit as st
from pydantic import BaseModel

from tco.case import Case
from tco.case.explain import model_at
from tco.case.times import MONTHS
from tco.forms import labels
from tco.forms.cells import MARK, cell_value, default_text, shown_text
from tco.forms.entry import Entry
from tco.forms.grid_edits import field_edits, table_edits, table_sheet
from tco.forms.monthly import Line, months_edits, months_sheet, spreads_edits, spreads_sheet
from tco.forms.sheet import Changes, Sheet, report_taken
from tco.report.words import literal
from tco.screens import state
from tco.screens.beside import mistakes_beside
from tco.screens.state import Field, Grid, Workspace
from tco.workspace.document import MONTH_STEPS, new_row_id
from tco.workspace.edits import Document, Edit, Path, same
from tco.workspace.journal import meeting

_OLDER_KEPT = 20
SETTLED_S = 0.25
"""A grid waits some 0.15 s before it reports what was typed in it."""
PathOf = Callable[[str, str], Path]
EditsOf = Callable[[Changes, Document], tuple[Iterable[Edit], str]]


def form(
    held: Workspace,
    path: Path,
    entries: Sequence[Entry],
    *,
    columns: int = 4,
    optional: bool = False,
) -> None:
    """Fields of one section of the case. Any unit may be typed; empty takes the value shown grey.

    `optional`: the whole section is left out of the case when every field but its name is empty.
    """
    units, currency = held.case.units, held.case.prices.currency
    model = model_at(Case, path)
    places: list[Any] = []
    for number, entry in enumerate(entries):
        if number % columns == 0:
            places = st.columns(columns, vertical_alignment="bottom")
        label = _plain(entry.heading(units, currency), currency)
        usual = default_text(model, entry, units)
        hint = f"{usual} (assumed)" if usual and usual != entry.none else usual
        place = places[number % columns]
        field(held, place, path, entry, label, hint or "has to be given", optional=optional)
    mistakes_beside(held, [(*path, entry.field) for entry in entries])


def _plain(label: str, currency: str) -> str:
    """A label as it is where it holds no markdown: screen readers read the text unescaped."""
    return label if re.fullmatch(r"[\w€£$. ]*", currency) else literal(label)


def field(
    held: Workspace,
    place: Any,
    path: Path,
    entry: Entry,
    label: str,
    hint: str,
    *,
    optional: bool = False,
) -> None:
    """One field of a section, in a place of the screen; `hint` stands grey where it is empty."""
    units, where = held.case.units, (*path, entry.field)
    if any(mistake.path == where for mistake in held.mistakes):
        label = f"{MARK}{label}"
    now = shown_text(held.view.get(where), entry, units)
    known = held.fields.get(where)
    if known is None or known.key not in st.session_state or not _agrees(held, where, known, entry):
        known = Field(f"{'.'.join(where)} {secrets.token_hex(4)}", now)
        held.fields[where] = known
        chooses = entry.kind in ("choice", "yes_no")
        st.session_state[known.key] = (now or None) if chooses else now
    typed = {
        "key": known.key,
        "on_change": _field_typed,
        "args": (known.key, path, entry, optional),
    }
    if entry.kind in ("choice", "yes_no"):
        options = list(entry.choices or ("yes", "no"))
        if known.shown and known.shown not in options:
            options.append(known.shown)
        place.selectbox(label, options, index=None, placeholder=hint, **typed)
    else:
        place.text_input(label, placeholder=hint, **typed)


def _agrees(held: Workspace, where: Path, known: Field, entry: Entry) -> bool:
    """Whether a field shows what the case holds, be it written another way."""
    value, units = held.view.get(where), held.case.units
    return known.shown.strip() == shown_text(value, entry, units) or same(
        cell_value(entry, units, known.shown), value
    )


def _field_typed(key: str, path: Path, entry: Entry, optional: bool) -> None:
    held = state.workspace()
    known = held.fields.get((*path, entry.field))
    text = str(st.session_state.get(key) or "")
    if known is None or known.key != key or text == known.shown:
        return
    shown, known.shown = known.shown, text
    held.commit(
        field_edits(held.view, path, entry, held.case.units, text, shown=shown, optional=optional)
    )


def grid(
    held: Workspace,
    path: Path,
    entries: Sequence[Entry],
    *,
    height: int | None = None,
    pinned: int = 0,
    widths: Mapping[str, int] = MappingProxyType({}),
    help_text: str = "",
    usual: Sequence[BaseModel] = (),
) -> None:
    """An editable grid of a list of the case; rows can be added and taken out.

    `usual` are the rows that hold as long as the case states none.
    """
    units, currency = held.case.units, held.case.prices.currency
    held_usual = [row.model_dump(mode="json") for row in usual]
    sheet = table_sheet(held.view, path, entries, units, held_usual)

    def edits_of(changes: Changes, document: Document) -> tuple[Iterable[Edit], str]:
        order = current.sheet.order()
        return table_edits(changes, document, path, entries, units, order=order, usual=held_usual)

    def agree(row: str, column: str, text: str) -> bool:
        entry = entry_of[column]
        return same(cell_value(entry, units, text), held.view.get((*path, row, column)))

    entry_of = {entry.field: entry for entry in entries}

    def settings(marked: Sheet) -> dict[str, Any]:
        columns = {
            entry.field: _column(
                entry,
                entry.heading(units, currency),
                marked,
                pinned=number < pinned,
                width=widths.get(entry.field),
            )
            for number, entry in enumerate(entries)
        }
        size: int | Literal["auto"] = height or "auto"
        return {"num_rows": "dynamic", "column_config": columns, "placeholder": "", "height": size}

    if help_text:
        st.caption(help_text)
    name = f"{'.'.join(path)} {units} {currency}"
    current = _grid(held, name, lambda row, c: (*path, row, c), sheet, settings, edits_of, agree)
    _drawn(current)
    mistakes_beside(held, [path])


def _grid(
    held: Workspace,
    name: str,
    path_of: PathOf,
    sheet: Sheet,
    settings: Callable[[Sheet], dict[str, Any]],
    edits_of: EditsOf,
    agree: Callable[[str, str, str], bool],
    frame_of: Callable[[Sheet], pd.DataFrame] | None = None,
) -> Grid:
    """The grid that is there, where it shows what the case holds; else one made anew."""
    known = held.grids.get(name)
    if known is not None and known.key in st.session_state:
        marks_to_come = held.at_work != known.key and _marks(held, path_of, sheet) != known.marks
        if _shows(known.sheet, sheet, agree) and not marks_to_come:
            known.edits_of = edits_of
            return known
        time.sleep(SETTLED_S)  # what is typed in it comes first: a report under way runs this anew
    if known is not None:
        held.older[known.key] = known
        for key in list(held.older)[:-_OLDER_KEPT]:
            del held.older[key]
    marks = _marks(held, path_of, sheet)
    marked = _marked(sheet, marks)
    frame = (frame_of or _frame)(marked)
    key = f"{name} {secrets.token_hex(4)}"
    made = Grid(key, marked, marks, frame, settings(marked), edits_of)
    held.grids[name] = made
    return made


def _shows(shown: Sheet, wanted: Sheet, agree: Callable[[str, str, str], bool]) -> bool:
    """Whether a grid shows the rows and texts wanted, be they written another way."""
    now, then = shown.shown(), wanted.shown()
    if shown.columns != wanted.columns or [row for row, _ in now] != [row for row, _ in then]:
        return False
    return all(
        cells.get(column, "").strip() == texts.get(column, "")
        or agree(row, column, cells.get(column, ""))
        for (row, cells), (_, texts) in zip(now, then, strict=True)
        for column in shown.columns
    )


def _marks(held: Workspace, path_of: PathOf, sheet: Sheet) -> frozenset[tuple[str, str]]:
    """Cells of a grid that cannot be read: row and column."""
    wrong = {mistake.path for mistake in held.mistakes}
    return frozenset(
        (row, column)
        for row, cells in sheet.made.items()
        for column in cells
        if path_of(row, column) in wrong
    )


def _marked(sheet: Sheet, marks: Collection[tuple[str, str]]) -> Sheet:
    """The sheet with a mark before every cell that cannot be read."""
    made = {
        row: {c: f"{MARK}{text}" if (row, c) in marks else text for c, text in cells.items()}
        for row, cells in sheet.made.items()
    }
    return Sheet(sheet.columns, sheet.rows, made)


def _frame(sheet: Sheet) -> pd.DataFrame:
    cells = [[sheet.made[row].get(c) for c in sheet.columns] for row in sheet.rows]
    return pd.DataFrame(cells, columns=list(sheet.columns), dtype=object)


def _drawn(grid_shown: Grid) -> None:
    st.data_editor(
        grid_shown.frame,
        key=grid_shown.key,
        hide_index=True,
        on_change=grid_typed,
        args=(grid_shown.key,),
        **grid_shown.settings,
    )


def grid_typed(key: str) -> None:
    """Take what was done to a grid as edits of the case."""
    held = state.workspace()
    known = next((g for g in held.grids.values() if g.key == key), held.older.get(key))
    report = st.session_state.get(key)
    if known is None or report is None:
        return
    held.reported = key
    changes = report_taken(known.sheet, report, new_row_id)
    edits, said = known.edits_of(changes, held.view)
    others = [edit for step in held.desk.look() for edit in step.edits]
    if meeting(tuple(edits), others):  # what was taken for granted is stated by now
        held.desk.take_in()
        edits, said = known.edits_of(changes, held.view)
    held.commit(edits, said=said)


def _column(entry: Entry, label: str, sheet: Sheet, *, pinned: bool, width: int | None) -> Any:
    if entry.kind in ("choice", "yes_no"):
        options = list(entry.choices or ("yes", "no"))
        held = (cells.get(entry.field) for cells in sheet.made.values())
        odd = [text for text in dict.fromkeys(held) if text and text not in options]
        return st.column_config.SelectboxColumn(
            label, options=[*options, *odd], pinned=pinned, width=width
        )
    numeric = entry.kind in ("number", "share", "price")
    return st.column_config.TextColumn(
        label, pinned=pinned, width=width, alignment="right" if numeric else "left"
    )


def months_grid(held: Workspace, name: str, lines: Sequence[Line]) -> None:
    """A grid of twelve columns, one line for each monthly entry."""
    units, currency = held.case.units, held.case.prices.currency
    by_name = {line.name: line for line in lines}
    headings = {line.name: _heading(line, held) for line in lines}

    def edits_of(changes: Changes, document: Document) -> tuple[Iterable[Edit], str]:
        return months_edits(changes, document, lines, units)

    def agree(row: str, column: str, text: str) -> bool:
        line = by_name[row]
        shown = months_sheet(held.view, [line], units).made[row].get(column, "")
        entry = line.entry
        return same(cell_value(entry, units, text), cell_value(entry, units, shown))

    def frame_of(sheet: Sheet) -> pd.DataFrame:
        frame = _frame(sheet)
        frame.insert(0, "", [headings[row] for row in sheet.rows])
        return frame

    def settings(sheet: Sheet) -> dict[str, Any]:
        columns: dict[str, Any] = {
            m: st.column_config.TextColumn(m, alignment="right", width=68) for m in MONTHS
        }
        columns[""] = st.column_config.TextColumn("", pinned=True, width=300)
        return {"num_rows": "fixed", "disabled": [""], "column_config": columns}

    def path_of(row: str, month: str) -> Path:
        line = by_name[row]
        return (*line.path, line.entry.field, MONTH_STEPS[MONTHS.index(month)])

    shape = "|".join(headings.values())
    key = f"{name} {units} {currency} {shape}"
    sheet = months_sheet(held.view, lines, units)
    _drawn(_grid(held, key, path_of, sheet, settings, edits_of, agree, frame_of))
    mistakes_beside(held, [(*line.path, line.entry.field) for line in lines])


def _heading(line: Line, held: Workspace) -> str:
    unit = line.entry.shown_unit(held.case.units, held.case.prices.currency)
    return f"{line.label} [{unit}]" if unit else line.label


def spreads_grid(held: Workspace) -> None:
    """A fixed grid of the uncertain quantities: what each is called, and its two ends."""
    words = {name: (label, entries[0].unit) for name, label, entries in labels.SPREADS}
    entry_of = {(name, e.field): e for name, _, ends in labels.SPREADS for e in ends}

    def agree(row: str, column: str, text: str) -> bool:
        value = held.view.get(("spreads", row, column))
        return same(cell_value(entry_of[row, column], "metric", text), value)

    def frame_of(sheet: Sheet) -> pd.DataFrame:
        frame = _frame(sheet)
        frame.insert(0, "what", [words[row][0] for row in sheet.rows])
        frame["unit"] = [words[row][1] for row in sheet.rows]
        return frame

    def settings(sheet: Sheet) -> dict[str, Any]:
        end = {"alignment": "right", "width": 110}
        columns = {
            "what": st.column_config.TextColumn("Quantity", width=240),
            "low": st.column_config.TextColumn("1 in 10 below", **end),  # type: ignore[arg-type]
            "high": st.column_config.TextColumn("1 in 10 above", **end),  # type: ignore[arg-type]
            "unit": st.column_config.TextColumn("", width=190),
        }
        return {
            "num_rows": "fixed", "disabled": ["what", "unit"], "column_config": columns,
            "height": "content",
        }  # fmt: skip

    def path_of(row: str, end: str) -> Path:
        return ("spreads", row, end)

    sheet = spreads_sheet(held.view)
    _drawn(_grid(held, "spreads", path_of, sheet, settings, spreads_edits, agree, frame_of))
    mistakes_beside(held, [("spreads",)])
