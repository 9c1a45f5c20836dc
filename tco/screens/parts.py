"""Parts every screen is made of: the sentence, headings, tables, what is wrong."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd
import streamlit as st

from tco.bank.cautions import Caution
from tco.case import Problem
from tco.compare import Comparison
from tco.forms.mistake_words import MISSING, short
from tco.report.inputs import frames as input_frames
from tco.report.words import literal
from tco.result import Result
from tco.screens.state import Workspace

Chart = alt.Chart | alt.LayerChart | alt.HConcatChart | alt.VConcatChart


def sentence(text: str) -> None:
    """The answer of a screen in one sentence, large."""
    st.subheader(literal(text), anchor=False)


class _Drawn:
    """A chart as it was made: validating it again takes as long as making it. Tests validate."""

    def __init__(self, made: Chart) -> None:
        self._made = made

    def to_dict(self) -> dict[str, Any]:
        return self._made.to_dict(validate=False)


def chart(made: Chart, *, place: Any = st, **more: Any) -> Any:
    """A chart in its own colours; `more` as `streamlit.altair_chart` takes it."""
    return place.altair_chart(_Drawn(made), theme=None, **more)


def heading(text: str) -> None:
    """A heading within a screen."""
    st.markdown(f"##### {literal(text)}")


MOST_NAMED = 3


def troubles(held: Workspace) -> None:
    """What of the case cannot be read, in one line: the answer still stands, and says on what.

    Each mistake is told in full beside the form or grid it was typed in.
    """
    if held.failure:
        st.error(literal(held.failure), icon=":material/error:")
    wrong = [m for m in held.mistakes if m.problem.what != MISSING]
    if not wrong:
        return
    told = list(dict.fromkeys(short(mistake, held.view) for mistake in wrong))
    more = f", and {len(told) - MOST_NAMED} more" if len(told) > MOST_NAMED else ""
    named = ", ".join(told[:MOST_NAMED])
    st.error(
        f"Not read: {literal(named)}{more}. What you typed is kept; it is told where it stands.",
        icon=":material/error:",
    )


def dangers(first: str, others: Sequence[Caution]) -> None:
    """What can hurt whoever builds it: the general caution, then those of this arrangement."""
    listed = "\n".join(f"- {literal(one.sentence)}" for one in others)
    st.warning(f"{literal(first)}\n\n{listed}", icon=":material/bolt:")


def problem_table(problems: Sequence[Problem]) -> None:
    """What is wrong, where, and how to mend it."""
    reading(input_frames.problems(problems))


SHOWN = "arrangement shown"


def arrangement(held: Workspace, comparison: Comparison, *, place: Any = st) -> Result:
    """The arrangement looked at, to be chosen; the same one on every screen."""
    names = [result.arrangement.label for result in comparison.results]
    if st.session_state.get(SHOWN) not in names:
        st.session_state[SHOWN] = held.shown if held.shown in names else names[0]
    held.shown = place.selectbox(
        "Arrangement shown", names, key=SHOWN, label_visibility="collapsed"
    )
    return comparison.result(held.shown)


def nothing_yet() -> None:
    """What to do where there is no arrangement to show."""
    st.info(
        "Type a pack under *Candidates*, or open a demo under *Cases* to look around.",
        icon=":material/arrow_forward:",
    )


MOST_TO_READ = 40


def reading(frame: pd.DataFrame) -> None:
    """A table of words that wraps, so that every reason can be read to its end."""
    if len(frame) > MOST_TO_READ:
        st.dataframe(frame, hide_index=True, height=420)
    elif len(frame):
        shown = frame.map(lambda cell: literal(str(cell))).rename(columns=literal)
        st.table(shown, border="horizontal", hide_index=True)


def table(frame: pd.DataFrame, *, money_digits: int = 0, height: int | None = None) -> None:
    """A table to read: numbers with thousands marks, full height unless it is long."""
    formats: dict[Any, Any] = {
        name: f"{{:,.{money_digits if '[' in name else 1}f}}"
        for name in frame.columns
        if pd.api.types.is_float_dtype(frame[name])
    }
    shown: Any = frame.style.format(formats, na_rep="–") if formats else frame
    st.dataframe(shown, hide_index=True, height=height or min(600, 38 + 35 * max(1, len(frame))))
