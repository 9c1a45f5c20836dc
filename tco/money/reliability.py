"""Failure times: exponential and Weibull lives, series systems, renewals, bounds on a mean life.

Weibull with shape k and scale c: S(t) = exp(-(t/c)^k); shape 1 is the exponential life with mean
c. All functions take scalars or arrays that broadcast; times have one unit throughout (years here,
hours in the tests). Sources: NIST/SEMATECH e-Handbook of Statistical Methods, chapter 8
(8.1.6.1 exponential, 8.1.6.2 Weibull, 8.1.8.2 series model, 8.1.8.4 r out of n, 8.4.5.1 bounds;
section numbers but the last from memory).
"""

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats
from scipy.special import gamma as gamma_function
from scipy.special import xlog1py

GRID_PER_LIFE = 200
LONGEST_LIVES = 100.0
"""Steps per characteristic life, and the longest time in such lives, of `expected_failures`."""


def _number(value: ArrayLike, name: str, *, low: float, strict: bool) -> NDArray[np.float64]:
    array = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(array)) or not np.all(array > low if strict else array >= low):
        raise ValueError(
            f"{name} must be finite and {'above' if strict else 'at least'} {low:g}, got {value!r}"
        )
    return array


def cumulative_hazard(time: ArrayLike, *, scale: ArrayLike, shape: ArrayLike = 1.0) -> Any:
    """(t/c)^k, the expected number of failures if each were mended at once "as bad as old".

    Raises
    ------
    ValueError
        For a negative time, or a scale or shape not above zero.
    """
    t = _number(time, "time", low=0.0, strict=False)
    c = _number(scale, "scale", low=0.0, strict=True)
    k = _number(shape, "shape", low=0.0, strict=True)
    return (t / c) ** k


def survival(time: ArrayLike, *, scale: ArrayLike, shape: ArrayLike = 1.0) -> Any:
    """Probability of no failure up to a time, exp(-(t/c)^k) (e-Handbook 8.1.6.2)."""
    return np.exp(-cumulative_hazard(time, scale=scale, shape=shape))


def failure_probability(time: ArrayLike, *, scale: ArrayLike, shape: ArrayLike = 1.0) -> Any:
    """Probability of a failure up to a time, 1 - exp(-(t/c)^k) (e-Handbook 8.1.6.2)."""
    return -np.expm1(-cumulative_hazard(time, scale=scale, shape=shape))


def hazard(time: ArrayLike, *, scale: ArrayLike, shape: ArrayLike = 1.0) -> Any:
    """Failure rate of a unit that reached this age, (k/c)(t/c)^(k-1) (e-Handbook 8.1.6.2).

    Infinite at age zero for a shape below one.

    Raises
    ------
    ValueError
        As `cumulative_hazard`.
    """
    cumulative_hazard(time, scale=scale, shape=shape)
    t, c, k = (np.asarray(value, dtype=np.float64) for value in (time, scale, shape))
    with np.errstate(divide="ignore"):
        return k / c * (t / c) ** (k - 1.0)


def failure_in_year(
    age: ArrayLike, *, scale: ArrayLike, shape: ArrayLike = 1.0, years: ArrayLike = 1.0
) -> Any:
    """Probability to fail within the next `years`, given survival to `age`: 1 - S(age+y)/S(age)."""
    start = cumulative_hazard(age, scale=scale, shape=shape)
    until = np.asarray(age, dtype=np.float64) + _number(years, "years", low=0.0, strict=False)
    return -np.expm1(start - cumulative_hazard(until, scale=scale, shape=shape))


def mean_life(*, scale: ArrayLike, shape: ArrayLike = 1.0) -> Any:
    """Mean life, c Gamma(1 + 1/k) (e-Handbook 8.1.6.2)."""
    k = _number(shape, "shape", low=0.0, strict=True)
    return _number(scale, "scale", low=0.0, strict=True) * gamma_function(1.0 + 1.0 / k)


def life_from_uniform(u: ArrayLike, *, scale: ArrayLike, shape: ArrayLike = 1.0) -> Any:
    """Life by inversion: the age by which a share `u` has failed, c (-ln(1-u))^(1/k).

    The same `u` for two arrangements gives common random numbers.

    Raises
    ------
    ValueError
        For a `u` outside [0, 1).
    """
    share = np.asarray(u, dtype=np.float64)
    if not np.all((share >= 0.0) & (share < 1.0)):
        raise ValueError("u must be in [0, 1)")
    k = _number(shape, "shape", low=0.0, strict=True)
    return _number(scale, "scale", low=0.0, strict=True) * (-np.log1p(-share)) ** (1.0 / k)


def series_failure_probability(time: ArrayLike, mean_lives: Sequence[float]) -> Any:
    """Failure probability of a chain of exponential parts: it fails with its first part.

    1 - exp(-t sum(1/m_i)): the rates add (e-Handbook 8.1.8.2).
    """
    if len(mean_lives) == 0:
        raise ValueError("a chain needs at least one part")
    means = _number(np.asarray(mean_lives), "mean_lives", low=0.0, strict=True)
    return failure_probability(time, scale=1.0 / float(np.sum(1.0 / means)))


def probability_any(packs: ArrayLike, probability: ArrayLike) -> Any:
    """Probability that at least one of n independent packs fails, 1 - (1-p)^n.

    Raises
    ------
    ValueError
        For a negative number of packs or a probability outside [0, 1].
    """
    n = _number(packs, "packs", low=0.0, strict=False)
    p = _number(probability, "probability", low=0.0, strict=False)
    if np.any(p > 1.0):
        raise ValueError(f"probability must be at most 1, got {probability!r}")
    return -np.expm1(xlog1py(n, -p))


