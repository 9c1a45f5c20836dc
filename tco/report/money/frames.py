"""Tables of the money of an arrangement: ledger, groups of cost, wiring bill, old parts."""

from collections.abc import Sequence

import pandas as pd

from tco.case.words import money
from tco.forms.entry import Units
from tco.report.frames import words
from tco.report.money.words import CONSTANT, PAID, PRESENT, item_names
from tco.report.shown_units import shown
from tco.result import Result

GROUPS = {
    "Packs": ("packs", "parts of blocks", "freight", "spare packs", "dangerous goods"),
    "Wiring and upkeep": ("wiring parts", "labour", "yearly checks", "upkeep saved"),
    "Chargers": ("charger",),
    "Replacement, disposal": ("replacement packs", "replacement labour", "rewiring", "disposal"),
    "Failures": ("failures", "life renewed"),
    "Charging energy": ("engine charging", "shore power", "generator"),
    "Days without power": ("days without power", "hours without power"),
    "Sold, credited, left over": ("old bank", "old parts", "residual value"),
}


"""What the items of the ledger are gathered under where whole banks are compared."""


OTHER = "Other"


def group_of(item: str) -> str:
    """Group of a ledger item; `OTHER` where no group has it."""
    return next((group for group, items in GROUPS.items() if item in items), OTHER)


def cost_groups(results: Sequence[Result]) -> pd.DataFrame:
    """Present cost by group, one row per arrangement and group; sums to the total cost."""
    rows = []
    for result in results:
        sums: dict[str, float] = {}
        for row in result.ledger:
            sums[group_of(row.item)] = sums.get(group_of(row.item), 0.0) + row.present
        rows += [
            {"arrangement": result.arrangement.label, "group": group, "present": amount}
            for group, amount in sums.items()
        ]
    return pd.DataFrame(rows, columns=["arrangement", "group", "present"])


def ledger_rows(result: Result, units: Units) -> pd.DataFrame:
    """The dated rows of a ledger: year, group, item, amount, constant, present, reason."""
    return pd.DataFrame(
        [
            {
                "year": row.year,
                "group": group_of(row.item),
                "item": name,
                "amount": row.amount,
                "constant": row.constant,
                "present": row.present,
                "reason": words(row.reason, units),
            }
            for name, row in zip(item_names(result.ledger), result.ledger, strict=True)
        ],
        columns=["year", "group", "item", "amount", "constant", "present", "reason"],
    )


def ledger_items(rows: pd.DataFrame, currency: str) -> pd.DataFrame:
    """The ledger by item: how many rows, what is paid, in which money."""
    by_item = rows.groupby("item", sort=False).agg(
        count=("amount", "size"), **{kind: (kind, "sum") for kind in KINDS}
    )
    return by_item.reset_index().rename(
        columns={"item": "Item", "count": "Rows", **_renamed(currency)}
    )


def dated(rows: pd.DataFrame, currency: str) -> pd.DataFrame:
    """Ledger rows under headings for people."""
    return rows[["year", "item", *KINDS, "reason"]].rename(
        columns={"year": "Year", "item": "Item", "reason": "Why", **_renamed(currency)}
    )


KINDS = {"amount": PAID, "constant": CONSTANT, "present": PRESENT}
"""Columns of the three kinds of money, and what they are called."""


def headings(currency: str) -> list[str]:
    """Headings of the three kinds of money."""
    return [f"{heading} [{currency}]" for heading in KINDS.values()]


def _renamed(currency: str) -> dict[str, str]:
    return dict(zip(KINDS, headings(currency), strict=True))


def bill(result: Result, currency: str, units: Units) -> pd.DataFrame:
    """The wiring bill, without tax."""
    lines = result.wiring.bill if result.wiring is not None else ()
    return pd.DataFrame(
        [
            {
                "Part": line.part,
                "Quantity": f"{quantity:,.{0 if quantity == round(quantity) else 1}f} {unit}",
                f"Each [{currency}]": line.cost / quantity if quantity else line.unit_price,
                f"Cost [{currency}]": line.cost,
            }
            for line in lines
            for quantity, unit in [shown(line.quantity, line.unit, imperial=units == "imperial")]
        ]
    )


def old_parts(result: Result, currency: str, units: Units) -> pd.DataFrame:
    """What becomes of each installed part, and what it brings."""
    decisions = result.wiring.parts if result.wiring is not None else ()
    return pd.DataFrame(
        [
            {
                "Part": decision.part.name,
                "": decision.decision,
                "Brings": money(decision.value, currency) if decision.value else "–",
                "Why": words(decision.reason, units),
            }
            for decision in decisions
        ]
    )
