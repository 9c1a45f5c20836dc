"""Blocks of bare cells: packs that are built from cells, links, compression and a management unit.

Cells go parallel first: `parallel` of them make a group, whose terminals share one copper bar, and
`series` groups make the block, which one management unit watches and disconnects. A block is a
`Pack` like one that is bought; several of them side by side are strings, each with its own unit.
Parallel cells hide one another from the unit, which sees the voltage of their group.

What holds cells, and how they are joined, is common practice of the trade, no source, unless a
constant names one. The cell's and the unit's makers come first.
"""

from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

from tco.bank.wiring.sharing import share
from tco.bank.wiring.string_network import StringNetwork
from tco.case import Candidate, Case, Pack, Prices, specify
from tco.case.block import Block, BlockPart, unit_part
from tco.case.management_unit import CHARGE_SHARE, ManagementUnit
from tco.physics.chemistry import Datum

MOST_IN_A_GROUP = 4
"""Cells in parallel in a group, where their maker states no limit: more of them hide a weak one,
and feed one that shorts. Common practice, no source."""

MOST_ROWS = 4
"""Rows of cells tried for a block. Own choice."""

SHEET_MM = 1.5
"""Insulating sheet on each side of a cell that faces another, and between rows (common practice:
0.5 to 1 mm of glass-epoxy or 2 mm of a compressible sheet)."""

PLATE_MM = 12.0
"""One end plate: 10 to 15 mm of aluminium or board (common practice)."""

ROD_MM = 12.0
"""Threaded rods, or straps, along each side of a block of rows (common practice)."""

LINKS_MM = 30.0
"""Studs, links and an insulating cover above the terminals' plane (assumption, no source)."""

UNIT_MM = 45.0
"""The management unit on an end plate, with room for air (assumption, no source)."""

HOLDING_MASS_SHARE = 0.08
"""Plates, rods, sheets, links and unit over the cells' mass: two plates of 10 mm aluminium and
the rest on 16 cells of 5 kg. Assumption, no source."""

BEST_JOINT_OHM, BOLTED_JOINT_OHM = 19e-6, 30e-6
"""A bar bolted to a terminal, at its best and usually: good bolted joints of stationary batteries
have 19 to 48 micro-ohm (IEEE 450 as quoted by makers)."""

COPPER_OHM_MM2_PER_M = 0.017241
"""Annealed copper at 20 degC (IEC 60028)."""

LINK_A_PER_MM2 = 2.5
"""Current density of a short copper bar in still air. Cautious: DIN 43671 gives a bar of 20 x 3 mm
204 A, 3.4 A/mm2, at 35 degC of air and 65 degC of bar (from memory)."""

SMALLEST_LINK_MM2 = 20.0
"""A bar of 20 x 1 mm is the least that covers a terminal of M6 (common practice)."""

UNKNOWN_SPAN_MM = 80.0
"""From terminal to terminal where the cell states no dimensions. Assumption, no source."""

UNIT_OHM = 0.5e-3
"""A management unit's switches and leads in the current's way (from memory: some 0.3 to 1
milliohm for units of 100 to 200 A)."""


def suitable_units(case: Case, cell: Pack, series: int) -> tuple[ManagementUnit | None, ...]:
    """What may watch a block of so many groups: every unit that serves them, or an external one.

    None stands for an external management; it is among them where the case has one, or a price for
    one, and where no unit serves (the bank then fails for want of a management).
    """
    found: list[ManagementUnit | None] = [
        unit for unit in case.management_units if unit.serves(series, cell.chemistry.key)
    ]
    external = case.prices.external_management_price is not None or any(
        part.kind == "external management" for part in case.system.parts
    )
    if external or not found:
        found.append(None)
    return tuple(found)


def variant_of(unit: ManagementUnit | None, choices: int) -> str:
    """Words that tell a block's management where there is a choice of several."""
    if choices < 2:
        return ""
    return "external management" if unit is None else unit.name


def rows_possible(series: int) -> tuple[int, ...]:
    """Numbers of rows in which so many groups may stand: equal ones, no group broken up."""
    return tuple(rows for rows in range(1, MOST_ROWS + 1) if series % rows == 0)


def block_dimensions_mm(
    cell_mm: tuple[float, float, float], *, cells: int, rows: int
) -> tuple[float, float, float]:
    """Outside width, depth and height of a block; cells stand upright, face to face in their rows.

    Cells are compressed across their thinner side, so that a row grows by it. [mm]
    """
    thick, broad = sorted(cell_mm[:2])
    in_a_row = cells // rows
    return (
        in_a_row * thick + (in_a_row + 1) * SHEET_MM + 2.0 * PLATE_MM + UNIT_MM,
        rows * broad + (rows - 1) * SHEET_MM + 2.0 * ROD_MM,
        cell_mm[2] + LINKS_MM,
    )


