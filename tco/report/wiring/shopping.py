"""The shopping list of an arrangement: what to buy, how much, from where, and the tools for it."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape

from tco.bank.arrangements import Arrangement
from tco.bank.cautions import cautions
from tco.bank.cell_work import block_parts
from tco.bank.charging import charger_current_a, chargers_to_replace
from tco.bank.checks.cells import ASSEMBLY
from tco.bank.wiring.bill import LABOUR, BillLine, isolator_line
from tco.bank.wiring.branch_parts import COLDEST_PANELS, panels_a
from tco.bank.wiring.feeds import BARS, feeds, through_bars_a
from tco.bank.wiring.sizing import cable_basis
from tco.bank.wiring.wiring import CAUTION, Wiring
from tco.case import Case
from tco.case.parts import INVERTER, ExistingPart
from tco.case.words import money
from tco.report.shown_units import shown
from tco.report.wiring.block_drawing import block_drawing
from tco.result import Result
from tco.sentences import kg, says, told


@dataclass(frozen=True)
class ShoppingLine:
    """One line. `link` is the user's own, empty where none is given; prices without tax.

    `serves`: keys of the parts on the wiring diagram that this line is for.
    """

    part: str
    quantity: float
    unit: str
    unit_price: float
    link: str
    note: str
    serves: tuple[str, ...] = ()

    @property
    def cost(self) -> float:
        """Quantity times unit price."""
        return self.quantity * self.unit_price


def shopping_list(case: Case, result: Result) -> tuple[ShoppingLine, ...]:
    """What to buy, in order.

    Packs, or bare cells and what they are built with; every part of the wiring bill that is no
    labour; chargers.
    """
    arrangement = result.arrangement
    pack = arrangement.pack
    link = next((c.link for c in case.candidates if c.name == pack.name), "")
    places = tuple(
        f"pack {n}.{k}"
        for n in range(1, arrangement.parallel + 1)
        for k in range(1, arrangement.series + 1)
    )
    lines = [
        ShoppingLine(
            f"{pack.maker} {pack.name}".strip(),
            float(arrangement.pieces),
            "pc",
            pack.piece_price,
            link,
            "all of one batch and age" if arrangement.pieces > 1 else "",
            places,
        )
    ]
    lines += [
        ShoppingLine(
            part.part, float(part.quantity), "pc", part.price, part.link, part.note, places
        )
        for part in block_parts(arrangement)
    ]
    if pack.freight_price > 0:
        lines.append(
            ShoppingLine("freight", float(arrangement.packs), "pc", pack.freight_price, "", "")
        )
    if result.wiring is not None:
        found = links(case, result.wiring)
        lines += [
            ShoppingLine(
                line.part,
                line.quantity,
                line.unit,
                line.unit_price,
                found.get(line.part, ""),
                _note(line, case, result),
                line.serves,
            )
            for line in result.wiring.bill
            if line.part != LABOUR
        ]
    lines += [
        ShoppingLine(
            f"in place of {name}",
            1.0,
            "pc",
            price,
            "",
            _charger_note(case, arrangement, name),
            (f"source {name}",),
        )
        for name, price in chargers_to_replace(case, arrangement)
    ]
    return tuple(lines)


def _note(line: BillLine, case: Case, result: Result) -> str:
    """What to look for when buying it."""
    assert result.wiring is not None  # it has a bill
    circuit, pack = result.wiring.circuit, result.arrangement.pack
    rated = f"at least {circuit.current_a:.0f} A for long, for {circuit.charging_v:.0f} V DC"
    if line.part.startswith("cable "):
        return f"{told(cable_basis(case), case.units)}; a tenth to spare is in the length"
    if line.part.startswith("lug "):
        terminal = next((c.terminal for c in case.candidates if c.name == pack.name), "")
        return f"hole for the stud it goes on; the packs have {terminal or 'what the maker says'}"
    if line.part in ("battery switch", "contactor", "busbar", "busbars", "monitor with shunt"):
        return rated
    if line.part.startswith(("branch fuse", "isolator", BARS)):
        return _branch_note(line, case, result)
    for name, fuse in (("main fuse", circuit.main_fuse), ("string fuse", circuit.string_fuse)):
        if fuse is not None and line.part.startswith(name):
            return f"interrupts {fuse.interrupt_a:,.0f} A at {circuit.charging_v:.0f} V DC"
    return ""


def _branch_note(line: BillLine, case: Case, result: Result) -> str:
    """What to look for when buying a part of the distribution or of a branch."""
    assert result.wiring is not None  # it has a bill
    circuit = result.wiring.circuit
    found, volts = feeds(case, circuit), circuit.charging_v
    if line.part == BARS:
        return f"at least {through_bars_a(case, circuit, found):.0f} A for long"
    feed = next(one for one in found if one.key in line.serves)
    if line.part.startswith("branch fuse"):
        assert feed.fuse is not None  # or none would be bought
        return f"interrupts {feed.fuse.interrupt_a:,.0f} A at {volts:.0f} V DC"
    if not line.part.endswith("panel side"):
        return f"at least {feed.current_a:.0f} A for long, for {volts:.0f} V DC"
    solar = next(one for one in case.sources.solar if one.name == feed.name)
    amps = f"at least {panels_a(case, solar):.0f} A"
    if solar.panel_voltage_v is None:
        return f"{amps}, to be opened at the panels' voltage in the cold, DC"
    return f"{amps}, to be opened at {COLDEST_PANELS * solar.panel_voltage_v:.0f} V DC"


def _charger_note(case: Case, arrangement: Arrangement, name: str) -> str:
    charger = next(c for c in case.sources.chargers() if c.name == name)
    amps, volts = charger_current_a(case, charger), arrangement.charging_voltage_v
    return f"with a profile for {arrangement.pack.chemistry.key}, {amps:.0f} A at {volts:.1f} V"


def also_needed(case: Case, result: Result) -> tuple[str, ...]:
    """What the work takes besides, without a price here; nothing where it cannot be wired."""
    wiring, arrangement = result.wiring, result.arrangement
    if wiring is None:
        return ()
    packs = "the pack" if arrangement.packs == 1 else f"each of {arrangement.packs} packs"
    found = [
        says("hold-downs for ", packs, " of ", kg(arrangement.pack.mass_kg)),
        "covers for every live terminal, bar and stud",
        "cable clips, grommets and protection where cables pass an edge",
    ]
    if case.system.inverter is not None:
        found.append("a pre-charge resistor or switch for the inverter's capacitors")
    for feed in feeds(case, wiring.circuit):
        listed = feed.fuse_stays or feed.new_fuse  # it is there, or in the bill
        if feed.fuse is not None and not (feed.of_main_run or listed):
            found.append(
                f"for {feed.name}, unless what is there does: fuse {feed.fuse.name} with its "
                f"holder, interrupting {feed.fuse.interrupt_a:,.0f} A"
            )
    return tuple(told(words, case.units) for words in found)


_REPLACED = {
    "busbar": ("busbars",),
    "external management": ("external management",),
    "contactor": ("contactor",),
    "battery switch": ("switch",),
    "monitor with shunt": ("monitor", "shunt"),
    BARS: (BARS,),
}


def links(case: Case, wiring: Wiring) -> dict[str, str]:
    """The user's own addresses by part of the bill: prices of cables and fuses, replaced parts."""
    found = {}
    for row in case.prices.conductors:
        if row.link:
            for part in (f"cable {row.size}, red", f"cable {row.size}, black", f"lug {row.size}"):
                found[part] = row.link
    for line in wiring.bill:
        for fuse in case.prices.fuses:
            places = ("main fuse", "string fuse", "branch fuse")
            kinds = (*places, *(f"{place} holder" for place in places))
            if fuse.link and any(
                line.part == f"{kind} {fuse.fuse_class}"
                or line.part.startswith(
                    (f"{kind} {fuse.fuse_class} ", f"{kind} {fuse.fuse_class},")
                )
                for kind in kinds
            ):
                found[line.part] = fuse.link
        replaced = _REPLACED.get(line.part, ())
        for decision in wiring.parts:
            old = decision.part
            here = old.kind in replaced or (
                old.kind == "isolator" and line.part == isolator_line(_branch_of(old, case), old)
            )
            if decision.decision == "replace" and here and old.link:
                found[line.part] = old.link
    return found


