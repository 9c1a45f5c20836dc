"""Hourly weather from a file (EPW, TMY3, PVGIS CSV) in place of the synthetic years.

The file's clock becomes solar time, its gaps are filled or refused, and its months are summed up,
so that what works from monthly values works from a file.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from tco.case.files import read_text
from tco.case.problems import CaseError, Problem
from tco.case.weather_formats import EPW, PVGIS_TYPICAL, TMY3, parse_weather
from tco.case.weather_rows import RawWeather, hour_words
from tco.physics import sun
from tco.physics.arrays import BoolArray, FloatArray
from tco.physics.solar_time import (
    hourly_means_to_solar_hours,
    moments_to_solar_hours,
    solar_hours,
)
from tco.physics.weather import (
    DAYS_PER_YEAR,
    HOURS_PER_YEAR,
    MONTH_LENGTHS,
    MONTH_NAMES,
    HourlyWeather,
    brightest_months_wh_per_m2_day,
)

Twelve = tuple[float, ...]

LONGEST_FILLED_GAP_H = 6
"""Longer gaps are refused. Common practice, no source."""

NO_LIGHT_VALUES = (9999.0, 99999.0, 999999.0, -99.0, -999.0, -9900.0, -9999.0)
NO_TEMPERATURE_VALUES = (99.9, 999.0, 999.9, 9999.0, -99.0, -99.9, -999.0, -9900.0, -9999.0)
"""What files write where nothing was measured: 9999 and 99.9 in EPW (EnergyPlus documentation,
Auxiliary Programs), -9900 in TMY3 (Wilcox and Marion, NREL/TP-581-43156); the others: common
practice, no source."""

COLDEST_DEGC, WARMEST_DEGC = -90.0, 60.0
DARKEST_W_PER_M2, BRIGHTEST_W_PER_M2 = -20.0, 1600.0
"""Nothing outside these is weather; a few watts below zero are an instrument's night offset.
Common practice, no source."""

NOON_DOUBTED_H, NOON_REFUSED_H = 0.75, 2.0
"""How far from 12 the middle of the year's light may lie: mornings in fog or behind a ridge move
it by less than the first. An assumption."""

_MONTH_OF_HOUR = np.repeat(np.arange(12), 24 * MONTH_LENGTHS)
_MOST_GAPS_SHOWN = 5


@dataclass(frozen=True)
class WeatherFile:
    """A weather file as whole years of solar hours, and its months as a climate table has them.

    `kind` is one of `tco.case.weather_formats.KINDS`. Mean temperature, mean daily minimum and
    maximum [degC] and mean daily light on the level [kWh/m2 a day] are over all its years,
    January first. `notes` say what was filled, left out or is to be known about such a file.
    """

    weather: HourlyWeather
    latitude_deg: float
    longitude_deg: float
    site: str
    kind: str
    mean_degc: Twelve
    min_degc: Twelve
    max_degc: Twelve
    irradiation_kwh_per_m2_day: Twelve
    notes: tuple[str, ...]


def read_weather_file(path: str | Path) -> WeatherFile:
    """Read a weather file; what kind it is shows from what it holds.

    The hours of each kind are those told in `tco.case.weather_formats`. Clock time becomes solar
    time hour by hour (`tco.physics.solar_time`); a year's light stays what it was, and the last
    hours of the last year join the first. The same unchanged file is read once.

    Raises
    ------
    CaseError
        Where the file cannot be opened, is of no known kind, is broken (naming the line), lacks
        more than six hours on end, or holds what cannot be weather of its place.
    """
    path = Path(path)
    return _read(path, file_stamp(path))


def file_stamp(path: str | Path | None) -> tuple[int, int]:
    """When a file was last written, and how long it is; (0, 0) where it cannot be looked at."""
    try:
        seen = Path(path or "").stat()
    except (OSError, ValueError):
        return 0, 0  # reading it says why
    return seen.st_mtime_ns, seen.st_size


@lru_cache(maxsize=4)
def _read(path: Path, stamp: tuple[int, int]) -> WeatherFile:
    text = read_text(path, what="weather file", any_encoding=True)
    raw = parse_weather(text, file=path.name)
    return _from_raw(_filled(_whole_years(_known(raw, path.name)), path.name), path.name)


def climate_values(weather_file: WeatherFile) -> dict[str, object]:
    """The fields of `Climate` that a weather file answers."""
    return {
        "site": weather_file.site,
        "latitude_deg": weather_file.latitude_deg,
        "mean_degc": weather_file.mean_degc,
        "min_degc": weather_file.min_degc,
        "max_degc": weather_file.max_degc,
        "irradiation_kwh_per_m2_day": weather_file.irradiation_kwh_per_m2_day,
    }


def _known(raw: RawWeather, file: str) -> RawWeather:
    """The same with what files write for nothing as NaN; CaseError for what cannot be weather."""
    problems: list[Problem] = []

    def cleaned(
        name: str, values: FloatArray, none: tuple[float, ...], low: float, high: float, unit: str
    ) -> FloatArray:
        known = np.where(np.isin(values, none), np.nan, values)
        wrong = np.flatnonzero((known < low) | (known > high) | np.isinf(known))
        for slot in wrong[:3]:
            problems.append(
                Problem(
                    f"has an impossible {name}",
                    file=file,
                    row=int(raw.lines[slot]),
                    given=f"{known[slot]:g} {unit}",
                    allowed=f"{low:g} to {high:g} {unit}",
                    mend=f"{wrong.size} hours have; is it another unit or another column?"
                    if wrong.size > 1
                    else "Correct that hour, or leave its value out to have it filled.",
                )
            )
        return known

    def light(name: str, values: FloatArray) -> FloatArray:
        range_ = (DARKEST_W_PER_M2, BRIGHTEST_W_PER_M2, "W/m2")
        known = cleaned(name, values, NO_LIGHT_VALUES, *range_)
        return np.where(known < 0.0, 0.0, known)

    temperature = cleaned(
        "temperature",
        raw.temperature_degc,
        NO_TEMPERATURE_VALUES,
        COLDEST_DEGC,
        WARMEST_DEGC,
        "degC",
    )
    ghi = light("global light", raw.ghi)
    dhi = light("diffuse light", raw.dhi) if raw.dhi is not None else None
    if problems:
        raise CaseError(problems)
    if dhi is not None and not np.any(np.isfinite(dhi)):
        dhi = None
    return replace(raw, temperature_degc=temperature, ghi=ghi, dhi=dhi)


def _whole_years(raw: RawWeather) -> RawWeather:
    """Without a first or last year that is not whole, where a whole one is left."""
    present = (raw.lines > 0).reshape(len(raw.years), HOURS_PER_YEAR)
    first, last, notes = 0, len(raw.years), raw.notes
    begun_late = np.argmax(present, axis=1)
    ended_early = np.argmax(present[:, ::-1], axis=1)
    whole = (begun_late <= LONGEST_FILLED_GAP_H) & (ended_early <= LONGEST_FILLED_GAP_H)
    whole &= present.any(axis=1)
    if np.any(whole):
        if begun_late[0] > LONGEST_FILLED_GAP_H:
            notes += (f"{raw.years[0]} begins late in the file and is left out.",)
            first = 1
        if last - first > 1 and ended_early[-1] > LONGEST_FILLED_GAP_H:
            notes += (f"{raw.years[-1]} ends early in the file and is left out.",)
            last -= 1
    kept = slice(first * HOURS_PER_YEAR, last * HOURS_PER_YEAR)
    return replace(
        raw,
        years=raw.years[first:last],
        lines=raw.lines[kept],
        temperature_degc=raw.temperature_degc[kept],
        ghi=raw.ghi[kept],
        dhi=None if raw.dhi is None else raw.dhi[kept],
        notes=notes,
    )


def _gaps(missing: BoolArray) -> list[tuple[int, int]]:
    """Begin and end of each run of True, the runs over the end of the years cut there."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], missing, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in pairwise(edges.tolist())][::2]


