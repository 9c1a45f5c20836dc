"""Parts that are there in branches: judged with the branch as it will be, put in their place."""

from typing import Any

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.feeds import Feed, branches, feeds, through_bars_a
from tco.bank.wiring.part_decisions import PartDecision
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import Case, specify
from tests.conftest import build_plain_case

FUSE, CABLE = {"kind": "branch fuse"}, {"kind": "branch cable"}
SOFT = {"short_circuit_a": 1_420.0}
"""The maker's figure: 14.2 V through 10 milliohm."""


def cable(size: str | None = "16 mm2", length_m: float | None = 6.0, **more: Any) -> dict[str, Any]:
    stated = {"size": size, "length_m": length_m, "insulation_degc": 105}
    return {"name": "old cable", **CABLE, "branch": "DC-DC", **stated, **more}


def fuse(fuse_class: str = "MIDI", rating_a: float = 60.0, **more: Any) -> dict[str, Any]:
    stated = {"fuse_class": fuse_class, "rating_a": rating_a}
    return {"name": "old fuse", **FUSE, "branch": "DC-DC", **stated, **more}


def isolator(rating_a: float | None = 50.0, **more: Any) -> dict[str, Any]:
    return {"name": "old isolator", "kind": "isolator", "branch": "DC-DC", "rating_a": rating_a,
            **more}  # fmt: skip


def built(
    *parts: dict[str, Any],
    rating_a: float = 40.0,
    run_m: float = 3.0,
    parallel: int = 1,
    **changes: Any,
) -> tuple[Case, Wiring]:
    engine = [{"name": "DC-DC", "rating_a": rating_a, "hours_per_day": 1.0, "cable_run_m": run_m}]
    changes.setdefault("sources", {"solar": [], "engine": engine})
    changes.setdefault("loads", [])
    changes["candidate"] = {**SOFT, **changes.get("candidate", {})}
    system = {"parts": list(parts), **changes.pop("system", {})}
    case = build_plain_case(system=system, **changes)
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    return case, wire(case, arrangement, current_a=100.0)


def branch(*parts: dict[str, Any], name: str = "DC-DC", **more: Any) -> Feed:
    case, wiring = built(*parts, **more)
    return next(feed for feed in feeds(case, wiring.circuit) if feed.name == name)


def judged(*parts: dict[str, Any], **more: Any) -> PartDecision:
    return built(*parts, **more)[1].parts[0]


# ---------------------------------------------------------------- cables


def test_a_cable_that_serves_stays_and_is_the_one_in_the_branch() -> None:
    """40 A over 3 m of 16 mm2 (1.21 ohm/km at 20 degC, IEC 60228 class 5): 0.29 V cold, of the
    0.36 V that 3 % of 12 V allow; 16 mm2 takes 6 AWG's 120 A at 105 degC (ABYC E-11)."""
    feed = branch(cable())
    assert [d.decision for d in feed.parts] == ["keep"]
    assert feed.cable_stays
    assert not feed.new_cable
    assert feed.choice is not None
    assert feed.choice.conductor.label == "16 mm2"
    assert feed.choice.ampacity_a == 120.0
    assert 0.29 <= feed.choice.voltage_drop_v <= 0.36
    assert feed.fuse is not None
    assert feed.fuse.rating_a == 50.0
    _, wiring = built(cable())
    assert wiring.bill == built()[1].bill


@pytest.mark.parametrize(
    ("part", "more", "says"),
    [
        # 1.91 ohm/km at 20 degC (IEC 60228, class 5), 1.22 times that at 75: 40 A over 6 m
        (cable("10 mm2"), {}, "it loses 0.56 V and may lose 0.36 V"),
        (cable("2.5 mm2", 2.0), {"run_m": 0.1}, "it may carry 35 A"),
        (cable("6 mm2", 2.0, insulation_degc=60), {"run_m": 0.1, "rating_a": 40.0}, "no fuse both"),
        (cable(length_m=5.9), {}, "too short: 5.9 m there, 6.0 m needed"),
        (cable(None), {}, "not known"),
        (cable(length_m=None), {}, "not known"),
    ],
)
def test_a_cable_that_does_not_serve_is_bought_anew_and_says_why(
    part: dict[str, Any], more: dict[str, Any], says: str
) -> None:
    decision = judged(part, **more)
    assert decision.decision == "replace"
    assert says in decision.reason
    _, wiring = built(part, **more)
    new = [line for line in wiring.bill if "source DC-DC" in line.serves]
    assert {line.part.split(" ")[0] for line in new} == {"cable", "lug"}
    metres = sum(line.quantity for line in new if line.part.startswith("cable"))
    assert metres == pytest.approx(2.2 * more.get("run_m", 3.0), abs=0.21)
    feed = branch(part, **more)
    assert feed.new_cable
    assert feed.choice is not None
    assert feed.choice.insulation_degc == 105  # bought, so no longer trusted for 70 only


