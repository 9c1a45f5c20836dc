"""What it takes to wire an arrangement: conductors, fuses, busbars, lugs and labour.

One pack needs a main run and a main fuse. Parallel strings each need their own fuse and leads of
equal length to a pair of busbars; series packs need links. Everything is counted and priced, so
that a bank of four honestly costs more to wire than a bank of one.
"""

import math
from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.charging import charging_together_a
from tco.case import Case, Prices
from tco.case.prices import DEFAULT_CONDUCTOR_PRICES, DEFAULT_FUSE_PRICES
from tco.physics.conductors import (
    Conductor,
    ConductorChoice,
    resistance_ohm,
    smallest_conductor,
)
from tco.physics.fuses import (
    FuseChoice,
    NoFuseFits,
    choose_fuse,
    prospective_short_circuit_a,
)

CAUTION = (
    "A bank can drive thousands of amperes through a dropped spanner. Sizes and fuses here are a "
    "plan, not an approval: follow the makers' instructions and the local code, fuse close to the "
    "terminal, and have the work done or checked by somebody licensed for it."
)

LEAD_BASE_M = 0.30
"""Length of a lead from a pack's terminal to the busbar beside the bank, before it has to pass
other packs. Assumption, no source."""

LINK_SLACK_M = 0.12
"""Length of a series link beyond the width of one pack. Assumption, no source."""

UNEQUAL_SHARE = 1.25
"""A string's lead is sized for this much more than its equal share. Common practice, no source."""

SPARE_CABLE = 1.10
"""Cable is bought with a tenth to spare. Common practice, no source."""

JOINT_OHM = 60e-6
"""One crimped and bolted end. From memory: small crimped lugs 20 to 100 micro-ohm when tight;
good bolted joints 19 to 48 micro-ohm (IEEE 450 as quoted by makers)."""

UNKNOWN_WIDTH_MM = 330.0
"""Width taken for the lead length of a pack that states no dimensions. Assumption, no source."""


@dataclass(frozen=True)
class BillLine:
    """One line of the bill: what, how much of it, at what price. Without tax."""

    part: str
    quantity: float
    unit: str
    unit_price: float

    @property
    def cost(self) -> float:
        """Quantity times unit price."""
        return self.quantity * self.unit_price


@dataclass(frozen=True)
class Run:
    """One kind of conductor of the bank: `count` equal pieces, each of `length_m`."""

    name: str
    choice: ConductorChoice
    current_a: float
    length_m: float
    count: int

    @property
    def terminations(self) -> int:
        """Crimped ends on all pieces."""
        return 2 * self.count * self.choice.runs

    @property
    def fused_ends(self) -> int:
        """Crimped ends a fuse adds where it is let into one piece: two on each parallel run."""
        return 2 * self.choice.runs

    def cable_ohm(self) -> float:
        """Resistance of the cable of one piece, warm, parallel runs together. [ohm]"""
        return float(resistance_ohm(self.choice.conductor, self.length_m)) / self.choice.runs

    def piece_resistance_ohm(self) -> float:
        """Resistance of one piece with its two ends, parallel runs together. [ohm]"""
        return self.cable_ohm() + 2.0 * JOINT_OHM / self.choice.runs


@dataclass(frozen=True)
class Wiring:
    """The wiring of one arrangement.

    `resistance_ohm`: cables and joints of the bank and its main run, seen by the inverter.
    `short_circuit_a`: what a dead short at the bank's terminals could draw, at charging voltage.
    `string_fuse` is None where there is one string: the main fuse then protects it.
    """

    main: Run
    string_leads: Run | None
    links: Run | None
    main_fuse: FuseChoice
    string_fuse: FuseChoice | None
    short_circuit_a: float
    resistance_ohm: float
    connections: int
    bill: tuple[BillLine, ...]

    @property
    def cost(self) -> float:
        """Sum of the bill, without tax."""
        return sum(line.cost for line in self.bill)


SMALLEST_CURRENT_A = 1.0
"""A bank without loads is wired for this much. Own choice."""

MOST_ROUNDS = 4
"""Rounds in which the main run is made thicker for what the bank's own cables lose. Own choice."""


class CannotWire(ValueError):  # noqa: N818 - the name says what happened
    """No conductor or fuse of the tables serves this arrangement; the message says why."""


