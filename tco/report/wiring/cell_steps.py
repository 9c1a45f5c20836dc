"""What bare cells ask for when a bank is put into service: evened first, built, watched, charged.

Order and figures are common practice, no source; the makers of cell and unit go first.
"""

from collections.abc import Iterator

from tco.bank.arrangements import Arrangement
from tco.case.block import Block

EXTERNAL = "external management"

Told = tuple[str, str]
"""Where something is done, and what."""


def watcher(block: Block) -> str:
    """Name of what watches the cells of a block."""
    return EXTERNAL if block.unit is None else block.unit.name


def cell_building(arrangement: Arrangement) -> Iterator[Told]:
    """Steps from loose cells to a block; none where packs are bought as they are."""
    block = arrangement.pack.block
    if block is None:
        return
    cells = arrangement.pieces
    yield (
        "cells",
        f"Measure each of the {cells} cells as it comes: voltage, resistance, date of make, no "
        "dent, no swelling. Send back what stands out; like with like in a group.",
    )
    yield (
        "cells",
        "Bring them to one charge before they are joined in series: side by side, plus to plus, on "
        f"a supply that is set to {_full_v(arrangement, block):.2f} V before it is connected, "
        "until at that voltage it gives next to nothing. Stay by it: nothing watches them yet, and "
        "too high a voltage sets cells on fire.",
    )
    whose = "the" if arrangement.packs == 1 else "each block's"
    together = "" if block.parallel == 1 else f" of {block.parallel} cells"
    rows = "one row" if block.rows == 1 else f"{block.rows} rows"
    yield (
        "cells",
        f"Stand {whose} {block.series} groups{together} in {rows}, the plus of one beside the "
        "minus of the next, a sheet between cells and to each plate; press them as their maker "
        "says, no more and no less.",
    )
    yield (
        "cells",
        "Clean terminals and links, set one link at a time with the rest covered, tighten to the "
        "maker's torque. Measure the voltage over every link at one and the same current: one that "
        "differs is a bad joint.",
    )
    if block.unit is not None:
        yield (
            watcher(block),
            f"Connect its sense leads from the most negative cell up, each fused at its cell. "
            "Measure at its plug, before that goes in, that every lead has some "
            f"{_nominal_v(arrangement, block):.1f} V more than the one before; set it for "
            f"{block.series} cells of {arrangement.pack.chemistry.name}.",
        )


def cell_measuring(arrangement: Arrangement, *, within_v: float) -> Iterator[Told]:
    """What to read before anything is closed; `within_v`: that a pack of 12 V may be apart. [V]"""
    block = arrangement.pack.block
    if block is None:
        return
    apart_v = within_v * _nominal_v(arrangement, block) / 12.0
    yield (
        watcher(block),
        f"It shows {block.series} voltages, all within {1000.0 * apart_v:.0f} mV of one another at "
        "rest, and a meter on the cells agrees with it.",
    )


def cell_joining(arrangement: Arrangement) -> Iterator[Told]:
    """That a unit opens before it has to."""
    block = arrangement.pack.block
    if block is None or block.unit is None:
        return
    yield (
        watcher(block),
        "Try that it disconnects, on its test or a sense lead taken off, and comes back, before "
        "anything hangs on it.",
    )


def cell_charging(arrangement: Arrangement) -> Iterator[Told]:
    """The first charge to the top, cell by cell."""
    block = arrangement.pack.block
    if block is None:
        return
    yield (
        watcher(block),
        "The first time to the top at a small current, the voltages of the cells in sight: none "
        f"is to pass {_full_v(arrangement, block):.2f} V. If one runs ahead, stop, and bring the "
        "cells to one charge again.",
    )


def _full_v(arrangement: Arrangement, block: Block) -> float:
    return arrangement.pack.charge_voltage_v / block.series


def _nominal_v(arrangement: Arrangement, block: Block) -> float:
    return arrangement.pack.nominal_voltage_v / block.series
