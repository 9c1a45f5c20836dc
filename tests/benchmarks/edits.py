"""How long an edit of one cell takes on the demo, from Enter to the answer at rest, in a browser.

    .venv/bin/python -m tests.benchmarks.edits

Prints; asserts nothing about time.
"""

import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from tco.workspace.desk import desk_of
from tco.workspace.edits import Edit
from tco.workspace.store import Store
from tests.browser.driver import (
    CHROMIUM,
    NO_BROWSER,
    GridOnScreen,
    Screen,
    browser,
    new_context,
    running,
)

EDITS = 60
FIELDS = (
    ("prices", "labour_per_hour"),
    ("prices", "day_without_power_price"),
    ("assumptions", "horizon_years"),
)


def print_edits(edits: int = EDITS) -> None:
    """Fields of prices, then cells of candidates and loads: median and 95th percentile."""
    if not CHROMIUM.exists():
        print(f"\n{NO_BROWSER}: edits are not timed")
        return
    with (
        tempfile.TemporaryDirectory() as folder,
        running(Path(folder)) as server,
        browser() as chromium,
    ):
        screen = Screen.opened(server, new_context(chromium), "/prices?case=otterbank")
        took = {"a field": _took(edits, lambda n: _field(screen, n), screen)}
        grids = (("Candidates", "candidates", 5), ("System and use", "loads", 1))
        for title, path, column in grids:
            screen.show(title)
            grid = screen.grid(path)
            typed = partial(_cell, grid, column)
            took[f"a cell of {path}"] = _took(edits, typed, screen)
        store = server.store()
        kept = [_appended(store, screen.case_id) for _ in range(30)]
        store.close()
    print("\nAn edit of one cell, from Enter to the answer at rest, journal included [s]")
    for what, seconds in took.items():
        print(f"  {what:24s} median {statistics.median(seconds):.2f}  95 % {_most(seconds):.2f}")
    print(
        f"  {'keeping it (the journal)':24s} median {statistics.median(kept):.4f}  "
        f"95 % {_most(kept):.4f}"
    )


def _cell(grid: GridOnScreen, column: int, number: int) -> None:
    grid.type(column, number % 5, str(200 + number))


def _field(screen: Screen, number: int) -> None:
    path = FIELDS[number % len(FIELDS)]
    years = path[-1] == "horizon_years"  # about as many as the demo has
    screen.type_field(path, str(8 + number % 4 if years else 5 + number % 30))


def _took(edits: int, typed: Callable[[int], None], screen: Screen) -> list[float]:
    typed(0)  # warm
    found = []
    for number in range(1, edits + 1):
        typed(number)
        seen = screen.page.evaluate("() => window.seen")
        # a run that began and ended between two drawings is known by its last message only
        over = seen["ended"] if seen["ended"] > seen["entered"] else seen["got"]
        found.append((over - seen["entered"]) / 1000.0)
    return found


def _appended(store: Store, case_id: str) -> float:
    """Time of one step written to the store of that case. [s]"""
    desk = desk_of(store, case_id)
    path = ("prices", "busbar_price")
    edit = Edit(path, desk.view.get(path), time.perf_counter())
    start = time.perf_counter()
    desk.do([edit], "timed")
    return time.perf_counter() - start


def _most(seconds: Sequence[float]) -> float:
    return sorted(seconds)[int(0.95 * len(seconds))]


if __name__ == "__main__":
    print_edits()