def wire(case: Case, arrangement: Arrangement, *, current_a: float) -> Wiring:
    """Wire an arrangement for a continuous current at its terminals.

    The wiring carries the larger of `current_a` and what the chargers that may run together push
    into the bank, as far as the packs take it. The voltage lost in all cables of the bank and its
    main run together, joints not counted, stays within `assumptions.critical_drop` of the nominal
    voltage.

    Parameters
    ----------
    current_a
        The current the loads draw, at the inverter's cut-off voltage. [A]

    Raises
    ------
    CannotWire
        When no conductor or fuse does; the message says what would have to change.
    """
    takes_a = arrangement.parallel * arrangement.pack.continuous_charge_a
    current_a = max(current_a, min(charging_together_a(case), takes_a), SMALLEST_CURRENT_A)
    charging_v = (
        arrangement.series
        * arrangement.pack.cells_in_series
        * (arrangement.pack.chemistry.absorption_v)
    )
    width_m = _pack_width_mm(arrangement) / 1000.0
    strings = arrangement.parallel
    share_a = min(current_a, UNEQUAL_SHARE * current_a / strings)
    leads = string_fuse = None
    short_a = _short_circuit_a(arrangement, charging_v, 0.0)
    if strings > 1:
        leads, string_fuse = _protected_run(
            case,
            "string leads",
            share_a,
            LEAD_BASE_M + width_m * (strings - 1) / 2.0,
            2 * strings,
            charging_v,
            # a fault before the fuse is fed by the other strings, one behind it by its own
            short_a * max(1, strings - 1) / strings,
        )
        short_a = _short_circuit_a(arrangement, charging_v, leads.piece_resistance_ohm())
    allowed_v = case.assumptions.critical_drop * case.system.nominal_voltage_v
    for_main_v = allowed_v
    for _ in range(MOST_ROUNDS):
        main, main_fuse = _protected_run(
            case,
            "main run",
            current_a,
            case.system.cable_run_m,
            2,
            charging_v,
            short_a,
            drop_fraction=for_main_v / case.system.nominal_voltage_v,
        )
        links = None
        if arrangement.series > 1:
            links = _run(
                case,
                "series links",
                share_a,
                width_m + LINK_SLACK_M,
                strings * (arrangement.series - 1),
                minimum_ampacity_a=(leads or main).choice.ampacity_a,
            )
        in_bank_v = current_a * _bank_cable_ohm(arrangement, leads, links)
        if in_bank_v + current_a * 2.0 * main.cable_ohm() <= allowed_v * (1.0 + 1e-9):
            break
        for_main_v = allowed_v - in_bank_v
        if for_main_v <= 0.0:
            raise CannotWire(
                f"the leads and links within the bank alone lose {in_bank_v:.2f} V of the "
                f"{allowed_v:.2f} V allowed: use fewer packs in a string, or allow a larger drop"
            )
    else:
        raise CannotWire(
            f"the main run and the leads and links of the bank together lose more than the "
            f"{allowed_v:.2f} V allowed: shorten the main run, or allow a larger drop"
        )
    runs = [run for run in (main, leads, links) if run is not None]
    connections = sum(run.terminations for run in runs) + main.fused_ends
    if leads is not None:
        connections += strings * leads.fused_ends
    return Wiring(
        main=main,
        string_leads=leads,
        links=links,
        main_fuse=main_fuse,
        string_fuse=string_fuse,
        short_circuit_a=short_a,
        resistance_ohm=_resistance(arrangement, main, leads, links),
        connections=connections,
        bill=_bill(case, arrangement, runs, main_fuse, string_fuse, connections),
    )


def _bank_cable_ohm(arrangement: Arrangement, leads: Run | None, links: Run | None) -> float:
    """Resistance of the cables within the bank, strings together, without joints. [ohm]"""
    string = 0.0
    if leads is not None:
        string += 2.0 * leads.cable_ohm()
    if links is not None:
        string += (arrangement.series - 1) * links.cable_ohm()
    return string / arrangement.parallel


def _short_circuit_a(arrangement: Arrangement, volts: float, lead_ohm: float) -> float:
    """Current into a dead short at the bank's terminals or busbars. [A]

    Packs, two joints, and in a parallel bank each string's two leads. A management board may cut
    it off sooner; that is not counted on.
    """
    leads = 2.0 * lead_ohm / arrangement.parallel
    return float(
        prospective_short_circuit_a(volts, arrangement.pack_resistance_ohm, 2.0 * JOINT_OHM + leads)
    )


def _pack_width_mm(arrangement: Arrangement) -> float:
    dimensions = arrangement.pack.dimensions_mm
    return UNKNOWN_WIDTH_MM if dimensions is None else dimensions[0]


def _run(
    case: Case,
    name: str,
    current_a: float,
    length_m: float,
    count: int,
    *,
    minimum_ampacity_a: float = 0.0,
    drop_fraction: float | None = None,
) -> Run:
    """One kind of conductor; raises CannotWire with the run's name where none does."""
    try:
        choice = smallest_conductor(
            current_a=current_a,
            one_way_length_m=length_m,
            nominal_voltage_v=float(case.system.nominal_voltage_v),
            allowed_drop_fraction=drop_fraction or case.assumptions.critical_drop,
            system=case.system.conductor_sizes,
            engine_space=any(space.engine_space for space in case.system.spaces),
            minimum_ampacity_a=minimum_ampacity_a,
        )
    except ValueError as error:
        raise CannotWire(f"{name}: {error}") from error
    return Run(name=name, choice=choice, current_a=current_a, length_m=length_m, count=count)


