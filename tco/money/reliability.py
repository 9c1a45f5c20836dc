"""Failure times: the Weibull life (exponential at shape 1), the first failure of several parts,
and bounds on a mean life from what was seen.

Weibull with shape k and scale c: S(t) = exp(-(t/c)^k). Functions take scalars or arrays that
broadcast; times have one unit throughout. Sources: NIST/SEMATECH e-Handbook of Statistical Methods,
chapter 8 (8.1.6.1 exponential, 8.1.6.2 Weibull, 8.1.8.2 series model, 8.4.5.1 bounds; section
numbers but the last from memory).
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from tco.physics.arrays import FloatArray


def _number(value: ArrayLike, name: str, *, low: float, strict: bool) -> FloatArray:
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


def first_failure_probability(hazards: Sequence[float] | FloatArray) -> float:
    """Probability that at least one of several independent parts, or one part in several spells,
    fails: 1 - exp(-sum of cumulative hazards).

    A chain fails with its first part, so the rates add (e-Handbook 8.1.8.2); one part alone is the
    distribution of its life (8.1.6).

    Raises
    ------
    ValueError
        For a hazard below zero.
    """
    return float(-np.expm1(-np.sum(_number(hazards, "hazards", low=0.0, strict=False))))


def mean_life_bounds(total_time: float, failures: int, *, confidence: float) -> tuple[float, float]:
    """Two-sided confidence bounds of the mean of an exponential life (MTBF).

    2T/chi2(1-a/2; 2(r+1)) and 2T/chi2(a/2; 2r), a = 1 - confidence, for a watch that ended at a
    set time (e-Handbook 8.4.5.1). Without failures there is no upper bound (infinite).

    Raises
    ------
    ValueError
        For a time not above zero, negative failures, or a confidence outside (0, 1).
    """
    tail = (1.0 - _confidence(confidence)) / 2.0
    low = mean_life_lower_bound(total_time, failures, confidence=1.0 - tail)
    if failures == 0:
        return low, float("inf")
    return low, float(2.0 * total_time / stats.chi2.ppf(tail, 2 * failures))


def mean_life_lower_bound(total_time: float, failures: int, *, confidence: float) -> float:
    """One-sided lower bound of the mean life: at least this, with the given confidence.

    2T/chi2(confidence; 2(r+1)); without failures this is T/(-ln(1 - confidence)) (e-Handbook
    8.4.5.1). Raises as `mean_life_bounds`.
    """
    _number(total_time, "total_time", low=0.0, strict=True)
    _confidence(confidence)
    if failures < 0:
        raise ValueError(f"{failures} failures cannot have been seen")
    return float(2.0 * total_time / stats.chi2.ppf(confidence, 2 * failures + 2))


def _confidence(value: float) -> float:
    if not 0.0 < value < 1.0:
        raise ValueError(f"confidence must be between 0 and 1, got {value:g}")
    return value
