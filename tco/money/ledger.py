"""The ledger: the dated cash flows of one arrangement, each with its reason.

Signs: money paid is positive, money received negative, so that a total is a cost. Every amount
stands in three kinds of money, which are never added to each other: `amount` is nominal (what will
be paid that day), `constant` the same in the prices of the day of purchase (inflation taken out,
real), `present` its value on the day of purchase (discounted at the nominal rate). When each flow
stands is said by `TIMING`. Tax is on all goods and labour bought; disposal, resale and energy
prices are taken as they stand.

At the horizon the bank in service has a share of its life left. That share is sold, and the share
used up bears its part of what it costs to be rid of the bank (or of what the scrap pays), both in
a straight line: what the last bank is worth at the end does not jump with its life. The total
does jump where a bank ends just before the horizon or just after it, since a new one is then
bought or not, and a resale share below one does not give its price back.
"""

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.costs import Costs, Moment, Paid, Sums, bank_costs, rid_of, risen, tax_words
from tco.bank.replacing import disposal_price
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.health import Life, year_ends
from tco.money.discounting import present_value_factor
from tco.money.failure_parts import PARTS, failure_reason, only, within_cover
from tco.money.failures import FailureCosts
from tco.money.flows import LEAST, Flow, energy_bought, flows_of, moment
from tco.money.renewal import expect
from tco.physics.arrays import FloatArray
from tco.sentences import says

TIMING = (
    "Year 0, the day of purchase: buying, fitting, the old bank. Each year's end: energy, time "
    "without power, failures, checks. A replacement: at its moment. The last day: resale, "
    "disposal, lives renewed, and what falls in a part of a year."
)
"""When each kind of flow stands in the ledger, for people."""


class LedgerRow(NamedTuple):
    """One cash flow. `year` is the time since purchase; above zero is paid.

    `amount` is nominal, `constant` in the prices of the day of purchase, `present` discounted to
    it. `quantity` of `unit` is what the amount is for, where it can be counted; `source` names the
    charging source where energy is bought.
    """

    year: float
    item: str
    amount: float
    constant: float
    present: float
    reason: str
    quantity: float | None = None
    unit: str = ""
    source: str = ""


def ledger(
    case: Case,
    bank: Bank,
    *,
    life: Life,
    conditions: Conditions,
    failures: FailureCosts | None = None,
) -> tuple[LedgerRow, ...]:
    """Every cash flow of a bank over the horizon, in order of time.

    One that cannot be wired has none of the wiring's costs; it is ruled out by its screening.
    `failures` None leaves failures out; with it, each year bears those expected.
    """
    costs, prices = bank_costs(case, bank), case.prices
    ends = [moment(case, year) for year in year_ends(case.assumptions.horizon_years).tolist()]
    flows = (
        *flows_of(costs.at_first, moment(case, 0.0)),
        *_replacements(case, costs, life),
        *_running(case, costs, life, conditions, ends),
        *_failures(case, bank, life, failures, costs),
        *_at_the_end(case, bank.arrangement, life),
    )
    factors = {
        year: (
            present_value_factor(prices.inflation, year),
            present_value_factor(prices.discount_rate, year),
        )
        for year in {flow.year for flow in flows}
    }

    def row(flow: Flow) -> LedgerRow:
        real, present = factors[flow.year]
        return LedgerRow(
            flow.year, flow.item, flow.amount, flow.amount * real, flow.amount * present,
            flow.reason, flow.quantity, flow.unit, flow.source,
        )  # fmt: skip

    return tuple(map(row, sorted(flows, key=lambda flow: flow.year)))


def _replacements(case: Case, costs: Costs, life: Life) -> Iterator[Flow]:
    for replacement in life.replacements:
        for flow in flows_of(costs.at_swap, moment(case, replacement.year)):
            why = f"; {replacement.reason}" if flow.item == costs.at_swap[0].item else ""
            yield flow._replace(reason=says(flow.reason, why)) if why else flow


def _running(
    case: Case, costs: Costs, life: Life, conditions: Conditions, ends: Sequence[Moment]
) -> Iterator[Flow]:
    prices, lost = case.prices, case.assumptions.lost_day_hours
    a_day, an_hour = prices.day_without_power_price, prices.hour_without_power_price
    on_top = "; on top of the days" if a_day > 0 else ""
    begun = 0.0
    for index, at in enumerate(ends):
        part, begun = at.year - begun, at.year
        grown = risen(case, at.inflated)
        yield from energy_bought(case, life, conditions, index, at)
        days = float(life.yearly["unserved_days"][index])
        if days * a_day * at.inflated > LEAST:
            yield Flow(
                at.year,
                "days without power",
                days * a_day * at.inflated,
                f"{days:.2f} days lost × {a_day:,.2f}{grown}: "
                f"{lost:.3g} h short of essential power lose a day, less a share",
                days,
                "days lost",
            )
        short = float(life.yearly["hours_without_power"][index])
        if short * an_hour * at.inflated > LEAST:
            yield Flow(
                at.year,
                "hours without power",
                short * an_hour * at.inflated,
                f"{short:.1f} h for which essential loads went short × "
                f"{an_hour:,.2f}{grown}{on_top}",
                short,
                "h short",
            )
        yield from flows_of(costs.yearly, at._replace(part=part), share=part)


