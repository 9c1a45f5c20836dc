"""Weather files: four formats lead to the same weather, and everything wrong is told in words.

EPW and PVGIS files are written here, by the published descriptions of their formats (EnergyPlus
documentation, Auxiliary Programs, weather data dictionary; PVGIS's CSV as pvlib's reader documents
it), from a TMY3 file that ships with pvlib (public data of the US National Renewable Energy
Laboratory).
"""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.case import Case, CaseError, Problem, read_case, write_case
from tco.case.toml import case_from_mapping, case_to_mapping
from tco.case.use import Climate
from tco.case.weather_file import WeatherFile, climate_values, read_weather_file
from tco.physics import sun
from tco.physics.weather import MONTH_LENGTHS, plane_of_array, synthetic_weather

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO, SAND_POINT = DATA / "723170TYA.CSV", DATA / "703165TY.csv"
LATITUDE, LONGITUDE, ZONE = 36.1, -79.95, -5.0
MONTH = np.repeat(np.arange(12), 24 * MONTH_LENGTHS)
CALENDAR = pd.date_range("2015-01-01", periods=8760, freq="h")


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    """Greensboro as published: row k is the hour that begins k hours after the new year."""
    return pvlib.iotools.read_tmy3(GREENSBORO, map_variables=True)[0]


