"""Blocks of bare cells: sums over the cells, the resistances of their joints, the unit's limits."""

from collections.abc import Callable
from math import prod
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.blocks import (
    BEST_JOINT_OHM,
    BOLTED_JOINT_OHM,
    HOLDING_MASS_SHARE,
    LINK_A_PER_MM2,
    UNIT_OHM,
    bar_ohm,
    block_dimensions_mm,
    built,
    group_unevenness,
    link_mm2,
    link_ohm,
    rows_possible,
    suitable_units,
)
from tco.bank.wiring.faults import UNKNOWN_INTERRUPT_A, bank_fault
from tco.case import Candidate, Case, Pack, Prices, specify
from tco.case.management_unit import ManagementUnit
from tco.physics.network import Resistor, Sink, Source, solve

CELL: dict[str, Any] = {
    "name": "Ridge 280", "chemistry": "lfp", "bare_cell": True, "nominal_voltage_v": 3.2,
    "capacity_ah": 280.0, "width_mm": 174.0, "depth_mm": 72.0, "height_mm": 204.0, "mass_kg": 5.4,
    "continuous_discharge_a": 140.0, "peak_discharge_a": 280.0, "continuous_charge_a": 140.0,
    "internal_resistance_mohm": 0.22, "price": 68.0, "freight_price": 3.0,
}  # fmt: skip
STRONG = ManagementUnit(
    name="Strong", fewest_cells=4, most_cells=16, continuous_discharge_a=1000.0,
    peak_discharge_a=2000.0, continuous_charge_a=1000.0, cell_voltages_visible=True,
    charge_display=True, low_temperature_cutoff=True, price=300.0,
)  # fmt: skip
WEAK = ManagementUnit(name="Weak", most_cells=8, continuous_discharge_a=100.0, price=95.0)


def candidate(**changes: Any) -> Candidate:
    return Candidate.model_validate(CELL | changes)


def block(
    series: int = 8,
    parallel: int = 1,
    *,
    rows: int = 1,
    unit: ManagementUnit | None = STRONG,
    **changes: Any,
) -> Pack:
    return built(
        candidate(**changes), Prices(), series=series, parallel=parallel, rows=rows, unit=unit
    )


@given(st.integers(1, 16), st.integers(1, 4))
def test_a_block_is_the_sum_of_its_cells(series: int, parallel: int) -> None:
    pack, cells = block(series, parallel), series * parallel
    assert pack.nominal_voltage_v == pytest.approx(series * 3.2)
    assert pack.capacity_ah == pytest.approx(parallel * 280.0)
    assert pack.energy_wh == pytest.approx(cells * 3.2 * 280.0)
    assert pack.cells_in_series == series
    assert pack.mass_kg == pytest.approx(cells * 5.4 * (1.0 + HOLDING_MASS_SHARE))
    assert pack.freight_price == pytest.approx(cells * 3.0)
    assert pack.block is not None
    assert pack.block.cells == pack.pieces == cells
    assert pack.price == pytest.approx(cells * 68.0 + sum(p.cost for p in pack.block.parts))
    assert pack.piece_price == 68.0


def test_the_parts_of_a_block_by_hand() -> None:
    """8S2P in two rows: 7 bars over 4 terminals, 2 over 2, 0.9 a terminal (the planning price)."""
    found = block(8, 2, rows=2).block
    assert found is not None
    counted = {part.part: (part.quantity, part.price) for part in found.parts}
    assert counted == {
        "management unit Strong": (1, 300.0),
        "cell link, 4 terminals": (7, pytest.approx(3.6)),
        "cell link, 2 terminals": (2, pytest.approx(1.8)),
        "pair of compression plates with rods": (2, 40.0),
        "insulation of a cell": (16, 1.5),
    }
    assert found.parts_price == pytest.approx(300.0 + 25.2 + 3.6 + 80.0 + 24.0)


# --- resistance -----------------------------------------------------------------------


