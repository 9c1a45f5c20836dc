"""The hourly weather files people have: EPW, TMY3 and the CSV files of PVGIS, read by pvlib.

What each format means by its hours (clock time without summer time in all of them):

- EPW: hour 1 is 0:00 to 1:00; its light is the mean over it, its temperature that of its end
  (EnergyPlus documentation, Auxiliary Programs, weather data dictionary).
- TMY3: the stamp 01:00 closes the hour; light is the mean of the hour before it, temperature that
  of the stamp (Wilcox and Marion, NREL/TP-581-43156, section 2 and table 1-1).
- PVGIS, hourly: UTC; light is that of the stamp (20160101:0010 is ten past midnight), taken here
  as the mean of the hour around it (pvlib, `get_pvgis_hourly`, hint on time stamps).
- PVGIS, typical year: UTC; light as many hours after the stamp as the line "Irradiance Time
  Offset" says, temperature that of the stamp.
- An EPW file from PVGIS is another thing than EPW: the same rows as its CSV, in UTC whatever the
  head says, hour 1 being 0:00, and the offset told in the comments, one hour less. Seen in the
  pair of files with which pvlib tests its readers.

Every line is looked at before pvlib is, so that what is wrong can be named by its line.
"""

import io
import re
from collections.abc import Callable
from typing import Any

import numpy as np

from tco.case.weather_rows import (
    Doubts,
    Hour,
    RawWeather,
    Row,
    assemble,
    checked_hours,
    rows_from,
    site_number,
    slot_of,
)
from tco.physics.arrays import FloatArray
from tco.physics.weather import HOURS_PER_YEAR

EPW, TMY3 = "EPW", "TMY3"
PVGIS_HOURLY, PVGIS_TYPICAL = "PVGIS hourly", "PVGIS typical year"
KINDS = (EPW, TMY3, PVGIS_HOURLY, PVGIS_TYPICAL)

_EPW_FIELDS = 35
_EPW_COLUMNS = {"temperature": 6, "global light": 13, "diffuse light": 15}
_TMY3_COLUMNS = {
    "temperature": "Dry-bulb (C)",
    "global light": "GHI (W/m^2)",
    "diffuse light": "DHI (W/m^2)",
}
_TMY3_DATE, _TMY3_TIME = "Date (MM/DD/YYYY)", "Time (HH:MM)"


def parse_weather(text: str, *, file: str) -> RawWeather:
    """Values of a weather file, whichever of the kinds it is.

    Raises
    ------
    CaseError
        For a text of another kind, or a line that cannot be read.
    """
    lines = re.split(r"\r\n|\r|\n", text)
    doubts = Doubts(file)
    kind = _kind_of(lines, doubts)
    return _READERS[kind](lines, doubts)


def _kind_of(lines: list[str], doubts: Doubts) -> str:
    head = [line.strip() for line in lines[:40]]
    if not any(head):
        doubts.add("is empty", mend="Download it again.")
        doubts.stop_if_any()
    if head[0].upper().startswith("LOCATION,"):
        return EPW
    if len(head) > 1 and _TMY3_DATE in head[1]:
        return TMY3
    if head[0].startswith("Latitude (decimal degrees)"):
        if any(line.startswith("time(UTC),") for line in head):
            return PVGIS_TYPICAL
        if any(line.startswith("time,") for line in head):
            return PVGIS_HOURLY
        doubts.add(
            "is from PVGIS but has no hourly table",
            mend="Download hourly data, slope 0, or a typical year, as CSV.",
        )
    elif head[0].startswith("{"):
        doubts.add("is JSON", allowed=", ".join(KINDS), mend="Download it as CSV or EPW.")
    elif re.match(r" ?\d{5} .*[NS] +\d+ +\d+ +[EW] +\d+", lines[0]):
        doubts.add("is a TMY2 file", allowed=", ".join(KINDS), mend="Take the TMY3 or EPW file.")
    else:
        doubts.add(
            "is not a weather file that can be read",
            line=1,
            given=repr(head[0][:60]),
            allowed=", ".join(KINDS),
            mend="An EPW file begins with LOCATION, a PVGIS file with its latitude, a TMY3 file "
            "has its headings in line 2; check that nothing was saved over them.",
        )
    doubts.stop_if_any()
    raise AssertionError("no kind and no problem")