def link_mm2(current_a: float) -> float:
    """Least copper of a link bar for a current. [mm2]"""
    return max(SMALLEST_LINK_MM2, current_a / LINK_A_PER_MM2)


def bar_ohm(cell: Pack, current_a: float) -> float:
    """Copper from a terminal to the next cell's, of one cell's share of the bar. [ohm]

    `current_a`: that of one cell.
    """
    span_mm = min(cell.dimensions_mm[:2]) + SHEET_MM if cell.dimensions_mm else UNKNOWN_SPAN_MM
    return COPPER_OHM_MM2_PER_M * span_mm / 1000.0 / link_mm2(current_a)


def link_ohm(cell: Pack, current_a: float) -> float:
    """From one cell to the next: two bolted joints and the bar between. [ohm]"""
    return 2.0 * BOLTED_JOINT_OHM + bar_ohm(cell, current_a)


def group_unevenness(parallel: int, *, cell_ohm: float, bar_ohm: float) -> float:
    """Current of the hardest-worked cell of a group over an equal share.

    As if the group were fed and drawn at the same end of the bars that join its cells: true of the
    first and last group at most, and so cautious for those between, which hand the current on from
    cell to cell. Each cell has its two bolted joints.
    """
    if parallel == 1:
        return 1.0
    network = StringNetwork(
        strings=parallel,
        string_ohm=cell_ohm + 2.0 * BOLTED_JOINT_OHM,
        lead_ohm=0.0,
        link_ohm=bar_ohm,
        open_circuit_v=1.0,
        take_off="one end",
    )
    return share(network, 0.0).unevenness


def built(
    candidate: Candidate,
    prices: Prices,
    *,
    series: int,
    parallel: int,
    rows: int,
    unit: ManagementUnit | None,
    variant: str = "",
) -> Pack:
    """A block of bare cells as a pack; see the head of this module.

    Its resistance is always marked as assumed, since that of links and unit is; fault currents rest
    on the cells and the best of joints alone (`Pack.fault_ohm`), or on what the cell's maker says a
    dead short of one draws, times the cells of a group. Currents are the lowest of what
    the cells carry, shared as `group_unevenness` says, and of what the unit lets through.
    """
    cell = specify(candidate)
    cells = series * parallel
    cell_link_ohm = link_ohm(cell, cell.continuous_discharge_a)
    uneven = group_unevenness(
        parallel,
        cell_ohm=cell.internal_resistance_ohm,
        bar_ohm=bar_ohm(cell, cell.continuous_discharge_a),
    )
    resistance = (
        series * cell.internal_resistance_ohm + (series - 1) * cell_link_ohm
    ) / parallel + (UNIT_OHM if unit is not None else 0.0)
    assumed = {name: datum for name, datum in cell.assumed.items() if name not in _ANEW}

    def carried(name: str, cell_a: float, unit_a: float | None) -> float:
        group_a = parallel * cell_a / uneven
        limited = group_a if unit_a is None else min(group_a, unit_a)
        if limited < group_a:
            if unit is not None and getattr(unit, name) is None:
                assumed[name] = Datum(limited, f"{unit.name}: {_NOT_STATED_OF_A_UNIT[name]}")
        elif name in cell.assumed:
            source = f"{parallel} cells side by side, each: {cell.assumed[name].source}"
            assumed[name] = Datum(limited, source)
        return limited

    continuous = carried(
        "continuous_discharge_a",
        cell.continuous_discharge_a,
        None if unit is None else unit.continuous_discharge_a,
    )
    peak = carried("peak_discharge_a", cell.peak_discharge_a, None if unit is None else unit.peak_a)
    charge = carried(
        "continuous_charge_a", cell.continuous_charge_a, None if unit is None else unit.charge_a
    )
    mass = cells * cell.mass_kg
    if "mass_kg" in cell.assumed:  # of a pack of its energy, what holds the cells with it
        assumed["mass_kg"] = Datum(mass, cell.assumed["mass_kg"].source)
    else:
        mass *= 1.0 + HOLDING_MASS_SHARE
        words = f"{cells} cells and {HOLDING_MASS_SHARE:.0%} for plates, links and unit, no source"
        assumed["mass_kg"] = Datum(mass, words)
    assumed["internal_resistance_mohm"] = Datum(
        1000.0 * resistance,
        f"{series} groups of {parallel}: cell {1000.0 * cell.internal_resistance_ohm:.3g} and link "
        f"{1000.0 * cell_link_ohm:.2g} milliohm each"
        + (f", unit {1000.0 * UNIT_OHM:g} milliohm from memory" if unit is not None else ""),
    )
    if "charge_voltage_v" in cell.assumed:
        assumed["charge_voltage_v"] = Datum(
            series * cell.charge_voltage_v,
            f"{series} groups of {cell.charge_voltage_v:g} V, usual for {cell.chemistry.name}",
        )
    if unit is not None:
        _assume_of_unit(unit, assumed)
    amps = max(continuous, charge)
    parts = tuple(_parts(prices, unit, series=series, parallel=parallel, rows=rows, current_a=amps))
    block = Block(
        series,
        parallel,
        rows,
        unit,
        cell.price,
        (series * cell.internal_resistance_ohm + (series - 1) * 2.0 * BEST_JOINT_OHM) / parallel,
        parts,
        candidate.max_series,
        candidate.max_packs,
        candidate.internal_resistance_mohm is not None,
        variant,
    )
    most = candidate.max_parallel
    if most is None:
        assumed["max_parallel"] = cell.assumed["max_parallel"]
    return replace(
        cell,
        nominal_voltage_v=series * cell.nominal_voltage_v,
        charge_voltage_v=series * cell.charge_voltage_v,
        capacity_ah=parallel * cell.capacity_ah,
        dimensions_mm=block_dimensions_mm(cell.dimensions_mm, cells=cells, rows=rows)
        if cell.dimensions_mm is not None
        else None,
        mass_kg=mass,
        continuous_discharge_a=continuous,
        peak_discharge_a=peak,
        continuous_charge_a=charge,
        internal_resistance_ohm=resistance,
        short_circuit_a=None if cell.short_circuit_a is None else parallel * cell.short_circuit_a,
        heater_w=cells * cell.heater_w,
        low_temperature_cutoff=bool(unit and unit.low_temperature_cutoff),
        cell_voltages_visible=bool(unit and unit.cell_voltages_visible),
        charge_display=bool(unit and unit.charge_display),
        internal_management=unit is not None,
        max_series=1,
        max_parallel=cell.max_parallel if most is None else most // parallel,
        max_packs=None if candidate.max_packs is None else candidate.max_packs // cells,
        price=cells * cell.price + block.parts_price,
        freight_price=cells * cell.freight_price,
        cells_in_series=series * cell.cells_in_series,
        assumed=MappingProxyType(assumed),
        block=block,
    )