def test_a_branch_s_cable_of_unknown_insulation_is_not_trusted_as_marine_cable() -> None:
    """60 A want a fuse of 75 A or more. 10 mm2 takes 8 AWG's figures: 80 A at 105 degC, 55 A in
    the 60 degC column that 70 falls to (ABYC E-11)."""
    near = {"rating_a": 60.0, "run_m": 0.3}
    assert judged(cable("10 mm2", 1.0), **near).decision == "keep"
    unknown = judged(cable("10 mm2", 1.0, insulation_degc=None), **near)
    assert unknown.decision == "replace"
    assert "55 A (insulation for 70 degC, as none is stated)" in unknown.reason


# ---------------------------------------------------------------- fuses and breakers


def test_a_fuse_that_serves_stays_and_is_the_one_in_the_branch() -> None:
    feed = branch(fuse("MIDI", 60.0), cable())
    assert feed.fuse_stays
    assert feed.fuse is not None
    assert (feed.fuse.fuse_class.name, feed.fuse.rating_a) == ("MIDI", 60.0)


@pytest.mark.parametrize(
    ("part", "more", "says"),
    [
        (fuse("MIDI", 125.0), {}, "MIDI 125 A does not protect a cable of 120 A"),
        (fuse("MIDI", 40.0), {}, "carries 32 A for long; 40 A are needed"),
        (fuse("blade", 40.0), {"candidate": {"short_circuit_a": 4_000.0}}, "blade interrupts only"),
        ({**fuse(), "fuse_class": None}, {}, "not known"),
        ({**fuse(), "rating_a": None}, {}, "not known"),
    ],
)
def test_a_fuse_that_does_not_serve_is_bought_anew_and_says_why(
    part: dict[str, Any], more: dict[str, Any], says: str
) -> None:
    case, wiring = built(part, cable(), **more)
    decision = wiring.parts[0]
    assert decision.decision == "replace"
    assert says in decision.reason
    feed = next(feed for feed in feeds(case, wiring.circuit) if feed.name == "DC-DC")
    assert feed.new_fuse
    assert feed.fuse is not None
    name = f"{feed.fuse.fuse_class.name} {feed.fuse.rating_a:g} A"
    assert f"branch fuse {name}, DC-DC" in [line.part for line in wiring.bill]


def test_a_fuse_is_judged_by_the_cable_that_will_be_there() -> None:
    """MEGA 100 A protects 16 mm2 (6 AWG's 120 A). Too short, that gives way to a new cable for 30
    A and a fuse of 40 A: 4 mm2, which takes 12 AWG's 45 A at 105 degC (ABYC E-11)."""
    near = {"run_m": 0.5, "rating_a": 30.0}
    assert branch(fuse("MEGA", 100.0), cable(length_m=1.0), **near).fuse_stays
    gone = branch(fuse("MEGA", 100.0), cable(length_m=0.9), **near)
    assert [d.decision for d in gone.parts] == ["replace", "replace"]
    assert gone.parts[0].reason == "MEGA 100 A does not protect a cable of 45 A"


def test_a_fuse_too_large_for_the_least_cable_asks_what_cable_is_there() -> None:
    decision = judged(fuse("MEGA", 100.0), rating_a=10.0)
    assert decision.decision == "replace"
    assert "state the cable that is there" in decision.reason


