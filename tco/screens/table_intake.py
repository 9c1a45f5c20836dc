"""Taking a shop's table in: what its columns mean, and what becomes of its rows."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import pandas as pd
import streamlit as st

from tco.case import CaseError
from tco.forms import labels
from tco.forms.cells import shown_text
from tco.forms.entry import Entry, Units
from tco.forms.intake import CHOICES, Choice, Fate, Intake, against, changes, usual_choice
from tco.forms.meanings import FIELDS, KEPT, LEAVE_OUT, meaning_words, unit_words, units_of
from tco.forms.shop_columns import (
    ShopTable,
    name_of,
    not_understood,
    read_table,
    table_problems,
    with_meaning,
)
from tco.forms.shop_table import rows_of
from tco.forms.table_words import (
    counts_words,
    fate_words,
    problem_in_short,
    row_words,
    strangers_words,
    table_problem_words,
)
from tco.report.words import literal

TYPES = ("csv", "txt", "tsv", "xlsx", "xls", "ods")
_LAST = "shop last"
_DONE = "shop done"
_LINE = (5, 4, 7, 4)
"""Widths of the columns of the matching, and below the height of one of its lines, in pixels."""
_LINE_PX = 44
_MATCHING_PX, _PREVIEW_PX = 400, 340
_MEND_PX, MOST_IN_FULL = 160, 5
"""Height of the list of what is to be mended where it has more rows than that."""
_LONGEST, _LONGEST_CELLS = 44, 28
_FOR_ALL: Mapping[Choice, str] = {
    "update": "Update those here",
    "add": "Add them as others",
    "leave out": "Leave them out",
}
_FOR_ONE: Mapping[Choice, str] = {"update": "update", "add": "add", "leave out": "leave out"}
_NOTHING = "nothing to do"
"""What stands for "leave out" beside a row that is here already, cell by cell."""


def panel(
    present: Sequence[Mapping[str, Any]],
    units: Units,
    currency: str,
    take: Callable[[Intake], None],
) -> None:
    """Draw the panel.

    Parameters
    ----------
    present
        The rows of the grid as typed, by field.
    units, currency
        In which the rows are shown.
    take
        Called, before the next run of the screen, with what is to be taken in; the places in it
        are those of `present`.
    """
    given = _given()
    if given is None:
        return
    data, file = given
    identity = hashlib.sha256(data if isinstance(data, bytes) else data.encode()).hexdigest()[:16]
    try:
        guessed = _read(data, file)
    except CaseError as error:
        for problem in error.problems:
            st.error(literal(str(problem)), icon=":material/error:")
        return
    about = st.container()
    table = _matching(guessed, f"shop {identity}")
    with about:
        _about(table)
    fates = against(rows_of(table), present)
    if not fates:
        return
    st.markdown(f"**{literal(counts_words(fates))}**")
    intake = changes(fates, _choices(fates, table, units, currency, f"shop {identity}"), present)
    st.button(
        "Put them into the grid",
        key=f"shop {identity} take",
        type="primary",
        disabled=not (intake.added or intake.updated),
        on_click=_take,
        args=(take, intake, identity),
    )
    _tell_done(identity, present)


def _given() -> tuple[bytes | str, str] | None:
    """The table that was given last, as a file or pasted, and the name of its file."""
    file, paste = st.columns([1, 1], gap="medium")
    chosen = file.file_uploader(
        "A table as a file: CSV, text, XLSX, XLS or ODS",
        type=list(TYPES),
        key="shop file",
        on_change=_given_last,
        args=("file",),
    )
    pasted = paste.text_area(
        "Or cells pasted from a spreadsheet, a file or a web page",
        key="shop paste",
        height=100,
        placeholder="Headings in the first row, then one pack a row. A data sheet with one pack a "
        "column will do as well.",
        on_change=_given_last,
        args=("paste",),
    )
    if pasted.strip() and (chosen is None or st.session_state.get(_LAST) == "paste"):
        return pasted, ""
    return (chosen.getvalue(), chosen.name) if chosen is not None else None


def _given_last(which: str) -> None:
    st.session_state[_LAST] = which


@st.cache_data(max_entries=16, show_spinner="Reading the table…")
def _read(data: bytes | str, file: str) -> ShopTable:
    return read_table(data, file=file)


def _about(table: ShopTable) -> None:
    """How the table was read, what of it was not understood, what is wrong with it as a whole."""
    for sentence in table.said:
        st.caption(literal(sentence))
    strangers = strangers_words(table)
    if strangers:
        stay = "It stays with the candidate as it is, unless you say below what it means."
        if len(not_understood(table)) > 1:
            stay = "They stay with the candidate as they are, unless you say below what they mean."
        st.info(f"{literal(strangers)} {stay}", icon=":material/help:")
    problems = [literal(table_problem_words(problem)) for problem in table_problems(table)]
    if problems:
        st.warning("\n\n".join(problems), icon=":material/warning:")


def _matching(guessed: ShopTable, key: str) -> ShopTable:
    """What every column means, a line each, those that were not understood first."""
    there = [n for n, column in enumerate(guessed.columns) if column.heading or column.samples]
    there.sort(key=lambda n: guessed.columns[n].how != "not understood")
    table = guessed
    tall = len(there) * _LINE_PX > _MATCHING_PX
    with st.container(height=_MATCHING_PX if tall else "content", border=tall, gap="xxsmall"):
        heads = st.columns(_LINE, vertical_alignment="bottom")
        for place, words in zip(heads, ("Column", "Its first cells", "Means"), strict=False):
            place.caption(words)
        heads[-1].caption("In", help="Holds where a cell does not say its own unit.")
        for column in there:
            table = _line(table, guessed, column, f"{key} {column}")
    return table


def _line(table: ShopTable, guessed: ShopTable, place: int, key: str) -> ShopTable:
    column, name = guessed.columns[place], name_of(guessed, place)
    heading, cells, means, unit_in = st.columns(_LINE, vertical_alignment="center")
    heading.markdown(literal(_short(name, _LONGEST)))
    cells.caption(literal(_short(" · ".join(column.samples), _LONGEST_CELLS) or "(empty)"))
    options = (KEPT, LEAVE_OUT, *FIELDS)
    field = means.selectbox(
        f"{name} means",
        options,
        index=options.index(column.field),
        format_func=meaning_words,
        label_visibility="collapsed",
        key=f"{key} means",
    )
    units = [unit.key for unit in units_of(field)]
    unit: str | None = units[0] if units else ""
    if len(units) > 1:
        if field == column.field:
            unit = column.unit if column.unit in units else None
        unit = unit_in.selectbox(
            f"{name} is in",
            units,
            index=units.index(unit) if unit is not None else None,
            format_func=lambda known: unit_words(field, known),
            placeholder="?",
            label_visibility="collapsed",
            key=f"{key} {field} unit",
        )
    if unit is None or (field, unit) == (column.field, column.unit):
        return table
    return with_meaning(table, place, field, unit)


def _short(text: str, longest: int) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= longest else f"{plain[: longest - 1]}…"


def _choices(
    fates: Sequence[Fate], table: ShopTable, units: Units, currency: str, key: str
) -> dict[int, Choice]:
    """What becomes of each row, by its number: said for all that are here, and row by row."""
    those_here: Choice = "update"
    if any(fate.kind == "changed" for fate in fates):
        those_here = st.radio(
            "Those that are here already and differ",
            CHOICES,
            format_func=lambda choice: _FOR_ALL[choice],
            horizontal=True,
            key=f"{key} those here",
        )
    frame = _preview(fates, table, units, currency, those_here)
    shown = hashlib.sha256(frame.to_json().encode()).hexdigest()[:16]
    edited = st.data_editor(
        frame,
        key=f"{key} {shown} rows",
        hide_index=True,
        disabled=[name for name in frame.columns if name != "choice"],
        height=min(_PREVIEW_PX, 38 + 35 * len(frame)),
        column_config=_columns(frame, table, units, currency),
        num_rows="fixed",
    )
    _mend(fates, table)
    said = dict(zip(edited["row"], edited["choice"], strict=True))
    meant: dict[str, Choice] = {words: choice for choice, words in _FOR_ONE.items()}
    return {fate.row.number: meant.get(said[str(fate.row.number)], "leave out") for fate in fates}


def _mend(fates: Sequence[Fate], table: ShopTable) -> None:
    """What cannot be read in each row, in full."""
    broken = [fate.row for fate in fates if fate.row.problems]
    if not broken:
        return
    st.caption("Rows with something to mend come into the grid as typed, and are mended there:")
    with st.container(height=_MEND_PX if len(broken) > MOST_IN_FULL else "content", border=False):
        st.caption("\n".join(f"- {literal(row_words(row, table.line))}" for row in broken))


def _preview(
    fates: Sequence[Fate], table: ShopTable, units: Units, currency: str, those_here: Choice
) -> pd.DataFrame:
    """The rows as they would be taken, what they are to those here, what is to mend in them."""
    entries = _entries(fates)
    lines = []
    for fate in fates:
        data = fate.row.data
        line = {
            "row": str(fate.row.number),
            "name": shown_text(data.get("name"), labels.CANDIDATE[0], units),
            "choice": _NOTHING if fate.kind == "same" else _FOR_ONE[usual_choice(fate, those_here)],
            "mend": "; ".join(map(problem_in_short, fate.row.problems)),
            "fate": fate_words(fate, table, units, currency),
            "read": " ".join(fate.row.said),
            **{entry.field: shown_text(data.get(entry.field), entry, units) for entry in entries},
            "other": "; ".join(f"{name}: {text}" for name, text in data.get("other", {}).items()),
        }
        lines.append(line)
    frame = pd.DataFrame(lines)
    empty = [name for name in ("mend", "read", "other") if not frame[name].any()]
    return frame.drop(columns=empty)


def _entries(fates: Sequence[Fate]) -> list[Entry]:
    stated = {field for fate in fates for field in fate.row.data}
    return [entry for entry in labels.CANDIDATE if entry.field in stated - {"name"}]


def _columns(frame: pd.DataFrame, table: ShopTable, units: Units, currency: str) -> dict[str, Any]:
    config = st.column_config
    made: dict[str, Any] = {
        "row": config.TextColumn(table.line.capitalize(), width=60, pinned=True),
        "name": config.TextColumn("Name", width=160, pinned=True),
        "choice": config.SelectboxColumn(
            "Take", options=[*_FOR_ONE.values(), _NOTHING], required=True, width=110
        ),
        "fate": config.TextColumn("To those here", width=200),
        "mend": config.TextColumn("To mend", width=220),
        "read": config.TextColumn("Read as", width=320),
        "other": config.TextColumn("Kept as it is", width=260),
    }
    for entry in labels.CANDIDATE[1:]:
        right = entry.kind in ("number", "share", "price")
        made[entry.field] = config.TextColumn(
            entry.heading(units, currency), alignment="right" if right else "left"
        )
    return {name: made[name] for name in frame.columns}


def _take(take: Callable[[Intake], None], intake: Intake, identity: str) -> None:
    take(intake)
    st.session_state[_DONE] = (identity, intake.words, None)


def _tell_done(identity: str, present: Sequence[Mapping[str, Any]]) -> None:
    """Say what was taken in, until the candidates are changed from elsewhere."""
    done, words, then = st.session_state.get(_DONE, ("", "", None))
    now = repr(present)
    if done != identity or then not in (None, now):
        return
    st.session_state[_DONE] = (identity, words, now)
    st.success(literal(f"Done: {words}."), icon=":material/check:")