_ANEW = frozenset({
    "mass_kg", "internal_resistance_mohm", "continuous_discharge_a", "peak_discharge_a",
    "continuous_charge_a", "max_series", "max_parallel", "internal_management",
    "low_temperature_cutoff", "cell_voltages_visible", "charge_display",
})  # fmt: skip
"""What a block assumes by itself, whatever is assumed of its cell."""


_NOT_STATED_OF_A_UNIT = {
    "peak_discharge_a": "no more than its continuous current, as its sheet states no peak",
    "continuous_charge_a": f"{CHARGE_SHARE:.0%} of its discharge, as its sheet states none; common "
    "practice, no source",
}
"""Why a unit is taken to let no more through; see `ManagementUnit`."""


def _assume_of_unit(unit: ManagementUnit, assumed: dict[str, Datum]) -> None:
    """What the unit's sheet does not say."""
    for name in ("low_temperature_cutoff", "cell_voltages_visible", "charge_display"):
        if getattr(unit, name) is None:
            assumed[name] = Datum(False, f"not mentioned of {unit.name}, so assumed absent")


def _parts(
    prices: Prices,
    unit: ManagementUnit | None,
    *,
    series: int,
    parallel: int,
    rows: int,
    current_a: float,
) -> Iterator[BlockPart]:
    """What is bought for a block beside its cells."""
    if unit is not None:
        yield BlockPart(
            unit_part(unit),
            1,
            unit.price,
            unit.link,
            f"set for {series} cells in series; its sense leads fused at the cells",
        )
    copper = f"tinned copper, at least {link_mm2(current_a):.0f} mm2 in all"
    for terminals, number in ((2 * parallel, series - 1), (parallel, 2 if parallel > 1 else 0)):
        if number > 0:
            yield BlockPart(
                f"cell link, {terminals} terminals",
                number,
                terminals * prices.cell_link_price,
                note=copper,
            )
    yield BlockPart(
        "pair of compression plates with rods",
        rows,
        prices.compression_price,
        note="pressed as the cell's maker says, no more",
    )
    yield BlockPart(
        "insulation of a cell",
        series * parallel,
        prices.cell_insulation_price,
        note="a sheet to each neighbour and plate, a cover over links and terminals",
    )
