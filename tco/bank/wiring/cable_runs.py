"""Where the cables of a bank run: between which terminals, and how long.

What a piece is and carries is in `circuit_parts`; how thick it has to be is decided by `strings`
and `circuit`.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.fit.spread import TOGETHER, Spread
from tco.bank.wiring.circuit_parts import Cable
from tco.bank.wiring.sizing import USUAL_PARTS, DropParts
from tco.case.system import TakeOff
from tco.physics.conductors import ConductorChoice

LEAD_BASE_M = 0.30
"""Length of a lead from a pack's terminal to the busbar beside the bank, before it has to pass
other packs. Assumption, no source."""

LINK_SLACK_M = 0.12
"""Length of a series link or jumper beyond the width of one pack. Assumption, no source."""

FUSE_PIECE_M = 0.15
"""Cable between a terminal and its fuse: within 7 in (178 mm), ABYC E-11 as quoted."""

SWITCH_PIECE_M = 0.30
"""Cable between fuse and switch, and between busbar and shunt. Assumption, no source."""

UNKNOWN_WIDTH_MM = 330.0
"""Width taken for the lead length of a pack that states no dimensions. Assumption, no source."""


@dataclass(frozen=True)
class Layout:
    """An arrangement where it stands: what runs from one space to another, and how far. [m]

    `drop_parts`: what its cables may lose each.
    """

    arrangement: Arrangement
    spread: Spread = TOGETHER
    between_m: float = 0.0
    drop_parts: DropParts = USUAL_PARTS

    @property
    def apart_m(self) -> float:
        """What parallel strings in several spaces add to their leads, or to the first jumper."""
        return self.between_m if self.spread.strings_apart else 0.0

    @property
    def back_m(self) -> float:
        """A single string that ends in another space has its negative run from there."""
        return self.between_m if self.spread.split and self.arrangement.parallel == 1 else 0.0


def _pack_width_m(arrangement: Arrangement) -> float:
    dimensions = arrangement.pack.dimensions_mm
    return (UNKNOWN_WIDTH_MM if dimensions is None else dimensions[0]) / 1000.0


def link_length_m(layout: Layout) -> float:
    """Of the longest series link: those that run between spaces are as long as that takes. [m]"""
    across_m = layout.between_m if layout.spread.split else _pack_width_m(layout.arrangement)
    return across_m + LINK_SLACK_M


def jumper_length_m(layout: Layout) -> float:
    """Of the longest jumper between strings, the first. [m]"""
    return _pack_width_m(layout.arrangement) + LINK_SLACK_M + layout.apart_m


def lead_length_m(layout: Layout, take_off: TakeOff) -> float:
    """Of the longest of a string's two sides: all leads to busbars are equally long. [m]"""
    if take_off == "busbars":
        strings = layout.arrangement.parallel
        passed_m = _pack_width_m(layout.arrangement) * (strings - 1) / 2.0
        return LEAD_BASE_M + passed_m + layout.apart_m
    return FUSE_PIECE_M


def leads(
    layout: Layout, take_off: TakeOff, choice: ConductorChoice, current_a: float
) -> Iterable[Cable]:
    """Leads to the busbars, or the short pieces to the fuses where jumpers join the strings."""
    length = lead_length_m(layout, take_off)
    for n in range(1, layout.arrangement.parallel + 1):
        name = f"string {n}"
        fuse = f"{name} fuse"
        yield Cable(f"{name} + to fuse", "lead", f"{name} +", fuse, choice, FUSE_PIECE_M, current_a)
        if take_off == "busbars":
            rest = max(length - FUSE_PIECE_M, 0.1)
            yield Cable(f"{name} +", "lead", fuse, "busbar +", choice, rest, current_a)
            yield Cable(f"{name} -", "lead", f"{name} -", "busbar -", choice, length, current_a)


def jumpers(layout: Layout, choice: ConductorChoice, current_a: float) -> Iterable[Cable]:
    """Jumpers from string to string, behind the fuses on the positive side; the first is longest
    where strings stand apart."""
    longest = jumper_length_m(layout)
    for n in range(1, layout.arrangement.parallel):
        length = longest - (layout.apart_m if n > 1 else 0.0)
        for sign in "+-":
            post = "fuse" if sign == "+" else "-"
            begin, end = f"string {n} {post}", f"string {n + 1} {post}"
            yield Cable(f"jumper {n} {sign}", "jumper", begin, end, choice, length, current_a)


def links(layout: Layout, choice: ConductorChoice, current_a: float) -> Iterable[Cable]:
    """Links between packs in series, in every string.

    Those that run between spaces come first, in the strings that come first.
    """
    arrangement, split = layout.arrangement, layout.spread.split
    longest, beside = link_length_m(layout), _pack_width_m(arrangement) + LINK_SLACK_M
    for n in range(1, arrangement.parallel + 1):
        between = split[n - 1] if n <= len(split) else 0
        for k in range(1, arrangement.series):
            length = longest if k <= between else beside
            begin, end = f"string {n} pack {k}", f"string {n} pack {k + 1}"
            yield Cable(f"string {n} link {k}", "link", begin, end, choice, length, current_a)


def main_run(
    run_m: float,
    choice: ConductorChoice,
    current_a: float,
    *,
    busbars: bool,
    with_shunt: bool,
    with_contactor: bool,
    back_m: float = 0.0,
) -> Iterable[Cable]:
    """The main run: + through fuse, contactor, switch; - through the shunt, longer by `back_m`."""
    start = ("busbar +", "busbar -") if busbars else ("bank +", "bank -")
    to_fuse = min(FUSE_PIECE_M, run_m / 4.0)
    to_switch = min(SWITCH_PIECE_M, run_m / 4.0)
    pieces = [
        ("main + to fuse", start[0], "main fuse", to_fuse),
        ("main + to switch", "main fuse", "switch", to_switch),
        ("main +", "switch", "inverter +", run_m - to_fuse - to_switch),
    ]
    if with_contactor:
        half = to_switch / 2.0
        pieces[1:2] = [
            ("main + to contactor", "main fuse", "contactor", half),
            ("main + from contactor", "contactor", "switch", half),
        ]
    if with_shunt:
        pieces += [
            ("main - to shunt", start[1], "shunt", to_switch),
            ("main -", "shunt", "inverter -", run_m + back_m - to_switch),
        ]
    else:
        pieces.append(("main -", start[1], "inverter -", run_m + back_m))
    for key, begin, end, length in pieces:
        yield Cable(key, "main", begin, end, choice, length, current_a)
