"""Total cost with the uncertainty left in: every arrangement in every draw."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tco.bank.bank import Bank
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.response import plain_response, response
from tco.life.year import YearProfiles
from tco.money.draw_ledgers import draw_ledger_inputs, run_draw_ledgers
from tco.money.draws import Draws, draw
from tco.money.failures import FailureCosts
from tco.money.risk import Risk, risks
from tco.physics.arrays import BoolArray, FloatArray


@dataclass(frozen=True)
class Uncertainty:
    """`costs`: shape (arrangements, draws), total cost in present value; `risks` one each."""

    draws: Draws
    costs: FloatArray
    risks: tuple[Risk, ...]


def uncertainty(
    case: Case,
    banks: Sequence[Bank],
    failures: Sequence[FailureCosts],
    feasible: BoolArray,
    central_costs: FloatArray,
    profiles: YearProfiles,
    conditions: Conditions,
    *,
    draws: int,
    seed: int,
) -> Uncertainty:
    """Draw everything uncertain and price every arrangement in each draw.

    Arrangements that pass the screening are run over use and weather years (`response`), the more
    finely the less their `central_costs`, shape (arrangements,); those ruled out, which cannot be
    chosen, are taken at the case's own use and mean weather.
    """
    drawn = draw(
        case.spreads,
        candidates=len(case.candidates),
        years=math.ceil(case.assumptions.horizon_years),
        weather_years=conditions.years,
        draws=draws,
        seed=seed,
    )
    costs = np.empty((len(banks), draws))
    for chosen in (np.flatnonzero(feasible), np.flatnonzero(~feasible)):
        if chosen.size == 0:
            continue
        some = [banks[k] for k in chosen.tolist()]
        surface = (
            response(
                some,
                conditions,
                case.assumptions,
                case.spreads.energy_use,
                rank=np.argsort(np.argsort(central_costs[chosen])),
                by_age=profiles.rows(chosen).by_age.tolist() or None,
            )
            if feasible[chosen[0]]
            else plain_response(profiles.rows(chosen))
        )
        inputs = draw_ledger_inputs(
            case,
            some,
            [profiles.stresses[k] for k in chosen.tolist()],
            [failures[k] for k in chosen.tolist()],
            surface,
            conditions,
        )
        costs[chosen] = run_draw_ledgers(inputs, drawn).total_cost
    return Uncertainty(draws=drawn, costs=costs, risks=risks(costs, feasible))
