"""What is wrong, or doubtful, with what was typed: told beside the form or grid it stands in."""

from collections.abc import Callable, Sequence

import streamlit as st

from tco.forms.mistake_words import MISSING, still_missing, told
from tco.report import frames
from tco.report.words import literal
from tco.screens.state import Workspace
from tco.workspace.edits import Path
from tco.workspace.reading import CANDIDATES

MOST_TOLD = 8


def mistakes_beside(held: Workspace, paths: Sequence[Path]) -> None:
    """Tell each mistake at one of the paths or below: where, what is allowed, what holds instead.

    What is merely not filled in yet is told in one line. Doubts about values that can be are told
    likewise.
    """
    case = held.case
    here = [m for m in held.mistakes if any(m.path[: len(path)] == path for path in paths)]
    missing = [m for m in here if m.problem.what == MISSING]
    wrong = [m for m in here if m.problem.what != MISSING]
    _lines(st.error, [told(m, held.view, case.units, case.prices.currency) for m in wrong], "error")
    if missing:
        st.info(literal(still_missing(missing, held.view)), icon=":material/edit_note:")
    elsewhere = [path for path in paths if path != CANDIDATES]  # theirs have a table of their own
    doubts = [
        frames.words(words, case.units)
        for place, words in held.doubts()
        if any(place[: len(path)] == path for path in elsewhere)
    ]
    _lines(st.warning, doubts, "search")


def _lines(box: Callable[..., object], sentences: Sequence[str], icon: str) -> None:
    if not sentences:
        return
    shown = [literal(words) for words in sentences[:MOST_TOLD]]
    if len(sentences) > MOST_TOLD:
        shown.append(f"and {len(sentences) - MOST_TOLD} more here")
    box("\n\n".join(shown), icon=f":material/{icon}:")
