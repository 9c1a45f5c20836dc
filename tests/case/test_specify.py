"""Every gap is filled, every filled value is in `assumed` with its source, no stated one is."""

import dataclasses
from typing import Any

import pytest

from tco.case import Candidate, specify
from tco.physics.chemistry import CHEMISTRIES

FILLED = {
    "usable_depth", "mass_kg", "continuous_discharge_a", "peak_discharge_a",
    "continuous_charge_a", "internal_resistance_mohm", "charge_min_degc", "charge_max_degc",
    "discharge_min_degc", "discharge_max_degc", "heater_w", "low_temperature_cutoff",
    "rated_cycles", "rated_depth", "end_of_life", "calendar_life_years",
    "self_discharge_per_month", "max_series", "max_parallel", "cell_voltages_visible",
    "charge_display", "internal_management", "warranty_years", "freight_price",
    "charge_voltage_v",
}  # fmt: skip
STATED: dict[str, Any] = {
    "usable_depth": 0.77, "mass_kg": 33.0, "continuous_discharge_a": 41.0,
    "peak_discharge_a": 97.0, "continuous_charge_a": 23.0, "internal_resistance_mohm": 7.0,
    "charge_min_degc": 3.0, "charge_max_degc": 43.0, "discharge_min_degc": -13.0,
    "discharge_max_degc": 53.0, "heater_w": 17.0, "low_temperature_cutoff": True,
    "rated_cycles": 1234.0, "rated_depth": 0.66, "end_of_life": 0.71,
    "calendar_life_years": 8.5, "self_discharge_per_month": 0.011, "max_series": 2,
    "max_parallel": 3, "cell_voltages_visible": True, "charge_display": True,
    "internal_management": True, "warranty_years": 6.0, "freight_price": 44.0,
    "charge_voltage_v": 14.4,
}  # fmt: skip


def candidate(chemistry: str = "lfp", **stated: Any) -> Candidate:
    raw = {"name": "A", "nominal_voltage_v": 12.8, "capacity_ah": 100, "price": 1}
    return Candidate.model_validate(raw | {"chemistry": chemistry} | stated)


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_every_gap_is_assumed_with_a_source(chemistry: str) -> None:
    pack = specify(candidate(chemistry))
    assert set(pack.assumed) == FILLED
    assert all(len(datum.source) > 10 for datum in pack.assumed.values())
    empty = {f.name for f in dataclasses.fields(pack) if getattr(pack, f.name) is None}
    assert empty == {"dimensions_mm", "orientations", "short_circuit_a", "max_packs", "block"}


@pytest.mark.parametrize("field", sorted(FILLED))
def test_a_stated_value_is_used_and_not_assumed(field: str) -> None:
    pack = specify(candidate(**{field: STATED[field]}))
    assert set(pack.assumed) == FILLED - {field}
    if field == "internal_resistance_mohm":
        assert pack.internal_resistance_ohm == pytest.approx(STATED[field] / 1000.0, rel=1e-15)
    else:
        assert getattr(pack, field) == STATED[field]


def test_all_stated_nothing_assumed() -> None:
    assert specify(candidate(**STATED)).assumed == {}


def test_defaults_do_not_contradict_what_is_stated() -> None:
    low_peak = specify(candidate(peak_discharge_a=30))
    assert low_peak.continuous_discharge_a == 30.0
    assert "peak" in low_peak.assumed["continuous_discharge_a"].source
    high = specify(candidate(continuous_discharge_a=180))
    assert high.peak_discharge_a == 180.0
    warm = specify(candidate(charge_min_degc=55))
    assert warm.charge_max_degc == 55.0
    cold = specify(candidate(discharge_max_degc=-30))
    assert cold.discharge_min_degc == -30.0


@pytest.mark.parametrize(
    ("volts", "series"), [(12.0, 4), (12.8, 4), (24.0, 2), (25.6, 2), (51.2, 1), (6.0, 8)]
)
def test_packs_in_series_make_a_48_volt_system(volts: float, series: int) -> None:
    assert specify(candidate(nominal_voltage_v=volts)).max_series == series


def test_dimensions_are_all_or_none() -> None:
    assert specify(candidate(width_mm=300, depth_mm=170)).dimensions_mm is None
    pack = specify(candidate(width_mm=300, depth_mm=170, height_mm=220))
    assert pack.dimensions_mm == (300.0, 170.0, 220.0)
    assert pack.volume_l == pytest.approx(11.22, rel=1e-12)
