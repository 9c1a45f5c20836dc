"""The one case a session works on. No widget owns it; widgets only edit it."""

import logging
from collections.abc import Callable, Mapping, Set
from contextlib import nullcontext
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import streamlit as st

from tco.case import Case, CaseError, Problem, read_case
from tco.case.toml import case_from_mapping, case_to_mapping, parse_toml
from tco.compare import Comparison, compare
from tco.forms.shop_table import rows_of_table

DEMO_FOLDER = Path(__file__).resolve().parents[2] / "candidates_demo"
DEMOS = {
    "otterbank": "The Otterbank, 24 V canal boat",
    "larch_hut": "Larch Hut, 48 V mountain refuge",
    "coldharbour": "Coldharbour, 12 V horse lorry (US units)",
}
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

FIRST_DRAWS = 1000

T = TypeVar("T")

_LOG = logging.getLogger(__name__)
_KEY = "workspace"
_COUNT = "workspaces opened"


@dataclass
class Workspace:
    """What a session holds.

    `raw` is the case as typed, with mistakes where there are some (`problems`); `case` the last
    one that could be read. `seen` and `grids` remember what widgets showed, so that only what was
    touched is written back. `version` changes with every case opened, so that no widget carries
    a value over. `stated` is the text of the case that `comparison` is of; `shown` the arrangement
    looked at, `draws` how many are drawn (`drawn`: of
    which case, and what came out), `pair` the two weighed by choice and `log` the capacity
    tests (`logs` counts those opened), all kept from screen to screen.
    """

    raw: dict[str, Any]
    case: Case
    version: int
    problems: tuple[Problem, ...] = ()
    comparison: Comparison | None = None
    failure: str = ""
    stated: str = ""
    shown: str = ""
    draws: int = FIRST_DRAWS
    drawn: tuple[str, Comparison | None] = ("", None)
    pair: tuple[str, str] = ("", "")
    log: str = ""
    logs: int = 0
    seen: dict[str, str] = field(default_factory=dict)
    grids: dict[str, "Grid"] = field(default_factory=dict)

    def section(self, path: tuple[str, ...]) -> dict[str, Any]:
        """The part of the typed case at a path; empty where there is none."""
        part: Any = self.raw
        for step in path:
            part = part.get(step) if isinstance(part, Mapping) else None
        return dict(part) if isinstance(part, Mapping) else {}

    def rows(self, path: tuple[str, ...]) -> list[dict[str, Any]]:
        """The entries of a list in the typed case."""
        part = self.section(path[:-1]).get(path[-1])
        return [dict(row) for row in part] if isinstance(part, list | tuple) else []

    def put(self, path: tuple[str, ...], value: Any) -> None:
        """Write a part of the case (None takes it out) and read the case anew."""
        if not path:
            self.raw = dict(value or {})
            self.read()
            return
        target = self.raw
        for step in path[:-1]:
            inner = target.get(step)
            target[step] = dict(inner) if isinstance(inner, Mapping) else {}
            target = target[step]
        if value is None:
            target.pop(path[-1], None)
        else:
            target[path[-1]] = value
        self.read()

    def read(self) -> None:
        """Read the typed case; where it cannot be, the last good one stays."""
        try:
            self.case = case_from_mapping(self.raw)
        except CaseError as error:
            self.problems = error.problems
        else:
            self.problems = ()
            self.raw = case_to_mapping(self.case)


@dataclass
class Grid:
    """What an editable grid was made of, and the rows last read from it."""

    before: list[dict[str, Any]]
    last: Any
    frame: Any


def workspace() -> Workspace:
    """The workspace of this session; opens the first demo where there is none."""
    if _KEY not in st.session_state:
        open_demo("otterbank")
    held: Workspace = st.session_state[_KEY]
    return held


def _open(case: Case, raw: dict[str, Any] | None = None) -> None:
    count = st.session_state.get(_COUNT, 0) + 1
    st.session_state[_COUNT] = count
    held = Workspace(raw=raw or case_to_mapping(case), case=case, version=count)
    if raw is not None:
        held.read()
    st.session_state[_KEY] = held


def open_demo(name: str) -> None:
    """Open one of the demo cases."""
    _open(read_case(DEMO_FOLDER / f"{name}.toml"))
    log = DEMO_FOLDER / f"{name}_log.csv"
    if log.exists():
        st.session_state[_KEY].log = log.read_text(encoding="utf-8")


LOGS = {"otterbank_log.csv": "Demo: the new bank", "otterbank_old_log.csv": "Demo: the old bank"}


def demo_logs(held: Workspace) -> dict[str, str]:
    """Demo logs that belong to the case, text by name."""
    if held.case.title != read_title("otterbank"):
        return {}
    return {words: (DEMO_FOLDER / name).read_text(encoding="utf-8") for name, words in LOGS.items()}


@st.cache_data(show_spinner=False)
def read_title(name: str) -> str:
    """Title of a demo case."""
    return read_case(DEMO_FOLDER / f"{name}.toml").title


def open_log(text: str) -> None:
    """Open another log of capacity tests; "" for an empty one."""
    held = workspace()
    held.log, held.logs = text, held.logs + 1


