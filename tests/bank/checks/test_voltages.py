"""What hangs on a bank bears it full, and runs from it nearly empty."""

from collections.abc import Callable
from typing import Any

import pytest

from tco.bank.arrangements import MOST_BELOW_CUTOFF, Arrangement, arranged
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.bank.checks.check import Check
from tco.bank.checks.voltages import check_charging_voltage, check_cutoff
from tco.bank.choices import arrangements
from tco.bank.wiring.charger_settings import charger_settings
from tco.case import Case, specify
from tco.compare import compare
from tco.physics.chemistry import CHEMISTRIES

Build = Callable[..., Case]

KETTLE = {"name": "kettle", "power_w": 300.0, "hours_per_day": 0.5, "via": "inverter"}
LAMP = {"name": "lamp", "power_w": 20.0, "hours_per_day": 5.0, "when": "17-22"}
SODIUM = {"chemistry": "sodium-ion", "nominal_voltage_v": 12.0, "charge_min_degc": None}
LEAD = {"chemistry": "agm", "nominal_voltage_v": 12.0, "charge_min_degc": None}


def powered(plain_case: Build, *, cutoff: float = 10.5, candidate: Any = None, **more: Any) -> Case:
    """The plain case with an inverter and a kettle behind it."""
    inverter = {"continuous_w": 500.0, "cutoff_voltage_v": cutoff, **more}
    return plain_case(
        system={"inverter": inverter}, loads=[LAMP, KETTLE], candidate=candidate or {}
    )


def first(case: Case) -> Arrangement:
    return arrangements(case, energy_budget(case))[0]


def charging(case: Case) -> Check:
    (found,) = check_charging_voltage(case, first(case))
    return found


def cutoff(case: Case, *, hardest_a: float = 0.0, ohm: float = 0.0) -> Check:
    (found,) = check_cutoff(case, Bank(first(case), ohm=ohm), hardest_a=hardest_a)
    return found


# ---------------------------------------------------------------- full


def test_sodium_in_a_twelve_volt_system_is_charged_beyond_what_devices_bear(
    plain_case: Build,
) -> None:
    """15.8 V against the 15.5 V of 12 V that are assumed; stated, and exceeded, it fails."""
    case = plain_case(candidate={**SODIUM, "charge_voltage_v": 15.8})
    assumed = charging(case)
    assert (assumed.verdict, assumed.value, assumed.limit) == ("caution", 15.8, 15.5)
    assert assumed.margin == pytest.approx(-0.3)
    for word in ("direct loads", "assumed", "switch off or burn out"):
        assert word in assumed.reason
    stated = {"loads_highest_voltage_v": 15.0}
    refused = charging(plain_case(candidate={**SODIUM, "charge_voltage_v": 15.8}, system=stated))
    assert (refused.verdict, refused.limit) == ("fail", 15.0)
    # at 15.0 V a cell rests at 3.75 V: 0.9 + 0.1 x (3.75 - 3.52) / (3.90 - 3.52)
    assert "about 96%" in refused.reason


def test_the_limit_itself_passes_and_lead_and_lithium_do(plain_case: Build) -> None:
    at = plain_case(candidate={"charge_voltage_v": 14.6}, system={"loads_highest_voltage_v": 14.6})
    assert (charging(at).verdict, charging(at).margin) == ("pass", 0.0)
    assert charging(plain_case()).value == pytest.approx(4 * 3.55)
    assert charging(plain_case()).verdict == "pass"
    assert charging(plain_case(candidate=LEAD)).verdict == "pass"


def test_a_voltage_that_can_shock_is_told_where_it_stands(plain_case: Build) -> None:
    at_48 = charging(plain_case(system={"nominal_voltage_v": 48}))
    assert (at_48.verdict, "can shock" in at_48.reason) == ("pass", True)
    assert "can shock" not in charging(plain_case()).reason


def test_the_weaker_of_inverter_and_loads_decides(plain_case: Build) -> None:
    case = powered(plain_case, highest_voltage_v=14.0)
    assert (charging(case).limit, charging(case).verdict) == (14.0, "fail")
    assert "the inverter bears 14.0 V" in charging(case).reason
    hardy = powered(plain_case, highest_voltage_v=17.0)
    assert charging(hardy).limit == 15.5
    behind = case.model_copy(update={"loads": case.loads[1:]})
    alone = behind.model_copy(
        update={"system": case.system.model_copy(update={"loads_highest_voltage_v": 13.0})}
    )
    assert charging(alone).limit == 14.0  # no load hangs directly on the bank


def test_a_pack_that_is_charged_less_full_passes(plain_case: Build) -> None:
    low = charging(plain_case(candidate={**SODIUM, "charge_voltage_v": 15.0}))
    assert (low.verdict, low.value) == ("pass", 15.0)
    assert "charged full at 15.0 V;" in low.reason  # stated: no word of assuming


def test_the_stated_charge_voltage_goes_to_the_chargers(plain_case: Build) -> None:
    case = plain_case(candidate={"charge_voltage_v": 14.4})
    told = {s.setting: s for s in charger_settings(case, first(case))}
    assert told["absorption voltage"].value == "14.4 V"
    assert told["absorption voltage"].reason == "as the maker states"


@pytest.mark.parametrize("volts", [12.0, 21.0])
def test_a_charge_voltage_that_cannot_be_is_told(plain_case: Build, volts: float) -> None:
    with pytest.raises(ValueError, match="charge_voltage_v"):
        plain_case(candidate={"charge_voltage_v": volts})


