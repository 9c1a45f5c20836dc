"""What a ledger comes to: total cost, annual equivalent, cost per kWh delivered."""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.case import Prices
from tco.life.health import Life, year_ends
from tco.money.discounting import capital_recovery_factor, present_value_factor
from tco.money.ledger import WH_PER_KWH, LedgerRow


@dataclass(frozen=True)
class Measures:
    """Money of one arrangement over the horizon.

    `total_cost` is the net present value of the ledger; `annual_cost` the equal nominal amount a
    year that is worth the same; `cost_per_kwh` the levelised cost of the energy the loads got out
    of the bank; None where that is nothing.
    """

    total_cost: float
    annual_cost: float
    cost_per_kwh: float | None
    first_cost: float


def measure(
    rows: Sequence[LedgerRow], life: Life, prices: Prices, *, horizon_years: float
) -> Measures:
    """Measures of a ledger.

    The levelised cost follows Schmidt et al., Joule 3 (2019) 81-100 (formula from memory): present
    costs over energy discharged, each year's energy discounted like money at that year's end. With
    nominal flows discounted at the nominal rate this is the constant nominal price that pays for
    all.
    """
    total = sum(row.present for row in rows)
    delivered = sum(
        float(wh) / WH_PER_KWH * present_value_factor(prices.discount_rate, year)
        for year, wh in zip(
            year_ends(horizon_years).tolist(), life.yearly["from_bank_wh"], strict=True
        )
    )
    return Measures(
        total_cost=total,
        annual_cost=total * capital_recovery_factor(prices.discount_rate, horizon_years),
        cost_per_kwh=total / delivered if delivered > 0 else None,
        first_cost=sum(row.amount for row in rows if row.year == 0.0),
    )
