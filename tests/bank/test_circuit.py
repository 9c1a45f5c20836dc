"""The circuit as a whole: every fuse protects what is behind it, whatever the bank."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.circuit import Circuit, Kept, circuit
from tco.bank.circuit_parts import bend_radius_mm, outside_diameter_mm
from tco.bank.sizing import CannotWire
from tco.case import Case, specify
from tco.physics.conductors import AWG_SIZES, MM2_SIZES, find_conductor, resistance_ohm
from tco.physics.fuses import interrupt_rating_a
from tests.conftest import build_plain_case

Build = Callable[..., Case]
TAKE_OFFS = st.sampled_from(["busbars", "diagonal", "one end"])


def built(
    *, amps: float, series: int = 1, parallel: int = 1, shunt: bool = False, **changes: Any
) -> Circuit:
    system = {"nominal_voltage_v": 12 * series, **changes.pop("system", {})}
    case = build_plain_case(system=system, sources={"solar": []}, **changes)
    arrangement = Arrangement(specify(case.candidates[0]), series, parallel)
    return circuit(case, arrangement, current_a=amps, with_shunt=shunt)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    amps=st.floats(1.0, 400.0),
    metres=st.floats(0.3, 5.0),
    series=st.integers(1, 4),
    parallel=st.integers(1, 8),
    take_off=TAKE_OFFS,
    sizes=st.sampled_from(["mm2", "awg"]),
    bundled=st.sampled_from([1, 3]),
    milliohm=st.floats(1.5, 30.0),
    shunt=st.booleans(),
)
def test_every_fuse_carries_the_load_protects_its_conductors_and_stops_its_short_circuit(
    amps: float, metres: float, series: int, parallel: int, take_off: str, sizes: str,
    bundled: int, milliohm: float, shunt: bool,
) -> None:  # fmt: skip
    system = {
        "cable_run_m": metres,
        "take_off": take_off,
        "conductor_sizes": sizes,
        "bundled_conductors": bundled,
    }
    try:
        made = built(
            amps=amps, series=series, parallel=parallel, shunt=shunt, system=system,
            candidate={"internal_resistance_mohm": milliohm},
        )  # fmt: skip
    except CannotWire:
        assume(False)
        raise
    main, string = made.main_fuse, made.string_fuse
    assert 0.8 * main.rating_a >= made.current_a - 1e-6
    for fuse, fault in ((main, made.short_circuit_a), (string, made.string_fault_a)):
        if fuse is not None and fault is not None:
            assert made.charging_v <= fuse.fuse_class.max_voltage_v
            assert interrupt_rating_a(fuse.fuse_class, made.charging_v) >= fault
    for cable in made.cables:
        if cable.role == "main":
            assert cable.choice.ampacity_a >= main.rating_a - 1e-6, cable.key
        elif cable.role == "jumper":
            # fed through the fuses of all strings behind it
            assert string is not None
            assert cable.choice.ampacity_a >= (parallel - 1) * string.rating_a - 1e-6
        else:
            guard = main if string is None else string
            assert cable.choice.ampacity_a >= guard.rating_a - 1e-6, cable.key
            assert 0.8 * guard.rating_a >= cable.current_a - 1e-6
    # by hand: every connection is the end of a cable
    assert made.connections == sum(2 * cable.choice.runs for cable in made.cables)
    assert sum(made.sharing.share) == pytest.approx(1.0)
    # the drop from packs to inverter keeps to 3 %, along the path of the first string's current
    path = sum(
        float(resistance_ohm(c.conductor, c.length_m)) / c.choice.runs
        for c in made.cables
        if c.role == "main"
    )
    assert made.current_a * path <= made.main_drop_v + 1e-6
    assert made.main_drop_v <= 0.03 * 12 * series


@given(parallel=st.integers(2, 8), take_off=TAKE_OFFS)
@settings(max_examples=30, deadline=None)
def test_the_cables_are_those_the_take_off_needs(parallel: int, take_off: str) -> None:
    made = built(amps=60.0, parallel=parallel, system={"take_off": take_off})
    leads, jumpers = made.of_role("lead"), made.of_role("jumper")
    if take_off == "busbars":
        assert (len(leads), len(jumpers)) == (3 * parallel, 0)
    else:
        assert (len(leads), len(jumpers)) == (parallel, 2 * (parallel - 1))
    shares = made.sharing.share
    assert max(shares) >= 1.0 / parallel - 1e-12
    if take_off == "busbars":
        assert shares == pytest.approx([1.0 / parallel] * parallel)


def test_one_end_loads_the_nearest_string_most_and_diagonal_evens_it_out() -> None:
    one_end = built(amps=100.0, parallel=4, system={"take_off": "one end"}).sharing
    diagonal = built(amps=100.0, parallel=4, system={"take_off": "diagonal"}).sharing
    assert one_end.hardest == 0
    assert list(one_end.share) == sorted(one_end.share, reverse=True)
    assert diagonal.unevenness < one_end.unevenness
    assert diagonal.share[0] == pytest.approx(diagonal.share[3])


def test_a_shunt_adds_a_piece_and_two_ends_on_the_negative() -> None:
    without, with_it = built(amps=60.0), built(amps=60.0, shunt=True)
    assert with_it.connections == without.connections + 2
    assert [d.kind for d in with_it.devices].count("shunt") == 1
    length = [sum(c.length_m for c in made.cables) for made in (without, with_it)]
    assert length[0] == pytest.approx(length[1])


def test_a_string_fuse_sees_what_the_other_strings_drive() -> None:
    """Of four strings three feed a fault before the fourth's fuse: three quarters of the whole."""
    made = built(amps=60.0, parallel=4)
    whole = 4 * 3.55 / (0.010 / 4 + 2 * 60e-6)  # without leads
    assert made.string_fault_a == pytest.approx(0.75 * whole)
    assert built(amps=60.0).string_fault_a is None


