"""The system the battery serves: voltage, where it lives, the space, the inverter."""

from typing import Literal

from pydantic import Field, model_validator

from tco.case.quantities import (
    Fraction,
    Model,
    Name,
    NonNegative,
    Positive,
    ShareAboveZero,
)

Place = Literal["heated", "insulated", "outside"]
Orientation = Literal["upright", "on_side", "on_end"]

WARMTH_BY_PLACE: dict[Place, float] = {"heated": 0.9, "insulated": 0.35, "outside": 0.0}
"""Share of the difference between living space and outdoors that reaches the battery's space.
Assumption, no source; a space may state its own `warmth`."""


class Space(Model):
    """One compartment packs may stand in, inside measures, and how warm it keeps them."""

    name: Name = "battery space"
    width_mm: Positive
    depth_mm: Positive
    height_mm: Positive
    opening_width_mm: Positive | None = None
    opening_height_mm: Positive | None = None
    opening_side: Literal["top", "front"] = "top"
    clearance_side_mm: NonNegative = 5.0
    clearance_between_mm: NonNegative = 5.0
    clearance_top_mm: NonNegative = 30.0
    stacking: bool = False
    orientations: tuple[Orientation, ...] = ("upright",)
    place: Place = "insulated"
    warmth: Fraction | None = None
    engine_space: bool = False

    @property
    def warmth_share(self) -> float:
        """Share of the living space's warmth that reaches this space (stated or by place)."""
        return WARMTH_BY_PLACE[self.place] if self.warmth is None else self.warmth


class Inverter(Model):
    """The inverter that feeds the mains-voltage loads.

    `always_on` means that its idle draw runs all day; otherwise it idles only in the hours in
    which an inverter load may run.
    """

    name: str = "inverter"
    continuous_w: Positive
    surge_w: Positive | None = None
    efficiency: ShareAboveZero = 0.90
    idle_w: NonNegative = 10.0
    always_on: bool = False
    cutoff_voltage_v: Positive | None = None

    @property
    def surge_rating_w(self) -> float:
        """Surge rating, or twice the continuous one where none is stated (common practice)."""
        return 2.0 * self.continuous_w if self.surge_w is None else self.surge_w

    @model_validator(mode="after")
    def _surge_not_below_continuous(self) -> "Inverter":
        if self.surge_w is not None and self.surge_w < self.continuous_w:
            raise ValueError(
                f"surge_w ({self.surge_w:g}) is below continuous_w ({self.continuous_w:g}); "
                "a surge rating is at least the continuous one"
            )
        return self


class OldBank(Model):
    """The bank that is to be replaced; it is sold, credited for its core, or costs disposal."""

    chemistry: str = "agm"
    capacity_ah: Positive | None = None
    mass_kg: NonNegative = 0.0
    age_years: NonNegative | None = None
    sale_price: NonNegative = 0.0


class Features(Model):
    """What the user insists on in a pack."""

    cell_voltages_visible: bool = False
    charge_display: bool = False
    low_temperature_cutoff: bool = False


CUTOFF_FRACTION = 0.875
"""Inverter cut-off over nominal voltage where none is stated: 10.5 V of 12 V (common practice)."""


class System(Model):
    """Everything that stays when the battery changes."""

    nominal_voltage_v: Literal[12, 24, 36, 48]
    spaces: tuple[Space, ...] = Field(min_length=1)
    mass_limit_kg: Positive | None = None
    cable_run_m: Positive = 2.0
    inverter: Inverter | None = None
    required: Features = Features()
    old_bank: OldBank | None = None
    conductor_sizes: Literal["mm2", "awg"] = "mm2"

    @property
    def cutoff_voltage_v(self) -> float:
        """Voltage at which the inverter gives up: the hardest current is drawn just above it."""
        if self.inverter is not None and self.inverter.cutoff_voltage_v is not None:
            return self.inverter.cutoff_voltage_v
        return CUTOFF_FRACTION * self.nominal_voltage_v

    @model_validator(mode="after")
    def _cutoff_below_nominal(self) -> "System":
        cutoff = self.inverter.cutoff_voltage_v if self.inverter is not None else None
        if cutoff is not None and not 0.6 * self.nominal_voltage_v <= cutoff:
            raise ValueError(
                f"inverter.cutoff_voltage_v is {cutoff:g} V in a {self.nominal_voltage_v} V system; "
                f"it lies between {0.6 * self.nominal_voltage_v:g} and {self.nominal_voltage_v} V"
            )
        if cutoff is not None and cutoff > self.nominal_voltage_v:
            raise ValueError(
                f"inverter.cutoff_voltage_v is {cutoff:g} V, above the nominal "
                f"{self.nominal_voltage_v} V; give the voltage at which it switches off"
            )
        names = [space.name for space in self.spaces]
        if len(set(names)) != len(names):
            raise ValueError(f"two spaces share a name ({', '.join(names)}); give each its own")
        return self
