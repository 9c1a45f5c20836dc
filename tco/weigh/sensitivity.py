"""What moves the cost most: one quantity at a time, and all together.

The tornado takes each uncertain quantity to its 10 % and 90 % points with all others at their
central values. The global index is the share of the variance of the cost that a quantity explains
by itself (first order) and with all its interactions (total), by Saltelli's method: Saltelli et
al., Computer Physics Communications 181 (2010) 259-270, as `scipy.stats.sobol_indices` has it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammainc
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

NEVER_QUITE = 1e-6
"""Probabilities keep this far from 0 and 1, where a normal law has no end."""

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
    """Cost with one quantity at its 10 % and 90 % point, and the quantity's values there.

    Values are multipliers of the case's own, shifts of the two rates, or failures per pack-year.
    """

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

    Failures are those expected at the rate in question, one delivery being like another; weather
    is the mean of its years. With everything at its centre the cost is the ledger's total.
    """
    inputs, values, failure_u = _tornado_rows(comparison, results)
    costs = _costs(comparison.case, inputs, values, failure_u)
    found = []
    for side, result in enumerate(results):
        posterior = result.failures.knowledge.posterior
        swings = []
        for k, name in enumerate(FACTORS):
            low, high = 1 + 2 * k, 2 + 2 * k
            ends = (
                (float(values[low, k]), float(values[high, k]))
                if name in INPUTS
                else (float(posterior.quantile(0.1)), float(posterior.quantile(0.9)))
            )
            swings.append(Swing(name, *ends, float(costs[side, low]), float(costs[side, high])))
        found.append(tuple(sorted(swings, key=lambda swing: -swing.width)))
    return tuple(found)


def central_costs(comparison: Comparison, results: Sequence[Result]) -> FloatArray:
    """Where the tornado's bars begin: total cost with everything at its centre, one a result."""
    inputs, values, failure_u = _tornado_rows(comparison, results)
    return np.asarray(_costs(comparison.case, inputs, values[:1], failure_u[:1])[:, 0])


def _tornado_rows(
    comparison: Comparison, results: Sequence[Result]
) -> tuple[LaneInputs, FloatArray, FloatArray]:
    """The centre in row 0, then two rows a factor: values, and uniforms of each model's rate.

    A quantity's centre is the case's own value, not the middle of its spread; that of a failure
    rate is its mean, not its median.
    """
    case = comparison.case
    inputs = _inputs(comparison, results)
    rows = 1 + 2 * len(FACTORS)
    centre = [0.0 if name in ("discount_rate", "inflation") else 1.0 for name in INPUTS]
    values = np.tile(centre, (rows, 1))
    ends = _values(case, np.repeat([[0.1], [0.9]], len(INPUTS), axis=1))
    for k in range(len(INPUTS)):
        values[1 + 2 * k : 3 + 2 * k, k] = ends[:, k]
    failure_u = np.full((rows, len(case.candidates)), 0.5)
    names = [candidate.name for candidate in case.candidates]
    for result in results:
        shape = result.failures.knowledge.posterior.shape
        failure_u[:, names.index(result.arrangement.pack.name)] = gammainc(shape, shape)
    failure_u[-2:] = [[0.1], [0.9]]
    return inputs, values, failure_u


def global_indices(
    comparison: Comparison, left: Result, right: Result | None = None, *, seed: int = 1
) -> tuple[GlobalIndex, ...]:
    """Global indices of a result's cost, or of the difference of two, the largest first."""
    inputs = _inputs(comparison, [left] if right is None else [left, right])
    case = comparison.case

    def model(u: FloatArray) -> FloatArray:
        same = np.repeat(u[:, -1:], len(case.candidates), axis=1)
        costs = _costs(case, inputs, _values(case, u), same)
        return costs[0] if right is None else costs[0] - costs[1]

    return indices_of(model, FACTORS, samples=SAMPLES, seed=seed)


def indices_of(
    model: Callable[[FloatArray], FloatArray], names: Sequence[str], *, samples: int, seed: int
) -> tuple[GlobalIndex, ...]:
    """Global indices of a model of uniform quantities, the largest total first.

    Parameters
    ----------
    model
        Takes cumulative probabilities, shape (rows, names), and gives shape (rows,).
    samples
        Base samples, a power of two; the model runs for (names + 2) times as many rows.
    """

    def transposed(u: FloatArray) -> FloatArray:
        # scipy gives shape (names, rows), or (names, rows, names)
        flat = np.clip(u.reshape(len(names), -1).T, NEVER_QUITE, 1.0 - NEVER_QUITE)
        return model(flat).reshape(u.shape[1:])

    indices = sobol_indices(
        func=transposed,
        n=samples,
        dists=[uniform() for _ in names],  # type: ignore[misc]
        rng=np.random.default_rng(seed),
    )
    first, total = np.ravel(indices.first_order), np.ravel(indices.total_order)
    rows = [GlobalIndex(name, float(first[k]), float(total[k])) for k, name in enumerate(names)]
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
        case.spreads.energy_use,
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
    """Total cost, shape (results, rows), with the failures expected at each row's rate.

    `failure_u`: uniforms that pick each candidate's rate, shape (rows, candidates).
    """
    rows, candidates = failure_u.shape
    draws = Draws(
        common=values,
        luck=np.ones((rows, candidates)),
        failure_u=failure_u,
        batch_u=np.full((rows, candidates), 0.5),
        event_u=np.full((rows, math.ceil(inputs.horizon)), 0.5),
        weather=np.zeros((rows, math.ceil(inputs.horizon)), dtype=np.int64),
    )
    alike = replace(inputs, batch_spread=0.0)
    return run_lanes(alike, draws, expected_failures=True, drawn_rates=True).total_cost
