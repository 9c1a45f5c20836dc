"""A small case in which every numeric field of the models is stated, and their limits."""

import math
from collections.abc import Iterator, Mapping
from copy import deepcopy
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError

from tco.case import Case
from tco.case.base import Model, field_kind, model_in
from tco.case.explain import limits_of
from tests.conftest import PLAIN

Path = tuple[str | int, ...]


def every_section() -> dict[str, Any]:
    """Plain data of a valid case with one entry of every list and every section."""
    data = deepcopy(PLAIN)
    pack = data["candidates"][0]
    name = pack["name"]
    pack |= {
        "peak_discharge_a": 200.0, "charge_max_degc": 45.0, "discharge_max_degc": 60.0,
        "heater_w": 30.0, "rated_cycles": 4000.0, "rated_depth": 0.8, "end_of_life": 0.8,
        "calendar_life_years": 12.0, "self_discharge_per_month": 0.03, "warranty_years": 5.0,
        "lead_time_days": 10.0, "short_circuit_a": 4_000.0, "charge_voltage_v": 14.2,
        "max_packs": 9,
    }  # fmt: skip
    data["candidates"].append(
        {"name": "Lead 80", "chemistry": "agm", "nominal_voltage_v": 12.0, "capacity_ah": 80.0,
         "mass_kg": 24.0, "price": 150.0}
    )  # fmt: skip
    data["candidates"].append(
        {"name": "Cell 300", "chemistry": "lfp", "nominal_voltage_v": 3.2, "capacity_ah": 300.0,
         "mass_kg": 5.5, "price": 70.0}
    )  # fmt: skip
    data["management_units"] = [
        {"name": "unit", "fewest_cells": 4, "most_cells": 8, "continuous_discharge_a": 100.0,
         "peak_discharge_a": 200.0, "continuous_charge_a": 60.0, "price": 90.0}
    ]  # fmt: skip
    system = data["system"]
    system["spaces"][0] |= {
        "opening_width_mm": 800.0, "opening_height_mm": 400.0, "foam_mm": 20.0, "warmth": 0.3,
        "vent_diameter_mm": 80.0,
    }  # fmt: skip
    system |= {
        "mass_limit_kg": 80.0,
        "inverter": {"continuous_w": 500.0, "surge_w": 1000.0, "cutoff_voltage_v": 10.5,
                     "highest_voltage_v": 16.0},
        "loads_highest_voltage_v": 16.0, "between_spaces_m": 3.0,
        "old_bank": {"capacity_ah": 100.0, "mass_kg": 30.0, "age_years": 5.0, "sale_price": 5.0},
        "parts": [
            {"name": "fuse", "kind": "main fuse", "fuse_class": "MEGA", "rating_a": 100.0,
             "age_years": 5.0, "price": 20.0, "sale_price": 1.0, "yearly_upkeep": 1.0},
            {"name": "cable", "kind": "main cable", "size": "35 mm2", "length_m": 4.0,
             "quantity": 2},
            {"name": "roof switch", "kind": "isolator", "branch": "panel", "side": "panel side",
             "rating_a": 32.0, "rating_v": 600.0},
        ],
    }  # fmt: skip
    data.setdefault("prices", {}).update(external_management_price=120.0, contactor_price=90.0)
    data["loads"][0]["when"] = "any time"
    data["loads"] += [
        {"name": "kettle", "power_w": 300.0, "surge_w": 400.0, "hours_per_day": 0.2,
         "via": "inverter", "quantity": 2, "at_once": 1},
        {"name": "pump", "current_a": 2.0, "hours_per_day": 0.5, "cable_run_m": 4.0},
    ]  # fmt: skip
    charger = {"adjustable": True, "replacement_price": 90.0}
    data["sources"]["solar"][0] |= {**charger, "shade": 0.1, "panel_voltage_v": 40.0}
    data["sources"] |= {
        "engine": [
            {
                "rating_a": 20.0,
                "hours_per_day": 0.3,
                "when": "0-24",
                "energy_price_per_kwh": 0.1,
                **charger,
            }
        ],
        "shore": [{"rating_a": 15.0, "nights_per_month": 2.0, **charger}],
        "generator": [{"rating_a": 20.0, **charger}],
    }
    data["use"] = {"days_away_per_month": 3.0}
    data["evidence"] = [
        {"candidate": name, "quality": "own", "units": 3, "months": 20.0, "failures": 1}
    ]
    data["marks"] = [{"candidate": name, "part": "connections", "mark": "poor"}]
    data["warranties"] = [
        {"candidate": name, "term_years": 5.0, "throughput_kwh": 3000.0, "cycles": 2000.0,
         "prorated_after_years": 2.0, "return_freight_price": 15.0, "operating_min_degc": -10.0,
         "operating_max_degc": 50.0, "storage_min_degc": -20.0, "storage_max_degc": 50.0}
    ]  # fmt: skip
    data["reliability"] = {"stated_rates": [{"candidate": "Lead 80", "rate_per_pack_year": 0.02}]}
    return data


