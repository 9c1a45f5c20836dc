"""What draws of cost say about a choice: bands, chance of being cheapest, regret.

Costs come from common random numbers: draw d of every arrangement saw the same prices, weather
and use, so that differences are sharp (Nelson, Commun. Stat. Simul. 16 (1987) 385).
"""

from dataclasses import dataclass

import numpy as np

from tco.physics.arrays import BoolArray, FloatArray


@dataclass(frozen=True)
class Band:
    """10, 50 and 90 % points, the mean, and the standard error of the mean."""

    p10: float
    p50: float
    p90: float
    mean: float
    standard_error: float


@dataclass(frozen=True)
class Risk:
    """Money of one arrangement over all draws.

    `probability_cheapest` and the regrets compare it with the eligible arrangements only. Regret
    of a draw is what it cost more than the cheapest of them in that draw; since the choice is made
    once, its 90 % point stands beside its mean.
    """

    band: Band
    probability_cheapest: float
    expected_regret: float
    regret_p90: float


def band(values: FloatArray) -> Band:
    """Summarise draws, shape (draws,).

    Raises
    ------
    ValueError
        When there are no draws.
    """
    if values.size == 0:
        raise ValueError("a band needs at least one draw")
    p10, p50, p90 = (float(q) for q in np.quantile(values, (0.1, 0.5, 0.9)))
    error = float(values.std(ddof=1) / np.sqrt(values.size)) if values.size > 1 else float("inf")
    return Band(p10, p50, p90, float(values.mean()), error)


def risks(costs: FloatArray, eligible: BoolArray) -> tuple[Risk, ...]:
    """Risk of each arrangement.

    Parameters
    ----------
    costs
        Shape (arrangements, draws).
    eligible
        Shape (arrangements,): those among which one can choose. Where none is, every arrangement
        is compared with all.

    The expected regret of the best choice equals the expected value of perfect information
    (Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961; from memory).
    """
    pool = costs[eligible] if eligible.any() else costs
    cheapest = pool.min(axis=0)
    ties = np.isclose(pool, cheapest, rtol=1e-12, atol=1e-9).sum(axis=0)
    found = []
    for row in costs:
        regret = row - cheapest
        wins = np.isclose(row, cheapest, rtol=1e-12, atol=1e-9) / ties
        found.append(
            Risk(
                band=band(row),
                probability_cheapest=float(wins.mean()),
                expected_regret=float(regret.mean()),
                regret_p90=float(np.quantile(regret, 0.9)),
            )
        )
    if eligible.any():
        # one that cannot be chosen is never the cheapest choice
        found = [
            risk if chosen else Risk(risk.band, 0.0, risk.expected_regret, risk.regret_p90)
            for risk, chosen in zip(found, eligible, strict=True)
        ]
    return tuple(found)
