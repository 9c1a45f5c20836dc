"""The circuit of an arrangement: every cable, fuse and device between the packs and the inverter.

One pack needs a main run with its fuse and switch. Parallel strings need a fuse each, and either
leads of equal length to a pair of busbars or jumpers from string to string; packs in series need
links. Bill, current sharing, drawings and shopping list all read this one list of parts.

    string 1:  [-] pack - link - pack [+] - fuse - lead -+
    string 2:  [-] pack - link - pack [+] - fuse - lead -+- busbar + - fuse - switch - inverter +
                |                                        |
                +--- leads --- busbar - --- (monitor shunt) -------------------- inverter -
"""

from collections.abc import Iterable
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charging_together_a
from tco.bank.wiring.circuit_parts import JOINT_OHM, Cable, Device, Role, bend_radius_mm
from tco.bank.wiring.sharing import Sharing, share
from tco.bank.wiring.sizing import PART_OF_DROP, CannotWire, Run, protect_run, size_run
from tco.bank.wiring.string_network import StringNetwork
from tco.case import Case
from tco.case.system import TakeOff
from tco.physics.conductors import ConductorChoice
from tco.physics.fuses import (
    CONTINUOUS_FILL,
    FuseChoice,
    prospective_short_circuit_a,
)

LEAD_BASE_M = 0.30
"""Length of a lead from a pack's terminal to the busbar beside the bank, before it has to pass
other packs. Assumption, no source."""

LINK_SLACK_M = 0.12
"""Length of a series link or jumper beyond the width of one pack. Assumption, no source."""

FUSE_PIECE_M = 0.15
"""Cable between a terminal and its fuse: within 7 in (178 mm), ABYC E-11 as quoted."""

SWITCH_PIECE_M = 0.30
"""Cable between fuse and switch, and between busbar and shunt. Assumption, no source."""

UNEQUAL_SHARE = 1.25
"""A string's conductors are sized for at least this much more than an equal share, since packs
age unequally. Common practice, no source."""

SMALLEST_CURRENT_A = 1.0
"""A bank without loads is wired for this much. Own choice."""

FUSE_VOLTS_AT_RATING = 0.06
"""Voltage over a fuse at its rated current, which gives its resistance. From memory."""

UNKNOWN_WIDTH_MM = 330.0
"""Width taken for the lead length of a pack that states no dimensions. Assumption, no source."""


@dataclass(frozen=True)
class ReusedParts:
    """Installed parts that stay, in place of what would be chosen new; None where none does."""

    main_cable: ConductorChoice | None = None
    main_fuse: FuseChoice | None = None
    string_fuse: FuseChoice | None = None


NOTHING_REUSED = ReusedParts()


@dataclass(frozen=True)
class Circuit:
    """All of it. `take_off` is None with one string.

    `short_circuit_a`: what a dead short at the terminals or busbars could draw, at charging
    voltage; `string_fault_a`: what a string's fuse would have to stop, None with one string.
    `main_drop_v`: voltage the main run may lose, out and back. `ohm`: cables, joints and fuses
    seen by the inverter, without the packs.
    """

    take_off: TakeOff | None
    cables: tuple[Cable, ...]
    devices: tuple[Device, ...]
    main_fuse: FuseChoice
    string_fuse: FuseChoice | None
    current_a: float
    charging_v: float
    short_circuit_a: float
    string_fault_a: float | None
    main_drop_v: float
    ohm: float
    network: StringNetwork
    sharing: Sharing
    reused: ReusedParts = NOTHING_REUSED

    @property
    def connections(self) -> int:
        """Crimped and bolted ends to make, check and re-torque."""
        return sum(cable.ends for cable in self.cables)

    @property
    def heat_w(self) -> float:
        """Heat in cables, joints and fuses at the full current. [W]"""
        return self.ohm * self.current_a**2

    @property
    def bend_radius_mm(self) -> float:
        """Radius of the bend that the thickest cable on a pack's terminal takes. [mm]"""
        packs = [c for c in self.cables if c.role != "main"]
        on_packs = packs if self.take_off == "busbars" else list(self.cables)
        return max(bend_radius_mm(cable.conductor) for cable in on_packs)

    def of_role(self, role: Role) -> tuple[Cable, ...]:
        """Cables of one role."""
        return tuple(cable for cable in self.cables if cable.role == role)


