"""What people type and see, and that nothing of it is lost on the way."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.case import Case, read_case
from tco.case.base import field_kind
from tco.case.candidate import Candidate
from tco.case.explain import model_at
from tco.case.toml import case_from_mapping, case_to_mapping
from tco.forms import labels
from tco.forms.cells import (
    MARK,
    block_of,
    cell_value,
    default_text,
    months_text,
    shown_text,
)
from tco.forms.entry import Entry, Units
from tco.forms.mistake_words import told
from tco.workspace.document import document_of
from tco.workspace.reading import read

ROOT = Path(__file__).resolve().parents[2]

MASS = Entry("mass_kg", "Mass")
SHARE = Entry("usable_depth", "Usable", "share")
DEMOS = ("otterbank", "larch_hut", "coldharbour")
EVERY_UNITS: tuple[Units, ...] = ("metric", "imperial")
LEFT_OUT = {
    "candidates": {"other"},
    "loads": set(),
    "solar": {"shade"},
    "engine": {"hours_per_day"},
    "shore": {"nights_per_month"},
    "generator": set(),
    "spaces": set(),
    "parts": set(),
    "inverter": {"name"},
    "required": set(),
    "old_bank": set(),
    "system": {"spaces", "inverter", "required", "old_bank", "parts"},
    "use": {"days_away_per_month"},
    "climate": set(),
    "conductors": set(),
    "fuses": set(),
    "prices": {"conductors", "fuses"},
    "assumptions": set(),
    "evidence": set(),
    "marks": set(),
    "warranties": set(),
    "reliability": {"priors", "weights", "mark_factors", "stated_classes", "stated_rates"},
    "priors": set(),
    "weights": set(),
    "mark_factors": set(),
    "stated_classes": set(),
}
"""Fields that have a form, a grid or a line of the monthly grid of their own; `other` holds the
columns of a shop's table that mean nothing to us, and an inverter's name is of no consequence."""
PARENT = {
    **dict.fromkeys(("solar", "engine", "shore", "generator"), "sources"),
    **dict.fromkeys(("spaces", "parts", "inverter", "required", "old_bank"), "system"),
    **dict.fromkeys(("conductors", "fuses"), "prices"),
    **dict.fromkeys(
        ("priors", "weights", "mark_factors", "stated_classes", "stated_rates"), "reliability"
    ),
    **dict.fromkeys((name for name, _, _ in labels.SPREADS), "spreads"),
}


@pytest.mark.parametrize("section", labels.SECTIONS)
def test_every_field_of_the_case_can_be_typed(section: str) -> None:
    path = (PARENT[section], section) if section in PARENT else (section,)
    model = model_at(Case, path)
    assert model is not None
    typed = {entry.field for entry in labels.SECTIONS[section]}
    assert set(model.model_fields) - typed <= LEFT_OUT.get(section, set())
    assert typed <= set(model.model_fields)


@pytest.mark.parametrize("units", EVERY_UNITS)
def test_retyping_all_that_is_shown_gives_the_same_case(units: Units) -> None:
    case = read_case(ROOT / "candidates_demo" / "larch_hut.toml")
    raw = case_to_mapping(case)
    typed = [
        {
            entry.field: cell_value(entry, units, shown_text(row.get(entry.field), entry, units))
            for entry in labels.CANDIDATE
        }
        for row in raw["candidates"]
    ]
    stated = [{name: v for name, v in row.items() if v is not None} for row in typed]
    again = case_from_mapping({**raw, "candidates": stated})
    for old, new in zip(case.candidates, again.candidates, strict=True):
        before, after = old.model_dump(exclude={"other"}), new.model_dump(exclude={"other"})
        for name, value in before.items():
            if isinstance(value, float):
                # imperial cells show four digits
                assert after[name] == pytest.approx(value, rel=6e-4, abs=1e-9), name
            else:
                assert after[name] == value, name


def test_a_typed_value_carries_its_unit() -> None:
    assert cell_value(MASS, "imperial", "24") == "24 lb"
    assert shown_text("24 lb", MASS, "imperial") == "24"
    assert shown_text("24 lb", MASS, "metric") == "24 lb"
    assert cell_value(MASS, "imperial", "24 kg") == "24 kg"
    assert shown_text("24 kg", MASS, "imperial") == "24 kg"
    assert cell_value(MASS, "imperial", "10-15") == "10-15 lb"
    assert cell_value(MASS, "metric", "11,5") == 11.5
    assert cell_value(MASS, "metric", " ") is None
    assert cell_value(MASS, "imperial", "plenty") == "plenty"
    assert cell_value(MASS, "metric", f"{MARK}plenty") == "plenty"


def test_a_share_is_shown_and_typed_in_percent() -> None:
    assert shown_text(0.8, SHARE, "metric") == "80"
    assert cell_value(SHARE, "metric", "85") == "85 %"
    assert shown_text("85 %", SHARE, "metric") == "85"
    assert shown_text("0.8", SHARE, "metric") == "80"  # as a TOML file may say it


def test_a_block_pasted_into_one_cell() -> None:
    assert block_of("a\tb\nc\td\n") == [["a", "b"], ["c", "d"]]
    assert block_of("one") == [["one"]]
    assert block_of("one\n") == [["one"]]


def test_defaults_are_shown_in_the_unit_of_the_label() -> None:
    space = model_at(Case, ("system", "spaces"))
    gap = next(e for e in labels.SPACE if e.field == "clearance_side_mm")
    assert default_text(space, gap, "metric") == "5"
    assert float(default_text(space, gap, "imperial")) == pytest.approx(5 / 25.4, rel=1e-3)
    width = next(e for e in labels.SPACE if e.field == "width_mm")
    assert default_text(space, width, "metric") == ""


@given(st.sets(st.integers(1, 12)))
def test_months_read_back(months: set[int]) -> None:
    from tco.case.times import parse_months

    assert set(parse_months(months_text(sorted(months)))) == months


def test_labels_are_of_their_own_section() -> None:
    assert labels.label_of("candidates[2].mass_kg") == "Mass"
    assert labels.label_of("system.old_bank.mass_kg") == "Its mass"
    assert labels.label_of("loads[0].when") == "Hours of the day"
    assert labels.label_of("title") == "Title"


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [("price", "1.590", 1590), ("price", "1,590", 1590), ("price", "0.125", 0.125),
     ("price", "1.59", 1.59), ("rated_cycles", "6.000", 6000), ("rated_cycles", "6,000", 6000),
     ("capacity_ah", "1.250", 1.25)],
)  # fmt: skip
def test_thousands_typed_into_a_grid_mean_what_they_mean_in_a_table(
    field: str, text: str, value: float
) -> None:
    entry = next(entry for entry in labels.CANDIDATE if entry.field == field)
    given = {"name": "A", "chemistry": "lfp", "nominal_voltage_v": 12, "capacity_ah": 100}
    kept = {field: cell_value(entry, "metric", text)}
    read = Candidate.model_validate({"price": 1, **given, **kept})
    assert getattr(read, field) == value


@pytest.mark.parametrize(("value", "text"), [(12345.67, "12345.67"), (1.125, "1.1250")])
def test_money_is_shown_so_that_typed_again_it_is_the_same(value: float, text: str) -> None:
    price = next(entry for entry in labels.CANDIDATE if entry.field == "price")
    assert shown_text(value, price, "metric") == text
    assert cell_value(price, "metric", text) == value


@pytest.mark.parametrize("text", ["-", "—", "–", "?", "n/a", "TBC"])
def test_what_a_shop_does_not_say_is_an_empty_cell_in_the_grid_too(text: str) -> None:
    assert cell_value(MASS, "metric", text) is None
    assert cell_value(SHARE, "metric", text) is None
    assert cell_value(Entry("name", "Name", "text"), "metric", text) == text


@pytest.mark.parametrize("section", labels.SECTIONS)
def test_what_is_asked_for_in_percent_or_money_is_read_as_that(section: str) -> None:
    model = model_at(Case, (PARENT[section], section) if section in PARENT else (section,))
    assert model is not None
    for entry in labels.SECTIONS[section]:
        kind, unit = field_kind(entry.field, model.model_fields[entry.field]) or ("", "")
        assert (kind == "price") == (entry.kind == "price"), entry.field
        if entry.kind == "share":
            assert unit == "", entry.field


def test_pack_prices_that_fall_are_typed_in_percent() -> None:
    entry = next(e for e in labels.SECTIONS["prices"] if e.field == "pack_price_trend")
    raw = case_to_mapping(read_case(ROOT / "candidates_demo" / "larch_hut.toml"))
    raw["prices"]["pack_price_trend"] = cell_value(entry, "metric", "-5")
    assert case_from_mapping(raw).prices.pack_price_trend == pytest.approx(-0.05)


def test_upkeep_may_be_typed_with_a_currency() -> None:
    raw = case_to_mapping(read_case(ROOT / "candidates_demo" / "otterbank.toml"))
    raw["system"]["parts"][0]["yearly_upkeep"] = "1.590,00 €"
    assert case_from_mapping(raw).system.parts[0].yearly_upkeep == 1590


def test_a_long_text_is_cut_where_it_is_told() -> None:
    document = document_of(case_to_mapping(read_case(ROOT / "candidates_demo" / "otterbank.toml")))
    (title,) = read({**document, ("title",): "x" * 5000}, document).mistakes
    words = told(title, document | {("title",): "x" * 5000}, "metric", "€")
    assert "is too long. Allowed: at most 120 characters." in words
    assert len(words) < 200
