"""The total cost of every arrangement in every draw: the ledger, a million times over.

One draw ledger is one arrangement in one draw. It walks through the years as `tco.life.health` does
and pays what `tco.money.ledger` pays, with its own prices, life, use, weather and failures. With
everything at its central value it comes out at the ledger's total (tested).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tco.bank.bank import Bank
from tco.bank.costs import bank_costs, sums
from tco.bank.replacing import disposal_price
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.cores import in_chunks
from tco.life.response import Response
from tco.life.stress import Stress
from tco.money.draw_ledger_kernel import run
from tco.money.draws import MEAN_WEATHER, Draws
from tco.money.evidence import sample_rates
from tco.money.failures import FailureCosts
from tco.physics.arrays import FloatArray, IntArray

BANK_MONEY = np.dtype(
    [
        (name, np.float64)
        for name in (
            "first_packs",
            "first_work",
            "first_other",
            "swap_packs",
            "swap_work",
            "swap_other",
            "yearly_work",
            "yearly_other",
            "disposal",
            "packs_price",
            "spares_price",
            "pack_price",
            "packs",
            "end_of_life",
            "exponent",
            "larger_counts",
            "spares",
            "honoured",
        )
    ],
    align=True,
)
"""What an arrangement costs, in today's money: the sums of `tco.bank.costs.Costs` by what their
prices follow, tax included; being rid of it; and prices without tax, from which resale is
reckoned."""

MARKET = np.dtype(
    [
        (name, np.float64)
        for name in (
            "discount_rate",
            "inflation",
            "trend",
            "engine_price",
            "shore_price",
            "generator_price",
            "day_price",
            "hour_price",
            "resale_share",
            "tolerated_hours",
            "longest_life",
        )
    ],
    align=True,
)
"""Prices and rates that all arrangements share."""


@dataclass(frozen=True)
class DrawLedgerInputs:
    """Everything the draw ledgers of some arrangements need besides the draws.

    `money`: one BANK_MONEY a row. `failure_costs`, shape (arrangements, horizon, columns of
    `tco.money.renewal.BY_AGE`), and `hazard`, shape (arrangements, horizon): by the bank's age.
    `candidate`: which column of the draws' luck each uses.
    """

    market: Any
    money: Any
    response: Response
    failures: tuple[FailureCosts, ...]
    failure_costs: FloatArray
    hazard: FloatArray
    candidate: IntArray
    horizon: float
    batch_spread: float


def draw_ledger_inputs(
    case: Case,
    banks: Sequence[Bank],
    stresses: Sequence[Stress],
    failures: Sequence[FailureCosts],
    response: Response,
    conditions: Conditions,
) -> DrawLedgerInputs:
    """Gather the money of each arrangement for its draw ledgers."""
    prices, assumptions = case.prices, case.assumptions
    market = np.zeros(1, dtype=MARKET)
    market[0] = (
        prices.discount_rate,
        prices.inflation,
        prices.pack_price_trend,
        conditions.engine_price_per_kwh / 1000.0,
        conditions.shore_price_per_kwh / 1000.0,
        conditions.generator_price_per_kwh / 1000.0,
        prices.day_without_power_price,
        prices.hour_without_power_price,
        assumptions.resale_share,
        assumptions.tolerated_hours_without_power,
        assumptions.longest_life_years,
    )
    money = np.zeros(len(banks), dtype=BANK_MONEY)
    for row, (bank, stress, costs) in enumerate(zip(banks, stresses, failures, strict=True)):
        money[row] = bank_money(case, bank, stress, costs)
    names = [candidate.name for candidate in case.candidates]
    return DrawLedgerInputs(
        market=market,
        money=money,
        response=response,
        failures=tuple(failures),
        failure_costs=np.array([f.by_age for f in failures]),
        hazard=np.array([f.hazard * f.packs for f in failures]),
        candidate=np.array(
            [names.index(bank.arrangement.pack.name) for bank in banks], dtype=np.int64
        ),
        horizon=assumptions.horizon_years,
        batch_spread=case.reliability.batch_spread,
    )


def bank_money(
    case: Case,
    bank: Bank,
    stress: Stress,
    failures: FailureCosts,
) -> tuple[float, ...]:
    """The record of BANK_MONEY for one bank."""
    costs, arrangement = bank_costs(case, bank), bank.arrangement
    pack, packs, spares = arrangement.pack, arrangement.packs, case.assumptions.spare_packs
    yearly = sums(costs.yearly)
    return (
        *sums(costs.at_first), *costs.swap, yearly.work_price, yearly.other_price,
        disposal_price(case, pack.chemistry.key, arrangement.mass_kg),
        packs * pack.price, spares * pack.price, pack.price, float(arrangement.pieces),
        case.assumptions.end_of_life_of(pack.chemistry),
        stress.exponent, float(stress.larger_counts), float(failures.spares), failures.honoured,
    )  # fmt: skip


@dataclass(frozen=True)
class DrawLedgerTotals:
    """What came of each arrangement in each draw, shape (arrangements, draws).

    Total cost, present value; discounted energy drawn from the bank [kWh]; years to the end of
    the first bank's life (past the horizon as it would go on in a mean weather year, at most
    the greatest age of any bank); failures.
    """

    total_cost: FloatArray
    discounted_kwh: FloatArray
    first_life: FloatArray
    failures: FloatArray


def run_draw_ledgers(
    inputs: DrawLedgerInputs,
    draws: Draws,
    *,
    expected_failures: bool = False,
    drawn_rates: bool | None = None,
) -> DrawLedgerTotals:
    """Total cost of every arrangement in every draw.

    Parameters
    ----------
    expected_failures
        Pay the failures to be expected, with claims at their mean, instead of those that happen.
    drawn_rates
        Take failure rates from the draws; otherwise each model's mean, as the ledger does, which
        is what expected failures take unless told otherwise.
    """
    count, number = len(inputs.money), draws.count
    drawn = not expected_failures if drawn_rates is None else drawn_rates
    rates = np.empty((count, number))
    by_model: dict[int, FloatArray] = {}
    for row in range(count):
        column = int(inputs.candidate[row])
        posterior = inputs.failures[row].knowledge.posterior
        if column not in by_model:
            by_model[column] = (
                np.asarray(
                    sample_rates(
                        posterior,
                        draws.failure_u[:, column],
                        batch_u=draws.batch_u[:, column],
                        batch_spread=inputs.batch_spread,
                    )
                )
                if drawn
                else np.full(number, posterior.mean)
            )
        rates[row] = by_model[column]
    out = np.zeros((4, count, number))
    r = inputs.response
    years = r.values.shape[2]
    shift = np.zeros_like(draws.luck) if draws.event_shift is None else draws.event_shift
    claim_u = np.full_like(draws.event_u, -1.0) if draws.claim_u is None else draws.claim_u
    weather = np.where(draws.weather == MEAN_WEATHER, years, np.minimum(draws.weather, years - 1))
    # the mean year after the others; in one order in memory, or the ledgers are compiled for each
    values = np.empty((*r.values.shape[:2], years + 1, *r.values.shape[3:]))
    values[:, :, :years] = r.values
    values[:, :, years] = r.values.mean(axis=2)

    def chunk(first: int, last: int) -> None:
        run(
            first, last, inputs.market[0], inputs.money, r.use, r.place, values,
            inputs.failure_costs, inputs.hazard, inputs.candidate, rates,
            draws.common, draws.luck, draws.event_u, claim_u, shift, weather, inputs.horizon,
            expected_failures, out,
        )  # fmt: skip

    in_chunks(chunk, count * number)
    return DrawLedgerTotals(
        total_cost=out[0], discounted_kwh=out[1], first_life=out[2], failures=out[3]
    )
