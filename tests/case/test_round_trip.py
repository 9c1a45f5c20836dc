"""Whatever a case or a table holds, writing and reading it gives the same, and the same bytes."""

import tempfile
import typing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.case import (
    Candidate,
    Case,
    CaseError,
    read_candidates,
    read_case,
    write_candidates,
    write_case,
)
from tco.case.cells import _BOOLS
from tco.case.table import candidates_to_csv, parse_candidates
from tco.case.toml import case_to_toml
from tco.physics.chemistry import CHEMISTRIES

TRICKY = st.sampled_from(
    [
        ' "a", b; c\td ',
        "n/a",
        "?",
        "-",
        "line\nbreak",
        "cr\rlf\r\n",
        "=1+1",
        "'",
        '"',
        "x \ufeff",
        "Größe ½ ☃ 🔋",
        "a\u2028b",
        "price",
        "Weight (lb)",
        "other: x",
        "OTHER:",
        "#",
        "1,5",
        "mass_kg",
    ]
)
TEXTS = TRICKY | st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12
)
NAMES = TEXTS.filter(lambda text: text.strip() != "")
POSITIVE = st.floats(min_value=1e-3, max_value=1e4, allow_nan=False)
SHARES = st.floats(min_value=1e-3, max_value=1.0)


@st.composite
def candidates(draw: st.DrawFn) -> Candidate:
    raw: dict[str, Any] = {
        "name": draw(NAMES),
        "chemistry": draw(st.sampled_from(sorted(CHEMISTRIES))),
        "nominal_voltage_v": draw(st.floats(min_value=1.0, max_value=60.0)),
        "capacity_ah": draw(st.floats(min_value=1.0, max_value=1000.0)),
        "price": draw(st.floats(min_value=0.0, max_value=1e5)),
    }
    maybe: dict[str, st.SearchStrategy[Any]] = {
        "maker": TEXTS,
        "notes": TEXTS,
        "terminal": TEXTS,
        "usable_depth": SHARES,
        "rated_depth": SHARES,
        "rated_cycles": st.floats(min_value=10.0, max_value=1e7),
        "heater_w": POSITIVE,
        "mass_kg": st.floats(min_value=1000.0, max_value=2e4),
        "charge_min_degc": st.floats(min_value=-60.0, max_value=0.0),
        "charge_max_degc": st.floats(min_value=0.0, max_value=100.0),
        "self_discharge_per_month": st.floats(min_value=0.0, max_value=1.0),
        "max_series": st.integers(1, 40),
        "orientations": st.lists(
            st.sampled_from(["upright", "on_side", "on_end"]), min_size=1, max_size=3
        ),
        "warranty_years": st.just(0.0) | st.floats(min_value=1e-3, max_value=200.0),
        "freight_price": st.floats(min_value=0.0, max_value=1e3),
        "other": st.dictionaries(NAMES, TEXTS, max_size=4).filter(
            lambda d: len({key.strip() for key in d}) == len(d)
        ),
        **{name: st.booleans() for name in _BOOLS},
        "bare_cell": st.just(False),  # the others are packs of any voltage
    }
    for name, strategy in maybe.items():
        if draw(st.booleans()):
            raw[name] = draw(strategy)
    return Candidate.model_validate(raw)


TABLES = st.lists(candidates(), max_size=4, unique_by=lambda candidate: candidate.name)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(TABLES)
def test_a_table_comes_back(table: list[Candidate]) -> None:
    text = candidates_to_csv(table)
    again = parse_candidates(text)
    assert again == tuple(table)
    assert candidates_to_csv(again) == text


CLIMATE = {
    "latitude_deg": 51.5,
    "mean_degc": 9.0,
    "min_degc": [1.0] * 12,
    "max_degc": 20,
    "irradiation_kwh_per_m2_day": [0.5, 1, 2, 3, 4, 5, 5, 4, 3, 2, 1, 0.4],
}


