"""How a pack is made of bare cells: groups in parallel, the groups in series, one unit."""

from dataclasses import dataclass

from tco.case.management_unit import ManagementUnit


@dataclass(frozen=True)
class BlockPart:
    """One part of a block beside its cells; the price is that of one, without tax."""

    part: str
    quantity: int
    price: float
    link: str = ""
    note: str = ""

    @property
    def cost(self) -> float:
        """Quantity times price."""
        return self.quantity * self.price


@dataclass(frozen=True)
class Block:
    """A pack made of bare cells: `parallel` cells to a group, `series` groups, in `rows`.

    `unit` is the management unit that watches them, None where an external one has to. `parts` are
    all that is bought beside the cells, the unit among them. `fault_ohm` is the resistance that a
    fault current may rest on: that of the cells, and of joints at their best. `most_in_series` is
    what the cell's maker allows, `most_together` how many cells in one bank, None where he does not
    say. `cell_resistance_stated`: whether he states the resistance of a cell. `variant` tells the
    block from another of the same cells and layout, "" where there is none.
    """

    series: int
    parallel: int
    rows: int
    unit: ManagementUnit | None
    cell_price: float
    fault_ohm: float
    parts: tuple[BlockPart, ...]
    most_in_series: int | None = None
    most_together: int | None = None
    cell_resistance_stated: bool = False
    variant: str = ""

    @property
    def cells(self) -> int:
        """Number of cells."""
        return self.series * self.parallel

    @property
    def layout(self) -> str:
        """The trade's short form, such as 8S2P."""
        return f"{self.series}S{self.parallel}P"

    @property
    def unit_part(self) -> str:
        """Name of the management unit among the parts, "" where there is none."""
        return "" if self.unit is None else unit_part(self.unit)

    @property
    def parts_price(self) -> float:
        """All that is bought beside the cells, without tax."""
        return sum(part.cost for part in self.parts)

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from other blocks of the same cell."""
        return self.series, self.parallel, self.rows, self.unit and self.unit.name


def unit_part(unit: ManagementUnit) -> str:
    """What a management unit is called among the parts of a block."""
    return f"management unit {unit.name}"
