"""Times of single pieces that have to stay small beside the simulation."""

import time
from collections.abc import Callable
from typing import Any

from tco.bank.fit.fit import fit
from tco.bank.fit.models import Box, Compartment
from tco.bank.wiring.sharing import share
from tco.bank.wiring.string_network import StringNetwork
from tco.case import parse_candidates
from tests.forgetting import forget_all


def print_pieces() -> None:
    """A large table read; sixty arrangements fitted and a load shared with nothing remembered."""
    heading = "name,chemistry,nominal_voltage_v,capacity_ah,price,Weight (lb),Size,DoD %,cycles\n"
    rows = "".join(f"P{n},lfp,12.8 V,100,499,31,330x172x220,80,4000\n" for n in range(5000))
    reading = _shortest(lambda: parse_candidates(heading + rows))
    print(f"reading a table of 5,000 rows: {reading:.2f} s")
    print(f"fitting 60 arrangements afresh: {_shortest(_fit_sixty) * 1000:.1f} ms")
    print(f"sharing among 8 strings afresh: {_shortest(_share_among_eight) * 1000:.2f} ms")


def _fit_sixty() -> None:
    compartments = [
        Compartment("locker", 742, 528, 262, None, None, "top", 8, 6, 35),
        Compartment("bow", 431, 366, 250, 400, 300, "front", 8, 6, 35),
    ]
    forget_all()
    for k in range(15):
        box = Box(180 + 13 * k, 130 + 7 * (k % 5), 190 + 9 * (k % 7))
        for count in (1, 2, 4, 8):
            fit(box, count, compartments, orientations=["upright", "on_side"])


def _share_among_eight() -> None:
    forget_all()
    network = StringNetwork(
        strings=8,
        string_ohm=0.020,
        lead_ohm=0.0005,
        link_ohm=0.0004,
        open_circuit_v=26.4,
        take_off="diagonal",
    )
    share(network, 100.0)


def _shortest(work: Callable[[], Any], runs: int = 3) -> float:
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)
