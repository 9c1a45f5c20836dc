"""A small valid case that tests change where they need to."""

import os
from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from typing import Any

import pytest

from tco.case import Case

PLAIN: dict[str, Any] = {
    "title": "plain",
    "system": {
        "nominal_voltage_v": 12,
        "spaces": [
            {"name": "locker", "width_mm": 900, "depth_mm": 500, "height_mm": 400, "warmth": 0.0}
        ],
    },
    "loads": [{"name": "lamp", "power_w": 20.0, "hours_per_day": 5.0, "when": "17-22"}],
    "sources": {
        "solar": [
            {
                "name": "panel",
                "peak_w": 200.0,
                "controller_a": 15.0,
                "profiles": ["lead", "lithium", "sodium"],
            }
        ]
    },
    "climate": {
        "site": "mild (invented)",
        "latitude_deg": 45.0,
        "mean_degc": [15.0] * 12,
        "min_degc": [10.0] * 12,
        "max_degc": [20.0] * 12,
        "irradiation_kwh_per_m2_day": [
            *(1.4, 2.2, 3.4, 4.5, 5.4, 5.9, 6.1, 5.3, 4.0, 2.5, 1.6, 1.2)
        ],
    },
    "candidates": [
        {
            "name": "Plain 100",
            "chemistry": "lfp",
            "nominal_voltage_v": 12.8,
            "capacity_ah": 100.0,
            "usable_depth": 0.9,
            "width_mm": 330.0,
            "depth_mm": 172.0,
            "height_mm": 215.0,
            "mass_kg": 11.0,
            "continuous_discharge_a": 100.0,
            "peak_discharge_a": 200.0,
            "continuous_charge_a": 50.0,
            "internal_resistance_mohm": 10.0,
            "charge_min_degc": 0.0,
            "discharge_min_degc": -20.0,
            "low_temperature_cutoff": True,
            "cell_voltages_visible": True,
            "charge_display": True,
            "max_series": 4,
            "max_parallel": 4,
            "price": 400.0,
            "freight_price": 20.0,
        }
    ],
    "prices": {"discount_rate": 0.05, "inflation": 0.02, "tax_rate": 0.0},
    "assumptions": {"horizon_years": 10, "weather_years": 1, "autonomy_days": 2.0},
}
"""12 V, one lamp of 20 W from 17 to 22 h, one panel, one 12.8 V 100 Ah pack, no cold, no inverter.

The space takes the outdoor temperature (warmth 0): 15 degC, 10 at night.
"""


def _merged(old: Any, new: Any) -> Any:
    """Changes laid over a value: tables key by key.

    Anything else replaces the old value.
    """
    if isinstance(new, Mapping) and isinstance(old, Mapping):
        return {**old, **{key: _merged(old.get(key), value) for key, value in new.items()}}
    return deepcopy(new)


def build_plain_case(**changes: Any) -> Case:
    """Make the plain case with changes, such as `system={"nominal_voltage_v": 24}`.

    Tables are merged key by key; lists and values are replaced. Three shorthands change the first
    entry of a list: `space=`, `load=` and `candidate=` (tables).
    """
    data = deepcopy(PLAIN)
    first = {
        "space": data["system"]["spaces"],
        "load": data["loads"],
        "candidate": data["candidates"],
    }
    for name, entries in first.items():
        entries[0].update(changes.pop(name, {}))
    return Case.model_validate(_merged(data, changes))


@pytest.fixture(scope="session", autouse=True)
def cases_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test keeps a case in the folder of whoever runs it."""
    before = {name: os.environ.pop(name, None) for name in ("TCO_FOLDER", "TCO_DATABASE")}
    os.environ["TCO_FOLDER"] = str(tmp_path_factory.mktemp("cases"))
    yield
    del os.environ["TCO_FOLDER"]
    os.environ.update({name: value for name, value in before.items() if value is not None})


@pytest.fixture(scope="session")
def plain_case() -> Callable[..., Case]:
    """Builder of small valid cases: `plain_case(system={"mass_limit_kg": 10})`."""
    return build_plain_case
