"""What somebody who builds a block of bare cells has to know before buying it."""

from collections.abc import Iterable

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Check, limit_check, plain_check
from tco.case.block import Block

ASSEMBLY = (
    "press and insulate the cells as their maker says, no more and no less; cells of one batch, "
    "matched in capacity and resistance, brought to one charge before they are joined. Their "
    "terminals are live at all times and nothing switches them off: cover them, work with "
    "insulated tools, eye protection and no metal on hands or neck, and set a fuse of enough "
    "interrupt rating at the block's terminal, since no management unit breaks a dead short. Ask "
    "what the warranty covers once cells are built in. To be built and tested by somebody trained "
    "in it; follow the makers of cells and unit and your local code, which may ask for a tested "
    "battery instead"
)
"""Common practice, no source; the makers' instructions and the local code come first."""


def check_cells(arrangement: Arrangement) -> Iterable[Check]:
    """A caution beside every block of bare cells; nothing for packs that are bought."""
    block = arrangement.pack.block
    if block is None:
        return
    hidden = (
        f"; the management sees the {block.parallel} cells of a group as one, and a cell that "
        "shorts is fed by its neighbours"
        if block.parallel > 1
        else ""
    )
    each = f"{block.cells} cells to a block, {block.layout}"
    yield plain_check("cell_assembly", "caution", f"{each}{hidden}; {ASSEMBLY}")


def cells_in_series(block: Block) -> Check:
    """Whether the cell's maker allows as many in series as a block has."""
    series, most = block.series, block.most_in_series
    if most is None:
        words = f"{series} cells in series under one management; their maker states no limit"
        return plain_check("packs_in_series", "pass", words)
    return limit_check(
        "packs_in_series",
        float(series),
        float(most),
        "cells",
        at_least=False,
        good=f"{series} cells in series; {most} the maker's limit",
        bad=f"needs {series} cells in series; {most} the maker's limit",
    )


def cells_together(arrangement: Arrangement, most: int) -> Check:
    """Whether the cell's maker allows as many in one bank, whatever their layout."""
    cells = arrangement.pieces
    return limit_check(
        "number_of_packs",
        float(cells),
        float(most),
        "cells",
        at_least=False,
        good=f"{cells} of the {most} cells their maker allows in one bank",
        bad=f"needs {cells} cells, more than the {most} their maker allows in one bank",
    )
