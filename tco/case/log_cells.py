"""Cells of a capacity log: dates, quantities and cell voltages as people write them."""

import re
from datetime import date

from tco.case.units import UnitProblem, plain_decimals, to_canonical, unit_of_field

LOWEST_CELL_V = 0.3
HIGHEST_CELL_V = 16.0
"""Voltages a cell or a 12 V block can show; outside, the unit is wrong. Common knowledge."""

_DATES = "2025-03-01, or 01.03.2025 with the day first"


def read_date(text: str) -> date:
    """A day: `2025-03-01`, `01.03.2025` (day first), or `25/03/2025` where only one reading fits.

    >>> read_date("2025-03-01"), read_date("25/03/2025")
    (datetime.date(2025, 3, 1), datetime.date(2025, 3, 25))

    Raises
    ------
    UnitProblem
        When it is no date, lacks the century, or can mean two days (`03/04/2025`).
    """
    plain = text.strip()
    iso = re.fullmatch(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})", plain)
    if iso is not None:
        return _day(int(iso[1]), int(iso[2]), int(iso[3]))
    match = re.fullmatch(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})", plain)
    if match is None:
        raise UnitProblem("is not a date", allowed=_DATES)
    first, second, year = int(match[1]), int(match[3]), int(match[4])
    if match[2] == "." or first == second:
        return _day(year, second, first)
    if first <= 12 and second <= 12:
        day_first, month_first = _day(year, second, first), _day(year, first, second)
        raise UnitProblem(
            f"can mean {_spoken(day_first)} or {_spoken(month_first)}",
            mend=f"Write {day_first} or {month_first}.",
        )
    return _day(year, first, second) if second > 12 else _day(year, second, first)


def _spoken(day: date) -> str:
    months = "January February March April May June July August September October November December"
    return f"{day.day} {months.split()[day.month - 1]} {day.year}"


def _day(year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise UnitProblem("is not a day of the calendar", allowed=_DATES) from None


def read_quantity(text: str, name: str, unit: str = "", *, decimal_comma: bool = False) -> float:
    """Value of a cell or a header line for a field, in the field's own unit.

    Parameters
    ----------
    unit
        Unit in the heading, "" for the field's own.
    decimal_comma
        The table has semicolons between its cells, so that `1.250` is asked back.

    Raises
    ------
    UnitProblem
        When the number or its unit cannot be read.
    """
    canonical = unit_of_field(name)
    if name == "strings":
        canonical = "#"
    if decimal_comma and re.match(r"[+-]?[1-9][0-9]{0,2}\.[0-9]{3}(?![0-9.,])", text):
        whole, rest = text.split(".", 1)
        raise UnitProblem(
            f"can mean {whole}{rest[:3]} or {whole},{rest[:3]}",
            mend=f"Write {whole}{rest[:3]} or {whole},{plain_decimals(rest[:3])}.",
        )
    return to_canonical(text, canonical, typed_unit=unit)


def read_cell_voltages(text: str, unit: str = "") -> tuple[float, ...]:
    """Voltages of one or more cells, in volts.

    Blanks, semicolons, slashes, bars, or commas followed by a blank stand between them. Where no
    unit is given, a number of 100 or more is millivolts: no cell has 100 V. [V]

    >>> read_cell_voltages("3.301 3.298"), read_cell_voltages("3301; 3298 mV")
    ((3.301, 3.298), (3.301, 3.298))

    Raises
    ------
    UnitProblem
        When one cannot be read or is no voltage of a cell.
    """
    plain = text.replace("\xa0", " ").strip().lower()
    tail = re.search(r"\s*(m?v)$", plain)
    typed = unit.lower()
    if tail is not None:
        plain, typed = plain[: tail.start()], tail[1]
    parts = [part for part in re.split(r"[;/|\s]+|,\s+", plain) if part]
    if not parts:
        raise UnitProblem("holds no voltage")
    return tuple(_cell_voltage(part.rstrip(","), typed) for part in parts)


def _cell_voltage(part: str, typed: str) -> float:
    own = re.fullmatch(r"(.*?)(m?v)", part)
    if own is not None:
        part, typed = own[1], own[2]
    if re.fullmatch(r"[0-9],[0-9]{3}", part):  # "3,301": volts with a comma, or thousands of mV
        part = part.replace(",", "" if typed == "mv" else ".")
    volts = to_canonical(part, "v", typed_unit=typed)
    if not typed and volts >= 100.0:
        volts = to_canonical(part, "v", typed_unit="mv")
    if not LOWEST_CELL_V <= volts <= HIGHEST_CELL_V:
        raise UnitProblem(
            f"gives {volts:g} V, which is no voltage of a cell",
            allowed=f"{LOWEST_CELL_V:g} to {HIGHEST_CELL_V:g} V",
            mend="Check the unit in the heading, V or mV.",
        )
    return volts