def _branch_of(part: ExistingPart, case: Case) -> str:
    """Name of the branch a part stands in, the inverter's being its own."""
    inverter = case.system.inverter
    if inverter is not None and part.branch == INVERTER:
        return inverter.name
    return part.branch or ""


def lines_by_key(lines: Sequence[ShoppingLine]) -> dict[str, list[ShoppingLine]]:
    """Lines by the key of the part on the wiring diagram that they are for."""
    found: dict[str, list[ShoppingLine]] = {}
    for line in lines:
        for key in line.serves:
            found.setdefault(key, []).append(line)
    return found


def in_units(line: ShoppingLine, units: str) -> ShoppingLine:
    """The line with its length and its price per length in the user's units, the cost unchanged."""
    quantity, unit = shown(line.quantity, line.unit, imperial=units == "imperial")
    if unit == line.unit or quantity <= 0.0:
        return line
    return replace(line, quantity=quantity, unit=unit, unit_price=line.cost / quantity)


def tools(result: Result) -> tuple[str, ...]:
    """Tools the work takes, by the largest conductor in it. Common practice, no source."""
    if result.wiring is None:
        return ()
    cables = result.wiring.circuit.cables
    largest = max(cables, key=lambda cable: cable.conductor.area_mm2).conductor.label
    found = [
        f"crimping tool with the die for {largest} lugs (hexagonal), and for every smaller size",
        f"cable cutter for {largest}, cable stripper, heat gun",
        "torque wrench in the makers' range, insulated spanners",
        "clamp meter for direct current, multimeter",
        "eye protection and gloves; no rings, watch or chain near the terminals",
    ]
    if result.arrangement.pack.block is not None:
        found += [
            "every spanner, socket and ratchet insulated; a board to cover the cells not worked on",
            "bench supply or charger for a single cell, to bring all cells to one charge",
            "milliohm meter or a load, to measure every joint and every cell",
        ]
    if result.screening.check("lifting").verdict != "pass":
        found.append("a second person for the packs, or the hoist that lifting asks for")
    return tuple(found)


