"""Opening a case: by the address in the browser, from the demos, from a file; and the store."""

import itertools
import time
from pathlib import Path
from typing import Any

import streamlit as st

from tco.case import CaseError, Problem, read_case
from tco.case.toml import case_to_mapping, parse_toml
from tco.forms.log_document import log_entries
from tco.forms.shop_table import rows_of_table
from tco.screens.state import KEY, Workspace
from tco.workspace.case_file import case_file_text, read_case_file
from tco.workspace.database import CASE_ID
from tco.workspace.desk import Desk, desk_of, new_desk
from tco.workspace.document import document_of
from tco.workspace.edits import Document, Step, now
from tco.workspace.reading import last_good, read
from tco.workspace.schema.stored import (
    CaseInfo,
    NoSuchCase,
    NotKept,
    NotRead,
    StoredCase,
    StoreTrouble,
)
from tco.workspace.store import Store, new_id, open_store

DEMO_FOLDER = Path(__file__).resolve().parents[2] / "candidates_demo"
DEMOS = {
    "otterbank": "The Otterbank, 24 V canal boat",
    "larch-hut": "Larch Hut, 48 V mountain refuge",
    "coldharbour": "Coldharbour, 12 V horse lorry (US units)",
}
FIRST = "otterbank"
NEW = "new"
TEMPLATES = (*DEMOS, NEW)
"""What an address begins with before the first edit: a demo, or an empty case."""
EMPTY = {
    "title": "My case",
    "system": {
        "nominal_voltage_v": 12,
        "spaces": [{"name": "battery space", "width_mm": 600, "depth_mm": 400, "height_mm": 300}],
    },
    "candidates": [],
}
"""An empty case still needs a voltage, a space and a climate; all three are there to be typed
over. The climate is the demo's."""
LOGS = {"otterbank_log.csv": "Demo: the new bank", "otterbank_old_log.csv": "Demo: the old bank"}

_REFUSED = "not opened"
_REMOVED = "not opened since removed"
_DESKS = "desks with something unkept"
_LEFT = "address left"
_LATE_S = 2.0
"""A message that was under way when another case was opened still carries the old address."""


@st.cache_resource(show_spinner=False)
def store() -> Store:
    """The store of this server."""
    return open_store()


def owner() -> str:
    """Who is logged in, where Streamlit's own login is set up; "" without it.

    An identity provider's `iss` and `sub` stay a person's own; an e-mail address may change hands
    (OpenID Connect Core 1.0, section 5.7).
    """
    user: Any = st.user
    if not getattr(user, "is_logged_in", False):
        return ""
    if user.get("sub"):
        return f"{user.get('iss', '')} {user['sub']}".strip()
    return str(user.get("email") or "")


def logged_in_as() -> str:
    """How to address who is logged in; "" without a login."""
    user: Any = st.user
    return str(user.get("email") or user.get("name") or owner()) if owner() else ""


def has_to_log_in() -> bool:
    """Whether a login is set up and nobody is logged in; without a login all is one user's."""
    return getattr(st.user, "is_logged_in", None) is False


def workspace() -> Workspace | None:
    """The workspace that the address names; the first demo where it names none.

    From then on the address names it. A demo or an empty case has an id of its own from the start
    and is in no store until its first edit. None where a case cannot be read now; its address
    stays.
    """
    held: Workspace | None = st.session_state.get(KEY)
    wanted = st.query_params.get("case", "")
    if held is None or (wanted and not _is_here(held, wanted)):
        held = _opened(wanted or FIRST)
    if held is not None:
        name_in_address(held)
    return held


def _is_here(held: Workspace, wanted: str) -> bool:
    left, when = st.session_state.get(_LEFT, ("", 0.0))
    late = wanted == left and time.monotonic() - when < _LATE_S
    return late or wanted == held.desk.case_id


def name_in_address(held: Workspace) -> None:
    """Let the address in the browser name the case."""
    if st.query_params.get("case") != held.desk.case_id:
        st.query_params["case"] = held.desk.case_id


