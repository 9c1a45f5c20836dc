"""What a bank costs, apart from energy, outages and failures: each thing paid, once.

The ledger lists these things with their reasons, the draw ledgers sum them by what their prices
follow, and the rule for the end of a bank's life takes what a replacement takes together.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.cell_work import block_parts, joints
from tco.bank.charging import chargers_to_replace
from tco.bank.replacing import (
    dangerous_goods_price,
    disposal_price,
    disposal_price_per_kg,
    replacement_minutes,
    rewiring,
    with_tax,
)
from tco.case import Case
from tco.case.block import Block
from tco.sentences import Quantity, kg, says


class Moment(NamedTuple):
    """When something is paid: years from the purchase, the part of a year it is paid for, and the
    factors by which inflation, and it with the trend of pack prices, have moved today's prices."""

    year: float
    part: float
    inflated: float
    trended: float


@dataclass(frozen=True)
class Paid:
    """One thing paid, in today's money with its tax; below zero is received.

    `packs_price` of it follows pack prices; `work_price` (parts and labour) and `other_price`
    follow inflation, the first uncertain in the draws. `reason` tells what it is made of at a
    moment. `quantity` of `unit` is what it is for, where it can be counted. `keep`: it is listed
    though it costs nothing, as the owner's own work is.
    """

    item: str
    reason: Callable[[Moment], str]
    packs_price: float = 0.0
    work_price: float = 0.0
    other_price: float = 0.0
    quantity: float | None = None
    unit: str = ""
    keep: bool = False

    def amount(self, at: Moment) -> float:
        """What is paid at a moment, in the money of that day."""
        steady = self.work_price + self.other_price
        return self.packs_price * at.trended + steady * at.inflated


@dataclass(frozen=True)
class Costs:
    """All that is paid for a bank: on the day of purchase, at a replacement, in each whole year."""

    at_first: tuple[Paid, ...]
    at_swap: tuple[Paid, ...]
    yearly: tuple[Paid, ...]

    @cached_property
    def swap(self) -> "Sums":
        """A replacement of all packs."""
        return sums(self.at_swap)


class Sums(NamedTuple):
    """What some things cost together, by what their prices follow; see `Paid`."""

    packs_price: float
    work_price: float
    other_price: float


def sums(paid: Iterable[Paid]) -> Sums:
    """The sums of some things paid."""
    listed = tuple(paid)
    return Sums(
        sum(one.packs_price for one in listed),
        sum(one.work_price for one in listed),
        sum(one.other_price for one in listed),
    )


def bank_costs(case: Case, bank: Bank) -> Costs:
    """What a bank costs; one that cannot be wired has none of the wiring's costs."""
    return Costs(
        at_first=tuple(_at_first(case, bank)),
        at_swap=tuple(_at_swap(case, bank)),
        yearly=tuple(_yearly(case, bank)),
    )


def replacement_price(case: Case, bank: Bank) -> float:
    """What replacing a bank would take today: packs, freight, labour, wiring, tax, disposal."""
    return sum(sums(_at_swap(case, bank)))


def tax_words(case: Case) -> str:
    """That tax is in an amount, where there is any."""
    return f", with {100.0 * case.prices.tax_rate:g} % tax" if case.prices.tax_rate > 0 else ""


def risen(case: Case, inflated: float) -> str:
    """The factor by which inflation has raised today's prices."""
    return "" if case.prices.inflation == 0.0 else f" × {inflated:.3f} for inflation"


def _paid_how(case: Case) -> str:
    """The price of an hour of work, after a number of hours."""
    prices = case.prices
    if prices.own_labour:
        return "; own time"
    return f" × {prices.labour_per_hour:,.2f} per hour{tax_words(case)}"


def _always(words: str) -> Callable[[Moment], str]:
    """A reason that is the same whenever it is paid."""
    return lambda _: words


def _since(case: Case, at: Moment) -> str:
    return risen(case, at.inflated) if at.year > 0.0 else ""


def _at_first(case: Case, bank: Bank) -> Iterator[Paid]:
    arrangement, wiring = bank.arrangement, bank.wiring
    pack, tax, packs = arrangement.pack, tax_words(case), arrangement.packs
    if pack.block is None:
        yield Paid(
            "packs",
            lambda _: f"{packs} × {pack.price:,.2f}{tax}",
            packs_price=with_tax(case, packs * pack.price),
            quantity=packs,
            unit="packs",
        )
    else:
        yield from _cells(case, arrangement, pack.block)
    yield Paid(
        "freight",
        lambda _: f"{packs} × {pack.freight_price:,.2f}{tax}",
        other_price=with_tax(case, packs * pack.freight_price),
        quantity=packs,
        unit="packs",
    )
    if wiring is not None:
        labour, hours = wiring.labour_cost, wiring.labour_hours
        built = "" if pack.block is None else f"building {arrangement.pieces} cells in, "
        what = f"{built}fitting and wiring"
        yield Paid(
            "wiring parts",
            lambda _: (
                f"{wiring.connections} connections, {len(wiring.bill) - 1} kinds of part, "
                f"each with its price in the wiring bill{tax}"
            ),
            work_price=with_tax(case, wiring.cost - labour),
        )
        yield Paid(
            "labour",
            lambda _: f"{hours:.2f} h of {what}{_paid_how(case)}",
            work_price=with_tax(case, labour),
            quantity=hours,
            unit="h",
            keep=case.prices.own_labour,
        )
        for gone in wiring.parts:
            sold = says(f"{gone.part.name} sold: ", gone.reason)
            yield Paid("old parts", _always(sold), other_price=-gone.value)
    yield _dangerous_goods(case, bank, packs)
    spares = case.assumptions.spare_packs
    yield Paid(
        "spare packs",
        lambda _: (
            f"{spares} on the shelf × ({pack.price:,.2f} and freight "
            f"{pack.freight_price:,.2f}){tax}"
        ),
        packs_price=with_tax(case, spares * pack.price),
        other_price=with_tax(case, spares * pack.freight_price),
        quantity=spares,
        unit="packs",
    )
    yield _dangerous_goods(case, bank, spares)
    for name, price in chargers_to_replace(case, arrangement):
        bought = f"1 × {price:,.2f}: {name} has no profile for {pack.chemistry.key}{tax}"
        yield Paid("charger", _always(bought), work_price=with_tax(case, price))
    old = case.system.old_bank
    if old is not None and old.sale_price > 0:
        received = f"old bank sold for {old.sale_price:,.2f}"
        yield Paid("old bank", _always(received), other_price=-old.sale_price)
    elif old is not None:
        yield rid_of(case, "old bank", old.chemistry, old.mass_kg)


