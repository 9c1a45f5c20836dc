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
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.charging import chargers_to_replace
from tco.bank.replacing import (
    dangerous_goods_price,
    disposal_price,
    pack_price_in,
    replacement_minutes,
    rewiring,
    with_tax,
)
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.health import Life, year_ends
from tco.money.discounting import present_value_factor
from tco.money.failure_parts import PARTS, failure_reason, only, within_cover
from tco.money.failures import FailureCosts
from tco.money.flows import (
    Flow,
    dangerous_goods,
    energy_bought,
    paid_how,
    rid_of,
    risen,
    tax_words,
)
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
    prices = case.prices
    flows = sorted(
        (
            *_purchase(case, bank),
            *_replacements(case, bank, life),
            *_running(case, bank, life, conditions),
            *_failures(case, bank, life, failures),
            *_at_the_end(case, bank.arrangement, life),
        ),
        key=lambda flow: flow.year,
    )
    return tuple(
        LedgerRow(
            year=flow.year,
            item=flow.item,
            amount=flow.amount,
            constant=flow.amount * present_value_factor(prices.inflation, flow.year),
            present=flow.amount * present_value_factor(prices.discount_rate, flow.year),
            reason=flow.reason,
            quantity=flow.quantity,
            unit=flow.unit,
            source=flow.source,
        )
        for flow in flows
        if abs(flow.amount) > 0.005 or flow.keep
    )


def _purchase(case: Case, bank: Bank) -> Iterable[Flow]:
    arrangement, wiring = bank.arrangement, bank.wiring
    pack, tax, packs = arrangement.pack, tax_words(case), arrangement.packs
    yield Flow(
        0.0, "packs", with_tax(case, packs * pack.price), f"{packs} × {pack.price:,.2f}{tax}",
        packs, "packs",
    )  # fmt: skip
    yield Flow(
        0.0, "freight", with_tax(case, packs * pack.freight_price),
        f"{packs} × {pack.freight_price:,.2f}{tax}", packs, "packs",
    )  # fmt: skip
    if wiring is not None:
        labour = wiring.labour_cost
        yield Flow(
            0.0,
            "wiring parts",
            with_tax(case, wiring.cost - labour),
            f"{wiring.connections} connections, {len(wiring.bill) - 1} kinds of part, each with "
            f"its price in the wiring bill{tax}",
        )
        hours = wiring.labour_hours
        yield Flow(
            0.0, "labour", with_tax(case, labour),
            f"{hours:.2f} h of fitting and wiring{paid_how(case)}", hours, "h",
            keep=case.prices.own_labour,
        )  # fmt: skip
        for gone in wiring.parts:
            yield Flow(0.0, "old parts", -gone.value, says(f"{gone.part.name} sold: ", gone.reason))
    yield from dangerous_goods(case, arrangement, packs, 0.0)
    yield from _spares(case, arrangement)
    for name, price in chargers_to_replace(case, arrangement):
        yield Flow(
            0.0,
            "charger",
            with_tax(case, price),
            f"1 × {price:,.2f}: {name} has no profile for {pack.chemistry.key}{tax}",
        )
    old = case.system.old_bank
    if old is not None:
        if old.sale_price > 0:
            yield Flow(0.0, "old bank", -old.sale_price, f"old bank sold for {old.sale_price:,.2f}")
        else:
            yield rid_of(case, 0.0, "old bank", old.chemistry, old.mass_kg)


def _spares(case: Case, arrangement: Arrangement) -> Iterable[Flow]:
    """Packs bought with the bank to lie on the shelf."""
    number, pack = case.assumptions.spare_packs, arrangement.pack
    yield Flow(
        0.0,
        "spare packs",
        number * pack_price_in(case, pack, 0.0),
        f"{number} on the shelf × ({pack.price:,.2f} and freight {pack.freight_price:,.2f})"
        f"{tax_words(case)}",
        number,
        "packs",
    )
    yield from dangerous_goods(case, arrangement, number, 0.0)