def _opened(address: str) -> Workspace | None:
    """The case an address names; the present one, or a demo, where there is none to open."""
    here: Workspace | None = st.session_state.get(KEY)
    try:
        return show(desk_for(address))
    except NotRead as problem:
        refuse(str(problem), ())
        return here
    except (NoSuchCase, CaseError) as problem:
        problems = getattr(problem, "problems", (Problem(str(problem)),))
        refuse(f"The case at the address {address} was not opened.", problems)
        st.session_state[_REMOVED] = address if getattr(problem, "removed", False) else ""
        return here or show(desk_for(FIRST))


def desk_for(address: str) -> Desk:
    """A desk for what an address names: a demo, an empty case, a case in the store.

    Raises
    ------
    NoSuchCase
        Where it names nothing that is there.
    NotRead
        Where it cannot be read now.
    """
    left: dict[str, Desk] = st.session_state.get(_DESKS, {})
    if address in left:
        return left.pop(address)
    name = address.rpartition("-")[0]
    if address in TEMPLATES:
        return new_desk(store(), template(address), case_id=new_id(address), owner=owner())
    try:
        return desk_of(store(), address, owner=owner())
    except NoSuchCase as problem:
        if name not in TEMPLATES or problem.was_there or not CASE_ID.fullmatch(address):
            raise
        return new_desk(store(), template(name), case_id=address, owner=owner())


def show(desk: Desk) -> Workspace:
    """Make a desk the session's. A case that cannot be read at all is shown on an empty one."""
    last = last_good(desk.base, desk.history, read(desk.base, template(NEW)).good)
    held = Workspace(desk=desk, reading=read(desk.view, last))
    st.session_state[KEY] = held
    return held


@st.cache_data(show_spinner=False)
def template(name: str) -> Document:
    """A demo case with its log, or an empty case, as a document; the ids in it are always the same,
    since two tabs may be at the same address before the first edit."""
    number = itertools.count(1)

    def row_id() -> str:
        return f"#{next(number):05d}"

    if name == NEW:
        climate = read_case(DEMO_FOLDER / "otterbank.toml").climate
        return document_of(
            {**EMPTY, "climate": climate.model_dump(mode="json", exclude_unset=True)},
            row_id=row_id,
        )
    demo = name.replace("-", "_")
    document = document_of(case_to_mapping(read_case(DEMO_FOLDER / f"{demo}.toml")), row_id=row_id)
    log = DEMO_FOLDER / f"{demo}_log.csv"
    if not log.exists():
        return document
    return {**document, **log_entries(log.read_text(encoding="utf-8"), row_id=row_id)}


def demo_logs(held: Workspace) -> dict[str, str]:
    """Demo logs that belong to the case, text by name."""
    if held.case.title != template(FIRST)[("title",)]:
        return {}
    return {words: (DEMO_FOLDER / name).read_text(encoding="utf-8") for name, words in LOGS.items()}


def open_address(address: str) -> None:
    """Open what an address names, from a button."""
    forget_refused()
    _leave()
    held = _opened(address)
    if held is not None:
        name_in_address(held)


def _leave() -> None:
    """Leave the present case; what could not be kept of it, or is to be decided, waits for us."""
    here: Workspace | None = st.session_state.get(KEY)
    if here is None:
        return
    st.session_state[_LEFT] = (here.desk.case_id, time.monotonic())
    here.desk.retry()
    if here.desk.unkept or here.desk.questions:
        st.session_state.setdefault(_DESKS, {})[here.desk.case_id] = here.desk


def left_unkept() -> tuple[str, ...]:
    """Ids of cases left in this session with something that is not kept or not decided."""
    return tuple(st.session_state.get(_DESKS, {}))


def removed() -> str:
    """Id of the case that was not opened because it was taken off the list; "" for none."""
    return str(st.session_state.get(_REMOVED, ""))


