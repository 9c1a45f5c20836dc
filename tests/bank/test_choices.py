"""What is tried of bare cells, and what is said of larger banks that a ceiling leaves out."""

from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.budget import energy_budget
from tco.bank.cell_work import block_parts, built_in_minutes, joints
from tco.bank.choices import LeftOut, again, tried
from tco.case import Case

Build = Callable[..., Case]
CELL: dict[str, Any] = {
    "name": "Ridge 280", "chemistry": "lfp", "bare_cell": True, "nominal_voltage_v": 3.2,
    "capacity_ah": 280.0, "width_mm": 174.0, "depth_mm": 72.0, "height_mm": 204.0, "mass_kg": 5.4,
    "continuous_discharge_a": 140.0, "peak_discharge_a": 280.0, "continuous_charge_a": 140.0,
    "internal_resistance_mohm": 0.22, "price": 68.0,
}  # fmt: skip
UNIT: dict[str, Any] = {
    "name": "Warden", "fewest_cells": 4, "most_cells": 16, "continuous_discharge_a": 200.0,
    "price": 160.0,
}  # fmt: skip
ROOM = {"width_mm": 4000.0, "depth_mm": 3000.0, "height_mm": 400.0}
NEED = {"name": "heater", "power_w": 1000.0, "hours_per_day": 24.0, "when": "any time"}


def case_of(build: Build, *, units: Any = (UNIT,), **changes: Any) -> Case:
    start: dict[str, Any] = {
        "candidates": [CELL], "management_units": list(units), "space": ROOM, "loads": [NEED],
    }  # fmt: skip
    return build(**start | changes)


def found(case: Case) -> tuple[Arrangement, ...]:
    return tried(case, energy_budget(case)).arrangements


def left_out(case: Case) -> tuple[LeftOut, ...]:
    return tried(case, energy_budget(case)).left_out


@pytest.mark.parametrize(("volts", "series"), [(12, 4), (24, 8), (36, 12), (48, 16)])
def test_blocks_of_every_width_alone_and_in_strings(
    plain_case: Build, volts: int, series: int
) -> None:
    case = case_of(
        plain_case,
        system={"nominal_voltage_v": volts},
        assumptions={"largest_bank_over_need": 20.0, "autonomy_days": 20.0},
    )
    layouts = [a.layout for a in found(case)]
    blocks = [f"{series}S{p}P" for p in range(1, 5)]
    assert layouts == [f"{k} × {b}" if k > 1 else b for b in blocks for k in range(1, 5)]
    assert all(a.nominal_voltage_v == pytest.approx(series * 3.2) for a in found(case))


def test_no_larger_than_the_need_asks_for(plain_case: Build) -> None:
    """A need of 0.1 kWh a day: one cell in parallel is more than three times that at 12 V."""
    lamp = {"name": "lamp", "power_w": 20.0, "hours_per_day": 5.0, "when": "17-22"}
    case = case_of(plain_case, loads=[lamp])
    assert [a.label for a in found(case)] == ["4 × Ridge 280 (4S1P)"]
    assert left_out(case) == ()


def test_every_label_is_its_own(plain_case: Build) -> None:
    """Two units, an external one, groups and strings: labels are keys of results."""
    case = case_of(
        plain_case,
        units=(UNIT, UNIT | {"name": "Small", "continuous_discharge_a": 100.0}),
        prices={"external_management_price": 120.0, "contactor_price": 80.0},
        assumptions={"largest_bank_over_need": 20.0, "autonomy_days": 20.0},
    )
    labels = [a.label for a in found(case)]
    assert len(labels) == 3 * 4 * 4 == len(set(labels))
    assert "8 × Ridge 280, Small (2 × 4S1P)" in labels
    assert "8 × Ridge 280, external management (4S2P)" in labels


def test_the_ceiling_counts_blocks_and_is_told(plain_case: Build) -> None:
    """Two blocks of sixteen cells are two of what one would keep, not thirty-two."""
    hungry = {"largest_bank_over_need": 20.0, "autonomy_days": 20.0}
    case = case_of(plain_case, assumptions=hungry | {"max_packs": 2})
    assert max(a.packs for a in found(case)) == 2
    assert max(a.pieces for a in found(case)) == 2 * 16
    assert left_out(case) == (LeftOut("Ridge 280", "max_packs", 2),)
    case = case_of(plain_case, assumptions=hungry | {"max_packs": 32})
    assert max(a.packs for a in found(case)) == 4
    assert left_out(case) == (LeftOut("Ridge 280", "max_parallel", 16),)


def test_what_the_maker_states_is_no_ceiling_of_ours(plain_case: Build) -> None:
    case = case_of(
        plain_case,
        candidates=[CELL | {"max_parallel": 2}],
        assumptions={"largest_bank_over_need": 20.0, "autonomy_days": 20.0},
    )
    assert [a.layout for a in found(case)] == ["4S1P", "2 × 4S1P", "4S2P"]
    assert left_out(case) == ()


