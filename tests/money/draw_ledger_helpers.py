"""Draw ledgers of a whole case, and one made by hand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np

from tco.case import Case
from tco.case.spreads import Shift, Spreads
from tco.compare import Comparison, compare
from tco.life.response import FOLLOWED, Response, plain_response, response
from tco.life.year import YearProfiles, year_profiles
from tco.money.draw_ledgers import BANK_MONEY, MARKET, DrawLedgerInputs, draw_ledger_inputs
from tco.money.draws import INPUTS, MEAN_WEATHER, Draws, draw
from tco.money.evidence import GammaRate
from tco.money.renewal import BY_AGE
from tco.result import Result

NEVER = GammaRate(1.0, 1e15)
"""A failure rate of practically nothing."""


def central(
    spreads: Spreads, *, candidates: int, years: int, replace: Sequence[tuple[str, float]] = ()
) -> Draws:
    """One draw at the case's own values, with some inputs replaced: (name, multiplier or shift)."""
    row = [0.0 if isinstance(getattr(spreads, name), Shift) else 1.0 for name in INPUTS]
    for name, value in replace:
        row[INPUTS.index(name)] = value
    return Draws(
        common=np.array([row]),
        luck=np.ones((1, candidates)),
        failure_u=np.full((1, candidates), 0.5),
        batch_u=np.full((1, candidates), 0.5),
        event_u=np.full((1, years), 0.5),
        weather=np.full((1, years), MEAN_WEATHER, dtype=np.int64),
    )


@dataclass(frozen=True)
class Study:
    """A case compared, and the profiles behind it."""

    case: Case
    comparison: Comparison
    profiles: YearProfiles

    @property
    def results(self) -> Sequence[Result]:
        return self.comparison.results

    def inputs(self, surface: Response) -> DrawLedgerInputs:
        return draw_ledger_inputs(
            self.case,
            [r.bank for r in self.results],
            self.profiles.stresses,
            [r.failures for r in self.results],
            surface,
            self.comparison.conditions,
        )

    def plain(self) -> DrawLedgerInputs:
        return self.inputs(plain_response(self.profiles))

    def full(self) -> DrawLedgerInputs:
        return self.inputs(
            response(
                [r.bank for r in self.results],
                self.comparison.conditions,
                self.case.assumptions,
                self.case.spreads.energy_use,
                by_age=self.profiles.by_age.tolist(),
            )
        )

    def central(self, *changed: tuple[str, float]) -> Draws:
        return central(
            self.case.spreads,
            candidates=len(self.case.candidates),
            years=math.ceil(self.case.assumptions.horizon_years),
            replace=changed,
        )

    def drawn(self, draws: int, seed: int = 1) -> Draws:
        return draw(
            self.case.spreads,
            candidates=len(self.case.candidates),
            years=math.ceil(self.case.assumptions.horizon_years),
            weather_years=self.comparison.conditions.years,
            draws=draws,
            seed=seed,
        )


def study_of(case: Case, *, keep: int | None = None) -> Study:
    """Compare a case; `keep` only the first results in rank."""
    comparison = compare(case)
    if keep is not None:
        comparison = replace(comparison, results=comparison.results[:keep])
    profiles = year_profiles(
        [r.bank for r in comparison.results], comparison.conditions, case.assumptions
    )
    return Study(case, comparison, profiles)


def packs_for(price: float, *, tax: float = 1.0) -> dict[str, float]:
    """What BANK_MONEY says of packs of that price: bought, replaced and sold."""
    return {"first_packs": price * tax, "swap_packs": price * tax, "packs_price": price}


def draw_ledger_by_hand(
    *,
    horizon: int = 10,
    packs: int = 2,
    failing: int = 0,
    calendar: float = 0.0,
    cycle: float = 0.0,
    exponent: float = 1.0,
    larger_counts: bool = False,
    rates: GammaRate | None = None,
    market: dict[str, float] | None = None,
    money: dict[str, float] | None = None,
    **yearly: float,
) -> DrawLedgerInputs:
    """One arrangement that wears alike at every health, end of life 0.7; all else free of charge.

    Of more than one pack, so that a failure renews no whole bank unless the costs by age say that
    the model is gone. `calendar`, `cycle`: stress a year. `yearly`: other totals. `rates`: of
    failures (None: none fails), of `failing` packs (0: all).
    """
    values = np.zeros((1, 1, 1, 2, len(FOLLOWED)))
    for name, value in {"calendar_stress": calendar, "cycle_stress": cycle, **yearly}.items():
        values[..., FOLLOWED.index(name)] = value
    prices = np.zeros(1, dtype=MARKET)
    for name, value in {
        "longest_life": 40.0,
        **(market or {}),
    }.items():
        prices[name] = value
    bank = np.zeros(1, dtype=BANK_MONEY)
    own = {
        "packs": float(packs), "end_of_life": 0.7, "exponent": exponent,
        "larger_counts": float(larger_counts),
        **(money or {}),
    }  # fmt: skip
    for name, value in own.items():
        bank[name] = value
    known: Any = SimpleNamespace(knowledge=SimpleNamespace(posterior=rates or NEVER))
    return DrawLedgerInputs(
        market=prices,
        money=bank,
        response=Response(use=np.ones(1), place=np.array([0.0, 1.0]), values=values),
        failures=(known,),
        failure_costs=np.zeros((1, horizon, len(BY_AGE))),
        hazard=np.full((1, horizon), float(failing or packs)),
        candidate=np.zeros(1, dtype=np.int64),
        horizon=horizon,
        batch_spread=0.0,
    )
