"""Branches in place: what their cables and fuses have to be for this bank."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.circuit import circuit
from tco.bank.wiring.feeds import FUSE_BLOCK, Feed, feeds
from tco.case import Case, specify
from tco.physics.conductors import resistance_ohm
from tests.conftest import build_plain_case


def of(direct_a: float = 0.0, *, parallel: int = 1, **changes: Any) -> tuple[Case, list[Feed]]:
    case = build_plain_case(**changes)
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    made = circuit(case, arrangement, current_a=50.0)
    return case, list(feeds(case, made, direct_loads_a=direct_a))


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
    for feed, allowed in zip(found, (0.10, 0.03), strict=True):
        if feed.choice is None:
            assert feed.problem
            continue
        ohm = 2 * float(resistance_ohm(feed.choice.conductor, feed.length_m)) / feed.choice.runs
        assert feed.current_a * ohm <= allowed * case.system.nominal_voltage_v * (1 + 1e-6)
        if feed.fuse is not None:
            assert feed.current_a <= 0.8 * feed.fuse.rating_a + 1e-6
            assert feed.fuse.rating_a <= feed.choice.ampacity_a + 1e-6


def test_a_branch_no_cable_serves_says_so_and_does_not_stop_the_rest() -> None:
    _, found = of(5.0, sources=engine(150.0, 60.0))
    assert [feed.choice is None for feed in found] == [False, True]
    assert "shorten the run" in found[1].problem


def test_the_fuse_block_may_lose_more_than_a_critical_circuit() -> None:
    """20 A over 5 m: 10 % of 12 V allowed (ABYC E-11), and no cable for 3 % is asked for."""
    _, (block, *_) = of(20.0, system={"cable_run_m": 5.0})
    assert block.choice is not None
    ohm = 2 * float(resistance_ohm(block.choice.conductor, 5.0)) / block.choice.runs
    assert 0.03 * 12 < 20.0 * ohm <= 0.10 * 12


def test_the_fuse_of_a_branch_is_judged_at_the_charging_voltage() -> None:
    """At 14.2 V a class that stops 10 kA up to 14 V stops half of that; ANL stops 6 kA."""
    case = build_plain_case(sources=engine(40.0))
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    assert made.charging_v == pytest.approx(4 * 3.55)
    (feed,) = feeds(case, replace(made, short_circuit_a=8_000.0), direct_loads_a=0.0)
    assert feed.fuse is not None
    assert feed.fuse.fuse_class.name == "class T"


def test_no_direct_loads_no_fuse_block() -> None:
    _, found = of(0.0)
    assert [feed.name for feed in found] == ["panel"]


def test_a_stiffer_bank_asks_for_a_fuse_that_stops_more() -> None:
    _, soft = of(sources=engine(20.0))
    _, stiff = of(sources=engine(20.0), parallel=4, candidate={"internal_resistance_mohm": 4.0})
    assert soft[0].fuse is not None
    assert stiff[0].fuse is not None
    assert soft[0].fuse.interrupt_a < stiff[0].fuse.interrupt_a


def test_a_bank_too_stiff_for_every_fuse_leaves_the_branch_without_one() -> None:
    """20 kA is the most a class of the tables stops; the fuse of the branch is then None."""
    case = build_plain_case(sources=engine(20.0))
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    (feed,) = feeds(case, replace(made, short_circuit_a=30_000.0), direct_loads_a=0.0)
    assert feed.fuse is None
    assert feed.choice is not None
    assert feed.problem
    assert feed.current_a == pytest.approx(20.0)


def test_a_bank_too_weak_to_open_a_fuse_leaves_the_branch_without_one() -> None:
    case = build_plain_case(sources=engine(20.0))
    made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 1), current_a=50.0)
    (feed,) = feeds(case, replace(made, short_circuit_a=15.0), direct_loads_a=0.0)
    assert (feed.choice is None, feed.fuse) == (False, None)
    assert feed.problem.startswith("a short circuit of 15 A could not open a fuse of the 25 A")
