"""What moves the cost most: one quantity at a time, and all together.

The tornado takes each uncertain quantity to its 10 % and 90 % points with all others at their
central values. The global index is the share of the variance of the cost that a quantity explains
by itself (first order) and with all its interactions (total), by Saltelli's method: Saltelli et
al., Computer Physics Communications 181 (2010) 259-270, as `scipy.stats.sobol_indices` has it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import sobol_indices, uniform

from tco.bank.wiring import unevenness, wiring_ohm
from tco.case import Case
from tco.compare import Comparison, Result
from tco.life.response import response
from tco.life.year import bank_tables
from tco.money.draws import INPUTS, Draws, quantile_of
from tco.money.lanes import LaneInputs, lane_inputs, run_lanes

FloatArray = NDArray[np.float64]

SAMPLES = 512
"""Base samples of the global index; the model runs (inputs + 2) times as often. A power of two."""

WORDS = {
    "pack_price": "price of the packs",
    "later_pack_price": "price of packs bought later",
    "parts_and_labour": "parts and labour",
    "cycle_life": "life in cycles",
    "calendar_life": "life in years",
    "energy_use": "energy used",
    "energy_price": "price of energy",
    "day_without_power": "cost of a day without power",
    "resale": "resale value",
    "discount_rate": "discount rate",
    "inflation": "inflation",
    "failure_rate": "failure rate",
}

FACTORS = (*INPUTS, "failure_rate")


@dataclass(frozen=True)
class Swing:
    """Cost with one quantity at its 10 % and 90 % point, and the quantity's values there."""

    of: str
    low_value: float
    high_value: float
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        """How far the quantity moves the cost."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True)
class GlobalIndex:
    """Share of the variance a quantity explains by itself, and with its interactions."""

    of: str
    first_order: float
    total: float


def tornado(comparison: Comparison, results: Sequence[Result]) -> tuple[tuple[Swing, ...], ...]:
    """Swings of each result's total cost, the widest first; one tuple a result.

    Failures are those expected at the rate in question; weather is the mean of its years.
    """
    inputs = _inputs(comparison, results)
    case = comparison.case
    u = np.full((2 * len(FACTORS), len(FACTORS)), 0.5)
    for k in range(len(FACTORS)):
        u[2 * k, k], u[2 * k + 1, k] = 0.1, 0.9
    values = _values(case, u)
    # the quantity's own value elsewhere is the case's own, not the middle of its spread
    central = np.array([0.0 if n in ("discount_rate", "inflation") else 1.0 for n in INPUTS])
    for row in range(len(u)):
        for k in range(len(INPUTS)):
            if row // 2 != k:
                values[row, k] = central[k]
    costs = _costs(case, inputs, values, u[:, -1])
    found = []
    for side in range(len(results)):
        swings = [
            Swing(
                name,
                float(values[2 * k, k]) if name in INPUTS else 0.1,
                float(values[2 * k + 1, k]) if name in INPUTS else 0.9,
                float(costs[side, 2 * k]),
                float(costs[side, 2 * k + 1]),
            )
            for k, name in enumerate(FACTORS)
        ]
        found.append(tuple(sorted(swings, key=lambda swing: -swing.width)))
    return tuple(found)


def global_indices(
    comparison: Comparison, left: Result, right: Result | None = None, *, seed: int = 1
) -> tuple[GlobalIndex, ...]:
    """Global indices of a result's cost, or of the difference of two, the largest first."""
    results = [left] if right is None else [left, right]
    inputs = _inputs(comparison, results)
    case = comparison.case

    def model(u: FloatArray) -> FloatArray:
        # scipy gives shape (factors, samples)
        flat = np.clip(u.reshape(len(FACTORS), -1).T, 1e-6, 1.0 - 1e-6)
        costs = _costs(case, inputs, _values(case, flat), flat[:, -1])
        out = costs[0] if right is None else costs[0] - costs[1]
        return out.reshape(u.shape[1:])

    indices = sobol_indices(
        func=model,
        n=SAMPLES,
        dists=[uniform() for _ in FACTORS],  # type: ignore[misc]
        rng=np.random.default_rng(seed),
    )
    first, total = np.ravel(indices.first_order), np.ravel(indices.total_order)
    rows = [GlobalIndex(name, float(first[k]), float(total[k])) for k, name in enumerate(FACTORS)]
    return tuple(sorted(rows, key=lambda row: -row.total))


def _inputs(comparison: Comparison, results: Sequence[Result]) -> LaneInputs:
    case = comparison.case
    arrangements = [r.arrangement for r in results]
    wirings = [r.wiring for r in results]
    surface = response(
        arrangements,
        [wiring_ohm(w) for w in wirings],
        [unevenness(w) for w in wirings],
        comparison.conditions,
        case.assumptions,
    )
    kinds, _, stresses = bank_tables(arrangements, case.assumptions)
    return lane_inputs(
        case,
        arrangements,
        wirings,
        [stresses[k] for k in kinds],
        [r.failures for r in results],
        surface.mean_weather(),
        comparison.conditions,
    )


def _values(case: Case, u: FloatArray) -> FloatArray:
    """Values of the common inputs at cumulative probabilities u, shape (rows, len(INPUTS))."""
    return np.column_stack(
        [quantile_of(getattr(case.spreads, name), u[:, k]) for k, name in enumerate(INPUTS)]
    )


def _costs(case: Case, inputs: LaneInputs, values: FloatArray, failure_u: FloatArray) -> FloatArray:
    """Total cost, shape (results, rows), with the failures expected at each row's rate."""
    rows, candidates = values.shape[0], len(case.candidates)
    draws = Draws(
        common=values,
        luck=np.ones((rows, candidates)),
        failure_u=np.repeat(failure_u[:, None], candidates, axis=1),
        batch_u=np.full((rows, candidates), 0.5),
        event_u=np.full((rows, inputs.horizon), 0.5),
        weather=np.zeros((rows, inputs.horizon), dtype=np.int64),
    )
    return run_lanes(inputs, draws, expected_failures=True, drawn_rates=True).total_cost
