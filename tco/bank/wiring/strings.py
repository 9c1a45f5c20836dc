"""The strings of a bank: their leads, fuses, jumpers and links, sized for the hardest of them.

How the current divides depends on the resistances of leads and jumpers, and these on what they have
to carry; so that sizes are raised until the share they were sized for is the one they give.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from tco.bank.wiring.cable_runs import (
    Layout,
    jumper_length_m,
    jumpers,
    lead_length_m,
    leads,
    link_length_m,
    links,
)
from tco.bank.wiring.circuit_parts import Cable, Role
from tco.bank.wiring.faults import BankFault, Fault
from tco.bank.wiring.sharing import share_of_the_best_string
from tco.bank.wiring.sizing import Run, protect_run, size_run
from tco.bank.wiring.string_network import StringNetwork
from tco.case import Case
from tco.case.system import TakeOff
from tco.physics.conductors import ConductorChoice
from tco.physics.fuses import CONTINUOUS_FILL, FuseChoice, FuseDuty

FUSE_VOLTS_AT_RATING = 0.06
"""Voltage over a fuse at its rated current, which gives its resistance. From memory."""

OPEN_OHM = 1.0
"""A jumper that passes next to nothing. Own choice."""

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Strings:
    """What a bank is made of up to its busbars or take-off.

    `share_a`: current of the hardest string. [A] `fuse`, `duty` and `fault` are those of every
    string; None with one string, which the main fuse protects.
    """

    take_off: TakeOff | None
    share_a: float
    cables: tuple[Cable, ...]
    network: StringNetwork
    fuse: FuseChoice | None = None
    duty: FuseDuty | None = None
    fault: Fault | None = None

    @property
    def cold_ohm(self) -> float:
        """Leads of one string, cold and well joined, for short circuits. [ohm]"""
        return sum(c.cold_ohm for c in self.cables if c.key in _OF_STRING_1)

    def drop_v(self, current_a: float) -> float:
        """Voltage lost in the cables of the bank at equal shares, out and back. [V]

        One string's leads and links, and the jumpers of one side, whose current falls from string
        to string.
        """
        return sum(drops_by_role(self.cables, self.network.strings, current_a).values())


def drops_by_role(cables: Iterable[Cable], strings: int, current_a: float) -> dict[Role, float]:
    """Voltage lost in the cables of a bank, as `Strings.drop_v` has it, by their role. [V]"""
    lost: dict[Role, float] = {}
    for cable in cables:
        drop_v = 0.0
        if cable.key.startswith("string 1 "):
            drop_v = cable.drop_v * current_a / strings / cable.current_a
        elif cable.key == "jumper 1 +":
            drop_v = cable.drop_v * strings / 2.0
        lost[cable.role] = lost.get(cable.role, 0.0) + drop_v
    return lost


_OF_STRING_1 = ("string 1 + to fuse", "string 1 +", "string 1 -")


def sized_strings(
    case: Case,
    layout: Layout,
    fault: BankFault,
    *,
    current_a: float,
    surge_a: float = 0.0,
    fuse: FuseChoice | None = None,
) -> Strings:
    """Lay out and size the strings of a bank of several for its whole current.

    Parameters
    ----------
    current_a
        Of all strings together. [A]
    surge_a
        Of all of them while a load starts. [A]
    fuse
        An installed fuse that stays in every string.

    Raises
    ------
    CannotWire
        When no conductor or fuse does.
    """
    part = 1.0 / layout.arrangement.parallel
    while True:
        made = _for_share(case, layout, fault, _Work(part, current_a, surge_a), fuse)
        solved = max(_shares(made, layout, fault))
        if solved <= part * (1.0 + _ROUNDING):
            return made
        part = solved  # larger than before, and there are only so many sizes


def _shares(made: Strings, layout: Layout, fault: BankFault) -> Iterator[float]:
    """Share of the hardest string with the packs' resistance, and with the least it may have.

    An assumed one is rather too high, so that leads and jumpers would seem to matter less. Fuses
    even the shares out; which will stand there is not what conductors are sized by.
    """
    packs_ohm = layout.arrangement.series * layout.arrangement.pack.internal_resistance_ohm
    rest_ohm = made.network.string_ohm - packs_ohm - fuse_ohm(made.fuse)
    bounds = [packs_ohm]
    if "internal_resistance_mohm" in layout.arrangement.pack.assumed:
        bounds.append(fault.string_ohm)
    for ohm in bounds:
        network = replace(made.network, string_ohm=ohm + rest_ohm)
        yield share_of_the_best_string(network, ohm)


def single_string(case: Case, layout: Layout, *, current_a: float, fuse_a: float = 0.0) -> Strings:
    """The links of a bank of one string; `fuse_a`: rating of the fuse before them. [A]"""
    size = series_link(case, layout, current_a, fuse_a)
    cables = () if size is None else tuple(links(layout, size, current_a))
    return Strings(None, current_a, cables, _network(layout, cables, None, None))


def series_link(
    case: Case, layout: Layout, current_a: float, fuse_a: float
) -> ConductorChoice | None:
    """Conductor of the links between packs in series, no weaker than the fuse that protects them.

    None where no packs are in series. Raises CannotWire.
    """
    if layout.arrangement.series == 1:
        return None
    part_of_drop = case.assumptions.critical_drop * layout.drop_parts.link
    run = Run("series links", current_a, link_length_m(layout), part_of_drop)
    return size_run(case, run, fuse_a=max(fuse_a, current_a / CONTINUOUS_FILL))


def fuse_ohm(fuse: FuseChoice | None) -> float:
    """Resistance of a fuse in use, 0 for none. [ohm]"""
    return FUSE_VOLTS_AT_RATING / fuse.rating_a if fuse is not None else 0.0


@dataclass(frozen=True)
class _Work:
    """Part of the hardest string, and the current and surge of all together. [A]"""

    part: float
    current_a: float
    surge_a: float

    @property
    def share_a(self) -> float:
        return self.part * self.current_a


@dataclass(frozen=True)
class _Protected:
    """Leads with their fuse, what is asked of it, and the jumpers it protects, if any."""

    lead: ConductorChoice
    fuse: FuseChoice
    duty: FuseDuty
    fault: Fault
    jumper: ConductorChoice | None


def _for_share(
    case: Case,
    layout: Layout,
    bank: BankFault,
    work: _Work,
    stays: FuseChoice | None,
) -> Strings:
    """Strings whose hardest one does its part of the work."""
    take_off, share_a = case.system.take_off, work.share_a
    found = _protected(case, layout, bank, work, stays)
    cables = list(leads(layout, take_off, found.lead, share_a))
    if found.jumper is not None:
        cables += jumpers(layout, found.jumper, _passing_a(layout, work.current_a))
    least_a = max(found.lead.fuse_limit_a, found.fuse.rating_a)
    link = series_link(case, layout, share_a, least_a)
    if link is not None:
        cables += links(layout, link, share_a)
    network = _network(layout, cables, found.fuse, take_off)
    return Strings(take_off, share_a, tuple(cables), network, found.fuse, found.duty, found.fault)


def _protected(
    case: Case,
    layout: Layout,
    bank: BankFault,
    work: _Work,
    stays: FuseChoice | None,
) -> _Protected:
    """Leads and fuses of the strings, and the jumpers through which they feed one another.

    The fuse depends on the fault, that on the jumpers, and these on the fuses behind them: begun
    with jumpers that pass next to nothing, until they pass no more than was reckoned with.
    """
    take_off, jumper_ohm = case.system.take_off, OPEN_OHM
    per_string = len(_OF_STRING_1) if take_off == "busbars" else 1
    run = Run(
        "string leads",
        work.share_a,
        lead_length_m(layout, take_off),
        case.assumptions.critical_drop * layout.drop_parts.lead,
        least_interrupt_a=bank.least_interrupt_a,
        surge_a=work.part * work.surge_a,
    )
    while True:

        def at_fuse(size: ConductorChoice, between_ohm: float = jumper_ohm) -> Fault:
            first = islice(leads(layout, take_off, size, work.share_a), per_string)
            piece, *rest = (cable.cold_ohm for cable in first)
            return bank.at_string_fuse(piece_ohm=piece, lead_ohm=rest, jumper_ohm=between_ohm)

        lead, fuse, duty = protect_run(
            case,
            run,
            voltage_v=bank.volts,
            fault=at_fuse,
            fuse_a=stays.rating_a if stays is not None else 0.0,
        )
        fuse = stays or fuse
        if take_off == "busbars":
            return _Protected(lead, fuse, duty, at_fuse(lead), None)
        jumper = _jumper(case, layout, work.current_a, lead, fuse)
        passing_a = _passing_a(layout, work.current_a)
        made_ohm = next(iter(jumpers(layout, jumper, passing_a))).cold_ohm
        if made_ohm >= jumper_ohm * (1.0 - _ROUNDING):
            return _Protected(lead, fuse, duty, at_fuse(lead), jumper)
        jumper_ohm = made_ohm


def _passing_a(layout: Layout, current_a: float) -> float:
    """What the first jumper passes on from all strings behind it. [A]"""
    return current_a * (layout.arrangement.parallel - 1) / layout.arrangement.parallel


def _jumper(
    case: Case,
    layout: Layout,
    current_a: float,
    lead: ConductorChoice,
    fuse: FuseChoice,
) -> ConductorChoice:
    """Conductor of the jumpers: the first is fed through the fuses of all strings behind it."""
    run = Run(
        "jumpers",
        _passing_a(layout, current_a),
        jumper_length_m(layout),
        case.assumptions.critical_drop * layout.drop_parts.jumper,
    )
    least_a = max(lead.fuse_limit_a, (layout.arrangement.parallel - 1) * fuse.rating_a)
    return size_run(case, run, fuse_a=least_a)


def _network(
    layout: Layout,
    cables: Sequence[Cable],
    string_fuse: FuseChoice | None,
    take_off: TakeOff | None,
) -> StringNetwork:
    """The strings' resistances for current sharing; fuse and its piece belong to the string."""
    pack = layout.arrangement.pack
    string = layout.arrangement.series * pack.internal_resistance_ohm + fuse_ohm(string_fuse)
    string += sum(c.ohm for c in cables if c.role == "link") / layout.arrangement.parallel
    string += sum(c.ohm for c in cables if c.key == "string 1 + to fuse")
    # equal leads: take the mean of the positive and the negative one
    sides = [c.ohm for c in cables if c.key in ("string 1 +", "string 1 -")]
    jumper = next((c.ohm for c in cables if c.role == "jumper"), 0.0)
    return StringNetwork(
        strings=layout.arrangement.parallel,
        string_ohm=string,
        lead_ohm=sum(sides) / 2.0,
        link_ohm=jumper,
        open_circuit_v=layout.arrangement.nominal_voltage_v,
        take_off=take_off or "one end",
    )
