"""The candidates: every pack on offer, what is assumed of it, what is doubtful."""

from collections.abc import Sequence
from functools import partial

import pandas as pd
import streamlit as st

from tco.case.table import candidates_to_csv
from tco.forms import grid_edits, labels
from tco.forms.edit_words import row_name
from tco.forms.intake import Intake
from tco.report.inputs import frames as input_frames
from tco.report.inputs.words import doubt_rows, offers
from tco.report.words import literal
from tco.screens import bar, fields, parts, state, table_intake
from tco.screens.state import Workspace
from tco.workspace.document import rows, section
from tco.workspace.edits import Edit


def main() -> None:
    """Draw the screen."""
    held = bar.top("candidates")
    top = st.container()
    fields.grid(
        held,
        ("candidates",),
        labels.CANDIDATE,
        pinned=1,
        height=470,
        help_text="Leave a cell empty where the shop does not say: the usual value of the "
        "chemistry is then assumed, and listed below. A cell may carry its own unit, such as "
        "31 lb or 12 in.",
    )
    parts.heading("Management units for bare cells")
    fields.grid(
        held,
        ("management_units",),
        labels.MANAGEMENT_UNIT,
        help_text="Bare cells are built into blocks, each under one of these: as many in parallel "
        "and in series as the system asks for. Give the cells in series it serves; currents and "
        "features it does not state are taken cautiously.",
    )
    comparison = state.comparison_of(held)
    with top:
        parts.troubles(held)
        out = [candidate.name for candidate in held.case.candidates if candidate.left_out]
        parts.sentence(offers(comparison, left_out=len(out)))
        if out:
            st.caption(literal(f"Left out for now: {', '.join(out)}."))
    _, one, save = st.columns([4, 1, 1], gap="medium", vertical_alignment="top")
    with one:
        _one(held)
    save.download_button(
        "Save as a table (CSV)",
        lambda: candidates_to_csv(held.case.candidates),
        file_name="candidates.csv",
        mime="text/csv",
        width="stretch",
        on_click="ignore",
        help="Candidates that can be read; the file of the whole case (under Cases) holds all.",
    )
    with st.expander("Load a shop's table"):
        units, currency = held.case.units, held.case.prices.currency
        there = rows(held.view, grid_edits.CANDIDATES)
        take = partial(_take, there)
        table_intake.panel(held.rows(grid_edits.CANDIDATES), units, currency, take)
    doubts = pd.DataFrame(doubt_rows(held.case), columns=["Candidate", "Worth a second look"])
    if len(doubts):
        parts.heading("Worth a second look")
        parts.reading(doubts)
    assumed = input_frames.assumed(held.case, comparison)
    if len(assumed):
        parts.heading(
            f"Taken as assumed ({len(assumed)}): type the value into the grid to replace it"
        )
        st.dataframe(
            assumed,
            hide_index=True,
            height=min(460, 38 + 35 * len(assumed)),
            column_config={
                "Candidate": st.column_config.TextColumn(width=200),
                "Not stated": st.column_config.TextColumn(width=180),
                "Taken as": st.column_config.TextColumn(width=100, alignment="right"),
                "Because": st.column_config.TextColumn(width=780),
            },
        )


def _one(held: Workspace) -> None:
    """What can be done with one candidate as a whole."""
    table = grid_edits.CANDIDATES
    there = {row: row_name((*table, row), held.view) for row in rows(held.view, table)}
    if not there:
        return
    with st.popover("One candidate", width="stretch"):
        row = st.selectbox(
            "Candidate",
            list(there),
            format_func=lambda row: there.get(row) or "without a name",
            key=f"{held.version} one candidate",
        )
        out = held.view.get((*table, row, "left_out")) is True
        st.button("Duplicate", on_click=_duplicate, args=(row,), width="stretch")
        st.button(
            "Compare it again" if out else "Leave it out for now",
            on_click=_leave_out,
            args=(row, not out),
            width="stretch",
            help="It stays in the case, and is not compared.",
        )


def _duplicate(row: str) -> None:
    held = state.workspace()
    table = grid_edits.CANDIDATES
    cells = section(held.view, (*table, row))
    taken = {str(other.get("name")) for other in held.rows(table)}
    name, number = str(cells.get("name") or "candidate"), 2
    while f"{name} ({number})" in taken:
        number += 1
    copy = {**cells, "name": f"{name} ({number})"}
    held.commit(grid_edits.rows_added(held.view, table, [copy]))


def _leave_out(row: str, out: bool) -> None:
    held = state.workspace()
    place = (*grid_edits.CANDIDATES, row)
    words = f"{row_name(place, held.view)} {'left out for now' if out else 'compared again'}"
    held.commit(grid_edits.cells_set(held.view, place, {"left_out": out or None}), words)


def _take(there: Sequence[str], intake: Intake) -> None:
    """Take a table in; `there` are the ids of the rows that it was compared with."""
    held = state.workspace()
    table = grid_edits.CANDIDATES
    added = [*intake.added]
    edits: list[Edit] = []
    for index, values in intake.updated:
        place = (*table, there[index])
        if place in held.view:
            edits += grid_edits.cells_set(held.view, place, values)
        else:  # taken out meanwhile: it comes as a new one
            added.append(values)
    edits += grid_edits.rows_added(held.view, table, added)
    held.commit(edits, f"table taken in: {intake.words}")


main()
