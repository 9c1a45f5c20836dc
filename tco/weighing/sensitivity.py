"""What moves the cost most: one quantity at a time, and all together.

The tornado takes each uncertain quantity to its 10 % and 90 % points with all others at their
central values. What merely happens has no such points (which packs fail in which year, whether a
claim is honoured, the weather of each year): the tornado leaves it out, the global index has it.
The global index is the share of the variance of the cost that a quantity explains
by itself (first order) and with all its interactions (total), by Saltelli's method: Saltelli et
al., Computer Physics Communications 181 (2010) 259-270, as `scipy.stats.sobol_indices` has it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammainc, gammaincinv
from scipy.stats import sobol_indices, uniform

from tco.case import Case
from tco.compare import Comparison
from tco.life.response import response
from tco.life.year import bank_tables
from tco.money.draw_ledgers import DrawLedgerInputs, draw_ledger_inputs, run_draw_ledgers
from tco.money.draws import INPUTS, Draws, quantile_of
from tco.physics.arrays import FloatArray
from tco.result import Result

SAMPLES = 1024
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
    "failure_rate": "failure rate of the model",
    "batch": "failure rate of the delivery",
    "pack_luck": "life of the model",
    "failure_events": "which packs happen to fail, and when",
    "claims": "whether a warranty claim is honoured",
    "weather": "the weather of each year",
}

FACTORS = (*INPUTS, "failure_rate", "batch", "pack_luck")
"""What the tornado turns."""

CHANCES = ("failure_events", "claims", "weather")
"""What merely happens, and so stands in the global index only."""

LEFT_OUT = ", ".join(WORDS[name] for name in CHANCES)
"""The same in words, for a caption of the tornado."""


@dataclass(frozen=True)
class Swing:
    """Cost with one quantity at its 10 % and 90 % point, and the quantity's values there.

    Values are multipliers of the case's own (of the model's rate for a batch), shifts of the two
    rates, or failures per pack-year.
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

    Failures are those expected at the rate in question, each claim pays its mean, and weather is
    the mean of its years (CHANCES are left out). With everything at its centre the cost is the
    ledger's total.
    """
    inputs, draws = _tornado_rows(comparison, results)
    costs = run_draw_ledgers(inputs, draws, expected_failures=True, drawn_rates=True).total_cost
    own = {
        "batch": tuple(_batch_factor(comparison.case, u) for u in (0.1, 0.9)),
        "pack_luck": tuple(
            float(quantile_of(comparison.case.spreads.pack_luck, u)) for u in (0.1, 0.9)
        ),
    }
    found = []
    for side, result in enumerate(results):
        posterior = result.failures.knowledge.posterior
        swings = []
        for k, name in enumerate(FACTORS):
            low, high = 1 + 2 * k, 2 + 2 * k
            if name in INPUTS:
                ends = float(draws.common[low, k]), float(draws.common[high, k])
            elif name == "failure_rate":
                ends = float(posterior.quantile(0.1)), float(posterior.quantile(0.9))
            else:
                ends = own[name][0], own[name][1]
            swings.append(Swing(name, *ends, float(costs[side, low]), float(costs[side, high])))
        found.append(tuple(sorted(swings, key=lambda swing: -swing.width)))
    return tuple(found)


def _batch_factor(case: Case, u: float) -> float:
    """Failure rate of a delivery over its model's, as `tco.money.evidence.sample_rates` has it."""
    spread = case.reliability.batch_spread
    return float(gammaincinv(spread**-2.0, u) * spread**2.0) if spread > 0.0 else 1.0


def _tornado_rows(
    comparison: Comparison, results: Sequence[Result]
) -> tuple[DrawLedgerInputs, Draws]:
    """Draws with the centre in row 0, then two rows a factor.

    A quantity's centre is the case's own value, not the middle of its spread; that of a failure
    rate, and of a delivery's, is its mean, not its median.
    """
    case = comparison.case
    inputs = _inputs(comparison, results)
    inputs = replace(inputs, response=inputs.response.mean_weather())
    rows, candidates = 1 + 2 * len(FACTORS), len(case.candidates)
    centre = [0.0 if name in ("discount_rate", "inflation") else 1.0 for name in INPUTS]
    values = np.tile(centre, (rows, 1))
    ends = _values(case, np.repeat([[0.1], [0.9]], len(INPUTS), axis=1))
    for k in range(len(INPUTS)):
        values[1 + 2 * k : 3 + 2 * k, k] = ends[:, k]
    at = {name: slice(1 + 2 * k, 3 + 2 * k) for k, name in enumerate(FACTORS)}
    failure_u = np.full((rows, candidates), 0.5)
    names = [candidate.name for candidate in case.candidates]
    for result in results:
        shape = result.failures.knowledge.posterior.shape
        failure_u[:, names.index(result.arrangement.pack.name)] = gammainc(shape, shape)
    failure_u[at["failure_rate"]] = [[0.1], [0.9]]
    spread = case.reliability.batch_spread
    mean_batch = float(gammainc(spread**-2.0, spread**-2.0)) if spread > 0.0 else 0.5
    batch_u = np.full((rows, candidates), mean_batch)
    batch_u[at["batch"]] = [[0.1], [0.9]]
    luck = np.ones((rows, candidates))
    luck[at["pack_luck"]] = quantile_of(case.spreads.pack_luck, np.array([[0.1], [0.9]]))
    years = math.ceil(inputs.horizon)
    return inputs, Draws(
        common=values,
        luck=luck,
        failure_u=failure_u,
        batch_u=batch_u,
        event_u=np.full((rows, years), 0.5),
        weather=np.zeros((rows, years), dtype=np.int64),
    )


