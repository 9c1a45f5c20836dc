"""Dark spells: the hours of a year in which a bank may run short, run again without the rest.

Most of a year no bank of a case runs short. Each dark spell begins when, at the highest use, both a
new bank and one worn out were last full (then any bank between is full too, near enough) and ends
with the last hour in which either is short. At other levels of use and health only these hours are
run. Not so with a generator, whose starts and stops differ from bank to bank.
"""

import os
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tco.life.hourly import compiled, open_hours
from tco.life.kernel import WARM_UP_HOURS, run_hours, run_years
from tco.life.records import RESULT, FloatArray, Open, Rules, Tables

FULL = 0.999
"""State of charge from which a bank counts as full. What its store then lacks is left out."""

SPELL = np.dtype(
    [("first", np.int64), ("last", np.int64), ("charge", np.float64), ("degc", np.float64)],
    align=True,
)
"""Hours `first` to `last` (excluded) of a year; state of charge and temperature at the beginning.

`first` is -1 where the bank has not been full since the year began: then the spell begins with the
year, after the warm-up.
"""


@compiled
def find_spells(
    worn_charge: FloatArray,
    new_charge: FloatArray,
    degc: FloatArray,
    worn_missing: FloatArray,
    new_missing: FloatArray,
    out: Any,
) -> int:
    """Fill `out`, records of SPELL, with the dark spells of a year; returns their number.

    State of charge and temperature (of the new bank) at the end of each hour; what is missing has
    shape (hours, 2), as in `tco.life.kernel.run_years`. Spells that share a day are one.
    """
    count = 0
    last_full = -1
    for i in range(degc.size):
        if worn_missing[i].sum() > 0.0 or new_missing[i].sum() > 0.0:
            begun = count > 0 and (
                last_full < max(out[count - 1].first, 0)
                or (last_full + 1) // 24 <= (out[count - 1].last - 1) // 24
            )
            if not begun:
                spell = out[count]
                spell.first = last_full + 1 if last_full >= 0 else -1
                spell.charge = new_charge[last_full] if last_full >= 0 else 1.0
                spell.degc = degc[last_full] if last_full >= 0 else 0.0
                count += 1
            out[count - 1].last = i + 1
        if worn_charge[i] >= FULL and new_charge[i] >= FULL:
            last_full = i
    return count


@compiled
def _spells_of(
    worn: Any,
    new: Any,
    tables: Tables,
    kind: int,
    opened: Open,
    rules: Rules,
    out: Any,
) -> int:
    """Dark spells of one bank in one year, from whole years of a new and of a worn-out one."""
    hours = opened.hours.size
    worn_charge, new_charge = np.empty(hours), np.empty(hours)
    degc, stack = np.empty(hours), np.empty(hours)
    worn_missing, new_missing = np.zeros((hours, 2)), np.zeros((hours, 2))
    result = np.zeros(1, dtype=RESULT)
    monthly = np.empty((2, 12))
    run_years(
        worn, tables, kind, opened, rules, worn_charge, degc, worn_missing, stack, result[0],
        monthly[0], monthly[1],
    )  # fmt: skip
    run_years(
        new, tables, kind, opened, rules, new_charge, degc, new_missing, stack, result[0],
        monthly[0], monthly[1],
    )  # fmt: skip
    return int(find_spells(worn_charge, new_charge, degc, worn_missing, new_missing, out))


@compiled
def _run_spells(
    banks: Any,
    kinds: NDArray[np.int64],
    tables: Tables,
    hourly: Any,
    rules: Rules,
    spells: Any,
    counts: NDArray[np.int64],
    out: FloatArray,
) -> None:
    """Days and hours short of each bank, at each level of health, in one year at one use.

    `banks` has shape (banks, health levels), `spells` (banks, most), `out` (banks, levels, 2).
    """
    opened = open_hours(hourly, rules)
    hours = opened.hours
    charge, degc = np.empty(hours.size), np.empty(hours.size)
    no_trace = np.empty((0, 2))
    monthly = np.empty((2, 12))
    result = np.zeros(1, dtype=RESULT)
    warm_up = Open(hours[hours.size - min(WARM_UP_HOURS, hours.size) :], 0.0, 0.0, 0.0, 0.0)
    for bank in range(banks.shape[0]):
        for level in range(banks.shape[1]):
            record = banks[bank, level]
            for k in range(counts[bank]):
                spell = spells[bank, k]
                if spell.first < 0:
                    state = run_hours(
                        record, tables, kinds[bank], warm_up, rules, 0, record.energy_wh,
                        warm_up.hours[0].space_degc, False, charge, degc, no_trace, result[0],
                        monthly[0], monthly[1],
                    )  # fmt: skip
                else:
                    state = (spell.charge * record.energy_wh, spell.degc, False)
                first = max(spell.first, 0)
                midnight = first - first % 24  # days are counted from it
                part = Open(hours[midnight : spell.last], 0.0, 0.0, 0.0, 0.0)
                run_hours(
                    record, tables, kinds[bank], part, rules, first - midnight, state[0],
                    state[1], state[2], charge, degc, no_trace, result[0], monthly[0], monthly[1],
                )  # fmt: skip
                out[bank, level, 0] += result[0].unserved_days
                out[bank, level, 1] += result[0].hours_without_power


def shortness(
    banks: Any, kinds: NDArray[np.int64], tables: Tables, hourly: list[Any], rules: Rules
) -> FloatArray:
    """Days and hours for which essential loads are short, by running dark spells only.

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
    years, hours = hourly[-1].shape
    count = len(kinds)
    spells = np.zeros((years, count, hours // 24 + 1), dtype=SPELL)
    counts = np.zeros((years, count), dtype=np.int64)
    out = np.zeros((len(hourly), years, count, banks.shape[1], 2))

    def find(year: int) -> None:
        opened = open_hours(hourly[-1][year], rules)
        for k in range(count):
            counts[year, k] = _spells_of(
                banks[k, 0], banks[k, -1], tables, kinds[k], opened, rules, spells[year, k]
            )

    def run(place: int) -> None:
        use, year = divmod(place, years)
        _run_spells(
            banks, kinds, tables, hourly[use][year], rules, spells[year], counts[year],
            out[use, year],
        )  # fmt: skip

    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        list(pool.map(find, range(years)))
        list(pool.map(run, range(len(hourly) * years)))
    return out.transpose(2, 0, 1, 3, 4)
