"""What a bank drives into a dead short: never less than it may, and no more than it can."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.warm import warmest_degc
from tco.bank.wiring.faults import BankFault, bank_fault
from tco.bank.wiring.wiring import wire
from tco.case import specify
from tco.physics.chemistry import CHEMISTRIES
from tests.conftest import build_plain_case

UNKNOWN = {"internal_resistance_mohm": None}


def source(parallel: int = 1, **changes: Any) -> BankFault:
    changes.setdefault("sources", {"solar": []})
    case = build_plain_case(**changes)
    return bank_fault(case, Arrangement(specify(case.candidates[0]), 1, parallel))


# ---------------------------------------------------------------- the least resistance


def test_an_unknown_resistance_is_the_least_for_its_size_and_said_to_be_assumed() -> None:
    """Not the cautious one for voltage drop: that would make the fault smaller than it may be."""
    unknown, told = source(candidate=UNKNOWN), source()
    assert unknown.assumed
    assert "assumed" in unknown.words
    assert not told.assumed
    pack = specify(build_plain_case(candidate=UNKNOWN).candidates[0])
    assert unknown.string_ohm < 0.5 * pack.internal_resistance_ohm
    assert unknown.string_ohm_at_most == pack.internal_resistance_ohm


@given(milliohm=st.floats(0.05, 50.0), ah=st.floats(20.0, 600.0))
def test_it_is_never_more_than_the_shop_states_nor_than_the_size_may_have(
    milliohm: float, ah: float
) -> None:
    """A shop's "under 30 milliohm" is an upper limit: no short circuit is reckoned softer by it."""
    size = {"capacity_ah": ah, "mass_kg": 80.0, "width_mm": 600.0}
    stated = source(candidate={"internal_resistance_mohm": milliohm, **size})
    unknown = source(candidate={**UNKNOWN, **size})
    assert stated.string_ohm <= milliohm / 1000.0
    assert stated.string_ohm <= unknown.string_ohm
    # warm by one and the same factor: what is stated counts wherever it is the smaller
    warm = unknown.string_ohm / (4 * CHEMISTRIES["lfp"].fault_ohm_ah.value / ah)
    assert stated.string_ohm == pytest.approx(min(unknown.string_ohm, warm * milliohm / 1000.0))


def test_the_maker_s_short_circuit_current_goes_before_all() -> None:
    """By hand: 14.2 V at absorption and 3550 A are 4 milliohm."""
    found = source(candidate={**UNKNOWN, "short_circuit_a": 3_550.0})
    assert found.string_ohm == pytest.approx(0.004)
    assert not found.assumed
    assert found.least_interrupt_a == 0.0
    assert "3,550 A" in found.words
    weak = source(candidate={"short_circuit_a": 700.0}).at_terminals()
    assert weak.least_a <= weak.most_a  # though the shop states 10 milliohm, 1400 A


@pytest.mark.parametrize("chemistry", ["lfp", "nmc"])
def test_a_cell_at_forty_degrees_has_less_of_its_resistance(chemistry: str) -> None:
    """0.6 to 0.75 of that at 25 degC (makers' curves of resistance by temperature, memory)."""
    entry = CHEMISTRIES[chemistry]
    warm = source(candidate={**UNKNOWN, "chemistry": chemistry, "nominal_voltage_v": 12.8})
    cells = specify(
        build_plain_case(candidate={"chemistry": chemistry}).candidates[0]
    ).cells_in_series
    assert warm.degc == 40.0
    assert 0.6 <= warm.string_ohm / (entry.fault_ohm_ah.value * cells / 100.0) <= 0.75


def test_the_warmest_is_that_of_the_hottest_space() -> None:
    assert warmest_degc(build_plain_case()) == 40.0
    assert warmest_degc(build_plain_case(climate={"max_degc": [47.0] * 12})) == 47.0
    # ABYC E-11 takes the air of engine spaces for 50 degC
    assert warmest_degc(build_plain_case(space={"engine_space": True})) == 50.0


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_the_bound_lies_under_the_usual_resistance_of_every_chemistry(chemistry: str) -> None:
    entry = CHEMISTRIES[chemistry]
    assert entry.fault_ohm_ah.value < entry.resistance_ohm_ah.value
    assert "memory" in str(entry.fault_ohm_ah.source)


# ---------------------------------------------------------------- classes where nothing is known