def _filled(raw: RawWeather, file: str) -> RawWeather:
    """Short gaps filled, with a note; CaseError for long ones, saying from when to when."""
    named = {"temperature": raw.temperature_degc, "global light": raw.ghi}
    if raw.dhi is not None:
        named["diffuse light"] = raw.dhi
    problems: list[Problem] = []
    notes = raw.notes
    no_row = _gaps(raw.lines == 0)
    found = [("row", gap) for gap in no_row]
    for name, values in named.items():
        found += [(name, gap) for gap in _gaps(np.isnan(values)) if gap not in no_row]
    for name, (begin, end) in found:
        if end - begin > LONGEST_FILLED_GAP_H:
            problems.append(_gap_problem(raw, name, begin, end, file))
    if len(problems) > _MOST_GAPS_SHOWN:
        more = f"has {len(problems) - _MOST_GAPS_SHOWN} more such gaps"
        problems[_MOST_GAPS_SHOWN:] = [Problem(more, file=file)]
    if problems:
        raise CaseError(problems)
    for name in ("row", *named):
        gaps = [gap for found_name, gap in found if found_name == name]
        if gaps:
            hours = sum(end - begin for begin, end in gaps)
            what = "had no row" if name == "row" else f"had no {name}"
            first = _hour_of(raw, gaps[0][0])
            notes += (
                f"{hours} {'hour' if hours == 1 else 'hours'} {what} (the first: {first}) and "
                f"{'was' if hours == 1 else 'were'} filled from the hours around.",
            )
    return replace(
        raw,
        temperature_degc=_bridged(raw.temperature_degc),
        ghi=_bridged_light(raw, raw.ghi),
        dhi=None if raw.dhi is None else _bridged_light(raw, raw.dhi),
        notes=notes,
    )