def test_kept_parts_take_the_place_of_new_ones(plain_case: Build) -> None:
    case = plain_case(sources={"solar": []})
    arrangement = Arrangement(specify(case.candidates[0]), 1, 1)
    new = circuit(case, arrangement, current_a=50.0)
    thick = find_conductor("95 mm2")
    choice = type(new.of_role("main")[0].choice)(thick, 1, "ampacity", 0.1, 385.0)
    kept = circuit(case, arrangement, current_a=50.0, kept=Kept(main_cable=choice))
    assert {c.conductor for c in kept.of_role("main")} == {thick}
    assert kept.ohm < new.ohm
    assert kept.main_fuse == new.main_fuse


@pytest.mark.parametrize("label", ["10 mm2", "35 mm2", "70 mm2", "120 mm2"])
def test_outside_diameters_are_near_those_of_single_core_cable(label: str) -> None:
    """H07V-K overall diameters, mean of the limits of EN 50525-2-31, from memory; within 10 %."""
    memory = {"10 mm2": 6.6, "35 mm2": 11.1, "70 mm2": 14.9, "120 mm2": 18.8}
    assert outside_diameter_mm(find_conductor(label)) == pytest.approx(memory[label], rel=0.10)


@pytest.mark.parametrize("sizes", [AWG_SIZES, MM2_SIZES])
def test_thicker_cable_bends_less(sizes: Any) -> None:
    radii = [bend_radius_mm(conductor) for conductor in sizes]
    assert radii == sorted(radii)
    # two to four times the outside diameter (HD 516 S2, from memory)
    for conductor, radius in zip(sizes, radii, strict=True):
        assert 2.0 <= radius / outside_diameter_mm(conductor) <= 4.0


def test_the_bend_counted_is_of_the_thickest_cable_on_a_pack() -> None:
    """With busbars the main run does not end on a pack; without, it does."""
    alone = built(amps=200.0)
    assert alone.bend_radius_mm == bend_radius_mm(alone.of_role("main")[0].conductor)
    bars = built(amps=200.0, parallel=4)
    assert bars.bend_radius_mm == bend_radius_mm(bars.of_role("lead")[0].conductor)
    assert bars.bend_radius_mm < bend_radius_mm(bars.of_role("main")[0].conductor)
    jumpers = built(amps=200.0, parallel=4, system={"take_off": "diagonal"})
    assert jumpers.bend_radius_mm == bend_radius_mm(jumpers.of_role("main")[0].conductor)


def test_heat_follows_ohms_law() -> None:
    made = built(amps=80.0, parallel=2)
    assert made.heat_w == pytest.approx(made.ohm * 80.0**2)
