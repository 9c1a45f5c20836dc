"""Which arrangements a candidate gives."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement, meets_voltage, packs_in_series
from tco.bank.budget import energy_budget
from tco.bank.choices import arrangements
from tco.case import Candidate, Case, Pack, specify
from tco.physics.chemistry import CHEMISTRIES

Build = Callable[..., Case]


def built(case: Case) -> tuple[Arrangement, ...]:
    return arrangements(case, energy_budget(case))


def layouts(case: Case) -> list[str]:
    return [arrangement.layout for arrangement in built(case)]


BIG_NEED = {"name": "heater", "power_w": 1000.0, "hours_per_day": 20.0}


def pack_of(volts: float, chemistry: str) -> Pack:
    return specify(
        Candidate(
            name="any", chemistry=chemistry, nominal_voltage_v=volts, capacity_ah=50.0, price=1.0
        )
    )


@pytest.mark.parametrize(
    ("pack_v", "chemistry", "system_v", "series"),
    [
        (12.8, "lfp", 12, 1),
        (12.8, "lfp", 24, 2),
        (12.8, "lfp", 36, 3),
        (12.8, "lfp", 48, 4),
        (25.6, "lfp", 48, 2),
        (51.2, "lfp", 48, 1),
        (48.1, "nmc", 48, 1),
        (6.0, "agm", 48, 8),
        (2.0, "gel", 12, 6),
        (2.0, "gel", 48, 24),
        (2.0, "flooded", 48, 24),
        # single cells, as the trade builds them: 4, 8, 12 and 16 of LFP, 14 of NMC
        (3.2, "lfp", 12, 4),
        (3.2, "lfp", 24, 8),
        (3.2, "lfp", 36, 12),
        (3.2, "lfp", 48, 16),
        (3.65, "nmc", 48, 14),
    ],
)
def test_number_in_series(pack_v: float, chemistry: str, system_v: int, series: int) -> None:
    assert packs_in_series(pack_of(pack_v, chemistry), system_v) == series
    assert meets_voltage(series * pack_v, system_v)


@given(st.floats(2.0, 60.0), st.sampled_from(list(CHEMISTRIES)), st.sampled_from([12, 24, 36, 48]))
def test_no_other_number_in_series_suits_where_the_chosen_one_does_not(
    pack_v: float, chemistry: str, system_v: int
) -> None:
    series = packs_in_series(pack_of(pack_v, chemistry), system_v)
    if not meets_voltage(series * pack_v, system_v):
        assert not any(meets_voltage(s * pack_v, system_v) for s in range(1, 40))


def test_the_voltage_band_includes_its_ends_and_no_more() -> None:
    assert meets_voltage(46.0, 48.0)
    assert meets_voltage(53.0, 48.0)
    assert not meets_voltage(44.0, 48.0)
    assert not meets_voltage(54.0, 48.0)


def test_a_12_volt_pack_in_a_24_volt_system_stands_in_twos(plain_case: Build) -> None:
    case = plain_case(system={"nominal_voltage_v": 24}, loads=[BIG_NEED])
    found = built(case)
    assert [a.layout for a in found] == ["2S1P", "2S2P", "2S3P", "2S4P"]
    four = found[1]
    assert four.packs == 4
    assert four.nominal_voltage_v == pytest.approx(25.6)
    assert four.capacity_ah == pytest.approx(200.0)
    assert four.energy_wh == pytest.approx(4 * 1280.0)
    assert four.usable_wh == pytest.approx(4 * 1280.0 * 0.9)
    assert four.mass_kg == pytest.approx(44.0)
    assert four.pack_resistance_ohm == pytest.approx(0.010)  # two in series, two strings
    assert four.label == "4 × Plain 100 (2S2P)"


def test_36_and_48_volts(plain_case: Build) -> None:
    at_36 = plain_case(system={"nominal_voltage_v": 36}, loads=[BIG_NEED])
    assert layouts(at_36) == ["3S1P", "3S2P"]  # eight packs at most
    at_48 = plain_case(system={"nominal_voltage_v": 48}, loads=[BIG_NEED])
    assert layouts(at_48) == ["4S1P", "4S2P"]


def test_the_makers_limit_in_parallel_holds(plain_case: Build) -> None:
    case = plain_case(candidate={"max_parallel": 2}, loads=[BIG_NEED])
    assert layouts(case) == ["1S1P", "1S2P"]


def test_the_owners_limit_of_packs_holds(plain_case: Build) -> None:
    case = plain_case(assumptions={"max_packs": 3}, loads=[BIG_NEED])
    assert layouts(case) == ["1S1P", "1S2P", "1S3P"]


@pytest.mark.parametrize(
    "changes",
    [
        {"system": {"nominal_voltage_v": 48}, "candidate": {"max_series": 2}},
        {"system": {"nominal_voltage_v": 48}, "assumptions": {"max_packs": 2}},
        {"candidate": {"nominal_voltage_v": 25.6, "capacity_ah": 50.0}},
    ],
    ids=["series limit", "pack limit", "voltage"],
)
def test_a_candidate_that_cannot_be_built_is_shown_once(
    plain_case: Build, changes: dict[str, Any]
) -> None:
    found = built(plain_case(loads=[BIG_NEED], **changes))
    assert len(found) == 1
    assert found[0].parallel == 1


def test_growth_stops_at_the_first_bank_far_above_the_need(plain_case: Build) -> None:
    # need: 1000 Wh a day, 2 days, 70 % health: 2857 Wh; twice that is 5714 Wh; a pack has 1152
    need = {"name": "heater", "power_w": 100.0, "hours_per_day": 10.0}
    case = plain_case(
        loads=[need], candidate={"max_parallel": 8}, assumptions={"largest_bank_over_need": 2.0}
    )
    assert layouts(case)[-1] == "1S5P"
    assert built(case)[-2].usable_wh < 5714.3 <= built(case)[-1].usable_wh


def test_candidates_keep_their_order_and_none_gives_none(plain_case: Build) -> None:
    assert built(plain_case(candidates=[])) == ()
    first = plain_case().candidates[0].model_dump(exclude_none=True)
    second = {**first, "name": "Other"}
    names = [a.pack.name for a in built(plain_case(candidates=[second, first]))]
    assert names == ["Other", "Plain 100"]
