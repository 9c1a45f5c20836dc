"""The ledger: the dated cash flows of one arrangement, each with its reason.

Signs: money paid is positive, money received negative, so that a total is a cost. Amounts are
nominal (what will be paid that day); `present` is the amount discounted to the day of purchase.
Yearly amounts stand at the end of their year; replacements at their moment. Tax is on all goods
and labour bought; disposal, resale and energy prices are taken as they stand.

At the horizon the bank in service has a share of its life left. That share is sold, and the share
used up bears its part of what it costs to be rid of the bank (or of what the scrap pays): both in
a straight line, so that a bank which lasts a day longer never makes the total jump.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.bill import KEPT_END_EFFORT
from tco.bank.screening import chargers_to_replace
from tco.bank.wiring import Wiring
from tco.case import Case, Pack
from tco.life.conditions import Conditions
from tco.life.health import Life
from tco.money.discounting import present_value_factor
from tco.money.failures import FailureCosts
from tco.physics.chemistry import CHEMISTRIES

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
        if abs(amount) > 0.005
    ]
    return tuple(rows)


Flow = tuple[float, str, float, str]


def _taxed(case: Case, amount: float) -> float:
    return amount * (1.0 + case.prices.tax_rate)


def _with_tax(case: Case) -> str:
    return f", with {100.0 * case.prices.tax_rate:g} % tax" if case.prices.tax_rate > 0 else ""


def _purchase(case: Case, arrangement: Arrangement, wiring: Wiring | None) -> Iterable[Flow]:
    pack, tax = arrangement.pack, _with_tax(case)
    yield (
        0.0,
        "packs",
        _taxed(case, arrangement.packs * pack.price),
        f"{arrangement.packs} × {pack.price:,.2f}{tax}",
    )
    yield (
        0.0,
        "freight",
        _taxed(case, arrangement.packs * pack.freight_price),
        f"{arrangement.packs} × {pack.freight_price:,.2f}{tax}",
    )
    if wiring is not None:
        labour = wiring.labour_cost
        yield (
            0.0,
            "wiring parts",
            _taxed(case, wiring.cost - labour),
            f"{wiring.connections} connections, {len(wiring.bill) - 1} kinds of part{tax}",
        )
        hours = wiring.labour_hours
        yield 0.0, "labour", _taxed(case, labour), f"{hours:.1f} h of fitting and wiring{tax}"
        for gone in wiring.parts:
            yield 0.0, "old parts", -gone.value, f"{gone.part.name} sold: {gone.reason}"
    for name, price in chargers_to_replace(case, arrangement):
        yield (
            0.0,
            "charger",
            _taxed(case, price),
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


def disposal_price(case: Case, chemistry_key: str, mass_kg: float) -> float:
    """What it costs to be rid of packs of a chemistry; negative where the core is paid for."""
    prices = case.prices
    per_kg = {
        "lithium": prices.disposal_price_per_kg_lithium,
        "sodium": prices.disposal_price_per_kg_sodium,
        "lead": prices.disposal_price_per_kg_lead,
    }[CHEMISTRIES[chemistry_key].family]
    return per_kg * mass_kg


def replacement_minutes(case: Case, arrangement: Arrangement) -> float:
    """Time to swap all packs of a bank whose wiring stays: lifting, and two ends a pack to bolt."""
    prices = case.prices
    return (
        arrangement.packs * prices.minutes_per_pack
        + arrangement.mass_kg * prices.minutes_per_kg_lifted
        + 2 * arrangement.packs * prices.minutes_per_termination * KEPT_END_EFFORT
    )


def pack_price_in(case: Case, pack: Pack, year: float) -> float:
    """Nominal price of one pack bought `year` years from now, with freight and tax.

    The pack follows its real trend and inflation, the freight inflation only.
    """
    prices = case.prices
    inflated = (1.0 + prices.inflation) ** year
    trended = inflated * (1.0 + prices.pack_price_trend) ** year
    return _taxed(case, pack.price * trended + pack.freight_price * inflated)


def _replacements(case: Case, arrangement: Arrangement, life: Life) -> Iterable[Flow]:
    prices, pack, tax = case.prices, arrangement.pack, _with_tax(case)
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
            _taxed(case, minutes / 60.0 * prices.labour_per_hour * inflated),
            f"{minutes / 60.0:.1f} h; the wiring stays{tax}",
        )
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
    for index in range(case.assumptions.horizon_years):
        year = index + 1.0
        inflated = (1.0 + prices.inflation) ** year
        for item, name, price in bought:
            kwh = float(yearly[name][index]) / WH_PER_KWH
            yield year, item, kwh * price * inflated, f"{kwh:.0f} kWh at {price:.2f} today"
        days = float(yearly["unserved_days"][index])
        yield (
            year,
            "days without power",
            days * prices.day_without_power_price * inflated,
            f"{days:.1f} days on which essential loads went short",
        )
        yield (
            year,
            "yearly checks",
            _taxed(case, check_minutes / 60.0 * prices.labour_per_hour * inflated),
            f"{check_minutes:.0f} min: torque and heat of every connection{_with_tax(case)}",
        )
        if wiring is not None:
            yield (
                year,
                "upkeep saved",
                -wiring.yearly_saving * inflated,
                "upkeep and spares of parts that are gone",
            )


def bank_age_index(year: int, replaced: Iterable[float]) -> int:
    """Whole years of age, at the middle of a year (0 the first), of the bank then in service."""
    middle = year + 0.5
    since = max((moment for moment in replaced if moment <= middle), default=0.0)
    return int(middle - since)


def _failures(
    case: Case, arrangement: Arrangement, life: Life, costs: FailureCosts | None
) -> Iterable[Flow]:
    """Failures to be expected, net of what the warranty returns."""
    if costs is None:
        return
    prices, pack = case.prices, arrangement.pack
    replaced = [replacement.year for replacement in life.replacements]
    for index in range(case.assumptions.horizon_years):
        year = index + 1.0
        age = bank_age_index(index, replaced)
        inflated = (1.0 + prices.inflation) ** year
        trended = inflated * (1.0 + prices.pack_price_trend) ** year
        number = costs.expected(age)
        each = pack.price * trended * costs.pack_share[age] + costs.other[age] * inflated
        yield (
            year,
            "failures",
            number * float(each),
            f"{number:.2f} failures expected, {each:,.0f} each; the warranty returns "
            f"{costs.warranty_share[age]:.0%} of the pack",
        )


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
    yield (
        horizon,
        "disposal",
        disposal_price(case, pack.chemistry.key, arrangement.mass_kg) * inflated * (1.0 - left),
        f"{arrangement.mass_kg:.0f} kg of {pack.chemistry.key}, for the {1.0 - left:.0%} of its "
        "life that is used up",
    )
