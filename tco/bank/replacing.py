"""What it takes to replace the packs of a bank: price, time, and being rid of the old ones."""

from tco.bank.arrangements import Arrangement
from tco.bank.bill import KEPT_END_EFFORT
from tco.case import Case, Pack
from tco.physics.chemistry import CHEMISTRIES


def with_tax(case: Case, amount: float) -> float:
    """An amount with the tax on goods and labour."""
    return amount * (1.0 + case.prices.tax_rate)


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
    return with_tax(case, pack.price * trended + pack.freight_price * inflated)


def dangerous_goods_price(case: Case, pack: Pack) -> float:
    """Surcharge for shipping one pack as dangerous goods, before tax: lithium and sodium only."""
    shipped_as = pack.chemistry.family in ("lithium", "sodium")
    return case.prices.dangerous_goods_price if shipped_as else 0.0


def replacement_price(case: Case, arrangement: Arrangement) -> float:
    """What replacing all packs of a bank would take today, with tax, freight and disposal."""
    pack = arrangement.pack
    goods = pack_price_in(case, pack, 0.0) + with_tax(case, dangerous_goods_price(case, pack))
    hours = replacement_minutes(case, arrangement) / 60.0
    return (
        arrangement.packs * goods
        + with_tax(case, hours * case.prices.paid_per_hour)
        + disposal_price(case, pack.chemistry.key, arrangement.mass_kg)
    )
