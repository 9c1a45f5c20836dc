"""Arrangements: a candidate in S series and P parallel, what is actually compared."""

from dataclasses import dataclass

import numpy as np

from tco.case import Case, Pack

LOWEST_VOLTAGE_RATIO = 0.93
HIGHEST_VOLTAGE_RATIO = 1.11
"""Bank nominal over system nominal that inverters and chargers made for the system accept: from
46 V (20 LTO cells) to 53 V in a 48 V system. Common practice, no source."""

CHARGING_RATIO = 1.2
"""Final charging voltage over system nominal that chargers give (14.4 V of 12 V). Common practice,
no source."""

MOST_BELOW_CUTOFF = 0.99
"""A bank that rests under the inverter's cut-off even when full fails by that; a hundredth of it
still counts, so that what is told per usable kWh stays a number."""


@dataclass(frozen=True)
class Arrangement:
    """One candidate pack, `series` in each string, `parallel` strings. Never mixed.

    `below_cutoff`: share of the charge, from empty, that lies under the voltage at which the
    inverter switches off (`share_below_cutoff`), and is of no use.
    """

    pack: Pack
    series: int
    parallel: int
    below_cutoff: float = 0.0

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
    def charging_voltage_v(self) -> float:
        """Voltage at which the bank is charged full. [V]"""
        return self.series * self.pack.charge_voltage_v

    @property
    def usable_depth(self) -> float:
        """Share of the charge that may be drawn from full, and still runs the inverter."""
        return min(self.pack.usable_depth, 1.0 - self.below_cutoff)

    @property
    def usable_wh(self) -> float:
        """Energy within the usable depth, new and at 25 degC. [Wh]"""
        return self.energy_wh * self.usable_depth

    @property
    def mass_kg(self) -> float:
        """Mass of all packs. [kg]"""
        return self.packs * self.pack.mass_kg

    @property
    def pack_resistance_ohm(self) -> float:
        """Resistance of the packs of the bank together, without cables, new, 25 degC. [ohm]"""
        return self.series * self.pack.internal_resistance_ohm / self.parallel


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

    def misfit(series: int) -> tuple[bool, float]:
        bank_v = series * pack.nominal_voltage_v
        suits = meets_voltage(bank_v, system_v)
        if suits and not pack.chemistry.names_system_voltage:
            return False, abs(series * pack.charge_voltage_v - CHARGING_RATIO * system_v)
        return not suits, abs(bank_v - system_v)

    most = max(1, int(HIGHEST_VOLTAGE_RATIO * system_v / pack.nominal_voltage_v) + 1)
    return min(range(1, most + 1), key=misfit)


def arranged(case: Case, pack: Pack, series: int, parallel: int) -> Arrangement:
    """Some packs as they serve in a case."""
    return Arrangement(pack, series, parallel, share_below_cutoff(case, pack, series))


def share_below_cutoff(case: Case, pack: Pack, series: int) -> float:
    """Share of the charge, from empty, below which the inverter does not run; 0 without its loads.

    The open-circuit curve of the chemistry at 25 degC, in straight lines, where the cells in series
    rest at the inverter's cut-off voltage. Under load it is reached earlier
    (`tco.bank.checks.voltages`). A bank of another voltage than the system's is ruled out by that,
    and keeps its charge here.
    """
    system = case.system
    behind = system.inverter is not None and any(load.via == "inverter" for load in case.loads)
    if not behind or not meets_voltage(series * pack.nominal_voltage_v, system.nominal_voltage_v):
        return 0.0
    curve = pack.chemistry.open_circuit_v
    cell_v = system.cutoff_voltage_v / (series * pack.cells_in_series)
    share = float(np.interp(cell_v, curve, np.linspace(0.0, 1.0, len(curve))))
    return min(share, MOST_BELOW_CUTOFF)