def _cells(case: Case, arrangement: Arrangement, block: Block) -> Iterator[Paid]:
    """Bare cells, and each part that makes blocks of them; units that are there are not bought."""
    tax, cells, price = tax_words(case), arrangement.pieces, block.cell_price
    yield Paid(
        "packs",
        lambda _: f"{cells} bare cells × {price:,.2f}{tax}",
        packs_price=with_tax(case, cells * price),
        quantity=cells,
        unit="cells",
    )
    for line in block_parts(arrangement):
        made = f"{line.quantity} × {line.price:,.2f}: {line.part}{tax}"
        yield Paid(
            "parts of blocks",
            _always(made),
            packs_price=with_tax(case, line.cost),
            quantity=line.quantity,
            unit="pc",
        )


def _at_swap(case: Case, bank: Bank) -> Iterator[Paid]:
    arrangement = bank.arrangement
    pack, packs, tax = arrangement.pack, arrangement.packs, tax_words(case)
    what = "a pack's" if pack.block is None else f"a block's of {pack.pieces} cells and its parts"
    yield Paid(
        "replacement packs",
        lambda at: (
            f"{packs} × ({pack.price * at.trended:,.2f}, {what} price by then, and "
            f"freight {pack.freight_price * at.inflated:,.2f}){tax}"
        ),
        packs_price=with_tax(case, packs * pack.price),
        other_price=with_tax(case, packs * pack.freight_price),
        quantity=packs,
        unit="packs",
    )
    hours, share = replacement_minutes(case, arrangement) / 60.0, case.assumptions.rewired_share
    wires = f"{share:.0%} of the wiring is renewed" if share > 0 else "the wiring is used again"
    yield Paid(
        "replacement labour",
        lambda at: f"{hours:.2f} h{_paid_how(case)}{_since(case, at)}; {wires}",
        work_price=with_tax(case, hours * case.prices.paid_per_hour),
        quantity=hours,
        unit="h",
        keep=case.prices.own_labour,
    )
    if share > 0 and bank.wiring is not None:
        anew = rewiring(case, bank)
        yield Paid(
            "rewiring",
            lambda at: (
                f"{share:.0%} of the wiring anew: parts for {anew.parts_price:,.2f} and "
                f"{anew.hours:.2f} h{_paid_how(case)}{_since(case, at)}"
            ),
            work_price=anew.price(case),
            quantity=anew.hours,
            unit="h",
            keep=case.prices.own_labour,
        )
    yield _dangerous_goods(case, bank, packs)
    yield rid_of(case, "disposal", pack.chemistry.key, arrangement.mass_kg)


def _yearly(case: Case, bank: Bank) -> Iterator[Paid]:
    prices, wiring = case.prices, bank.wiring
    minutes = 0.0 if wiring is None else (wiring.connections + joints(bank.arrangement)) * (
        prices.check_minutes_per_termination_year
    )  # fmt: skip
    yield Paid(
        "yearly checks",
        lambda at: (
            f"{minutes * at.part:.0f} min: torque and heat of every connection, "
            f"{minutes * at.part / 60.0:.2f} h{_paid_how(case)}{_since(case, at)}"
        ),
        work_price=with_tax(case, minutes / 60.0 * prices.paid_per_hour),
        quantity=minutes,
        unit="min",
        keep=prices.own_labour,
    )
    if wiring is not None:
        yield Paid(
            "upkeep saved",
            lambda at: (
                f"{at.part:.3g} year × {wiring.yearly_saving:,.2f}{_since(case, at)}: "
                "upkeep and spares of parts that are gone"
            ),
            other_price=-wiring.yearly_saving,
        )


def _dangerous_goods(case: Case, bank: Bank, packs: int) -> Paid:
    """The surcharge for packs shipped at a time."""
    pack = bank.arrangement.pack
    each = dangerous_goods_price(case, pack)
    return Paid(
        "dangerous goods",
        lambda at: (
            f"{packs} × {each:,.2f} for shipping {pack.chemistry.key}"
            f"{_since(case, at)}{tax_words(case)}"
        ),
        other_price=with_tax(case, packs * each),
        quantity=packs,
        unit="packs",
    )


def rid_of(case: Case, item: str, chemistry: str, mass_kg: float) -> Paid:
    """Packs taken away, or paid for as scrap."""
    per_kg = disposal_price_per_kg(case, chemistry)
    end = ", paid for the scrap" if per_kg < 0 else ", to have it taken away"
    return Paid(
        item,
        lambda at: says(
            kg(mass_kg, ".1f"),
            f" of {chemistry} × ",
            Quantity(abs(per_kg), "per kg", ",.2f"),
            f"{end}{_since(case, at)}",
        ),
        other_price=disposal_price(case, chemistry, mass_kg),
        quantity=mass_kg,
        unit="kg",
    )
