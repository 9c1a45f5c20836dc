"""The shopping list of an arrangement: what to buy, how much, from where, and the tools for it."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from tco.bank.bill import LABOUR
from tco.bank.screening import chargers_to_replace
from tco.case import Case
from tco.case.words import money
from tco.compare import Result


@dataclass(frozen=True)
class ShoppingLine:
    """One line. `link` is the user's own, empty where none is given; prices without tax."""

    part: str
    quantity: float
    unit: str
    unit_price: float
    link: str
    note: str

    @property
    def cost(self) -> float:
        """Quantity times unit price."""
        return self.quantity * self.unit_price


def shopping_list(case: Case, result: Result) -> tuple[ShoppingLine, ...]:
    """Packs first, then every part of the wiring bill that is no labour, then chargers."""
    arrangement = result.arrangement
    pack = arrangement.pack
    link = next((c.link for c in case.candidates if c.name == pack.name), "")
    lines = [
        ShoppingLine(
            f"{pack.maker} {pack.name}".strip(),
            float(arrangement.packs),
            "pc",
            pack.price,
            link,
            "all of one batch and age" if arrangement.packs > 1 else "",
        )
    ]
    if pack.freight_price > 0:
        lines.append(
            ShoppingLine("freight", float(arrangement.packs), "pc", pack.freight_price, "", "")
        )
    if result.wiring is not None:
        lines += [
            ShoppingLine(
                line.part, line.quantity, line.unit, line.unit_price, _link(case, line.part), ""
            )
            for line in result.wiring.bill
            if line.part != LABOUR
        ]
    lines += [
        ShoppingLine(
            f"in place of {name}", 1.0, "pc", price, "", f"with a profile for {pack.chemistry.key}"
        )
        for name, price in chargers_to_replace(case, arrangement)
    ]
    return tuple(lines)


def _link(case: Case, part: str) -> str:
    for row in case.prices.conductors:
        if row.size in part:
            return row.link
    for fuse in case.prices.fuses:
        if f" {fuse.fuse_class} " in f"{part} ":
            return fuse.link
    return ""


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
    if result.arrangement.pack.mass_kg > 25.0:
        found.append("a second person or a hoist for the packs")
    return tuple(found)


def shopping_csv(lines: Sequence[ShoppingLine]) -> str:
    """The list as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["part", "quantity", "unit", "unit_price", "cost", "link", "note"])
    for line in lines:
        writer.writerow(
            [
                line.part,
                f"{line.quantity:g}",
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
        f"<td>{_linked(line)}</td><td class=n>{line.quantity:g} {escape(line.unit)}</td>"
        f"<td class=n>{escape(money(line.unit_price, currency, digits=2))}</td>"
        f"<td class=n>{escape(money(line.cost, currency, digits=2))}</td>"
        f"<td>{escape(line.note)}</td></tr>"
        for line in lines
    )
    total = escape(money(sum(line.cost for line in lines), currency, digits=2))
    tax = f" before {case.prices.tax_rate:.4g} tax" if case.prices.tax_rate else ""
    needed = "".join(f"<li>{escape(tool)}</li>" for tool in tools(result))
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
        f"<p><strong>{total}</strong>{escape(tax)}</p><h2>Tools</h2><ul>{needed}</ul>"
        "<p>A plan, not an approval: follow the makers' instructions and the local code, and have "
        "the work done or checked by somebody licensed for it.</p></html>"
    )


def _linked(line: ShoppingLine) -> str:
    if line.link.startswith(("http://", "https://")):
        return f'<a href="{escape(line.link, quote=True)}">{escape(line.part)}</a>'
    return escape(line.part)