def put_back() -> None:
    """Put the case that was not opened back on the list, and open it."""
    case_id = removed()
    try:
        store().put_back(case_id, owner=owner())
    except (NoSuchCase, StoreTrouble) as problem:
        refuse(f"It was not put back: {problem}", ())
        return
    open_address(case_id)


def open_document(document: Document, *, words: str, steps: tuple[Step, ...] = ()) -> None:
    """Open a case that came from a file: it is in the store before it is on screen.

    Raises
    ------
    NotKept
        Where a case that has a history cannot be written.
    """
    if steps:
        title = str(document.get(("title",)) or "Untitled case")
        made = store().create(document, title=title, owner=owner(), steps=steps)
        desk = desk_of(store(), made, owner=owner())
    else:
        desk = new_desk(store(), document, owner=owner())
        desk.note(Step((), words, now(), desk.tab, desk.owner))
    _leave()
    name_in_address(show(desk))


def open_files(
    case: tuple[str, bytes], table: tuple[str, bytes] | None = None
) -> tuple[Problem, ...]:
    """Open a case from uploaded files (name and bytes each): TOML with its table, or a case file.

    Returns what is wrong where the case itself cannot be read; the present case then stays. Rows
    of the table with mistakes are opened as typed, to be mended in the grid.
    """
    name, data = case
    try:
        text = data.decode("utf-8-sig")
        if text.lstrip().startswith("{"):
            _, base, steps = read_case_file(text, file=name)
            open_document(base, words=f"opened from {name}", steps=steps)
            return ()
        raw = parse_toml(text, file=name)
    except UnicodeDecodeError:
        return (Problem("is not UTF-8 text", file=name, mend="Choose the file of a case."),)
    except CaseError as error:
        return error.problems
    except NotKept as problem:
        return (Problem(str(problem), file=name),)
    rows: list[dict[str, Any]] = []
    if table is not None:
        rows, broken = rows_of_table(table[1], file=table[0])
        if not rows:
            return broken
    elif raw.get("candidates_file") and not raw.get("candidates"):
        return (
            Problem(
                f"keeps its candidates in another file, {raw['candidates_file']}",
                file=name,
                mend="Choose that table too, beside the case.",
            ),
        )
    own = raw.get("candidates", [])
    full = {**raw, "candidates": [*own, *rows] if isinstance(own, list) else rows}
    full.pop("candidates_file", None)
    document = document_of(full)
    reading = read(document, template(NEW))
    elsewhere = [m.problem for m in reading.mistakes if m.path[:1] != ("candidates",)]
    if elsewhere:
        return tuple(elsewhere)
    open_document(document, words=f"opened from {name}")
    return ()


def decoded(data: bytes) -> str:
    """Text of an uploaded table: UTF-8, UTF-16 with a mark, else Windows-1252."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def refused() -> tuple[str, tuple[Problem, ...]]:
    """What could not be opened, and why."""
    told: tuple[str, tuple[Problem, ...]] = st.session_state.get(_REFUSED, ("", ()))
    return told


def refuse(words: str, problems: tuple[Problem, ...]) -> None:
    """Say on the next run that something was not opened."""
    st.session_state[_REFUSED] = (words, problems)


def forget_refused() -> None:
    """What was told has been read."""
    st.session_state.pop(_REFUSED, None)
    st.session_state.pop(_REMOVED, None)


def file_of(held: Workspace) -> str:
    """The case as one file: with its candidates, its log and all its history."""
    return case_file_text(_stored_case_of(held))


def _stored_case_of(held: Workspace) -> StoredCase:
    """The case of a workspace as it would be kept, with what could not be written yet."""
    desk = held.desk
    steps = tuple(step.numbered(n) for n, step in enumerate(desk.history, start=1))
    made = min((step.at for step in steps), default=now())
    info = CaseInfo(
        id=desk.case_id,
        title=held.case.title,
        owner=desk.owner,
        created=made,
        changed=max((step.at for step in steps), default=made),
        steps=len(steps),
    )
    return StoredCase(info, dict(desk.base), steps)