def test_a_breaker_is_judged_by_what_it_interrupts() -> None:
    """Above 14 V a thermal breaker is trusted with 1.5 kA: one pack of 10 milliohm drives less
    through the main run, two drive more."""
    thermal = fuse("thermal breaker", 60.0)
    assert judged(thermal, cable()).decision == "keep"
    two = judged(thermal, cable(), parallel=2)
    assert two.decision == "replace"
    assert "thermal breaker interrupts only 1,500 A" in two.reason
    assert judged(fuse("DC rail breaker", 63.0), cable(), parallel=2).decision == "keep"


def test_of_two_in_one_branch_the_weak_one_comes_out() -> None:
    case, wiring = built(fuse("MIDI", 40.0, sale_price=2.0, yearly_upkeep=1.0), fuse(), cable())
    assert [d.decision for d in wiring.parts] == ["remove", "keep", "keep"]
    assert "another one that serves stays" in wiring.parts[0].reason
    assert wiring.parts[0].value == 2.0
    assert wiring.yearly_saving == 1.0
    assert not any("DC-DC" in line.part for line in wiring.bill)
    assert case.system.parts == tuple(d.part for d in wiring.parts)


def test_what_its_owner_wants_rid_of_goes_and_what_they_keep_must_be_safe() -> None:
    gone = judged(fuse(wish="be rid of"), cable())
    assert gone.decision == "replace"
    unsafe = judged(fuse("MIDI", 125.0, wish="keep"), cable())
    assert unsafe.decision == "replace"
    assert "you want to keep it, but that is not safe" in unsafe.reason


def test_a_spare_stays_while_the_branch_fuse_it_is_for_does() -> None:
    spare = {"name": "spare", "kind": "spare", "serves": "branch fuse"}
    assert [d.decision for d in built(fuse(), cable(), spare)[1].parts] == ["keep"] * 3
    assert built(fuse("MIDI", 125.0), cable(), spare)[1].parts[2].decision == "no longer needed"


def test_the_inverter_s_own_fuse_stands_before_the_main_run_s_cable() -> None:
    inverter = {"inverter": {"name": "sine", "continuous_w": 900.0}}
    good = branch(fuse("ANL", 150.0, branch="inverter"), name="sine", system=inverter)
    assert good.of_main_run
    assert good.fuse_stays
    assert good.fuse is not None
    assert good.fuse.rating_a == 150.0
    case, wiring = built(fuse("ANL", 400.0, branch="sine"), system=inverter)
    assert wiring.parts[0].decision == "remove"
    assert "the main fuse protects what leads to the inverter" in wiring.parts[0].reason
    feed = feeds(case, wiring.circuit)[0]
    assert feed.fuse is wiring.main_fuse
    assert not any(line.part.startswith("branch fuse") for line in wiring.bill)


# ---------------------------------------------------------------- isolators


def test_an_isolator_is_judged_by_its_current() -> None:
    assert judged(isolator(40.0)).decision == "keep"
    weak = judged(isolator(39.0))
    assert weak.decision == "replace"
    assert weak.reason == "rated 39 A; 40 A flow for long"
    assert judged(isolator(None)).decision == "replace"
    assert judged(isolator(rating_v=12.0)).decision == "replace"
    _, wiring = built(isolator(39.0, price=21.0))
    assert [line.cost for line in wiring.bill if line.part == "isolator, DC-DC"] == [21.0]


def solar(panel_voltage_v: float | None) -> dict[str, Any]:
    roof = {"name": "roof", "peak_w": 560.0, "controller_a": 30.0}
    return {"sources": {"solar": [{**roof, "panel_voltage_v": panel_voltage_v}]}}