def circuit(
    case: Case,
    arrangement: Arrangement,
    *,
    current_a: float,
    with_shunt: bool = False,
    with_contactor: bool = False,
    reused: ReusedParts = NOTHING_REUSED,
) -> Circuit:
    """Lay out, size and protect an arrangement.

    It carries the larger of `current_a` and what the chargers that may run together push into the
    bank, as far as the packs take it. The voltage lost in all cables from packs to inverter, joints
    and fuses not counted, stays within `assumptions.critical_drop` of the nominal voltage.

    Parameters
    ----------
    current_a
        The current the loads draw, at the inverter's cut-off voltage. [A]
    with_shunt
        Whether a monitor's shunt goes into the negative.
    with_contactor
        Whether an external management opens a contactor in the positive.
    reused
        Installed cable and fuses that stay, as judged by `tco.bank.wiring.installed_parts` on the
        circuit without them.

    Raises
    ------
    CannotWire
        When no conductor or fuse does; the message says what would have to change.
    """
    takes_a = arrangement.parallel * arrangement.pack.continuous_charge_a
    current_a = max(current_a, min(charging_together_a(case), takes_a), SMALLEST_CURRENT_A)
    return _circuit(
        case,
        arrangement,
        current_a,
        with_shunt=with_shunt,
        with_contactor=with_contactor,
        reused=reused,
    )


def charging_voltage_v(arrangement: Arrangement) -> float:
    """Highest voltage the circuit sees: the bank at absorption. [V]"""
    pack = arrangement.pack
    return arrangement.series * pack.cells_in_series * pack.chemistry.absorption_v


def _circuit(
    case: Case,
    arrangement: Arrangement,
    current_a: float,
    *,
    with_shunt: bool,
    with_contactor: bool,
    reused: ReusedParts,
) -> Circuit:
    strings, series = arrangement.parallel, arrangement.series
    volts = charging_voltage_v(arrangement)
    take_off: TakeOff | None = case.system.take_off if strings > 1 else None
    width_m = _pack_width_mm(arrangement) / 1000.0
    cables: list[Cable] = []
    devices: list[Device] = []
    string_fuse, string_fault_a = None, None
    share_a = current_a if strings == 1 else min(current_a, UNEQUAL_SHARE * current_a / strings)
    if take_off is not None:
        short_a = _short_circuit_a(arrangement, volts, 0.0)
        # a fault before a string's fuse is fed by the other strings, one behind it by its own
        string_fault_a = short_a * max(1, strings - 1) / strings
        lead_m = _lead_length_m(take_off, strings, width_m)
        part_of_drop = case.assumptions.critical_drop * PART_OF_DROP
        size, string_fuse = protect_run(
            case,
            Run("string leads", share_a, lead_m, part_of_drop),
            voltage_v=volts,
            prospective_a=string_fault_a,
        )
        string_fuse = reused.string_fuse or string_fuse
        cables += _string_cables(
            take_off, strings, size, string_fuse, share_a, current_a, width_m, case
        )
        devices += [
            Device(f"string {n} fuse", "string fuse", string_fuse.rating_a, string_fuse)
            for n in range(1, strings + 1)
        ]
        if take_off == "busbars":
            devices += [Device(f"busbar {sign}", "busbar", current_a) for sign in "+-"]
    else:
        size = None
    if series > 1:
        least_a = size.ampacity_a if size is not None else share_a / CONTINUOUS_FILL
        cables += _links(case, strings, series, share_a, width_m, least_a)
    allowed_v = case.assumptions.critical_drop * case.system.nominal_voltage_v
    in_bank_v = _drop_in_bank_v(cables, strings, current_a)
    if in_bank_v >= allowed_v:
        raise CannotWire(
            f"the leads and links within the bank alone lose {in_bank_v:.2f} V of the "
            f"{allowed_v:.2f} V allowed: use fewer packs in a string, or allow a larger drop"
        )
    string_lead_ohm = sum(c.cold_ohm for c in cables if c.role == "lead") / strings**2
    short_a = _short_circuit_a(arrangement, volts, string_lead_ohm)
    main_size, main_fuse = protect_run(
        case,
        Run(
            "main run",
            current_a,
            case.system.cable_run_m,
            drop=(allowed_v - in_bank_v) / case.system.nominal_voltage_v,
        ),
        voltage_v=volts,
        prospective_a=short_a,
    )
    main_size, main_fuse = reused.main_cable or main_size, reused.main_fuse or main_fuse
    if series > 1 and size is None:  # the main fuse alone protects the links of a single string
        cables = [cable for cable in cables if cable.role != "link"]
        cables += _links(case, strings, series, share_a, width_m, main_fuse.rating_a)
    start = ("busbar +", "busbar -") if take_off == "busbars" else ("bank +", "bank -")
    cables += _main(
        case, main_size, current_a, start, with_shunt=with_shunt, with_contactor=with_contactor
    )
    devices += [
        Device("main fuse", "main fuse", main_fuse.rating_a, main_fuse),
        Device("switch", "switch", current_a),
    ]
    if with_contactor:
        devices.append(Device("contactor", "contactor", current_a))
    if with_shunt:
        devices.append(Device("shunt", "shunt", current_a))
    network = _network(arrangement, cables, string_fuse, take_off)
    main_ohm = sum(c.ohm for c in cables if c.role == "main") + _fuse_ohm(main_fuse)
    sharing = share(network, current_a)
    return Circuit(
        take_off=take_off,
        cables=tuple(cables),
        devices=tuple(devices),
        main_fuse=main_fuse,
        string_fuse=string_fuse,
        current_a=current_a,
        charging_v=volts,
        short_circuit_a=short_a,
        string_fault_a=string_fault_a,
        main_drop_v=allowed_v - in_bank_v,
        ohm=max(sharing.bank_ohm - arrangement.pack_resistance_ohm, 0.0) + main_ohm,
        network=network,
        sharing=sharing,
        reused=reused,
    )


