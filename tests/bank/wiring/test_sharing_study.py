"""Parallel strings from both sides: uneven sharing, loose joints, and what is left with one out."""

from dataclasses import replace

import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.circuit import circuit
from tco.bank.wiring.sharing import share
from tco.bank.wiring.sharing_study import LOOSE_OHM, TAKE_OFFS, SharingStudy, study
from tco.bank.wiring.wiring import wire
from tco.case import specify
from tco.report.wiring.frames import larger_fuses
from tests.conftest import build_plain_case


def studied(parallel: int, *, amps: float = 100.0, take_off: str = "busbars") -> SharingStudy:
    case = build_plain_case(system={"take_off": take_off}, sources={"solar": []})
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    return study(case, arrangement, circuit(case, arrangement, current_a=amps))


def test_one_string_has_nothing_to_share_but_a_joint_to_come_loose() -> None:
    alone = studied(1)
    assert alone.ways == ()
    assert alone.over_discharge is None
    assert alone.string_out is None
    assert alone.loose is not None
    # I squared R: 100 A through the 1 milliohm more
    assert alone.loose.heat_w == pytest.approx(100.0**2 * LOOSE_OHM)
    assert "fire" in alone.loose.caution


@pytest.mark.parametrize("parallel", [2, 3, 4])
def test_ways_to_join_are_compared_and_busbars_share_best(parallel: int) -> None:
    ways = {way.take_off: way for way in studied(parallel).ways}
    assert tuple(ways) == TAKE_OFFS
    unevenness = [ways[way].sharing.unevenness for way in TAKE_OFFS]
    assert unevenness[0] == pytest.approx(1.0)
    assert unevenness[1] <= unevenness[2] + 1e-12
    # usable current is what the hardest string leaves, of P x 100 A a pack gives or 80 % of a fuse
    for way in ways.values():
        string_a = min(100.0, 0.8 * way.string_fuse_a)
        assert way.usable_a <= parallel * string_a / way.sharing.unevenness * (1 + 1e-9)
        if way.take_off == "busbars":
            assert way.usable_a == pytest.approx(parallel * string_a)


def test_with_one_out_the_others_carry_the_load() -> None:
    found = studied(4, amps=250.0)
    assert found.string_out is not None
    # three that are left, each behind a fuse of 110 A that carries 88 for long
    assert found.string_out.usable_a == pytest.approx(3 * 88.0)
    assert found.string_out.limited_by == "string fuse"
    assert not found.string_out.overloaded
    assert found.string_out.sharing.share.count(0.0) == 1
    two = studied(2, amps=150.0)
    assert two.string_out is not None
    assert two.string_out.overloaded  # the one left may carry 100 A


def test_a_loose_joint_of_one_of_four_is_cooler_than_that_of_the_only_one() -> None:
    four, one = studied(4), studied(1)
    assert four.loose is not None
    assert one.loose is not None
    assert four.loose.heat_w < one.loose.heat_w / 10.0


def test_shares_even_out_over_a_discharge() -> None:
    found = studied(4, take_off="one end")
    assert found.over_discharge is not None
    built = next(way for way in found.ways if way.take_off == "one end")
    assert 1.0 <= found.over_discharge.unevenness < built.sharing.unevenness


def test_the_way_it_is_built_is_the_circuit_itself_old_parts_and_shunt_included() -> None:
    parts = [
        {"name": "c", "kind": "main cable", "size": "95 mm2", "length_m": 9.0},
        {"name": "m", "kind": "monitor", "rating_a": 500.0},
    ]
    case = build_plain_case(
        system={"parts": parts}, sources={"solar": []}, candidate={"charge_display": False}
    )
    arrangement = Arrangement(specify(case.candidates[0]), 1, 2)
    made = wire(case, arrangement, current_a=100.0).circuit
    ways = {way.take_off: way for way in study(case, arrangement, made).ways}
    assert ways["busbars"].connections == made.connections
    assert ways["busbars"].ohm == made.ohm
    # ends by hand: five pieces of the main run, and for two strings a piece to the fuse each and
    # two jumpers
    assert ways["diagonal"].connections == 2 * (5 + 2 + 2)


@pytest.mark.parametrize("parallel", [2, 3, 4])
@pytest.mark.parametrize("take_off", TAKE_OFFS)
def test_what_may_be_drawn_with_one_out_leaves_no_fuse_or_cable_beyond_its_own(
    parallel: int, take_off: str
) -> None:
    case = build_plain_case(system={"take_off": take_off}, sources={"solar": []})
    arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
    made = circuit(case, arrangement, current_a=150.0)
    out = study(case, arrangement, made).string_out
    assert out is not None
    assert made.string_fuse is not None
    left = share(replace(made.network, missing=frozenset({out.string})), out.usable_a)
    assert max(left.current_a) <= 100.0 + 1e-6  # what a pack gives
    assert max(left.current_a) <= 0.8 * made.string_fuse.rating_a + 1e-6
    assert out.usable_a <= 0.8 * made.main_fuse.rating_a + 1e-6
    for cable in made.of_role("lead"):
        assert max(left.current_a) <= cable.choice.ampacity_a + 1e-6
    for name, watts in left.heat_w.items():
        if "jumper" in name:
            amps = (watts / made.network.link_ohm) ** 0.5
            assert amps <= made.of_role("jumper")[0].choice.ampacity_a + 1e-6


def test_a_take_off_that_needs_a_larger_fuse_names_the_one_that_does_not() -> None:
    """Stiff packs and long jumpers: from one end the first string takes far more than its share."""
    case = build_plain_case(
        system={"take_off": "one end"}, sources={"solar": []},
        candidate={
            "internal_resistance_mohm": 1.0, "width_mm": 900.0, "short_circuit_a": 3_000.0,
        },
    )  # fmt: skip
    arrangement = Arrangement(specify(case.candidates[0]), 1, 4)
    found = study(case, arrangement, circuit(case, arrangement, current_a=300.0))
    fuses = {way.take_off: way.string_fuse_a for way in found.ways}
    assert fuses["one end"] > fuses["busbars"]
    told = larger_fuses(found, built_as="one end")
    assert f"a fuse of {fuses['one end']:g} A" in told
    assert f"busbars {fuses['busbars']:g} A" in told
    assert larger_fuses(found, built_as="busbars") == ""


def test_an_assumed_resistance_does_not_make_strings_share_better_than_they_may() -> None:
    """From one end, jumpers count for more the less the packs have."""

    def string_a(milliohm: float | None) -> float:
        case = build_plain_case(
            system={"take_off": "one end"}, sources={"solar": []},
            candidate={"internal_resistance_mohm": milliohm},
        )  # fmt: skip
        made = circuit(case, Arrangement(specify(case.candidates[0]), 1, 3), current_a=200.0)
        return made.of_role("lead")[0].current_a

    usual = 4 * 0.25 / 100.0 * 1000.0  # what is assumed for four cells of 100 Ah
    assert string_a(None) > string_a(usual)
