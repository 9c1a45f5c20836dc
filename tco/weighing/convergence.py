"""Draws raised until the answer no longer hangs on their number.

A mean over n draws is known to its standard error, which falls with the square root of n. What
has to be known is what the best arrangement costs, and by how much the second differs from it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sqrt
from typing import Literal

import numpy as np

from tco.case import Case
from tco.compare import Comparison, Progress, compare
from tco.result import Result

SHARE = 0.01
"""Both standard errors are to be below this share of the best mean cost. Our choice."""
START, MOST = 500, 32_000
"""Draws of the first round, and never more than these."""

Reason = Literal["settled", "most draws", "stopped", "nothing to choose"]


@dataclass(frozen=True)
class Convergence:
    """How well draws know the answer.

    `best`: label of the arrangement of least mean cost; `mean`: that cost; `mean_error`: its
    standard error; `difference_error`: that of the best less the second (0 where there is one
    only). `target`: what both should stay below, None where nothing was asked.
    """

    best: str
    draws: int
    mean: float
    mean_error: float
    difference_error: float
    target: float | None = None
    reason: Reason | None = None

    @property
    def error(self) -> float:
        """The larger of the two standard errors."""
        return max(self.mean_error, self.difference_error)


@dataclass(frozen=True)
class Settled:
    """The comparison with the last number of draws, and every step on the way to it."""

    comparison: Comparison
    steps: tuple[Convergence, ...]
    reason: Reason

    @property
    def last(self) -> Convergence | None:
        """How well the last draws know the answer; None where there was nothing to choose."""
        return self.steps[-1] if self.steps else None

    def __str__(self) -> str:
        """What was reached and why it ended there, in a sentence without the currency."""
        if self.last is None:
            return "Nothing passes, so there was nothing to settle."
        last = self.last
        wanted = "" if last.target is None else f" (wanted: {last.target:,.1f})"
        known = f"{last.draws:,} draws; standard error {last.error:,.1f}{wanted}"
        return {
            "settled": f"Settled after {known}.",
            "most draws": f"Not settled: ended at the most allowed, {known}.",
            "stopped": f"Not settled: stopped at {known}.",
        }[self.reason]


def convergence(comparison: Comparison) -> Convergence | None:
    """How well the draws of a comparison know its answer; None without draws or without a best.

    The best is that of least mean over the draws among those that pass; the second the next.
    """
    passing = [r for r in comparison.results if r.feasible and r.costs is not None]
    if not passing:
        return None
    first = sorted(passing, key=_mean)[:2]
    costs = np.array([r.costs for r in first])
    return Convergence(
        best=first[0].arrangement.label,
        draws=costs.shape[1],
        mean=float(costs[0].mean()),
        mean_error=_error(costs[0]),
        difference_error=_error(costs[0] - costs[1]) if len(costs) > 1 else 0.0,
    )


def _mean(result: Result) -> float:
    return float(np.mean(result.costs)) if result.costs is not None else float("inf")


def _error(values: np.ndarray) -> float:
    """Standard error of a mean, infinite for one draw, which says nothing about it."""
    return float(values.std(ddof=1) / sqrt(values.size)) if values.size > 1 else float("inf")


def draw_until_settled(
    case: Case,
    *,
    share: float = SHARE,
    start: int = START,
    most: int = MOST,
    seed: int | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> Settled:
    """Compare with twice the draws again and again until the answer holds still.

    Parameters
    ----------
    share
        Both standard errors are to be below this share of the best arrangement's mean cost.
    start, most
        Draws to begin with, and never more than this.
    seed
        As in `compare`. The last comparison is the very one `compare` gives for its draws.
    stop
        Asked after each round; true ends it there.

    Whoever interrupts it (Ctrl-C) after the first round gets what the last whole round knows.

    Raises
    ------
    KeyboardInterrupt
        When interrupted before the first round is over.
    ValueError
        Unless share > 0 and 2 <= start <= most.
    """
    if not share > 0.0:
        raise ValueError(f"share must be above zero, got {share}")
    if not 2 <= start <= most:
        raise ValueError(f"needs 2 <= start <= most, got start {start} and most {most}")
    steps: list[Convergence] = []
    draws = start
    while True:
        try:
            comparison = compare(
                case, draws=draws, seed=seed, progress=_told(progress, draws, start, most)
            )
        except KeyboardInterrupt:
            if not steps:
                raise
            return Settled(
                comparison, (*steps[:-1], replace(steps[-1], reason="stopped")), "stopped"
            )
        found = judged(comparison, share=share, most=most)
        if found is None:
            return Settled(comparison, (), "nothing to choose")
        if found.reason is None and stop is not None and stop():
            found = replace(found, reason="stopped")
        steps.append(found)
        if found.reason is not None:
            return Settled(comparison, tuple(steps), found.reason)
        draws = next_draws(found, most=most)


def judged(comparison: Comparison, *, share: float = SHARE, most: int = MOST) -> Convergence | None:
    """`convergence` with what is wanted, and the reason to end there; None: go on.

    None in place of all where there is nothing to choose.
    """
    found = convergence(comparison)
    if found is None:
        return None
    target = share * abs(found.mean)
    reason: Reason | None = None
    if found.error <= target:
        reason = "settled"
    elif found.draws >= most:
        reason = "most draws"
    return replace(found, target=target, reason=reason)


def next_draws(last: Convergence, *, most: int = MOST) -> int:
    """Draws of the round after: twice as many, at most so many."""
    return min(2 * last.draws, most)


def _told(progress: Progress | None, draws: int, start: int, most: int) -> Progress | None:
    """Progress of one round within all that may come: rounds take time in proportion to draws."""
    if progress is None:
        return None
    before, whole = draws - start, 2.0 * most - start

    def say(share: float, what: str) -> None:
        progress((before + share * draws) / whole, f"{what} ({draws:,} draws)")

    return say
