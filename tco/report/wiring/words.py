"""What the wiring diagram says in words: conductors that are alike, lengths, sizes, branches."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tco.bank.wiring.bill import BillLine
from tco.bank.wiring.circuit import Circuit
from tco.bank.wiring.circuit_parts import Cable
from tco.bank.wiring.feeds import Feed
from tco.bank.wiring.part_decisions import PartDecision
from tco.bank.wiring.sizing import cable_basis
from tco.case import Case
from tco.case.words import money
from tco.physics.ampacity import UNKNOWN_INSULATION_DEGC
from tco.physics.conductors import ConductorChoice
from tco.report import svg
from tco.report.shown_units import shown
from tco.sentences import degc, says, told

TABLE_ROW = 19.0
TABLE_W = 940.0

BRANCHES_IN_PLACE = says(
    "branches from the distribution are taken to be in place: sizes with ≥ and fuses not said to "
    "be in place are the least that serves, at the insulation that is known or else ",
    degc(UNKNOWN_INSULATION_DEGC),
    "; measure what is there",
)

CAUTION = (
    "A plan, not an approval: follow the makers' instructions, the local code and its standards "
    "(ABYC E-11 and ISO 13297 afloat, NEC in the US, the IEC 60364 rules elsewhere); isolate "
    "before work; have it checked by somebody licensed. Each fuse stands within 180 mm (7 in) of "
    "its terminal."
)


@dataclass(frozen=True)
class Kind:
    """Conductors that are alike: their number on the drawing and one of them."""

    number: int
    cable: Cable
    count: int
    words: str


def by_key(bill: Sequence[BillLine]) -> dict[str, list[BillLine]]:
    """Lines of the bill by the key of the part they serve."""
    found: dict[str, list[BillLine]] = {}
    for line in bill:
        for key in line.serves:
            found.setdefault(key, []).append(line)
    return found


def name_of(key: str) -> str:
    """A cable's key in words: "string 2 + to fuse" is "string 2 +, to its fuse"."""
    return key.replace(" to fuse", ", to fuse").replace(" to ", " to the ")


def kinds_of(cables: Sequence[Cable]) -> dict[str, Kind]:
    """Number conductors so that those that are alike share one."""
    groups: dict[tuple[str, str, int, float], list[Cable]] = {}
    for cable in cables:
        words = re.sub(r"(string|jumper|link) \d+", r"\1", cable.key)
        at = (words, cable.conductor.label, cable.choice.runs, round(cable.length_m, 3))
        groups.setdefault(at, []).append(cable)
    found = {}
    for number, (at, alike) in enumerate(groups.items(), start=1):
        kind = Kind(number, alike[0], len(alike), _kind_words(at[0]))
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
        "main + to contactor": "main fuse to contactor",
        "main + to switch": "main fuse to switch",
        "main + from contactor": "contactor to switch",
        "main +": "switch to distribution +",
        "main - to shunt": "bank − to shunt",
        "main -": "bank − to distribution −",
    }.get(words, words)


def length(metres: float, *, imperial: bool) -> str:
    """A length with its unit."""
    value, unit = shown(metres, "m", imperial=imperial)
    return f"{value:.{1 if imperial else 2}f} {unit}"


def size(choice: ConductorChoice) -> str:
    """Runs and size: `2 × 70 mm²`, `2/0 AWG`."""
    runs = f"{choice.runs} × " if choice.runs > 1 else ""
    return f"{runs}{choice.conductor.label.replace('mm2', 'mm²')}"


def cable_words(cable: Cable, *, imperial: bool) -> str:
    """Size, length, current and voltage drop of one piece."""
    return (
        f"{size(cable.choice)}, {length(cable.length_m, imperial=imperial)}, "
        f"{cable.current_a:.0f} A, {cable.drop_v:.2f} V lost"
    )


def bill_words(line: BillLine, currency: str, *, imperial: bool) -> str:
    """One line of the bill: what, how much, at what price, together."""
    quantity, unit = shown(line.quantity, line.unit, imperial=imperial)
    each = line.cost / quantity if quantity else line.unit_price
    amount = f"{quantity:,.1f}".removesuffix(".0")
    return (
        f"{line.part}: {amount} {unit} at {money(each, currency, digits=2)}, together "
        f"{money(line.cost, currency, digits=2)}"
    )


def isolator_words(decision: PartDecision) -> list[str]:
    """What stands in an isolator's box: what it is, and whether it is there or to be bought."""
    part = decision.part
    name = "breaker" if part.kind == "branch fuse" else "isolator"
    if decision.decision == "replace":
        return [name, "to be bought"]
    rating = "" if part.rating_a is None else f" {part.rating_a:g} A"
    return [f"{name}{rating}", "in place"]


def feed_words(feed: Feed, *, imperial: bool) -> str:
    """What a branch has to be at least, or what of it is there and stays."""
    run = f"{feed.current_a:.0f} A over {length(feed.length_m, imperial=imperial)}"
    switched = "".join(f"; {_switch_words(one)}" for one in feed.switches)
    if feed.choice is None:
        return (
            f"{feed.name}, cable in place: no cable of the tables carries {run}: "
            f"{feed.problem}{switched}"
        )
    fuse = feed.fuse
    if feed.of_main_run and fuse is not None:
        protects = f"the main fuse ({fuse.name}) protects it"
        if feed.fuse_stays:
            protects = f"{fuse.name} of its own, in place, protects it besides the main fuse"
        return (
            f"{feed.name}, {feed.current_a:.0f} A: the main run leads to it, {size(feed.choice)} "
            f"up to its terminals, and {protects}; anything thinner behind the distribution needs "
            f"a fuse of its own{switched}"
        )
    degrees = told(
        says(degc(feed.choice.insulation_degc, "g")), "imperial" if imperial else "metric"
    )
    cable = "cable in place: at least "
    if feed.cable_stays:
        cable = "the cable that is there stays: "
    elif feed.new_cable:
        cable = "new cable: "
    return (
        f"{feed.name}, {cable}{size(feed.choice)} insulated for {degrees}, for "
        f"{run} ({feed.choice.voltage_drop_v:.2f} V lost); {_protection_words(feed)}{switched}"
    )


