"""The candidates: every pack on offer, what is assumed of it, what is doubtful."""

import pandas as pd
import streamlit as st

from tco.case.table import candidates_to_csv
from tco.forms import labels
from tco.forms.shop_table import rows_of_table
from tco.report import frames, input_frames
from tco.report.sentences import doubt_rows, literal, offers
from tco.screens import parts, state
from tco.screens.state import Workspace

_ASKED = "table read"


def main() -> None:
    """Draw the screen."""
    held = parts.opening()
    top = st.container()
    count = max(len(held.rows(("candidates",))), 4)
    parts.grid(
        held,
        ("candidates",),
        labels.CANDIDATE,
        pinned=1,
        height=min(560, 38 + 35 * (count + 1)),
        help_text="Leave a cell empty where the shop does not say: the usual value of the "
        "chemistry is then assumed, and listed below. A cell may carry its own unit, such as "
        "31 lb or 12 in.",
    )
    comparison = state.comparison_of(held)
    with top:
        parts.troubles(held)
        parts.sentence(offers(comparison))
    load, save = st.columns([4, 1], gap="medium", vertical_alignment="top")
    with load.expander("Load a shop's table"):
        _load(held)
    save.download_button(
        "Save as a table (CSV)",
        candidates_to_csv(held.case.candidates),
        file_name="candidates.csv",
        mime="text/csv",
        width="stretch",
        on_click="ignore",
    )
    told = st.session_state.get(_ASKED)
    if told:
        st.success(literal(told), icon=":material/check:")
    doubts = pd.DataFrame(doubt_rows(comparison), columns=["Candidate", "Worth a second look"])
    if len(doubts):
        parts.heading("Worth a second look")
        parts.reading(doubts.map(lambda text: frames.words(text, held.case.units)))
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


def _load(held: Workspace) -> None:
    st.caption(
        "A heading row, then one pack a row, as the shop writes it: Weight (lb), Size (mm), "
        "12,8 V, € 1.299,-. Columns that mean nothing here are kept."
    )
    upload = st.file_uploader("Table (CSV)", type=["csv", "txt", "tsv"], key="shop table")
    pasted = st.text_area("or paste it here", key="shop paste", height=140)
    how = st.segmented_control(
        "What happens to the present candidates", ["Keep them", "Replace them"],
        default="Keep them", key="shop how",
    )  # fmt: skip
    text = state.decoded(upload.getvalue()) if upload is not None else pasted
    if not text.strip():
        return
    name = upload.name if upload is not None else "pasted table"
    rows, problems = rows_of_table(text, file=name)
    broken = len({problem.row for problem in problems if problem.row is not None})
    words = f"{len(rows)} candidate{'s' * (len(rows) != 1)}"
    if broken:
        words += f", {broken} of them with something to mend"
    st.markdown(literal(words) + ".")
    if not rows:
        st.dataframe(input_frames.problems(problems), hide_index=True)
        return
    replacing = how == "Replace them"
    st.button(
        "Put them into the grid", type="primary", on_click=_take, args=(rows, replacing, words)
    )


def _take(rows: list[dict[str, object]], replacing: bool, words: str) -> None:
    held = state.workspace()
    state.put_anew(
        held, ("candidates",), rows if replacing else [*held.rows(("candidates",)), *rows]
    )
    st.session_state[_ASKED] = f"Loaded {words}."


main()
