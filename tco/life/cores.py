"""Work shared among the cores of the machine, in threads: compiled loops let go of the lock."""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")


def on_all_cores(
    work: Callable[[int], T], size: int, progress: Callable[[float], None] | None = None
) -> list[T]:
    """What work(place) gives for every place in 0..size; `progress` gets the share done."""
    found = []
    with ThreadPoolExecutor(max_workers=_cores()) as pool:
        for one in pool.map(work, range(size)):
            found.append(one)
            if progress is not None:
                progress(len(found) / size)
    return found


def in_chunks(
    work: Callable[[int, int], None],
    size: int,
    progress: Callable[[float], None] | None = None,
    *,
    unit: int = 1,
    most: int | None = None,
) -> None:
    """Do work(first, last) over 0..size in pieces; `progress` gets the share done.

    The length of the pieces is a multiple of `unit`. There are four for each core, or as few as
    give all cores alike where none is longer than `most`, a multiple of `unit`.
    """
    if size == 1:
        work(0, 1)
        return
    pieces = _cores() * (4 if most is None else -(-size // (_cores() * most)))
    step = max(1, -(-size // (pieces * unit))) * unit
    pieces = -(-size // step)
    on_all_cores(lambda n: work(n * step, min((n + 1) * step, size)), pieces, progress)


def _cores() -> int:
    return os.cpu_count() or 1
