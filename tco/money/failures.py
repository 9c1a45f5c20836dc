"""What failures cost one arrangement: how often, what each takes, what the warranty gives back.

Costs are by the bank's age, split into the part that follows pack prices and the part that
follows inflation, so that the ledger (expected failures) and the draws (failures that happen)
use the same numbers.
"""

import math
from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.cell_work import built_in_minutes
from tco.bank.replacing import dangerous_goods_price, with_tax
from tco.case import Case
from tco.case.evidence import ReliabilityAssumptions
from tco.life.conditions import Conditions
from tco.life.health import LONGEST_LIFE_YEARS
from tco.life.pack_failure_outage import Missing
from tco.money.cell_failures import share_bought_anew, that_can_fail
from tco.money.evidence import Knowledge, explain, price_classes, weibull_scale_years
from tco.money.reliability import cumulative_hazard, first_failure_probability
from tco.money.renewal import BY_AGE
from tco.money.warranty import (
    NO_CLAIM,
    WarrantyUse,
    broken_conditions,
    cheapest_way,
    claim_cost,
    covered_years,
    payout_share,
    warranty_of,
)
from tco.physics.arrays import BoolArray, FloatArray, IntArray


@dataclass(frozen=True)
class EventCost:
    """What one failure takes by the bank's age, shape (horizon,) each.

    `pack_share`: packs bought less what the warranty returns on average, as a multiple of one
    pack's price, tax included; `other`: labour, freight, claim and days without power, in today's
    money; `outage`: the days' part of it; `refund`: what an honoured claim brings, as a multiple of
    a pack's price; `way`: how the failure is met (`tco.money.warranty.cheapest_way`).
    """

    pack_share: FloatArray
    other: FloatArray
    outage: FloatArray
    refund: FloatArray
    way: IntArray


@dataclass(frozen=True)
class FailureCosts:
    """Failures of one arrangement.

    `knowledge`: prior and posterior of the failure rate of one pack, or of one bare cell. `packs`:
    packs that can fail, or cells and units (`tco.money.cell_failures.that_can_fail`); `spares`:
    packs on the shelf. `one`, `all_packs`: a failure met with one pack, and with a whole new bank;
    the latter where the model is `gone`, shape (horizon,), and no spare is left.
    `honoured`: chance that a claim is honoured; `covered_years`: age at which the cover ends in
    this use, 0 where `void` says, in words, why there is none. `hazard`: failures in that year of
    age over the mean rate (1 where failures are exponential, rising for a Weibull shape above 1).
    """

    knowledge: Knowledge
    packs: int
    spares: int
    one: EventCost
    all_packs: EventCost
    gone: BoolArray
    honoured: float
    covered_years: float
    void: tuple[str, ...]
    hazard: FloatArray

    def expected(self, age_index: int) -> float:
        """Failures expected of the whole bank in a year of its age."""
        index = min(age_index, self.hazard.size - 1)
        return float(self.packs * self.knowledge.posterior.mean * self.hazard[index])

    def chance(self, years: int) -> float:
        """Probability that at least one pack fails in the first whole years, at the mean rate."""
        return float(first_failure_probability([self.expected(age) for age in range(years)]))

    @cached_property
    def first(self) -> EventCost:
        """The first failure of a bank at each age."""
        anew = self.gone & (self.spares == 0)
        return EventCost(
            **{
                name: np.where(anew, getattr(self.all_packs, name), getattr(self.one, name))
                for name in EventCost.__dataclass_fields__
            }
        )

    @cached_property
    def warranty_share(self) -> FloatArray:
        """What the warranty returns of the pack's price at each age, chance included."""
        return self.first.refund * self.honoured

    @cached_property
    def by_age(self) -> FloatArray:
        """Columns of `tco.money.renewal.BY_AGE`, shape (horizon, columns)."""
        columns = {"gone": self.gone.astype(np.float64)}
        for prefix, event in (("one", self.one), ("all", self.all_packs)):
            for name, values in (
                ("pack", event.pack_share),
                ("other", event.other),
                ("outage", event.outage),
                ("refund", event.refund),
            ):
                columns[f"{prefix}_{name}"] = values
        return np.column_stack([columns[name] for name in BY_AGE])


def failure_knowledge(case: Case, names: Collection[str]) -> dict[str, Knowledge]:
    """Prior and posterior failure rate of some candidates, by name."""
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
        if candidate.name in names
    }


def warranty_use(case: Case, conditions: Conditions) -> WarrantyUse:
    """How a pack is used, as far as a warranty asks.

    Limits for use are held against the hours of the months in use, limits for storage against
    those laid up, each at the temperature of the battery's space.
    """
    used, stored = (
        conditions.space_degc[~conditions.laid_up],
        conditions.space_degc[conditions.laid_up],
    )
    return WarrantyUse(
        commercial_use=case.use.commercial,
        coldest_operating_degc=float(used.min()) if used.size else None,
        hottest_operating_degc=float(used.max()) if used.size else None,
        coldest_storage_degc=float(stored.min()) if stored.size else None,
        hottest_storage_degc=float(stored.max()) if stored.size else None,
    )


