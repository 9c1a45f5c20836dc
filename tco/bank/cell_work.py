"""What bare cells take beside the packs they are built into: parts to buy, and work."""

from dataclasses import replace

from tco.bank.arrangements import Arrangement
from tco.case import Prices
from tco.case.block import BlockPart

JOINTS_OF_A_CELL = 2
"""Bolted terminals of a bare cell, each of them to be checked like a cable's end."""


def built_in_minutes(prices: Prices, arrangement: Arrangement) -> float:
    """Time to build the cells of all blocks in; 0 where packs are bought as they are."""
    if arrangement.pack.block is None:
        return 0.0
    return arrangement.pieces * prices.minutes_per_cell


def joints(arrangement: Arrangement) -> int:
    """Bolted joints between the cells of all blocks, to be checked and re-torqued."""
    return 0 if arrangement.pack.block is None else JOINTS_OF_A_CELL * arrangement.pieces


def units_there(arrangement: Arrangement) -> int:
    """Management units that are there already and serve the bank's blocks."""
    block = arrangement.pack.block
    return 0 if block is None or block.unit is None else min(block.unit.there, arrangement.packs)


def block_parts(arrangement: Arrangement) -> tuple[BlockPart, ...]:
    """The parts of all blocks that have to be bought: those beside the cells, in the whole bank.

    A management unit that is there already is not among them.
    """
    block = arrangement.pack.block
    if block is None:
        return ()
    found = []
    for part in block.parts:
        wanted = part.quantity * arrangement.packs
        if block.unit is not None and part.part == block.unit_part:
            wanted -= units_there(arrangement)
        if wanted:
            found.append(replace(part, quantity=wanted))
    return tuple(found)
