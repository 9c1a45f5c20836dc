"""What the flows of the ledger are made of: amounts with the unit figures they come from."""

from collections.abc import Iterable
from typing import NamedTuple

from tco.bank.arrangements import Arrangement
from tco.bank.replacing import (
    dangerous_goods_price,
    disposal_price,
    disposal_price_per_kg,
    with_tax,
)
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.health import Life
from tco.sentences import Quantity, kg, says

WH_PER_KWH = 1000.0


class Flow(NamedTuple):
    """A cash flow before it is discounted; see `LedgerRow`.

    `keep`: it stands in the ledger though it costs nothing, as the owner's own work does.
    """

    year: float
    item: str
    amount: float
    reason: str
    quantity: float | None = None
    unit: str = ""
    source: str = ""
    keep: bool = False


def tax_words(case: Case) -> str:
    """That tax is in an amount, where there is any."""
    return f", with {100.0 * case.prices.tax_rate:g} % tax" if case.prices.tax_rate > 0 else ""


def paid_how(case: Case) -> str:
    """The price of an hour of work, after a number of hours."""
    prices = case.prices
    if prices.own_labour:
        return "; own time"
    return f" × {prices.labour_per_hour:,.2f} per hour{tax_words(case)}"


def risen(case: Case, year: float) -> str:
    """The factor by which inflation has raised today's prices until a year."""
    inflated = (1.0 + case.prices.inflation) ** year
    return "" if case.prices.inflation == 0.0 else f" × {inflated:.3f} for inflation"


def rid_of(
    case: Case, year: float, item: str, chemistry: str, mass_kg: float, share: float = 1.0
) -> Flow:
    """Packs taken away, or paid for as scrap; `share`: the part of it that is borne."""
    per_kg = disposal_price_per_kg(case, chemistry)
    return Flow(
        year,
        item,
        disposal_price(case, chemistry, mass_kg) * (1.0 + case.prices.inflation) ** year * share,
        says(
            kg(mass_kg, ".1f"),
            f" of {chemistry} × ",
            Quantity(abs(per_kg), "per kg", ",.2f"),
            f", {'paid for the scrap' if per_kg < 0 else 'to have it taken away'}"
            f"{risen(case, year) if year > 0 else ''}",
        ),
        mass_kg,
        "kg",
    )


def dangerous_goods(
    case: Case, arrangement: Arrangement, packs: int, year: float
) -> Iterable[Flow]:
    """The surcharge for packs shipped at a time."""
    each, pack = dangerous_goods_price(case, arrangement.pack), arrangement.pack
    yield Flow(
        year,
        "dangerous goods",
        with_tax(case, packs * each) * (1.0 + case.prices.inflation) ** year,
        f"{packs} × {each:,.2f} for shipping {pack.chemistry.key}"
        f"{risen(case, year) if year > 0 else ''}{tax_words(case)}",
        packs,
        "packs",
    )


ITEMS_OF_ENERGY = {
    "engine": "engine charging",
    "shore": "shore power",
    "generator": "generator",
}
"""What bought energy of each kind is called in the ledger."""


def energy_bought(
    case: Case, life: Life, conditions: Conditions, index: int, year: float, grown: str
) -> Iterable[Flow]:
    """Energy bought in a year, one row for each source; `grown` is what `risen` says of it."""
    inflated = (1.0 + case.prices.inflation) ** year
    for source in conditions.bought:
        of_kind = float(life.yearly[f"{source.kind}_wh"][index]) / WH_PER_KWH
        kwh = of_kind * source.share / source.efficiency
        reason = f"{kwh:,.1f} kWh × {source.price_per_kwh:,.2f} per kWh{grown} from {source.name}"
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
        yield Flow(
            year,
            ITEMS_OF_ENERGY[source.kind],
            kwh * source.price_per_kwh * inflated,
            reason,
            kwh,
            "kWh bought",
            source.name,
        )
