"""What a failed pack does to a bank: power left and days without.

Both sides of "one large or several small": n packs fail n times as often, each takes 1/n of the
money, and (in parallel) only 1/P of the power. Here packs fail independently at one rate; what a
delivery has in common is drawn with the rate (`tco.money.evidence.sample_rates`).
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import xlog1py

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class FailureEffects:
    """One year of a bank whose packs fail at one rate. Arrays have the shape of the rate.

    `share_left` is energy and current left with one pack dead; `cost_share` the part of the
    bank's price that the pack is. Days are per year, in the long run.
    """

    series: int
    parallel: int
    share_left: float
    cost_share: float
    failures_per_year: Any
    partial_days_per_year: Any
    dark_days_per_year: Any
    mean_share_lost: Any

    @property
    def packs(self) -> int:
        """Packs in the bank."""
        return self.series * self.parallel


def share_left(series: int, parallel: int, *, dead_strings: int = 1) -> float:
    """Share of energy and current left: a dead pack takes out its whole string, (P - dead)/P.

    Raises
    ------
    ValueError
        For fewer than one in series or parallel, or more dead strings than there are.
    """
    if series < 1 or parallel < 1 or not 0 <= dead_strings <= parallel:
        raise ValueError(f"no bank of {series}S{parallel}P with {dead_strings} dead strings")
    return (parallel - dead_strings) / parallel


def failure_effects(
    series: int, parallel: int, *, rate_per_pack_year: ArrayLike, repair_days: ArrayLike
) -> FailureEffects:
    """How often packs of a bank fail and what is left meanwhile.

    A string works while all its packs do (series model); strings fail and are mended apart from
    each other, so that the number that works is binomial. Partial power: at least one string and
    not all; dark: none.

    Parameters
    ----------
    series, parallel
        Packs in each string; strings.
    rate_per_pack_year
        Failures of one pack per year of work.
    repair_days
        From failure until the pack is replaced. [days]

    Raises
    ------
    ValueError
        For a rate or repair time below zero, or no packs.
    """
    left = share_left(series, parallel)
    rate = np.asarray(rate_per_pack_year, dtype=float)
    days = np.asarray(repair_days, dtype=float)
    if not (np.all(rate >= 0.0) and np.all(days >= 0.0)):
        raise ValueError("a failure rate or a repair time cannot be negative")
    packs = series * parallel
    # Up 1/rate, then down for the repair: a pack works the share 1/(1 + rate x repair) of the time
    # (alternating renewal process, textbook, from memory); so written, small rates keep digits.
    repair = rate * days / DAYS_PER_YEAR
    up = 1.0 / (1.0 + repair)
    down = -np.expm1(-series * np.log1p(repair))
    dark = down**parallel
    partial = -np.expm1(xlog1py(parallel, -down)) - dark if parallel > 1 else np.zeros_like(down)
    return FailureEffects(
        series=series,
        parallel=parallel,
        share_left=left,
        cost_share=1.0 / packs,
        failures_per_year=(packs * rate * up)[()],
        partial_days_per_year=(DAYS_PER_YEAR * partial)[()],
        dark_days_per_year=(DAYS_PER_YEAR * dark)[()],
        mean_share_lost=down,
    )
