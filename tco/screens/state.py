"""What a session holds: a case at a desk, what was read of it, what was computed of it."""

import gc
import logging
import secrets
from collections.abc import Callable, Iterable
from contextlib import nullcontext
from dataclasses import dataclass, field
from typing import Any, TypeVar

import pandas as pd
import streamlit as st

from tco.case import Case, Problem
from tco.case.toml import case_from_mapping, case_to_mapping
from tco.compare import Comparison, compare
from tco.forms.edit_words import described
from tco.forms.log_document import log_csv
from tco.forms.mistake_words import located_doubts
from tco.forms.sheet import Changes, Sheet
from tco.pipeline import REMEMBERED
from tco.report.answer.effect import Figures, effect_line, figures
from tco.report.words import literal
from tco.workspace.desk import Desk
from tco.workspace.document import section, sections
from tco.workspace.edits import Document, Edit, Path, Value
from tco.workspace.reading import Mistake, Reading, read

FIRST_DRAWS = 1000

T = TypeVar("T")

_LOG = logging.getLogger(__name__)
KEY = "workspace"
"""Session key of the workspace; no widget owns it."""


@dataclass
class Grid:
    """An editable grid: what it shows, the frame and settings it was made of, under one key.

    None of them changes while the key lives. `marks` are the cells (row, column) marked as not
    readable. `edits_of` turns what was done to it into edits.
    """

    key: str
    sheet: Sheet
    marks: frozenset[tuple[str, str]]
    frame: pd.DataFrame
    settings: dict[str, Any]
    edits_of: Callable[[Changes, Document], tuple[Iterable[Edit], str]]


@dataclass
class Field:
    """A field: its widget's key, and the text it shows."""

    key: str
    shown: str


@dataclass
class Workspace:
    """What a session holds.

    `desk` keeps the case and its journal; `reading` is what could be read of it. `version` is
    new with every case opened, so that no widget carries a value over. `grids`, `older` (grids
    replaced a moment ago) and `fields` remember what widgets show. `stated` is the text of the
    case that `comparison` is of; `shown` the arrangement looked at, `draws` how many are drawn
    (`drawn`: of which case, and what came out), `pair` the two weighed by choice, kept from screen
    to screen. `last` are the figures of the answer before the last edit, `edited` says that one
    was made since, `effect` what it did. `reported` is the key of the grid that has
    reported last, `at_work` of the one that this run answers: no grid is marked under typing hands.
    """

    desk: Desk
    reading: Reading
    version: str = field(default_factory=lambda: secrets.token_hex(4))
    comparison: Comparison | None = None
    failure: str = ""
    stated: str = ""
    shown: str = ""
    draws: int = FIRST_DRAWS
    drawn: tuple[str, Comparison | None] = ("", None)
    pair: tuple[str, str] = ("", "")
    grids: dict[str, Grid] = field(default_factory=dict)
    older: dict[str, Grid] = field(default_factory=dict)
    fields: dict[Path, Field] = field(default_factory=dict)
    said: str = ""
    reported: str = ""
    at_work: str = ""
    last: Figures | None = None
    edited: str = ""
    effect: str = ""
    effect_place: Any = None
    doubted: tuple[Reading, tuple[tuple[Path, str], ...]] | None = None

    @property
    def case(self) -> Case:
        """The case that is computed: as typed, as far as it can be read."""
        return self.reading.case

    @property
    def view(self) -> dict[Path, Value]:
        """The case as typed, mistakes and all."""
        return self.desk.view

    @property
    def mistakes(self) -> tuple[Mistake, ...]:
        """What cannot be read, and what the answer rests on instead."""
        return self.reading.mistakes

    @property
    def problems(self) -> tuple[Problem, ...]:
        """The problems of what cannot be read."""
        return tuple(mistake.problem for mistake in self.mistakes)

    @property
    def log(self) -> str:
        """The log of capacity tests as text; "" where there is none."""
        return log_csv(self.view)

    def section(self, path: Path) -> dict[str, Value]:
        """The cells of a section, or of a row, as typed."""
        return section(self.view, path)

    def rows(self, path: Path) -> list[dict[str, Value]]:
        """The cells of the rows of a list, as typed."""
        return list(sections(self.view, path).values())

    def commit(self, edits: Iterable[Edit], words: str = "", *, said: str = "") -> None:
        """Make edits, and read the case anew.

        `words` for people; what the edits do where there are none. `said`: what was read of a form
        that shops use, or how an edit was spread.
        """
        edits = tuple(edits)
        case = self.case
        told = words or described(edits, self.view, case.units, case.prices.currency)
        if self.desk.do(edits, told):
            self.changed(told)
        else:  # what somebody else did may have come in, to be asked about
            self.read()
        self.said = said

    def changed(self, words: str) -> None:
        """Read the case anew after a change at the desk."""
        if self.comparison is not None and not self.edited:
            self.last = figures(self.comparison)
        self.edited = words
        self.read()

    def doubts(self) -> tuple[tuple[Path, str], ...]:
        """Doubts about the case as read, worked out once for each reading."""
        if self.doubted is None or self.doubted[0] is not self.reading:
            self.doubted = self.reading, located_doubts(self.reading)
        return self.doubted[1]

    def read(self) -> None:
        """Read the view; where it cannot be, as much of it as can."""
        self.reading = read(self.view, self.reading.good)


def workspace() -> Workspace:
    """The workspace of this session, which `tco.screens.opening` has opened."""
    held: Workspace = st.session_state[KEY]
    return held


def comparison_of(held: Workspace) -> Comparison:
    """The comparison of the case; the one before where it cannot be computed."""
    try:
        stated = held.case.model_dump_json(exclude_unset=True)
        held.comparison = _compared(stated, held.case)
        held.stated, held.failure = stated, ""
        _keep_what_is_loaded()
    except (ValueError, ArithmeticError, LookupError) as error:
        _LOG.exception("the comparison failed")
        held.failure = f"This case cannot be computed: {error}."
        if held.comparison is None:
            bare = case_from_mapping({**case_to_mapping(held.case), "candidates": [], "loads": []})
            held.comparison = compare(bare)
    _tell_effect(held)
    return held.comparison


FULL_COLLECTION_AFTER = 50
"""Collections of the middle generation before a full one; Python's own choice is 10."""


@st.cache_resource(show_spinner=False)
def _keep_what_is_loaded() -> None:
    """All that is loaded at the first answer stays: no collection of garbage looks through it.

    What is remembered is still looked through, which takes a tenth of a second: not at every edit.
    """
    gc.freeze()
    gc.set_threshold(*gc.get_threshold()[:2], FULL_COLLECTION_AFTER)


def _tell_effect(held: Workspace) -> None:
    """Say under the case's title what the last edit did to the answer."""
    assert held.comparison is not None
    if held.edited:
        now = figures(held.comparison)
        did = effect_line(held.last or now, now, held.case.prices.currency)
        did = "the answer could not be worked out" if held.failure else did
        held.effect, held.edited, held.last = f"{held.edited} — {did}", "", None
    if held.effect_place is not None and held.effect:
        held.effect_place.caption(literal(held.effect))


@st.cache_resource(max_entries=REMEMBERED, show_spinner="Working out the years…")
def _compared(stated: str, _case: Case) -> Comparison:
    return compare(_case)


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
