"""One and several packs of the same energy: honestly different, both sides counted."""

import pytest

from tco.bank.wiring.sharing import Limits, usable_current_a
from tco.case import read_case
from tco.compare import Comparison, compare
from tco.report.wiring.one_and_many import layouts_side_by_side
from tco.result import Result
from tests.conftest import build_plain_case
from tests.screens.helpers import ROOT


@pytest.fixture(scope="module")
def otterbank() -> Comparison:
    return compare(read_case(ROOT / "candidates_demo" / "otterbank.toml"))


def of(comparison: Comparison, start: str, layout: str) -> Result:
    return next(
        r
        for r in comparison.results
        if r.arrangement.pack.name == start and r.arrangement.layout == layout
    )


def test_one_two_and_four_packs_of_the_same_energy_on_the_demo(otterbank: Comparison) -> None:
    one = of(otterbank, "Thrift 24-200 Tower", "1S1P")
    two = of(otterbank, "Thrift 24-100", "1S2P")
    four = of(otterbank, "Thrift 12-100", "2S2P")
    rows = layouts_side_by_side(otterbank, [one, two, four])
    assert [row.packs for row in rows] == [1, 2, 4]
    assert {round(row.energy_kwh, 2) for row in rows} == {5.12}
    # what more packs cost: strictly more of each
    for name in ("connections", "wiring_cost", "labour_hours", "check_minutes_per_year"):
        values = [getattr(row, name) for row in rows]
        assert values[0] < values[1] < values[2], name
    # what parallel gives: half the energy stays, nobody sits in the dark for a failure
    assert [row.share_left for row in rows] == [0.0, 0.5, 0.5]
    assert rows[0].dark_days_per_failure > 5.0
    assert rows[1].dark_days_per_failure < 0.01
    assert rows[2].dark_days_per_failure < 0.01
    assert rows[0].usable_a_string_out == 0.0
    assert rows[0].carries_on_string_out is False
    # lighter lifts and a cheaper spare
    lifts, spares = ([getattr(r, n) for r in rows] for n in ("heaviest_lift_kg", "spare_price"))
    assert lifts[0] > lifts[1] > lifts[2]
    assert spares[0] > spares[1] > spares[2]


@pytest.mark.parametrize("amps_w", [600.0, 1200.0])
def test_the_same_cells_in_one_case_or_in_four(amps_w: float) -> None:
    """400 Ah as one pack, or as four of 100 Ah whose resistance together is the same."""
    shared = {
        "system": {
            "inverter": {"name": "inverter", "continuous_w": amps_w, "efficiency": 0.9},
            "spaces": [{"name": "hold", "width_mm": 3000, "depth_mm": 900, "height_mm": 600}],
        },
        "assumptions": {"largest_bank_over_need": 20.0, "weather_years": 1},
    }
    small = build_plain_case(**shared, candidate={"mass_kg": 11.0})
    large = build_plain_case(
        **shared,
        candidate={
            "capacity_ah": 400.0,
            "internal_resistance_mohm": 2.5,
            "mass_kg": 44.0,
            "continuous_discharge_a": 400.0,
            "peak_discharge_a": 800.0,
            "continuous_charge_a": 200.0,
            "price": 1600.0,
            "width_mm": 660.0,
            "depth_mm": 344.0,
        },
    )
    many_at, one_at = compare(small), compare(large)
    (many,) = layouts_side_by_side(many_at, [of(many_at, "Plain 100", "1S4P")])
    (one,) = layouts_side_by_side(one_at, [of(one_at, "Plain 100", "1S1P")])
    assert many.energy_kwh == one.energy_kwh
    assert None not in (many.wiring_cost, one.wiring_cost, many.heat_w, one.heat_w)
    assert many.wiring_cost > 2.0 * one.wiring_cost  # type: ignore[operator]
    # one: 8 ends; four: 8 of the main run and, for each string, 6 of its leads
    assert (one.connections, many.connections) == (8, 8 + 4 * 6)
    assert many.labour_hours > 2.0 * one.labour_hours  # type: ignore[operator]
    # heat is I squared R at one current for both
    for row, at in ((one, one_at), (many, many_at)):
        assert row.heat_w == pytest.approx(
            row.resistance_milliohm / 1000.0 * at.required_current_a**2  # type: ignore[operator]
        )
    # with one of four equal strings out, three times 100 A are left, less where their fuses or the
    # main fuse carry less for long; with the only one out, nothing
    parted = of(many_at, "Plain 100", "1S4P").wiring
    assert parted is not None
    assert parted.string_fuse is not None
    fuses_a = (3 * 0.8 * parted.string_fuse.rating_a, 0.8 * parted.main_fuse.rating_a)
    assert many.usable_a_string_out == pytest.approx(min(300.0, *fuses_a))
    # the strings' fuses are for a quarter of the load with a margin, not for a third of it
    needed = many_at.required_current_a
    assert many.carries_on_string_out is (min(300.0, *fuses_a) >= needed)
    assert (one.usable_a_string_out, many.share_left, one.share_left) == (0.0, 0.75, 0.0)
    assert (one.heaviest_lift_kg, many.heaviest_lift_kg) == (44.0, 11.0)
    # four packs fail more often than one
    assert many.failures_per_year > one.failures_per_year
    wiring = of(many_at, "Plain 100", "1S4P").wiring
    assert wiring is not None
    assert usable_current_a(wiring.circuit.network, Limits(100.0)) == pytest.approx(400.0)


def test_what_cannot_be_wired_has_no_wiring_figures() -> None:
    comparison = compare(
        build_plain_case(
            system={
                "cable_run_m": 90.0,
                "inverter": {"name": "inverter", "continuous_w": 3000.0, "efficiency": 0.9},
            }
        )
    )
    row = layouts_side_by_side(comparison, comparison.results[:1])[0]
    assert row.connections is None
    assert row.heat_w is None
    assert row.usable_a_string_out is None
    assert row.spare_price == 400.0
