"""Whatever the case: no conductor behind a fuse too large for it, no fuse before a fault too hard.

Every conductor and every fuse of whole wirings, branches and old parts included, is judged anew by
the tables and Ohm's law, not by what the wiring says of itself.
"""

from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.feeds import Feed, feeds
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import Case, specify
from tco.physics.ampacity import ampacity_a, overcurrent_limit_a
from tco.physics.conductors import ConductorChoice, resistance_ohm
from tco.physics.fuse_classes import INSTALLED, find_fuse_class, interrupt_rating_a
from tco.physics.fuses import FuseChoice
from tests.conftest import build_plain_case

SURGE_S = 5.0
LABELS = ["6 AWG", "2 AWG", "2/0 AWG", "16 mm2", "35 mm2", "70 mm2", "120 mm2"]

SYSTEMS = st.fixed_dictionaries(
    {
        "nominal_voltage_v": st.sampled_from([12, 24, 48]),
        "cable_run_m": st.floats(0.2, 5.0),
        "take_off": st.sampled_from(["busbars", "diagonal", "one end"]),
        "conductor_sizes": st.sampled_from(["mm2", "awg"]),
        "bundled_conductors": st.sampled_from([1, 3, 6]),
        "insulation_degc": st.sampled_from([None, 60, 70, 75, 90, 105]),
        "wiring_code": st.sampled_from(["ABYC E-11", "NEC"]),
    }
)
PARTS = st.fixed_dictionaries(
    {
        "fuse_class": st.sampled_from([None, *(one.name for one in INSTALLED)]),
        "rating_a": st.sampled_from([None, 50.0, 110.0, 150.0, 200.0, 300.0]),
        "size": st.sampled_from(LABELS),
        "insulation_degc": st.sampled_from([None, 60, 105]),
    }
)
BRANCH_PARTS = st.lists(
    st.fixed_dictionaries(
        {
            "kind": st.sampled_from(["branch cable", "branch fuse"]),
            "branch": st.sampled_from(["DC-DC", "windlass", "DC fuse block", "inverter"]),
            "fuse_class": st.sampled_from([None, *(one.name for one in INSTALLED)]),
            "rating_a": st.sampled_from([None, 15.0, 30.0, 50.0, 60.0, 100.0, 150.0, 200.0]),
            "size": st.sampled_from([None, "4 mm2", "10 mm2", "6 AWG", "35 mm2"]),
            "insulation_degc": st.sampled_from([None, 60, 105]),
            "length_m": st.sampled_from([None, 1.0, 30.0]),
            "wish": st.sampled_from([None, "keep", "be rid of"]),
        }
    ),
    max_size=6,
)
PACKS = st.fixed_dictionaries(
    {
        "chemistry": st.sampled_from(["lfp", "agm", "flooded"]),
        "internal_resistance_mohm": st.none() | st.floats(0.5, 30.0),
        "short_circuit_a": st.none() | st.floats(500.0, 9_000.0),
    }
)


def case_of(
    system: dict[str, Any],
    part: dict[str, Any],
    pack: dict[str, Any],
    hot: bool,
    parallel: int,
    branch_parts: Sequence[dict[str, Any]] = (),
) -> Case:
    named = {key: value for key, value in part.items() if key in ("fuse_class", "rating_a")}
    parts = [
        {"name": "main", "kind": "main fuse", **named},
        {"name": "strings", "kind": "string fuse", "quantity": parallel, **named},
        {"name": "cable", "kind": "main cable", "length_m": 20.0, "size": part["size"],
         "insulation_degc": part["insulation_degc"]},
    ]  # fmt: skip
    parts += [
        {"name": f"branch part {n}", **one}
        for n, one in enumerate(branch_parts)
        if (one["kind"], one["branch"]) != ("branch cable", "inverter")
    ]
    engine = [{"name": "DC-DC", "rating_a": 40.0, "hours_per_day": 1.0, "cable_run_m": 2.0}]
    loads = [
        {"name": "lights", "power_w": 120.0, "hours_per_day": 1.0},
        {"name": "windlass", "power_w": 300.0, "surge_w": 500.0, "hours_per_day": 0.1,
         "cable_run_m": 4.0},
    ]  # fmt: skip
    lead = {"nominal_voltage_v": 12.0} if pack["chemistry"] != "lfp" else {}
    return build_plain_case(
        system={**system, "parts": parts, "inverter": {"continuous_w": 500.0}},
        space={"engine_space": hot},
        sources={"engine": engine},
        loads=loads,
        candidate={**pack, **lead, "mass_kg": 30.0},
    )


