"""A pack with every value the engine needs, and where the ones that were not stated come from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tco.case.block import Block
from tco.case.system import Orientation
from tco.physics.chemistry import Chemistry, Datum


@dataclass(frozen=True)
class Pack:
    """A candidate with every value the engine needs. Units are in the names.

    Dimensions may be missing (None): no default can honestly replace them. So may the maker's
    short-circuit current. `max_packs`: the most that the maker allows in one bank, whatever their
    layout; None where only strings are limited.
    `assumed` maps each field that was not stated to the value taken for it and where that comes
    from; whether it has a feature is a bool. `block`: how it is made of bare cells, None for a pack
    that is bought as it is; `name` is then that of the cell.
    """

    name: str
    maker: str
    chemistry: Chemistry
    nominal_voltage_v: float
    capacity_ah: float
    charge_voltage_v: float
    usable_depth: float
    dimensions_mm: tuple[float, float, float] | None
    mass_kg: float
    continuous_discharge_a: float
    peak_discharge_a: float
    continuous_charge_a: float
    internal_resistance_ohm: float
    short_circuit_a: float | None
    charge_min_degc: float
    charge_max_degc: float
    discharge_min_degc: float
    discharge_max_degc: float
    heater_w: float
    low_temperature_cutoff: bool
    rated_cycles: float
    rated_depth: float
    end_of_life: float
    calendar_life_years: float
    self_discharge_per_month: float
    max_series: int
    max_parallel: int
    max_packs: int | None
    cell_voltages_visible: bool
    charge_display: bool
    internal_management: bool
    orientations: tuple[Orientation, ...] | None
    warranty_years: float
    price: float
    freight_price: float
    cells_in_series: int
    assumed: Mapping[str, Datum] = field(default_factory=dict)
    block: Block | None = None

    @property
    def energy_wh(self) -> float:
        """Nominal energy. [Wh]"""
        return self.nominal_voltage_v * self.capacity_ah

    @property
    def volume_l(self) -> float | None:
        """Outside volume, None where the dimensions are not known. [L]"""
        if self.dimensions_mm is None:
            return None
        width, depth, height = self.dimensions_mm
        return width * depth * height / 1e6

    @property
    def fault_ohm(self) -> float:
        """Resistance that a fault current may rest on: in a block without its unit, joints at best.

        [ohm]
        """
        return self.internal_resistance_ohm if self.block is None else self.block.fault_ohm

    @property
    def resistance_stated(self) -> bool:
        """Whether the maker states the resistance that makes it up: the pack's, or the cell's."""
        if self.block is not None:
            return self.block.cell_resistance_stated
        return "internal_resistance_mohm" not in self.assumed

    @property
    def pieces(self) -> int:
        """Of what its candidate offers, so many make it: 1, or the cells of a block."""
        return 1 if self.block is None else self.block.cells

    @property
    def piece_price(self) -> float:
        """Price of one of them: of the pack, or of a cell."""
        return self.price if self.block is None else self.block.cell_price
