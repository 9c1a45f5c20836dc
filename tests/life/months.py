"""A bank through a few hours by itself, from any state: what slow checks are made of."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from tco.life.hourly import FULLY_CHARGED, open_hours
from tco.life.kernel import Traces, ready, results, run_parts
from tco.life.records import BANK, PART, RESULT, Rules, Tables
from tco.life.steps import DEGC, RUNNING, STORED

State = tuple[float, float, float]
"""Energy stored, temperature, and 1 where the generator runs."""


def run_month(
    record: tuple[float, ...], tables: Tables, hourly: Any, rules: Rules, state: State
) -> tuple[Any, NDArray[np.float64], State]:
    """Run the bank of a record of `BANK` through hours that begin at midnight.

    Returns its record of `RESULT` without sulphation, the state of charge at the end of each hour
    and the state at the end of all.
    """
    bank, out = np.array([record], dtype=BANK), np.zeros(1, dtype=RESULT)
    rules = rules._replace(sulphation=0.0)
    opened, size = open_hours(hourly, rules), hourly.size
    stored_wh, degc, running = state
    part = np.array([(0, size, stored_wh / bank["energy_wh"][0], degc, running)], dtype=PART)
    traces = Traces(np.empty((1, size)), np.empty((1, size)), np.empty((0, 0, 2)))
    ran = run_parts(ready(bank, np.zeros(1, np.int64), tables, rules), 0, 1, opened, part, traces)
    results(ran, bank, opened, rules, out)
    end = float(ran(STORED)[0]), float(ran(DEGC)[0]), float(ran(RUNNING)[0])
    return out[0], traces.charge[0], end


def share_of_days_not_full(charge: NDArray[np.float64]) -> float:
    """Share of whole days whose highest state of charge stays below `FULLY_CHARGED`."""
    days = charge.size // 24
    return float((charge[: 24 * days].reshape(days, 24).max(axis=1) < FULLY_CHARGED).mean())