def _hour_of(raw: RawWeather, index: int) -> str:
    return hour_words(index, raw.years[min(index // HOURS_PER_YEAR, len(raw.years) - 1)])


def _gap_problem(raw: RawWeather, name: str, begin: int, end: int, file: str) -> Problem:
    before = raw.lines[:begin]
    line = int(raw.lines[begin]) or int(before.max(initial=0)) or None
    what = "has no rows" if name == "row" else f"has no {name}"
    at_end = "The file is cut off; download it again." if end == raw.lines.size else ""
    return Problem(
        f"{what} for {end - begin} hours, from {_hour_of(raw, begin)} to {_hour_of(raw, end)} "
        "by its own clock",
        file=file,
        row=line,
        allowed=f"gaps of up to {LONGEST_FILLED_GAP_H} hours, which are filled",
        mend=at_end or "Take another year or another file of the place.",
    )


def _bridged(values: FloatArray) -> FloatArray:
    """Straight lines over NaN, the end joined to the beginning."""
    known = np.flatnonzero(np.isfinite(values))
    filled: FloatArray = np.interp(np.arange(values.size), known, values[known], period=values.size)
    return filled


def _bridged_light(raw: RawWeather, values: FloatArray) -> FloatArray:
    """NaN replaced by the light outside the air times the clearness on both sides."""
    missing = np.isnan(values)
    if not missing.any():
        return values
    middle = _begin(raw) + 0.5
    day = np.floor(middle / 24.0) % DAYS_PER_YEAR + 1.0
    outside = sun.extraterrestrial_hourly_w_per_m2(raw.latitude_deg, day, middle % 24.0 - 0.5)
    bright = outside > 50.0
    clearness = np.where(bright, values, np.nan) / np.where(bright, outside, 1.0)
    if not np.any(np.isfinite(clearness)):
        return np.where(missing, 0.0, values)
    return np.where(missing, _bridged(clearness) * outside, values)


def _begin(raw: RawWeather) -> FloatArray:
    """Solar time at which the light of each slot begins."""
    return solar_hours(
        np.arange(raw.ghi.size) + raw.light_begin_h,
        longitude_deg=raw.longitude_deg,
        utc_offset_h=raw.utc_offset_h,
    )


def _from_raw(raw: RawWeather, file: str) -> WeatherFile:
    years, notes = len(raw.years), raw.notes
    moments = solar_hours(
        np.arange(raw.ghi.size) + raw.moment_h,
        longitude_deg=raw.longitude_deg,
        utc_offset_h=raw.utc_offset_h,
    )
    temperature = moments_to_solar_hours(raw.temperature_degc, at_h=moments)
    given = (raw.ghi,) if raw.dhi is None else (raw.ghi, raw.dhi)
    light = hourly_means_to_solar_hours(*given, begin_h=_begin(raw), latitude_deg=raw.latitude_deg)
    ghi = light[0]
    day = np.tile(np.repeat(np.arange(1, DAYS_PER_YEAR + 1), 24), years)
    hour = np.tile(np.arange(24), DAYS_PER_YEAR * years)
    up = sun.cos_zenith(raw.latitude_deg, day, hour)
    outside = sun.extraterrestrial_normal_w_per_m2(day)
    if raw.dhi is None:
        above = outside * np.maximum(up, 0.0)
        index = np.divide(ghi, above, out=np.zeros_like(ghi), where=above > 0.0)
        dhi = ghi * np.where(above > 0.0, sun.diffuse_fraction(index), 1.0)
        notes += ("The file has no diffuse light; it is taken from Erbs' correlation.",)
    else:
        dhi = light[1]
    _check_noon(ghi, file)
    beam = np.maximum(ghi - dhi, 0.0)
    dni = np.divide(beam, up, out=np.zeros_like(beam), where=up > 0.0)
    month = np.tile(_MONTH_OF_HOUR, years)
    weather = HourlyWeather(
        temperature_degc=temperature,
        ghi_w_per_m2=ghi,
        dni_w_per_m2=np.minimum(dni, outside),
        dhi_w_per_m2=dhi,
        day_of_year=day,
        month_index=month,
        years=years,
    )
    for array in (temperature, ghi, weather.dni_w_per_m2, dhi, day, month):
        array.flags.writeable = False  # shared by all who read the file
    irradiation = _monthly(ghi.reshape(-1, 24).sum(axis=1))
    _check_months(irradiation, raw.latitude_deg, file)
    by_day = temperature.reshape(-1, 24)
    return WeatherFile(
        weather=weather,
        latitude_deg=raw.latitude_deg,
        longitude_deg=raw.longitude_deg,
        site=raw.site or _coordinates(raw),
        kind=raw.kind,
        mean_degc=_rounded(_monthly(by_day.mean(axis=1)), 2),
        min_degc=_rounded(_monthly(by_day.min(axis=1)), 2),
        max_degc=_rounded(_monthly(by_day.max(axis=1)), 2),
        irradiation_kwh_per_m2_day=_rounded(irradiation / 1000.0, 3),
        notes=(*notes, *_standing_notes(raw, ghi)),
    )


def _coordinates(raw: RawWeather) -> str:
    north, east = ("S" if raw.latitude_deg < 0 else "N"), ("W" if raw.longitude_deg < 0 else "E")
    return f"{abs(raw.latitude_deg):g} {north}, {abs(raw.longitude_deg):g} {east}"


def _standing_notes(raw: RawWeather, ghi: FloatArray) -> tuple[str, ...]:
    notes: tuple[str, ...] = ()
    if raw.kind in (EPW, TMY3, PVGIS_TYPICAL):
        notes = (
            "One year only. If it is a typical one, put together from typical months, real years "
            "have duller and colder spells than it.",
        )
    elif len(raw.years) == 1:
        notes = (f"One year only, {raw.years[0]}: others are duller or colder.",)
    off = _noon(ghi) - 12.0
    if abs(off) > NOON_DOUBTED_H:
        notes += (
            f"The middle of the year's light is {abs(off):.1f} h "
            f"{'after' if off > 0 else 'before'} solar noon; check the file's time zone and "
            "longitude.",
        )
    return notes


def _monthly(by_day: FloatArray) -> FloatArray:
    """Means of the twelve months over all years, from daily values."""
    days = np.tile(np.repeat(np.arange(12), MONTH_LENGTHS), by_day.size // DAYS_PER_YEAR)
    means: FloatArray = np.bincount(days, weights=by_day) / np.bincount(days)
    return means


def _rounded(values: FloatArray, digits: int) -> Twelve:
    return tuple(round(float(value), digits) + 0.0 for value in values)


def _noon(ghi: FloatArray) -> float:
    """The hour about which a year's light is balanced."""
    by_hour = ghi.reshape(-1, 24).sum(axis=0)
    return float((by_hour * (np.arange(24) + 0.5)).sum() / by_hour.sum())


def _check_noon(ghi: FloatArray, file: str) -> None:
    if ghi.sum() <= 0.0:
        raise CaseError([Problem("has no light in any hour", file=file, mend="Take another file.")])
    noon = _noon(ghi)
    if abs(noon - 12.0) > NOON_REFUSED_H:
        raise CaseError(
            [
                Problem(
                    f"has the middle of its light at {noon:.1f} h solar time, not about noon",
                    file=file,
                    mend="Check the time zone and the longitude (east positive) in its head.",
                )
            ]
        )


def _check_months(irradiation_wh: FloatArray, latitude_deg: float, file: str) -> None:
    limit = brightest_months_wh_per_m2_day(latitude_deg)
    problems = [
        Problem(
            f"has more light in {name} than reaches the ground at latitude {latitude_deg:g}",
            file=file,
            given=f"{light / 1000.0:.2f} kWh/m2 a day",
            allowed=f"up to {most / 1000.0:.2f}",
            mend="Check the latitude (south negative) and the unit of the light.",
        )
        for name, light, most in zip(MONTH_NAMES, irradiation_wh, limit, strict=True)
        if light > most
    ]
    if problems:
        raise CaseError(problems)
