"""Every heading that we write or show ourselves is understood when a table comes back."""

from pathlib import Path

import pytest

from tco.case import candidates_to_csv, read_case
from tco.case.cells import read_cell
from tco.case.headings import FIELDS, field_of_heading
from tco.case.records import read_records
from tco.case.table import parse_rows
from tco.case.units import to_canonical
from tco.forms import labels
from tco.forms.entry import Entry, Units
from tco.forms.meanings import FIELDS as MEANINGS
from tco.forms.meanings import meaning_words

ROOT = Path(__file__).parents[2]

EVERY_UNITS: tuple[Units, ...] = ("metric", "imperial")
TEN_IN = {"in": 254.0, "lb": 4.5359237, "degf": (10 - 32) / 1.8}  # by definition, 1959


@pytest.mark.parametrize("units", EVERY_UNITS)
@pytest.mark.parametrize("entry", labels.CANDIDATE, ids=lambda entry: entry.field)
def test_the_grids_own_headings(entry: Entry, units: Units) -> None:
    for currency in ("€", "CHF", "kr."):
        field, unit = field_of_heading(entry.heading(units, currency))
        assert field == entry.field
    assert field_of_heading(entry.label)[0] == entry.field
    if entry.kind == "share":
        assert read_cell("10", field, unit) == pytest.approx(0.1)
    elif entry.kind == "number":
        typed = entry.typed_unit(units)
        assert read_cell("10", field, unit) == pytest.approx(TEN_IN.get(typed, 10.0))


@pytest.mark.parametrize("field", MEANINGS)
def test_what_a_column_is_said_to_mean_is_understood_as_a_heading(field: str) -> None:
    assert field_of_heading(meaning_words(field))[0] == field


def test_every_heading_of_a_written_table() -> None:
    for field in FIELDS:
        assert field_of_heading(field) == (field, "")
    written = candidates_to_csv(read_case(ROOT / "candidates_demo" / "larch_hut.toml").candidates)
    for heading in written.splitlines()[0].split(","):
        assert heading in FIELDS or not field_of_heading(heading)[0]


@pytest.mark.parametrize(
    ("heading", "meaning"),
    [
        ("Nominal [V]", ("nominal_voltage_v", "v")),
        ("Freight [€]", ("freight_price", "€")),
        ("Max in series [packs]", ("max_series", "packs")),
        ("MASS  [lb]", ("mass_kg", "lb")),
        ("Mass kg", ("mass_kg", "")),
        ("Price [€/kWh]", ("", "")),
        ("Colour [RAL]", ("", "")),
        ("Weight, lb", ("mass_kg", "lb")),
        ("Weight lb", ("mass_kg", "lb")),
        ("Price €", ("price", "€")),
        ("Price, colour", ("", "")),
        ("Max. discharge current (A)", ("continuous_discharge_a", "a")),
        ("W × D × H (cm)", ("size", "cm")),
    ],
)
def test_headings_with_brackets(heading: str, meaning: tuple[str, str]) -> None:
    assert field_of_heading(heading) == meaning


@pytest.mark.parametrize("text", ["4", "4 packs", "4S", "4 pcs"])
def test_packs_and_strings_are_counted(text: str) -> None:
    assert read_cell(text, "max_series", "packs") == 4


def test_meanings_stand_in_for_headings() -> None:
    rows = [
        ["a", "b", "c", "d", "e", "f"],
        ["Fell 100", "lfp", "12,8", "100", "31", "499"],
        ["", "", "", "", "", ""],
        ["Fell 200", "lfp", "12,8", "x", "50", "899"],
    ]
    meanings = [
        ("name", ""), ("chemistry", ""), ("nominal_voltage_v", "v"), ("capacity_ah", ""),
        ("mass_kg", "lb"), ("price", ""),
    ]  # fmt: skip
    read = read_records(rows, file="t", meanings=meanings)
    assert [(c.name, c.mass_kg) for c in read.candidates] == [
        ("Fell 100", pytest.approx(to_canonical("31 lb", "kg")))
    ]
    assert [(p.row, p.field) for p in read.problems] == [(4, "capacity_ah")]
    read = read_records(rows[:2], meanings=[*meanings[:4], ("", ""), ("price", "")])
    assert dict(read.candidates[0].other) == {"e": "31"}


def test_headings_may_stand_below_a_title() -> None:
    head = "name,chemistry,nominal_voltage_v,capacity_ah,price\n"
    (candidate,), problems = parse_rows(f"Price list of spring\n\n{head}A,lfp,12,1,5\n")
    assert (candidate.name, problems) == ("A", ())
    _, problems = parse_rows(f"Price list of spring\n\n{head}A,lfp,12,x,5\n")
    assert [p.row for p in problems] == [4]
