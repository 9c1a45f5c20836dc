"""Whole circuits against published rules and hand calculations from published tables."""

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.cable_runs import FUSE_PIECE_M
from tco.bank.wiring.circuit import circuit
from tco.bank.wiring.installed_parts import decide_parts
from tco.case import specify
from tests.conftest import build_plain_case

FEET = 0.3048


def built(amps: float, parallel: int = 1, **changes: object):  # type: ignore[no-untyped-def]
    case = build_plain_case(sources={"solar": []}, **changes)
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    return case, arrangement, circuit(case, arrangement, current_a=amps)


def test_a_worked_example_of_the_voltage_drop_tables() -> None:
    """10 A, 21 ft there and back, 12 V, 3 %: 10 AWG (worked example of a marine supplier's
    handbook, by the ABYC E-11 formula)."""
    _, _, made = built(10.0, system={"cable_run_m": 10.5 * FEET, "conductor_sizes": "awg"})
    assert {c.conductor.label for c in made.of_role("main")} == {"10 AWG"}


def test_drop_of_a_run_from_the_resistance_table() -> None:
    """NEC chapter 9 table 8: 3 AWG stranded 0.245 ohm per 1000 ft at 75 degC; 100 A over 6 ft
    each way lose 100 x 12 x 0.245 / 1000 = 0.294 V of the 0.36 V (3 %) allowed, while 4 AWG (0.308)
    would lose 0.3696 V. The table's three digits allow 0.3 %."""
    _, _, made = built(100.0, system={"cable_run_m": 6 * FEET, "conductor_sizes": "awg"})
    main = made.of_role("main")
    assert {c.conductor.label for c in main} == {"3 AWG"}
    assert sum(c.drop_v for c in main) == pytest.approx(0.294, rel=0.003)


def test_ampacity_governs_a_short_run() -> None:
    """A load of 100 A takes a fuse of 125 A (80 %, NEC 210.20(A)), and that one 4 AWG (160 A
    outside engine spaces, ABYC E-11 table; 6 AWG bears 120)."""
    _, _, made = built(100.0, system={"cable_run_m": 0.3, "conductor_sizes": "awg"})
    assert {c.conductor.label for c in made.of_role("main")} == {"4 AWG"}
    assert made.main_fuse.rating_a == 125.0


def test_short_circuit_currents_of_strings_add_and_a_fuse_stops_them() -> None:
    """ABYC E-11 as quoted by practitioners: those of parallel strings add; where they pass 10 kA
    the device interrupts 20 kA at 125 V, which among the classes here only class T does."""
    stiff = {"short_circuit_a": 7_100.0}
    _, _, one = built(60.0, candidate=stiff)
    # Ohm's law: 14.2 V behind 2.0 milliohm and two joints of 19 micro-ohm (IEEE 450, good ones)
    assert one.short_circuit_a == pytest.approx(14.2 / 0.002038, rel=1e-9)
    _, _, four = built(60.0, 4, candidate=stiff)
    assert 7_100 < four.short_circuit_a < 4 * 7_100  # they add, less what the leads take
    assert four.string_fuse is not None
    assert four.string_fuse.interrupt_a >= four.string_fault_a > 5_000
    _, _, thick = built(300.0, 4, candidate=stiff)
    assert thick.short_circuit_a > 10_000
    assert thick.main_fuse.fuse_class.name == "class T"
    assert thick.main_fuse.interrupt_a == 20_000


def test_fuses_stand_within_seven_inches_of_the_terminal() -> None:
    """ABYC E-11: 7 in (178 mm)."""
    assert FUSE_PIECE_M <= 7 * 0.0254
    _, _, made = built(60.0, 3)
    for cable in made.cables:
        if cable.key.endswith("to fuse"):
            assert cable.length_m <= 7 * 0.0254


def test_an_old_fuse_is_judged_by_the_same_three_rules() -> None:
    """A fuse may not exceed the ampacity behind it (NEC 240.4), is loaded to 80 % at most
    (NEC 210.20(A)), and has to interrupt what may flow (NEC 110.9)."""

    def verdict(fuse_class: str, rating_a: float, short_a: float) -> tuple[str, str]:
        part = {"name": "f", "kind": "main fuse", "fuse_class": fuse_class, "rating_a": rating_a}
        case, arrangement, made = built(
            100.0,
            system={"parts": [part], "conductor_sizes": "awg", "cable_run_m": 0.3},
            candidate={"short_circuit_a": short_a},
        )
        (decision,) = decide_parts(case, arrangement, made)
        return decision.decision, decision.reason

    assert verdict("ANL", 130.0, 1_420.0)[0] == "keep"
    assert verdict("ANL", 175.0, 1_420.0)[1] == "ANL 175 A does not protect a cable of 160 A"
    assert "100 A are needed" in verdict("ANL", 100.0, 1_420.0)[1]
    assert "interrupts only 6,000 A" in verdict("ANL", 130.0, 7_100.0)[1]