def _protected_run(
    case: Case,
    name: str,
    current_a: float,
    length_m: float,
    count: int,
    voltage_v: float,
    short_a: float,
    *,
    drop_fraction: float | None = None,
) -> tuple[Run, FuseChoice]:
    """Conductor and fuse together: the fuse carries the load and protects the conductor."""
    ampacity = 0.0
    while True:
        run = _run(
            case,
            name,
            current_a,
            length_m,
            count,
            minimum_ampacity_a=ampacity,
            drop_fraction=drop_fraction,
        )
        try:
            return run, choose_fuse(
                load_current_a=current_a,
                conductor_ampacity_a=run.choice.ampacity_a,
                voltage_v=voltage_v,
                prospective_a=short_a,
            )
        except NoFuseFits as problem:
            needed = problem.ampacity_needed_a
            if needed is None or needed <= ampacity:
                raise CannotWire(f"{name}: {problem}") from problem
            ampacity = needed
        except ValueError as error:
            raise CannotWire(f"{name}: {error}") from error


def _resistance(arrangement: Arrangement, main: Run, leads: Run | None, links: Run | None) -> float:
    string = 0.0
    if leads is not None:
        string += 2.0 * leads.piece_resistance_ohm()
    if links is not None:
        string += (arrangement.series - 1) * links.piece_resistance_ohm()
    return string / arrangement.parallel + 2.0 * main.piece_resistance_ohm()


def _bill(
    case: Case,
    arrangement: Arrangement,
    runs: list[Run],
    main_fuse: FuseChoice,
    string_fuse: FuseChoice | None,
    connections: int,
) -> tuple[BillLine, ...]:
    prices = case.prices
    lines: list[BillLine] = []
    for run in runs:
        price_per_m, _ = conductor_price(prices, run.choice.conductor)
        metres = math.ceil(10.0 * SPARE_CABLE * run.length_m * run.count * run.choice.runs) / 10.0
        lines.append(
            BillLine(f"cable {run.choice.conductor.label}, {run.name}", metres, "m", price_per_m)
        )
    lugs: dict[str, tuple[int, float]] = {}
    for run in runs:
        fused = 1 if run.name == "main run" else 0
        if run.name == "string leads":
            fused = arrangement.parallel
        label = run.choice.conductor.label
        count, _ = lugs.get(label, (0, 0.0))
        lugs[label] = (
            count + run.terminations + fused * run.fused_ends,
            conductor_price(prices, run.choice.conductor)[1],
        )
    lines += [BillLine(f"lug {label}", n, "pc", price) for label, (n, price) in lugs.items()]
    lines.append(BillLine("heat-shrink sleeve", connections, "pc", prices.heat_shrink_price))
    for what, fuse, count in (
        ("main fuse", main_fuse, 1),
        ("string fuse", string_fuse, arrangement.parallel),
    ):
        if fuse is None:
            continue
        fuse_price, holder_price = fuse_prices(prices, fuse.fuse_class.name)
        name = f"{fuse.fuse_class.name} {fuse.rating_a:g} A"
        lines.append(BillLine(f"{what} {name}", count, "pc", fuse_price))
        lines.append(BillLine(f"{what} holder {fuse.fuse_class.name}", count, "pc", holder_price))
    if arrangement.parallel > 1:
        lines.append(BillLine("busbar", 2, "pc", prices.busbar_price))
    minutes = (
        connections * prices.minutes_per_termination
        + arrangement.packs * prices.minutes_per_pack
        + arrangement.mass_kg * prices.minutes_per_kg_lifted
    )
    lines.append(BillLine("labour", round(minutes / 60.0, 2), "h", prices.labour_per_hour))
    return tuple(lines)


def conductor_price(prices: Prices, conductor: Conductor) -> tuple[float, float]:
    """Price per metre and per lug; the default list serves a size the case does not price."""
    for row in (*prices.conductors, *DEFAULT_CONDUCTOR_PRICES):
        if row.size == conductor.label:
            return row.price_per_m, row.lug_price
    raise CannotWire(f"no price for {conductor.label}; add it to prices.conductors")


def fuse_prices(prices: Prices, fuse_class: str) -> tuple[float, float]:
    """Price of a fuse and of its holder; the default list serves a class not priced."""
    for row in (*prices.fuses, *DEFAULT_FUSE_PRICES):
        if row.fuse_class == fuse_class:
            return row.fuse_price, row.holder_price
    raise CannotWire(f"no price for {fuse_class} fuses; add it to prices.fuses")