def _place(
    cells: tuple[str, str, str | None], line: int, doubts: Doubts
) -> tuple[float, float, float]:
    latitude, longitude, zone = cells
    return (
        site_number(latitude, "latitude", -90.0, 90.0, line, doubts),
        site_number(longitude, "longitude", -180.0, 180.0, line, doubts),
        0.0 if zone is None else site_number(zone, "time zone", -12.0, 14.0, line, doubts),
    )


def _by_pvlib(read: Callable[[Any], Any], doubts: Doubts) -> Any:
    """The table pvlib reads; what it cannot read becomes a problem in its words."""
    import pvlib.iotools  # type: ignore[import-untyped, unused-ignore]  # slow, so only here

    try:
        return read(pvlib.iotools)[0]
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
        reason = " ".join(str(error).split())[:200]
        doubts.add(
            f"cannot be read ({type(error).__name__}: {reason})",
            mend="Check that the file is as it was downloaded.",
        )
        doubts.stop_if_any()
        raise


def _columns(table: Any, names: tuple[str, ...], count: int, doubts: Doubts) -> list[FloatArray]:
    if len(table) != count:
        doubts.add(f"has {count} rows of which {len(table)} can be read")
        doubts.stop_if_any()
    return [np.asarray(table[name], dtype=np.float64) for name in names]


def _empty(
    kind: str,
    site: str,
    place: tuple[float, float, float],
    *,
    light_begin_h: float = 0.0,
    moment_h: float,
    notes: tuple[str, ...] = (),
) -> RawWeather:
    none = np.zeros(0)
    return RawWeather(
        kind=kind,
        site=site,
        latitude_deg=place[0],
        longitude_deg=place[1],
        utc_offset_h=place[2],
        light_begin_h=light_begin_h,
        moment_h=moment_h,
        years=(0,),
        lines=none.astype(np.int64),
        temperature_degc=none,
        ghi=none,
        dhi=none,
        notes=notes,
    )


def _site_words(*parts: str) -> str:
    words = (" ".join(part.replace('"', " ").split()) for part in parts)
    return ", ".join(word for word in words if word not in ("", "-", "NA", "unknown"))[:100]


def _read_epw(lines: list[str], doubts: Doubts) -> RawWeather:
    head = [*lines[0].split(","), *[""] * 10]
    place = _place((head[6], head[7], head[8]), 1, doubts)
    rows = [row._replace(cells=row.cells[:_EPW_FIELDS]) for row in rows_from(lines, 9)]

    def hour_of(row: Row) -> Hour:
        int(row.cells[0])
        month, day, hour = (int(cell) for cell in row.cells[1:4])
        return Hour(0, slot_of(month, day, hour - 1))

    hours = checked_hours(rows, hour_of, _EPW_COLUMNS, _EPW_FIELDS, doubts, fewest=16)
    clean = "\n".join([*lines[:8], *(",".join(row.cells) for row in rows), ""])
    table = _by_pvlib(lambda tools: tools.read_epw(io.StringIO(clean)), doubts)
    values = _columns(table, ("temp_air", "ghi", "dhi"), len(rows), doubts)
    site = _site_words(head[1], head[3])
    from_pvgis = re.search(r"Irradiance Time Offset \(h\):\s*(-?[\d.]+)", lines[6])
    if from_pvgis is None:
        raw = _empty(EPW, site, place, moment_h=1.0)
    else:
        offset = site_number(from_pvgis[1], "irradiance time offset", -1.5, 1.5, 7, doubts)
        doubts.stop_if_any()
        raw = _empty(
            EPW,
            site,
            (*place[:2], 0.0),
            light_begin_h=0.5 + offset,
            moment_h=0.0,
            notes=("An EPW file from PVGIS: its hours are taken as UTC, as in PVGIS's CSV.",),
        )
    return assemble(raw, rows, hours, values)


