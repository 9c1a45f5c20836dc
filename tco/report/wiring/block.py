"""Blocks of bare cells: what they are built of, as lines of text and as data."""

from typing import Any

from tco.bank.arrangements import Arrangement
from tco.bank.cell_work import block_parts, units_there
from tco.case import Pack
from tco.report.lines import wrapped


def block_lines(arrangement: Arrangement) -> list[str]:
    """Cells and parts of all blocks with their prices, one line each; none without a block."""
    block = arrangement.pack.block
    if block is None:
        return []
    cells = arrangement.pieces
    lines = [f"  {cells} × {block.cell_price:,.2f} bare cells = {cells * block.cell_price:,.2f}"]
    for part in block_parts(arrangement):
        note = f" ({part.note})" if part.note else ""
        told = f"{part.quantity} × {part.price:,.2f} {part.part}{note} = {part.cost:,.2f}"
        lines += wrapped(told, indent=2, hang=2)
    if block.unit is not None and block.unit.there:
        lines.append(f"  {units_there(arrangement)} × {block.unit.name} is there already")
    return lines


def block_data(arrangement: Arrangement) -> dict[str, Any] | None:
    """The same for machines; None for packs that are bought as they are. Prices without tax."""
    block = arrangement.pack.block
    if block is None:
        return None
    return {
        "cells": arrangement.pieces,
        "blocks": arrangement.packs,
        "cells_in_series": block.series,
        "cells_in_parallel": block.parallel,
        "rows": block.rows,
        "management_unit": None if block.unit is None else block.unit.name,
        "management_units_there": units_there(arrangement),
        "cell_price": block.cell_price,
        "parts": [
            {
                "part": part.part,
                "quantity": part.quantity,
                "price": part.price,
                "note": part.note,
                "link": part.link,
            }
            for part in block_parts(arrangement)
        ],
    }


def volts_and_hours(pack: Pack) -> str:
    """What a pack is, in a box of the drawing: its volts, or the layout of a block, and its Ah."""
    what = f"{pack.nominal_voltage_v:g} V" if pack.block is None else pack.block.layout
    return f"{what} {pack.capacity_ah:g} Ah"


def of_cells(pack: Pack) -> str:
    """That a pack is a block of bare cells and what watches it, after its name; else nothing."""
    block = pack.block
    if block is None:
        return ""
    watched = "an external management" if block.unit is None else block.unit.name
    return f", block of {block.cells} bare cells under {watched}"