def failure_costs(
    case: Case,
    arrangement: Arrangement,
    knowledge: Knowledge,
    *,
    use: WarrantyUse,
    hazard: FloatArray,
    bank_kwh_per_year: float,
    missing: Missing,
    life_years: float | None,
) -> FailureCosts:
    """Cost of one failure by the age of the bank.

    `use` and `hazard`, the same for all arrangements of a case, are of `warranty_use` and
    `hazard_by_age`.

    The owner meets each failure in the cheapest way (`tco.money.warranty.cheapest_way`), judged at
    the lowest price that packs come down to, so that no claim costs more than it brings. Until a
    new pack is there the bank lacks power on the days on which some is wanted, and a bank of
    several strings only what the strings left do not carry (`missing`, of
    `tco.life.pack_failure_outage`). With a spare on the shelf the wait is that of a swap. Once the
    model is gone and no spare is left, all packs of a bank, in series as in parallel, are bought
    anew, since packs of another model or age are not mixed (makers bar it, and current does not
    share evenly: common practice, no source), and the sound ones sold for what is left of their
    `life_years` (None: longer than followed). Of a block of bare cells one cell, or its unit, is
    bought anew, and the block taken apart for it (`tco.money.cell_failures`); it is out meanwhile.
    """
    pack, prices, tax = arrangement.pack, case.prices, 1.0 + case.prices.tax_rate
    horizon = math.ceil(case.assumptions.horizon_years)
    age = np.arange(horizon, dtype=np.float64) + 0.5
    terms = warranty_of(pack, case.warranties)
    energy_kwh = pack.energy_wh / pack.pieces / 1000.0
    yearly_kwh = bank_kwh_per_year / arrangement.pieces
    part = share_bought_anew(pack)
    promised = np.asarray(
        payout_share(
            terms, age, nominal_energy_kwh=energy_kwh, throughput_kwh=yearly_kwh * age, use=use
        ),
        dtype=np.float64,
    )
    a_day = (
        missing.days * prices.day_without_power_price
        + missing.hours * prices.hour_without_power_price
    )
    minutes = (
        prices.minutes_per_pack
        + pack.mass_kg * prices.minutes_per_kg_lifted
        + built_in_minutes(prices, replace(arrangement, series=1, parallel=1))
    )
    labour = minutes / 60.0 * prices.paid_per_hour * tax
    freight = with_tax(case, pack.freight_price + dangerous_goods_price(case, pack))
    lead = next(
        (c.lead_time_days for c in case.candidates if c.name == pack.name and c.lead_time_days),
        prices.usual_lead_time_days,
    )
    spares, resale = case.assumptions.spare_packs, case.assumptions.resale_share
    gone_after = case.reliability.model_gone_after_years
    life = LONGEST_LIFE_YEARS if life_years is None else life_years
    lowest_price = pack.price * min(1.0, (1.0 + prices.pack_price_trend) ** horizon)
    kept = resale * np.clip(1.0 - age / life, 0.0, 1.0)

    def event(bought: FloatArray, sold: FloatArray, on_the_shelf: bool) -> EventCost:
        claim = cheapest_way(
            terms,
            promised,
            pack_price=lowest_price * part,
            tax=tax,
            trouble_price=prices.claim_trouble,
            wait_days=case.reliability.swap_days if on_the_shelf else lead,
            day_price=a_day,
            spare_value=resale,
            on_the_shelf=on_the_shelf,
        )
        outage = np.asarray(claim.days, dtype=np.float64) * a_day
        claimed = np.where(claim.way == NO_CLAIM, 0.0, claim_cost(terms) + prices.claim_trouble)
        return EventCost(
            pack_share=bought * tax - sold - part * claim.refund * terms.honoured_probability,
            other=np.maximum(bought, 1.0) * labour + bought * freight + claimed + outage,
            outage=outage,
            refund=part * np.asarray(claim.refund, dtype=np.float64),
            way=np.asarray(claim.way, dtype=np.int64),
        )

    every = np.full(horizon, float(arrangement.packs))
    void = broken_conditions(terms, use)
    return FailureCosts(
        knowledge=knowledge,
        packs=that_can_fail(arrangement),
        spares=spares,
        one=event(np.full(horizon, part), np.zeros(horizon), spares > 0),
        all_packs=event(every, (every - part) * kept, False),
        gone=(age >= gone_after) & (arrangement.pieces > 1),
        honoured=terms.honoured_probability,
        covered_years=0.0
        if void
        else float(covered_years(terms, nominal_energy_kwh=energy_kwh, kwh_per_year=yearly_kwh)),
        void=void,
        hazard=hazard,
    )


def hazard_by_age(assumptions: ReliabilityAssumptions, horizon_years: float) -> FloatArray:
    """Failures in each year of age over the mean rate of the reference years.

    Shape (years begun before the horizon,).

    From the cumulative hazard (t/c)^k of a Weibull life (NIST/SEMATECH e-Handbook 8.1.6.2) whose
    scale c gives one failure a year on the mean of the reference years.
    """
    ages, shape = np.arange(math.ceil(horizon_years) + 1.0), assumptions.weibull_shape
    scale = weibull_scale_years(1.0, shape=shape, reference_years=assumptions.reference_years)
    return np.asarray(
        np.diff(cumulative_hazard(ages, scale=scale, shape=shape)),
        dtype=np.float64,
    )
