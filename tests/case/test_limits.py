"""Every number has limits, and a case at any of them is compared without a fault."""

import math
import re
from pathlib import Path as File
from typing import Any

import pytest

from tco.case import Candidate, Case, CaseError, Prices, read_case
from tco.case.capacity_models import CapacityLog
from tco.case.toml import case_from_mapping
from tco.compare import compare
from tco.report.text import comparison_text
from tests.case.limits_helpers import (
    Path,
    ends,
    every_section,
    numeric_fields,
    with_extreme,
    with_value,
)

LARCH_HUT = File(__file__).parents[2] / "candidates_demo" / "larch_hut.toml"
FIELDS = dict(numeric_fields(Case))
FULL = Case.model_validate(every_section()).model_dump(mode="python")
REFUSED: dict[Path, str] = {
    ("system", "inverter", "cutoff_voltage_v"): "both",
    ("system", "inverter", "highest_voltage_v"): "both",
    ("system", "loads_highest_voltage_v"): "both",
    ("candidates", "charge_voltage_v"): "both",
    ("candidates", "nominal_voltage_v"): "both",
    ("climate", "latitude_deg"): "both",
    ("climate", "irradiation_kwh_per_m2_day"): "high",
    ("candidates", "capacity_ah"): "high",
    ("candidates", "width_mm"): "low",
    ("candidates", "depth_mm"): "low",
    ("candidates", "height_mm"): "low",
    ("candidates", "mass_kg"): "low",
    ("sources", "generator", "start_below"): "high",
    ("sources", "generator", "stop_above"): "low",
    ("evidence", "units"): "low",
}
"""Extremes that do not go with the rest of the case, which a check across the fields says."""


@pytest.mark.parametrize("model", [Case, CapacityLog])
def test_every_number_has_a_lower_and_an_upper_limit(model: Any) -> None:
    lacking = [
        ".".join(map(str, path))
        for path, limits in numeric_fields(model)
        if not (limits.keys() & {"gt", "ge"} and limits.keys() & {"lt", "le"})
    ]
    assert lacking == []


def test_every_number_of_the_case_is_stated_in_the_case_of_these_tests() -> None:
    def stated(data: Any, path: Path) -> bool:
        if not path:
            return data is not None
        if isinstance(data, list | tuple):
            return any(stated(entry, path) for entry in data)
        return data is not None and stated(data.get(path[0]), path[1:])

    unstated = {path for path in FIELDS if not stated(FULL, path)}
    assert unstated <= {("reliability", "stated_classes")}


@pytest.mark.parametrize("path", FIELDS, ids=lambda path: ".".join(map(str, path)))
def test_a_case_at_a_limit_is_compared(path: Path) -> None:
    for which, value in zip(("low", "high"), ends(FIELDS[path]), strict=True):
        case = with_extreme(FULL, path, value)
        if case is None:
            assert REFUSED.get(path) in (which, "both"), f"{path} cannot be {value}"
            continue
        assert REFUSED.get(path) not in (which, "both")
        text = comparison_text(compare(case))
        assert re.search(r"\b(?:nan|inf|-inf)\b", text) is None, text


def test_limits_are_stated_as_the_narrower() -> None:
    found = list(ends({"gt": 0.0, "ge": 2.0, "le": 9.0, "lt": 9.0}))
    assert found == [2.0, math.nextafter(9.0, 0.0)]


@pytest.mark.parametrize("end_of_life", [0.0, 1.0, 1.2])
def test_cycles_end_at_a_health_between_none_and_new(end_of_life: float) -> None:
    pack = FULL["candidates"][0] | {"end_of_life": end_of_life}
    with pytest.raises(ValueError, match="end_of_life"):
        Candidate.model_validate(pack)


@pytest.mark.parametrize("currency", ["", "  ", "a dozen florins"])
def test_a_currency_is_short_and_not_empty(currency: str) -> None:
    with pytest.raises(ValueError, match="currency"):
        Prices(currency=currency)


def test_absurd_and_possible_values_are_read() -> None:
    """They are doubted (`tco.case.plausibility`), not refused."""
    for path, value in (
        (("sources", "solar", "peak_w"), 1e6),
        (("system", "inverter", "surge_w"), 1e6),
        (("system", "spaces", "width_mm"), 9000.0),
        (("prices", "day_without_power_price"), 1e8),
    ):
        assert with_extreme(FULL, path, value) is not None


def test_the_narrower_of_two_limits_is_told() -> None:
    with pytest.raises(CaseError) as caught:
        case_from_mapping(with_value(FULL, ("assumptions", "end_of_life_health"), 0.97))
    assert caught.value.problems[0].allowed.startswith("0.001 to 0.95")


def test_scrap_that_pays_more_than_a_pack_costs() -> None:
    """A bank that is short from the first day is then replaced on that day: no life of nothing."""
    data = read_case(LARCH_HUT).model_dump(mode="python")
    data["assumptions"] |= {"weather_years": 1, "max_packs": 2}
    data = with_value(data, ("candidates", "price"), 0.0)
    for family in ("lithium", "sodium", "lead"):
        data = with_value(data, ("prices", f"disposal_price_per_kg_{family}"), -50.0)
    text = comparison_text(compare(Case.model_validate(data)))
    assert re.search(r"\b(?:nan|inf|-inf)\b", text) is None