def _read_tmy3(lines: list[str], doubts: Doubts) -> RawWeather:
    head = [*lines[0].split(","), *[""] * 7]
    place = _place((head[4], head[5], head[3]), 1, doubts)
    names = [name.strip() for name in next(rows_from(lines[:2], 2)).cells]
    _all_there(names, (_TMY3_DATE, _TMY3_TIME, *_TMY3_COLUMNS.values()), 2, doubts)
    needed = {name: names.index(column) for name, column in _TMY3_COLUMNS.items()}
    date_at, time_at = names.index(_TMY3_DATE), names.index(_TMY3_TIME)
    rows = list(rows_from(lines, 3))

    def hour_of(row: Row) -> Hour:
        month, day, year = (int(part) for part in row.cells[date_at].split("/"))
        hour, minute = (int(part) for part in row.cells[time_at].split(":"))
        if minute or not 0 <= hour <= 24 or not 1 <= year <= 9999:
            raise ValueError
        start = slot_of(month, day, 0)
        return Hour(0, start if start < 0 else (start + hour - 1) % HOURS_PER_YEAR)

    hours = checked_hours(rows, hour_of, needed, len(names), doubts)
    clean = "\n".join([lines[0], lines[1], *(lines[row.line - 1] for row in rows), ""])
    table = _by_pvlib(lambda tools: tools.read_tmy3(io.StringIO(clean), map_variables=True), doubts)
    values = _columns(table, ("temp_air", "ghi", "dhi"), len(rows), doubts)
    raw = _empty(TMY3, _site_words(head[1], head[2]), place, moment_h=1.0)
    return assemble(raw, rows, hours, values)


def _all_there(
    names: list[str], needed: tuple[str, ...], line: int, doubts: Doubts, mend: str = ""
) -> None:
    for name in needed:
        if name not in names:
            doubts.add(f"has no column {name!r}", line=line, mend=mend)
    doubts.stop_if_any()


def _pvgis_head(
    lines: list[str], marker: str, doubts: Doubts
) -> tuple[dict[str, str], int, list[str], list[Row]]:
    """The named values above the table, the line of its headings, these, and its rows."""
    at = next(i for i, line in enumerate(lines) if line.strip().startswith(marker))
    named = {}
    for line in lines[:at]:
        name, colon, value = line.partition(":")
        if colon:
            named[name.strip()] = value.strip()
    names = [name.strip() for name in lines[at].strip().split(",")]
    end = next((i for i in range(at + 1, len(lines)) if _is_over(lines[i])), len(lines))
    return named, at + 1, names, list(rows_from(lines[:end], at + 2))


def _is_over(line: str) -> bool:
    """Whether a line below a PVGIS table is none of its rows: blank, or explaining a column."""
    return not line.strip() or re.match(r"\s*[A-Za-z][^,:]*:\s", line) is not None


def _pvgis_place(named: dict[str, str], doubts: Doubts) -> tuple[float, float, float]:
    latitude = named.get("Latitude (decimal degrees)", "")
    longitude = named.get("Longitude (decimal degrees)", "")
    return (
        site_number(latitude, "latitude", -90.0, 90.0, 1, doubts),
        site_number(longitude, "longitude", -180.0, 180.0, 2, doubts),
        0.0,
    )


def _pvgis_hour(row: Row) -> Hour:
    found = re.fullmatch(r"(\d{4})(\d\d)(\d\d):(\d\d)(\d\d)", row.cells[0].strip())
    if found is None:
        raise ValueError
    year, month, day, hour, minute = (int(part) for part in found.groups())
    if minute > 59:
        raise ValueError
    return Hour(year, slot_of(month, day, hour), minute)