def open_empty() -> None:
    """Open a case without loads, sources or candidates."""
    climate = read_case(DEMO_FOLDER / "otterbank.toml").climate
    _open(case_from_mapping({**EMPTY, "climate": climate.model_dump(mode="json")}))


def open_files(
    toml: tuple[str, bytes], table: tuple[str, bytes] | None = None
) -> tuple[Problem, ...]:
    """Open a case from uploaded files (name and bytes each).

    Returns what is wrong where the case itself cannot be read; the present case then stays. Rows
    of the table with mistakes are opened as typed, to be mended in the grid.
    """
    name, data = toml
    try:
        raw = parse_toml(data.decode("utf-8-sig"), file=name)
    except UnicodeDecodeError:
        return (Problem("is not UTF-8 text", file=name, mend="Choose the TOML file of a case."),)
    except CaseError as error:
        return error.problems
    rows: list[dict[str, Any]] = []
    if table is not None:
        rows, broken = rows_of_table(decoded(table[1]), file=table[0])
        if broken and not rows:
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
    try:
        _open(case_from_mapping(full, file=name))
    except CaseError as error:
        try:
            readable = case_from_mapping({**raw, "candidates": []}, file=name)
        except CaseError:
            return error.problems
        _open(readable, full)
    return ()


def decoded(data: bytes) -> str:
    """Text of an uploaded table: UTF-8, UTF-16 with a mark, else Windows-1252."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


@st.cache_resource(max_entries=24, show_spinner="Working out the years…")
def _compared(stated: str, _case: Case) -> Comparison:
    return compare(_case)


def comparison_of(held: Workspace) -> Comparison:
    """The comparison of the last good case; the one before where it cannot be computed."""
    try:
        stated = held.case.model_dump_json(exclude_unset=True)
        held.comparison = _compared(stated, held.case)
        held.stated, held.failure = stated, ""
    except (ValueError, ArithmeticError, LookupError) as error:
        _LOG.exception("the comparison failed")
        held.failure = f"This case cannot be computed: {error}."
        if held.comparison is None:
            bare = case_from_mapping({**case_to_mapping(held.case), "candidates": [], "loads": []})
            held.comparison = compare(bare)
    return held.comparison


def remembered(
    held: Workspace,
    what: str,
    *of: str | int,
    work: Callable[[], T],
    saying: str = "",
    large: bool = False,
) -> T:
    """What `work` gives for the comparison on screen, worked out once for each `what` and `of`.

    `saying` is shown while it takes long. What is `large` (hours of many years) is kept for the
    last few only.
    """
    keep = _kept_few if large else _kept
    with st.spinner(saying) if saying else nullcontext():
        kept: T = keep(what, held.stated, of, work)
        return kept


@st.cache_resource(max_entries=200, show_spinner=False)
def _kept(what: str, stated: str, of: tuple[str | int, ...], _work: Callable[[], Any]) -> Any:
    return _work()


@st.cache_resource(max_entries=8, show_spinner=False)
def _kept_few(what: str, stated: str, of: tuple[str | int, ...], _work: Callable[[], Any]) -> Any:
    return _work()


def drawn_of(held: Workspace, comparison: Comparison) -> Comparison:
    """The comparison with as many draws as the session asks for."""
    stated, drawn = held.drawn
    if drawn is None or stated != held.stated or _count(drawn) != held.draws:
        drawn = _drawn(held.stated, held.draws, comparison.case)
    held.drawn = (held.stated, drawn)
    return drawn


def _count(drawn: Comparison) -> int | None:
    costs = drawn.results[0].costs if drawn.results else None
    return None if costs is None else costs.size


def with_draws_made(held: Workspace, comparison: Comparison) -> Comparison:
    """The comparison with the draws last made of this very case, if any were; none are made."""
    stated, drawn = held.drawn
    return drawn if drawn is not None and stated == held.stated else comparison


@st.cache_resource(max_entries=6, show_spinner="Drawing what is uncertain…")
def _drawn(stated: str, draws: int, _case: Case) -> Comparison:
    return compare(_case, draws=draws)


_SPEAKING_OF_CANDIDATES = (
    ("evidence",),
    ("marks",),
    ("warranties",),
    ("reliability", "stated_classes"),
    ("reliability", "stated_rates"),
)


def follow_names(held: Workspace, renamed: Mapping[str, str], gone: Set[str]) -> bool:
    """Let what is said of candidates follow their names, and go where they went.

    Whether anything was said of them; every widget then starts afresh.
    """
    touched = False
    for path in _SPEAKING_OF_CANDIDATES:
        rows = held.rows(path)
        kept = [row for row in rows if row.get("candidate") not in gone]
        after = [
            {**row, "candidate": renamed.get(str(row.get("candidate")), row.get("candidate"))}
            for row in kept
        ]
        if after != rows:
            put_anew(held, path, after)
            touched = True
    return touched


def put_anew(held: Workspace, path: tuple[str, ...], value: Any) -> None:
    """Write a part of the case that widgets did not type, and let every widget start afresh."""
    held.put(path, value)
    st.session_state[_COUNT] = held.version = st.session_state.get(_COUNT, 0) + 1
    held.seen.clear()
    held.grids.clear()