def limit_a(case: Case, choice: ConductorChoice) -> float:
    """Largest fuse of a conductor where this case lays it, by the tables. [A]"""
    system = case.system
    together = system.bundled_conductors * (choice.runs if system.bundled_conductors > 1 else 1)
    one_a = ampacity_a(
        choice.conductor,
        engine_space=any(space.engine_space for space in system.spaces),
        bundled=together,
        insulation_degc=choice.insulation_degc,
        code=system.wiring_code,
    )
    return choice.runs * overcurrent_limit_a(choice.conductor, one_a, system.wiring_code)


def stops(fuse: FuseChoice, volts: float, fault_a: float) -> bool:
    """Whether its class is made for the voltage and interrupts the fault."""
    able = volts <= fuse.fuse_class.max_voltage_v
    return able and interrupt_rating_a(fuse.fuse_class, volts) >= fault_a


def trusted(case: Case, wiring: Wiring) -> None:
    """No conductor counts as better insulated than somebody says, 105 degC if new and unsaid."""
    said = case.system.insulation_degc
    old = next(d for d in wiring.parts if d.part.kind == "main cable")
    for cable in wiring.circuit.cables:
        most = said or 105
        if cable.role == "main" and old.decision == "keep":
            most = old.part.insulation_degc or said or 70
        assert cable.choice.insulation_degc <= most, cable.key


# an old string fuse that stays and evens the shares out: the new leads were too thin for it
OLD_STRING_FUSE: list[dict[str, Any]] = [
    {
        "system": {
            "nominal_voltage_v": 12, "cable_run_m": 1.0, "take_off": "one end",
            "conductor_sizes": "mm2", "bundled_conductors": 1, "insulation_degc": 60,
            "wiring_code": "NEC",
        },
        "part": {"fuse_class": "MIDI", "rating_a": 50.0, "size": "6 AWG", "insulation_degc": None},
        "pack": {"chemistry": "lfp", "internal_resistance_mohm": 0.5, "short_circuit_a": 500.0},
        "hot": False, "parallel": 3, "amps": 5.0, "surge": 1.0, "branch_parts": [],
    },
    {
        "system": {
            "nominal_voltage_v": 12, "cable_run_m": 1.0, "take_off": "one end",
            "conductor_sizes": "mm2", "bundled_conductors": 1, "insulation_degc": 75,
            "wiring_code": "ABYC E-11",
        },
        "part": {
            "fuse_class": "blade", "rating_a": 110.0, "size": "6 AWG", "insulation_degc": None,
        },
        "pack": {"chemistry": "lfp", "internal_resistance_mohm": 0.5, "short_circuit_a": 500.0},
        "hot": False, "parallel": 2, "amps": 91.0, "surge": 1.0, "branch_parts": [],
    },
]  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@example(**OLD_STRING_FUSE[0])
@example(**OLD_STRING_FUSE[1])
@given(
    system=SYSTEMS, part=PARTS, pack=PACKS, hot=st.booleans(), parallel=st.integers(1, 4),
    amps=st.floats(5.0, 250.0), surge=st.floats(1.0, 3.0), branch_parts=BRANCH_PARTS,
)  # fmt: skip
def test_no_fuse_above_a_conductor_none_below_a_fault_and_no_drop_beyond_its_limit(
    system: dict[str, Any], part: dict[str, Any], pack: dict[str, Any], hot: bool, parallel: int,
    amps: float, surge: float, branch_parts: list[dict[str, Any]],
) -> None:  # fmt: skip
    case = case_of(system, part, pack, hot, parallel, branch_parts)
    arrangement = Arrangement(
        specify(case.candidates[0]), system["nominal_voltage_v"] // 12, parallel
    )
    try:
        wiring = wire(case, arrangement, current_a=amps, surge_a=amps * surge)
    except CannotWire:
        assume(False)
        return
    made, volts = wiring.circuit, wiring.circuit.charging_v
    trusted(case, wiring)

    # conductors, each behind the fuse that protects it
    main, string = made.main_fuse, made.string_fuse
    for cable in made.cables:
        guard_a = main.rating_a if string is None or cable.role == "main" else string.rating_a
        if cable.role == "jumper":
            guard_a *= parallel - 1
        assert guard_a <= limit_a(case, cable.choice) + 1e-6, cable.key
        carries_a = made.current_a if cable.role == "main" else cable.current_a
        assert carries_a <= cable.choice.ampacity_a + 1e-6, cable.key

    # fuses: what they stop, by Ohm's law on the least resistance and on the cables before them
    at_bank_a = volts / (made.source.string_ohm / parallel)
    leads_ohm = sum(c.cold_ohm for c in made.of_role("lead") if c.key.startswith("string 1 "))
    string_ohm = made.source.string_ohm + leads_ohm
    assert volts / (string_ohm / parallel + 2 * 60e-6) <= made.short_circuit_a <= at_bank_a
    assert stops(main, volts, made.short_circuit_a)
    assert main.rating_a < made.terminals.least_a
    if string is not None:
        assert made.string_fault is not None
        own_a = volts / (made.source.string_ohm + made.of_role("lead")[0].cold_ohm)
        assert made.string_fault.most_a >= own_a - 1e-6
        assert stops(string, volts, made.string_fault.most_a)
        assert string.rating_a < made.string_fault.least_a

    # loads, for long and in the surge
    for fuse, load_a in ((main, made.current_a), (string, made.of_role("lead"))):
        if fuse is None:
            continue
        long_a = load_a if isinstance(load_a, float) else load_a[0].current_a
        assert 0.8 * fuse.rating_a >= long_a - 1e-6
        surge_a = amps * surge * long_a / made.current_a
        assert fuse.fuse_class.held_s(surge_a / fuse.rating_a) >= SURGE_S * (1 - 1e-6)

    # drop from packs to inverter
    allowed_v = 0.03 * case.system.nominal_voltage_v
    path = sum(c.drop_v for c in made.of_role("main"))
    assert path <= made.main_drop_v + 1e-6
    assert made.main_drop_v <= allowed_v

    # branches, as they will be: with the parts that stay
    run_ohm = sum(cable.cold_ohm for cable in made.of_role("main"))
    fault_a = volts / (volts / made.short_circuit_a + run_ohm)
    decided = {d.part.name: d.decision for d in wiring.parts}
    for feed in feeds(case, made):
        stays = [d.part for d in feed.parts if d.decision == "keep"]
        assert all(decided[d.part.name] == d.decision for d in feed.parts)
        if feed.choice is None:
            assert feed.problem
            assert not stays
            continue
        if not feed.of_main_run:
            drop = 0.10 if feed.name == "windlass" else 0.03
            ohm = 2 * float(resistance_ohm(feed.choice.conductor, feed.length_m)) / feed.choice.runs
            assert feed.current_a * ohm <= drop * case.system.nominal_voltage_v + 1e-6, feed.name
            assert feed.current_a <= feed.choice.ampacity_a + 1e-6
            assert feed.choice.insulation_degc <= most_trusted(case, feed)
        fuses = [one for one in stays if one.kind == "branch fuse"]
        for one in fuses:
            assert one.fuse_class is not None
            assert one.rating_a is not None
            fuse_class = find_fuse_class(one.fuse_class)
            assert one.rating_a <= limit_a(case, feed.choice) + 1e-6, (feed.name, one)
            assert volts <= fuse_class.max_voltage_v
            assert interrupt_rating_a(fuse_class, volts) >= fault_a - 1e-6, (feed.name, one)
        if feed.fuse is None:
            assert feed.problem
            assert not fuses
            continue
        if feed.of_main_run and not fuses:
            assert feed.fuse is made.main_fuse
            continue
        if fuses:
            assert feed.fuse.rating_a == fuses[0].rating_a
        assert feed.fuse.rating_a <= limit_a(case, feed.choice) + 1e-6, feed.name
        assert 0.8 * feed.fuse.rating_a >= min(feed.current_a, made.current_a) - 1e-6
        assert feed.fault_a >= fault_a - 1e-6
        assert stops(feed.fuse, volts, feed.fault_a)