def _read_pvgis_hourly(lines: list[str], doubts: Doubts) -> RawWeather:
    named, heading, names, rows = _pvgis_head(lines, "time,", doubts)
    place = _pvgis_place(named, doubts)
    slope = named.get("Slope", "")
    if not re.match(r"0+(\.0*)?\s*(deg|$)", slope):
        doubts.add(
            "is for a plane that is not level",
            field="Slope",
            given=repr(slope),
            allowed="0 deg",
            mend="Download the hourly data for slope 0; the tilt of your panels is applied here.",
        )
    split = {"Gb(i)", "Gd(i)"} <= set(names)
    _all_there(names, ("T2m", *(() if split else ("G(i)",))), heading, doubts)
    needed = {name: names.index(name) for name in names[1:]}
    hours = checked_hours(rows, _pvgis_hour, needed, len(names), doubts)
    minutes = {hour.minute for hour in hours}
    if len(minutes) > 1:
        doubts.add(
            "has stamps at different minutes of the hour",
            given=", ".join(str(minute) for minute in sorted(minutes)[:5]),
            allowed="the same minute throughout",
        )
        doubts.stop_if_any()
    table = _by_pvlib(
        lambda tools: tools.read_pvgis_hourly(
            io.StringIO("\n".join(lines)), pvgis_format="csv", map_variables=True
        ),
        doubts,
    )
    if split:
        temperature, beam, dhi = _columns(
            table, ("temp_air", "poa_direct", "poa_sky_diffuse"), len(rows), doubts
        )
        values = [temperature, beam + dhi, dhi]
    else:
        values = _columns(table, ("temp_air", "poa_global"), len(rows), doubts)
    minute = minutes.pop() / 60.0
    raw = _empty(PVGIS_HOURLY, "", place, light_begin_h=minute - 0.5, moment_h=minute)
    return assemble(raw, rows, hours, values)


def _read_pvgis_typical(lines: list[str], doubts: Doubts) -> RawWeather:
    named, heading, names, rows = _pvgis_head(lines, "time(UTC),", doubts)
    place = _pvgis_place(named, doubts)
    _all_there(names, ("T2m", "G(h)", "Gd(h)"), heading, doubts)
    offset_text = named.get("Irradiance Time Offset (h)")
    offset = 0.0
    notes: tuple[str, ...] = ()
    if offset_text is None:
        notes = ("The file does not say at which minute its light was; the full hour is taken.",)
    else:
        offset = site_number(offset_text, "irradiance time offset", -1.0, 1.0, 4, doubts)
    needed = {name: names.index(name) for name in names[1:]}

    def hour_of(row: Row) -> Hour:
        return Hour(0, _pvgis_hour(row).slot)

    hours = checked_hours(rows, hour_of, needed, len(names), doubts)
    if len(rows) != HOURS_PER_YEAR:
        doubts.add(
            f"has {len(rows)} hours",
            line=rows[-1].line,
            allowed=f"{HOURS_PER_YEAR}, a whole typical year",
            mend="The file is cut off or edited; download it again.",
        )
        doubts.stop_if_any()
    data = "\n".join(lines).encode()
    table = _by_pvlib(
        lambda tools: tools.read_pvgis_tmy(
            io.BytesIO(data), pvgis_format="csv", map_variables=True
        ),
        doubts,
    )
    values = _columns(table, ("temp_air", "ghi", "dhi"), len(rows), doubts)
    raw = _empty(PVGIS_TYPICAL, "", place, light_begin_h=offset - 0.5, moment_h=0.0, notes=notes)
    return assemble(raw, rows, hours, values)


_READERS: dict[str, Callable[[list[str], Doubts], RawWeather]] = {
    EPW: _read_epw,
    TMY3: _read_tmy3,
    PVGIS_HOURLY: _read_pvgis_hourly,
    PVGIS_TYPICAL: _read_pvgis_typical,
}