def numeric_fields(model: type[Model], at: Path = ()) -> Iterator[tuple[Path, dict[str, float]]]:
    """Place and limits of every numeric field that can be reached from a model."""
    for name, info in model.model_fields.items():
        inner = model_in(info.annotation)
        if inner is not None and issubclass(inner, Model):
            yield from numeric_fields(inner, (*at, name))
        elif field_kind(name, info) is not None and not _is_choice(info.annotation):
            yield (*at, name), limits_of(info)


def _is_choice(annotation: Any) -> bool:
    """Whether it is one of a few values, or none: these have no limits."""
    return any(get_origin(part) is Literal for part in (annotation, *get_args(annotation)))


def ends(limits: Mapping[str, float]) -> Iterator[float]:
    """Values at both limits, just inside where the limit itself is left out."""
    low = max(limits.get("gt", -math.inf), limits.get("ge", -math.inf))
    high = min(limits.get("lt", math.inf), limits.get("le", math.inf))
    yield math.nextafter(low, high) if limits.get("gt") == low else low
    yield math.nextafter(high, low) if limits.get("lt") == high else high


TOGETHER: Mapping[Path, tuple[str, ...]] = {
    ("system", "inverter", "continuous_w"): ("surge_w",),
    ("system", "inverter", "surge_w"): ("continuous_w",),
    ("loads", "power_w"): ("surge_w",),
    ("loads", "surge_w"): ("power_w",),
    ("loads", "at_once"): ("quantity",),
    ("climate", "mean_degc"): ("min_degc", "max_degc"),
    ("climate", "min_degc"): ("mean_degc", "max_degc"),
    ("climate", "max_degc"): ("mean_degc", "min_degc"),
    ("candidates", "nominal_voltage_v"): ("mass_kg",),
    ("candidates", "continuous_discharge_a"): ("peak_discharge_a",),
    ("candidates", "peak_discharge_a"): ("continuous_discharge_a",),
    ("candidates", "charge_min_degc"): ("charge_max_degc",),
    ("candidates", "charge_max_degc"): ("charge_min_degc",),
    ("candidates", "discharge_min_degc"): ("discharge_max_degc",),
    ("candidates", "discharge_max_degc"): ("discharge_min_degc",),
    ("warranties", "term_years"): ("prorated_after_years",),
    ("warranties", "prorated_after_years"): ("term_years",),
    ("warranties", "operating_min_degc"): ("operating_max_degc",),
    ("warranties", "operating_max_degc"): ("operating_min_degc",),
    ("warranties", "storage_min_degc"): ("storage_max_degc",),
    ("warranties", "storage_max_degc"): ("storage_min_degc",),
    ("management_units", "fewest_cells"): ("most_cells",),
    ("management_units", "most_cells"): ("fewest_cells",),
    ("management_units", "continuous_discharge_a"): ("peak_discharge_a",),
    ("management_units", "peak_discharge_a"): ("continuous_discharge_a",),
    ("reliability", "cheap_below"): ("premium_above",),
    ("reliability", "premium_above"): ("cheap_below",),
}
"""Fields that have to move with another, or a case with its extreme could not be read."""


def with_value(data: dict[str, Any], path: Path, value: Any) -> dict[str, Any]:
    """The data with a value at a path, in every row of a list, where there is one already."""
    changed = deepcopy(data)
    _put(changed, path, value)
    return changed


def _put(data: Any, path: Path, value: Any) -> None:
    here = data.get(path[0])
    if here is None:
        return
    if len(path) == 1:
        data[path[0]] = value
        return
    for entry in here if isinstance(here, list | tuple) else [here]:
        _put(entry, path[1:], value)


def with_extreme(data: dict[str, Any], path: Path, value: float) -> Case | None:
    """The case with a field at a limit, others moved with it if need be; None if it cannot be."""
    changed = with_value(data, path, value)
    if (case := _read(changed)) is not None:
        return case
    beside = TOGETHER.get(path, ("low", "high") if path[0] == "spreads" else ())
    for name in beside:
        changed = with_value(changed, (*path[:-1], name), value)
    return _read(changed)


def _read(data: dict[str, Any]) -> Case | None:
    try:
        return Case.model_validate(data)
    except ValidationError:
        return None
