"""Values that can be and rarely are get a doubt at their cell; usual cases get none."""

from pathlib import Path as File

import pytest

from tco.case import Case, read_case
from tco.case.explain import limits_of, model_at
from tco.case.odd_values import USUAL, Doubt, Usual, odd_values
from tco.case.plausibility import case_doubts, doubts
from tests.case.limits_helpers import Path, every_section, with_value
from tests.conftest import build_plain_case

FULL = Case.model_validate(every_section()).model_dump(mode="python")
DEMOS = sorted((File(__file__).parents[2] / "candidates_demo").glob("*.toml"))


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_a_usual_case_has_no_odd_value(demo: File) -> None:
    assert odd_values(read_case(demo)) == ()


def test_the_case_of_these_tests_has_none() -> None:
    assert odd_values(Case.model_validate(FULL)) == ()


@pytest.mark.parametrize(
    ("path", "value", "location", "words"),
    [
        (("sources", "solar", "peak_w"), 1e6, ("sources", "solar", 0, "peak_w"),
         "An array of 1,000,000 W is more than the usual 50,000 W"),
        (("system", "inverter", "surge_w"), 1e6, ("system", "inverter", "surge_w"), "1,000,000 W"),
        (("system", "spaces", "width_mm"), 90.0, ("system", "spaces", 0, "width_mm"),
         "A width of a battery space of 90 mm is less than the usual 100 mm: is it in another"),
        (("system", "spaces", "height_mm"), 3500.0, ("system", "spaces", 0, "height_mm"), "3500"),
        (("system", "cable_run_m"), 31.0, ("system", "cable_run_m"), "30 m"),
        (("system", "mass_limit_kg"), 4.0, ("system", "mass_limit_kg"), "5 kg"),
        (("prices", "tax_rate"), 0.77, ("prices", "tax_rate"),
         "A tax of 77 % is more than the usual 30 %"),
        (("prices", "discount_rate"), 0.2, ("prices", "discount_rate"), "15 %"),
        (("prices", "day_without_power_price"), 4000.0, ("prices", "day_without_power_price"),
         "times a usual pack"),
        (("climate", "latitude_deg"), 0.0, ("climate", "latitude_deg"), "left empty"),
        (("climate", "max_degc"), 60.0, ("climate", "max_degc", 0), "60 degC in Jan"),
        (("climate", "min_degc"), -50.0, ("climate", "min_degc", 0), "-50 degC in Jan"),
        (("candidates", "price"), 0.0, ("candidates", 0, "price"), "costs nothing"),
        (("loads", "power_w"), 1e6, ("loads", 0, "power_w"), "20,000 W"),
    ],
)  # fmt: skip
def test_an_odd_value_is_doubted_at_its_cell(
    path: Path, value: float, location: Path, words: str
) -> None:
    data = with_value(FULL, ("loads", "surge_w"), None) if path[-1] == "power_w" else FULL
    found = {d.location: d.sentence for d in odd_values(
        Case.model_validate(with_value(data, path, value)))}  # fmt: skip
    assert words in found[location]


def test_a_load_that_takes_too_much_in_a_day() -> None:
    case = build_plain_case(load={"power_w": 1500.0, "hours_per_day": 20.0, "when": "any time"})
    (doubt,) = odd_values(case)
    assert doubt.location == ("loads", 0, "hours_per_day")
    assert doubt.sentence.startswith("lamp takes 30 kWh a day, more than the 24 kWh")


@pytest.mark.parametrize("usual", USUAL, ids=lambda usual: ".".join(usual.path))
def test_every_threshold_lies_within_the_limits_of_its_field(usual: Usual) -> None:
    """Beyond the limits it would never be heard of."""
    owner = model_at(Case, usual.path[:-1])
    assert owner is not None
    limits = limits_of(owner.model_fields[usual.path[-1]])
    least = max(limits.get("ge", -1e99), limits.get("gt", -1e99))
    most = min(limits.get("le", 1e99), limits.get("lt", 1e99))
    assert usual.low is None or usual.low > least
    assert usual.high is None or usual.high < most
    assert usual.low is not None or usual.high is not None


def test_every_doubt_of_a_case_has_its_cell() -> None:
    pack = FULL["candidates"][0]
    odd = {
        "usable_depth": 1.0, "rated_cycles": 20000.0, "rated_depth": None, "charge_min_degc": -20.0,
        "heater_w": None, "low_temperature_cutoff": False, "continuous_discharge_a": 900.0,
        "peak_discharge_a": 900.0, "mass_kg": 40.0, "height_mm": 20.0, "width_mm": 900.0,
    }  # fmt: skip
    data = with_value(FULL, ("prices", "hour_without_power_price"), 2.0)
    data["candidates"] = [pack | odd]
    data["reliability"] = FULL["reliability"] | {"stated_rates": ()}
    case = Case.model_validate(data)
    found = case_doubts(case)
    assert {d.location for d in found} == {
        *(("candidates", 0, field) for field in (
            "usable_depth", "rated_cycles", "rated_depth", "charge_min_degc", "mass_kg",
            "low_temperature_cutoff", "continuous_discharge_a", "height_mm", "width_mm")),
        ("prices", "hour_without_power_price"),
    }  # fmt: skip
    assert [d.sentence for d in found if d.location[0] == "candidates"] == list(
        doubts(case.candidates[0])
    )
    assert isinstance(found[0], Doubt)


def test_a_strange_price_is_doubted_at_its_cell() -> None:
    pack = FULL["candidates"][0]
    packs = [
        pack | {"name": f"P{n}", "price": price} for n, price in enumerate((400, 410, 420, 90))
    ]
    data = FULL | {"candidates": packs, "evidence": (), "marks": (), "warranties": ()}
    data["reliability"] = FULL["reliability"] | {"stated_rates": ()}
    case = Case.model_validate(data)
    assert ("candidates", 3, "price") in {d.location for d in case_doubts(case)}
    left_out = [*packs[:3], packs[3] | {"left_out": True}]
    case = Case.model_validate(data | {"candidates": left_out})
    assert ("candidates", 3, "price") not in {d.location for d in case_doubts(case)}
