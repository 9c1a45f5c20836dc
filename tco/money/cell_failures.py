"""How often bare cells and their management fail, against a pack that is bought.

What is believed of a class of packs (`tco.case.evidence.DEFAULT_PRIORS`) is believed of a pack of
`CELLS_OF_A_PACK` cells and its board. Half of its sudden failures are taken to be the board's, the
other half its cells' and their joints'. So a cell fails as often as that half over the number of
cells, a management unit as often as `UNIT_IN_CELLS` cells, and a block of eight cells under one
unit as often as a bought pack of its class; a block of sixteen half as often again. Field reports
of a bare cell count cells. Assumptions of this project, no source.
"""

from tco.bank.arrangements import Arrangement
from tco.case import Candidate, Pack
from tco.case.candidate import is_bare_cell

CELLS_OF_A_PACK = 8
UNIT_IN_CELLS = 8


def share_of_a_pack(candidate: Candidate) -> float:
    """Failures of one of what is offered over those of a bought pack of its class."""
    return 1.0 / (CELLS_OF_A_PACK + UNIT_IN_CELLS) if is_bare_cell(candidate) else 1.0


def that_can_fail(arrangement: Arrangement) -> int:
    """So many of what is offered would fail as often as the whole bank: packs, or cells and units.

    An external management counts like a unit.
    """
    if arrangement.pack.block is None:
        return arrangement.packs
    return arrangement.pieces + UNIT_IN_CELLS * arrangement.packs


def share_bought_anew(pack: Pack) -> float:
    """What a failure takes of a pack's price: all of it, or of a block one cell or its unit.

    The mean of both, each as often as it fails. An external management is no part of the block and
    its failure is taken to cost what a cell does.
    """
    block = pack.block
    if block is None or pack.price <= 0.0:
        return 1.0
    unit_price = block.cell_price if block.unit is None else block.unit.price
    mean = (block.cells * block.cell_price + UNIT_IN_CELLS * unit_price) / (
        block.cells + UNIT_IN_CELLS
    )
    return mean / pack.price