def _pack_width_mm(arrangement: Arrangement) -> float:
    dimensions = arrangement.pack.dimensions_mm
    return UNKNOWN_WIDTH_MM if dimensions is None else dimensions[0]


def _lead_length_m(take_off: TakeOff, strings: int, width_m: float) -> float:
    """Length of the longest of a string's two sides: all leads to busbars are equally long."""
    if take_off == "busbars":
        return LEAD_BASE_M + width_m * (strings - 1) / 2.0
    return FUSE_PIECE_M


def _short_circuit_a(arrangement: Arrangement, volts: float, leads_ohm: float) -> float:
    """Current into a dead short at the bank's terminals or busbars. [A]

    Packs, two joints, and the strings' leads in parallel. A management board may cut it off
    sooner; that is not counted on.
    """
    return float(
        prospective_short_circuit_a(
            volts, arrangement.fault_resistance_ohm, 2.0 * JOINT_OHM + leads_ohm
        )
    )


def _drop_in_bank_v(cables: Iterable[Cable], strings: int, current_a: float) -> float:
    """Voltage lost in the cables of the bank at equal shares, before the main run begins. [V]

    One string's leads and links, and the jumpers of one side, whose current falls from string to
    string.
    """
    lost = 0.0
    for cable in cables:
        if cable.key.startswith("string 1 "):
            lost += cable.drop_v * current_a / strings / cable.current_a
        elif cable.key == "jumper 1 +":
            lost += cable.drop_v * strings / 2.0
    return lost