def global_indices(
    comparison: Comparison, left: Result, right: Result | None = None, *, seed: int = 1
) -> tuple[GlobalIndex, ...]:
    """Global indices of a result's cost, or of the difference of two, the largest first.

    Everything that is drawn takes part, failures that happen, claims and weather included. What
    has a value for each model or year (luck, deliveries, events, weather) counts as one quantity.
    """
    inputs = _inputs(comparison, [left] if right is None else [left, right])
    case = comparison.case

    def model(u: FloatArray) -> FloatArray:
        costs = run_draw_ledgers(inputs, draws_at(case, comparison.conditions.years, u)).total_cost
        return costs[0] if right is None else costs[0] - costs[1]

    return indices_of(model, (*FACTORS, *CHANCES), samples=SAMPLES, seed=seed)


def draws_at(case: Case, weather_years: int, u: FloatArray) -> Draws:
    """Draws at cumulative probabilities u of FACTORS and CHANCES, shape (rows, both).

    Where a factor has many values (one for each candidate or year) its one number is spread into
    as many that are unrelated to each other (`spread_out`).
    """
    names = (*FACTORS, *CHANCES)
    candidates, years = len(case.candidates), math.ceil(case.assumptions.horizon_years)
    column = {name: u[:, k] for k, name in enumerate(names)}
    events = spread_out(column["failure_events"], years + candidates)
    weather = spread_out(column["weather"], years) * weather_years
    return Draws(
        common=_values(case, u[:, : len(INPUTS)]),
        luck=quantile_of(case.spreads.pack_luck, spread_out(column["pack_luck"], candidates)),
        failure_u=spread_out(column["failure_rate"], candidates),
        batch_u=spread_out(column["batch"], candidates),
        event_u=events[:, :years],
        event_shift=events[:, years:],
        claim_u=spread_out(column["claims"], years),
        weather=weather.astype(np.int64),
    )


def spread_out(u: FloatArray, count: int) -> FloatArray:
    """Many unrelated uniform numbers from each of one, the same for the same: shape (rows, count).

    The bits of each number and its place are mixed by the finalizer of SplitMix64 (Steele, Lea and
    Flood, OOPSLA 2014, 453-472; constants from memory). Strictly inside (0, 1).
    """
    bits = np.ascontiguousarray(u, dtype=np.float64).view(np.uint64)
    place = np.arange(1, count + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    mixed = _mixed(_mixed(bits)[:, None] + place)
    return np.asarray(((mixed >> np.uint64(12)).astype(np.float64) + 0.5) / 2.0**52)


def _mixed(bits: NDArray[np.uint64]) -> NDArray[np.uint64]:
    bits = (bits ^ (bits >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    bits = (bits ^ (bits >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return bits ^ (bits >> np.uint64(31))


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


def _inputs(comparison: Comparison, results: Sequence[Result]) -> DrawLedgerInputs:
    case = comparison.case
    banks = [r.bank for r in results]
    surface = response(
        banks,
        comparison.conditions,
        case.assumptions,
        case.spreads.energy_use,
        by_age=[r.life.by_age for r in results],
    )
    kinds, _, stresses = bank_tables(banks, case.assumptions)
    return draw_ledger_inputs(
        case,
        banks,
        [stresses[k] for k in kinds],
        [r.failures for r in results],
        surface,
        comparison.conditions,
    )


def _values(case: Case, u: FloatArray) -> FloatArray:
    """Values of the common inputs at cumulative probabilities u, shape (rows, len(INPUTS))."""
    return np.column_stack(
        [quantile_of(getattr(case.spreads, name), u[:, k]) for k, name in enumerate(INPUTS)]
    )
