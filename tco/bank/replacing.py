"""What it takes to replace the packs of a bank: price, time, and being rid of the old ones."""

from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.cell_work import built_in_minutes
from tco.bank.wiring.bill import KEPT_END_EFFORT
from tco.case import Case, Pack
from tco.physics.chemistry import CHEMISTRIES


def with_tax(case: Case, amount: float) -> float:
    """An amount with the tax on goods and labour."""
    return amount * (1.0 + case.prices.tax_rate)


def disposal_price_per_kg(case: Case, chemistry_key: str) -> float:
    """Price of being rid of a kilogram of a chemistry; negative where the core is paid for."""
    prices = case.prices
    return {
        "lithium": prices.disposal_price_per_kg_lithium,
        "sodium": prices.disposal_price_per_kg_sodium,
        "lead": prices.disposal_price_per_kg_lead,
    }[CHEMISTRIES[chemistry_key].family]


def disposal_price(case: Case, chemistry_key: str, mass_kg: float) -> float:
    """What it costs to be rid of packs of a chemistry; negative where the core is paid for."""
    return disposal_price_per_kg(case, chemistry_key) * mass_kg


def replacement_minutes(case: Case, arrangement: Arrangement) -> float:
    """Time to swap all packs of a bank whose wiring stays: lifting, and two ends a pack to bolt.

    Blocks of bare cells are built anew.
    """
    prices = case.prices
    return (
        arrangement.packs * prices.minutes_per_pack
        + arrangement.mass_kg * prices.minutes_per_kg_lifted
        + 2 * arrangement.packs * prices.minutes_per_termination * KEPT_END_EFFORT
        + built_in_minutes(prices, arrangement)
    )


@dataclass(frozen=True)
class Rewiring:
    """What renewing part of the wiring with the bank takes: parts, without tax, and hours."""

    parts_price: float
    hours: float

    def price(self, case: Case) -> float:
        """Parts and paid labour, with tax, at today's prices."""
        return with_tax(case, self.parts_price + self.hours * case.prices.paid_per_hour)


def rewiring(case: Case, bank: Bank) -> Rewiring:
    """Renewing the case's share of the wiring at a replacement; nothing where nothing is wired.

    All of it costs what the wiring bill does: the same parts, and the hours of the first fitting
    less those that swapping the packs takes anyway. Parts that were there before and stay are not
    in the bill, and so not renewed.
    """
    share, wiring = case.assumptions.rewired_share, bank.wiring
    if wiring is None or share == 0.0:
        return Rewiring(0.0, 0.0)
    hours = wiring.labour_hours - replacement_minutes(case, bank.arrangement) / 60.0
    return Rewiring(share * (wiring.cost - wiring.labour_cost), share * max(0.0, hours))


def dangerous_goods_price(case: Case, pack: Pack) -> float:
    """Surcharge for shipping one pack, before tax, where its chemistry is dangerous goods."""
    return case.prices.dangerous_goods_price if pack.chemistry.dangerous_goods else 0.0