def epw_text(
    temperature: np.ndarray,
    ghi: np.ndarray,
    dhi: np.ndarray,
    *,
    place: tuple[float, float, float] = (LATITUDE, LONGITUDE, ZONE),
) -> str:
    latitude, longitude, zone = place
    head = [
        f"LOCATION,Testham,NC,USA,TMY3,723170,{latitude},{longitude},{zone},273.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,written by a test",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    rows = [
        f"1988,{t.month},{t.day},{t.hour + 1},0,?9?9?9,{c:.1f},5.0,50,99300,0,0,300,{g:.3f},0,"
        f"{d:.3f},0,0,0,0,180,3.0,5,5,16.0,77777,9,999999999,10,0.1,0,88,0.2,0.0,1.0"
        for t, c, g, d in zip(CALENDAR, temperature, ghi, dhi, strict=True)
    ]
    return "\r\n".join([*head, *rows, ""])


def pvgis_hourly_text(
    stamps: pd.DatetimeIndex, temperature: np.ndarray, ghi: np.ndarray, dhi: np.ndarray
) -> str:
    head = [
        f"Latitude (decimal degrees):\t{LATITUDE}",
        f"Longitude (decimal degrees):\t{LONGITUDE}",
        "Elevation (m):\t273.0",
        "Radiation database:\tPVGIS-ERA5",
        "",
        "",
        "Slope: 0 deg. ",
        "Azimuth: 0 deg. ",
        "time,Gb(i),Gd(i),Gr(i),H_sun,T2m,WS10m,Int",
    ]
    rows = [
        f"{t:%Y%m%d:%H%M},{g - d:.3f},{d:.3f},0.0,0.0,{c:.2f},2.0,0.0"
        for t, c, g, d in zip(stamps, temperature, ghi, dhi, strict=True)
    ]
    tail = ["", "Gb(i): Beam (direct) irradiance on the inclined plane (W/m2)", "", "PVGIS (c)", ""]
    return "\r\n".join([*head, *rows, *tail])


def pvgis_typical_text(temperature: np.ndarray, ghi: np.ndarray, dhi: np.ndarray) -> str:
    head = [
        f"Latitude (decimal degrees): {LATITUDE}",
        f"Longitude (decimal degrees): {LONGITUDE}",
        "Elevation (m): 273.0",
        "Irradiance Time Offset (h): 0.5",
        "month,year",
        *(f"{month},{2000 + month}" for month in range(1, 13)),
        "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP",
    ]
    rows = [
        f"{2000 + t.month}{t:%m%d:%H%M},{c:.2f},50,{g:.3f},0.0,{d:.3f},300.0,2.0,180,99300"
        for t, c, g, d in zip(CALENDAR, temperature, ghi, dhi, strict=True)
    ]
    return "\r\n".join([*head, *rows, "T2m: 2-m air temperature (degree Celsius)", ""])


def columns(table: pd.DataFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return tuple(table[name].to_numpy(dtype=float) for name in ("temp_air", "ghi", "dhi"))


def in_utc(table: pd.DataFrame, years: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same year with row k the UTC hour k; temperature at its middle."""
    temperature, ghi, dhi = columns(table)
    middle = (temperature + np.roll(temperature, 1)) / 2.0
    return tuple(np.tile(np.roll(v, int(-ZONE)), years) for v in (middle, ghi, dhi))


def typical_in_utc(table: pd.DataFrame) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same for stamps on the full hour, with the light half an hour later."""
    temperature, ghi, dhi = columns(table)
    return tuple(np.roll(v, int(-ZONE)) for v in (np.roll(temperature, 1), ghi, dhi))


TEXTS: dict[str, Callable[[pd.DataFrame], str]] = {
    "EPW": lambda t: epw_text(*columns(t)),
    "TMY3": lambda t: GREENSBORO.read_text(),
    "PVGIS hourly": lambda t: pvgis_hourly_text(
        pd.date_range("2014-01-01 00:30", periods=2 * 8760, freq="h"), *in_utc(t, 2)
    ),
    "PVGIS typical year": lambda t: pvgis_typical_text(*typical_in_utc(t)),
}


@pytest.fixture(scope="module")
def paths(table: pd.DataFrame, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A file of each kind, with endings that say nothing."""
    folder = tmp_path_factory.mktemp("weather")
    out = {}
    for number, (kind, text_of) in enumerate(TEXTS.items()):
        out[kind] = folder / f"weather{number}.txt"
        out[kind].write_text(text_of(table), newline="")
    return out


def read(text: str, tmp_path: Path, name: str = "w.dat") -> WeatherFile:
    path = tmp_path / name
    path.write_text(text, newline="")
    return read_weather_file(path)


def refused(text: str, tmp_path: Path) -> tuple[Problem, ...]:
    with pytest.raises(CaseError) as caught:
        read(text, tmp_path)
    assert all(problem.file for problem in caught.value.problems)
    return caught.value.problems


# ---- what comes out ----


@pytest.mark.parametrize("kind", TEXTS)
def test_a_year_comes_back(kind: str, paths: dict[str, Path], table: pd.DataFrame) -> None:
    """Light to what three printed decimals lose, temperature to 0.05 K (both are means)."""
    found = read_weather_file(paths[kind])
    temperature, ghi, dhi = columns(table)
    years = found.weather.years
    assert found.kind == kind
    assert years == (2 if kind == "PVGIS hourly" else 1)
    assert (found.latitude_deg, found.longitude_deg) == (LATITUDE, LONGITUDE)
    assert found.weather.ghi_w_per_m2.sum() / years == pytest.approx(ghi.sum(), rel=1e-5)
    assert found.weather.dhi_w_per_m2.sum() / years == pytest.approx(dhi.sum(), rel=1e-5)
    assert found.weather.temperature_degc.mean() == pytest.approx(temperature.mean(), abs=0.05)


@pytest.mark.parametrize("kind", TEXTS)
def test_months_are_those_of_the_rows(
    kind: str, paths: dict[str, Path], table: pd.DataFrame
) -> None:
    """Means within 0.1 K and light within 0.5 %, minima and maxima within 0.6 K.

    A solar day is up to half an hour off the clock's, and means over an hour lie inside what is
    read at the hour: less than the steepest hour of a day moves in half an hour.
    """
    found = read_weather_file(paths[kind])
    temperature, ghi, _ = columns(table)
    month = MONTH[::24]
    by_day = temperature.reshape(-1, 24)

    def monthly(values: np.ndarray) -> np.ndarray:
        return np.bincount(month, values) / MONTH_LENGTHS

    np.testing.assert_allclose(found.mean_degc, monthly(by_day.mean(axis=1)), atol=0.1)
    np.testing.assert_allclose(found.min_degc, monthly(by_day.min(axis=1)), atol=0.6)
    np.testing.assert_allclose(found.max_degc, monthly(by_day.max(axis=1)), atol=0.6)
    np.testing.assert_allclose(
        1000.0 * np.array(found.irradiation_kwh_per_m2_day),
        monthly(ghi.reshape(-1, 24).sum(axis=1)),
        rtol=0.005,
    )


@pytest.mark.parametrize("kind", [k for k in TEXTS if k != "TMY3"])
def test_every_format_gives_the_same_hours(kind: str, paths: dict[str, Path]) -> None:
    """The hours of light are told differently but are the same; so is the temperature, nearly."""
    found, plain = read_weather_file(paths[kind]).weather, read_weather_file(paths["TMY3"]).weather
    size = plain.ghi_w_per_m2.size
    np.testing.assert_allclose(found.ghi_w_per_m2[:size], plain.ghi_w_per_m2, atol=0.01)
    off = found.temperature_degc[:size] - plain.temperature_degc
    assert np.abs(off).mean() < 0.2  # an hour's shift gives 0.6


@pytest.mark.parametrize("path", [GREENSBORO, SAND_POINT], ids=["Greensboro", "Sand Point"])
def test_clear_days_are_balanced_about_noon(path: Path) -> None:
    """The middle of the light of the clearest day of each month is within 10 minutes of 12."""
    found = read_weather_file(path)
    by_day = found.weather.ghi_w_per_m2.reshape(365, 24)
    above = sun.extraterrestrial_daily_wh_per_m2(found.latitude_deg, np.arange(1, 366))
    clearness = by_day.sum(axis=1) / above
    middle = by_day @ (np.arange(24) + 0.5) / by_day.sum(axis=1)
    clearest = [
        int(np.flatnonzero(MONTH[::24] == m)[np.argmax(clearness[MONTH[::24] == m])])
        for m in range(12)
    ]
    assert np.median(np.abs(middle[clearest] - 12.0)) * 60.0 < 10.0
    assert abs(np.mean(middle[clearest]) - 12.0) * 60.0 < 10.0


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [(45.0, 8.0, 1.0), (-33.0, 150.0, 10.0), (60.0, -150.0, -9.0), (20.0, 83.0, 5.5)],
)
def test_the_sun_stands_where_it_should(
    latitude: float, longitude: float, zone: float, tmp_path: Path
) -> None:
    """Light drawn from pvlib's own ephemeris, on local clock time, is symmetric in solar time.

    Within two minutes each day: Spencer's equation of time (four years in one) and the light of
    an hour taken at five moments of it. The zone of 5.5 h and places far from their meridian are
    the fractional shifts.
    """
    fine = pd.date_range("2015-01-01 00:06", periods=5 * 8760, freq="12min") - pd.Timedelta(
        hours=zone
    )
    position = pvlib.solarposition.get_solarposition(fine.tz_localize("UTC"), latitude, longitude)
    height = np.cos(np.radians(position["zenith"].to_numpy()))
    ghi = np.maximum(700.0 * height, 0.0).reshape(-1, 5).mean(axis=1)
    text = epw_text(np.full(8760, 8.0), ghi, 0.3 * ghi, place=(latitude, longitude, zone))
    made = read(text, tmp_path).weather.ghi_w_per_m2.reshape(365, 24)
    middle = made @ (np.arange(24) + 0.5) / made.sum(axis=1)
    assert np.abs(middle - 12.0).max() * 60.0 < 2.0
    day, hour = np.arange(1, 366)[:, None], np.arange(24)
    expected = 700.0 * np.maximum(sun.cos_zenith(latitude, day, hour), 0.0)
    assert np.abs(made - expected).mean() < 3.0


def test_daily_energy_is_kept(paths: dict[str, Path], table: pd.DataFrame) -> None:
    """No light is lost from any day by the shift of a fraction of an hour."""
    made = read_weather_file(paths["TMY3"]).weather.ghi_w_per_m2.reshape(365, 24).sum(axis=1)
    np.testing.assert_allclose(made, columns(table)[1].reshape(365, 24).sum(axis=1), rtol=1e-9)


@pytest.mark.parametrize("path", [GREENSBORO, SAND_POINT], ids=["Greensboro", "Sand Point"])
def test_file_to_climate_to_synthetic_weather_and_back(path: Path) -> None:
    """Monthly means within 2 % and 0.2 K of the file's; on a panel tilted 30 degrees within 6 %.

    The synthetic years have another split into beam and diffuse than the file's, so the tilted
    plane is the looser test.
    """
    found = read_weather_file(path)
    climate = Climate.model_validate(climate_values(found))
    made = synthetic_weather(
        latitude_deg=climate.latitude_deg,
        mean_degc=climate.mean_degc,
        min_degc=climate.min_degc,
        max_degc=climate.max_degc,
        irradiation_kwh_per_m2_day=climate.irradiation_kwh_per_m2_day,
        years=4,
        seed=1,
    )
    for ours, theirs, tolerance in (
        (made.temperature_degc, found.weather.temperature_degc, {"atol": 0.2}),
        (made.ghi_w_per_m2, found.weather.ghi_w_per_m2, {"rtol": 0.02}),
    ):
        np.testing.assert_allclose(
            np.bincount(np.tile(MONTH, 4), ours) / np.bincount(np.tile(MONTH, 4)),
            np.bincount(MONTH, theirs) / np.bincount(MONTH),
            **tolerance,
        )
    tilted = [
        plane_of_array(
            weather, latitude_deg=climate.latitude_deg, tilt_deg=30, azimuth_deg=180
        ).mean()
        for weather in (made, found.weather)
    ]
    assert tilted[0] == pytest.approx(tilted[1], rel=0.06)


def test_an_epw_file_from_pvgis_is_its_csv_in_another_dress(
    table: pd.DataFrame, paths: dict[str, Path], tmp_path: Path
) -> None:
    """PVGIS writes the rows of its CSV, in UTC, with an offset an hour less, and says TZ 1.

    (So in the pair tmy_45.000_8.000_2005_2023 among pvlib's own test data.)
    """
    text = epw_text(*typical_in_utc(table), place=(LATITUDE, LONGITUDE, 1.0))
    text = text.replace("COMMENTS 2,", "COMMENTS 2,Irradiance Time Offset (h):-0.5000")
    text = text.replace(",Testham,NC,USA,", ",unknown,-,unknown,")
    found, plain = read(text, tmp_path), read_weather_file(paths["PVGIS typical year"])
    np.testing.assert_allclose(found.weather.ghi_w_per_m2, plain.weather.ghi_w_per_m2, atol=0.01)
    off = found.weather.temperature_degc - plain.weather.temperature_degc
    assert np.abs(off).max() < 0.06  # a decimal of print
    assert found.site == plain.site == "36.1 N, 79.95 W"
    assert "taken as UTC" in found.notes[0]


def test_an_unchanged_file_is_read_once_and_shared_unwritable(paths: dict[str, Path]) -> None:
    first, second = read_weather_file(paths["EPW"]), read_weather_file(str(paths["EPW"]))
    assert first is second
    with pytest.raises(ValueError, match="read-only"):
        first.weather.ghi_w_per_m2[0] = 1.0


# ---- years, gaps, missing values ----


def hourly(table: pd.DataFrame, start: str, hours: int) -> str:
    stamps = pd.date_range(start, periods=hours, freq="h")
    place = (stamps.day_of_year - 1 - ((stamps.month > 2) & stamps.is_leap_year)) * 24 + stamps.hour
    year = [v[np.asarray(place) % 8760] for v in in_utc(table)]
    return pvgis_hourly_text(stamps, *year)


def test_leap_days_and_parts_of_years_are_left_out(table: pd.DataFrame, tmp_path: Path) -> None:
    """From May 2014 to the middle of 2017: the whole years 2015 and 2016 stay, 2016 is a leap."""
    found = read(hourly(table, "2014-05-01 00:30", 24 * 365 * 3 + 1500), tmp_path)
    assert found.weather.years == 2
    notes = " ".join(found.notes)
    assert "29 February is left out" in notes
    assert "2014 begins late" in notes
    assert "2017 ends early" in notes
    ghi = found.weather.ghi_w_per_m2.reshape(2, -1)
    np.testing.assert_allclose(ghi[0], ghi[1], atol=0.01)


def test_a_part_of_one_year_is_refused(table: pd.DataFrame, tmp_path: Path) -> None:
    (problem,) = refused(hourly(table, "2015-01-01 00:30", 24 * 200), tmp_path)
    assert "from 20 July 2015 00:00" in problem.what
    assert "cut off" in problem.mend
    assert problem.row == 9 + 24 * 200


def test_short_gaps_are_filled_and_told(table: pd.DataFrame, tmp_path: Path) -> None:
    """Six hours about noon of a day in June, by missing values and by missing rows."""
    temperature, ghi, dhi = columns(table)
    slot = 24 * 160 + 9
    hole = slice(slot, slot + 6)
    for column, missing in (("temperature", 99.9), ("global light", 9999.0)):
        values = {"temperature": temperature.copy(), "global light": ghi.copy()}
        values[column][hole] = missing
        found = read(epw_text(values["temperature"], values["global light"], dhi), tmp_path)
        assert f"6 hours had no {column} (the first: 10 June 09:00)" in found.notes[0]
        assert found.weather.ghi_w_per_m2.sum() == pytest.approx(ghi.sum(), rel=0.003)
        assert found.weather.temperature_degc.mean() == pytest.approx(temperature.mean(), abs=0.02)
    lines = epw_text(temperature, ghi, dhi).split("\r\n")
    del lines[8 + slot : 8 + slot + 6]
    found = read("\r\n".join(lines), tmp_path)
    assert "6 hours had no row" in found.notes[0]
    clear = sun.extraterrestrial_daily_wh_per_m2(LATITUDE, 161)
    filled_day = found.weather.ghi_w_per_m2.reshape(365, 24)[160].sum()
    assert 0.2 * clear < filled_day < 0.8 * clear  # not a hole: 6 h about noon are over half


def test_long_gaps_are_refused_from_when_to_when(table: pd.DataFrame, tmp_path: Path) -> None:
    temperature, ghi, dhi = columns(table)
    slot = 24 * 61 + 4  # 3 March
    holed = ghi.copy()
    holed[slot : slot + 7] = 9999.0
    (problem,) = refused(epw_text(temperature, holed, dhi), tmp_path)
    assert problem.what == (
        "has no global light for 7 hours, from 3 March 04:00 to 3 March 11:00 by its own clock"
    )
    assert problem.row == 9 + slot
    lines = epw_text(temperature, ghi, dhi).split("\r\n")
    del lines[8 + slot : 8 + slot + 7]
    (problem,) = refused("\r\n".join(lines), tmp_path)
    assert problem.what.startswith("has no rows for 7 hours, from 3 March 04:00")


def test_no_diffuse_light_at_all_is_split_by_correlation(
    table: pd.DataFrame, tmp_path: Path
) -> None:
    """Erbs' split of a year is within a tenth of the file's own."""
    temperature, ghi, dhi = columns(table)
    found = read(epw_text(temperature, ghi, np.full(8760, 9999.0)), tmp_path)
    assert "no diffuse light" in found.notes[0]
    assert found.weather.dhi_w_per_m2.sum() == pytest.approx(dhi.sum(), rel=0.10)


# ---- what is refused, and in which words ----


def edited(
    text: str, line: int, change: Callable[[list[str]], list[str]], separator: str = ","
) -> str:
    lines = re.split("\r\n|\n", text)
    lines[line - 1] = separator.join(change(lines[line - 1].split(separator)))
    return "\r\n".join(lines)


def with_cell(column: int, value: str) -> Callable[[list[str]], list[str]]:
    return lambda cells: [*cells[:column], value, *cells[column + 1 :]]


EDITS = {
    "EPW": [
        (1, with_cell(6, "north"), "latitude", 1),
        (1, with_cell(8, "17"), "time zone", 1),
        (1, with_cell(8, "5"), "middle of its light", None),
        (1, with_cell(6, "-66"), "more light in", None),
        (100, with_cell(6, "mild"), "temperature that is no number", 100),
        (100, with_cell(6, "71"), "impossible temperature", 100),
        (4000, with_cell(13, "2500"), "impossible global light", 4000),
        (100, with_cell(3, "0"), "no date and time", 100),
        (100, with_cell(3, "21"), "same hour as line 100", 101),
        (200, lambda cells: cells[:12], "12 values where its table has 35", 200),
    ],
    "TMY3": [
        (1, with_cell(5, "W 80"), "longitude", 1),
        (2, with_cell(4, "Sunshine"), "no column 'GHI (W/m^2)'", 2),
        (77, with_cell(4, "x"), "global light that is no number", 77),
        (77, with_cell(0, "32/01/1988"), "no date and time", 77),
        (77, with_cell(1, "03:30"), "no date and time", 77),
        (77, lambda cells: [*cells, "1"], "values where its table has", 77),
    ],
    "PVGIS hourly": [
        (7, lambda cells: ["Slope: 35 deg. (optimum)"], "not level", None),
        (9, with_cell(5, "temp"), "no column 'T2m'", 9),
        (50, with_cell(0, "20140102:1830"), "same hour as line", None),
        (50, with_cell(0, "20140102:1745"), "", None),
        (50, with_cell(0, "yesterday"), "no date and time", 50),
        (50, with_cell(2, "?"), "Gd(i) that is no number", 50),
    ],
    "PVGIS typical year": [
        (1, lambda cells: ["Latitude (decimal degrees): x"], "latitude", 1),
        (4, lambda cells: ["Irradiance Time Offset (h): soon"], "irradiance time offset", 4),
        (6, lambda cells: ["1"], "cannot be read", None),
        (18, with_cell(3, "G"), "no column 'G(h)'", 18),
        (90, with_cell(3, ""), "", None),
        (90, lambda cells: [""], "hours", None),
    ],
}


@pytest.mark.parametrize(
    ("kind", "line", "change", "what", "row"),
    [(kind, *edit) for kind, edits in EDITS.items() for edit in edits],
)
def test_what_is_wrong_is_named_by_its_line(
    kind: str,
    line: int,
    change: Callable[[list[str]], list[str]],
    what: str,
    row: int | None,
    paths: dict[str, Path],
    tmp_path: Path,
) -> None:
    problems = refused(edited(paths[kind].read_text(), line, change), tmp_path)
    match = [problem for problem in problems if what in problem.what]
    assert match, [str(problem) for problem in problems]
    assert row is None or match[0].row == row
    assert all(len(str(problem)) < 600 for problem in problems)


@pytest.mark.parametrize("kind", TEXTS)
@pytest.mark.parametrize("share", [0.0001, 0.002, 0.03, 0.4, 0.7, 0.98])
def test_a_truncated_file_is_refused(
    kind: str, share: float, paths: dict[str, Path], tmp_path: Path
) -> None:
    text = paths[kind].read_text()
    if kind == "PVGIS hourly" and share > 0.5:
        share /= 2.0  # more than half of it is a whole year
    assert refused(text[: int(share * len(text))], tmp_path)


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "is empty"),
        (b" \n\r\n\t\n", "is empty"),
        (b"\x00\x01\x02" * 50, "not a text file"),
        (b"PK\x03\x04rest", "spreadsheet or an archive"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not a text file"),
        (b"name,price\na,3\n", "not a weather file"),
        (b'{"inputs": {}}', "is JSON"),
        (b"LOCATION,", "latitude"),
        (b"LOCATION,a,b,c,d,e,1,2,3,4\n", "no hours"),
        (b"Latitude (decimal degrees): 4\nmonth,H\n1,2\n", "no hourly table"),
        (b"Latitude (decimal degrees): 45\ntime,P\n", "not level"),
        (b"x\nDate (MM/DD/YYYY)", "latitude"),
        ((DATA / "12839.tm2").read_bytes()[:4000], "TMY2"),
    ],
)
def test_other_files_are_refused(data: bytes, what: str, tmp_path: Path) -> None:
    path = tmp_path / "w.epw"
    path.write_bytes(data)
    with pytest.raises(CaseError) as caught:
        read_weather_file(path)
    assert what in str(caught.value)


def test_folders_and_nothing_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.epw", "a\0b"):
        with pytest.raises(CaseError):
            read_weather_file(path)


HEADS = [
    "",
    "LOCATION,a,b,c,d,e,1,2,0,4\n\n\n\n\n\n\n\n",
    '1,"n",NC,-5.0,36.1,-79.9,2\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DHI (W/m^2),'
    "Dry-bulb (C)\n",
    "Latitude (decimal degrees): 1\nLongitude (decimal degrees): 2\nSlope: 0 deg.\n"
    "time,G(i),T2m,Int\n",
    "Latitude (decimal degrees): 1\nLongitude (decimal degrees): 2\n\ntime(UTC),T2m,G(h),Gd(h)\n",
]


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(
    head=st.sampled_from(HEADS),
    body=st.binary(max_size=80)
    | st.text(alphabet="0123456789,.:/-\n \"'aT", max_size=120).map(str.encode),
)
def test_junk_is_never_a_traceback(head: str, body: bytes, tmp_path: Path) -> None:
    path = tmp_path / "junk"
    path.write_bytes(head.encode() + body)
    with pytest.raises(CaseError):
        read_weather_file(path)


# ---- the climate of a case ----


@pytest.fixture
def folder(tmp_path: Path, paths: dict[str, Path]) -> Path:
    """A case that names its weather file and nothing else of its climate."""
    (tmp_path / "weather").mkdir()
    (tmp_path / "weather" / "here.epw").write_bytes(paths["EPW"].read_bytes())
    (tmp_path / "case.toml").write_text(
        "[system]\nnominal_voltage_v = 24\n[[system.spaces]]\nname = 'locker'\n"
        "width_mm = 600\ndepth_mm = 500\nheight_mm = 400\n"
        "[climate]\nweather_file = 'weather/here.epw'\n"
    )
    return tmp_path


def test_a_weather_file_fills_the_climate(folder: Path) -> None:
    case = read_case(folder / "case.toml")
    found = read_weather_file(folder / "weather" / "here.epw")
    assert case.climate.weather_file == str(folder / "weather" / "here.epw")
    assert case.climate.site == "Testham, USA"
    assert case.climate.latitude_deg == LATITUDE
    stated = Climate.model_validate(climate_values(found)).model_dump(exclude={"weather_file"})
    assert case.climate.model_dump(exclude={"weather_file"}) == stated
    hash(case.climate)


def test_a_case_with_a_weather_file_comes_back(folder: Path) -> None:
    case = read_case(folder / "case.toml")
    (folder / "elsewhere").mkdir()
    for copy in (folder / "copy.toml", folder / "elsewhere" / "copy.toml"):
        write_case(case, copy)
        first = copy.read_bytes()
        assert read_case(copy) == case
        write_case(read_case(copy), copy)
        assert copy.read_bytes() == first
    assert 'weather_file = "../weather/here.epw"' in copy.read_text()
    assert str(folder) not in copy.read_text()
    assert case_from_mapping(case_to_mapping(case)) == case


def with_climate(folder: Path, more: str) -> Case:
    path = folder / "case.toml"
    path.write_text(path.read_text() + more)
    return read_case(path)


def test_what_is_stated_beside_the_file_must_agree(folder: Path) -> None:
    case = with_climate(folder, "site = 'our bay'\nlatitude_deg = 36.1\n")
    assert case.climate.site == "our bay"
    with pytest.raises(CaseError) as caught:
        with_climate(folder, "irradiation_kwh_per_m2_day = 3\n")
    (problem,) = caught.value.problems
    assert problem.field == "climate.irradiation_kwh_per_m2_day"
    assert "not what the weather file says in Jan" in problem.what
    assert problem.location == ("climate", "irradiation_kwh_per_m2_day", 0)


def test_a_missing_weather_file_is_one_problem_among_the_others(folder: Path) -> None:
    path = folder / "case.toml"
    path.write_text(path.read_text().replace("here", "gone") + "[use]\nliving_degc = 400\n")
    with pytest.raises(CaseError) as caught:
        read_case(path)
    assert [problem.what for problem in caught.value.problems] == [
        "there is no such file",
        "is too large",
    ]


def test_a_relative_file_needs_the_folder_of_the_case(folder: Path) -> None:
    raw = case_to_mapping(read_case(folder / "case.toml"))
    raw["climate"]["weather_file"] = "here.epw"
    with pytest.raises(CaseError, match="folder of the case is not known"):
        case_from_mapping(raw)
    raw["climate"]["weather_file"] = 5
    with pytest.raises(CaseError, match="not text"):
        case_from_mapping(raw)
