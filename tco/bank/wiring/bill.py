"""The wiring bill: what is bought and how long it takes, part by part.

Parts that stay (`tco.bank.wiring.installed_parts`) are not bought again. Prices are without tax.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.cell_work import built_in_minutes
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.circuit_parts import Cable
from tco.bank.wiring.external_management import CONTACTOR, Wanted
from tco.bank.wiring.feeds import BARS, Feed
from tco.bank.wiring.part_decisions import PartDecision, reused_kinds
from tco.bank.wiring.sizing import CannotWire
from tco.case import Case, Prices
from tco.case.parts import ExistingPart
from tco.case.prices import DEFAULT_CONDUCTOR_PRICES, DEFAULT_FUSE_PRICES
from tco.physics.conductor_sizes import Conductor

SPARE_CABLE = 1.10
"""Cable is bought with a tenth to spare. Common practice, no source."""

LABOUR = "labour"

KEPT_END_EFFORT = 0.3
"""Cleaning and bolting the end of a cable that stays, against making a new one. Own choice."""


@dataclass(frozen=True)
class BillLine:
    """One line: what, how much of it, at what price, and the keys of the circuit it is for."""

    part: str
    quantity: float
    unit: str
    unit_price: float
    serves: tuple[str, ...] = ()

    @property
    def cost(self) -> float:
        """Quantity times unit price."""
        return self.quantity * self.unit_price


def bill(
    case: Case,
    arrangement: Arrangement,
    circuit: Circuit,
    *,
    decisions: Sequence[PartDecision],
    branches: Sequence[Feed] = (),
    management: Sequence[Wanted] = (),
    protect_alternators: int,
) -> tuple[BillLine, ...]:
    """Every part to buy and every hour to work for one arrangement.

    Parameters
    ----------
    decisions
        What becomes of the parts that are there: what stays is not bought; what is replaced takes
        the price the part states for a new one, if any.
    branches
        With what becomes of parts that are there in them: what goes is bought anew.
    management
        Parts of an external management to buy. One without a price is left out: it fails a check.
    protect_alternators
        Number of alternators that need protection from a pack that disconnects.

    Raises
    ------
    CannotWire
        When a size or a fuse class has no price at all.
    """
    prices, stays = case.prices, reused_kinds(decisions)
    own = {
        d.part.kind: d.part.price
        for d in decisions
        if d.decision == "replace" and d.part.price is not None
    }
    new = [c for c in circuit.cables if not (c.role == "main" and "main cable" in stays)]
    kept_ends = circuit.connections - sum(cable.ends for cable in new)
    new += [cable for feed in branches for cable in _branch_cables(feed)]
    lines = [*_cables(prices, new), *_lugs(prices, new), *_fuses(prices, circuit, stays)]
    lines += _branch_fuses(prices, branches)
    switched = [line for feed in branches for line in _switches(prices, feed)]
    lines += switched
    bars = [d.part for d in decisions if d.part.kind == BARS and d.decision == "replace"]
    for part in bars[:1]:
        each = prices.busbar_price if part.price is None else part.price / 2.0
        lines.append(BillLine(BARS, 2, "pc", each, ("distribution",)))
    if circuit.take_off == "busbars" and "busbars" not in stays:
        each = own["busbars"] / 2.0 if "busbars" in own else prices.busbar_price
        lines.append(BillLine("busbar", 2, "pc", each, ("busbar +", "busbar -")))
    if "switch" not in stays:
        price = own.get("switch", prices.switch_price)
        lines.append(BillLine("battery switch", 1, "pc", price, ("switch",)))
    if any(d.kind == "shunt" for d in circuit.devices) and not stays & {"monitor", "shunt"}:
        price = own.get("monitor", own.get("shunt", prices.monitor_price))
        lines.append(BillLine("monitor with shunt", 1, "pc", price, ("shunt",)))
    lines += [
        BillLine(one.part, one.quantity, "pc", one.price, (CONTACTOR,))
        for one in management
        if one.price is not None
    ]
    if protect_alternators:
        lines.append(
            BillLine(
                "alternator protection",
                protect_alternators,
                "pc",
                prices.alternator_protection_price,
            )
        )
    ends = sum(cable.ends for cable in new)
    # ends of cables that stay, at parts of branches that are bought
    kept_ends += 2 * len(switched)
    kept_ends += sum(2 for feed in branches if feed.new_fuse and not feed.new_cable)
    kept_ends += 2 * len(branches) if bars else 0
    minutes = (
        (ends + KEPT_END_EFFORT * kept_ends) * prices.minutes_per_termination
        + arrangement.packs * prices.minutes_per_pack
        + built_in_minutes(prices, arrangement)
        + arrangement.mass_kg * prices.minutes_per_kg_lifted
    )
    lines.append(BillLine(LABOUR, round(minutes / 60.0, 2), "h", prices.paid_per_hour))
    return tuple(lines)


def _cables(prices: Prices, cables: list[Cable]) -> list[BillLine]:
    """Cable by size and colour, with spare, rounded up to a tenth of a metre."""
    metres: Counter[tuple[str, str]] = Counter()
    keys: dict[tuple[str, str], list[str]] = {}
    sizes: dict[str, Conductor] = {}
    for cable in cables:
        at = (cable.conductor.label, cable.colour)
        sizes[cable.conductor.label] = cable.conductor
        metres[at] += cable.length_m * cable.choice.runs  # type: ignore[assignment]
        keys.setdefault(at, []).append(cable.key)
    return [
        BillLine(
            f"cable {label}, {colour}",
            math.ceil(round(10.0 * SPARE_CABLE * length, 6)) / 10.0,
            "m",
            conductor_price(prices, sizes[label])[0],
            tuple(dict.fromkeys(keys[label, colour])),
        )
        for (label, colour), length in metres.items()
    ]


def _lugs(prices: Prices, cables: list[Cable]) -> list[BillLine]:
    ends: Counter[str] = Counter()
    keys: dict[str, list[str]] = {}
    sizes: dict[str, Conductor] = {}
    for cable in cables:
        label = cable.conductor.label
        ends[label] += cable.ends
        keys.setdefault(label, []).append(cable.key)
        sizes[label] = cable.conductor
    lines = [
        BillLine(
            f"lug {label}",
            n,
            "pc",
            conductor_price(prices, sizes[label])[1],
            tuple(dict.fromkeys(keys[label])),
        )
        for label, n in ends.items()
    ]
    if ends:
        lines.append(BillLine("heat-shrink sleeve", ends.total(), "pc", prices.heat_shrink_price))
    return lines


def _fuses(prices: Prices, circuit: Circuit, stays: frozenset[str]) -> list[BillLine]:
    lines: list[BillLine] = []
    for kind in ("main fuse", "string fuse"):
        placed = [d for d in circuit.devices if d.kind == kind]
        if not placed or kind in stays or placed[0].fuse is None:
            continue
        fuse = placed[0].fuse
        name = fuse.fuse_class.name
        fuse_price, holder_price = fuse_prices(prices, name)
        keys = tuple(device.key for device in placed)
        lines += [
            BillLine(f"{kind} {name} {fuse.rating_a:g} A", len(placed), "pc", fuse_price, keys),
            BillLine(f"{kind} holder {name}", len(placed), "pc", holder_price, keys),
        ]
    return lines


def _branch_cables(feed: Feed) -> list[Cable]:
    """Cable to buy in place of one that goes: both ways, under the key of what it leads to."""
    if not feed.new_cable or feed.choice is None:
        return []
    return [
        Cable(
            feed.key, "branch", f"distribution {sign}", feed.name, feed.choice, feed.length_m,
            feed.current_a,
        )
        for sign in "+-"
    ]  # fmt: skip


def _branch_fuses(prices: Prices, branches: Sequence[Feed]) -> list[BillLine]:
    """Fuses to buy in place of those that go, with their holders."""
    lines: list[BillLine] = []
    for feed in branches:
        if not feed.new_fuse or feed.fuse is None:
            continue
        name = feed.fuse.fuse_class.name
        fuse_price, holder_price = fuse_prices(prices, name)
        at = (feed.key,)
        lines += [
            BillLine(
                f"branch fuse {name} {feed.fuse.rating_a:g} A, {feed.name}", 1, "pc", fuse_price, at
            ),
            BillLine(f"branch fuse holder {name}, {feed.name}", 1, "pc", holder_price, at),
        ]
    return lines


def isolator_line(branch: str, part: ExistingPart) -> str:
    """How the bill calls an isolator bought in place of one in a branch."""
    return f"isolator, {branch}" + (f", {part.side}" if part.side else "")


def _switches(prices: Prices, feed: Feed) -> list[BillLine]:
    """Isolators to buy in place of those that go."""
    return [
        BillLine(
            isolator_line(feed.name, d.part),
            1,
            "pc",
            prices.switch_price if d.part.price is None else d.part.price,
            (feed.key,),
        )
        for d in feed.switches
        if d.decision == "replace"
    ]


def conductor_price(prices: Prices, conductor: Conductor) -> tuple[float, float]:
    """Price per metre and per lug; the default list serves a size the case does not price."""
    for row in (*prices.conductors, *DEFAULT_CONDUCTOR_PRICES):
        if row.size == conductor.label:
            return row.price_per_m, row.lug_price
    raise CannotWire(f"no price for {conductor.label}; add it to prices.conductors")


def fuse_prices(prices: Prices, fuse_class: str) -> tuple[float, float]:
    """Price of a fuse and of its holder; the default list serves a class not priced."""
    for row in (*prices.fuses, *DEFAULT_FUSE_PRICES):
        if row.fuse_class == fuse_class:
            return row.fuse_price, row.holder_price
    raise CannotWire(f"no price for {fuse_class} fuses; add it to prices.fuses")