def _replacements(case: Case, bank: Bank, life: Life) -> Iterable[Flow]:
    arrangement, wiring = bank.arrangement, bank.wiring
    prices, pack, tax = case.prices, arrangement.pack, tax_words(case)
    packs, anew = arrangement.packs, rewiring(case, bank)
    paid, own = paid_how(case), prices.own_labour
    for replacement in life.replacements:
        year = replacement.year
        inflated, grown = (1.0 + prices.inflation) ** year, risen(case, year)
        trended = inflated * (1.0 + prices.pack_price_trend) ** year
        yield Flow(
            year,
            "replacement packs",
            packs * pack_price_in(case, pack, year),
            f"{packs} × ({pack.price * trended:,.2f}, a pack's price by then, and freight "
            f"{pack.freight_price * inflated:,.2f}){tax}; {replacement.reason}",
            packs,
            "packs",
        )
        hours = replacement_minutes(case, arrangement) / 60.0
        share = case.assumptions.rewired_share
        yield Flow(
            year,
            "replacement labour",
            with_tax(case, hours * prices.paid_per_hour * inflated),
            f"{hours:.2f} h{paid}{grown}; "
            + (
                f"{share:.0%} of the wiring is renewed" if share > 0 else "the wiring is used again"
            ),
            hours,
            "h",
            keep=own,
        )
        if share > 0 and wiring is not None:
            yield Flow(
                year,
                "rewiring",
                anew.price(case) * inflated,
                f"{share:.0%} of the wiring anew: parts for {anew.parts_price:,.2f} and "
                f"{anew.hours:.2f} h{paid}{grown}",
                anew.hours,
                "h",
                keep=own,
            )
        yield from dangerous_goods(case, arrangement, packs, year)
        yield rid_of(case, year, "disposal", pack.chemistry.key, arrangement.mass_kg)


def _running(case: Case, bank: Bank, life: Life, conditions: Conditions) -> Iterable[Flow]:
    prices, yearly, wiring = case.prices, life.yearly, bank.wiring
    check_minutes = (
        wiring.connections * prices.check_minutes_per_termination_year
        if wiring is not None
        else 0.0
    )
    begun, lost, paid = 0.0, case.assumptions.lost_day_hours, paid_how(case)
    for index, year in enumerate(year_ends(case.assumptions.horizon_years).tolist()):
        part, begun = year - begun, year
        inflated, grown = (1.0 + prices.inflation) ** year, risen(case, year)
        yield from energy_bought(case, life, conditions, index, year, grown)
        days = float(yearly["unserved_days"][index])
        yield Flow(
            year,
            "days without power",
            days * prices.day_without_power_price * inflated,
            f"{days:.2f} days lost × {prices.day_without_power_price:,.2f}{grown}: "
            f"{lost:.3g} h short of essential power lose a day, less a share",
            days,
            "days lost",
        )
        short = float(yearly["hours_without_power"][index])
        yield Flow(
            year,
            "hours without power",
            short * prices.hour_without_power_price * inflated,
            f"{short:.1f} h for which essential loads went short × "
            f"{prices.hour_without_power_price:,.2f}{grown}"
            + ("; on top of the days" if prices.day_without_power_price > 0 else ""),
            short,
            "h short",
        )
        minutes = part * check_minutes
        yield Flow(
            year,
            "yearly checks",
            with_tax(case, minutes / 60.0 * prices.paid_per_hour * inflated),
            f"{minutes:.0f} min: torque and heat of every connection, "
            f"{minutes / 60.0:.2f} h{paid}{grown}",
            minutes,
            "min",
            keep=prices.own_labour,
        )
        if wiring is not None:
            yield Flow(
                year,
                "upkeep saved",
                -wiring.yearly_saving * part * inflated,
                f"{part:.3g} year × {wiring.yearly_saving:,.2f}{grown}: upkeep and "
                "spares of parts that are gone",
            )


