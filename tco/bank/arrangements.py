"""Arrangements: a candidate in S series and P parallel, what is actually compared."""

from dataclasses import dataclass

from tco.case import Pack

LOWEST_VOLTAGE_RATIO = 0.93
HIGHEST_VOLTAGE_RATIO = 1.11
"""Bank nominal over system nominal that inverters and chargers made for the system accept: from
46 V (20 LTO cells) to 53 V in a 48 V system. Common practice, no source."""

CHARGING_RATIO = 1.2
"""Final charging voltage over system nominal that chargers give (14.4 V of 12 V). Common practice,
no source."""


@dataclass(frozen=True)
class Arrangement:
    """One candidate pack, `series` in each string, `parallel` strings. Never mixed."""

    pack: Pack
    series: int
    parallel: int

    @property
    def packs(self) -> int:
        """Number of packs bought."""
        return self.series * self.parallel

    @property
    def pieces(self) -> int:
        """Number of what the candidate offers: packs, or the bare cells of all blocks."""
        return self.packs * self.pack.pieces

    @property
    def pieces_in_parallel(self) -> int:
        """Of what the candidate offers, so many side by side: strings, or cells of all of them."""
        return self.parallel * (1 if self.pack.block is None else self.pack.block.parallel)

    @property
    def layout(self) -> str:
        """The trade's short form, such as 2S2P; of blocks of bare cells 8S2P, or 2 × 8S2P."""
        block = self.pack.block
        if block is None:
            return f"{self.series}S{self.parallel}P"
        return block.layout if self.packs == 1 else f"{self.packs} × {block.layout}"

    @property
    def label(self) -> str:
        """Short name for tables: how many of which. No two arrangements of a case share it."""
        block = self.pack.block
        variant = f", {block.variant}" if block is not None and block.variant else ""
        return f"{self.pieces} × {self.pack.name}{variant} ({self.layout})"

    @property
    def nominal_voltage_v(self) -> float:
        """Nominal voltage of the bank. [V]"""
        return self.series * self.pack.nominal_voltage_v

    @property
    def capacity_ah(self) -> float:
        """Nominal capacity of the bank. [Ah]"""
        return self.parallel * self.pack.capacity_ah

    @property
    def energy_wh(self) -> float:
        """Nominal energy of the bank. [Wh]"""
        return self.packs * self.pack.energy_wh

    @property
    def usable_wh(self) -> float:
        """Energy within the usable depth, new and at 25 degC. [Wh]"""
        return self.energy_wh * self.pack.usable_depth

    @property
    def mass_kg(self) -> float:
        """Mass of all packs. [kg]"""
        return self.packs * self.pack.mass_kg

    @property
    def pack_resistance_ohm(self) -> float:
        """Resistance of the packs of the bank together, without cables, new, 25 degC. [ohm]"""
        return self.series * self.pack.internal_resistance_ohm / self.parallel

    @property
    def fault_resistance_ohm(self) -> float:
        """The same as a fault current may rest on it (`Pack.fault_ohm`). [ohm]"""
        return self.series * self.pack.fault_ohm / self.parallel


def meets_voltage(bank_v: float, system_v: float) -> bool:
    """Whether a bank of this nominal voltage suits a system of that one."""
    return LOWEST_VOLTAGE_RATIO <= bank_v / system_v <= HIGHEST_VOLTAGE_RATIO


def packs_in_series(pack: Pack, system_v: float) -> int:
    """Number in series that suits the system voltage.

    Of several that do, for lead-acid the one whose nominal voltage comes nearest; for the others
    the one whose charging voltage comes nearest to what chargers of the system give: 16 LFP cells
    in a 48 V system, though 15 have a nominal voltage of 48 V. Where none does, the one with the
    nearest nominal voltage.
    """
    charging_v = pack.cells_in_series * pack.chemistry.absorption_v

    def misfit(series: int) -> tuple[bool, float]:
        bank_v = series * pack.nominal_voltage_v
        suits = meets_voltage(bank_v, system_v)
        if suits and not pack.chemistry.names_system_voltage:
            return False, abs(series * charging_v - CHARGING_RATIO * system_v)
        return not suits, abs(bank_v - system_v)

    most = max(1, int(HIGHEST_VOLTAGE_RATIO * system_v / pack.nominal_voltage_v) + 1)
    return min(range(1, most + 1), key=misfit)
