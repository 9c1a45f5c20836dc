"""The circuit of an arrangement: every cable, fuse and device between the packs and the inverter.

One pack needs a main run with its fuse and switch. Parallel strings need a fuse each, and either
leads of equal length to a pair of busbars or jumpers from string to string; packs in series need
links. Bill, current sharing, drawings and shopping list all read this one list of parts.

    string 1:  [-] pack - link - pack [+] - fuse - lead -+
    string 2:  [-] pack - link - pack [+] - fuse - lead -+- busbar + - fuse - switch - inverter +
                |                                        |
                +--- leads --- busbar - --- (monitor shunt) -------------------- inverter -
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charging_together_a, takes_a
from tco.bank.fit.spread import TOGETHER, Spread
from tco.bank.wiring.cable_runs import Layout, main_run
from tco.bank.wiring.circuit_parts import Cable, Device, Role, bend_radius_mm
from tco.bank.wiring.faults import BankFault, Fault, bank_fault
from tco.bank.wiring.sharing import Limits, Sharing, share
from tco.bank.wiring.sizing import USUAL_PARTS, CannotWire, DropParts, Run, protect_run
from tco.bank.wiring.string_network import StringNetwork
from tco.bank.wiring.strings import (
    Strings,
    drops_by_role,
    fuse_ohm,
    single_string,
    sized_strings,
)
from tco.case import Case
from tco.case.system import TakeOff
from tco.physics.conductors import ConductorChoice, resistance_ohm
from tco.physics.fuses import CONTINUOUS_FILL, FuseChoice, FuseDuty

SMALLEST_CURRENT_A = 1.0
"""A bank without loads is wired for this much. Own choice."""


@dataclass(frozen=True)
class ReusedParts:
    """Installed parts that stay, in place of what would be chosen new; None where none does."""

    main_cable: ConductorChoice | None = None
    main_fuse: FuseChoice | None = None
    string_fuse: FuseChoice | None = None


NOTHING_REUSED = ReusedParts()


@dataclass(frozen=True)
class Circuit:
    """All of it. `take_off`, `string_duty` and `string_fault` are None with one string.

    `source`: what drives short circuits; `terminals`: the one at the bank's terminals or busbars,
    at charging voltage; `string_fault`: the one at a string's fuse. `main_duty`, `string_duty`:
    what is asked of the fuses. `main_drop_v`: voltage the main run may lose, out and back, and
    `main_run_m`: its length one way. `ohm`: cables, joints and fuses seen by the inverter, without
    the packs.
    """

    take_off: TakeOff | None
    cables: tuple[Cable, ...]
    devices: tuple[Device, ...]
    main_fuse: FuseChoice
    main_duty: FuseDuty
    string_fuse: FuseChoice | None
    string_duty: FuseDuty | None
    current_a: float
    surge_a: float
    charging_v: float
    source: BankFault
    terminals: Fault
    string_fault: Fault | None
    main_drop_v: float
    main_run_m: float
    ohm: float
    network: StringNetwork
    sharing: Sharing
    reused: ReusedParts = NOTHING_REUSED

    @property
    def short_circuit_a(self) -> float:
        """The most that a dead short at the terminals or busbars could draw. [A]"""
        return self.terminals.most_a

    @property
    def string_fault_a(self) -> float | None:
        """The most that a string's fuse would have to stop, None with one string. [A]"""
        return None if self.string_fault is None else self.string_fault.most_a

    @property
    def main_ohm(self) -> float:
        """Main run, out and back, with its joints and its fuse, in use. [ohm]"""
        return _main_ohm(self.cables, self.main_fuse)

    @property
    def bank_drops_v(self) -> Mapping[Role, float]:
        """What the cables of the bank lose at equal shares, out and back, by their role. [V]"""
        in_bank = [cable for cable in self.cables if cable.role != "main"]
        return drops_by_role(in_bank, self.network.strings, self.current_a)

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

    def limits(self, pack_a: float) -> Limits:
        """What may flow for long through packs that give `pack_a`, fuses and cables. [A]"""
        of_string = {"pack": pack_a}
        for role in ("lead", "link"):
            for cable in self.of_role(role)[:1]:
                of_string[f"string {role}"] = cable.choice.ampacity_a
        if self.string_fuse is not None:
            of_string["string fuse"] = CONTINUOUS_FILL * self.string_fuse.rating_a
        of_bank = {
            "main fuse": CONTINUOUS_FILL * self.main_fuse.rating_a,
            "main run": self.of_role("main")[0].choice.ampacity_a,
        }
        string_by = min(of_string, key=lambda name: of_string[name])
        bank_by = min(of_bank, key=lambda name: of_bank[name])
        jumpers = self.of_role("jumper")
        return Limits(
            string_a=of_string[string_by],
            jumper_a=jumpers[0].choice.ampacity_a if jumpers else inf,
            bank_a=of_bank[bank_by],
            string_by=string_by,
            bank_by=bank_by,
        )

    def at_distribution(self, *, out_ohm: float = 0.0) -> Fault:
        """The short circuit at the end of the main run, where the branches begin.

        `out_ohm`: of the way on that a fuse there has to open for, warm. [ohm]
        """
        main = self.of_role("main")
        return self.source.beyond(
            self.terminals,
            cold_ohm=sum(cable.cold_ohm for cable in main),
            warm_ohm=sum(cable.ohm for cable in main),
            out_ohm=out_ohm,
        )