def _protection_words(feed: Feed) -> str:
    fuse = feed.fuse
    if fuse is None:
        return f"it cannot be fused: {feed.problem}; do not connect it so, ask the maker"
    stops = f"interrupts {fuse.interrupt_a:,.0f} A where {feed.fault_a:,.0f} A can flow"
    named = fuse.name
    if feed.fuse_stays:
        return f"{named} in place stays, {stops}"
    if feed.new_fuse:
        return f"new fuse {named}, {stops}"
    return f"fuse {named} or as the maker says, {stops}"


def _switch_words(decision: PartDecision) -> str:
    name, state = isolator_words(decision)
    side = f" on the {decision.part.side}" if decision.part.side else ""
    return f"{name}{side}, {state}"


def notes(
    case: Case, circuit: Circuit, feeds: Sequence[tuple[int, Feed]]
) -> list[tuple[str, str, bool]]:
    """What stands under the drawing: a branch's number or "", words, whether they warn."""
    imperial = case.units == "imperial"
    found = [
        (str(number), feed_words(feed, imperial=imperial), feed.fuse is None)
        for number, feed in feeds
        if feed.of_main_run or feed.fuse is None
    ]
    if any(not feed.stated for _, feed in feeds):
        found.append(("", told(BRANCHES_IN_PLACE, case.units), False))
    fuses = [("main fuse", circuit.main_fuse, circuit.short_circuit_a)]
    if circuit.string_fuse is not None and circuit.string_fault_a is not None:
        fuses.append(("string fuses", circuit.string_fuse, circuit.string_fault_a))
    for name, fuse, fault_a in fuses:
        words = (
            f"{name}: {fuse.name}, interrupts "
            f"{fuse.interrupt_a:,.0f} A; a dead short could send {fault_a:,.0f} A through it"
        )
        found.append(("", words, False))
    rests = told(circuit.source.words, case.units)
    found.append(("", f"short circuits reckoned with {rests}", False))
    found.append(("", told(cable_basis(case), case.units), False))
    found.append(("", CAUTION, True))
    return found


def conductor_rows(
    kinds: Sequence[Kind], *, imperial: bool, main_stays: bool
) -> list[tuple[str, ...]]:
    """Rows of the table for the bank's conductors; `main_stays` marks the main run as in place."""
    return [
        (
            str(kind.number),
            kind.words + (", in place" if main_stays and kind.cable.role == "main" else ""),
            size(kind.cable.choice),
            length(kind.cable.length_m, imperial=imperial),
            str(kind.count),
            f"{kind.cable.current_a:.0f} A",
            f"{kind.cable.drop_v:.3f} V",
            "",
        )
        for kind in kinds
    ]


def branch_rows(feeds: Sequence[tuple[int, Feed]], *, imperial: bool) -> list[tuple[str, ...]]:
    """Rows of the table for the branches, out and back: what each has to be at least."""
    rows: list[tuple[str, ...]] = []
    for number, feed in feeds:
        choice, fuse = feed.choice, feed.fuse
        if feed.of_main_run and not feed.fuse_stays:
            drop, protection = "", "main fuse"
        else:
            drop = "" if choice is None or feed.of_main_run else _each(choice)
            protection = (
                "none can stop it"
                if fuse is None
                else f"{fuse.name}, {fuse.interrupt_a / 1e3:g} kA"
                + (", in place" if feed.fuse_stays else "")
            )
        rows.append(
            (
                str(number),
                svg.short(f"distribution to {feed.name}", 44),
                _branch_size(feed),
                length(feed.length_m, imperial=imperial),
                "2",
                f"{feed.current_a:.0f} A",
                drop,
                protection,
            )
        )
    return rows


def _each(choice: ConductorChoice) -> str:
    return f"{choice.voltage_drop_v / 2.0:.3f} V"


def _branch_size(feed: Feed) -> str:
    if feed.choice is None:
        return "none carries it"
    if feed.cable_stays:
        return f"{size(feed.choice)}, in place"
    return size(feed.choice) if feed.new_cable else f"≥ {size(feed.choice)}"


def table(rows: Sequence[Sequence[str]], first_x: float, left: float, top: float) -> list[str]:
    """Table of the conductors on the drawing, as `conductor_rows` and `branch_rows` give them."""
    columns = (first_x, left - 30.0, left + 250.0, left + 380.0, left + 480.0, left + 540.0,
               left + 610.0, left + 700.0)  # fmt: skip
    heads = ("no.", "conductor", "size", "length each", "pieces", "current", "drop each", "fuse")
    parts = [
        svg.text(x, top, words, size=11.5, weight="bold")
        for x, words in zip(columns, heads, strict=True)
    ]
    for n, row in enumerate(rows, start=1):
        y = top + n * TABLE_ROW
        parts.append(svg.line(columns[0], y - 14.0, left + TABLE_W, y - 14.0, stroke="#e3e7eb"))
        parts += [
            svg.text(x, y, words, size=11.5) for x, words in zip(columns, row, strict=True) if words
        ]
    return parts
