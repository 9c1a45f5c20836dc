"""The flows of the ledger: amounts with the unit figures they come from."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from tco.bank.costs import Moment, Paid, risen
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.health import Life

WH_PER_KWH = 1000.0


LEAST = 0.005
"""Less than half a cent is no flow."""


class Flow(NamedTuple):
    """A cash flow before it is discounted; see `LedgerRow`."""

    year: float
    item: str
    amount: float
    reason: str
    quantity: float | None = None
    unit: str = ""
    source: str = ""


def moment(case: Case, year: float, part: float = 1.0) -> Moment:
    """So many years after the purchase."""
    inflated = (1.0 + case.prices.inflation) ** year
    trended = inflated * (1.0 + case.prices.pack_price_trend) ** year
    return Moment(year, part, inflated, trended)


def flows_of(paid: Iterable[Paid], at: Moment, *, share: float = 1) -> Iterator[Flow]:
    """What is paid of some things at a moment; `share` of each, and of its quantity."""
    for one in paid:
        amount = share * one.amount(at)
        if abs(amount) > LEAST or one.keep:
            quantity = None if one.quantity is None else share * one.quantity
            yield Flow(at.year, one.item, amount, one.reason(at), quantity, one.unit)


ITEMS_OF_ENERGY = {
    "engine": "engine charging",
    "shore": "shore power",
    "generator": "generator",
}
"""What bought energy of each kind is called in the ledger."""


def energy_bought(
    case: Case, life: Life, conditions: Conditions, index: int, at: Moment
) -> Iterator[Flow]:
    """Energy bought in a year, one flow for each source."""
    for source in conditions.bought:
        of_kind = float(life.yearly[f"{source.kind}_wh"][index]) / WH_PER_KWH
        kwh = of_kind * source.share / source.efficiency
        amount = kwh * source.price_per_kwh * at.inflated
        if abs(amount) <= LEAST:
            continue
        reason = (
            f"{kwh:,.1f} kWh × {source.price_per_kwh:,.2f} per kWh{risen(case, at.inflated)} "
            f"from {source.name}"
        )
        if source.efficiency < 1.0:
            reason += (
                f"; of it {kwh * source.efficiency:,.1f} kWh reach the bank, "
                f"{source.efficiency:.0%} by its charger"
            )
        if source.share < 1.0:
            reason += (
                f"; taken to be {source.share:.0%} of all {ITEMS_OF_ENERGY[source.kind]}, as its "
                "share of what these sources offer"
            )
        item = ITEMS_OF_ENERGY[source.kind]
        yield Flow(at.year, item, amount, reason, kwh, "kWh bought", source.name)