def test_what_the_maker_allows_together_counts_cells(plain_case: Build) -> None:
    """Four in series: eight cells are two blocks of one to a group, or one block of two."""
    hungry = {"largest_bank_over_need": 20.0, "autonomy_days": 20.0}
    case = case_of(plain_case, candidates=[CELL | {"max_packs": 8}], assumptions=hungry)
    assert [a.layout for a in found(case)] == ["4S1P", "2 × 4S1P", "4S2P"]
    assert left_out(case) == ()
    few = case_of(plain_case, candidates=[CELL | {"max_packs": 3}], assumptions=hungry)
    assert [a.layout for a in found(few)] == ["4S1P"]
    packs = plain_case(space=ROOM, loads=[NEED], assumptions=hungry, candidate={"max_packs": 2})
    assert [a.packs for a in found(packs)] == [1, 2]
    assert left_out(packs) == ()


def test_what_lies_under_the_cutoff_is_known_of_blocks(plain_case: Build) -> None:
    """Four LFP cells in 12 V as four in a pack: the same curve, the same share."""
    system = {"inverter": {"continuous_w": 500.0, "cutoff_voltage_v": 11.9}}
    load = [NEED | {"via": "inverter"}]
    block = found(case_of(plain_case, system=system, loads=load))[0]
    pack = found(plain_case(system=system, loads=load))[0]
    assert block.pack.cells_in_series == pack.pack.cells_in_series == 4
    assert block.below_cutoff == pytest.approx(pack.below_cutoff)
    assert 0.0 < block.below_cutoff < 1.0


@pytest.mark.parametrize(
    "changes", [{"system": {"mass_limit_kg": 60.0}}, {"space": {"width_mm": 700.0,
                "depth_mm": 250.0}}]
)  # fmt: skip
def test_what_is_too_heavy_or_too_large_anyway_is_not_missed(
    plain_case: Build, changes: dict[str, Any]
) -> None:
    case = case_of(
        plain_case,
        assumptions={"largest_bank_over_need": 20.0, "autonomy_days": 20.0, "max_packs": 2},
        **{"space": ROOM} | changes,
    )
    assert left_out(case) == ()


def test_packs_are_told_too(plain_case: Build) -> None:
    """100 Ah and no need of an end: four strings assumed, or three packs at most."""
    hungry = {"largest_bank_over_need": 20.0, "autonomy_days": 20.0}
    unstated = {"max_parallel": None}
    case = plain_case(space=ROOM, loads=[NEED], assumptions=hungry, candidate=unstated)
    assert left_out(case) == (LeftOut("Plain 100", "max_parallel", 4),)
    few = hungry | {"max_packs": 3}
    case = plain_case(space=ROOM, loads=[NEED], assumptions=few, candidate=unstated)
    assert left_out(case) == (LeftOut("Plain 100", "max_packs", 3),)


def test_cells_stand_in_the_rows_that_fit(plain_case: Build) -> None:
    """A long narrow locker takes one row, a square one takes two."""
    system = {"nominal_voltage_v": 24}
    narrow = case_of(plain_case, system=system, space={"width_mm": 700.0, "depth_mm": 220.0})
    first = found(narrow)[0].pack.block
    assert first is not None
    assert first.rows == 1
    square = case_of(plain_case, system=system, space={"width_mm": 400.0, "depth_mm": 400.0})
    first = found(square)[0].pack.block
    assert first is not None
    assert first.rows == 2


def test_the_same_arrangement_under_another_price(plain_case: Build) -> None:
    case = case_of(plain_case)
    old = found(case)[-1]
    dear = case.model_copy(
        update={"candidates": (case.candidates[0].model_copy(update={"price": 100.0}),)}
    )
    new = again(dear, old)
    assert new.label == old.label
    assert new.pack.price - old.pack.price == pytest.approx(old.pack.pieces * 32.0)
    assert again(case, old) == old
    with pytest.raises(LookupError, match="no management unit called 'Warden'"):
        again(case.model_copy(update={"management_units": ()}), old)
    with pytest.raises(LookupError, match="no candidate called 'Ridge 280'"):
        again(case.model_copy(update={"candidates": ()}), old)


def test_a_unit_that_is_there_is_not_bought(plain_case: Build) -> None:
    hungry = {"largest_bank_over_need": 20.0, "autonomy_days": 20.0}

    def units(there: int) -> list[int]:
        case = case_of(plain_case, units=(UNIT | {"there": there},), assumptions=hungry)
        strings = [a for a in found(case) if "4S1P" in a.layout]
        wanted = "management unit Warden"
        return [sum(p.quantity for p in block_parts(a) if p.part == wanted) for a in strings]

    assert units(0) == [1, 2, 3, 4]
    assert units(1) == [0, 1, 2, 3]
    assert units(3) == [0, 0, 0, 1]


def test_cells_take_their_own_work(plain_case: Build) -> None:
    case = case_of(plain_case)
    cells = found(case)[0]
    assert built_in_minutes(case.prices, cells) == 4 * 15.0
    assert joints(cells) == 8
    packs = found(plain_case())[0]
    assert (built_in_minutes(case.prices, packs), joints(packs), block_parts(packs)) == (0.0, 0, ())
