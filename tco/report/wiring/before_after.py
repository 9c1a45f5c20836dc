"""The system as it is and as it will be, side by side: what goes, what stays, what comes.

One row for each kind of part along the way of the current. What goes is dashed, what stays has a
plain frame, what comes a heavy one: a print in black and white tells them apart.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from tco.bank.cell_work import block_parts, units_there
from tco.bank.charging import charger_suits
from tco.case import Case
from tco.physics.chemistry import CHEMISTRIES
from tco.report import svg
from tco.report.shown_units import shown
from tco.result import Result
from tco.sentences import told

Fate = Literal["goes", "stays", "comes"]

ROWS: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("string fuses", ("string fuse",), ("string fuse",)),
    ("main fuse", ("main fuse",), ("main fuse",)),
    ("contactor", ("contactor",), ("contactor",)),
    ("switch", ("switch",), ("battery switch",)),
    ("busbars", ("busbars",), ("busbar",)),
    ("shunt and monitor", ("shunt", "monitor"), ("monitor",)),
    ("management", ("external management", "balancer"), ("external management", "balancer")),
    ("distribution bars", ("distribution bars",), ("distribution bars",)),
    ("branch fuses", ("branch fuse",), ("branch fuse",)),
    ("isolators", ("isolator",), ("isolator",)),
    ("cables", ("main cable", "branch cable"), ("cable",)),
)
"""A row's name, the kinds of installed part in it, and how lines of the bill for it begin."""

OTHER = ("other", ("spare",), ("",))
"""The last row: spares, and every line of the bill that stands in no other."""

LATER = ("lug", "heat-shrink", "labour")
"""Lines of the bill that are no part of their own."""

COLUMN_W, BOX_H, ROW_GAP, TOP, LEFT, NAME_W = 330.0, 26.0, 12.0, 92.0, 30.0, 130.0
LONGEST = 46

FRAMES: dict[Fate, tuple[float, str | None]] = {
    "goes": (1.2, "5 4"),
    "stays": (1.2, None),
    "comes": (3.0, None),
}
"""Width and dashes of a part's frame."""


@dataclass(frozen=True)
class Shown:
    """One part on one side: its words, why it goes or stays ("" where nothing is said)."""

    words: str
    fate: Fate
    why: str = ""


@dataclass(frozen=True)
class Row:
    """One kind of part, before and after."""

    name: str
    before: tuple[Shown, ...]
    after: tuple[Shown, ...]


def before_and_after(case: Case, result: Result) -> tuple[Row, ...]:
    """Rows for the bank, the parts and the chargers; none where the bank cannot be wired."""
    if result.wiring is None:
        return ()
    rows = [_bank(case, result), _blocks(result), *_parts(case, result), *_chargers(case, result)]
    return tuple(row for row in rows if row.before or row.after)


def _bank(case: Case, result: Result) -> Row:
    old, arrangement = case.system.old_bank, result.arrangement
    before: tuple[Shown, ...] = ()
    if old is not None:
        size = "" if old.capacity_ah is None else f" {old.capacity_ah:g} Ah"
        before = (Shown(f"{CHEMISTRIES[old.chemistry].name}{size}", "goes", "replaced"),)
    return Row("battery", before, (Shown(arrangement.label, "comes"),))


def _blocks(result: Result) -> Row:
    """What makes blocks of bare cells: units that are there, and all that is bought beside them."""
    arrangement = result.arrangement
    block = arrangement.pack.block
    there: tuple[Shown, ...] = ()
    if block is not None and block.unit is not None and block.unit.there:
        number, used = block.unit.there, units_there(arrangement)
        why = f"{used} of {number} watch{'es' if used == 1 else ''} the new cells"
        there = (Shown(_amount(block.unit_part, number, "pc", imperial=False), "stays", why),)
    bought = (
        Shown(_amount(part.part, part.quantity, "pc", imperial=False), "comes", part.note)
        for part in block_parts(arrangement)
    )
    return Row("of the blocks", there, (*there, *bought))


