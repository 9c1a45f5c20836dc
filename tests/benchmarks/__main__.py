"""How long a comparison takes, where the time goes, and how it grows.

    .venv/bin/python -m tests.benchmarks

Prints; asserts nothing about time, since that is the machine's. The first run of a fresh checkout
compiles the kernel, so everything is measured warm, the shortest of several runs. Read the figures
only where the load printed with them is low: other work on the machine makes all of them longer.
"""

import os
import resource
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tco.bank.bank import wired
from tco.bank.budget import energy_budget, peak_demand
from tco.bank.checks.screening import required_current_a, screen
from tco.bank.choices import arrangements
from tco.case import Case, read_case
from tco.compare import compare
from tco.life.conditions import conditions
from tco.life.health import lives_of
from tco.life.year import year_profiles
from tco.money.ledger import ledger
from tests.benchmarks.draws import print_draws
from tests.benchmarks.edits import print_edits
from tests.benchmarks.pieces import print_pieces
from tests.forgetting import forget_all

DEMO = Path(__file__).parent.parent.parent / "candidates_demo" / "otterbank.toml"
RUNS = 5


@dataclass(frozen=True)
class Phase:
    """One step of a comparison and the shortest time it took."""

    name: str
    seconds: float


def shortest(
    work: Callable[[], Any], runs: int = RUNS, *, afresh: bool = True
) -> tuple[float, Any]:
    """Shortest time of several runs [s], and what the last gave; `afresh`: nothing remembered."""
    best, result = float("inf"), None
    for _ in range(runs):
        if afresh:
            forget_all()
        start = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - start)
    return best, result


def phases(case: Case) -> list[Phase]:
    """Each step of `compare` by itself, nothing remembered."""
    found: list[Phase] = []

    def timed(name: str, work: Callable[[], Any]) -> Any:
        seconds, result = shortest(work)
        found.append(Phase(name, seconds))
        return result

    budget, demand, layouts = timed(
        "budget and arrangements",
        lambda: (
            (budget := energy_budget(case)),
            peak_demand(case),
            arrangements(case, budget),
        ),
    )
    amps = required_current_a(case, demand)

    banks = timed("wiring", lambda: [wired(case, one, current_a=amps) for one in layouts])
    timed(
        "screening",
        lambda: [screen(case, bank, budget=budget, demand=demand) for bank in banks],
    )
    hourly = timed("conditions, weather included", lambda: conditions(case, budget))
    profiles = timed("year profiles", lambda: year_profiles(banks, hourly, case.assumptions))
    lives = timed(
        "health over the years",
        lambda: lives_of(case, banks, profiles),
    )
    timed(
        "ledgers",
        lambda: [
            ledger(case, bank, life=life, conditions=hourly)
            for bank, life in zip(banks, lives, strict=True)
        ],
    )
    return found


def multiplied(case: Case, times: int) -> Case:
    """The case with every candidate that many times, each under a name of its own.

    What is known of a candidate is known of each of its copies.
    """
    data = case.model_dump(exclude_none=True)

    def copies(rows: list[dict[str, Any]], name: str) -> list[dict[str, Any]]:
        return [{**row, name: f"{row[name]} no. {n}"} for n in range(times) for row in rows]

    known = {key: copies(data[key], "candidate") for key in ("evidence", "marks", "warranties")}
    reliability = {
        key: copies(rows, "candidate") if key.startswith("stated_") else rows
        for key, rows in data["reliability"].items()
    }
    return Case.model_validate(
        {
            **data,
            **known,
            "reliability": reliability,
            "candidates": copies(data["candidates"], "name"),
        }
    )


def peak_memory_mb() -> float:
    """Largest resident memory of this process so far. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def main() -> None:
    """Print the whole benchmark."""
    case = read_case(DEMO)
    start = time.perf_counter()
    compare(case)
    print(f"first comparison, kernel read or compiled: {time.perf_counter() - start:.2f} s")
    whole, comparison = shortest(lambda: compare(case))
    count = len(comparison.results)
    again, _ = shortest(lambda: compare(case), afresh=False)
    print(
        f"{case.title}: {count} arrangements on {os.cpu_count()} cores: {whole:.3f} s with nothing "
        f"remembered, {again:.3f} s again"
    )
    steps = phases(case)
    total = sum(step.seconds for step in steps)
    for step in steps:
        print(f"  {step.name:34s} {step.seconds * 1000:8.1f} ms {step.seconds / total:6.1%}")
    before = peak_memory_mb()
    print("growth (should stay near one figure per arrangement):")
    for times in (1, 10):
        larger = multiplied(case, times)
        for draws in (0, 1000):
            seconds, found = shortest(lambda c=larger, n=draws: compare(c, draws=n), runs=2)  # type: ignore[misc]
            banks = len(found.results)
            print(
                f"  {banks:5d} arrangements, {draws:4d} draws {seconds:7.3f} s, "
                f"{seconds / banks * 1000:6.2f} ms each"
            )
    print_pieces()
    print_draws()
    print_edits()
    print(f"load of the machine, last minute: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print(f"memory: {before:.0f} MB after the demo, {peak_memory_mb():.0f} MB at the most")


if __name__ == "__main__":
    main()
