"""Voltage left at the inverter while a load starts."""

from typing import Any

import numpy as np
import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank, wired
from tco.bank.budget import peak_demand, surge_w
from tco.bank.checks.check import Check
from tco.bank.checks.surge import check_surge_voltage
from tco.case import Case, specify
from tests.conftest import build_plain_case

INVERTER: dict[str, Any] = {
    "name": "inverter", "continuous_w": 600.0, "surge_w": 1_200.0, "efficiency": 1.0,
    "cutoff_voltage_v": 10.5,
}  # fmt: skip


def built(**changes: Any) -> tuple[Case, Bank]:
    system = {"inverter": INVERTER, **changes.pop("system", {})}
    case = build_plain_case(system=system, loads=[], sources={"solar": []}, **changes)
    arrangement = Arrangement(specify(case.candidates[0]), 1, 1)
    return case, wired(case, arrangement, current_a=60.0, surge_a=115.0)


def check(**changes: Any) -> Check:
    case, bank = built(**changes)
    (found,) = check_surge_voltage(case, bank, peak_demand(case))
    return found


def test_ohms_law_by_hand() -> None:
    """1200 W at 10.5 V are 114.3 A; half charged, four LFP cells rest at 3.266 V each. The pack has
    5 milliohm at 25 degC, more at the 12.5 degC between a usual night and the mean day."""
    case, bank = built(candidate={"internal_resistance_mohm": 5.0})
    (found,) = check_surge_voltage(case, bank, peak_demand(case))
    factor = bank.arrangement.pack.chemistry.resistance_factor(12.5)
    left = 4 * 3.266 - 1_200.0 / 10.5 * (0.005 * factor + bank.ohm)
    assert found.value == pytest.approx(left)
    assert (found.limit, found.verdict) == (10.5, "pass")


def test_a_weak_pack_is_a_caution_and_one_that_never_starts_it_fails() -> None:
    """13.06 V half charged less 114 A through 25 milliohm is below 10.5 V; full it is not:
    14.4 V. Through 60 milliohm 14.4 V fall below it as well."""
    weak = check(candidate={"internal_resistance_mohm": 25.0})
    assert weak.verdict == "caution"
    assert "well charged" in weak.reason
    never = check(candidate={"internal_resistance_mohm": 60.0})
    assert never.verdict == "fail"
    assert "too little as well" in never.reason


def test_an_assumed_resistance_fails_nobody() -> None:
    small = {"internal_resistance_mohm": None, "capacity_ah": 15.0, "short_circuit_a": 2_000.0}
    found = check(candidate=small)
    assert found.verdict == "caution"
    assert "assumed" in found.reason


def test_no_inverter_nothing_to_give_up() -> None:
    case, bank = built()
    plain = case.model_copy(update={"system": case.system.model_copy(update={"inverter": None})})
    assert list(check_surge_voltage(plain, bank, peak_demand(plain))) == []
    assert list(check_surge_voltage(case, Bank(bank.arrangement), peak_demand(case))) == []


@pytest.mark.parametrize("way", ["inverter rating", "loads at once"])
def test_fuses_bear_the_surge_in_every_way_of_counting_loads(way: str) -> None:
    """A motor behind the inverter starts with five times its 300 W: 1500 W of 600 W continuous."""
    motor = {"name": "motor", "power_w": 300.0, "surge_w": 1_500.0, "hours_per_day": 0.5,
             "via": "inverter"}  # fmt: skip
    case = build_plain_case(
        system={"inverter": {**INVERTER, "surge_w": 1_500.0}}, loads=[motor],
        sources={"solar": []}, assumptions={"current_to_carry": way},
    )  # fmt: skip
    demand = peak_demand(case)
    assert surge_w(case, demand) == pytest.approx(1_500.0)
    surge_a = surge_w(case, demand) / 10.5
    current_a = (600.0 if way == "inverter rating" else 300.0) / 10.5
    for parallel in (1, 2):
        arrangement = Arrangement(specify(case.candidates[0]), 1, parallel)
        made = wired(case, arrangement, current_a=current_a, surge_a=surge_a).wiring
        assert made is not None
        main = made.main_fuse
        assert main.fuse_class.held_s(surge_a / main.rating_a) >= 5.0
        if made.string_fuse is not None:
            part = made.circuit.of_role("lead")[0].current_a / current_a
            string = made.string_fuse
            assert string.fuse_class.held_s(part * surge_a / string.rating_a) >= 5.0
        calm = wired(case, arrangement, current_a=current_a).wiring
        assert calm is not None
        assert calm.main_fuse.rating_a <= main.rating_a


def test_what_is_left_falls_with_the_cold() -> None:
    left = [
        check(climate={"mean_degc": [t] * 12, "min_degc": [t - 5] * 12, "max_degc": [t + 5] * 12})
        for t in (25.0, 5.0, -10.0)
    ]
    values = [found.value for found in left if found.value is not None]
    assert len(values) == 3
    assert np.all(np.diff(values) < 0)
