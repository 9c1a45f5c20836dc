"""Forms that shops use in place of a plain number, and what must not be taken for one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.case import Candidate, Load
from tco.case.shop_forms import read_shop_form
from tco.case.table import read_rows
from tco.case.units import UnitProblem, parse_price, to_canonical, unit_of_field
from tests.case.test_bad_input import case_problems, only

CYCLES = {"rated_cycles": 4000.0}


@pytest.mark.parametrize(
    ("field", "text", "values"),
    [
        ("rated_cycles", "≥ 6000", {"rated_cycles": 6000}),
        ("rated_cycles", ">6000", {"rated_cycles": 6000}),
        ("rated_cycles", "> 6,000 cycles", {"rated_cycles": 6000}),
        ("rated_cycles", "min. 6000", {"rated_cycles": 6000}),
        ("rated_cycles", "up to 6000", {"rated_cycles": 6000}),
        ("rated_cycles", "≤ 6000", {"rated_cycles": 6000}),
        ("rated_cycles", "4,000+", CYCLES),
        ("rated_cycles", "4000+ cycles", CYCLES),
        ("rated_cycles", "3,500 cycles", {"rated_cycles": 3500}),
        ("rated_cycles", "3,500", {"rated_cycles": 3500}),
        ("rated_cycles", "6.000", {"rated_cycles": 6000}),
        ("rated_cycles", "6.000 cycles", {"rated_cycles": 6000}),
        ("rated_cycles", "6.000+", {"rated_cycles": 6000}),
        ("mass_kg", "20 kg (44 lb)", {"mass_kg": 20}),
        ("mass_kg", "44 lbs/20kg", {"mass_kg": 19.9580643}),
        ("width_mm", "330 mm (13 in)", {"width_mm": 330}),
        ("charge_min_degc", "0 °C (32 °F)", {"charge_min_degc": 0}),
        ("rated_cycles", "4000-6000", CYCLES),
        ("rated_cycles", "4000 – 6000 cycles", CYCLES),
        ("rated_cycles", "4000 to 6000", CYCLES),
        ("rated_cycles", "4.000 bis 6.000", CYCLES),
        ("rated_cycles", "2000...3000", {"rated_cycles": 2000}),
        ("rated_cycles", "2000…3000", {"rated_cycles": 2000}),
        ("rated_cycles", "2000~3000", {"rated_cycles": 2000}),
        ("rated_cycles", "4000 @ 80 %", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "4000 @80%", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "4000 cycles at 80% DoD", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "4000 (80% DOD)", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "4000 cycles, depth of discharge: 80 %", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "≥4000 cycles @ 80% DOD, 25°C", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "4000 @ 0.5C, 80% DOD", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "4000 - 6000 @ 80 %", CYCLES | {"rated_depth": 0.8}),
        ("rated_cycles", "3,500 cycles to 80 % SOH", {"rated_cycles": 3500, "end_of_life": 0.8}),
        ("rated_cycles", "4000 cycles to 70 %", CYCLES | {"end_of_life": 0.7}),
        ("rated_cycles", "4000 until 80% of initial capacity", CYCLES | {"end_of_life": 0.8}),
        ("rated_cycles", "6000 cycles @ 80% DoD, 70% EOL",
         {"rated_cycles": 6000, "rated_depth": 0.8, "end_of_life": 0.7}),
        ("rated_cycles", "4000 at 100% DoD to 80% capacity",
         CYCLES | {"rated_depth": 1.0, "end_of_life": 0.8}),
        ("continuous_discharge_a", "max 100 A", {"continuous_discharge_a": 100}),
        ("continuous_discharge_a", "100 A max.", {"continuous_discharge_a": 100}),
        ("continuous_charge_a", "~100", {"continuous_charge_a": 100}),
        ("peak_discharge_a", "approx. 100", {"peak_discharge_a": 100}),
        ("capacity_ah", "ca. 100", {"capacity_ah": 100}),
        ("capacity_ah", "ca 100 Ah", {"capacity_ah": 100}),
        ("capacity_ah", "100-105 Ah", {"capacity_ah": 100}),
        ("mass_kg", "10–15 kg", {"mass_kg": 15}),
        ("mass_kg", "10 kg - 15 kg", {"mass_kg": 15}),
        ("mass_kg", "~ 30 lb", {"mass_kg": 13.6077711}),
        ("width_mm", "32-33 cm", {"width_mm": 330}),
        ("usable_depth", "80-90 %", {"usable_depth": 0.8}),
        ("self_discharge_per_month", "2-3 %", {"self_discharge_per_month": 0.03}),
        ("self_discharge_per_month", "<3% per month", {"self_discharge_per_month": 0.03}),
        ("self_discharge_per_month", "3 %/month", {"self_discharge_per_month": 0.03}),
        ("internal_resistance_mohm", "≤ 30 mΩ", {"internal_resistance_mohm": 30}),
        ("calendar_life_years", "10+ years", {"calendar_life_years": 10}),
        ("calendar_life_years", "10-15 years", {"calendar_life_years": 10}),
        ("lead_time_days", "2-3 weeks", {"lead_time_days": 21}),
        ("lead_time_days", "1 week - 20 days", {"lead_time_days": 20}),
        ("max_series", "up to 4", {"max_series": 4}),
        ("max_parallel", "max. 4 packs", {"max_parallel": 4}),
        ("charge_min_degc", "≥ -20 °C", {"charge_min_degc": -20}),
        ("charge_min_degc", "0 to 45 °C", {"charge_min_degc": 0, "charge_max_degc": 45}),
        ("discharge_max_degc", "-20-60", {"discharge_min_degc": -20, "discharge_max_degc": 60}),
        ("discharge_max_degc", "-20°C ~ 60°C",
         {"discharge_min_degc": -20, "discharge_max_degc": 60}),
        ("charge_max_degc", "32-113 °F", {"charge_min_degc": 0, "charge_max_degc": 45}),
        ("nominal_voltage_v", "12.8V/100Ah", {"nominal_voltage_v": 12.8, "capacity_ah": 100}),
        ("capacity_ah", "12.8 V 100 Ah", {"nominal_voltage_v": 12.8, "capacity_ah": 100}),
        ("capacity_ah", "12V100Ah", {"nominal_voltage_v": 12, "capacity_ah": 100}),
        ("capacity_ah", "100Ah, 12,8V", {"nominal_voltage_v": 12.8, "capacity_ah": 100}),
        ("nominal_voltage_v", "51.2V 100Ah (5.12 kWh)",
         {"nominal_voltage_v": 51.2, "capacity_ah": 100}),
        ("price", "£1,590.00 inc VAT", {"price": 1590}),
        ("price", "1.590,00 € incl. 19 % MwSt.", {"price": 1590}),
        ("price", "1590 (ex VAT)", {"price": 1590}),
        ("price", "$1,590 plus shipping", {"price": 1590}),
        ("price", "from £499", {"price": 499}),
        ("price", "ca. 1.590 €", {"price": 1590}),
        ("price", "500-600", {"price": 600}),
        ("price", "€500 – €600", {"price": 600}),
        ("freight_price", "20 to 30 EUR", {"freight_price": 30}),
    ],
)  # fmt: skip
def test_a_form_is_read(field: str, text: str, values: dict[str, float]) -> None:
    form = read_shop_form(field, text)
    assert form is not None
    assert dict(form.values) == pytest.approx(values)
    assert set(form.values) == set(values)
    assert set(values) <= set(Candidate.model_fields)
    assert text in form.said


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("rated_cycles", "4000"), ("rated_cycles", "4000 cycles"), ("mass_kg", "31 lb"),
        ("charge_min_degc", "-20"), ("price", "1.590 €"), ("price", "€ 1.299,-"),
        ("usable_depth", "80 %"), ("self_discharge_per_month", "0.03"), ("width_mm", "10-1/4 in"),
    ],
)  # fmt: skip
def test_a_plain_value_is_left_to_the_ordinary_reader(field: str, text: str) -> None:
    assert read_shop_form(field, text) is None


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("capacity_ah", "1,250"), ("capacity_ah", "~1,250"), ("mass_kg", "1,250+"),
        ("capacity_ah", "-20-60"), ("rated_cycles", "-20-60"), ("rated_cycles", "6000-4000"),
        ("rated_cycles", "2025-03-01"), ("lead_time_days", "2025-03-01"),
        ("lead_time_days", "01-03"), ("lead_time_days", "12-2025"), ("lead_time_days", "1.3.2025"),
        ("rated_cycles", "6000 @ 80 %, 8000 @ 60 %"), ("rated_cycles", "4000 @ 180 %"),
        ("rated_cycles", "4000 to 0 %"), ("rated_cycles", "4000 @ 80 % @ 70 %"),
        ("rated_cycles", "4000 by daylight"), ("rated_cycles", "many"), ("rated_cycles", "80 %"),
        ("rated_cycles", "80-90 %"), ("rated_cycles", "≥"), ("rated_cycles", ""),
        ("price", "2 for 900"), ("price", "499 (was 599)"), ("price", "12 99"), ("price", "1.3k"),
        ("price", "call us"), ("price", "2025-03-01"), ("price", "inc VAT"),
        ("nominal_voltage_v", "10-14.6 V"), ("nominal_voltage_v", "12V/24V"),
        ("capacity_ah", "100 kWh"), ("capacity_ah", "12.8V"), ("max_series", "up to 4.5"),
        ("name", "Fell 12V100Ah"), ("size", "10-20"), ("terminal", "~8"), ("mass_kg", "~ 30 V"),
        ("mass_kg", "20 kg (66 lb)"), ("mass_kg", "20 (44 lb)"), ("width_mm", "33 cm / 170 mm"),
        ("charge_min_degc", "60 to -20"), ("mass_kg", "10-15-20"), ("width_mm", "330x172"),
    ],
)  # fmt: skip
def test_what_is_no_form_or_can_mean_two_things(field: str, text: str) -> None:
    assert read_shop_form(field, text) is None


def test_a_number_without_unit_is_in_that_of_the_heading() -> None:
    form = read_shop_form("mass_kg", "20-30", typed_unit="lb")
    assert form is not None
    assert form.values["mass_kg"] == pytest.approx(30 * 0.45359237)  # pound, 1959
    assert form.said == "30 of '20-30': the cautious end"


def test_what_was_taken_is_said() -> None:
    said = {
        text: form.said
        for field, text in (
            ("rated_cycles", "≥ 6000 @ 80 %"),
            ("price", "£1,590.00 inc VAT"),
            ("rated_cycles", "4000 @ 0.5C, 80% DOD"),
        )
        if (form := read_shop_form(field, text)) is not None
    }
    assert said["≥ 6000 @ 80 %"] == (
        "6000 cycles of '≥ 6000 @ 80 %' (the least that is promised), "
        "and the depth of 80 % they hold for"
    )
    assert said["£1,590.00 inc VAT"] == "£1,590.00 of '£1,590.00 inc VAT'; not taken: 'inc VAT'"
    assert said["4000 @ 0.5C, 80% DOD"].endswith("; not taken: 0.5C")


@given(
    st.sampled_from(sorted(Candidate.model_fields)),
    st.text("0123456789.,-–~≥ %@VAhkg€to", max_size=14),
)
def test_any_text_gives_finite_values_or_nothing(field: str, text: str) -> None:
    form = read_shop_form(field, text)
    if form is None:
        return
    assert form.said
    assert all(abs(value) < float("inf") for value in form.values.values())
    read = parse_price if "price" in field else lambda t: to_canonical(t, unit_of_field(field))
    with pytest.raises(UnitProblem):  # else it was a plain value
        read(text)


PACK = {"name": "A", "chemistry": "lfp", "nominal_voltage_v": 12.8, "capacity_ah": 100, "price": 1}


@pytest.mark.parametrize(
    ("given", "read"),
    [
        ({"rated_cycles": "4000-6000"}, {"rated_cycles": 4000}),
        ({"rated_cycles": "≥ 6000"}, {"rated_cycles": 6000}),
        ({"rated_cycles": "4000 @ 80 %"}, {"rated_cycles": 4000, "rated_depth": 0.8}),
        ({"rated_cycles": "4000 @ 80 %", "rated_depth": 0.5}, {"rated_depth": 0.5}),
        ({"rated_cycles": "4000 @ 80 %", "rated_depth_percent": 50}, {"rated_depth": 0.5}),
        ({"capacity_ah": "24 V 230 Ah", "nominal_voltage_v": None},
         {"capacity_ah": 230, "nominal_voltage_v": 24}),
        ({"mass_lb": "20-30"}, {"mass_kg": pytest.approx(30 * 0.45359237)}),
        ({"price": "£1,590.00 inc VAT"}, {"price": 1590}),
        ({"max_series": "up to 4"}, {"max_series": 4}),
        ({"continuous_charge_a": "max. 50 A"}, {"continuous_charge_a": 50}),
    ],
)  # fmt: skip
def test_a_candidate_of_a_case_is_read(given: dict[str, object], read: dict[str, float]) -> None:
    candidate = Candidate.model_validate(PACK | given)
    assert {field: getattr(candidate, field) for field in read} == read


def test_a_form_out_of_range_is_refused_as_typed() -> None:
    problem = only(case_problems(candidates=[PACK | {"nominal_voltage_v": "96V 100Ah"}]))
    assert problem.location == ("candidates", 0, "nominal_voltage_v")
    assert problem.given == "'96V 100Ah'"


def test_other_sections_read_a_word_and_no_range() -> None:
    load = {"name": "lamp", "hours_per_day": 2}
    assert Load.model_validate(load | {"power_w": "approx. 100 W"}).power_w == 100
    assert Load.model_validate(load | {"power_w": "~0.1 kW"}).power_w == 100
    assert (
        Load.model_validate(load | {"power_w": 5, "hours_per_day": "30 min"}).hours_per_day == 0.5
    )
    with pytest.raises(ValueError, match="can mean 1250"):
        Load.model_validate(load | {"power_w": "~1,250"})
    with pytest.raises(ValueError, match="is not a number"):
        Load.model_validate(load | {"power_w": "100-200"})


HEAD = "name,chemistry,Voltage,Capacity,price,Cycles,cycle depth,Weight (lb)\n"


def test_a_table_fills_what_the_row_leaves_empty_and_says_so() -> None:
    read = read_rows(
        HEAD
        + "A,lfp,12.8V/100Ah,,5,4000 @ 80 %,,20-30\n"
        + "B,lfp,12.8,100,5,4000 @ 80 %,0.7,\n"
        + "C,lfp,12.8,100,5,4000 @ 80 %,x,\n"
    )
    first, second = read.candidates
    assert (first.nominal_voltage_v, first.capacity_ah) == (12.8, 100)
    assert (first.rated_cycles, first.rated_depth, second.rated_depth) == (4000, 0.8, 0.7)
    assert first.mass_kg == pytest.approx(30 * 0.45359237)
    assert first.notes == ""
    assert [(p.row, p.field) for p in read.problems] == [(4, "rated_depth")]
    assert [(r.row, r.field) for r in read.remarks][:5] == [
        (2, "nominal_voltage_v"), (2, "rated_cycles"), (2, "mass_kg"),
        (3, "rated_cycles"), (3, "rated_depth"),
    ]  # fmt: skip
    assert read.remarks[4].sentence == (
        "rated_depth is 0.7 by its own column, 0.8 by '4000 @ 80 %' under 'Cycles': "
        "its column counts."
    )


def test_a_point_among_semicolons_is_asked_back_in_a_form_too() -> None:
    text = HEAD.replace(",", ";") + "A;lfp;12,8;100;5;;;1.250-1.300\n"
    (problem,) = read_rows(text).problems
    assert problem.field == "mass_kg"


@pytest.mark.parametrize(("cell", "depth"), [("80", 0.8), ("0.8", 0.8), ("1", 1.0), ("5 %", 0.05)])
def test_a_share_that_a_spreadsheet_shows_as_percent(cell: str, depth: float) -> None:
    """A cell that shows 80 % holds 0.8, and no pack is used to less than one per cent."""
    head = "name,chemistry,Voltage,Capacity,price,DoD [%]\n"
    read = read_rows(f"{head}A,lfp,12.8,100,5,{cell}\n")
    assert read.candidates[0].usable_depth == pytest.approx(depth)
    assert [r.field for r in read.remarks] == ["usable_depth"] * (cell in ("0.8", "1"))
