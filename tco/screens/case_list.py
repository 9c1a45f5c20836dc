"""Other cases: the kept ones, the demos, an empty one, and files of one's own."""

import streamlit as st

from tco.report.words import literal
from tco.screens import opening, state
from tco.screens.clock import clock
from tco.screens.state import Workspace
from tco.workspace.edits import Edit, Step, now
from tco.workspace.schema.stored import NoSuchCase, StoreTrouble

MOST_SHOWN = 30


def choose(held: Workspace) -> None:
    """Everything that can be opened from here."""
    if opening.owner():
        with st.container(horizontal=True, vertical_alignment="center"):
            st.caption(f"Logged in as {literal(opening.logged_in_as())}")
            st.button("Log out", on_click=st.logout)
    _kept(held)
    st.caption("Demo cases, all invented")
    for name, words in opening.DEMOS.items():
        st.button(
            words, key=f"demo {name}", width="stretch", on_click=opening.open_address, args=(name,)
        )
    st.button(
        "Start an empty case", width="stretch", on_click=opening.open_address, args=(opening.NEW,)
    )
    st.caption("Or open a file of your own")
    file = st.file_uploader(
        "Case (TOML, or one taken along)", type=["toml", "json"], key="case file"
    )
    table = st.file_uploader(
        "Its candidate table, if it has one beside it",
        type=["csv", "txt", "tsv", "xlsx", "xls", "ods"],
        key="table file",
    )
    if file is not None:
        files = [(f.name, f.getvalue()) if f is not None else None for f in (file, table)]
        st.button("Open these files", type="primary", on_click=_open_files, args=files)


def _kept(held: Workspace) -> None:
    """The cases in the store, and what can be done with this one."""
    try:
        cases = opening.store().cases(owner=opening.owner())
        aside = opening.store().put_aside(owner=opening.owner())
    except StoreTrouble as problem:
        st.error(literal(str(problem)), icon=":material/error:")
        return
    for file in aside:
        st.warning(
            literal(f"{file.name} could not be opened. {file.reason} It lies at {file.path}."),
            icon=":material/folder_off:",
        )
    if cases:
        st.caption(
            f"Your cases ({len(cases)})" if opening.owner() else f"Kept cases ({len(cases)})"
        )
    with st.container(height=220 if len(cases) > 5 else "content", border=False):
        for case in cases[:MOST_SHOWN]:
            here = case.id == held.desk.case_id
            st.button(
                f"{literal(case.title)} · {clock(case.changed, '%d %b %H:%M')}"
                + (" (this one)" if here else ""),
                key=f"case {case.id}",
                width="stretch",
                disabled=here,
                on_click=opening.open_address,
                args=(case.id,),
            )
    for case_id in opening.left_unkept():
        st.button(
            f"{case_id}: something of it is not kept yet", key=f"unkept {case_id}",
            width="stretch", on_click=opening.open_address, args=(case_id,),
        )  # fmt: skip
    older = {case.id: f"{case.title} · {clock(case.changed, '%d %b %H:%M')}"
             for case in cases[MOST_SHOWN:]}  # fmt: skip
    if older:
        chosen = st.selectbox(
            f"and {len(older)} older", list(older), index=None, format_func=older.__getitem__,
            placeholder="Choose, or type a part of its name", key="older case",
        )  # fmt: skip
        st.button("Open it", disabled=chosen is None, on_click=opening.open_address, args=(chosen,))
    name = st.text_input(
        "Name of this case",
        value=held.case.title,
        key=f"{held.version} name {held.case.title}",
        on_change=_rename,
        args=(f"{held.version} name {held.case.title}",),
    )
    with st.container(horizontal=True):
        st.button("Duplicate this case", on_click=_duplicate, args=(f"{name} (copy)",))
        if held.desk.begun:
            st.button(
                "Take it off the list", on_click=_remove,
                help="Nothing is deleted: its address stays, and opening it offers to put it back.",
            )  # fmt: skip


def _rename(key: str) -> None:
    held = state.workspace()
    title = str(st.session_state[key]).strip()
    held.commit([Edit(("title",), held.view.get(("title",)), title or None)])


def _duplicate(title: str) -> None:
    held = state.workspace()
    try:
        if held.desk.begun and not held.desk.unkept:
            named = Edit(("title",), held.view.get(("title",)), title)
            words = f"duplicated from {held.case.title}"
            step = Step((named,), words, now(), held.desk.tab, held.desk.owner)
            copy = opening.store().duplicate(
                held.desk.case_id, title=title, owner=opening.owner(), steps=(step,)
            )
            opening.open_address(copy)
        else:
            document = {**held.view, ("title",): title}
            opening.open_document(document, words=f"duplicated from {held.case.title}")
    except (NoSuchCase, StoreTrouble) as problem:
        opening.refuse(f"It was not duplicated: {problem}", ())


def _remove() -> None:
    held = state.workspace()
    try:
        opening.store().remove(held.desk.case_id, owner=opening.owner())
    except (NoSuchCase, StoreTrouble) as problem:
        opening.refuse(f"It was not taken off the list: {problem}", ())
        return
    opening.open_address("otterbank")


def _open_files(case: tuple[str, bytes], table: tuple[str, bytes] | None) -> None:
    problems = opening.open_files(case, table)
    if problems:
        opening.refuse("The file was not opened; the case on screen is unchanged.", problems)
