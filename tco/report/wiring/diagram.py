"""The wiring of a bank as one drawing: packs, fuses, switch, inverter, every conductor sized.

Negative on the left and below, positive on the right: the drawing is a line diagram to wire from,
not a picture of the locker. Plus is a full line and minus a hollow one, so that a print in black
and white tells them apart. Conductors that are alike share a number, which the table under the
drawing explains, the branches among them; every fuse stands where it is to stand. Every part
carries its key (`data-part`), shows its line of the bill when somebody points at it, and is a link
where the user gave one.
"""

from collections.abc import Collection, Mapping, Sequence
from itertools import pairwise

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.bill import BillLine
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.feeds import BARS, Feed, through_bars_a
from tco.case import Case
from tco.case.words import money
from tco.report import svg
from tco.report.svg import lines_of, short
from tco.report.wiring.block import of_cells, volts_and_hours
from tco.report.wiring.branch_drawing import CONSUMER_ROW, Across, draw_branches
from tco.report.wiring.consumers import consumers
from tco.report.wiring.sheet import HOLLOW, Sheet
from tco.report.wiring.words import (
    TABLE_ROW,
    TABLE_W,
    branch_rows,
    cable_words,
    conductor_rows,
    kinds_of,
    name_of,
    notes,
    table,
)

PACK_W, PACK_H, PACK_GAP = 118.0, 52.0, 40.0
ROW = 92.0
TOP = 84.0
LEFT = 118.0
RAIL_X = 62.0
ASIDE_X = 30.0
TEXT_X = 48.0
LETTER_PX = 6.6
"""About the width of a letter of the notes (11.5 px)."""

_KEPT_KINDS = {
    "contactor": ("contactor",),
    "switch": ("switch",),
    "shunt": ("shunt", "monitor"),
    "busbar": ("busbars",),
}


def wiring_diagram(
    case: Case,
    arrangement: Arrangement,
    circuit: Circuit,
    bill: Sequence[BillLine],
    feeds: Sequence[Feed] = (),
    *,
    kept: Collection[str] = (),
    links: Mapping[str, str] | None = None,
) -> str:
    """SVG of the whole bank, its protection, and what it is joined to.

    Parameters
    ----------
    feeds
        The branches, with what they have to be at least, or what is there and stays.
    kept
        Kinds of installed part that stay (`reused_kinds` of `tco.bank.wiring.part_decisions`):
        marked as in place.
    links
        Address by part of the bill, or by name of the pack; a part that has one is a link.
    """
    return _Drawing(case, arrangement, circuit, bill, feeds, kept, links or {}).draw()


