"""The demo cases read without a problem and stay as untidy as real shop tables."""

import csv
import re
from pathlib import Path

import pytest

from tco.case import Case, read_case, specify, write_case
from tco.physics.sun import extraterrestrial_daily_wh_per_m2

DEMO = Path(__file__).parent.parent / "candidates_demo"
NAMES = ("otterbank", "larch_hut", "coldharbour")
MIDDLE_DAYS = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
"""Mean day of each month: Klein, Solar Energy 19 (1977) 325-329."""

MASS_RATIO_WH_PER_KG = {
    "lfp": (80.0, 140.0),
    "lto": (40.0, 80.0),
    "sodium-ion": (60.0, 130.0),
    "agm": (28.0, 48.0),
    "gel": (28.0, 45.0),
    "flooded": (28.0, 50.0),
}
"""Wh per kg of whole packs on the market, wide on purpose: common practice, no source."""


@pytest.fixture(scope="module")
def cases() -> dict[str, Case]:
    return {name: read_case(DEMO / f"{name}.toml") for name in NAMES}


def raw_rows(name: str) -> list[dict[str, str]]:
    with (DEMO / f"{name}_candidates.csv").open(encoding="utf-8", newline="") as file:
        delimiter = ";" if name == "larch_hut" else ","
        return list(csv.DictReader(file, delimiter=delimiter))


def raw_cells(name: str) -> list[str]:
    return [cell or "" for row in raw_rows(name) for cell in row.values()]


@pytest.mark.parametrize(
    ("name", "at_least"), [("otterbank", 16), ("larch_hut", 10), ("coldharbour", 10)]
)
def test_every_row_of_the_table_becomes_a_candidate(
    cases: dict[str, Case], name: str, at_least: int
) -> None:
    candidates = cases[name].candidates
    assert len(candidates) == len(raw_rows(name)) >= at_least
    assert all(candidate.maker for candidate in candidates)


@pytest.mark.parametrize("name", NAMES)
def test_candidates_have_gaps_and_several_chemistries(cases: dict[str, Case], name: str) -> None:
    candidates = cases[name].candidates
    assert {"lfp", "agm", "gel", "flooded", "sodium-ion"} <= {c.chemistry for c in candidates}
    assert all(specify(candidate).assumed for candidate in candidates)
    # a gap that decides something, not only a calendar life nobody states
    decisive = {"continuous_discharge_a", "peak_discharge_a", "low_temperature_cutoff"}
    assert any(decisive & specify(candidate).assumed.keys() for candidate in candidates)


def test_no_candidate_and_no_maker_serves_two_cases(cases: dict[str, Case]) -> None:
    for attribute in ("name", "maker"):
        sets = [{getattr(c, attribute) for c in cases[name].candidates} for name in NAMES]
        assert sum(map(len, sets)) == len(set().union(*sets)), attribute


def test_otterbank_offers_what_its_story_needs(cases: dict[str, Case]) -> None:
    case = cases["otterbank"]
    by_chemistry = {c.chemistry for c in case.candidates}
    assert len({c.maker for c in case.candidates}) >= 6
    assert "sodium-ion" in by_chemistry
    assert {12.8, 25.6} <= {c.nominal_voltage_v for c in case.candidates}
    assert any(c.heater_w for c in case.candidates)
    assert any(c.low_temperature_cutoff is False and c.chemistry == "lfp" for c in case.candidates)
    space = case.system.spaces[0]
    headroom = space.height_mm - space.clearance_top_mm
    assert any(c.height_mm is not None and c.height_mm > headroom for c in case.candidates)
    # the cutting hides the sun from November to January, and only then
    shade = case.sources.solar[0].shade
    assert [month for month, lost in enumerate(shade, start=1) if lost >= 0.85] == [1, 11, 12]


def test_larch_hut_is_cold_and_laid_up_for_part_of_the_year(cases: dict[str, Case]) -> None:
    case = cases["larch_hut"]
    assert min(case.climate.min_degc) == pytest.approx(-15.0, abs=0.5)
    assert 6 <= len(case.use.months_in_use) <= 10
    assert case.system.spaces[0].warmth_share < 0.2
    assert case.sources.generator
    assert case.sources.solar[0].tilt_deg >= 60


def test_coldharbour_is_typed_in_us_units_and_read_in_ours(cases: dict[str, Case]) -> None:
    case = cases["coldharbour"]
    text = (DEMO / "coldharbour.toml").read_text(encoding="utf-8")
    assert {"width_in", "mass_limit_lb", "cable_run_ft", "mean_degf"} <= set(
        re.findall(r"^(\w+) =", text, re.MULTILINE)
    )
    assert case.units == "imperial"
    assert case.system.conductor_sizes == "awg"
    space = case.system.spaces[0]
    # exact by definition: 1 in is 25.4 mm, 1 lb 0.45359237 kg, 1 ft 0.3048 m
    assert space.width_mm == pytest.approx(27.5 * 25.4, rel=1e-9)
    assert space.opening_width_mm == pytest.approx(26 * 25.4, rel=1e-9)
    assert space.opening_height_mm == pytest.approx(11 * 25.4, rel=1e-9)
    assert case.system.mass_limit_kg == pytest.approx(200 * 0.45359237, rel=1e-9)
    assert case.system.cable_run_m == pytest.approx(6 * 0.3048, rel=1e-9)
    assert case.climate.mean_degc[0] == pytest.approx(-5.0, abs=1e-9)  # 23 degF
    away = case.use.days_away_per_month
    assert all(away[month - 1] >= 20 for month in case.use.months_in_use)


