"""Draws of everything uncertain, the same for all arrangements (common random numbers)."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from tco.case.spreads import Factor, Shift, Spreads
from tco.physics.arrays import FloatArray, IntArray

INPUTS = tuple(name for name in Spreads.model_fields if name != "pack_luck")
"""Quantities that are the same for every candidate in a draw, in the order of `Draws.common`."""

MEAN_WEATHER = -1
"""Index of the mean of all weather years."""

NINETY = float(ndtri(0.9))


@dataclass(frozen=True)
class Draws:
    """One row a draw.

    `common`: shape (draws, len(INPUTS)), multipliers (shifts for the rates). `luck`: (draws,
    candidates), life multipliers of each model. `failure_u`, `batch_u`: (draws, candidates),
    uniforms that pick each model's failure rate from its posterior, and how one delivery differs
    from the model. `event_u`: (draws, years), uniforms that pick the number of failures of a year,
    each model at (event_u + event_shift) modulo 1, `event_shift` of shape (draws, candidates): two
    models fail in different years, two banks of one model see the same; None shifts nothing.
    `claim_u`: (draws, years), uniforms, shifted alike, that say whether a warranty claim of the
    year is honoured; None pays each at its mean.
    `weather`: (draws, years), index of a weather year, or MEAN_WEATHER.
    """

    common: FloatArray
    luck: FloatArray
    failure_u: FloatArray
    batch_u: FloatArray
    event_u: FloatArray
    weather: IntArray
    event_shift: FloatArray | None = None
    claim_u: FloatArray | None = None

    @property
    def count(self) -> int:
        """Number of draws."""
        return int(self.common.shape[0])


def quantile_of(spread: Factor | Shift, u: FloatArray | float) -> FloatArray:
    """Value of a spread at cumulative probability u.

    Factors are log-normal through their 10 and 90 % points, shifts normal through theirs.
    """
    z = ndtri(u) / NINETY
    if isinstance(spread, Factor):
        low, high = np.log(spread.low), np.log(spread.high)
        return np.asarray(np.exp((low + high) / 2.0 + z * (high - low) / 2.0))
    return np.asarray((spread.low + spread.high) / 2.0 + z * (spread.high - spread.low) / 2.0)


def draw(
    spreads: Spreads, *, candidates: int, years: int, weather_years: int, draws: int, seed: int
) -> Draws:
    """Draw everything uncertain. The same seed gives the same draws. `years`: those begun.

    Each quantity is stratified (Latin hypercube: McKay, Beckman and Conover, Technometrics 21
    (1979) 239-245), so that bands settle with fewer draws. More draws are not a continuation of
    fewer.
    """
    rng = np.random.default_rng([seed, draws])

    def strata(columns: int) -> FloatArray:
        u = (np.arange(draws)[:, None] + rng.random((draws, columns))) / draws
        return rng.permuted(u, axis=0)

    u = strata(len(INPUTS))
    common = np.column_stack(
        [quantile_of(getattr(spreads, name), u[:, k]) for k, name in enumerate(INPUTS)]
    )
    return Draws(
        common=common,
        luck=quantile_of(spreads.pack_luck, strata(candidates)),
        failure_u=strata(candidates),
        batch_u=strata(candidates),
        event_u=rng.random((draws, years)),
        event_shift=rng.random((draws, candidates)),
        weather=rng.integers(0, weather_years, (draws, years)),
        claim_u=rng.random((draws, years)),
    )
