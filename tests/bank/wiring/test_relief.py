"""A main cable that loses a little too much: relieved by thicker leads, or bought anew."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import specify
from tests.conftest import build_plain_case


def wired(
    size: str = "35 mm2", *, run_m: float = 2.0, series: int = 1, parallel: int = 2, **changes: Any
) -> Wiring:
    part = {"name": "old", "kind": "main cable", "size": size, "length_m": 40.0,
            "insulation_degc": 105, **changes.pop("part", {})}  # fmt: skip
    system = {"cable_run_m": run_m, "nominal_voltage_v": 12 * series, "parts": [part],
              **changes.pop("system", {})}  # fmt: skip
    case = build_plain_case(
        system=system,
        sources={"solar": []},
        candidate={"short_circuit_a": 1_420.0},
        **changes,
    )
    arrangement = Arrangement(specify(case.candidates[0]), series, parallel)
    return wire(case, arrangement, current_a=100.0)


def net(wiring: Wiring) -> float:
    return wiring.cost - sum(decision.value for decision in wiring.parts)


def test_thicker_leads_relieve_a_main_cable_where_that_is_cheaper() -> None:
    """100 A over 2 m of 35 mm2 lose 0.27 V of the 0.36 V that 3 % of 12 V allow; leads of 10 mm2
    leave less, leads of 16 mm2 enough."""
    made = wired()
    (old,) = made.parts
    assert old.decision == "keep"
    assert "string leads of 16 mm2 in place of 10 mm2 relieve it" in old.reason
    assert "with a new main cable" in old.reason
    assert {c.conductor.label for c in made.circuit.of_role("lead")} == {"16 mm2"}
    assert {c.conductor.label for c in made.circuit.of_role("main")} == {"35 mm2"}
    rid = wired(part={"wish": "be rid of"})
    assert {c.conductor.label for c in rid.circuit.of_role("lead")} == {"10 mm2"}
    assert net(made) < net(rid)


def test_where_leads_cost_more_a_new_main_cable_is_bought_and_that_is_said() -> None:
    dear = [{"size": "16 mm2", "price_per_m": 4.0, "lug_price": 40.0}]
    made = wired(prices={"conductors": dear})
    (old,) = made.parts
    assert old.decision == "replace"
    assert "string leads of 16 mm2 in place of 10 mm2 would relieve it, but" in old.reason
    assert {c.conductor.label for c in made.circuit.of_role("lead")} == {"10 mm2"}


@pytest.mark.parametrize(
    ("series", "parallel", "system", "run_m", "size", "thicker"),
    [
        (2, 2, {}, 3.0, "25 mm2", "series links of 16 mm2"),
        (1, 3, {"take_off": "diagonal"}, 3.5, "50 mm2", "jumpers of 50 mm2"),
    ],
)
def test_links_and_jumpers_may_relieve_it_too(
    series: int, parallel: int, system: dict[str, Any], run_m: float, size: str, thicker: str
) -> None:
    made = wired(size, run_m=run_m, series=series, parallel=parallel, system=system)
    assert made.parts[0].decision == "keep"
    assert thicker in made.parts[0].reason


@pytest.mark.parametrize(
    "part",
    [
        {"size": "16 mm2"},  # it carries too little as well
        {"size": None},
        {"length_m": 3.9},
        {"wish": "be rid of"},
    ],
)
def test_what_fails_by_more_than_its_drop_is_not_relieved(part: dict[str, Any]) -> None:
    made = wired(part=part)
    assert made.parts[0].decision == "replace"
    assert "relieve" not in made.parts[0].reason


def test_cables_too_stiff_for_the_room_at_the_terminals_relieve_nothing() -> None:
    """Or packs that fit with a new main cable would no longer fit. Leads of 16 mm2 bend wider than
    those of 10 mm2, which is room enough in a space that keeps it free."""
    wide = wired(space={"clearance_top_mm": 60.0})
    tight = wired(space={"clearance_top_mm": 1.0})
    assert wide.parts[0].decision == "keep"
    assert tight.parts[0].decision == "replace"
    assert tight.circuit.bend_radius_mm < wide.circuit.bend_radius_mm


def test_one_pack_has_nothing_to_make_thicker() -> None:
    made = wired(run_m=3.0, parallel=1)
    assert made.parts[0].decision == "replace"
    assert "relieve" not in made.parts[0].reason


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    size=st.sampled_from(["16 mm2", "25 mm2", "35 mm2", "50 mm2", "70 mm2"]),
    run_m=st.floats(0.5, 5.0),
    series=st.sampled_from([1, 2]),
    parallel=st.integers(1, 4),
    take_off=st.sampled_from(["busbars", "diagonal", "one end"]),
    lug_price=st.floats(0.1, 60.0),
)
def test_an_old_main_cable_never_makes_the_wiring_dearer_and_the_drop_is_kept(
    size: str, run_m: float, series: int, parallel: int, take_off: str, lug_price: float
) -> None:
    more: dict[str, Any] = {
        "run_m": run_m, "series": series, "parallel": parallel,
        "system": {"take_off": take_off},
        "prices": {"conductors": [{"size": "16 mm2", "price_per_m": 4.0, "lug_price": lug_price}]},
    }  # fmt: skip
    try:
        made, new = wired(size, **more), wired(size, part={"wish": "be rid of"}, **more)
    except CannotWire:
        return
    assert net(made) <= net(new) + 0.01
    lost_v = sum(cable.drop_v for cable in made.circuit.of_role("main"))
    lost_v += sum(made.circuit.bank_drops_v.values())
    assert lost_v <= 0.03 * 12 * series * (1 + 1e-6)
