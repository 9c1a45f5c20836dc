"""The ledger: the dated cash flows of one arrangement, each with its reason.

Signs: money paid is positive, money received negative, so that a total is a cost. Amounts are
nominal (what will be paid that day); `present` is the amount discounted to the day of purchase.
Yearly amounts stand at the end of their year, those of a last part of a year at the horizon;
replacements at their moment. Tax is on all goods
and labour bought; disposal, resale and energy prices are taken as they stand.

At the horizon the bank in service has a share of its life left. That share is sold, and the share
used up bears its part of what it costs to be rid of the bank (or of what the scrap pays): both in
a straight line, so that a bank which lasts a day longer never makes the total jump.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tco.bank.arrangements import Arrangement
from tco.bank.replacing import (
    dangerous_goods_price,
    disposal_price,
    pack_price_in,
    replacement_minutes,
    with_tax,
)
from tco.bank.screening import chargers_to_replace
from tco.bank.wiring import Wiring
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.health import LONGEST_LIFE_YEARS, Life, year_ends
from tco.money.discounting import present_value_factor
from tco.money.failures import FailureCosts
from tco.money.renewal import expect

FloatArray = NDArray[np.float64]

WH_PER_KWH = 1000.0


@dataclass(frozen=True)
class LedgerRow:
    """One cash flow. `year` is the time since purchase; `amount` above zero is paid."""

    year: float
    item: str
    amount: float
    present: float
    reason: str


def ledger(
    case: Case,
    arrangement: Arrangement,
    *,
    wiring: Wiring | None,
    life: Life,
    conditions: Conditions,
    failures: FailureCosts | None = None,
) -> tuple[LedgerRow, ...]:
    """Every cash flow of an arrangement over the horizon, in order of time.

    `wiring` None (it cannot be wired) leaves the wiring out; such an arrangement is ruled out by
    its screening. `failures` None leaves failures out; with it, each year bears those expected.
    """
    rate = case.prices.discount_rate
    rows = [
        LedgerRow(year, item, amount, amount * present_value_factor(rate, year), reason)
        for year, item, amount, reason in sorted(
            (
                *_purchase(case, arrangement, wiring),
                *_replacements(case, arrangement, life),
                *_running(case, arrangement, wiring, life, conditions),
                *_failures(case, arrangement, life, failures),
                *_at_the_end(case, arrangement, life),
            ),
            key=lambda row: row[0],
        )
        if abs(amount) > 0.005 or OWN_TIME in reason
    ]
    return tuple(rows)


OWN_TIME = "own time"
"""Said of labour that is not paid; such rows are kept though they cost nothing."""

Flow = tuple[float, str, float, str]


def _tax_words(case: Case) -> str:
    return f", with {100.0 * case.prices.tax_rate:g} % tax" if case.prices.tax_rate > 0 else ""


def _purchase(case: Case, arrangement: Arrangement, wiring: Wiring | None) -> Iterable[Flow]:
    pack, tax = arrangement.pack, _tax_words(case)
    yield (
        0.0,
        "packs",
        with_tax(case, arrangement.packs * pack.price),
        f"{arrangement.packs} × {pack.price:,.2f}{tax}",
    )
    yield (
        0.0,
        "freight",
        with_tax(case, arrangement.packs * pack.freight_price),
        f"{arrangement.packs} × {pack.freight_price:,.2f}{tax}",
    )
    if wiring is not None:
        labour = wiring.labour_cost
        yield (
            0.0,
            "wiring parts",
            with_tax(case, wiring.cost - labour),
            f"{wiring.connections} connections, {len(wiring.bill) - 1} kinds of part{tax}",
        )
        hours = wiring.labour_hours
        yield (
            0.0,
            "labour",
            with_tax(case, labour),
            f"{hours:.1f} h of fitting and wiring{_paid_how(case)}",
        )
        for gone in wiring.parts:
            yield 0.0, "old parts", -gone.value, f"{gone.part.name} sold: {gone.reason}"
    yield from _dangerous_goods(case, arrangement, arrangement.packs, 0.0)
    yield from _spares(case, arrangement)
    for name, price in chargers_to_replace(case, arrangement):
        yield (
            0.0,
            "charger",
            with_tax(case, price),
            f"{name} has no profile for {pack.chemistry.key}{tax}",
        )
    old = case.system.old_bank
    if old is not None:
        if old.sale_price > 0:
            yield 0.0, "old bank", -old.sale_price, "old bank sold"
        else:
            yield (
                0.0,
                "old bank",
                disposal_price(case, old.chemistry, old.mass_kg),
                f"{old.mass_kg:.0f} kg of {old.chemistry} taken away or credited",
            )


def _paid_how(case: Case) -> str:
    return f"; {OWN_TIME}" if case.prices.own_labour else _tax_words(case)


def _dangerous_goods(
    case: Case, arrangement: Arrangement, packs: int, year: float
) -> Iterable[Flow]:
    """The surcharge for packs shipped at a time."""
    each, pack = dangerous_goods_price(case, arrangement.pack), arrangement.pack
    yield (
        year,
        "dangerous goods",
        with_tax(case, packs * each) * (1.0 + case.prices.inflation) ** year,
        f"{packs} × {each:,.2f} for shipping {pack.chemistry.key}{_tax_words(case)}",
    )


def _spares(case: Case, arrangement: Arrangement) -> Iterable[Flow]:
    """Packs bought with the bank to lie on the shelf."""
    number, pack = case.assumptions.spare_packs, arrangement.pack
    yield (
        0.0,
        "spare packs",
        number * pack_price_in(case, pack, 0.0),
        f"{number} on the shelf at {pack.price:,.2f}, with freight{_tax_words(case)}",
    )
    yield from _dangerous_goods(case, arrangement, number, 0.0)


def _replacements(case: Case, arrangement: Arrangement, life: Life) -> Iterable[Flow]:
    prices, pack, tax = case.prices, arrangement.pack, _tax_words(case)
    for replacement in life.replacements:
        year = replacement.year
        inflated = (1.0 + prices.inflation) ** year
        yield (
            year,
            "replacement packs",
            arrangement.packs * pack_price_in(case, pack, year),
            f"{replacement.reason}; {arrangement.packs} packs at that year's price{tax}",
        )
        minutes = replacement_minutes(case, arrangement)
        yield (
            year,
            "replacement labour",
            with_tax(case, minutes / 60.0 * prices.paid_per_hour * inflated),
            f"{minutes / 60.0:.1f} h; the wiring stays{_paid_how(case)}",
        )
        yield from _dangerous_goods(case, arrangement, arrangement.packs, year)
        yield (
            year,
            "disposal",
            disposal_price(case, pack.chemistry.key, arrangement.mass_kg) * inflated,
            f"{arrangement.mass_kg:.0f} kg of {pack.chemistry.key}",
        )


def _running(
    case: Case,
    arrangement: Arrangement,
    wiring: Wiring | None,
    life: Life,
    conditions: Conditions,
) -> Iterable[Flow]:
    prices, yearly = case.prices, life.yearly
    bought = (
        ("engine charging", "engine_wh", conditions.engine_price_per_kwh),
        ("shore power", "shore_wh", conditions.shore_price_per_kwh),
        ("generator", "generator_wh", conditions.generator_price_per_kwh),
    )
    check_minutes = (
        wiring.connections * prices.check_minutes_per_termination_year
        if wiring is not None
        else 0.0
    )
    begun, lost = 0.0, case.assumptions.lost_day_hours
    for index, year in enumerate(year_ends(case.assumptions.horizon_years).tolist()):
        part, begun = year - begun, year
        inflated = (1.0 + prices.inflation) ** year
        for item, name, price in bought:
            kwh = float(yearly[name][index]) / WH_PER_KWH
            yield year, item, kwh * price * inflated, f"{kwh:.0f} kWh at {price:.2f} today"
        days = float(yearly["unserved_days"][index])
        yield (
            year,
            "days without power",
            days * prices.day_without_power_price * inflated,
            f"{days:.1f} days lost: {lost:.3g} h short of essential power lose a day, less a share",
        )
        short = float(yearly["unserved_essential_hours"][index])
        yield (
            year,
            "hours without power",
            short * prices.hour_without_power_price * inflated,
            f"{short:.0f} h for which essential loads went short",
        )
        minutes = part * check_minutes
        yield (
            year,
            "yearly checks",
            with_tax(case, minutes / 60.0 * prices.paid_per_hour * inflated),
            f"{minutes:.0f} min: torque and heat of every connection{_paid_how(case)}",
        )
        if wiring is not None:
            yield (
                year,
                "upkeep saved",
                -wiring.yearly_saving * part * inflated,
                "upkeep and spares of parts that are gone",
            )


def _failures(
    case: Case, arrangement: Arrangement, life: Life, costs: FailureCosts | None
) -> Iterable[Flow]:
    """Failures to be expected, net of what the warranty returns, and the lives they renew."""
    if costs is None:
        return
    found, pack = expected_failures(case, arrangement, life, costs), arrangement.pack
    for index, year in enumerate(year_ends(case.assumptions.horizon_years).tolist()):
        number, amount = found[:2, index].tolist()
        each = amount / number if number > 0.0 else 0.0
        yield (
            year,
            "failures",
            amount,
            f"{number:.2f} failures expected, {each:,.0f} each, the warranty's part taken off",
        )
    end = float(case.assumptions.horizon_years)
    renewed, saved = found[2:].sum(axis=1).tolist()
    yield (
        end,
        "life renewed",
        -saved / present_value_factor(case.prices.discount_rate, end),
        f"{renewed:.2f} times all {arrangement.packs} × {pack.name} new after a failure: later "
        "replacements fall due later, and more life is left now",
    )


def expected_failures(
    case: Case, arrangement: Arrangement, life: Life, costs: FailureCosts
) -> FloatArray:
    """What `tco.money.renewal.expect` finds of an arrangement, shape (4, years begun)."""
    prices, pack, horizon = case.prices, arrangement.pack, case.assumptions.horizon_years
    packs, disposal = (
        arrangement.packs,
        disposal_price(case, pack.chemistry.key, arrangement.mass_kg),
    )
    shipping = with_tax(case, pack.freight_price + dangerous_goods_price(case, pack))
    minutes = replacement_minutes(case, arrangement)
    labour = with_tax(case, minutes / 60.0 * prices.paid_per_hour)
    inflation = 1.0 + prices.inflation
    years = math.ceil(horizon)
    out = np.zeros((4, years))
    expect(
        years, float(horizon), float(life.first_life_years or LONGEST_LIFE_YEARS),
        costs.knowledge.posterior.mean, costs.packs * costs.hazard, costs.by_age, packs == 1,
        costs.spares,
        np.array(
            [
                with_tax(case, packs * pack.price),
                packs * shipping + disposal + labour,
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
    yield (
        horizon,
        "residual value",
        -arrangement.packs * pack.price * trended * case.assumptions.resale_share * left,
        f"{left:.0%} of its life left, sold at {case.assumptions.resale_share:.0%} of that share "
        "of a new price",
    )
    spares = case.assumptions.spare_packs
    yield (
        horizon,
        "residual value",
        -spares * pack.price * trended * case.assumptions.resale_share,
        f"{spares} spare on the shelf, sold at {case.assumptions.resale_share:.0%} of a new price",
    )
    yield (
        horizon,
        "disposal",
        disposal_price(case, pack.chemistry.key, arrangement.mass_kg) * inflated * (1.0 - left),
        f"{arrangement.mass_kg:.0f} kg of {pack.chemistry.key}, for the {1.0 - left:.0%} of its "
        "life that is used up",
    )
