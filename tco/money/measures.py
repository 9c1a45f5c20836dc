"""What a ledger comes to: total cost, annual equivalent, cost per kWh delivered."""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.case import Prices
from tco.life.health import Life, year_ends
from tco.money.discounting import capital_recovery_factor, net_present_value, real_rate
from tco.money.flows import WH_PER_KWH
from tco.money.ledger import LedgerRow


@dataclass(frozen=True)
class Measures:
    """Money of one arrangement over the horizon.

    `total_cost` is the sum of the present values of the ledger. `annual_cost` is a level yearly
    amount that is worth the same (an annuity at the nominal rate): paid at the end of every year,
    the same number each time in the money of that year (nominal). `annual_cost_real` is the level
    yearly amount in the prices of the day of purchase (an annuity at the real rate): what is
    handed over rises with inflation. Where the horizon ends within a year, both take the factor's
    closed form at that time. `first_cost` is what is paid on the day of purchase. `cost_per_kwh` is
    the levelised cost, nominal, of the energy the loads got out of the bank; None where that is
    nothing.
    """

    total_cost: float
    annual_cost: float
    annual_cost_real: float
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
    delivered = discounted_kwh(life, prices, horizon_years=horizon_years)
    return Measures(
        total_cost=total,
        annual_cost=total * capital_recovery_factor(prices.discount_rate, horizon_years),
        annual_cost_real=total
        * capital_recovery_factor(real_rate(prices.discount_rate, prices.inflation), horizon_years),
        cost_per_kwh=total / delivered if delivered > 0 else None,
        first_cost=sum(row.amount for row in rows if row.year == 0.0),
    )


def discounted_kwh(life: Life, prices: Prices, *, horizon_years: float) -> float:
    """Energy the loads get out of the bank, each year's discounted like money at its end. [kWh]"""
    ends = year_ends(horizon_years).tolist()
    kwh = [float(wh) / WH_PER_KWH for wh in life.yearly["from_bank_wh"]]
    return net_present_value(prices.discount_rate, zip(ends, kwh, strict=True))
