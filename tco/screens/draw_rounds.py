"""Draws raised until the answer holds still: one round a rerun, to be stopped at any time."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from typing import TypeVar

import streamlit as st

from tco.compare import Comparison, Progress, compare
from tco.screens.state import Workspace
from tco.weighing.convergence import Convergence, judged, next_draws

WAKE_S = 0.1
"""A screen that waits looks for clicks this often. [s]"""

_KEY = "rounds of draws"

T = TypeVar("T")


@dataclass
class Rounds:
    """Draws being raised; after it, what the rounds knew.

    `stated` is the text of the case it is of, `steps` the rounds that are over. `fresh`: the last
    one is not on screen yet.
    """

    stated: str
    steps: tuple[Convergence, ...]
    running: bool
    fresh: bool = True


def rounds_of(held: Workspace) -> Rounds | None:
    """What is being raised, or was, for the case on screen; None where that is of another."""
    now: Rounds | None = st.session_state.get(_KEY)
    return now if now is not None and now.stated == held.stated else None


def begin(held: Workspace, drawn: Comparison) -> None:
    """Begin to raise the draws; those there are, are the first round."""
    first = judged(drawn)
    steps = () if first is None else (first,)
    running = first is not None and first.reason is None
    st.session_state[_KEY] = Rounds(held.stated, steps, running=running)


def stop(now: Rounds) -> None:
    """End it; the last whole round stays."""
    if now.running:
        now.running = False
        now.steps = (*now.steps[:-1], replace(now.steps[-1], reason="stopped"))


def forget() -> None:
    """What the rounds knew is of no more use: the number of draws was chosen otherwise."""
    st.session_state.pop(_KEY, None)


def next_round(held: Workspace, now: Rounds, drawn: Comparison, *, tell: Progress) -> None:
    """Twice the draws, which the session then asks for; a click meanwhile drops this round."""
    draws, case = next_draws(now.steps[-1]), drawn.case
    more = in_background(lambda say: compare(case, draws=draws, progress=say), tell)
    found = judged(more)
    assert found is not None  # the round before had something to choose
    held.drawn, held.draws = (now.stated, more), draws
    now.steps, now.fresh, now.running = (*now.steps, found), True, found.reason is None


class _NobodyWaitsError(Exception):
    """Nobody waits for the result any longer."""


def in_background(work: Callable[[Progress], T], tell: Progress) -> T:
    """What `work` gives, on a screen that heeds every click meanwhile.

    `work` is given a progress to tell, which is passed on to `tell` several times a second. A
    click that leaves this run of the screen raises within `tell`; the work then ends by itself
    when it next tells its progress.
    """
    told, left = [(0.0, "")], threading.Event()

    def say(share: float, what: str) -> None:
        if left.is_set():
            raise _NobodyWaitsError
        told[0] = share, what

    pool = ThreadPoolExecutor(max_workers=1)
    try:
        found = pool.submit(work, say)
        while not wait([found], timeout=WAKE_S).done:
            tell(*told[0])
        return found.result()
    finally:
        left.set()
        pool.shutdown(wait=False)
