"""Banks run through the hours on all cores; what was run lately is not run again."""

from collections import OrderedDict
from collections.abc import Callable, Sequence
from hashlib import blake2b
from threading import Lock
from typing import Any, NamedTuple

import numpy as np

from tco.life.conditions import Conditions
from tco.life.cores import in_chunks
from tco.life.kernel import EIGHT, run_banks
from tco.life.records import HOUR, RESULT, Rules, Tables
from tco.life.steps import ABREAST
from tco.physics.arrays import FloatArray

RUN = np.dtype([("total", RESULT), ("unserved_wh", "f8", 12), ("lowest_charge", "f8", 12)])
"""What one bank's years give, as it is remembered."""

MOST_REMEMBERED = 20_000
"""So many banks are remembered, some 15 MB; the one longest not asked for is forgotten first."""


class Runs(NamedTuple):
    """What the weather years gave, one row a bank.

    `totals`: records of RESULT, shape (banks,), summed over all years; energy missing and lowest
    state of charge by month, shape (banks, 12).
    """

    totals: Any
    unserved_wh: FloatArray
    lowest_charge: FloatArray


def hours_of(conditions: Conditions) -> Any:
    """The hours of the conditions as records of `tco.life.kernel.HOUR`."""
    hours = np.empty(conditions.essential_w.size, dtype=HOUR)
    for name in HOUR.names or ():
        hours[name] = getattr(conditions, name)
    return hours


def rules_of(conditions: Conditions) -> Rules:
    """What the conditions rule beside their hours, as the kernel wants it."""
    return Rules(
        generator_start=conditions.generator_start,
        generator_stop=conditions.generator_stop,
        storage_charge=conditions.storage_charge,
        lost_day_hours=conditions.lost_day_hours,
        ceiling=np.asarray(conditions.charge_ceiling, dtype=np.float64),
        storage_charge_lead=conditions.storage_charge_lead,
        sulphation=conditions.sulphation,
        heat_laid_up=conditions.heater_when_laid_up,
        surface_share=conditions.surface_share,
    )


def run_records(
    banks: Any,
    kinds: Sequence[int],
    tables: Tables,
    conditions: Conditions,
    progress: Callable[[float], None] | None = None,
) -> Runs:
    """Run banks that are made already through all weather years.

    `banks` are records of `BANK`, shape (n,); `kinds` says which row of the tables each uses;
    `progress` gets the share done.
    """
    out = np.zeros(len(banks), dtype=RESULT)
    unserved, lowest = np.zeros((2, len(banks), 12))
    rows = np.asarray(kinds, dtype=np.int64)
    hourly, rules = hours_of(conditions), rules_of(conditions)

    def chunk(first: int, last: int) -> None:
        run_banks(first, last, banks, rows, tables, hourly, rules, out, unserved, lowest)

    in_chunks(chunk, len(banks), progress, unit=EIGHT, most=ABREAST)
    return Runs(out, unserved, lowest)


def run_or_remember(
    banks: Any,
    kinds: Sequence[int],
    tables: Tables,
    conditions: Conditions,
    progress: Callable[[float], None] | None = None,
) -> Runs:
    """Run banks through all weather years, but those that were run before with the same numbers.

    `banks` and `kinds` as in `run_records`; `progress` gets the share done. A bank is known again
    by everything the loop is given: its record, its row of the tables, the hours and the rules.
    """
    hours = hours_digest(conditions)
    rows = [_digest(*(row.tobytes() for row in rows)) for rows in zip(*tables, strict=True)]
    keys = [
        _digest(hours, rows[kind], bank.tobytes()) for kind, bank in zip(kinds, banks, strict=True)
    ]
    found = np.zeros(len(banks), dtype=RUN)
    known = _REMEMBERED.get(keys)
    new = np.array([place for place, run in enumerate(known) if run is None], dtype=np.int64)
    for place, run in enumerate(known):
        if run is not None:
            found[place] = run
    if new.size:
        some = [kinds[place] for place in new.tolist()]
        ran = run_records(banks[new], some, tables, conditions, progress)
        found["total"][new] = ran.totals
        found["unserved_wh"][new] = ran.unserved_wh
        found["lowest_charge"][new] = ran.lowest_charge
        _REMEMBERED.put([keys[place] for place in new.tolist()], found[new])
    elif progress is not None:
        progress(1.0)
    return Runs(found["total"].copy(), found["unserved_wh"].copy(), found["lowest_charge"].copy())


def hours_digest(conditions: Conditions) -> bytes:
    """A digest of all that conditions give the hourly loop."""
    rules = rules_of(conditions)
    return _digest(
        *(np.ascontiguousarray(getattr(conditions, name)).tobytes() for name in HOUR.names or ()),
        *(np.asarray(rule, dtype=np.float64).tobytes() for rule in rules),
    )


def _digest(*parts: bytes) -> bytes:
    made = blake2b(digest_size=16)
    for part in parts:
        made.update(part)
    return made.digest()


class _Remembered:
    """Records of RUN by digest, the latest asked for kept; safe between threads."""

    def __init__(self) -> None:
        self._runs: OrderedDict[bytes, Any] = OrderedDict()
        self._lock = Lock()

    def get(self, keys: Sequence[bytes]) -> list[Any]:
        with self._lock:
            for key in keys:
                if key in self._runs:
                    self._runs.move_to_end(key)
            return [self._runs.get(key) for key in keys]

    def put(self, keys: Sequence[bytes], runs: Any) -> None:
        with self._lock:
            for key, run in zip(keys, runs, strict=True):
                self._runs[key] = run.copy()
            while len(self._runs) > MOST_REMEMBERED:
                self._runs.popitem(last=False)

    def forget(self) -> None:
        with self._lock:
            self._runs.clear()


_REMEMBERED = _Remembered()
