"""What was changed and when; going back to any moment."""

import pandas as pd
import streamlit as st

from tco.report.words import literal
from tco.screens import state
from tco.screens.clock import clock
from tco.screens.state import Workspace

MOST_SHOWN = 200


def history(held: Workspace) -> None:
    """The steps of the case, the last one first, and a way back to any of them."""
    steps = held.desk.history
    if not steps:
        st.caption("Nothing was changed yet. Every edit will be listed here.")
        return
    shown = list(reversed(steps))[:MOST_SHOWN]
    several = len({step.who or step.tab for step in steps}) > 1
    frame = pd.DataFrame(
        {
            "When": [clock(step.at, "%d %b %H:%M:%S") for step in shown],
            "What": [step.words for step in shown],
            **({"Who": [step.who or f"tab {step.tab[:4]}" for step in shown]} if several else {}),
        }
    )
    st.caption(
        f"{len(steps)} change{'s' * (len(steps) != 1)}. "
        "Choose one to go back to the moment after it."
    )
    key = f"history {held.version} {len(steps)}"
    chosen = st.dataframe(
        frame,
        key=key,
        hide_index=True,
        width=720,
        height=38 + 35 * min(10, len(frame)),
        on_select="rerun",
        selection_mode="single-row",
        column_config={
            "When": st.column_config.TextColumn(width=120),
            "What": st.column_config.TextColumn(width=500),
        },
    )
    picked = chosen["selection"]["rows"]
    with st.container(horizontal=True):
        if picked and shown[picked[0]].number:
            step = shown[picked[0]]
            st.button(
                f"Back to {clock(step.at, '%d %b %H:%M:%S')}",
                on_click=_go_back,
                args=(step.number, f"back to how it was after: {step.words}"),
                help=literal(step.words),
            )
        st.button(
            "Back to the very beginning", on_click=_go_back, args=(0, "back to how it was opened")
        )
    st.caption("Going back is a change like any other: it can be undone.")


def _go_back(number: int, words: str) -> None:
    held = state.workspace()
    held.desk.return_to(number, words)
    held.changed(words)