def whole_block_ohm(series: int, parallel: int, cell_ohm: float, joint_ohm: float) -> float:
    """A block of equal cells by nodal analysis, every cell and joint a branch of its own.

    Bars between groups have no resistance of their own here.
    """
    resistors, sources = [], []
    for s in range(series):
        for p in range(parallel):
            below, above = f"bar {s}", f"bar {s + 1}"
            start, end = f"n{s}.{p}", f"p{s}.{p}"
            if s == 0:  # the end bars are the block's terminals, whose joints are the cable's
                start = below
            else:
                resistors.append(Resistor(f"joint - {s}.{p}", below, start, joint_ohm))
            if s == series - 1:
                end = above
            else:
                resistors.append(Resistor(f"joint + {s}.{p}", end, above, joint_ohm))
            sources.append(Source(f"cell {s}.{p}", end, start, 3.2, cell_ohm))
    top = f"bar {series}"
    found = solve(resistors, sources, [Sink("load", top, "bar 0", 1.0)], reference="bar 0")
    return 3.2 * series - found.volts[top]


@pytest.mark.parametrize(("series", "parallel"), [(4, 1), (8, 1), (8, 2), (16, 3)])
def test_the_resistance_is_that_of_the_network(series: int, parallel: int) -> None:
    """Nodal analysis of the block with the bars' copper put to the joints, against the formula."""
    pack, cell = block(series, parallel), specify(candidate())
    joint_ohm = link_ohm(cell, 140.0) / 2.0
    network = whole_block_ohm(series, parallel, 0.22e-3, joint_ohm)
    # the network's is a small difference of 50 V, which leaves it eight digits
    assert pack.internal_resistance_ohm - UNIT_OHM == pytest.approx(network, rel=1e-7)


def test_a_link_by_hand() -> None:
    """Copper of 1/58 ohm mm2/m (IEC 60028), 73.5 mm long and 56 mm2: 22.6 micro-ohm, two joints."""
    bar = (1.0 / 58.0) * 0.0735 / 56.0
    assert bar_ohm(specify(candidate()), 140.0) == pytest.approx(bar, rel=1e-3)
    assert link_ohm(specify(candidate()), 140.0) == pytest.approx(bar + 60e-6, rel=1e-3)


def test_a_fault_rests_on_no_resistance_that_is_assumed_high() -> None:
    """Neither the unit's nor the usual joint's: what limits a dead short has to be there."""
    pack = block(8, 2)
    by_hand = (8 * 0.22e-3 + 7 * 2 * 19e-6) / 2.0
    assert BEST_JOINT_OHM == 19e-6
    assert pack.fault_ohm == pytest.approx(by_hand)
    assert pack.fault_ohm < pack.internal_resistance_ohm
    assert "internal_resistance_mohm" in pack.assumed
    assert specify(candidate()).fault_ohm == specify(candidate()).internal_resistance_ohm


def test_a_short_circuit_of_a_block_by_hand(plain_case: Callable[..., Case]) -> None:
    """8S2P of cells as stated, and of cells whose maker says what a dead short of one draws.

    Stated, the block has at most the cells' resistance and the best of joints, warm; what cells of
    the size may have counts where it is less. The maker's current is that of a cell: two side by
    side give twice, eight in series no more.
    """
    stated = bank_fault(plain_case(), Arrangement(block(8, 2, internal_resistance_mohm=0.1), 1, 1))
    assert "by the cells as stated" in stated.basis
    assert not stated.assumed
    assert stated.least_interrupt_a == 0.0
    warm = float(specify(candidate()).chemistry.resistance_factor(stated.degc))
    by_hand = (8 * 0.1e-3 + 7 * 2 * BEST_JOINT_OHM) / 2.0
    assert stated.string_ohm == pytest.approx(warm * by_hand)
    maker = block(8, 2, short_circuit_a=7_000.0, charge_voltage_v=3.5)
    assert maker.charge_voltage_v == pytest.approx(8 * 3.5)
    told = bank_fault(plain_case(), Arrangement(maker, 1, 1))
    assert told.volts / told.string_ohm == pytest.approx(2 * 7_000.0)
    assert "7,000 A a cell, 2 side by side" in told.basis