class _Drawing(Sheet):
    def __init__(
        self,
        case: Case,
        arrangement: Arrangement,
        circuit: Circuit,
        bill: Sequence[BillLine],
        feeds: Sequence[Feed],
        kept: Collection[str],
        links: Mapping[str, str],
    ) -> None:
        super().__init__(case, bill, links)
        self.kept = frozenset(kept)
        self.arrangement, self.circuit = arrangement, circuit
        self.cables = {cable.key: cable for cable in circuit.cables}
        self.kinds = kinds_of(circuit.cables)
        first = len({kind.number for kind in self.kinds.values()}) + 1
        self.feeds = tuple(enumerate(feeds, start=first))
        self.numbers = {key: kind.number for key, kind in self.kinds.items()}
        s = arrangement.series
        self.fuse_x = LEFT + s * PACK_W + (s - 1) * PACK_GAP + 44.0
        self.plus_x = self.fuse_x + (120.0 if circuit.take_off else 0.0)
        self.main_y = TOP + PACK_H / 2.0
        self.main_fuse_x = self.plus_x + 62.0
        self.contactor = any(device.kind == "contactor" for device in circuit.devices)
        self.switch_x = self.main_fuse_x + (304.0 if self.contactor else 156.0)
        self.rail_x = self.switch_x + 150.0
        self.consumers = consumers(case, arrangement)
        self.across = Across(self.rail_x, self.feeds)
        rows = TOP + arrangement.parallel * ROW
        self.low_y = max(rows, TOP - 20.0 + len(self.consumers) * CONSUMER_ROW) + 26.0

    def draw(self) -> str:
        """Everything, bottom layer first."""
        self._strings()
        self._joints()
        self._main()
        self._negative()
        draw_branches(
            self,
            self.consumers,
            self.feeds,
            self.across,
            top=TOP - 20.0,
            bottom=self.low_y,
            bars_stay=BARS in self.kept,
            carry_a=through_bars_a(self.case, self.circuit, [feed for _, feed in self.feeds]),
        )
        kinds = sorted({k.number: k for k in self.kinds.values()}.values(), key=lambda k: k.number)
        table_top = self.low_y + 62.0
        stays = "main cable" in self.kept
        rows = [
            *conductor_rows(kinds, imperial=self.imperial, main_stays=stays),
            *branch_rows(self.feeds, imperial=self.imperial),
        ]
        self.parts += table(rows, TEXT_X, LEFT, table_top)
        width = max(self.across.right_x + 30.0, LEFT + TABLE_W)
        height = self._notes(table_top + (len(rows) + 1.6) * TABLE_ROW, width) + 10.0
        title = f"{self.arrangement.label}: {self.arrangement.nominal_voltage_v:g} V"
        shown = short(title, int((width - TEXT_X) / 11.0))
        self.parts.append(svg.text(TEXT_X, 34.0, shown, size=18, weight="bold"))
        words = (
            f"{self.circuit.current_a:.0f} A to carry; a dead short could draw "
            f"{self.circuit.short_circuit_a:,.0f} A"
        )
        self.parts.append(svg.text(TEXT_X, 54.0, words, size=12.5))
        return svg.document(
            self.parts, width=width, height=height, title=f"Wiring of {self.arrangement.label}"
        )

    def _notes(self, top: float, width: float) -> float:
        """Branches, fuses and the caution as text; returns the height used up to."""
        letters = int((width - LEFT) / LETTER_PX)
        y = top
        for number, words, sharp in notes(self.case, self.circuit, self.feeds):
            if number:
                self.parts.append(svg.text(TEXT_X, y, number, size=11.5))
            colour = svg.ORANGE if sharp else svg.INK
            for line in lines_of(words, letters):
                self.parts.append(svg.text(LEFT - 30.0, y, line, size=11.5, fill=colour))
                y += TABLE_ROW - 2.0
            y += 2.0
        return y

    def _wire(self, key: str, points: Sequence[tuple[float, float]], *, plus: bool) -> None:
        """A conductor along points, its number at the middle of the longest stretch."""
        cable = self.cables.get(key)
        colour = svg.ORANGE if plus else svg.INK
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        parts = [
            svg.element("polyline", points=path, fill="none", stroke=colour, stroke_width=width)
            for colour, width in ((colour, 4.0 if not plus else 3.0), *HOLLOW[not plus])
        ]
        parts += [
            # a wide, unseen line makes a thin one easy to point at
            svg.element(
                "polyline", points=path, fill="none", stroke="transparent", stroke_width=14.0
            ),
        ]
        words = key
        if cable is not None:
            words = f"{name_of(key)}: {cable_words(cable, imperial=self.imperial)}"
            if cable.role == "main" and "main cable" in self.kept:
                words += ", in place"
            (x1, y1), (x2, y2) = max(
                pairwise(points),
                key=lambda ends: abs(ends[1][0] - ends[0][0]) + abs(ends[1][1] - ends[0][1]),
            )
            parts += self.tag((x1 + x2) / 2.0, (y1 + y2) / 2.0, self.numbers[key], colour)
        if key:
            self.place(key, words, parts)
        else:
            self.parts.append(svg.group(parts))

    def _fuse(self, key: str, x: float, y: float, *, width: float) -> None:
        device = next(d for d in self.circuit.devices if d.key == key)
        fuse = device.fuse
        assert fuse is not None  # only fuses are asked for
        self.box(
            key,
            x,
            y,
            [fuse.fuse_class.name, f"{fuse.rating_a:g} A", *self._stays(device.kind)],
            width=width,
            fill=svg.SAND,
            words=f"{key}: {fuse.name}, interrupts {fuse.interrupt_a:,.0f} A",
        )

    def _stays(self, kind: str) -> list[str]:
        """The mark of a part that is there already and stays."""
        kinds = _KEPT_KINDS.get(kind, (kind,))
        return ["in place"] if self.kept & set(kinds) else []

    # layout ------------------------------------------------------------------------------

    def _string_y(self, n: int) -> float:
        return TOP + PACK_H / 2.0 + (n - 1) * ROW

    def _strings(self) -> None:
        pack = self.arrangement.pack
        for n in range(1, self.arrangement.parallel + 1):
            y = self._string_y(n)
            for k in range(1, self.arrangement.series + 1):
                x = LEFT + (k - 1) * (PACK_W + PACK_GAP)
                if k > 1:
                    self._wire(f"string {n} link {k - 1}", [(x - PACK_GAP, y), (x, y)], plus=True)
                self.box(
                    f"pack {n}.{k}",
                    x,
                    y,
                    [short(pack.name, 15), volts_and_hours(pack)],
                    width=PACK_W,
                    height=PACK_H,
                    fill=svg.SKY,
                    words=f"{pack.name}{of_cells(pack)}, string {n}, place {k}: "
                    f"{money(pack.price, self.currency, digits=2)}",
                    part=pack.name,
                )
                self.parts.append(svg.text(x + 6.0, y - PACK_H / 2.0 - 4.0, "−", size=13))
                self.parts.append(svg.text(x + PACK_W - 14.0, y - PACK_H / 2.0 - 4.0, "+", size=13))

    def _joints(self) -> None:
        """What brings the strings together: nothing, busbars, or jumpers."""
        last_x = LEFT + self.arrangement.series * (PACK_W + PACK_GAP) - PACK_GAP
        take_off = self.circuit.take_off
        if take_off is None:
            return
        strings = range(1, self.arrangement.parallel + 1)
        for n in strings:
            y = self._string_y(n)
            self._wire(f"string {n} + to fuse", [(last_x, y), (self.fuse_x, y)], plus=True)
            self._fuse(f"string {n} fuse", self.fuse_x, y, width=76.0)
        if take_off == "busbars":
            for n in strings:
                y = self._string_y(n)
                self._wire(f"string {n} +", [(self.fuse_x + 76.0, y), (self.plus_x, y)], plus=True)
                self._wire(f"string {n} -", [(RAIL_X, y), (LEFT, y)], plus=False)
            for sign, x, colour in (("+", self.plus_x, svg.ORANGE), ("-", RAIL_X, svg.INK)):
                top, bottom = self._string_y(1) - 26.0, self._string_y(len(strings)) + 26.0
                plus = sign == "+"
                bar = svg.box(
                    x - 6.0, top, 12.0, bottom - top, fill=colour if plus else svg.PAPER,
                    stroke=colour, stroke_width=2.6,
                )  # fmt: skip
                under = svg.text(
                    x if plus else x + 10.0,
                    bottom + 14.0,
                    ", ".join([f"busbar {'+' if plus else '−'}", *self._stays("busbar")]),
                    size=11,
                    anchor="middle" if plus else "start",
                )
                words = f"busbar {sign}, at least {self.circuit.current_a:.0f} A"
                self.place(
                    f"busbar {sign}", ", ".join([words, *self._stays("busbar")]), [bar, under]
                )
            return
        for n in strings:
            y = self._string_y(n)
            self._wire("", [(self.fuse_x + 76.0, y), (self.plus_x, y)], plus=True)
            self._wire("", [(RAIL_X, y), (LEFT, y)], plus=False)
            if n < len(strings):
                below = self._string_y(n + 1)
                self._wire(f"jumper {n} +", [(self.plus_x, y), (self.plus_x, below)], plus=True)
                self._wire(f"jumper {n} -", [(RAIL_X, y), (RAIL_X, below)], plus=False)

    def _main(self) -> None:
        last_x = LEFT + self.arrangement.series * (PACK_W + PACK_GAP) - PACK_GAP
        start = self.plus_x if self.circuit.take_off else last_x
        y = self.main_y
        self._wire("main + to fuse", [(start, y), (self.main_fuse_x, y)], plus=True)
        self._fuse("main fuse", self.main_fuse_x, y, width=86.0)
        after_x, key = self.main_fuse_x + 86.0, "main + to switch"
        if self.contactor:
            x = self.main_fuse_x + 148.0
            self._wire("main + to contactor", [(after_x, y), (x, y)], plus=True)
            lines = ["contactor", f"≥ {self.circuit.current_a:.0f} A", *self._stays("contactor")]
            self.box("contactor", x, y, lines, width=92.0)
            after_x, key = x + 92.0, "main + from contactor"
        self._wire(key, [(after_x, y), (self.switch_x, y)], plus=True)
        lines = ["switch", f"≥ {self.circuit.current_a:.0f} A", *self._stays("switch")]
        self.box("switch", self.switch_x, y, lines, width=78.0)
        self._wire("main +", [(self.switch_x + 78.0, y), (self.rail_x, y)], plus=True)

    def _negative(self) -> None:
        """The negative runs below the strings to the right."""
        take_off, parallel = self.circuit.take_off, self.arrangement.parallel
        row = parallel if take_off in ("busbars", "diagonal") else 1
        y = self._string_y(row)
        # beside the jumpers where the negative leaves at the same end as the positive
        down_x = ASIDE_X if take_off == "one end" else RAIL_X
        begin = (RAIL_X, y) if take_off else (LEFT, y)
        path = [begin, (down_x, y), (down_x, self.low_y)]
        if begin == path[1]:
            path.pop(0)
        right = self.rail_x + 44.0
        shunt = any(d.kind == "shunt" for d in self.circuit.devices)
        if shunt:
            x = self.main_fuse_x
            self._wire("main - to shunt", [*path, (x, self.low_y)], plus=False)
            lines = ["shunt", f"≥ {self.circuit.current_a:.0f} A", *self._stays("shunt")]
            self.box("shunt", x, self.low_y, lines, width=86.0)
            self._wire("main -", [(x + 86.0, self.low_y), (right, self.low_y)], plus=False)
        else:
            self._wire("main -", [*path, (right, self.low_y)], plus=False)
