"""The bill: everything bought once, priced, and tied to its place in the circuit."""

from collections import Counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.bill import KEPT_END_EFFORT, LABOUR
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import specify
from tests.conftest import build_plain_case


def wired(amps: float = 100.0, series: int = 1, parallel: int = 1, **changes: Any) -> Wiring:
    system = {"nominal_voltage_v": 12 * series, **changes.pop("system", {})}
    case = build_plain_case(system=system, sources={"solar": []}, **changes)
    return wire(case, Arrangement(specify(case.candidates[0]), series, parallel), current_a=amps)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    amps=st.floats(1.0, 300.0),
    series=st.integers(1, 4),
    parallel=st.integers(1, 6),
    take_off=st.sampled_from(["busbars", "diagonal", "one end"]),
    metres=st.floats(0.5, 4.0),
)
def test_the_bill_adds_up_and_covers_every_piece(
    amps: float, series: int, parallel: int, take_off: str, metres: float
) -> None:
    system = {"take_off": take_off, "cable_run_m": metres}
    try:
        wiring = wired(amps, series, parallel, system=system)
    except CannotWire:
        return
    assert wiring.cost == pytest.approx(sum(x.quantity * x.unit_price for x in wiring.bill))
    assert all(line.quantity > 0 and line.unit_price >= 0 for line in wiring.bill)
    names = [line.part for line in wiring.bill]
    assert len(names) == len(set(names)), "one line for each part"
    served = Counter(key for line in wiring.bill for key in line.serves)
    for cable in wiring.circuit.cables:
        assert served[cable.key] == 2, f"{cable.key}: its cable and its lugs"
    for device in wiring.circuit.devices:
        assert served[device.key] == (2 if "fuse" in device.kind else 1), device.key
    # cable: all of it and a tenth to spare, no more than the rounding to a tenth of a metre over
    metres_needed = sum(c.length_m * c.choice.runs for c in wiring.circuit.cables)
    bought = [line.quantity for line in wiring.bill if line.part.startswith("cable")]
    assert 1.1 * metres_needed - 1e-6 <= sum(bought) <= 1.1 * metres_needed + 0.1 * len(bought)
    lugs = sum(line.quantity for line in wiring.bill if line.part.startswith("lug"))
    assert lugs == wiring.connections


def test_negative_cable_is_black_and_positive_red() -> None:
    wiring = wired(parallel=2)
    for line in wiring.bill:
        if line.part.startswith("cable"):
            sides = {key.split(" to ")[0][-1] for key in line.serves}
            assert sides == ({"-"} if "black" in line.part else {"+"})


def test_the_ends_of_a_cable_that_stays_take_part_of_the_time() -> None:
    parts = [{"name": "it", "kind": "main cable", "size": "95 mm2", "length_m": 9.0}]
    prices = {"minutes_per_termination": 10.0, "minutes_per_pack": 0.0,
              "minutes_per_kg_lifted": 0.0}  # fmt: skip
    new = wired(prices=prices)
    old = wired(prices=prices, system={"parts": parts})
    assert new.labour_hours == pytest.approx(8 * 10 / 60, abs=0.005)
    assert old.labour_hours == pytest.approx(8 * 10 * KEPT_END_EFFORT / 60, abs=0.005)


def test_what_is_replaced_takes_its_own_price() -> None:
    def of(**part: Any) -> dict[str, float]:
        wiring = wired(parallel=2, system={"parts": [{"name": "it", **part}]})
        return {line.part: line.cost for line in wiring.bill}

    assert of(kind="switch", rating_a=10.0, price=51.0)["battery switch"] == 51.0
    assert of(kind="busbars", rating_a=10.0, price=51.0)["busbar"] == 51.0  # for the pair
    assert "battery switch" not in of(kind="switch", rating_a=500.0, price=51.0)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    amps=st.floats(20.0, 240.0),
    metres=st.floats(0.5, 4.0),
    take_off=st.sampled_from(["busbars", "diagonal", "one end"]),
    sizes=st.sampled_from(["mm2", "awg"]),
)
def test_four_packs_of_the_same_amp_hours_always_cost_more_to_wire_than_one(
    amps: float, metres: float, take_off: str, sizes: str
) -> None:
    system = {"cable_run_m": metres, "take_off": take_off, "conductor_sizes": sizes}
    large = {
        "capacity_ah": 400.0,
        "internal_resistance_mohm": 2.5,
        "mass_kg": 44.0,
        "width_mm": 660.0,
        "depth_mm": 344.0,
    }
    try:
        four = wired(amps, 1, 4, system=system)
    except CannotWire:
        return
    one = wired(amps, system=system, candidate=large)
    assert four.cost > one.cost
    assert four.connections > one.connections
    assert four.labour_hours > one.labour_hours
    parts = [w.cost - w.labour_cost for w in (four, one)]
    assert parts[0] > parts[1]
    # pack resistance together is equal, so whatever the strings add is their leads' and fuses'
    assert four.circuit.sharing.bank_ohm > one.circuit.sharing.bank_ohm


def test_labour_is_the_last_line_and_in_hours() -> None:
    assert (wired().bill[-1].part, wired().bill[-1].unit) == (LABOUR, "h")
