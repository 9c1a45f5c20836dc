"""The bar above every screen: which case this is, that it is kept, undo, history, other cases."""

import html
from pathlib import Path

import streamlit as st

from tco.case.toml import case_to_toml
from tco.forms.edit_words import described
from tco.report.words import literal
from tco.screens import case_list, opening, parts, state
from tco.screens.clock import clock
from tco.screens.history import history
from tco.screens.state import Workspace
from tco.workspace.desk import Question

STYLE = Path(__file__).with_name("style.css")
ADDRESS = Path(__file__).with_name("address.html")
PASTE = Path(__file__).with_name("paste.html")
_SCREEN = "screen"


def top(screen: str) -> Workspace:
    """Draw the bar; the workspace of the session."""
    st.html(STYLE)
    if opening.has_to_log_in():
        parts.sentence("Log in to work on your cases.")
        st.button("Log in", type="primary", on_click=st.login)
        st.stop()
    held = opening.workspace()
    if held is None:
        parts.sentence("This case cannot be read now.")
        st.error(literal(opening.refused()[0]), icon=":material/error:")
        st.button("Try again")
        st.stop()
    held.at_work, held.reported = held.reported, ""
    st.html(ADDRESS, unsafe_allow_javascript=True)
    st.html(PASTE, unsafe_allow_javascript=True)
    shown = html.escape(held.desk.case_id, quote=True)
    st.html(f'<span id="case-shown" data-case="{shown}" hidden></span>')
    _news(held, screen)
    with st.container(key="bar"):
        title, undo, redo, past, others = st.columns(
            [7, 0.55, 0.55, 1.15, 1.05], vertical_alignment="center"
        )
    title.markdown(
        f"**{literal(held.case.title)}** — {literal(_first_sentence(held.case.story))} "
        f":gray[{literal(_kept(held))}]"
    )
    _undo(held, undo, redo)
    changes = past.popover("History", width="stretch", key="history open", on_change="rerun")
    if changes.open:
        with changes:
            history(held)
    cases = others.popover("Cases", width="stretch", key="cases open", on_change="rerun")
    if cases.open:
        with cases:
            case_list.choose(held)
            _take_along(held)
    held.effect_place = st.empty()
    if held.effect:
        held.effect_place.caption(literal(held.effect))
    _told(held)
    return held


def _first_sentence(story: str) -> str:
    text = " ".join(story.split())
    return text.split(". ")[0].rstrip(".") + "." if text else "no story told yet."


def _kept(held: Workspace) -> str:
    """Whether what stands on screen is on disk, and since when."""
    desk = held.desk
    if desk.unkept:
        return "Not kept."
    if desk.questions:
        return "Kept, but for what is to be decided below."
    if not desk.begun:
        demo = not desk.case_id.startswith(f"{opening.NEW}-")
        return f"{'A demo' if demo else 'Empty'}; kept as a case of yours from your first edit on."
    last = max((step.at for step in desk.steps), default=None)
    return "Kept." if last is None else f"Kept, {clock(last)}."


def _news(held: Workspace, screen: str) -> None:
    """Look what others did; on another screen their edits come in, where no widget is at work."""
    held.desk.look()
    moved = st.session_state.get(_SCREEN) != screen
    st.session_state[_SCREEN] = screen
    if held.desk.waiting and moved:
        _take_in()


def _undo(held: Workspace, undo: object, redo: object) -> None:
    back, again = held.desk.to_undo(), held.desk.to_redo()
    undo.button(  # type: ignore[attr-defined]
        "", icon=":material/undo:", key="undo", width="stretch", shortcut="Ctrl+Z",
        disabled=back is None, on_click=_undo_last,
        help="Undo" + (f": {literal(back.words)}" if back else ""),
    )  # fmt: skip
    redo.button(  # type: ignore[attr-defined]
        "", icon=":material/redo:", key="redo", width="stretch", shortcut="Ctrl+Shift+Z",
        disabled=again is None, on_click=_redo_last,
        help="Make again" + (f": {literal(again.words)}" if again else ""),
    )  # fmt: skip


def _undo_last() -> None:
    held = state.workspace()
    step = held.desk.to_undo()
    held.desk.undo()
    if step is not None:
        held.changed(f"undone: {step.words}")


def _redo_last() -> None:
    held = state.workspace()
    step = held.desk.to_redo()
    held.desk.redo()
    if step is not None:
        held.changed(f"made again: {step.words}")


def _take_along(held: Workspace) -> None:
    """The case as files to take along; they are made in a thread that knows of no session."""
    st.caption("Take this case along")
    st.download_button(
        "One file with its history and log",
        lambda: opening.file_of(held),
        file_name=f"{held.desk.case_id}.json",
        mime="application/json",
        width="stretch",
        on_click="ignore",
    )
    st.download_button(
        "As TOML, for the command line",
        lambda: case_to_toml(held.case),
        file_name=f"{held.desk.case_id}.toml",
        mime="application/toml",
        width="stretch",
        on_click="ignore",
        help="With the candidates in it"
        + (" (as last readable, without what is wrong now)" if held.mistakes else ""),
    )


def _told(held: Workspace) -> None:
    """What went wrong on opening or keeping, what others did, and what has to be decided."""
    words, problems = opening.refused()
    if words:
        st.error(literal(words), icon=":material/error:")
        parts.problem_table(problems)
        with st.container(horizontal=True):
            st.button("Understood", on_click=opening.forget_refused)
            if opening.removed():
                st.button("Put it back on the list", on_click=opening.put_back)
    desk = held.desk
    if desk.trouble and desk.unkept:
        st.error(
            literal(
                f"{desk.trouble} {len(desk.unkept)} edit{'s' * (len(desk.unkept) != 1)} not kept: "
                "what you typed stands on this screen and is kept as soon as it can be. Until "
                "then do not close this page, or take the case along as a file (Cases)."
            ),
            icon=":material/save:",
        )
        st.button("Try again", on_click=_retry)
    if desk.blind:
        st.warning(literal(desk.blind), icon=":material/sync_problem:")
    if held.said:
        st.info(literal(held.said), icon=":material/translate:")
    for question in desk.questions:
        _ask(held, question)
    if desk.waiting:
        done = "; ".join(dict.fromkeys(step.words for step in desk.waiting))
        with st.container(key="news", horizontal=True, vertical_alignment="center"):
            st.info(literal(f"Somebody else on this case: {done}."), icon=":material/group:")
            st.button("Show it here", on_click=_take_in)


def _ask(held: Workspace, question: Question) -> None:
    document = held.desk.about(question)
    mine, theirs = (
        described(edits, document, held.case.units, held.case.prices.currency)
        for edits in (question.mine, question.theirs)
    )
    st.warning(
        literal(
            f"You and somebody else changed the same. Yours, not taken yet: {mine}. Theirs, which "
            f"stands now: {theirs}."
        ),
        icon=":material/call_split:",
    )
    key = ".".join(question.mine[0].path)
    with st.container(horizontal=True):
        for label, own in (("Take mine", True), ("Leave theirs", False)):
            st.button(label, key=f"{label} {key}", on_click=_answer, args=(question, own, mine))


def _answer(question: Question, mine: bool, words: str) -> None:
    held = state.workspace()
    held.desk.answer(question, mine=mine, words=words)
    held.changed(f"settled: {words}")


def _take_in() -> None:
    held = state.workspace()
    words = "; ".join(dict.fromkeys(step.words for step in held.desk.waiting))
    held.desk.take_in()
    held.changed(f"by somebody else: {words}")


def _retry() -> None:
    state.workspace().desk.retry()