def most_trusted(case: Case, feed: Feed) -> int:
    """What a branch's cable may be insulated for: 70 degC where nobody says. [degC]"""
    said = case.system.insulation_degc
    for one in feed.parts:
        if one.part.kind == "branch cable":
            if one.decision == "keep":
                return one.part.insulation_degc or said or 70
            if feed.new_cable:
                return said or 105
    return said or 70


@pytest.mark.parametrize("demo", ["otterbank", "larch_hut", "coldharbour"])
def test_the_same_holds_for_every_arrangement_of_the_demos(demo: str) -> None:
    from tco import compare, read_case
    from tests.screens.helpers import ROOT

    comparison = compare(read_case(ROOT / "candidates_demo" / f"{demo}.toml"))
    case = comparison.case
    assert any(result.wiring is not None for result in comparison.results)
    for result in comparison.results:
        if result.wiring is None:
            continue
        made = result.wiring.circuit
        for cable in made.cables:
            if cable.role == "main":
                assert made.main_fuse.rating_a <= limit_a(case, cable.choice)
            elif made.string_fuse is not None:
                assert made.string_fuse.rating_a <= limit_a(case, cable.choice)
        assert stops(made.main_fuse, made.charging_v, made.short_circuit_a)
        if made.string_fuse is not None and made.string_fault_a is not None:
            assert stops(made.string_fuse, made.charging_v, made.string_fault_a)
        for feed in comparison.feeds(result):
            assert feed.choice is not None
            assert feed.fuse is not None, feed.problem
            assert feed.fuse.rating_a <= limit_a(case, feed.choice)
            assert stops(feed.fuse, made.charging_v, feed.fault_a)
