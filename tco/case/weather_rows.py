"""Rows of an hourly weather file, looked at one by one and put where they belong in the year."""

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np

from tco.case.problems import CaseError, Problem
from tco.physics.arrays import FloatArray, IntArray
from tco.physics.weather import HOURS_PER_YEAR, MONTH_LENGTHS, MONTH_NAMES

_MOST_PROBLEMS = 8
_FIRST_DAY = np.cumsum(MONTH_LENGTHS) - MONTH_LENGTHS


class Row(NamedTuple):
    """A line of the table: its number in the file and its cells."""

    line: int
    cells: list[str]


class Hour(NamedTuple):
    """Where a row belongs: its year and the hour 0..8759 that its light fills, -1 on 29 Feb."""

    year: int
    slot: int
    minute: int = 0


@dataclass(frozen=True)
class RawWeather:
    """What a file holds, on its own clock; arrays have shape (years * 8760,), NaN where missing.

    The light of slot k is the mean of the hour that begins `light_begin_h` after hour k of the
    file's clock, `utc_offset_h` ahead of UTC; temperature holds `moment_h` after it. `lines` are
    line numbers, 0 where the file has no such hour. `years` are calendar years, (0,) for a
    typical year. `dhi` is None where the file has no diffuse light.
    """

    kind: str
    site: str
    latitude_deg: float
    longitude_deg: float
    utc_offset_h: float
    light_begin_h: float
    moment_h: float
    years: tuple[int, ...]
    lines: IntArray
    temperature_degc: FloatArray
    ghi: FloatArray
    dhi: FloatArray | None
    notes: tuple[str, ...] = ()


@dataclass
class Doubts:
    """Problems of one file as they are found; no more than a person would read."""

    file: str
    found: list[Problem] = field(default_factory=list)
    hidden: int = 0

    def add(self, what: str, *, line: int | None = None, **words: Any) -> None:
        """Note a problem; `words` are fields of `Problem`."""
        if len(self.found) < _MOST_PROBLEMS:
            self.found.append(Problem(what, file=self.file, row=line, **words))
        else:
            self.hidden += 1

    def stop_if_any(self) -> None:
        """Raise CaseError with what was found so far, if anything was."""
        if self.hidden:
            more = f"has {self.hidden} more lines with something wrong"
            self.found.append(Problem(more, file=self.file))
        if self.found:
            raise CaseError(self.found)


def hour_words(slot: int, year: int = 0) -> str:
    """An hour of the year on the file's clock: "3 March 04:00"."""
    day, hour = divmod(slot % HOURS_PER_YEAR, 24)
    month = int(np.searchsorted(_FIRST_DAY, day, side="right")) - 1
    date = f"{day - int(_FIRST_DAY[month]) + 1} {MONTH_NAMES[month]}"
    return f"{date} {year} {hour:02d}:00" if year else f"{date} {hour:02d}:00"


def site_number(text: str, name: str, low: float, high: float, line: int, doubts: Doubts) -> float:
    """A number of the header, NaN (with a problem noted) where it is none or out of range."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        doubts.add(
            f"has no usable {name}",
            line=line,
            given=repr(text.strip()[:40]),
            allowed=f"{low:g} to {high:g}",
            mend="Check the head of the file.",
        )
        return float("nan")
    return value


def rows_from(lines: list[str], first: int) -> Iterator[Row]:
    """Rows of a table that begins at line `first` (1-based), without the blank ones."""
    for offset, line in enumerate(lines[first - 1 :]):
        if line.strip():
            try:
                cells = next(csv.reader([line]))
            except csv.Error:
                cells = line.split(",")
            yield Row(first + offset, cells)


def slot_of(month: int, day: int, hour: int) -> int:
    """The hour of the year, -1 on 29 February."""
    if month == 2 and day == 29:
        return -1
    if not (1 <= month <= 12 and 1 <= day <= MONTH_LENGTHS[month - 1] and 0 <= hour <= 23):
        raise ValueError
    return int(_FIRST_DAY[month - 1] + day - 1) * 24 + hour


def checked_hours(
    rows: list[Row],
    hour_of: Callable[[Row], Hour],
    needed: dict[str, int],
    width: int,
    doubts: Doubts,
    *,
    fewest: int | None = None,
) -> list[Hour]:
    """The hour of every row; each problem names its line."""
    hours: list[Hour] = []
    seen: dict[tuple[int, int], int] = {}
    for row in rows:
        if not (fewest or width) <= len(row.cells) <= width:
            doubts.add(
                f"has {len(row.cells)} values where its table has {width}",
                line=row.line,
                mend="The file may be cut off or edited; download it again.",
            )
            continue
        try:
            hour = hour_of(row)
        except ValueError:
            doubts.add(
                "has no date and time that can be read",
                line=row.line,
                given=repr(",".join(row.cells[:5])[:60]),
            )
            continue
        hours.append(hour)
        if hour.slot >= 0:
            key = (hour.year, hour.slot)
            if key in seen:
                doubts.add(
                    f"has the same hour as line {seen[key]}",
                    line=row.line,
                    given=hour_words(hour.slot, hour.year),
                    allowed="one row for each hour of the year",
                    mend="Files with several rows an hour or several typical years cannot be read.",
                )
            seen.setdefault(key, row.line)
        for name, column in needed.items():
            cell = row.cells[column].strip()
            try:
                float(cell or "nan")
            except ValueError:
                doubts.add(f"has a {name} that is no number", line=row.line, given=repr(cell[:40]))
    if not rows:
        doubts.add("has no hours, only its head", mend="The file is cut off; download it again.")
    doubts.stop_if_any()
    return hours


def assemble(
    raw: RawWeather,
    rows: list[Row],
    hours: list[Hour],
    values: list[FloatArray],
) -> RawWeather:
    """Put rows where they belong, in whole years; a day that is no day of ours is left out."""
    years = tuple(sorted({hour.year for hour in hours}))
    years = tuple(range(years[0], years[-1] + 1))
    size = len(years) * HOURS_PER_YEAR
    kept = np.array([hour.slot >= 0 for hour in hours])
    where = np.array([(h.year - years[0]) * HOURS_PER_YEAR + h.slot for h in hours])[kept]
    lines = np.zeros(size, dtype=np.int64)
    lines[where] = np.array([row.line for row in rows])[kept]
    placed = []
    for column in values:
        full = np.full(size, np.nan)
        full[where] = column[kept]
        placed.append(full)
    notes = raw.notes
    if not kept.all():
        notes += ("29 February is left out: every year here has 365 days.",)
    temperature, ghi = placed[:2]
    dhi = placed[2] if len(placed) > 2 else None
    return replace(
        raw, years=years, lines=lines, temperature_degc=temperature, ghi=ghi, dhi=dhi, notes=notes
    )
