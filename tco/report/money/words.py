"""What the ledger's figures mean, and what a whole item comes to over the years, in words."""

from collections.abc import Sequence

from tco.case import Case, Prices
from tco.case.words import money
from tco.money.ledger import TIMING, LedgerRow
from tco.money.measures import Measures
from tco.sentences import Quantity, joined, says

PAID, CONSTANT, PRESENT = "Paid then", "Prices of year 0", "Present value"
"""Headings of the three kinds of money: nominal, constant (real), discounted."""

LISTED = 3
"""An item of up to this many times is told time by time, of more by its range."""


def kinds_of_money(prices: Prices) -> str:
    """What tells the three kinds of money apart, with the rates between them."""
    return (
        f"{PAID}: in the money of that time (nominal). {CONSTANT}: inflation of "
        f"{prices.inflation:.1%} a year taken out (real). {PRESENT}: discounted to year 0 at "
        f"{prices.discount_rate:.1%} a year (nominal rate); its sum is the total cost."
    )


def timing(horizon_years: float) -> str:
    """When each kind of flow stands in the ledger; the last day by its year."""
    return TIMING.replace("The last day:", f"Year {horizon_years:g}, the last day:")


def conventions(case: Case) -> tuple[str, str]:
    """How to read a ledger: when its flows stand, and in which money."""
    return timing(case.assumptions.horizon_years), kinds_of_money(case.prices)


def annual_words(measures: Measures, prices: Prices) -> str:
    """What "a year" means: a level yearly amount, nominal, and in the prices of year 0."""
    nominal, real = measures.annual_cost, measures.annual_cost_real
    return (
        f"The total is worth the same as {money(nominal, prices.currency)} paid at every year's "
        "end: a level yearly amount (annuity), nominal, the same figure each year. Real, in prices "
        f"of year 0, it is {money(real, prices.currency)} a year, which rises with inflation."
    )


def item_names(rows: Sequence[LedgerRow]) -> list[str]:
    """What each row goes under: its item, with the source where the item has several."""
    sources: dict[str, set[str]] = {}
    for row in rows:
        sources.setdefault(row.item, set()).add(row.source)
    return [f"{row.item}: {row.source}" if len(sources[row.item]) > 1 else row.item for row in rows]


def by_item(rows: Sequence[LedgerRow]) -> dict[str, list[LedgerRow]]:
    """The rows under each name of `item_names`, in the order of their first."""
    found: dict[str, list[LedgerRow]] = {}
    for name, row in zip(item_names(rows), rows, strict=True):
        found.setdefault(name, []).append(row)
    return found


def reason_over_the_years(rows: Sequence[LedgerRow]) -> str:
    """Why an item costs what all its rows come to.

    A few rows are told one by one; of many, what they are for in all and from least to most, and
    the reason of the dearest, which has its unit figures.
    """
    if len(rows) <= LISTED or len({row.year for row in rows}) == 1:
        told = (
            row.reason if row.year == 0 else says(f"year {row.year:.1f}: ", row.reason)
            for row in rows
        )
        return joined("; ", dict.fromkeys(told))
    dearest = max(rows, key=lambda row: abs(row.amount))
    return says(_range(rows), f". Most in year {dearest.year:g}: ", dearest.reason)


def _range(rows: Sequence[LedgerRow]) -> str:
    counted = [row.quantity for row in rows if row.quantity is not None]
    if len(counted) < len(rows) or len({row.unit for row in rows}) > 1:
        cheap = min(rows, key=lambda row: row.amount)
        dear = max(rows, key=lambda row: row.amount)
        return (
            f"{len(rows)} times, {cheap.amount:,.2f} (year {cheap.year:g}) to {dear.amount:,.2f} "
            f"(year {dear.year:g})"
        )
    unit = rows[0].unit
    least = min(rows, key=lambda row: row.quantity or 0.0)
    most = max(rows, key=lambda row: row.quantity or 0.0)
    low, high = (_amount(row.quantity or 0.0, unit, bare=True) for row in (least, most))
    whole = _amount(sum(counted), unit)
    if str(low) == str(high):
        return says(whole, " in all, ", low, " each time")
    years = f" (year {least.year:g}) to ", f" (year {most.year:g})"
    return says(whole, " in all, ", low, years[0], high, years[1])


def _amount(value: float, unit: str, *, bare: bool = False) -> Quantity:
    digits = ",.0f" if value >= 100 else ",.1f" if value >= 1 else ".2g"
    return Quantity(value, unit, digits, bare=bare)
