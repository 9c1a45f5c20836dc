"""Units at the edge: in the key, in the value, in lists and nested models, for every field."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.case import Candidate, Climate, Load, Prices, Space, System, Use
from tco.case.base import Model
from tco.case.times import MONTHS, hours_of_window, parse_months
from tco.case.units import (
    CONVERSIONS,
    UnitProblem,
    from_canonical,
    parse_number,
    parse_price,
    split_key,
    to_canonical,
    unit_of_field,
)

MODELS = [
    *Model.__subclasses__(),
    *(inner for m in Model.__subclasses__() for inner in m.__subclasses__()),
]
# NIST Special Publication 811 (2008), appendix B.8: exact factors are in bold type there.
PUBLISHED = [
    ("1 in", "mm", 25.4),
    ("1 ft", "m", 0.3048),
    ("1 lb", "kg", 0.45359237),
    ("16 oz", "kg", 0.45359237),
    ("212 degF", "degc", 100.0),
    ("32 °F", "degc", 0.0),
    ("-40 F", "degc", -40.0),
]


@pytest.mark.parametrize(("typed", "unit", "value"), PUBLISHED)
def test_published_factors(typed: str, unit: str, value: float) -> None:
    """Exact by definition, so only floating point may differ (12 digits are kept)."""
    assert to_canonical(typed, unit) == pytest.approx(value, rel=1e-11, abs=1e-11)


@given(st.sampled_from(sorted(CONVERSIONS)), st.data(), st.floats(-1e4, 1e4))
def test_the_inverse(unit: str, data: st.DataObject, value: float) -> None:
    typed = data.draw(st.sampled_from(sorted(CONVERSIONS[unit])))
    back = to_canonical(from_canonical(value, unit, typed), unit, typed_unit=typed)
    assert back == pytest.approx(value, rel=1e-4, abs=1e-3)  # six digits are shown


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_every_field_with_a_unit_takes_other_units(model: type[Model]) -> None:
    for field in model.model_fields:
        unit = unit_of_field(field)
        if not unit or field not in model._readers:
            continue
        reader = model._readers[field]
        for typed, convert in CONVERSIONS[unit].items():
            whole = 2.0 if convert(2.0) == int(convert(2.0)) else 2.5
            assert reader(f"{whole} {typed}", "") == pytest.approx(convert(whole), rel=1e-11)
        with pytest.raises(UnitProblem, match="does not fit"):
            reader("3 parsec", "")


def test_key_value_list_optional_and_nested() -> None:
    space = {"width_in": 24, "depth_mm": "30 in", "height_cm": 40, "opening_width_in": "10 1/4"}
    system = System.model_validate(
        {"nominal_voltage_v": "24 V", "spaces": [space], "mass_limit_lb": 100}
    )
    assert system.spaces[0].width_mm == 609.6
    assert system.spaces[0].depth_mm == 762.0
    assert system.spaces[0].height_mm == 400.0
    assert system.spaces[0].opening_width_mm == 260.35
    assert system.mass_limit_kg == pytest.approx(45.359237, rel=1e-11)
    climate = Climate.model_validate(
        {"latitude_deg": "51°", "mean_degf": [50] * 12, "min_degc": "32 F", "max_degf": 68,
         "irradiation_kwh_per_m2_day": "1500 Wh"}
    )  # fmt: skip
    assert climate.mean_degc == (10.0,) * 12
    assert (climate.min_degc[0], climate.max_degc[11]) == (0.0, 20.0)
    assert climate.irradiation_kwh_per_m2_day == (1.5,) * 12
    load = Load.model_validate({"name": "pump", "power_w": "0.1 kW", "hours_per_day": "90 min"})
    assert (load.power_w, load.hours_per_day) == (100.0, 1.5)


def test_percent_only_for_shares() -> None:
    assert Use.model_validate({"storage_charge": "60 %"}).storage_charge == 0.6
    assert Use.model_validate({"storage_charge_percent": 60}).storage_charge == 0.6
    assert Prices.model_validate({"inflation": "-2 %"}).inflation == -0.02
    raw = {"name": "A", "chemistry": "agm", "nominal_voltage_v": 12, "capacity_ah": 9, "price": 1}
    for field in ("rated_cycles", "max_series", "price"):
        with pytest.raises(ValueError, match=r"unit .%.|not one amount"):
            Candidate.model_validate(raw | {field: "50 %"})


@pytest.mark.parametrize("value", [True, "wide", [1], {"mm": 3}, math.nan, math.inf, None])
def test_no_number(value: Any) -> None:
    with pytest.raises(ValueError, match="width_mm"):
        Space.model_validate({"width_mm": value, "depth_mm": 1, "height_mm": 1})


@pytest.mark.parametrize(
    ("text", "number"),
    [("1,299.00", 1299.0), ("1.299,00", 1299.0), ("12,8", 12.8), ("1 250", 1250.0), (".5", 0.5),
     ("1'250.5", 1250.5), ("1_250", 1250.0), ("\u22125", -5.0), ("1\u202f250", 1250.0),
     ("0,125", 0.125), ("1e3", 1000.0), ("+7", 7.0), ("12.", 12.0), ("1.000.000", 1e6)],
)  # fmt: skip
def test_numbers_as_shops_write_them(text: str, number: float) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize(
    "text", ["", "-", "1,250", "12 34", "1,23,456", "1.2.3", "--5", "0x10", "²"]
)
def test_no_numbers(text: str) -> None:
    with pytest.raises(UnitProblem):
        parse_number(text)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_whatever_python_writes_is_read(value: float) -> None:
    text = repr(value)
    assert parse_number(text) == value


@given(st.integers(0, 10**9), st.integers(0, 99))
def test_prices_with_two_decimals_in_both_styles(whole: int, cents: int) -> None:
    english = f"{whole:,}.{cents:02d}"
    european = english.translate(str.maketrans(",.", ".,"))
    assert parse_price(english) == parse_price(european) == pytest.approx(whole + cents / 100)


def test_keys() -> None:
    fields = frozenset({"width_mm", "usable_depth", "warranty_years", "name"})
    assert split_key("width_in", fields) == ("width_mm", "in")
    assert split_key("usable_depth_percent", fields) == ("usable_depth", "percent")
    assert split_key("warranty_months", fields) == ("warranty_years", "months")
    assert split_key("width_kg", fields) is None
    assert split_key("name_in", fields) is None


@pytest.mark.parametrize(
    ("typed", "months"),
    [("Nov-Mar", (1, 2, 3, 11, 12)), ("Nov – Jan", (1, 11, 12)), ("all", tuple(range(1, 13))),
     ("none", ()), ("sept", (9,)), ("May, jul to Sep.", (5, 7, 8, 9)), (3, (3,)),
     ([12, "1", "feb"], (1, 2, 12)), ("Jun-Jun", (6,))],
)  # fmt: skip
def test_months(typed: Any, months: tuple[int, ...]) -> None:
    assert parse_months(typed) == months


@pytest.mark.parametrize(
    "typed", ["Janitor", "0", "13", 0, True, "Nov-", "ja", "²", [1.5], "1-2-3"]
)
def test_no_months(typed: Any) -> None:
    with pytest.raises(ValueError, match="month"):
        parse_months(typed)


@given(st.sampled_from(MONTHS), st.sampled_from(MONTHS))
def test_a_range_of_months_holds_both_ends(first: str, last: str) -> None:
    months = parse_months(f"{first}-{last}")
    assert {MONTHS.index(first) + 1, MONTHS.index(last) + 1} <= set(months)
    assert len(months) == (MONTHS.index(last) - MONTHS.index(first)) % 12 + 1


@pytest.mark.parametrize(
    ("window", "hours"),
    [("22-6", 8.0), ("8-8", 24.0), ("0-24", 24.0), ("22:30-1", 2.5), ("8-12, 10-14", 6.0),
     ("Evening", 6.0), ("08:15–08:45", 0.5), ("24-6", 6.0)],
)  # fmt: skip
def test_windows(window: str, hours: float) -> None:
    assert sum(hours_of_window(window)) == pytest.approx(hours, abs=1e-12)


def test_a_window_over_midnight_lies_where_it_should() -> None:
    share = hours_of_window("23-2")
    assert [hour for hour, part in enumerate(share) if part] == [0, 1, 23]


@pytest.mark.parametrize("window", ["", "25-3", "8", "8-9-10", "8:60-9", "24:30-2", "noon", "-5-6"])
def test_no_windows(window: str) -> None:
    with pytest.raises(ValueError, match=r"time of day|past the end"):
        hours_of_window(window)
