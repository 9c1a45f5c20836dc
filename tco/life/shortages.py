"""Shortages: the hours of a year in which a bank may run short, run again without the rest.

Most of a year no bank of a case runs short. Each shortage begins when, at the highest use, both a
new bank and one worn out were last full (then any bank between is full too, near enough) and ends
with the last hour in which either is short. At other levels of use and health only these hours are
run. Not so with a generator, whose starts and stops differ from bank to bank.
"""

from typing import Any

import numpy as np

from tco.life.cores import on_all_cores
from tco.life.hourly import open_hours
from tco.life.kernel import Banks, Traces, ready, run_parts, whole_years
from tco.life.records import PART, Open, Rules, Tables
from tco.life.steps import ABREAST, ESSENTIAL_HOURS, LOST_DAYS
from tco.physics.arrays import FloatArray, IntArray
from tco.physics.compiled import compiled

FULL = 0.999
"""State of charge from which a bank counts as full. What its store then lacks is left out."""


@compiled
def find_shortages(
    worn_charge: FloatArray,
    new_charge: FloatArray,
    degc: FloatArray,
    worn_missing: FloatArray,
    new_missing: FloatArray,
    out: Any,
) -> int:
    """Fill `out`, records of PART, with the shortages of a year; returns their number.

    State of charge and temperature (of the new bank) at the end of each hour; what is missing has
    shape (hours, 2), as in `tco.life.kernel.Traces`. Shortages that share a day are one. A bank
    that has not been full since the year began begins its first shortage with the year.
    """
    count = 0
    last_full = -1
    for i in range(degc.size):
        missing = worn_missing[i, 0] + worn_missing[i, 1] + new_missing[i, 0] + new_missing[i, 1]
        if missing > 0.0:
            begun = count > 0 and (
                last_full < out[count - 1].first
                or (last_full + 1) // 24 <= (out[count - 1].last - 1) // 24
            )
            if not begun:
                shortage = out[count]
                shortage.first = last_full + 1
                shortage.charge = new_charge[last_full] if last_full >= 0 else -1.0
                shortage.degc = degc[last_full] if last_full >= 0 else 0.0
                count += 1
            out[count - 1].last = i + 1
        if worn_charge[i] >= FULL and new_charge[i] >= FULL:
            last_full = i
    return count


def shortages_of(banks: Banks, opened: Open) -> list[Any]:
    """Shortages of each bank in one year: records of PART, as many as there are.

    `banks` are a worn-out and a new one of each, one after the other.
    """
    found: list[Any] = []
    hours, count = opened.hours.size, banks.kinds.size
    for first in range(0, count, ABREAST):
        last = min(first + ABREAST, count)
        shape = last - first, hours
        charge, degc, missing = traces = Traces(
            np.empty(shape), np.empty(shape), np.empty((*shape, 2))
        )
        run_parts(banks, first, last, opened, whole_years(opened), traces)
        for worn in range(0, last - first, 2):
            new = worn + 1
            out = np.zeros(hours // 24 + 1, dtype=PART)
            number = find_shortages(
                charge[worn], charge[new], degc[new], missing[worn], missing[new], out
            )
            found.append(out[:number])
    return found


def shortage_totals(
    banks: Any, kinds: IntArray, tables: Tables, hourly: list[Any], rules: Rules
) -> FloatArray:
    """Days and hours for which essential loads are short, by running shortages only.

    Parameters
    ----------
    banks
        Records of `tco.life.records.BANK`, shape (banks, health levels), health ascending.
    kinds
        Which row of the tables each bank uses, shape (banks,).
    hourly
        For each level of use, ascending, records of `tco.life.records.HOUR`, shape (years, hours).

    Returns
    -------
    FloatArray
        Shape (banks, use levels, years, health levels, 2): days lost, hours short.
    """
    years, levels = hourly[-1].shape[0], banks.shape[1]
    every = ready(banks.ravel(), np.repeat(kinds, levels), tables, rules)
    ends = ready(banks[:, [0, -1]].ravel(), np.repeat(kinds, 2), tables, rules)
    out = np.zeros((len(kinds), len(hourly), years, levels, 2))

    def find(year: int) -> list[Any]:
        return shortages_of(ends, open_hours(hourly[-1][year], rules))

    def run(place: int) -> None:
        use, year = divmod(place, years)
        opened = open_hours(hourly[use][year], rules)
        for bank, parts in enumerate(shortages[year]):
            for first in range(0, levels if len(parts) else 0, ABREAST):
                some = slice(first, min(first + ABREAST, levels))
                start = bank * levels
                ran = run_parts(every, start + some.start, start + some.stop, opened, parts)
                out[bank, use, year, some, 0] = ran(LOST_DAYS)
                out[bank, use, year, some, 1] = ran(ESSENTIAL_HOURS)

    shortages = on_all_cores(find, years)
    on_all_cores(run, len(hourly) * years)
    return out