def _failures(case: Case, bank: Bank, life: Life, costs: FailureCosts | None) -> Iterable[Flow]:
    """Failures to be expected, net of what the warranty returns, and the lives they renew."""
    if costs is None:
        return
    found = expected_failures(case, bank, life, costs)
    parts = {
        part: expected_failures(case, bank, life, costs, only(costs, part))[1] for part in PARTS
    }
    arrangement, tax = bank.arrangement, tax_words(case)
    first = life.counted_life_years
    for index, year in enumerate(year_ends(case.assumptions.horizon_years).tolist()):
        number, amount = found[:2, index].tolist()
        share = 1.0 / number if number > 0.0 else 0.0
        each = {part: share * float(spent[index]) for part, spent in parts.items()}
        yield Flow(
            year,
            "failures",
            amount,
            failure_reason(
                number,
                each,
                all_anew=bool(costs.gone[: index + 1].any()),
                covered=within_cover(costs, (index + year) / 2.0, first),
                tax=tax,
            ),
            number,
            "failures",
        )
    end = float(case.assumptions.horizon_years)
    renewed, saved = found[2:].sum(axis=1).tolist()
    yield Flow(
        end,
        "life renewed",
        -saved / present_value_factor(case.prices.discount_rate, end),
        f"{renewed:.2f} times all {arrangement.packs} × {arrangement.pack.name} new after a "
        "failure: later replacements fall due later, and more life is left now",
        renewed,
        "banks renewed",
    )


def expected_failures(
    case: Case,
    bank: Bank,
    life: Life,
    costs: FailureCosts,
    by_age: FloatArray | None = None,
) -> FloatArray:
    """What `tco.money.renewal.expect` finds of a bank, shape (4, years begun).

    `by_age`: other costs than all of them, by age (`tco.money.failure_parts.only`).
    """
    arrangement, pack = bank.arrangement, bank.arrangement.pack
    prices, horizon = case.prices, case.assumptions.horizon_years
    packs, disposal = (
        arrangement.packs,
        disposal_price(case, pack.chemistry.key, arrangement.mass_kg),
    )
    shipping = with_tax(case, pack.freight_price + dangerous_goods_price(case, pack))
    minutes = replacement_minutes(case, arrangement)
    labour = with_tax(case, minutes / 60.0 * prices.paid_per_hour)
    anew = rewiring(case, bank).price(case)
    inflation = 1.0 + prices.inflation
    years = math.ceil(horizon)
    first = life.counted_life_years
    out = np.zeros((4, years))
    expect(
        years, float(horizon), float(first),
        costs.knowledge.posterior.mean, costs.packs * costs.hazard,
        costs.by_age if by_age is None else by_age, packs == 1,
        costs.spares,
        np.array(
            [
                with_tax(case, packs * pack.price),
                packs * shipping + disposal + labour + anew,
                packs * pack.price * case.assumptions.resale_share,
                disposal,
            ]
        ),
        1.0 + prices.discount_rate, inflation, inflation * (1.0 + prices.pack_price_trend),
        pack.price, 0.0, out,
    )  # fmt: skip
    return out


def _at_the_end(case: Case, arrangement: Arrangement, life: Life) -> Iterable[Flow]:
    horizon = float(case.assumptions.horizon_years)
    inflated = (1.0 + case.prices.inflation) ** horizon
    pack, left = arrangement.pack, life.remaining_share
    trended = inflated * (1.0 + case.prices.pack_price_trend) ** horizon
    resale = case.assumptions.resale_share
    yield Flow(
        horizon,
        "residual value",
        -arrangement.packs * pack.price * trended * resale * left,
        f"{left:.0%} of its life left × {resale:.0%} for which that share sells × "
        f"{arrangement.packs} × {pack.price * trended:,.2f}, a new pack's price by then",
        arrangement.packs,
        "packs",
    )
    spares = case.assumptions.spare_packs
    yield Flow(
        horizon,
        "residual value",
        -spares * pack.price * trended * resale,
        f"{spares} spare on the shelf × {resale:.0%} of {pack.price * trended:,.2f}, a new pack's "
        "price by then",
        spares,
        "packs",
    )
    gone = rid_of(case, horizon, "disposal", pack.chemistry.key, arrangement.mass_kg, 1.0 - left)
    yield gone._replace(
        reason=says(gone.reason, f" × {1.0 - left:.0%}, the share of its life that is used up")
    )