@pytest.mark.parametrize("chemistry", ["lfp", "nmc", "lto", "sodium-ion"])
@pytest.mark.parametrize("ah", [25.0, 100.0])
def test_unknown_lithium_takes_class_t_or_better_however_small(chemistry: str, ah: float) -> None:
    """20 kA is what ABYC E-11 asks for large banks (as quoted)."""
    volts = {"lto": 11.5, "sodium-ion": 12.0, "nmc": 14.6}.get(chemistry, 12.8)
    case = build_plain_case(
        candidate={
            **UNKNOWN, "chemistry": chemistry, "capacity_ah": ah, "nominal_voltage_v": volts,
            "mass_kg": 11.0,
        },
        sources={"solar": []},
    )  # fmt: skip
    for parallel in (1, 2):
        made = wire(case, Arrangement(specify(case.candidates[0]), 1, parallel), current_a=5.0)
        for fuse in (made.main_fuse, made.string_fuse):
            assert fuse is None or fuse.interrupt_a >= 20_000


def test_known_lithium_and_lead_take_what_stops_them() -> None:
    small = {"capacity_ah": 20.0, "internal_resistance_mohm": 12.0}
    known = build_plain_case(candidate=small, sources={"solar": []})
    made = wire(known, Arrangement(specify(known.candidates[0]), 1, 1), current_a=10.0)
    assert made.short_circuit_a <= made.main_fuse.interrupt_a < 20_000
    lead = build_plain_case(
        candidate={**UNKNOWN, "chemistry": "flooded", "capacity_ah": 60.0},
        sources={"solar": []},
    )
    made = wire(lead, Arrangement(specify(lead.candidates[0]), 1, 1), current_a=10.0)
    assert made.short_circuit_a <= made.main_fuse.interrupt_a < 20_000


# ---------------------------------------------------------------- places


def test_a_bank_of_strings_is_not_ruled_out_by_a_fault_none_of_its_fuses_sees() -> None:
    """By hand, three strings of 6 kA (14.2 V: 2.367 milliohm each): before their leads they could
    drive 18 kA together, yet a string's fuse sees two of them through 0.4 milliohm of lead each and
    once more: 14.2 / ((2.367 + 0.4) / 2 + 0.2) milliohm = 8.97 kA."""
    made = source(3, candidate={"short_circuit_a": 6_000.0})
    seen = made.at_string_fuse(piece_ohm=0.0, lead_ohm=(0.0002, 0.0002))
    assert seen.most_a == pytest.approx(14.2 / ((0.0142 / 6 + 0.0004) / 2 + 0.0002), rel=1e-9)
    assert seen.most_a == pytest.approx(8_970, abs=5)


def test_chargers_feed_a_fault_at_a_string_too() -> None:
    engine = [{"name": "DC-DC", "rating_a": 40.0, "hours_per_day": 1.0}]
    soft = {"short_circuit_a": 1_420.0}
    alone = source(4, candidate=soft).at_string_fuse(piece_ohm=0.0, lead_ohm=(0.001, 0.001))
    fed = source(4, candidate=soft, sources={"solar": [], "engine": engine}).at_string_fuse(
        piece_ohm=0.0, lead_ohm=(0.001, 0.001)
    )
    assert fed.most_a == pytest.approx(alone.most_a + 40.0)


@given(
    parallel=st.integers(2, 8),
    piece=st.floats(1e-5, 1e-3),
    lead=st.floats(1e-5, 5e-3),
    jumper=st.floats(1e-5, 5e-3),
)
def test_more_cable_never_makes_a_fault_harder(
    parallel: int, piece: float, lead: float, jumper: float
) -> None:
    bank = source(parallel)
    for leads in ((), (lead, lead)):
        thin = bank.at_string_fuse(piece_ohm=piece, lead_ohm=leads, jumper_ohm=jumper)
        none = bank.at_string_fuse(piece_ohm=0.0, lead_ohm=leads, jumper_ohm=0.0)
        assert thin.most_a <= none.most_a * (1 + 1e-12)
        whole = bank.volts / (bank.string_ohm / parallel)
        assert thin.least_a <= thin.most_a <= whole
    at_bank = bank.at_terminals(leads_ohm=lead)
    beyond = bank.beyond(at_bank, cold_ohm=jumper, warm_ohm=1.2 * jumper, out_ohm=piece)
    assert beyond.most_a <= at_bank.most_a
    assert beyond.least_a <= at_bank.least_a