def shopping_csv(lines: Sequence[ShoppingLine], *, units: str = "metric") -> str:
    """The list as CSV text, lengths in the user's units."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["part", "quantity", "unit", "unit_price", "cost", "link", "note"])
    for line in [in_units(line, units) for line in lines]:
        writer.writerow(
            [
                line.part,
                f"{line.quantity:.2f}".rstrip("0").rstrip("."),
                line.unit,
                f"{line.unit_price:.2f}",
                f"{line.cost:.2f}",
                line.link,
                line.note,
            ]
        )
    return out.getvalue()


def shopping_html(case: Case, result: Result) -> str:
    """The list as a page to print: lines, sum, tools, caution."""
    lines = shopping_list(case, result)
    currency = case.prices.currency
    rows = "".join(
        "<tr>"
        f"<td>{_linked(line)}</td><td class=n>{_amount(line)} {escape(line.unit)}</td>"
        f"<td class=n>{escape(money(line.unit_price, currency, digits=2))}</td>"
        f"<td class=n>{escape(money(line.cost, currency, digits=2))}</td>"
        f"<td>{escape(line.note)}</td></tr>"
        for line in [in_units(line, case.units) for line in lines]
    )
    cost = sum(line.cost for line in lines)
    total, rate = escape(money(cost, currency, digits=2)), case.prices.tax_rate
    tax = ""
    if rate:
        taxed = money(cost * (1.0 + rate), currency, digits=2)
        tax = f" before tax; {taxed} with {100.0 * rate:.4g} % tax"
    needed = "".join(f"<li>{escape(tool)}</li>" for tool in tools(result))
    told = cautions(case, result.arrangement)
    dangers = "".join(f"<li>{escape(one.sentence)}</li>" for one in told)
    besides = "".join(f"<li>{escape(words)}</li>" for words in also_needed(case, result))
    name = escape(result.arrangement.label)
    return (
        '<!doctype html><html lang="en"><meta charset="utf-8">'
        f"<title>Shopping list: {name}</title><style>"
        "body{font:14px/1.45 'DejaVu Sans',Verdana,sans-serif;color:#1d2733;margin:2em;"
        "background:#fff}table{border-collapse:collapse}td,th{padding:.3em .8em;text-align:left;"
        "border-bottom:1px solid #dfe4e8}.n{text-align:right;font-variant-numeric:tabular-nums}"
        "</style>"
        f"<h1>{name}</h1><table><thead><tr><th>part<th class=n>quantity<th class=n>each"
        f"<th class=n>cost<th>note</tr></thead><tbody>{rows}</tbody></table>"
        f"<p><strong>{total}</strong>{escape(tax)}</p>"
        f"<h2>Also needed, not priced here</h2><ul>{besides}</ul><h2>Tools</h2><ul>{needed}</ul>"
        f"<h2>Before you build it</h2><p>{escape(CAUTION)}</p><ul>{dangers}</ul>"
        f"{_of_cells(result)}</html>"
    )


def _of_cells(result: Result) -> str:
    if result.arrangement.pack.block is None:
        return ""
    drawing = block_drawing(result.arrangement.pack)
    return f"<p>Bare cells: {escape(ASSEMBLY)}.</p>{drawing}"


def _amount(line: ShoppingLine) -> str:
    return f"{line.quantity:,.1f}".removesuffix(".0")


def _linked(line: ShoppingLine) -> str:
    if line.link.startswith(("http://", "https://")):
        return f'<a href="{escape(line.link, quote=True)}">{escape(line.part)}</a>'
    return escape(line.part)
