"""The circuit as a whole: every fuse protects what is behind it, whatever the bank."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.circuit import Circuit, ReusedParts, circuit
from tco.bank.wiring.circuit_parts import bend_radius_mm, outside_diameter_mm
from tco.bank.wiring.sizing import CannotWire
from tco.case import Case, specify
from tco.physics.ampacity import ampacity_a
from tco.physics.conductor_sizes import AWG_SIZES, MM2_SIZES, find_conductor
from tco.physics.conductors import resistance_ohm
from tco.physics.fuse_classes import interrupt_rating_a
from tco.physics.network import Resistor, Source, solve
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
    soft = {"short_circuit_a": 1_420.0}  # eight strong ones are beyond every fuse
    made = built(amps=60.0, parallel=parallel, system={"take_off": take_off}, candidate=soft)
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


def cold_ohm(cable: Any) -> float:
    """Copper at 20 degC and two joints of 19 micro-ohm (IEEE 450: good ones 19 to 48)."""
    copper = float(resistance_ohm(cable.conductor, cable.length_m, conductor_temperature_degc=20.0))
    return (copper + 2 * 19e-6) / cable.choice.runs


def test_a_string_fuse_sees_what_the_other_strings_drive() -> None:
    """Of four strings three feed a fault before the fourth's fuse, each through its own leads and
    all through the fourth's; the maker's short-circuit current is 1420 A: 10 milliohm at 14.2 V."""
    made = built(amps=60.0, parallel=4, candidate={"short_circuit_a": 1_420.0})
    ohm = {cable.key: cold_ohm(cable) for cable in made.cables}
    own = 0.010 + ohm["string 1 + to fuse"] + ohm["string 1 +"] + ohm["string 1 -"]
    assert made.string_fault_a == pytest.approx(14.2 / (own / 3 + ohm["string 1 +"]))
    assert built(amps=60.0).string_fault_a is None


def test_two_strings_a_fault_behind_the_fuse_is_the_harder_one() -> None:
    """The own string feeds it through nothing but the piece of cable before the fuse."""
    made = built(amps=60.0, parallel=2, candidate={"short_circuit_a": 1_420.0})
    piece = next(c for c in made.cables if c.key == "string 1 + to fuse")
    assert made.string_fault_a == pytest.approx(14.2 / (0.010 + cold_ohm(piece)))


@pytest.mark.parametrize("take_off", ["diagonal", "one end"])
@pytest.mark.parametrize("parallel", [2, 3, 5])
def test_no_fault_of_the_whole_network_passes_what_a_string_fuse_is_chosen_for(
    take_off: str, parallel: int
) -> None:
    """Every place of a short circuit tried by nodal analysis; the return counts as nothing."""
    soft = {"short_circuit_a": 1_420.0}
    made = built(amps=60.0, parallel=parallel, system={"take_off": take_off}, candidate=soft)
    ohm = {cable.key: cold_ohm(cable) for cable in made.cables}
    sources = [Source(f"string {n}", f"t{n}", "-", 14.2, 0.010) for n in range(1, parallel + 1)]
    worst = 0.0
    for k in range(1, parallel + 1):

        def at(n: int, short: int = k) -> str:
            return "-" if n == short else f"f{n}"

        # a short circuit at the fuse of string k: before it the others flow through, behind it k
        pieces = [
            Resistor(f"piece {n}", f"t{n}", at(n), ohm[f"string {n} + to fuse"])
            for n in range(1, parallel + 1)
        ]
        between = [
            Resistor(f"jumper {n}", at(n), at(n + 1), ohm[f"jumper {n} +"])
            for n in range(1, parallel)
        ]
        amps = solve([*pieces, *between], sources, [], reference="-").current_a
        others = amps.get(f"jumper {k - 1}", 0.0) - amps.get(f"jumper {k}", 0.0)
        worst = max(worst, others, amps[f"piece {k}"])
    assert made.string_fault_a is not None
    assert made.string_fault_a == pytest.approx(worst, rel=1e-9)


def test_kept_parts_take_the_place_of_new_ones(plain_case: Build) -> None:
    case = plain_case(sources={"solar": []})
    arrangement = Arrangement(specify(case.candidates[0]), 1, 1)
    new = circuit(case, arrangement, current_a=50.0)
    thick = find_conductor("95 mm2")
    choice = type(new.of_role("main")[0].choice)(thick, 1, "ampacity", 0.1, 385.0, 385.0)
    kept = circuit(case, arrangement, current_a=50.0, reused=ReusedParts(main_cable=choice))
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


@pytest.mark.parametrize(
    ("loads_a", "charger_a", "wired_a"),
    [(20.0, 40.0, 40.0), (20.0, 200.0, 50.0), (60.0, 40.0, 60.0)],
)
def test_a_circuit_carries_the_loads_or_what_the_packs_take_of_the_chargers(
    plain_case: Build, loads_a: float, charger_a: float, wired_a: float
) -> None:
    """The pack takes 50 A at most."""
    engine = [{"rating_a": charger_a, "hours_per_day": 1.0}]
    case = plain_case(sources={"solar": [], "engine": engine})
    arrangement = Arrangement(specify(case.candidates[0]), 1, 1)
    assert circuit(case, arrangement, current_a=loads_a).current_a == wired_a


def test_a_bank_without_loads_and_chargers_is_wired_for_an_ampere() -> None:
    assert built(amps=0.0).current_a == 1.0


def test_ohms_of_a_string_and_of_the_whole_by_hand() -> None:
    """Two strings of two packs of 10 milliohm; a fuse has 60 mV at its rating over it."""
    made = built(amps=80.0, series=2, parallel=2)
    ohm = {cable.key: cable.ohm for cable in made.cables}
    assert made.string_fuse is not None
    before_the_busbars = (
        2 * 0.010
        + ohm["string 1 link 1"]
        + ohm["string 1 + to fuse"]
        + 0.06 / made.string_fuse.rating_a
    )
    assert made.network.string_ohm == pytest.approx(before_the_busbars)
    leads = ohm["string 1 +"] + ohm["string 1 -"]
    assert made.network.lead_ohm == pytest.approx(leads / 2.0)
    main = sum(c.ohm for c in made.of_role("main")) + 0.06 / made.main_fuse.rating_a
    # two equal strings side by side, less their packs, and the main run
    assert made.ohm == pytest.approx((before_the_busbars + leads - 2 * 0.010) / 2.0 + main)


def test_leads_to_busbars_are_of_one_length() -> None:
    """0.30 m, and past half the width of the three other packs of 0.33 m."""
    length = {c.key: c.length_m for c in built(amps=80.0, parallel=4).cables}
    for n in range(1, 5):
        plus = length[f"string {n} + to fuse"] + length[f"string {n} +"]
        assert plus == pytest.approx(length[f"string {n} -"])
        assert plus == pytest.approx(0.30 + 0.33 * 3 / 2)


def lost_v(amps: float, cable: Any) -> float:
    ohm = resistance_ohm(cable.conductor, cable.length_m) / cable.choice.runs
    return float(amps * ohm)


def test_the_main_run_may_lose_what_the_bank_leaves_of_the_drop() -> None:
    """Four strings, 20 A each: with jumpers 60, 40 and 20 A flow in those of one side."""
    bars = built(amps=80.0, parallel=4)
    of_string = [c for c in bars.cables if c.key.startswith("string 1 ")]
    lost = sum(lost_v(20.0, cable) for cable in of_string)
    assert bars.main_drop_v == pytest.approx(0.03 * 12 - lost)
    diagonal = built(amps=80.0, parallel=4, system={"take_off": "diagonal"})
    piece, jumper = diagonal.of_role("lead")[0], diagonal.of_role("jumper")[0]
    lost = lost_v(20.0, piece) + sum(lost_v(amps, jumper) for amps in (60.0, 40.0, 20.0))
    assert diagonal.main_drop_v == pytest.approx(0.03 * 12 - lost)


def test_a_hot_space_and_a_bundle_take_from_what_a_cable_may_carry() -> None:
    """One space with the engine in it is enough: the run may pass through it."""
    locker = {"name": "locker", "width_mm": 900, "depth_mm": 500, "height_mm": 400}
    hot = {**locker, "name": "beside the engine", "engine_space": True}
    for system, ampacity in (
        ({}, {}),
        ({"spaces": [locker, hot]}, {"engine_space": True}),
        ({"bundled_conductors": 3}, {"bundled": 3}),
    ):
        (choice, *_) = [c.choice for c in built(amps=100.0, system=system).of_role("main")]
        assert choice.runs == 1
        assert choice.ampacity_a == pytest.approx(ampacity_a(choice.conductor, **ampacity))


def test_a_lead_may_lose_a_third_of_the_drop() -> None:
    """1.95 m out and back to the busbars: 0.12 V of the 0.36 V that 3 % of 12 V are."""
    wide = {"width_mm": 1100.0, "short_circuit_a": 1_420.0}
    made = built(amps=80.0, parallel=4, candidate=wide)
    lead = next(cable for cable in made.of_role("lead") if cable.key == "string 1 -")
    assert lead.length_m == pytest.approx(1.95)
    assert 0.06 < 2 * lost_v(lead.current_a, lead) <= 0.12


def test_links_that_lose_more_than_all_cables_may_are_refused(plain_case: Build) -> None:
    """Fifteen links between sixteen packs of 3.2 V, each for a third of 1 % of 48 V at most."""
    case = plain_case(
        system={"nominal_voltage_v": 48, "cable_run_m": 1.0},
        sources={"solar": []},
        candidate={
            "nominal_voltage_v": 3.2, "max_series": 16, "capacity_ah": 300.0, "width_mm": 600.0,
        },
        assumptions={"critical_drop": 0.01},
    )  # fmt: skip
    cells = Arrangement(specify(case.candidates[0]), 16, 1)
    with pytest.raises(CannotWire, match=r"within the bank alone lose 0\.\d\d V of the 0\.48 V"):
        circuit(case, cells, current_a=200.0)
