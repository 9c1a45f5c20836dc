"""Times of single pieces that have to stay small beside the simulation."""

import time
from collections.abc import Callable
from typing import Any

from tco.bank.fit.fit import _fit, fit
from tco.bank.fit.models import Box, Compartment
from tco.bank.fit.search import _rows, pack
from tco.case import parse_candidates


def print_pieces() -> None:
    """Reading a large table, and fitting sixty different arrangements with nothing remembered."""
    heading = "name,chemistry,nominal_voltage_v,capacity_ah,price,Weight (lb),Size,DoD %,cycles\n"
    rows = "".join(f"P{n},lfp,12.8 V,100,499,31,330x172x220,80,4000\n" for n in range(5000))
    reading = _shortest(lambda: parse_candidates(heading + rows))
    print(f"reading a table of 5,000 rows: {reading:.2f} s")
    print(f"fitting 60 arrangements afresh: {_shortest(_fit_sixty) * 1000:.1f} ms")


def _fit_sixty() -> None:
    compartments = [
        Compartment("locker", 742, 528, 262, None, None, "top", 8, 6, 35),
        Compartment("bow", 431, 366, 250, 400, 300, "front", 8, 6, 35),
    ]
    for forget in (_fit, pack, _rows):
        forget.cache_clear()
    for k in range(15):
        box = Box(180 + 13 * k, 130 + 7 * (k % 5), 190 + 9 * (k % 7))
        for count in (1, 2, 4, 8):
            fit(box, count, compartments, orientations=["upright", "on_side"])


def _shortest(work: Callable[[], Any], runs: int = 3) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)