def _string_cables(
    take_off: TakeOff,
    strings: int,
    size: ConductorChoice,
    fuse: FuseChoice,
    share_a: float,
    current_a: float,
    width_m: float,
    case: Case,
) -> Iterable[Cable]:
    """Leads to the busbars, or the short pieces to the fuses and the jumpers between strings.

    The first jumper is fed through the fuses of all strings behind it, so that it has to bear the
    sum of their ratings.
    """
    length = _lead_length_m(take_off, strings, width_m)
    for n in range(1, strings + 1):
        name = f"string {n}"
        yield Cable(
            f"{name} + to fuse", "lead", f"{name} +", f"{name} fuse", size, FUSE_PIECE_M, share_a
        )
        if take_off == "busbars":
            rest = max(length - FUSE_PIECE_M, 0.1)
            yield Cable(f"{name} +", "lead", f"{name} fuse", "busbar +", size, rest, share_a)
            yield Cable(f"{name} -", "lead", f"{name} -", "busbar -", size, length, share_a)
    if take_off == "busbars":
        return
    passing_a = current_a * (strings - 1) / strings
    part_of_drop = case.assumptions.critical_drop * PART_OF_DROP
    jumper = size_run(
        case,
        Run("jumpers", passing_a, width_m + LINK_SLACK_M, part_of_drop),
        ampacity_a=max(size.ampacity_a, (strings - 1) * fuse.rating_a),
    )
    for n in range(1, strings):
        for sign in "+-":
            yield Cable(
                f"jumper {n} {sign}",
                "jumper",
                f"string {n} {'fuse' if sign == '+' else '-'}",
                f"string {n + 1} {'fuse' if sign == '+' else '-'}",
                jumper,
                width_m + LINK_SLACK_M,
                passing_a,
            )


def _links(
    case: Case, strings: int, series: int, share_a: float, width_m: float, ampacity_a: float
) -> Iterable[Cable]:
    """Links between packs in series, no weaker than the fuse that protects them."""
    part_of_drop = case.assumptions.critical_drop * PART_OF_DROP
    run = Run("series links", share_a, width_m + LINK_SLACK_M, part_of_drop)
    choice = size_run(case, run, ampacity_a=ampacity_a)
    for n in range(1, strings + 1):
        for k in range(1, series):
            yield Cable(
                f"string {n} link {k}",
                "link",
                f"string {n} pack {k}",
                f"string {n} pack {k + 1}",
                choice,
                width_m + LINK_SLACK_M,
                share_a,
            )


def _main(
    case: Case,
    size: ConductorChoice,
    current_a: float,
    start: tuple[str, str],
    *,
    with_shunt: bool,
    with_contactor: bool,
) -> Iterable[Cable]:
    """The main run: + through fuse, contactor if any, and switch; - through the shunt if any."""
    run_m = case.system.cable_run_m
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
            ("main -", "shunt", "inverter -", run_m - to_switch),
        ]
    else:
        pieces.append(("main -", start[1], "inverter -", run_m))
    for key, begin, end, length in pieces:
        yield Cable(key, "main", begin, end, size, length, current_a)


def _fuse_ohm(fuse: FuseChoice | None) -> float:
    return FUSE_VOLTS_AT_RATING / fuse.rating_a if fuse is not None else 0.0


def _network(
    arrangement: Arrangement,
    cables: list[Cable],
    string_fuse: FuseChoice | None,
    take_off: TakeOff | None,
) -> StringNetwork:
    """The strings' resistances for current sharing; fuse and its piece belong to the string."""
    pack = arrangement.pack
    links = sum(c.ohm for c in cables if c.role == "link") / arrangement.parallel
    to_fuse = sum(c.ohm for c in cables if c.key == "string 1 + to fuse")
    string = arrangement.series * pack.internal_resistance_ohm + links
    if take_off is not None:
        string += to_fuse + _fuse_ohm(string_fuse)
    # equal leads: take the mean of the positive and the negative one
    plus = next((c.ohm for c in cables if c.key == "string 1 +"), 0.0)
    minus = next((c.ohm for c in cables if c.key == "string 1 -"), 0.0)
    jumper = next((c.ohm for c in cables if c.role == "jumper"), 0.0)
    return StringNetwork(
        strings=arrangement.parallel,
        string_ohm=string,
        lead_ohm=(plus + minus) / 2.0,
        link_ohm=jumper,
        open_circuit_v=arrangement.nominal_voltage_v,
        take_off=take_off or "one end",
    )
