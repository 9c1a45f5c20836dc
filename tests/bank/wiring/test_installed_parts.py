"""Old parts: what stays is strong enough, what goes says why, and what it is worth."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.checks.alternators import needs_alternator_protection
from tco.bank.wiring.charger_settings import charger_settings
from tco.bank.wiring.part_decisions import PartDecision
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import Case, specify
from tco.physics.conductor_sizes import AWG_SIZES, MM2_SIZES
from tco.physics.fuse_classes import CHEAPEST_FIRST
from tests.conftest import build_plain_case

Build = Callable[..., Case]
LEAD: dict[str, Any] = {
    "chemistry": "agm",
    "nominal_voltage_v": 12.0,
    "charge_min_degc": -20.0,
    "internal_resistance_mohm": 5.0,
}


def wired(
    *parts: dict[str, Any],
    amps: float = 100.0,
    series: int = 1,
    parallel: int = 1,
    **changes: Any,
) -> Wiring:
    system = {"nominal_voltage_v": 12 * series, "parts": list(parts), **changes.pop("system", {})}
    changes.setdefault("sources", {"solar": []})
    # the maker's figure: 14.2 V through 10 milliohm, so that most fuses could stop it
    changes["candidate"] = {"short_circuit_a": 1_420.0, **changes.get("candidate", {})}
    case = build_plain_case(system=system, **changes)
    return wire(case, Arrangement(specify(case.candidates[0]), series, parallel), current_a=amps)


def judged(*parts: dict[str, Any], **more: Any) -> PartDecision:
    return wired(*parts, **more).parts[0]


def fuse(kind: str = "main fuse", **more: Any) -> dict[str, Any]:
    return {"name": "old fuse", "kind": kind, **more}


# ---------------------------------------------------------------- fuses


def brings(wiring: Wiring) -> float:
    """What the parts that go are sold for."""
    return sum(decision.value for decision in wiring.parts)


def test_a_fuse_that_serves_stays_and_is_the_one_in_the_circuit() -> None:
    # 100 A take 125 A at least; 35 mm2 bears 210 A
    wiring = wired(fuse(fuse_class="ANL", rating_a=150.0, sale_price=5.0))
    (decision,) = wiring.parts
    assert decision.decision == "keep"
    assert decision.value == 0.0
    assert (wiring.main_fuse.fuse_class.name, wiring.main_fuse.rating_a) == ("ANL", 150.0)
    assert not any(line.part.startswith("main fuse") for line in wiring.bill)


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ({"fuse_class": "ANL", "rating_a": 100.0}, "100 A carries 80 A for long; 100 A are needed"),
        ({"fuse_class": "ANL", "rating_a": 400.0}, "400 A does not protect a cable of 210 A"),
        ({"fuse_class": "ANL"}, "not known"),
        ({"rating_a": 150.0}, "not known"),
    ],
)
def test_a_fuse_that_does_not_serve_is_replaced_and_says_why(
    stated: dict[str, Any], says: str
) -> None:
    decision = judged(fuse(sale_price=3.0, **stated))
    assert decision.decision == "replace"
    assert says in decision.reason
    assert decision.value == 3.0


def test_a_fuse_that_cannot_stop_the_short_circuit_is_replaced() -> None:
    # 14.2 V behind 1.42 milliohm and two joints of 19 micro-ohm; ANL stops 6 kA
    decision = judged(
        fuse(fuse_class="ANL", rating_a=150.0), candidate={"short_circuit_a": 10_000.0}
    )
    assert decision.decision == "replace"
    assert "ANL interrupts only 6,000 A; a dead short could draw 9,739 A" in decision.reason


def test_a_fuse_of_too_low_a_voltage_is_replaced() -> None:
    decision = judged(fuse(fuse_class="ANL", rating_a=150.0), series=4)
    assert decision.reason == "ANL stops at 32 V and is not made for 56.8 V"


def test_the_main_fuse_of_one_string_protects_its_links_too() -> None:
    """Links of one string are sized for the new fuse; a larger old one would not protect them."""
    wiring = wired(
        {"name": "thick", "kind": "main cable", "size": "95 mm2", "length_m": 9.0},
        fuse(fuse_class="class T", rating_a=250.0),
        series=2,
        system={"cable_run_m": 2.0},
    )
    cable, old = wiring.parts
    assert cable.decision == "keep"
    assert old.decision == "replace"
    assert "does not protect a cable of" in old.reason
    for link in wiring.circuit.of_role("link"):
        assert wiring.main_fuse.rating_a <= link.choice.ampacity_a


def test_string_fuses_need_one_for_each_string() -> None:
    few = fuse("string fuse", fuse_class="class T", rating_a=80.0, quantity=2)
    assert judged(few, parallel=3).reason == "2 there, one for each of 3 needed"
    assert judged(few).decision == "no longer needed"
    enough = wired({**few, "quantity": 3}, amps=140.0, parallel=3)
    assert enough.parts[0].decision == "keep"
    assert enough.string_fuse is not None
    assert enough.string_fuse.fuse_class.name == "class T"


def test_a_string_fuse_is_judged_by_what_the_other_strings_drive() -> None:
    # two strings of 14.2 V behind 10 milliohm: one of them drives 1.4 kA, MEGA stops 2 kA
    mega = fuse("string fuse", fuse_class="MEGA", rating_a=80.0, quantity=2)
    wiring = wired(mega, parallel=2)
    assert wiring.short_circuit_a > 2_000
    assert wiring.parts[0].decision == "keep"


# ---------------------------------------------------------------- cable


def cable(size: str | None, metres: float | None = 4.0, **more: Any) -> dict[str, Any]:
    marked = {"size": size, "length_m": metres, "insulation_degc": 105}
    return {"name": "cables", "kind": "main cable", **marked, **more}


def test_a_cable_that_serves_stays_and_its_ends_are_only_remade() -> None:
    new, old = wired(), wired(cable("95 mm2"))
    assert old.parts[0].decision == "keep"
    assert {c.conductor.label for c in old.circuit.of_role("main")} == {"95 mm2"}
    assert not any(line.part.startswith(("cable", "lug")) for line in old.bill)
    assert old.labour_hours < new.labour_hours
    assert old.resistance_ohm < new.resistance_ohm
    assert old.connections == new.connections


@pytest.mark.parametrize(
    ("part", "says"),
    [
        (
            cable("16 mm2"),
            "it may carry 120 A (insulation for 105 degC), less than the 125 A of the main",
        ),
        (cable("25 mm2"), "it loses 0.38 V and may lose 0.36 V"),
        (cable("35 mm2", 3.9), "too short: 3.9 m there, 4.0 m needed"),
        (cable(None), "not known"),
        (cable("35 mm2", None), "not known"),
    ],
)
def test_a_cable_that_does_not_serve_says_why(part: dict[str, Any], says: str) -> None:
    decision = judged(part)
    assert decision.decision == "replace"
    assert says in decision.reason


def test_a_cable_of_unknown_insulation_is_not_trusted_as_marine_cable() -> None:
    """25 mm2 bears 160 A at 105 degC and 105 A as PVC for 70 (the 60 degC column of ABYC E-11)."""
    short = {"cable_run_m": 1.0}
    assert judged(cable("25 mm2"), system=short).decision == "keep"
    unknown = judged(cable("25 mm2", insulation_degc=None), system=short)
    assert unknown.decision == "replace"
    assert "105 A (insulation for 70 degC, as none is stated)" in unknown.reason
    of_the_system = {**short, "insulation_degc": 105}
    assert judged(cable("25 mm2", insulation_degc=None), system=of_the_system).decision == "keep"


def test_a_cable_of_the_other_system_is_judged_by_what_it_carries_not_by_its_area() -> None:
    """2 AWG (33.6 mm2, 0.523 ohm/km at 20 degC) loses less than class 5 35 mm2 (0.554)."""
    assert judged(cable("2 AWG")).decision == "keep"
    # one cable of 120 mm2 (445 A, 4/0 AWG's) has more copper than 2 x 50, which bear 490 A
    heavy = wired(cable("120 mm2", 1.0), amps=360.0, system={"cable_run_m": 0.5})
    assert heavy.main_fuse.rating_a > 445.0
    assert heavy.parts[0].decision == "replace"


# ---------------------------------------------------------------- switch, busbars, shunt, monitor


@pytest.mark.parametrize("kind", ["switch", "busbars"])
def test_what_carries_the_current_has_to_be_rated_for_it(kind: str) -> None:
    def of(rating: float | None) -> PartDecision:
        return judged({"name": "it", "kind": kind, "rating_a": rating}, parallel=2)

    assert of(100.0).decision == "keep"
    assert of(99.0).decision == "replace"
    assert "rated 99 A; 100 A flow" in of(99.0).reason
    assert of(None).decision == "replace"


def test_busbars_go_where_there_is_one_string() -> None:
    assert judged({"name": "bars", "kind": "busbars", "rating_a": 500.0}).decision == (
        "no longer needed"
    )


@pytest.mark.parametrize("kind", ["monitor", "shunt"])
@pytest.mark.parametrize(
    ("display", "rating", "decision", "in_circuit"),
    [
        (True, 300.0, "no longer needed", False),
        (True, 50.0, "remove", False),  # too weak for the current that would flow through it
        (False, 300.0, "keep", True),
        (False, 50.0, "replace", True),
        (False, None, "replace", True),
    ],
)
def test_a_monitor_s_shunt(
    kind: str, display: bool, rating: float | None, decision: str, in_circuit: bool
) -> None:
    wiring = wired(
        {"name": "it", "kind": kind, "rating_a": rating, "price": 77.0},
        candidate={"charge_display": display},
    )
    assert wiring.parts[0].decision == decision
    assert any(d.kind == "shunt" for d in wiring.circuit.devices) is in_circuit
    bought = [line.cost for line in wiring.bill if line.part == "monitor with shunt"]
    assert bought == ([77.0] if decision == "replace" else [])


def test_of_two_that_serve_one_place_the_weak_one_comes_out() -> None:
    weak = {"name": "weak", "kind": "switch", "rating_a": 50.0, "yearly_upkeep": 2.0}
    strong = {"name": "strong", "kind": "switch", "rating_a": 300.0}
    wiring = wired(weak, strong)
    assert [d.decision for d in wiring.parts] == ["remove", "keep"]
    assert "another one that serves stays" in wiring.parts[0].reason
    assert not any(line.part == "battery switch" for line in wiring.bill)
    assert wiring.yearly_saving == 2.0


# ---------------------------------------------------------------- management and balancers


@pytest.mark.parametrize("kind", ["external management", "contactor"])
def test_external_management_falls_away_when_the_pack_brings_its_own(kind: str) -> None:
    part = {"name": "it", "kind": kind, "rating_a": 300.0, "yearly_upkeep": 5.0, "sale_price": 60.0}
    own = wired(part, candidate={"internal_management": True})
    assert own.parts[0].decision == "no longer needed"
    assert (brings(own), own.yearly_saving) == (60.0, 5.0)
    assert wired(part, candidate={"internal_management": False}).parts[0].decision == "keep"
    assert wired(part, candidate=LEAD).parts[0].decision == "no longer needed"


def test_a_contactor_that_stays_has_to_carry_the_current() -> None:
    part = {"name": "it", "kind": "contactor", "rating_a": 60.0}
    decision = judged(part, candidate={"internal_management": False})
    assert decision.decision == "replace"
    assert "rated 60 A; 100 A flow" in decision.reason


def test_a_balancer_stays_only_between_packs_in_series_that_are_not_linked() -> None:
    part = {"name": "it", "kind": "balancer"}
    assert judged(part).decision == "no longer needed"
    assert judged(part, series=2).decision == "keep"
    linked = judged(part, series=2, candidate={"management_link": "wired pack to pack"})
    assert linked.decision == "no longer needed"


def test_spares_go_and_their_upkeep_is_saved() -> None:
    wiring = wired({"name": "spares", "kind": "spare", "yearly_upkeep": 4.0, "sale_price": 2.0})
    assert wiring.parts[0].decision == "no longer needed"
    assert (brings(wiring), wiring.yearly_saving) == (2.0, 4.0)


# ---------------------------------------------------------------- what the owner wants


def test_a_part_one_wants_to_be_rid_of_goes_and_another_is_bought() -> None:
    switch = {"name": "it", "kind": "switch", "rating_a": 300.0, "sale_price": 8.0}
    assert wired(switch).parts[0].decision == "keep"
    gone = wired({**switch, "wish": "be rid of"})
    assert gone.parts[0].decision == "replace"
    assert "you want to be rid of it" in gone.parts[0].reason
    assert any(line.part == "battery switch" for line in gone.bill)
    assert brings(gone) == 8.0
    balancer = {"name": "it", "kind": "balancer", "wish": "be rid of", "yearly_upkeep": 3.0}
    without = wired(balancer, series=2)
    assert (without.parts[0].decision, without.yearly_saving) == ("remove", 3.0)


def test_a_part_one_wants_to_keep_stays_where_it_is_safe() -> None:
    bars = {"name": "it", "kind": "busbars", "rating_a": 300.0, "sale_price": 8.0}
    assert wired(bars).parts[0].decision == "no longer needed"
    kept = wired({**bars, "wish": "keep"})
    assert (kept.parts[0].decision, brings(kept)) == ("keep", 0.0)
    assert "you want to keep it; not needed here" in kept.parts[0].reason
    weak = wired({"name": "it", "kind": "switch", "rating_a": 5.0, "wish": "keep"})
    assert weak.parts[0].decision == "replace"
    assert "not safe: rated 5 A" in weak.parts[0].reason


def test_a_fuse_is_judged_by_the_cable_that_will_be_there() -> None:
    """A thick cable its owner is rid of no longer carries the fuse that was right for it."""
    thick, large = cable("120 mm2", insulation_degc=105), fuse(fuse_class="class T", rating_a=400.0)
    assert [d.decision for d in wired(thick, large).parts] == ["keep", "keep"]
    gone = wired({**thick, "wish": "be rid of"}, large)
    assert [d.decision for d in gone.parts] == ["replace", "replace"]
    main = gone.circuit.of_role("main")[0].choice
    assert gone.main_fuse.rating_a <= main.fuse_limit_a


@pytest.mark.parametrize("known", [{}, {"fuse_class": "ANL", "rating_a": 100.0}])
def test_a_string_fuse_kept_beside_a_single_string_is_in_no_circuit(known: dict[str, Any]) -> None:
    wiring = wired({"name": "it", "kind": "string fuse", "wish": "keep", **known})
    assert wiring.parts[0].decision == "keep"
    assert wiring.circuit.string_fuse is None


def test_a_monitor_one_wants_to_keep_has_its_shunt_in_the_circuit() -> None:
    """Though the pack shows its own charge; one too weak for the negative comes out."""
    own = {"charge_display": True}
    monitor = {"name": "it", "kind": "monitor", "rating_a": 300.0}
    plain = wired(monitor, candidate=own)
    assert not any(d.kind == "shunt" for d in plain.circuit.devices)
    kept = wired({**monitor, "wish": "keep"}, candidate=own)
    assert any(d.kind == "shunt" for d in kept.circuit.devices)
    assert any(cable.key == "main - to shunt" for cable in kept.circuit.cables)
    weak = wired({**monitor, "rating_a": 5.0, "wish": "keep"}, candidate=own)
    assert weak.parts[0].decision == "remove"
    assert not any(d.kind == "shunt" for d in weak.circuit.devices)
    unknown = wired({**monitor, "rating_a": None, "wish": "keep"}, candidate=own)
    assert unknown.parts[0].decision == "remove"
    assert "rating is not known" in unknown.parts[0].reason
    assert not any(d.kind == "shunt" for d in unknown.circuit.devices)


@pytest.mark.parametrize(
    ("rating_a", "wish", "decision"),
    [
        (300.0, None, "keep"),
        (5.0, None, "no longer needed"),
        (5.0, "keep", "keep"),
        (300.0, "be rid of", "no longer needed"),
    ],
)
def test_a_spare_stays_while_what_it_serves_stays(
    rating_a: float, wish: str | None, decision: str
) -> None:
    switch = {"name": "switch", "kind": "switch", "rating_a": rating_a}
    spare = {"name": "knob", "kind": "spare", "serves": "switch", "yearly_upkeep": 2.0}
    wiring = wired(switch, spare if wish is None else {**spare, "wish": wish})
    assert wiring.parts[1].decision == decision
    assert wiring.yearly_saving == (0.0 if decision == "keep" else 2.0)
    other = wired(switch, {**spare, "serves": "balancer"})
    assert other.parts[1].decision == "no longer needed"


# ---------------------------------------------------------------- whatever is there


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    amps=st.floats(5.0, 250.0),
    parallel=st.integers(1, 4),
    series=st.integers(1, 2),
    classes=st.sampled_from([None, *(c.name for c in CHEAPEST_FIRST)]),
    rating=st.one_of(st.none(), st.sampled_from([30.0, 60.0, 100.0, 125.0, 150.0, 200.0, 400.0])),
    size=st.sampled_from([c.label for c in (*AWG_SIZES, *MM2_SIZES)]),
    milliohm=st.floats(1.2, 20.0),
    take_off=st.sampled_from(["busbars", "diagonal", "one end"]),
)
def test_what_stays_is_safe_and_what_goes_is_bought_again(
    amps: float, parallel: int, series: int, classes: str | None, rating: float | None, size: str,
    milliohm: float, take_off: str,
) -> None:  # fmt: skip
    parts = (
        fuse(fuse_class=classes, rating_a=rating),
        fuse("string fuse", fuse_class=classes, rating_a=rating, quantity=parallel),
        cable(size),
    )
    changes: Any = {
        "amps": amps,
        "parallel": parallel,
        "series": series,
        "candidate": {"short_circuit_a": 14_200.0 / milliohm},
    }
    try:
        wired(**changes, system={"take_off": take_off})
    except CannotWire:
        return
    # what can be wired anew can be wired with the old parts too
    wiring = wired(*parts, **changes, system={"take_off": take_off})
    made = wiring.circuit
    main = made.of_role("main")[0].choice
    assert 0.8 * wiring.main_fuse.rating_a >= amps - 1e-6
    assert wiring.main_fuse.rating_a <= main.ampacity_a + 1e-6
    assert wiring.main_fuse.interrupt_a >= made.short_circuit_a
    guard = wiring.string_fuse or wiring.main_fuse
    for c in made.of_role("jumper"):
        assert (parallel - 1) * guard.rating_a <= c.choice.ampacity_a + 1e-6
    for c in (*made.of_role("lead"), *made.of_role("link")):
        assert guard.rating_a <= c.choice.ampacity_a + 1e-6
    drop = sum(c.drop_v for c in made.of_role("main"))
    assert drop <= made.main_drop_v + 1e-6
    # what is not there or does not stay is on the bill
    bought = " ".join(line.part for line in wiring.bill)
    for decision, words in zip(
        wiring.parts, ("main fuse", "string fuse", main.conductor.label), strict=True
    ):
        if decision.decision == "replace":
            assert words in bought
        elif decision.part.kind != "main cable":
            assert words not in bought
    assert all(decision.reason for decision in wiring.parts)


# ---------------------------------------------------------------- chargers

CHARGERS: dict[str, Any] = {
    "solar": [],
    "engine": [
        {"name": "alternator", "rating_a": 90.0, "hours_per_day": 1.0, "direct": True,
         "profiles": ["lead", "lithium"]},
        {"name": "DC-DC", "rating_a": 30.0, "hours_per_day": 1.0, "adjustable": True,
         "current_adjustable": True},
    ],
    "shore": [
        {"name": "old shore", "rating_a": 20.0, "nights_per_month": 1.0, "profiles": ["lead"],
         "replacement_price": 99.0},
        {"name": "fixed", "rating_a": 10.0, "nights_per_month": 1.0, "profiles": ["lead"]},
    ],
}  # fmt: skip


def settings_of(case: Case, parallel: int = 1) -> dict[tuple[str, str], str]:
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    return {(s.charger, s.setting): s.value for s in charger_settings(case, arrangement)}


def test_lithium_takes_no_compensation_no_equalising_and_no_charge_in_the_cold(
    plain_case: Build,
) -> None:
    found = settings_of(plain_case(sources=CHARGERS))
    assert found["DC-DC", "absorption voltage"] == "14.2 V"  # four cells at 3.55 V
    assert found["DC-DC", "temperature compensation"] == "off"
    assert found["DC-DC", "equalise"] == "off"
    assert found["DC-DC", "low-temperature limit"] == "0 degC"
    assert ("what replaces old shore", "absorption voltage") in found
    assert not any(charger == "fixed" for charger, _ in found)  # screening rules it out


def test_lead_keeps_its_compensation(plain_case: Build) -> None:
    found = settings_of(plain_case(sources=CHARGERS, candidate=LEAD))
    assert found["DC-DC", "temperature compensation"] == "on"
    assert ("DC-DC", "equalise") not in found
    assert ("fixed", "absorption voltage") in found


def test_a_charger_too_strong_is_turned_down_where_it_can_be(plain_case: Build) -> None:
    found = settings_of(plain_case(sources=CHARGERS, candidate={"continuous_charge_a": 20.0}))
    assert found["DC-DC", "charge current"] == "at most 20 A"
    assert ("alternator", "charge current") not in found  # it cannot be turned down
    two = plain_case(sources=CHARGERS, candidate={"continuous_charge_a": 20.0})
    assert ("DC-DC", "charge current") not in settings_of(two, parallel=2)


def test_an_alternator_on_the_bank_needs_protection_from_a_pack_that_disconnects(
    plain_case: Build,
) -> None:
    lithium, lead = plain_case(sources=CHARGERS), plain_case(sources=CHARGERS, candidate=LEAD)
    for case, names in ((lithium, ("alternator",)), (lead, ())):
        arrangement = Arrangement(specify(case.candidates[0]), 1, 1)
        assert needs_alternator_protection(case, arrangement) == names
        wiring = wire(case, arrangement, current_a=50.0)
        bought = [line for line in wiring.bill if line.part == "alternator protection"]
        assert len(bought) == len(names)


def test_string_fuses_are_judged_by_the_jumpers_that_all_of_them_feed() -> None:
    """Three strings of four feed the first jumper: three times 45 A is more than it may carry."""
    old = fuse("string fuse", fuse_class="class T", rating_a=45.0, quantity=4)
    wiring = wired(old, parallel=4, system={"take_off": "diagonal"})
    jumper = wiring.circuit.of_role("jumper")[0]
    assert 3 * 40.0 <= jumper.choice.ampacity_a < 3 * 45.0
    assert wiring.parts[0].decision == "replace"
    assert "45 A does not protect a cable of 40 A" in wiring.parts[0].reason