@pytest.mark.parametrize(
    ("panels_v", "rating_a", "rating_v", "decision", "says"),
    [
        # 560 W at 100 V and a fill factor of 0.7 are 8 A, and 10 A in bright light (NEC 690.8);
        # 100 V are 125 V in the cold (NEC table 690.7(A))
        (100.0, 10.0, 125.0, "keep", "125 V for 125 V in the cold"),
        (100.0, 9.9, 125.0, "replace", "10 A flow for long, the most that the panels give"),
        (100.0, 10.0, 124.0, "replace", "not at 125.0 V: an arc of direct current burns on"),
        (100.0, 10.0, None, "replace", "voltage it may be opened at is not known"),
        # not stated: at the battery's 12 V, 560 / (0.7 x 12) x 1.25 = 83 A
        (None, 84.0, None, "keep", "check that it may be opened at their voltage"),
        (None, 83.0, None, "replace", "as theirs is not stated"),
    ],
)
def test_on_the_panels_side_their_voltage_counts(
    panels_v: float | None, rating_a: float, rating_v: float | None, decision: str, says: str
) -> None:
    part = isolator(rating_a, branch="roof", side="panel side", rating_v=rating_v)
    found = judged(part, **solar(panels_v))
    assert found.decision == decision
    assert says in found.reason


def test_a_breaker_on_the_panels_side_is_one_by_its_class() -> None:
    """A DC rail breaker of one pole is made for 60 V: 45 V of panels are 56 V in the cold,
    and 560 W of them give 22 A in bright light."""
    part = fuse("DC rail breaker", 25.0, branch="roof", side="panel side")
    assert judged(part, **solar(45.0)).decision == "keep"
    assert judged(part, **solar(50.0)).decision == "replace"
    feed = branch(part, name="roof", **solar(45.0))
    assert not feed.fuse_stays  # the branch's own fuse is another
    assert [d.part.name for d in feed.switches] == ["old fuse"]


# ---------------------------------------------------------------- bars, and branches without


def test_bars_onto_which_branches_land_are_kept_though_strings_need_none() -> None:
    """Both pairs are strong enough; only the strings' own depends on how these are joined."""
    bars = {"name": "posts", "kind": "distribution bars", "rating_a": 250.0}
    pair = {"name": "pair", "kind": "busbars", "rating_a": 250.0}
    for parallel, strings in ((1, "no longer needed"), (2, "keep")):
        _, wiring = built(bars, pair, parallel=parallel)
        assert [d.decision for d in wiring.parts] == ["keep", strings]
    _, jumpers = built(bars, pair, parallel=2, system={"take_off": "diagonal"})
    assert [d.decision for d in jumpers.parts] == ["keep", "no longer needed"]


def test_bars_carry_the_sum_of_what_lands_on_them() -> None:
    """At 10.5 V: an inverter of 945 W at 90 % takes 100 A, a winch of 420 W 40 A, lights of 105 W
    10 A; the charger of 40 A gives less than they take."""
    stated: dict[str, Any] = {
        "system": {"inverter": {"continuous_w": 945.0, "efficiency": 0.9}},
        "loads": [
            {"name": "winch", "power_w": 420.0, "hours_per_day": 0.1, "cable_run_m": 1.0},
            {"name": "lights", "power_w": 105.0, "hours_per_day": 1.0},
        ],
    }
    case, wiring = built(**stated)
    found = feeds(case, wiring.circuit)
    assert through_bars_a(case, wiring.circuit, found) == pytest.approx(150.0)

    def of(rating_a: float) -> tuple[str, Wiring]:
        bars = {"name": "posts", "kind": "distribution bars", "rating_a": rating_a}
        system = {**stated["system"], "parts": [bars]}
        made = built(bars, system=system, loads=stated["loads"])[1]
        return made.parts[0].decision, made

    assert of(151.0)[0] == "keep"
    decision, weak = of(149.0)
    assert decision == "replace"
    (line,) = (line for line in weak.bill if line.part == "distribution bars")
    assert (line.quantity, line.serves) == (2, ("distribution",))


def test_a_branch_through_which_nothing_flows_needs_no_parts() -> None:
    part = fuse(branch="DC fuse block")
    found = judged(part)
    assert found.decision == "no longer needed"
    assert found.reason == "nothing flows through DC fuse block"
    assert judged({**part, "wish": "keep"}).decision == "keep"


def test_without_parts_a_branch_is_what_it_was() -> None:
    plain, there = branch(), branch(isolator())
    assert plain.parts == ()
    assert (plain.choice, plain.fuse) == (there.choice, there.fuse)
    assert not any((plain.cable_stays, plain.fuse_stays, plain.new_cable, plain.new_fuse))
    assert [one.key for one in branches(built()[0])] == ["source DC-DC"]