def circuit(
    case: Case,
    arrangement: Arrangement,
    *,
    current_a: float,
    surge_a: float = 0.0,
    with_shunt: bool = False,
    with_contactor: bool = False,
    reused: ReusedParts = NOTHING_REUSED,
    spread: Spread = TOGETHER,
    drop_parts: DropParts = USUAL_PARTS,
) -> Circuit:
    """Lay out, size and protect an arrangement.

    It carries the larger of `current_a` and what the chargers that may run together push into the
    bank, as far as the packs take it. The voltage lost in all cables from packs to inverter, joints
    and fuses not counted, stays within `assumptions.critical_drop` of the nominal voltage.

    Parameters
    ----------
    current_a
        The current the loads draw, at the inverter's cut-off voltage. [A]
    surge_a
        What they draw while the worst of them starts, for `assumptions.surge_seconds`. [A]
    with_shunt
        Whether a monitor's shunt goes into the negative.
    with_contactor
        Whether an external management opens a contactor in the positive.
    reused
        Installed cable and fuses that stay, as judged by `tco.bank.wiring.installed_parts` on the
        circuit without them.
    spread
        Which of the bank's cables run from one space to another.
    drop_parts
        What leads, jumpers and links may lose of the allowed drop, each.

    Raises
    ------
    CannotWire
        When no conductor or fuse does; the message says what would have to change.
    """
    charging_a = min(charging_together_a(case), takes_a(arrangement))
    current_a = max(current_a, charging_a, SMALLEST_CURRENT_A)
    source = bank_fault(case, arrangement)
    layout = Layout(arrangement, spread, case.system.link_between_spaces_m, drop_parts)
    if arrangement.parallel > 1:
        strings = sized_strings(
            case,
            layout,
            source,
            current_a=current_a,
            surge_a=surge_a,
            fuse=reused.string_fuse,
        )
    else:
        strings = single_string(case, layout, current_a=current_a)
    main = _main_run(case, strings, source, current_a, surge_a, layout.back_m)
    main_size, main_fuse = reused.main_cable or main.choice, reused.main_fuse or main.fuse
    if strings.take_off is None:  # the main fuse alone protects the links of a single string
        strings = single_string(case, layout, current_a=current_a, fuse_a=main_fuse.rating_a)
    cables = (
        *strings.cables,
        *main_run(
            case.system.cable_run_m,
            main_size,
            current_a,
            busbars=strings.take_off == "busbars",
            with_shunt=with_shunt,
            with_contactor=with_contactor,
            back_m=layout.back_m,
        ),
    )
    sharing = share(strings.network, current_a)
    return Circuit(
        take_off=strings.take_off,
        cables=cables,
        devices=tuple(
            _devices(
                strings,
                main_fuse,
                current_a,
                with_shunt=with_shunt,
                with_contactor=with_contactor,
            )
        ),
        main_fuse=main_fuse,
        main_duty=main.duty,
        string_fuse=strings.fuse,
        string_duty=strings.duty,
        current_a=current_a,
        surge_a=surge_a,
        charging_v=source.volts,
        source=source,
        terminals=main.terminals,
        string_fault=strings.fault,
        main_drop_v=main.drop_v,
        main_run_m=main.run_m,
        ohm=max(sharing.bank_ohm - arrangement.pack_resistance_ohm, 0.0)
        + _main_ohm(cables, main_fuse),
        network=strings.network,
        sharing=sharing,
        reused=reused,
    )