def availability(mean_life_time: ArrayLike, repair_time: ArrayLike) -> Any:
    """Share of the time that a mended part works, mean life / (mean life + repair).

    Steady state of an alternating renewal process (textbook formula, from memory).
    """
    up = _number(mean_life_time, "mean_life_time", low=0.0, strict=True)
    return up / (up + _number(repair_time, "repair_time", low=0.0, strict=False))


def k_of_n(k: int, n: int, share_up: ArrayLike) -> Any:
    """Probability that at least k of n independent parts work (e-Handbook 8.1.8.4).

    Raises
    ------
    ValueError
        Unless 0 <= k <= n and 0 <= share_up <= 1.
    """
    p = _number(share_up, "share_up", low=0.0, strict=False)
    if not 0 <= k <= n or np.any(p > 1.0):
        raise ValueError(f"0 <= k <= n and a share of at most 1 are needed, got {k}, {n}")
    return stats.binom.sf(k - 1, n, p)


def expected_failures(
    packs: ArrayLike, years: ArrayLike, *, scale: ArrayLike, shape: float = 1.0
) -> Any:
    """Expected failures of `packs` packs in `years`, each failed one replaced by a new one.

    The renewal function M of each pack: M(t) = F(t) + integral of M(t-x) dF(x). Shape 1 gives t/c
    exactly; else the equation is solved on a grid by the midpoint rule for Stieltjes integrals
    (Xie, Commun. Stat. Simul. 18 (1989) 281-293, from memory), once for all draws, since M depends
    on t/c only.

    Raises
    ------
    ValueError
        As `cumulative_hazard`; for a Weibull shape outside 0.3 to 20; for more than 100
        characteristic lives in the time asked for.
    """
    n = _number(packs, "packs", low=0.0, strict=False)
    t = _number(years, "years", low=0.0, strict=False)
    lives = t / _number(scale, "scale", low=0.0, strict=True)
    if shape == 1.0:
        return n * lives
    if not 0.3 <= shape <= 20.0:
        raise ValueError(f"shape must be 0.3 to 20 to count renewals, got {shape:g}")
    longest = float(np.max(lives, initial=0.0))
    if longest > LONGEST_LIVES:
        raise ValueError(
            f"{longest:.0f} characteristic lives in the time asked for; at most {LONGEST_LIVES:g}"
        )
    steps = max(GRID_PER_LIFE, int(np.ceil(longest * GRID_PER_LIFE)))
    grid = np.linspace(0.0, max(longest, 1e-12), steps + 1)
    # The repeat failures M - F are smooth where M itself is not (shape below one, near zero).
    repeats = _renewals(grid, shape) - failure_probability(grid, scale=1.0, shape=shape)
    first = failure_probability(lives, scale=1.0, shape=shape)
    return n * (first + np.interp(lives, grid, repeats))


def _renewals(grid: NDArray[np.float64], shape: float) -> NDArray[np.float64]:
    """Renewal function of a Weibull life of scale 1 on an even grid from zero."""
    step = grid[1]
    at_grid = failure_probability(grid, scale=1.0, shape=shape)
    at_middle = failure_probability(grid[:-1] + 0.5 * step, scale=1.0, shape=shape)
    found = np.zeros_like(grid)
    increments = np.zeros(len(grid) - 1)
    for i in range(1, len(grid)):
        earlier = increments[: i - 1] @ at_middle[i - 1 : 0 : -1]
        found[i] = (at_grid[i] + earlier - at_middle[0] * found[i - 1]) / (1.0 - at_middle[0])
        increments[i - 1] = found[i] - found[i - 1]
    return found


Ending = Literal["time", "failure"]


def mean_life_bounds(
    total_time: float, failures: int, *, confidence: float, ended_by: Ending = "time"
) -> tuple[float, float]:
    """Two-sided confidence bounds of the mean of an exponential life (MTBF).

    2T/chi2(1-a/2; 2(r+1)) and 2T/chi2(a/2; 2r), a = 1 - confidence, for a watch that ended at a
    set time; one that ended with the r-th failure has 2r degrees of freedom in both (e-Handbook
    8.4.5.1). Without failures there is no upper bound (infinite).

    Raises
    ------
    ValueError
        For a time not above zero, negative failures, a confidence outside (0, 1), or a watch that
        is said to have ended with a failure although there was none.
    """
    tail = (1.0 - _confidence(confidence)) / 2.0
    low = mean_life_lower_bound(total_time, failures, confidence=1.0 - tail, ended_by=ended_by)
    if failures == 0:
        return low, float("inf")
    return low, float(2.0 * total_time / stats.chi2.ppf(tail, 2 * failures))


def mean_life_lower_bound(
    total_time: float, failures: int, *, confidence: float, ended_by: Ending = "time"
) -> float:
    """One-sided lower bound of the mean life: at least this, with the given confidence.

    2T/chi2(confidence; 2(r+1)); without failures this is T/(-ln(1 - confidence)) (e-Handbook
    8.4.5.1). Raises as `mean_life_bounds`.
    """
    _number(total_time, "total_time", low=0.0, strict=True)
    _confidence(confidence)
    if failures < 0 or (ended_by == "failure" and failures == 0):
        raise ValueError(f"{failures} failures cannot end the watch by {ended_by}")
    freedom = 2 * failures + (2 if ended_by == "time" else 0)
    return float(2.0 * total_time / stats.chi2.ppf(confidence, freedom))


def _confidence(value: float) -> float:
    if not 0.0 < value < 1.0:
        raise ValueError(f"confidence must be between 0 and 1, got {value:g}")
    return value