@st.composite
def cases(draw: st.DrawFn) -> Case:
    loads = draw(
        st.lists(
            st.fixed_dictionaries(
                {
                    "name": NAMES,
                    "power_w": POSITIVE,
                    "hours_per_day": st.floats(min_value=0.0, max_value=6.0),
                    "when": st.sampled_from(["22-6", "evening", "08:30–12:00, 13-17"]),
                    "months": st.sampled_from(["Nov-Mar", "all", "none", [1, 12], "Jun"]),
                    "essential": st.booleans(),
                }
            ),
            max_size=3,
            unique_by=lambda load: load["name"].strip(),
        )
    )
    raw: dict[str, Any] = {
        "title": draw(NAMES),
        "story": draw(TEXTS),
        "system": {
            "nominal_voltage_v": draw(st.sampled_from([12, 24, "48 V"])),
            "cable_run_ft": draw(st.floats(min_value=0.5, max_value=3000.0)),
            "spaces": [
                {
                    "width_in": draw(st.floats(min_value=0.5, max_value=500.0)),
                    "depth_mm": "24 in",
                    "height_mm": draw(st.floats(min_value=1.0, max_value=2e4)),
                    "orientations": ["upright", "on_side"],
                }
            ],
            "old_bank": {"chemistry": "Lead", "mass_lb": draw(POSITIVE)},
        },
        "loads": loads,
        "climate": CLIMATE,
        "sources": {"solar": [{"peak_w": 520, "controller_a": 30, "shade": "20 %"}]},
        "use": {"months_in_use": "Mar-Oct", "living_degf": 66},
        "prices": {"currency": "kr", "busbar_price": "€ 35,-"},
        "candidates": draw(TABLES),
    }
    if draw(st.booleans()):
        raw["candidates_file"] = "packs of mine.csv"
    return Case.model_validate(raw)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(cases())
def test_a_case_comes_back(case: Case) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        write_case(case, path)
        first = {file.name: file.read_bytes() for file in Path(folder).iterdir()}
        again = read_case(path)
        assert again == case
        write_case(again, path)
        assert {file.name: file.read_bytes() for file in Path(folder).iterdir()} == first


def test_every_candidate_field_is_written() -> None:
    """A field that the generator above forgets would not be tested: fill every one."""
    samples: dict[str, Any] = {
        "name": "A",
        "chemistry": "lfp",
        "bare_cell": False,
        "nominal_voltage_v": 12.8,
        "orientations": ("upright",),
        "other": {"Colour": "red"},
        "peak_discharge_a": 7.0,
        "width_mm": 900.0,
        "depth_mm": 900.0,
        "height_mm": 900.0,
        "mass_kg": 700.0,
        "rated_cycles": 3000.0,
        "charge_voltage_v": 14.0,
    }
    for name, info in Candidate.model_fields.items():
        kinds = {info.annotation, *typing.get_args(info.annotation)}
        low = name in ("usable_depth", "rated_depth", "end_of_life", "self_discharge_per_month")
        value: Any = "text" if str in kinds else True if bool in kinds else 0.5 if low else 3
        samples.setdefault(name, value)
    candidate = Candidate.model_validate(samples)
    assert candidate.model_fields_set == set(Candidate.model_fields)
    assert parse_candidates(candidates_to_csv([candidate])) == (candidate,)


def test_the_table_may_not_overwrite_the_case(tmp_path: Path) -> None:
    raw = {
        "system": {
            "nominal_voltage_v": 12,
            "spaces": [{"width_mm": 1, "depth_mm": 1, "height_mm": 1}],
        },
        "climate": CLIMATE,
        "candidates_file": "c.toml",
    }
    with pytest.raises(CaseError, match="is the case itself"):
        write_case(Case.model_validate(raw), tmp_path / "c.toml")
    assert list(tmp_path.iterdir()) == []


def test_writing_where_nothing_can_be_written_says_so(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="cannot be written"):
        write_candidates([], tmp_path / "no such folder" / "t.csv")


def test_an_empty_table_of_candidates_can_be_written_and_read(tmp_path: Path) -> None:
    write_candidates([], tmp_path / "t.csv")
    assert read_candidates(tmp_path / "t.csv") == ()


def test_inline_text_has_no_table() -> None:
    raw = {
        "system": {
            "nominal_voltage_v": 12,
            "spaces": [{"width_mm": 1, "depth_mm": 1, "height_mm": 1}],
        },
        "climate": CLIMATE,
        "candidates_file": "t.csv",
    }
    assert "candidates_file" not in case_to_toml(Case.model_validate(raw))