def _main_ohm(cables: Sequence[Cable], fuse: FuseChoice) -> float:
    return sum(cable.ohm for cable in cables if cable.role == "main") + fuse_ohm(fuse)


@dataclass(frozen=True)
class _Main:
    """The main run: its new cable and fuse, what is asked of that, the fault, the drop allowed, and
    its length one way."""

    choice: ConductorChoice
    fuse: FuseChoice
    duty: FuseDuty
    terminals: Fault
    drop_v: float
    run_m: float


def _main_run(
    case: Case,
    strings: Strings,
    source: BankFault,
    current_a: float,
    surge_a: float,
    back_m: float,
) -> _Main:
    """Size and protect the main run with what the bank leaves of the allowed drop."""
    nominal_v = case.system.nominal_voltage_v
    run_m = case.system.cable_run_m + back_m / 2.0
    allowed_v = case.assumptions.critical_drop * nominal_v
    in_bank_v = strings.drop_v(current_a)
    if in_bank_v >= allowed_v:
        raise CannotWire(
            f"the leads and links within the bank alone lose {in_bank_v:.2f} V of the "
            f"{allowed_v:.2f} V allowed: use fewer packs in a string, or allow a larger drop"
        )

    def at_fuse(size: ConductorChoice) -> Fault:
        out_ohm = 2.0 * float(resistance_ohm(size.conductor, run_m)) / size.runs
        return source.at_terminals(leads_ohm=strings.cold_ohm, out_ohm=out_ohm)

    run = Run(
        "main run",
        current_a,
        run_m,
        drop=(allowed_v - in_bank_v) / nominal_v,
        least_interrupt_a=source.least_interrupt_a,
        surge_a=surge_a,
    )
    choice, fuse, duty = protect_run(case, run, voltage_v=source.volts, fault=at_fuse)
    return _Main(choice, fuse, duty, at_fuse(choice), allowed_v - in_bank_v, run_m)


def _devices(
    strings: Strings,
    main_fuse: FuseChoice,
    current_a: float,
    *,
    with_shunt: bool,
    with_contactor: bool,
) -> list[Device]:
    """Fuses, busbars, switch, and what else stands in the main run."""
    found = []
    if strings.fuse is not None:
        found += [
            Device(f"string {n} fuse", "string fuse", strings.fuse.rating_a, strings.fuse)
            for n in range(1, strings.network.strings + 1)
        ]
    if strings.take_off == "busbars":
        found += [Device(f"busbar {sign}", "busbar", current_a) for sign in "+-"]
    found += [
        Device("main fuse", "main fuse", main_fuse.rating_a, main_fuse),
        Device("switch", "switch", current_a),
    ]
    if with_contactor:
        found.append(Device("contactor", "contactor", current_a))
    if with_shunt:
        found.append(Device("shunt", "shunt", current_a))
    return found
