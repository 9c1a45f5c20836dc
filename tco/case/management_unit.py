"""A management unit for bare cells: what watches them, and the currents it lets through."""

from collections.abc import Iterator

from pydantic import Field

from tco.case.base import Clash, Model, cross_check
from tco.case.quantities import MOST_PIECES, ChemistryKey, CurrentAboveZero, Money, Name, Text

CHARGE_SHARE = 0.5
"""Charge current of a unit whose sheet states none, over its continuous discharge. Common practice,
no source: many units for 100 A of discharge take 50 A of charge."""


class ManagementUnit(Model):
    """One unit on offer, or there already, for one block of bare cells.

    It serves from `fewest_cells` to `most_cells` in series (groups of cells in parallel count as
    one) and disconnects by itself. `there`: so many are there already and are not bought. What is
    not stated is taken cautiously: no peak above the continuous current, `CHARGE_SHARE` of it for
    charging, no feature that is not mentioned. `chemistry` None: it can be set for any.
    """

    name: Name
    chemistry: ChemistryKey | None = None
    fewest_cells: int | None = Field(default=None, ge=1, le=1_000)
    most_cells: int = Field(ge=1, le=1_000)
    continuous_discharge_a: CurrentAboveZero
    peak_discharge_a: CurrentAboveZero | None = None
    continuous_charge_a: CurrentAboveZero | None = None
    cell_voltages_visible: bool | None = None
    charge_display: bool | None = None
    low_temperature_cutoff: bool | None = None
    price: Money
    there: int = Field(default=0, ge=0, le=MOST_PIECES)
    link: Text = ""

    @property
    def peak_a(self) -> float:
        """Peak discharge, the continuous one where none is stated. [A]"""
        stated = self.peak_discharge_a
        return self.continuous_discharge_a if stated is None else stated

    @property
    def charge_a(self) -> float:
        """Continuous charge, `CHARGE_SHARE` of the discharge where none is stated. [A]"""
        stated = self.continuous_charge_a
        return CHARGE_SHARE * self.continuous_discharge_a if stated is None else stated

    def serves(self, cells: int, chemistry: str) -> bool:
        """Whether it watches so many cells of a chemistry in series.

        Without `fewest_cells` it serves `most_cells` and no fewer: a unit made for sixteen cells
        that misses eight of them switches off.
        """
        fewest = self.most_cells if self.fewest_cells is None else self.fewest_cells
        return fewest <= cells <= self.most_cells and self.chemistry in (None, chemistry)

    @cross_check
    def _cells_in_order(self) -> Iterator[Clash]:
        if self.fewest_cells is not None and self.fewest_cells > self.most_cells:
            yield Clash(
                "fewest_cells",
                f"is {self.fewest_cells}, above most_cells ({self.most_cells})",
                "Are the two swapped?",
            )

    @cross_check
    def _peak_not_below_continuous(self) -> Iterator[Clash]:
        peak, continuous = self.peak_discharge_a, self.continuous_discharge_a
        if peak is not None and peak < continuous:
            yield Clash(
                "peak_discharge_a",
                f"is {peak:g}, below continuous_discharge_a ({continuous:g})",
                "Are the two swapped?",
            )