def test_a_short_circuit_of_cells_of_which_nothing_is_known(
    plain_case: Callable[..., Case],
) -> None:
    """No more than the cells' size allows, and the interrupt rating of what is unknown."""
    pack = block(8, 2, internal_resistance_mohm=None)
    fault = bank_fault(plain_case(), Arrangement(pack, 1, 1))
    assert fault.assumed
    assert fault.least_interrupt_a == UNKNOWN_INTERRUPT_A
    assert fault.string_ohm < pack.fault_ohm < pack.internal_resistance_ohm
    assert "a block" in fault.basis


def test_the_charge_voltage_of_a_block_is_its_groups_together() -> None:
    stated = block(8, 2, charge_voltage_v=3.5)
    assert stated.charge_voltage_v == pytest.approx(28.0)
    assert "charge_voltage_v" not in stated.assumed
    assumed = block(8, 2)
    assert assumed.charge_voltage_v == pytest.approx(8 * specify(candidate()).charge_voltage_v)
    assert assumed.assumed["charge_voltage_v"].value == assumed.charge_voltage_v


def test_links_carry_what_their_copper_bears() -> None:
    """DIN 43671 allows a bare bar of 20 x 3 mm 204 A, 30 x 5 mm 379 A (from memory): ours less."""
    for area_mm2, allowed_a in ((60.0, 204.0), (150.0, 379.0)):
        assert link_mm2(allowed_a) > area_mm2
    assert link_mm2(1.0) == 20.0
    assert link_mm2(250.0) == pytest.approx(250.0 / LINK_A_PER_MM2)


# --- currents -------------------------------------------------------------------------


def test_two_cells_share_by_hand() -> None:
    """Cell 1 of r, cell 2 of r and a bar each way: shares go as the other one's resistance."""
    r, bar = 0.22e-3 + 2.0 * BOLTED_JOINT_OHM, 25e-6
    first = (r + 2.0 * bar) / (2.0 * r + 2.0 * bar)
    assert group_unevenness(2, cell_ohm=0.22e-3, bar_ohm=bar) == pytest.approx(2.0 * first)
    assert group_unevenness(1, cell_ohm=0.22e-3, bar_ohm=bar) == 1.0


def hardest_in_the_block(series: int, parallel: int, r: float, bar: float) -> float:
    """Highest share of any cell, times the cells of a group, the whole network fed at one end."""
    resistors, sources = [], []
    for s in range(series + 1):
        for p in range(1, parallel):
            resistors.append(Resistor(f"bar {s}.{p}", f"b{s}.{p}", f"b{s}.{p - 1}", bar))
    for s in range(series):
        for p in range(parallel):
            sources.append(Source(f"cell {s}.{p}", f"b{s + 1}.{p}", f"b{s}.{p}", 3.2, r))
    sinks = [Sink("load", f"b{series}.0", "b0.0", 1.0)]
    found = solve(resistors, sources, sinks, reference="b0.0").current_a
    return parallel * max(amps for name, amps in found.items() if name.startswith("cell"))


@pytest.mark.parametrize(("series", "parallel"), [(1, 2), (4, 2), (8, 2), (8, 3), (16, 4)])
def test_no_cell_of_the_whole_block_works_harder_than_is_taken(series: int, parallel: int) -> None:
    """Nodal analysis of every cell and bar. One group alone is exactly what is taken."""
    r, bar = 0.22e-3 + 2.0 * BOLTED_JOINT_OHM, 25e-6
    taken = group_unevenness(parallel, cell_ohm=0.22e-3, bar_ohm=bar)
    whole = hardest_in_the_block(series, parallel, r, bar)
    assert whole <= taken * (1.0 + 1e-9)
    if series == 1:
        assert whole == pytest.approx(taken)


def test_currents_are_those_of_the_cells_or_of_the_unit() -> None:
    alone = block(8, 1)
    assert (alone.continuous_discharge_a, alone.peak_discharge_a) == (140.0, 280.0)
    assert alone.continuous_charge_a == 140.0
    two = block(8, 2)
    uneven = group_unevenness(2, cell_ohm=0.22e-3, bar_ohm=bar_ohm(specify(candidate()), 140.0))
    assert uneven > 1.0
    assert two.continuous_discharge_a == pytest.approx(2 * 140.0 / uneven)
    weak = block(8, 2, unit=WEAK)
    assert (weak.continuous_discharge_a, weak.peak_discharge_a) == (100.0, 100.0)
    assert weak.continuous_charge_a == 50.0


