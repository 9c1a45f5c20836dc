"""What failures cost one arrangement: how often, what each takes, what the warranty gives back.

Costs are by the bank's age, split into the part that follows pack prices and the part that
follows inflation, so that the ledger (expected failures) and the draws (failures that happen)
use the same numbers.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tco.bank.arrangements import Arrangement
from tco.bank.replacing import dangerous_goods_price, with_tax
from tco.case import Case
from tco.life.conditions import Conditions
from tco.money.bank_failures import failure_effects, packs_to_buy
from tco.money.evidence import Knowledge, explain, price_classes
from tco.money.warranty import Conditions as WarrantyUse
from tco.money.warranty import claim_cost, covered_years, payout_share, warranty_of

FloatArray = NDArray[np.float64]

HOURS_PER_DAY = 24.0


@dataclass(frozen=True)
class FailureCosts:
    """Failures of one arrangement.

    `knowledge`: prior and posterior of the failure rate of one pack. `packs`: packs that can fail.
    By the bank's age, shape (horizon,), of one failure: `pack_share`, the packs bought less what
    the warranty returns on average, as a multiple of one pack's price, tax included; `other`,
    labour, freight and days without power, in today's money; `outage`, the days' part of it;
    `warranty_share`, what the warranty
    returns of the pack's price, chance included; `hazard`, failures in that year of age over the
    mean rate (1 where failures are exponential, rising for a Weibull shape above 1).
    """

    knowledge: Knowledge
    packs: int
    pack_share: FloatArray
    other: FloatArray
    outage: FloatArray
    warranty_share: FloatArray
    hazard: FloatArray

    def expected(self, age_index: int) -> float:
        """Failures expected of the whole bank in a year of its age."""
        index = min(age_index, self.hazard.size - 1)
        return float(self.packs * self.knowledge.posterior.mean * self.hazard[index])


def failure_knowledge(case: Case) -> dict[str, Knowledge]:
    """Prior and posterior failure rate of every candidate, by name."""
    classes = price_classes(case.candidates, case.reliability)
    return {
        candidate.name: explain(
            candidate,
            classes[candidate.name],
            reports=[r for r in case.evidence if r.candidate == candidate.name],
            marks=[m for m in case.marks if m.candidate == candidate.name],
            assumptions=case.reliability,
        )
        for candidate in case.candidates
    }


def failure_costs(
    case: Case,
    arrangement: Arrangement,
    knowledge: Knowledge,
    *,
    conditions: Conditions,
    bank_kwh_per_year: float,
) -> FailureCosts:
    """Cost of one failure by the age of the bank.

    The pack is down from the failure until a new one is there: its lead time and, where a claim
    runs, the warranty's downtime, whichever is longer; with a spare on the shelf, the time to swap
    it (a second failure before the shelf is filled again is left out). Meanwhile its string is
    dead: a bank of one string is dark, a parallel one goes on at part of its power, which costs in
    proportion to what is missing. After the model is gone a failed pack of a parallel bank replaces
    them all.
    """
    pack, prices = arrangement.pack, case.prices
    horizon = math.ceil(case.assumptions.horizon_years)
    age = np.arange(horizon, dtype=np.float64) + 0.5
    terms = warranty_of(pack, case.warranties)
    use = WarrantyUse(
        commercial_use=case.use.commercial,
        coldest_operating_degc=float(conditions.space_degc.min()),
        hottest_operating_degc=float(conditions.space_degc.max()),
    )
    energy_kwh = pack.energy_wh / 1000.0
    throughput = bank_kwh_per_year / arrangement.packs * age
    promised = np.asarray(
        payout_share(terms, age, nominal_energy_kwh=energy_kwh, throughput_kwh=throughput, use=use),
        dtype=np.float64,
    )
    claim = claim_cost(terms) + prices.claim_trouble
    worth = promised * pack.price * terms.honoured_probability > claim
    warranty_share = np.where(worth, promised * terms.honoured_probability, 0.0)
    bought = np.asarray(
        packs_to_buy(
            age,
            packs=arrangement.packs if arrangement.parallel > 1 else 1,
            model_gone_after_years=case.reliability.model_gone_after_years,
            kept_value=case.assumptions.resale_share,
        ),
        dtype=np.float64,
    )
    lead = next(
        (c.lead_time_days for c in case.candidates if c.name == pack.name and c.lead_time_days),
        prices.usual_lead_time_days,
    )
    repair = (
        np.full(horizon, case.reliability.swap_days)
        if case.assumptions.spare_packs > 0
        else np.where(worth, max(lead, terms.downtime_days), lead)
    )
    a_day = prices.day_without_power_price + HOURS_PER_DAY * prices.hour_without_power_price
    outage = _days_lost(arrangement, repair) * a_day
    minutes = prices.minutes_per_pack + pack.mass_kg * prices.minutes_per_kg_lifted
    labour = minutes / 60.0 * prices.paid_per_hour * (1.0 + prices.tax_rate)
    freight = with_tax(case, pack.freight_price + dangerous_goods_price(case, pack))
    other = bought * (labour + freight) + np.where(worth, claim, 0.0) + outage
    return FailureCosts(
        knowledge=knowledge,
        packs=arrangement.packs,
        pack_share=(bought - warranty_share) * (1.0 + prices.tax_rate),
        other=other,
        outage=outage,
        warranty_share=warranty_share,
        hazard=_hazard(case, horizon),
    )


def _hazard(case: Case, horizon: int) -> FloatArray:
    """Failures in each year of age over the mean rate of the reference years.

    Cumulative hazard rate x T (t/T)^k, T the reference years, k the Weibull shape.
    """
    shape, reference = case.reliability.weibull_shape, case.reliability.reference_years
    edges = reference * (np.arange(horizon + 1) / reference) ** shape
    return np.asarray(np.diff(edges), dtype=np.float64)


def covered_by_warranty_years(case: Case, arrangement: Arrangement, kwh_per_year: float) -> float:
    """Years until the warranty's term or throughput ends, whichever comes first."""
    terms = warranty_of(arrangement.pack, case.warranties)
    return float(
        covered_years(
            terms,
            nominal_energy_kwh=arrangement.pack.energy_wh / 1000.0,
            kwh_per_year=kwh_per_year / arrangement.packs,
        )
    )


def _days_lost(arrangement: Arrangement, repair_days: FloatArray) -> FloatArray:
    """Days of power lost by one failure: all of them in one string, the missing share in several.

    Taken from the long-run days a year of a bank that fails rarely, over its failures a year.
    """
    rare = 1e-6
    effects = failure_effects(
        arrangement.series, arrangement.parallel, rate_per_pack_year=rare, repair_days=repair_days
    )
    partial = effects.partial_days_per_year * (1.0 - effects.share_left)
    return np.asarray(
        (effects.dark_days_per_year + partial) / effects.failures_per_year, dtype=np.float64
    )


__all__ = [
    "FailureCosts",
    "covered_by_warranty_years",
    "failure_costs",
    "failure_knowledge",
]
