"""Draws by ledgers and response surface beside simulating every hour of the same draws.

    .venv/bin/python -m tests.benchmarks.draws

The slow way uses the same compiled kernel on all cores and simulates every year of every draw once,
at the health of its beginning, up to the horizon and then to the end of the bank's life, which its
residual value asks for. It is timed for a few of the draws and scaled up to all of them.
"""

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tco.case import Case, read_case
from tco.compare import Comparison, compare
from tco.life.cores import in_chunks
from tco.life.health import LONGEST_LIFE_YEARS
from tco.life.kernel import run_banks
from tco.life.records import BANK, RESULT
from tco.life.response import HOURS_PER_YEAR, response
from tco.life.runs import hours_of, rules_of
from tco.life.year import bank_record, bank_tables
from tco.money.draw_ledgers import draw_ledger_inputs, run_draw_ledgers
from tco.money.draws import INPUTS, Draws, draw
from tco.result import Result

DEMOS = Path(__file__).parents[2] / "candidates_demo"
DRAWS, TIMED = 1000, 4


@dataclass(frozen=True)
class Timing:
    """Seconds of one case: the surface, the ledgers of all draws, and every hour of all draws."""

    surface: float
    ledgers: float
    hours_to_horizon: float
    hours_to_end: float


def every_hour(
    comparison: Comparison, results: Sequence[Result], draws: Draws
) -> tuple[float, float]:
    """Simulate some draws year by year; seconds up to the horizon, and to the end of life."""
    case, made = comparison.case, comparison.conditions
    horizon = math.ceil(case.assumptions.horizon_years)
    ends = [comparison.worn_health(result) for result in results]
    names = [candidate.name for candidate in case.candidates]
    place = np.array([names.index(r.arrangement.pack.name) for r in results])
    kinds, tables, stresses = bank_tables([r.bank for r in results], case.assumptions)
    rules, plain = rules_of(made), hours_of(made)
    start, to_horizon = time.perf_counter(), 0.0
    for d in range(draws.count):
        began = time.perf_counter()
        x = dict(zip(INPUTS, draws.common[d].tolist(), strict=True))
        luck = draws.luck[d, place]
        hours = plain.copy()
        for name in ("essential_w", "other_w"):
            hours[name] *= x["energy_use"]
        health, wear = np.ones(len(results)), np.zeros((2, len(results)))
        for year in range(LONGEST_LIFE_YEARS):
            if year == horizon:
                to_horizon += time.perf_counter() - began
            rows = [k for k in range(len(results)) if year < horizon or health[k] > ends[k]]
            if not rows:
                break
            w = int(draws.weather[d, year]) if year < horizon else year % made.years
            of_year = hours[w * HOURS_PER_YEAR : (w + 1) * HOURS_PER_YEAR]
            banks = np.zeros(len(rows), dtype=BANK)
            for place_of, k in enumerate(rows):
                banks[place_of] = bank_record(
                    results[k].bank, health=float(health[k]),
                    stress=stresses[kinds[k]], by_age=results[k].life.by_age,
                )  # fmt: skip
            out = one_year(banks, np.array(kinds)[rows], tables, of_year, rules)
            wear[0, rows] += out["calendar_stress"] / (x["calendar_life"] * luck[rows])
            wear[1, rows] += out["cycle_stress"] / (x["cycle_life"] * luck[rows])
            for k in rows:
                health[k] = 1.0 - float(
                    stresses[kinds[k]].loss(wear[0, k : k + 1], wear[1, k : k + 1])[0]
                )
                if health[k] <= ends[k] and year < horizon:
                    health[k], wear[:, k] = 1.0, 0.0
    return to_horizon, time.perf_counter() - start


def one_year(banks: Any, kinds: Any, tables: Any, hours: Any, rules: Any) -> Any:
    """Totals of one year of some banks, on all cores."""
    out, monthly = np.zeros(banks.size, dtype=RESULT), np.zeros((2, banks.size, 12))

    def chunk(first: int, last: int) -> None:
        run_banks(first, last, banks, kinds, tables, hours, rules, out, monthly[0], monthly[1])

    in_chunks(chunk, banks.size, None)
    return out


def timing(case: Case) -> tuple[Timing, int]:
    """Both ways for the arrangements that pass, and how many these are."""
    comparison = compare(case)
    results = [r for r in comparison.results if r.feasible]
    banks = [r.bank for r in results]

    def drawn(count: int) -> Draws:
        return draw(
            case.spreads,
            candidates=len(case.candidates),
            years=math.ceil(case.assumptions.horizon_years),
            weather_years=comparison.conditions.years,
            draws=count,
            seed=1,
        )

    stresses = bank_tables(banks, case.assumptions)
    best = [float("inf")] * 2
    for _ in range(3):  # the first run compiles or reads what is compiled
        start = time.perf_counter()
        surface = response(
            banks,
            comparison.conditions,
            case.assumptions,
            case.spreads.energy_use,
            rank=np.arange(len(results)),
            by_age=[r.life.by_age for r in results],
        )
        middle = time.perf_counter()
        inputs = draw_ledger_inputs(
            case,
            banks,
            [stresses[2][k] for k in stresses[0]],
            [r.failures for r in results],
            surface,
            comparison.conditions,
        )
        run_draw_ledgers(inputs, drawn(DRAWS))
        best = [min(best[0], middle - start), min(best[1], time.perf_counter() - middle)]
    slow = every_hour(comparison, results, drawn(TIMED))
    scale = DRAWS / TIMED
    return Timing(best[0], best[1], slow[0] * scale, slow[1] * scale), len(results)


def print_draws() -> None:
    """Print both ways for each demo case."""
    print(
        f"{DRAWS} draws, ledgers and response surface beside every hour ({TIMED} draws, scaled up):"
    )
    for path in sorted(DEMOS.glob("*.toml")):
        found, count = timing(read_case(path))
        fast, slow = found.surface + found.ledgers, (found.hours_to_horizon, found.hours_to_end)
        print(
            f"  {path.stem:12s} {count:3d} arrangements: surface {found.surface:6.3f} s, "
            f"ledgers {found.ledgers:6.3f} s; every hour to the horizon {slow[0]:6.1f} s "
            f"({slow[0] / fast:.0f} times), to the end of life {slow[1]:6.1f} s "
            f"({slow[1] / fast:.0f} times)"
        )


if __name__ == "__main__":
    print_draws()