def _parts(case: Case, result: Result) -> Iterator[Row]:
    wiring = result.wiring
    assert wiring is not None  # asked before
    imperial = case.units == "imperial"
    listed = [line for line in wiring.bill if not line.part.startswith(LATER)]
    for name, kinds, begins in (*ROWS, OTHER):
        bought = [line for line in listed if line.part.startswith(begins)]
        listed = [line for line in listed if line not in bought]
        own = [one for one in wiring.parts if one.part.kind in kinds]
        before = [
            Shown(one.part.name, "stays" if one.decision == "keep" else "goes", one.reason)
            for one in own
        ]
        after = [Shown(one.part.name, "stays") for one in own if one.decision == "keep"]
        after += [
            Shown(_amount(line.part, line.quantity, line.unit, imperial=imperial), "comes")
            for line in bought
        ]
        yield Row(name, tuple(before), tuple(after))


def _amount(part: str, quantity: float, unit: str, *, imperial: bool) -> str:
    value, unit = shown(quantity, unit, imperial=imperial)
    if unit == "pc":
        return part if value == 1.0 else f"{value:g} × {part}"
    return f"{value:,.1f} {unit} of {part}"


def _chargers(case: Case, result: Result) -> Iterator[Row]:
    for charger in case.sources.chargers():
        suits = charger_suits(charger, result.arrangement)
        gone = not suits and charger.replacement_price is not None
        yield Row(
            "charger",
            (Shown(charger.name, "goes" if gone else "stays"),),
            (
                Shown(f"in place of {charger.name}", "comes")
                if gone
                else Shown(charger.name, "stays", "set anew" if suits else "does not suit"),
            ),
        )


def before_after_drawing(case: Case, result: Result) -> str:
    """Both sides as SVG, row by row; empty where the bank cannot be wired."""
    rows = before_and_after(case, result)
    if not rows:
        return ""
    left, right = LEFT + NAME_W, LEFT + NAME_W + COLUMN_W + 60.0
    parts = [
        svg.text(LEFT, 34.0, svg.short(f"Before and after: {result.arrangement.label}", 70),
                 size=18, weight="bold"),
        svg.text(left, TOP - 20.0, "as it is", size=13, weight="bold"),
        svg.text(right, TOP - 20.0, "as it will be", size=13, weight="bold"),
    ]  # fmt: skip
    y = TOP
    for row in rows:
        height = max(len(row.before), len(row.after), 1) * (BOX_H + 4.0) - 4.0
        parts.append(svg.text(LEFT, y + BOX_H / 2.0 + 4.0, row.name, size=12))
        for x, side in ((left, row.before), (right, row.after)):
            for n, one in enumerate(side):
                parts += _box(x, y + n * (BOX_H + 4.0), one, case.units)
        if any(one.fate == "stays" for one in row.before):
            middle = y + BOX_H / 2.0
            parts.append(svg.line(left + COLUMN_W, middle, right, middle, width=1.2))
        y += height + ROW_GAP
    parts += _legend(right + COLUMN_W, y + 4.0)
    return svg.document(
        parts,
        width=right + COLUMN_W + LEFT,
        height=y + 34.0,
        title=f"Before and after: {result.arrangement.label}",
    )


def _box(x: float, y: float, one: Shown, units: str) -> list[str]:
    words = svg.text(x + 10.0, y + BOX_H / 2.0 + 4.0, svg.short(one.words, LONGEST), size=12)
    mark = svg.text(
        x + COLUMN_W - 10.0, y + BOX_H / 2.0 + 4.0, one.fate, size=11, anchor="end",
        fill=svg.ORANGE if one.fate == "comes" else svg.INK,
    )  # fmt: skip
    title = f"{one.words}: {one.fate}" + (f"; {told(one.why, units)}" if one.why else "")
    frame = _frame(x, y, COLUMN_W, BOX_H, one.fate)
    return [svg.group([frame, words, mark], title=title, tabindex=0)]


def _frame(x: float, y: float, width: float, height: float, fate: Fate) -> str:
    stroke, dash = FRAMES[fate]
    return svg.box(x, y, width, height, radius=4.0, stroke_width=stroke, dash=dash)


def _legend(right: float, y: float) -> list[str]:
    parts: list[str] = []
    for place, fate in enumerate(FRAMES):
        x = right - 92.0 * (len(FRAMES) - place)
        parts += [_frame(x, y, 26.0, 14.0, fate), svg.text(x + 34.0, y + 11.0, fate, size=11.5)]
    return parts