@pytest.mark.parametrize(
    ("name", "patterns"),
    [
        (
            "otterbank",
            (
                r"\d lb$",
                r"\d kg$",
                r"^[\d.]+ x [\d.]+ x [\d.]+ in$",
                r"^\d+ x \d+ x \d+$",
                r"^25,6 V$",
                r"€",
                r"\d months$",
                r"\d weeks$",
                r"^n/a$",
                r"^$",
            ),
        ),
        ("larch_hut", (r"^51,2", r"\d lb$", r"CHF", r"\d'\d{3}", r"^n/a$", r"^\?$", r"^$")),
        (
            "coldharbour",
            (r"\d lb$", r"\d kg$", r" in$", r" cm$", r"^\$", r"°[FC]$", r"^n/a$", r"^$"),
        ),
    ],
)
def test_tables_hold_the_odd_cells_of_shop_tables(name: str, patterns: tuple[str, ...]) -> None:
    cells = raw_cells(name)
    missing = [p for p in patterns if not any(re.search(p, cell) for cell in cells)]
    assert missing == []


@pytest.mark.parametrize(
    ("name", "pack", "field", "expected"),
    [
        ("otterbank", "Thrift 12-100", "mass_kg", 24.3 * 0.45359237),
        ("otterbank", "Thrift 24-100", "nominal_voltage_v", 25.6),
        ("otterbank", "Fell 24/230", "price", 1590.0),
        ("otterbank", "Kelp 24-200", "price", 1490.0),
        ("otterbank", "Lumber 12-200", "mass_kg", 22.5),
        ("otterbank", "Lumber 24-280", "width_mm", 24.6 * 25.4),
        ("otterbank", "Lumber 24-280", "mass_kg", 149 * 0.45359237),
        ("otterbank", "Vinter 24-210H", "lead_time_days", 42.0),
        ("otterbank", "Thrift 24-200 Tower", "warranty_years", 2.0),
        ("larch_hut", "Stapel 48-100", "height_mm", 133.0),
        ("larch_hut", "Stapel 48-100", "price", 1190.0),
        ("larch_hut", "Eis 24-200", "price", 1980.5),
        ("larch_hut", "Rack-M 50", "mass_kg", 53 * 0.45359237),
        ("larch_hut", "Stapel 48-100", "end_of_life", 0.8),
        ("coldharbour", "Trot 100", "width_mm", 12.9 * 25.4),
        ("coldharbour", "Trot 100", "mass_kg", 24.2 * 0.45359237),
        ("coldharbour", "Trot 100", "charge_min_degc", 0.0),
        ("coldharbour", "Tablesalt 100", "charge_min_degc", -10.0),
        ("coldharbour", "Shoebox 150", "depth_mm", 173.0),
        ("coldharbour", "Hoarfrost 12-160H", "price", 1090.0),
    ],
)
def test_odd_cells_are_read_as_meant(
    cases: dict[str, Case], name: str, pack: str, field: str, expected: float
) -> None:
    found = {c.name: c for c in cases[name].candidates}[pack]
    assert getattr(found, field) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "column"),
    [("otterbank", "Where seen"), ("larch_hut", "Shelf no."), ("coldharbour", "Seen on a forum")],
)
def test_a_column_we_do_not_know_is_kept(cases: dict[str, Case], name: str, column: str) -> None:
    kept = [c.other[column] for c in cases[name].candidates if column in c.other]
    assert kept == [row[column] for row in raw_rows(name) if row[column]]


@pytest.mark.parametrize("name", NAMES)
def test_packs_are_as_heavy_as_packs_are(cases: dict[str, Case], name: str) -> None:
    for candidate in cases[name].candidates:
        low, high = MASS_RATIO_WH_PER_KG[candidate.chemistry]
        assert candidate.mass_kg is not None
        assert low <= candidate.energy_wh / candidate.mass_kg <= high, candidate.name


@pytest.mark.parametrize("name", NAMES)
def test_the_climate_is_possible(cases: dict[str, Case], name: str) -> None:
    climate = cases[name].climate
    outside_wh = extraterrestrial_daily_wh_per_m2(climate.latitude_deg, MIDDLE_DAYS)
    for month in range(12):
        clearness = 1000 * climate.irradiation_kwh_per_m2_day[month] / float(outside_wh[month])
        # monthly means on Earth run from about 0.2 (wet winters) to 0.75 (deserts)
        assert 0.15 < clearness < 0.75, month + 1


@pytest.mark.parametrize("name", NAMES)
def test_writing_and_reading_gives_an_equal_case(
    cases: dict[str, Case], name: str, tmp_path: Path
) -> None:
    write_case(cases[name], tmp_path / "again.toml")
    assert read_case(tmp_path / "again.toml") == cases[name]


@pytest.mark.parametrize("name", NAMES)
def test_every_case_tells_its_story(cases: dict[str, Case], name: str) -> None:
    case = cases[name]
    assert 150 < len(case.story) < 800
    assert case.system.old_bank is not None
    assert any(not load.essential for load in case.loads)
    assert any(load.via == "inverter" for load in case.loads)


def test_some_candidates_leave_a_requirement_open(cases: dict[str, Case]) -> None:
    displays = {c.name: c.charge_display for c in cases["otterbank"].candidates}
    assert cases["otterbank"].system.required.charge_display
    assert displays["Kelp 24-200"] is None
    packs = {c.name: specify(c) for c in cases["larch_hut"].candidates}
    assert packs["Halit 24-100"].dimensions_mm is None