def _failures(
    case: Case, bank: Bank, life: Life, failures: FailureCosts | None, costs: Costs
) -> Iterator[Flow]:
    """Failures to be expected, net of what the warranty returns, and the lives they renew."""
    if failures is None:
        return
    found = expected_failures(case, bank, life, failures, swap=costs.swap)
    parts = {
        part: expected_failures(
            case, bank, life, failures, swap=costs.swap, by_age=only(failures, part)
        )[1]
        for part in PARTS
    }
    arrangement, tax = bank.arrangement, tax_words(case)
    first = life.counted_life_years
    for index, year in enumerate(year_ends(case.assumptions.horizon_years).tolist()):
        number, amount = found[:2, index].tolist()
        if abs(amount) <= LEAST:
            continue
        share = 1.0 / number if number > 0.0 else 0.0
        each = {part: share * float(spent[index]) for part, spent in parts.items()}
        yield Flow(
            year,
            "failures",
            amount,
            failure_reason(
                number,
                each,
                all_anew=bool(failures.gone[: index + 1].any()),
                covered=within_cover(failures, (index + year) / 2.0, first),
                tax=tax,
            ),
            number,
            "failures",
        )
    end = float(case.assumptions.horizon_years)
    renewed, saved = found[2:].sum(axis=1).tolist()
    amount = -saved / present_value_factor(case.prices.discount_rate, end)
    if abs(amount) > LEAST:
        yield Flow(
            end,
            "life renewed",
            amount,
            f"{renewed:.2f} times all {arrangement.packs} × {arrangement.pack.name} new after a "
            "failure: later replacements fall due later, and more life is left now",
            renewed,
            "banks renewed",
        )


def expected_failures(
    case: Case,
    bank: Bank,
    life: Life,
    failures: FailureCosts,
    *,
    swap: Sums,
    by_age: FloatArray | None = None,
) -> FloatArray:
    """What `tco.money.renewal.expect` finds of a bank, shape (4, years begun).

    `swap`: what a replacement takes. `by_age`: other costs than all of them, by age
    (`tco.money.failure_parts.only`).
    """
    arrangement, pack = bank.arrangement, bank.arrangement.pack
    prices, horizon = case.prices, case.assumptions.horizon_years
    inflation, packs = 1.0 + prices.inflation, arrangement.packs
    years = math.ceil(horizon)
    out = np.zeros((4, years))
    expect(
        years, float(horizon), float(life.counted_life_years),
        failures.knowledge.posterior.mean, failures.packs * failures.hazard,
        failures.by_age if by_age is None else by_age, arrangement.pieces == 1,
        failures.spares,
        np.array(
            [
                swap.packs_price,
                swap.work_price + swap.other_price,
                packs * pack.price * case.assumptions.resale_share,
                disposal_price(case, pack.chemistry.key, arrangement.mass_kg),
            ]
        ),
        1.0 + prices.discount_rate, inflation, inflation * (1.0 + prices.pack_price_trend),
        pack.price, 0.0, out,
    )  # fmt: skip
    return out


def _at_the_end(case: Case, arrangement: Arrangement, life: Life) -> Iterator[Flow]:
    """The share of life left sold, the spares too; the share used up bears its part of the rest."""
    at = moment(case, float(case.assumptions.horizon_years))
    pack, left = arrangement.pack, life.remaining_share
    resale, spares = case.assumptions.resale_share, case.assumptions.spare_packs
    by_then = f"{pack.price * at.trended:,.2f}"
    yield from flows_of(
        (
            Paid(
                "residual value",
                lambda _: (
                    f"{left:.0%} of its life left × {resale:.0%} for which that share sells "
                    f"× {arrangement.packs} × {by_then}, a new pack's price by then"
                ),
                packs_price=-arrangement.packs * pack.price * resale * left,
                quantity=arrangement.packs,
                unit="packs",
            ),
            Paid(
                "residual value",
                lambda _: (
                    f"{spares} spare on the shelf × {resale:.0%} of {by_then}, a new pack's "
                    "price by then"
                ),
                packs_price=-spares * pack.price * resale,
                quantity=spares,
                unit="packs",
            ),
        ),
        at,
    )
    gone = rid_of(case, "disposal", pack.chemistry.key, arrangement.mass_kg)
    for flow in flows_of((gone,), at, share=1.0 - left):
        reason = says(flow.reason, f" × {1.0 - left:.0%}, the share of its life that is used up")
        yield flow._replace(reason=reason, quantity=gone.quantity)
