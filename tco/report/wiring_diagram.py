"""The wiring of a bank as one drawing: packs, fuses, switch, inverter, every conductor sized.

Negative on the left and below, positive on the right: the drawing is a line diagram to wire from,
not a picture of the locker. Conductors that are alike share a number, which the table under the
drawing explains. Every part carries its key (`data-part`) and shows its line of the bill when
somebody points at it.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tco.bank.arrangements import Arrangement
from tco.bank.bill import BillLine
from tco.bank.charging import charger_current_a
from tco.bank.circuit import Circuit
from tco.bank.circuit_parts import Cable
from tco.bank.feeds import FUSE_BLOCK, Feed
from tco.case import Case
from tco.report import svg

PACK_W, PACK_H, PACK_GAP = 118.0, 52.0, 40.0
ROW = 92.0
TOP = 84.0
LEFT = 118.0
RAIL_X = 62.0
CONSUMER_W, CONSUMER_H, CONSUMER_ROW = 232.0, 52.0, 66.0
TABLE_ROW = 19.0
METRES_PER_FOOT = 0.3048


@dataclass(frozen=True)
class _Kind:
    """Conductors that are alike: their number on the drawing and one of them."""

    number: int
    cable: Cable
    count: int
    words: str


def wiring_diagram(
    case: Case,
    arrangement: Arrangement,
    circuit: Circuit,
    bill: Sequence[BillLine],
    feeds: Sequence[Feed] = (),
) -> str:
    """SVG of the whole bank, its protection, and what it is joined to.

    `feeds` are the branches that are in place, with what they have to be at least.
    """
    return _Drawing(case, arrangement, circuit, bill, feeds).draw()


class _Drawing:
    def __init__(
        self,
        case: Case,
        arrangement: Arrangement,
        circuit: Circuit,
        bill: Sequence[BillLine],
        feeds: Sequence[Feed],
    ) -> None:
        self.case, self.arrangement, self.circuit = case, arrangement, circuit
        self.currency = case.prices.currency
        self.bill: Mapping[str, list[BillLine]] = _by_key(bill)
        self.cables = {cable.key: cable for cable in circuit.cables}
        self.kinds = _kinds(circuit.cables)
        first = len({kind.number for kind in self.kinds.values()}) + 1
        self.feeds = {feed.name: (number, feed) for number, feed in enumerate(feeds, start=first)}
        self.numbers = {key: kind.number for key, kind in self.kinds.items()}
        self.parts: list[str] = []
        s = arrangement.series
        self.fuse_x = LEFT + s * PACK_W + (s - 1) * PACK_GAP + 44.0
        self.plus_x = self.fuse_x + (120.0 if circuit.take_off else 0.0)
        self.main_y = TOP + PACK_H / 2.0
        self.main_fuse_x = self.plus_x + 62.0
        self.switch_x = self.main_fuse_x + 156.0
        self.rail_x = self.switch_x + 150.0
        self.consumer_x = self.rail_x + 86.0
        self.consumers = self._consumers()
        rows = TOP + arrangement.parallel * ROW
        self.low_y = max(rows, TOP - 20.0 + len(self.consumers) * CONSUMER_ROW) + 26.0

    def draw(self) -> str:
        """Everything, bottom layer first."""
        self._strings()
        self._joints()
        self._main()
        self._negative()
        self._draw_consumers()
        kinds = sorted({k.number: k for k in self.kinds.values()}.values(), key=lambda k: k.number)
        table_top = self.low_y + 62.0
        self._table(kinds, table_top)
        feeds_top = table_top + (len(kinds) + 1.6) * TABLE_ROW
        for n, (number, feed) in enumerate(self.feeds.values()):
            y = feeds_top + n * TABLE_ROW
            self.parts.append(svg.text(LEFT - 70.0, y, str(number), size=11.5))
            self.parts.append(svg.text(LEFT - 30.0, y, self._feed_words(feed), size=11.5))
        name = self.arrangement.label
        title = f"{name}: {self.arrangement.nominal_voltage_v:g} V"
        self.parts.append(svg.text(LEFT - 70.0, 34.0, title, size=18, weight="bold"))
        self.parts.append(
            svg.text(
                LEFT - 70.0,
                54.0,
                f"{self.circuit.current_a:.0f} A to carry; a dead short could draw "
                f"{self.circuit.short_circuit_a:,.0f} A",
                size=12.5,
            )
        )
        height = feeds_top + (len(self.feeds) + 0.6) * TABLE_ROW + 40.0
        width = self.consumer_x + CONSUMER_W + 30.0
        self.parts.append(
            svg.text(
                LEFT - 70.0,
                height - 20.0,
                "A plan, not an approval: follow the makers' instructions and the local code; "
                "isolate before work; have it checked by somebody licensed.",
                size=11.5,
                fill=svg.ORANGE,
            )
        )
        return svg.document(self.parts, width=width, height=height, title=f"Wiring of {name}")

    # parts -------------------------------------------------------------------------------

    def _title(self, key: str, words: str) -> str:
        lines = [
            f"{line.part}: {line.quantity:g} {line.unit} at {self.currency}{line.unit_price:,.2f}"
            for line in self.bill.get(key, [])
        ]
        return "\n".join([words, *lines])

    def _wire(self, key: str, points: Sequence[tuple[float, float]], *, plus: bool) -> None:
        """A conductor along points, its number at the middle of the longest stretch."""
        cable = self.cables.get(key)
        colour = svg.ORANGE if plus else svg.INK
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        parts = [
            svg.element("polyline", points=path, fill="none", stroke=colour, stroke_width=3.0),
            # a wide, unseen line makes a thin one easy to point at
            svg.element(
                "polyline", points=path, fill="none", stroke="transparent", stroke_width=14.0
            ),
        ]
        words = key
        if cable is not None:
            words = f"{_name(key)}: {self._describe(cable)}"
            (x1, y1), (x2, y2) = max(
                pairwise(points),
                key=lambda ends: abs(ends[1][0] - ends[0][0]) + abs(ends[1][1] - ends[0][1]),
            )
            parts += self._tag((x1 + x2) / 2.0, (y1 + y2) / 2.0, self.numbers[key], colour)
        self.parts.append(svg.group(parts, title=self._title(key, words), data_part=key))

    def _tag(self, x: float, y: float, number: int, colour: str) -> list[str]:
        return [
            svg.element("circle", cx=x, cy=y, r=10.0, fill=svg.PAPER, stroke=colour),
            svg.text(x, y + 4.0, str(number), size=11, anchor="middle", weight="bold"),
        ]

    def _describe(self, cable: Cable) -> str:
        runs = f"{cable.choice.runs} × " if cable.choice.runs > 1 else ""
        return (
            f"{runs}{cable.conductor.label}, {self._length(cable.length_m)}, "
            f"{cable.current_a:.0f} A, {cable.drop_v:.2f} V"
        )

    def _length(self, metres: float) -> str:
        if self.case.units == "imperial":
            return f"{metres / METRES_PER_FOOT:.1f} ft"
        return f"{metres:.2f} m"

    def _box(
        self,
        key: str,
        x: float,
        y: float,
        lines: Sequence[str],
        *,
        width: float,
        height: float = 46.0,
        fill: str = svg.PAPER,
        words: str = "",
    ) -> None:
        """A device, centred in height on y."""
        parts = [svg.box(x, y - height / 2.0, width, height, fill=fill, radius=4.0)]
        first = y - (len(lines) - 1) * 7.5 + 4.0
        for n, line in enumerate(lines):
            parts.append(
                svg.text(
                    x + width / 2.0,
                    first + 15.0 * n,
                    line,
                    size=12 if n == 0 else 11,
                    anchor="middle",
                    weight="bold" if n == 0 else None,
                )
            )
        self.parts.append(
            svg.group(parts, title=self._title(key, words or " ".join(lines)), data_part=key)
        )

    def _fuse(self, key: str, x: float, y: float, *, width: float) -> None:
        fuse = next(d.fuse for d in self.circuit.devices if d.key == key)
        assert fuse is not None  # only fuses are asked for
        self._box(
            key,
            x,
            y,
            [fuse.fuse_class.name, f"{fuse.rating_a:g} A"],
            width=width,
            fill=svg.SAND,
            words=f"{key}: {fuse.fuse_class.name} {fuse.rating_a:g} A, interrupts "
            f"{fuse.interrupt_a:,.0f} A",
        )

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
                label = pack.name if len(pack.name) <= 17 else pack.name[:16] + "…"
                self._box(
                    f"pack {n}.{k}",
                    x,
                    y,
                    [label, f"{pack.nominal_voltage_v:g} V {pack.capacity_ah:g} Ah"],
                    width=PACK_W,
                    height=PACK_H,
                    fill=svg.SKY,
                    words=f"{pack.name}, string {n}, place {k}: {self.currency}{pack.price:,.2f}",
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
                bar = svg.box(x - 6.0, top, 12.0, bottom - top, fill=colour, stroke="none")
                self.parts.append(
                    svg.group(
                        [bar],
                        title=self._title(f"busbar {sign}", f"busbar {sign}"),
                        data_part=f"busbar {sign}",
                    )
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
        self._wire(
            "main + to switch", [(self.main_fuse_x + 86.0, y), (self.switch_x, y)], plus=True
        )
        self._box(
            "switch", self.switch_x, y, ["switch", f"≥ {self.circuit.current_a:.0f} A"], width=78.0
        )
        self._wire("main +", [(self.switch_x + 78.0, y), (self.rail_x, y)], plus=True)

    def _negative(self) -> None:
        """The negative runs below the strings to the right."""
        take_off, parallel = self.circuit.take_off, self.arrangement.parallel
        row = parallel if take_off in ("busbars", "diagonal") else 1
        y = self._string_y(row)
        begin = (RAIL_X, y) if take_off else (LEFT, y)
        right = self.rail_x + 44.0
        corner = [(RAIL_X, y), (RAIL_X, self.low_y)]
        path = [begin, *corner[1:]] if take_off else [begin, *corner]
        shunt = any(d.kind == "shunt" for d in self.circuit.devices)
        if shunt:
            x = self.main_fuse_x
            self._wire("main - to shunt", [*path, (x, self.low_y)], plus=False)
            self._box(
                "shunt", x, self.low_y, ["shunt", f"≥ {self.circuit.current_a:.0f} A"], width=86.0
            )
            self._wire("main -", [(x + 86.0, self.low_y), (right, self.low_y)], plus=False)
        else:
            self._wire("main -", [*path, (right, self.low_y)], plus=False)

    def _consumers(self) -> list[tuple[str, str, str]]:
        found = []
        inverter = self.case.system.inverter
        if inverter is not None:
            found.append(
                (
                    "inverter",
                    inverter.name,
                    f"{inverter.continuous_w:g} W, surge {inverter.surge_rating_w:g} W",
                )
            )
        if any(load.via == "dc" for load in self.case.loads):
            found.append(("fuse block", FUSE_BLOCK, "a fuse for every circuit, in place"))
        for charger in self.case.sources.chargers():
            amps = charger_current_a(self.case, charger)
            found.append((f"source {charger.name}", charger.name, f"up to {amps:.0f} A, in place"))
        return found

    def _draw_consumers(self) -> None:
        top = TOP - 20.0
        minus_x = self.rail_x + 44.0
        bottom = self.low_y
        self.parts.append(
            svg.box(
                self.rail_x - 5.0, top, 10.0, bottom - top - 30.0, fill=svg.ORANGE, stroke="none"
            )
        )
        self.parts.append(
            svg.box(minus_x - 5.0, top, 10.0, bottom - top + 5.0, fill=svg.INK, stroke="none")
        )
        self.parts.append(svg.text(self.rail_x, top - 6.0, "+", size=15, anchor="middle"))
        self.parts.append(svg.text(minus_x, top - 6.0, "−", size=15, anchor="middle"))
        for n, (key, name, detail) in enumerate(self.consumers):
            y = top + 26.0 + n * CONSUMER_ROW
            self.parts.append(
                svg.line(self.rail_x, y - 9, self.consumer_x, y - 9, stroke=svg.ORANGE, width=2)
            )
            self.parts.append(
                svg.line(minus_x, y + 9, self.consumer_x, y + 9, stroke=svg.INK, width=2)
            )
            if name in self.feeds:
                number, feed = self.feeds[name]
                tag = self._tag(self.consumer_x - 22.0, y - 9.0, number, svg.ORANGE)
                self.parts.append(svg.group(tag, title=self._feed_words(feed), data_part=key))
            label = name if len(name) <= 28 else name[:27] + "…"
            self._box(key, self.consumer_x, y, [label, detail], width=CONSUMER_W, height=CONSUMER_H)

    def _feed_words(self, feed: Feed) -> str:
        fuse = feed.fuse
        protected = (
            f"fuse {fuse.fuse_class.name} {fuse.rating_a:g} A or as the maker says"
            if fuse is not None
            else "no fuse of the tables stops this bank's short circuit: ask the maker"
        )
        runs = f"{feed.choice.runs} × " if feed.choice.runs > 1 else ""
        return (
            f"{feed.name}, in place: at least {runs}{feed.choice.conductor.label} for "
            f"{feed.current_a:.0f} A over {self._length(feed.length_m)} "
            f"({feed.choice.voltage_drop_v:.2f} V lost); {protected}"
        )

    def _table(self, kinds: Sequence[_Kind], top: float) -> None:
        columns = (LEFT - 70.0, LEFT - 30.0, LEFT + 250.0, LEFT + 370.0, LEFT + 470.0, LEFT + 560.0,
                   LEFT + 650.0)  # fmt: skip
        heads = ("no.", "conductor", "size", "length each", "pieces", "current", "drop each")
        for x, words in zip(columns, heads, strict=True):
            self.parts.append(svg.text(x, top, words, size=11.5, weight="bold"))
        for n, kind in enumerate(kinds, start=1):
            y = top + n * TABLE_ROW
            cable = kind.cable
            runs = f"{cable.choice.runs} × " if cable.choice.runs > 1 else ""
            row = (
                str(kind.number),
                kind.words,
                f"{runs}{cable.conductor.label}",
                self._length(cable.length_m),
                str(kind.count),
                f"{cable.current_a:.0f} A",
                f"{cable.drop_v:.3f} V",
            )
            self.parts.append(
                svg.line(columns[0], y - 14.0, columns[-1] + 70.0, y - 14.0, stroke="#e3e7eb")
            )
            for x, words in zip(columns, row, strict=True):
                self.parts.append(svg.text(x, y, words, size=11.5))


def _by_key(bill: Sequence[BillLine]) -> dict[str, list[BillLine]]:
    found: dict[str, list[BillLine]] = {}
    for line in bill:
        for key in line.serves:
            found.setdefault(key, []).append(line)
    return found


def _name(key: str) -> str:
    """A cable's key in words: "string 2 + to fuse" is "string 2 +, to its fuse"."""
    return key.replace(" to fuse", ", to fuse").replace(" to ", " to the ")


def _kinds(cables: Sequence[Cable]) -> dict[str, _Kind]:
    """Number conductors so that those that are alike share one."""
    groups: dict[tuple[str, str, int, float], list[Cable]] = {}
    for cable in cables:
        words = re.sub(r"(string|jumper|link) \d+", r"\1", cable.key)
        at = (words, cable.conductor.label, cable.choice.runs, round(cable.length_m, 3))
        groups.setdefault(at, []).append(cable)
    found = {}
    for number, (at, alike) in enumerate(groups.items(), start=1):
        kind = _Kind(number, alike[0], len(alike), _kind_words(at[0]))
        for cable in alike:
            found[cable.key] = kind
    return found


def _kind_words(words: str) -> str:
    return {
        "string + to fuse": "string + to its fuse",
        "string +": "string fuse to busbar +",
        "string -": "string − to busbar −",
        "string link": "series link",
        "jumper +": "jumper, + side",
        "jumper -": "jumper, − side",
        "main + to fuse": "bank + to main fuse",
        "main + to switch": "main fuse to switch",
        "main +": "switch to inverter +",
        "main - to shunt": "bank − to shunt",
        "main -": "to inverter −",
    }.get(words, words)