@pytest.mark.parametrize("volts", [11.0, 25.0])
def test_a_highest_voltage_that_cannot_be_is_told(plain_case: Build, volts: float) -> None:
    with pytest.raises(ValueError, match="highest_voltage_v"):
        plain_case(system={"loads_highest_voltage_v": volts})
    with pytest.raises(ValueError, match="highest_voltage_v"):
        powered(plain_case, highest_voltage_v=volts)


# ---------------------------------------------------------------- nearly empty


def test_the_last_share_of_sodium_lies_under_the_cut_off(plain_case: Build) -> None:
    """10.5 V over four cells: 2.625 V, between the 2.40 V of 10 % and the 2.63 V of 20 %."""
    case = powered(plain_case, candidate={**SODIUM, "usable_depth": 0.9})
    below = 0.1 + 0.1 * (2.625 - 2.40) / (2.63 - 2.40)
    one = first(case)
    assert one.below_cutoff == pytest.approx(below)
    assert one.usable_depth == pytest.approx(1.0 - below)
    assert one.usable_wh == pytest.approx(1200.0 * (1.0 - below))
    found = cutoff(case)
    assert (found.verdict, found.unit) == ("caution", "kWh")
    assert found.margin == pytest.approx(1.2 * (1.0 - below - 0.9))
    assert "only 80% of the 90%" in found.reason


def test_the_years_count_only_what_is_above_the_cut_off(plain_case: Build) -> None:
    """A bank drained by a lamp alone goes to 10 %; with an inverter's load it stops at 20 %."""
    light = {"name": "lamp", "power_w": 100.0, "hours_per_day": 24.0, "when": "any time"}
    pack = {**SODIUM, "usable_depth": 0.9, "discharge_min_degc": -40.0}
    pack["self_discharge_per_month"] = 0.0
    lowest = {}
    for via in ("dc", "inverter"):
        data = powered(plain_case, candidate=pack).model_dump()
        data["loads"] = [{**light, "via": via}]
        made = Case.model_validate(data)
        result = compare(made, only=["1 × Plain 100 (1S1P)"]).results[0]
        lowest[via] = result.year["lowest_charge"]
    assert 0.1 - 1e-9 <= lowest["dc"] < 0.19
    assert lowest["inverter"] >= 0.1 + 0.1 * (2.625 - 2.40) / (2.63 - 2.40) - 1e-9


def test_lead_and_lithium_lie_above_it(plain_case: Build) -> None:
    for pack in ({}, LEAD):
        found = cutoff(powered(plain_case, candidate=pack))
        assert (found.verdict, found.margin) == ("pass", 0.0)


def test_without_loads_behind_an_inverter_nothing_cuts_off(plain_case: Build) -> None:
    case = plain_case(candidate=SODIUM, system={"inverter": {"continuous_w": 500.0}})
    assert first(case).below_cutoff == 0.0
    assert list(check_cutoff(case, Bank(first(case)), hardest_a=0.0)) == []


def test_the_hardest_draw_reaches_it_earlier(plain_case: Build) -> None:
    """10 milliohm of pack and 5 of cable at 100 A: 1.5 V, so it gives up where it rests at 12.0 V.

    Four cells then rest at 3.0 V: 0.1 + 0.1 x (3.0 - 2.978) / (3.169 - 2.978) of charge.
    """
    case = powered(plain_case, candidate={"usable_depth": 0.95})
    assert cutoff(case, hardest_a=0.0).verdict == "pass"
    found = cutoff(case, hardest_a=100.0, ohm=0.005)
    assert found.verdict == "caution"
    assert "1.5 V lost" in found.reason
    assert f"gives up below {0.1 + 0.1 * 0.022 / 0.191:.0%} of charge" in found.reason
    weak = cutoff(case, hardest_a=100.0, ohm=0.05)
    assert (weak.verdict, "even full" in weak.reason) == ("fail", True)


def test_a_bank_that_rests_under_it_fails(plain_case: Build) -> None:
    pack = {"chemistry": "lto", "nominal_voltage_v": 11.5, "charge_min_degc": None}
    case = powered(plain_case, cutoff=12.0, candidate={**pack, "usable_depth": 1.0})
    # five cells of 2.4 V rest at 12.0: 0.7 + 0.1 x (2.40 - 2.36) / (2.42 - 2.36)
    assert first(case).below_cutoff == pytest.approx(0.7 + 0.1 * 0.04 / 0.06)
    empty = Arrangement(specify(case.candidates[0]), 1, 1, MOST_BELOW_CUTOFF)
    (found,) = check_cutoff(case, Bank(empty), hardest_a=0.0)
    assert found.verdict == "fail"


def test_a_bank_of_another_voltage_is_ruled_out_by_that_alone(plain_case: Build) -> None:
    case = powered(plain_case)
    pack = specify(case.candidates[0].model_copy(update={"nominal_voltage_v": 6.4}))
    assert arranged(case, pack, 1, 1).below_cutoff == 0.0
    assert arranged(case, pack, 2, 1).below_cutoff > 0.0


@pytest.mark.parametrize("key", sorted(CHEMISTRIES))
def test_packs_are_charged_beyond_nine_tenths(key: str) -> None:
    """The usual charging voltage of a chemistry fills it, by its own curve."""
    chemistry = CHEMISTRIES[key]
    assert chemistry.absorption_v > chemistry.open_circuit_v[9]
