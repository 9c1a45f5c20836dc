"""Branches in place: what their cables and fuses have to be for this bank."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.circuit import circuit
from tco.bank.wiring.faults import Fault
from tco.bank.wiring.feeds import FUSE_BLOCK, Feed, feeds
from tco.case import Case, specify
from tco.physics.conductors import resistance_ohm
from tests.conftest import build_plain_case


def of(direct_a: float = 0.0, *, parallel: int = 1, **changes: Any) -> tuple[Case, list[Feed]]:
    """Branches with direct loads of a current at the cut-off voltage, 10.5 V."""
    case = dark_case(direct_a, **changes)
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    made = circuit(case, arrangement, current_a=50.0)
    return case, list(feeds(case, made))


def dark_case(direct_a: float = 0.0, **changes: Any) -> Case:
    lamp = {"name": "lamp", "power_w": 10.5 * direct_a, "hours_per_day": 1.0}
    return build_plain_case(loads=[lamp] if direct_a else [], **changes)


def engine(rating_a: float, metres: float = 3.0) -> dict[str, Any]:
    return {
        "solar": [],
        "engine": [
            {"name": "DC-DC", "rating_a": rating_a, "hours_per_day": 1.0, "cable_run_m": metres}
        ],
    }


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(amps=st.floats(1.0, 200.0), metres=st.floats(0.5, 8.0), direct_a=st.floats(0.5, 80.0))
def test_branches_keep_to_their_drop_and_their_fuses_to_their_cables(
    amps: float, metres: float, direct_a: float
) -> None:
    case, found = of(direct_a, sources=engine(amps, metres))
    assert [feed.name for feed in found] == [FUSE_BLOCK, "DC-DC"]
    for feed, allowed in zip(found, (0.03, 0.03), strict=True):
        if feed.choice is None:
            assert feed.problem
            continue
        ohm = 2 * float(resistance_ohm(feed.choice.conductor, feed.length_m)) / feed.choice.runs
        assert feed.current_a * ohm <= allowed * case.system.nominal_voltage_v * (1 + 1e-6)
        if feed.fuse is not None:
            assert feed.current_a <= 0.8 * feed.fuse.rating_a + 1e-6
            assert feed.fuse.rating_a <= feed.choice.ampacity_a + 1e-6
            assert feed.fuse.interrupt_a >= feed.fault_a


def test_a_branch_no_cable_serves_says_so_and_does_not_stop_the_rest() -> None:
    _, found = of(5.0, sources=engine(150.0, 60.0))
    assert [feed.choice is None for feed in found] == [False, True]
    assert "shorten the run" in found[1].problem


def test_the_feeder_of_the_fuse_block_is_a_critical_circuit() -> None:
    """20 A over 5 m: main feeders of panels lose 3 % at most (ABYC E-11)."""
    _, (block, *_) = of(20.0, system={"cable_run_m": 5.0})
    assert block.choice is not None
    ohm = 2 * float(resistance_ohm(block.choice.conductor, 5.0)) / block.choice.runs
    assert 20.0 * ohm <= 0.03 * 12


@pytest.mark.parametrize("changes", [{"space": {"engine_space": True}},
                                     {"system": {"bundled_conductors": 3}}])  # fmt: skip
def test_branches_are_corrected_as_the_main_run_is(changes: Any) -> None:
    """48 A over 0.3 m: by ampacity, and hot or bundled cable carries less. A fuse of 60 A takes
    60 A of cable: 10 AWG bears that outside engine spaces, 51 A inside (ABYC E-11)."""
    plain = {"sources": engine(48.0, 0.3), "candidate": {"short_circuit_a": 1_420.0}}
    _, (cool,) = of(**plain)
    _, (worse,) = of(**plain, **changes)
    assert cool.choice is not None
    assert worse.choice is not None
    assert worse.choice.conductor.area_mm2 > cool.choice.conductor.area_mm2
    assert worse.fuse is not None
    assert worse.fuse.rating_a <= worse.choice.ampacity_a


def test_the_main_run_takes_from_the_short_circuit_of_a_branch() -> None:
    """By hand: the maker's 1420 A at 14.2 V is 10 milliohm, with two good joints 10.038; the main
    run adds copper at 20 degC and two joints of each of its pieces."""
    case = dark_case(sources=engine(20.0), candidate={"short_circuit_a": 1_420.0})
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    main = made.of_role("main")
    copper = sum(
        float(resistance_ohm(c.conductor, c.length_m, conductor_temperature_degc=20.0))
        for c in main
    )
    (feed,) = feeds(case, made)
    run = copper + len(main) * 2 * 19e-6
    assert feed.fault_a == pytest.approx(14.2 / (0.010038 + run) + 20.0)
    assert feed.fuse is not None
    assert feed.fuse.fuse_class.name == "blade"  # a thousand amperes, and 780 can flow
    assert 700 < feed.fault_a < 1_000


def test_the_inverter_hangs_on_the_main_run_and_its_fuse() -> None:
    case = dark_case(
        sources=engine(20.0), system={"inverter": {"continuous_w": 500.0, "efficiency": 0.9}}
    )
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=60.0)
    inverter, _ = feeds(case, made)
    assert inverter.of_main_run
    assert inverter.current_a == pytest.approx(500.0 / 0.9 / 10.5)
    assert inverter.choice == made.of_role("main")[0].choice
    assert inverter.fuse == made.main_fuse


def test_the_fuse_of_a_branch_is_judged_at_the_charging_voltage() -> None:
    """At 14.2 V a class that stops 10 kA up to 14 V stops half of that; ANL stops 6 kA."""
    case = dark_case(sources=engine(40.0), system={"cable_run_m": 0.1})
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    assert made.charging_v == pytest.approx(4 * 3.55)
    hard = replace(made, terminals=Fault(11_000.0, 1_000.0))
    assert 6_000 < hard.at_distribution().most_a < 10_000
    (feed,) = feeds(case, hard)
    assert feed.fuse is not None
    assert feed.fuse.fuse_class.name == "gPV"


def test_no_direct_loads_no_fuse_block() -> None:
    _, found = of(0.0)
    assert [feed.name for feed in found] == ["panel"]


def test_a_stiffer_bank_asks_for_a_fuse_that_stops_more() -> None:
    _, soft = of(sources=engine(20.0), candidate={"short_circuit_a": 1_420.0})
    _, stiff = of(sources=engine(20.0), parallel=4, candidate={"short_circuit_a": 7_000.0})
    assert soft[0].fuse is not None
    assert stiff[0].fuse is not None
    assert soft[0].fuse.interrupt_a < stiff[0].fuse.interrupt_a


def test_a_bank_too_stiff_for_every_fuse_leaves_the_branch_without_one() -> None:
    """50 kA is the most a class of the tables stops; the fuse of the branch is then None."""
    case = dark_case(sources=engine(20.0), system={"cable_run_m": 0.1})
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    thick = [replace(c, length_m=1e-4) for c in made.cables[:1]]
    hard = replace(made, cables=tuple(thick), terminals=Fault(90_000.0, 1_000.0))
    (feed,) = feeds(case, hard)
    assert feed.fuse is None
    assert feed.choice is not None
    assert feed.problem
    assert feed.current_a == pytest.approx(20.0)


def test_a_bank_too_weak_to_open_a_fuse_leaves_the_branch_without_one() -> None:
    case = dark_case(sources=engine(20.0))
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    weak = replace(made, terminals=Fault(15.0, 15.0))
    (feed,) = feeds(case, weak)
    assert (feed.choice is None, feed.fuse) == (False, None)
    assert feed.problem.startswith("a short circuit of 15 A could not open a fuse of the 25 A")


def test_a_load_with_a_cable_of_its_own_may_lose_ten_per_cent() -> None:
    """ABYC E-11: circuits that are not critical lose 10 % at most; 20 A over 5 m out and back."""
    windlass = {"name": "windlass", "power_w": 210.0, "hours_per_day": 0.1, "cable_run_m": 5.0}
    case = build_plain_case(loads=[windlass], sources={"solar": []})
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    (feed,) = feeds(case, made)
    assert (feed.name, feed.current_a) == ("windlass", pytest.approx(20.0))
    assert feed.choice is not None
    ohm = 2 * float(resistance_ohm(feed.choice.conductor, 5.0)) / feed.choice.runs
    assert 0.03 * 12 < 20.0 * ohm <= 0.10 * 12


def test_branches_in_place_are_not_trusted_for_more_than_they_say() -> None:
    """Of unknown insulation they are taken as PVC for 70 degC; new cable as 105."""
    _, (feed,) = of(sources=engine(48.0, 0.3))
    assert feed.choice is not None
    assert feed.choice.insulation_degc == 70
    _, (marked,) = of(sources=engine(48.0, 0.3), system={"insulation_degc": 105})
    assert marked.choice is not None
    assert marked.choice.insulation_degc == 105
    assert marked.choice.conductor.area_mm2 < feed.choice.conductor.area_mm2


def test_small_branches_keep_to_the_nec_where_the_case_follows_it() -> None:
    """NEC 240.4(D): 14 AWG is fused at 15 A at most, 12 AWG 20 A, 10 AWG 30 A. 12 A ask for 15 A
    (80 %, NEC 210.20(A)), 13 A for 20 A."""
    nec = {"wiring_code": "NEC", "conductor_sizes": "awg", "insulation_degc": 75}
    soft = {"short_circuit_a": 1_000.0}
    found = []
    for amps in (12.0, 13.0, 23.0):
        _, (feed,) = of(sources=engine(amps, 0.3), system=nec, candidate=soft)
        assert feed.choice is not None
        assert feed.fuse is not None
        found.append((feed.choice.conductor.label, feed.fuse.rating_a))
    assert found == [("14 AWG", 15.0), ("12 AWG", 20.0), ("10 AWG", 30.0)]