def test_what_a_unit_does_not_state_is_marked_as_assumed() -> None:
    weak = block(8, 2, unit=WEAK)
    assert "50% of its discharge" in weak.assumed["continuous_charge_a"].source
    assert "states no peak" in weak.assumed["peak_discharge_a"].source
    assert "continuous_discharge_a" not in weak.assumed
    assert not {"continuous_charge_a", "peak_discharge_a"} & set(block(8, 2).assumed)


# --- features -------------------------------------------------------------------------


def test_features_are_the_units() -> None:
    pack = block()
    assert pack.internal_management
    assert pack.cell_voltages_visible
    assert pack.charge_display
    assert pack.low_temperature_cutoff
    weak = block(unit=WEAK)
    assert weak.internal_management
    for name in ("cell_voltages_visible", "charge_display", "low_temperature_cutoff"):
        assert not getattr(weak, name)
        assert "Weak" in weak.assumed[name].source
        assert name not in pack.assumed


def test_without_a_unit_nothing_watches_the_cells() -> None:
    pack = block(unit=None)
    assert not pack.internal_management
    assert pack.continuous_discharge_a == 140.0
    with_unit = block().internal_resistance_ohm
    assert pack.internal_resistance_ohm == pytest.approx(with_unit - UNIT_OHM)


def test_what_a_cell_does_not_state_is_assumed_of_the_block() -> None:
    pack = block(8, 2, continuous_discharge_a=None, peak_discharge_a=None, mass_kg=None)
    uneven = 2 * 140.0 / pack.continuous_discharge_a  # 0.5 C of 280 Ah
    assert 1.0 < uneven < 1.3
    assert "2 cells side by side" in pack.assumed["continuous_discharge_a"].source
    assert pack.assumed["continuous_discharge_a"].value == pack.continuous_discharge_a
    # a kilogram assumed by the energy of packs holds case and board already
    assert pack.mass_kg == pytest.approx(16 * 896.0 / 115.0)
    assert "continuous_discharge_a" not in block(8, 2, unit=WEAK).assumed


def test_units_that_serve_and_the_external_one(plain_case: Callable[..., Case]) -> None:
    cell = specify(candidate())
    rows = [unit.model_dump(exclude_none=True) for unit in (STRONG, WEAK)]
    case = plain_case(management_units=rows)
    names = [unit and unit.name for unit in suitable_units(case, cell, 8)]
    assert names == ["Strong", "Weak"]
    assert [unit and unit.name for unit in suitable_units(case, cell, 4)] == ["Strong"]
    assert suitable_units(case, cell, 24) == (None,)
    priced = plain_case(management_units=rows, prices={"external_management_price": 120.0})
    assert [u and u.name for u in suitable_units(priced, cell, 4)] == ["Strong", None]
    there = plain_case(system={"parts": [{"name": "watch", "kind": "external management"}]})
    assert suitable_units(there, cell, 4) == (None,)


# --- room -----------------------------------------------------------------------------


@pytest.mark.parametrize("cells", [4, 8, 16, 32])
def test_a_block_holds_its_cells(cells: int) -> None:
    for rows in rows_possible(cells):  # of one cell each
        width, depth, height = block_dimensions_mm((174.0, 72.0, 204.0), cells=cells, rows=rows)
        assert width > cells // rows * 72.0
        assert depth > rows * 174.0
        assert height > 204.0
        assert prod((width, depth, height)) > cells * prod((174.0, 72.0, 204.0))


def test_the_size_of_a_block_by_hand() -> None:
    """Eight cells in one row: 8 x 72 + 9 sheets of 1.5 + 2 plates of 12 + 45 for the unit."""
    size = block_dimensions_mm((174.0, 72.0, 204.0), cells=8, rows=1)
    assert size == (pytest.approx(658.5), pytest.approx(198.0), pytest.approx(234.0))
    assert block(8, 1, rows=1).dimensions_mm == size
    assert block(8, 1, height_mm=None).dimensions_mm is None


def test_rows_are_full_and_no_group_is_broken_up() -> None:
    assert rows_possible(8) == (1, 2, 4)
    assert rows_possible(14) == (1, 2)
