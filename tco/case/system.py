"""The system the battery serves: voltage, where it lives, the space, the inverter."""

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from tco.case.base import Clash, Model, cross_check, repeated
from tco.case.parts import ExistingPart
from tco.case.quantities import (
    Age,
    CableLength,
    Charge,
    ChemistryKey,
    Fraction,
    Gap,
    Mass,
    Money,
    Name,
    Number,
    Positive,
    Power,
    PowerAboveZero,
    ShareAboveZero,
    SpaceSide,
)
from tco.physics.ampacity import (
    UNKNOWN_INSULATION_DEGC,
    USUAL_INSULATION_DEGC,
    InsulationDegc,
    WiringCode,
)
from tco.physics.heat import FOAM_W_PER_M_K, insulated_share

Place = Literal["heated", "insulated", "outside"]
Orientation = Literal["upright", "on_side", "on_end"]
TakeOff = Literal["busbars", "diagonal", "one end"]

WARMTH_BY_PLACE: dict[Place, float] = {"heated": 0.9, "insulated": 0.35, "outside": 0.0}
"""Share of the difference between living space and outdoors that reaches the battery's space.
Assumption, no source; a space may state its own `warmth`."""


class Space(Model):
    """One compartment packs may stand in, inside measures, and how warm it keeps them.

    `foam_mm`: thickness of insulating foam close around the packs, of the conductivity
    `foam_conductivity` [W/(m K)]; the inside measures are then those within the foam. It slows how
    fast packs cool and warm, and keeps their own and a heater's heat. Terminals, vents and fuses
    stay free, and whether foam may be there at all is for maker and local code to say: most foams
    burn. `vent_diameter_mm`: across each of two openings to outdoors, one low and one high.
    """

    name: Name = "battery space"
    width_mm: SpaceSide
    depth_mm: SpaceSide
    height_mm: SpaceSide
    opening_width_mm: SpaceSide | None = None
    opening_height_mm: SpaceSide | None = None
    opening_side: Literal["top", "front"] = "top"
    clearance_side_mm: Gap = 5.0
    clearance_between_mm: Gap = 5.0
    clearance_top_mm: Gap = 30.0
    stacking: bool = False
    orientations: tuple[Orientation, ...] = Field(default=("upright",), min_length=1)
    place: Place = "insulated"
    warmth: Fraction | None = None
    foam_mm: Number = Field(default=0.0, ge=0, le=300)
    foam_conductivity: Number = Field(default=FOAM_W_PER_M_K, ge=0.015, le=0.1)
    engine_space: bool = False
    vent_diameter_mm: Gap | None = None

    @property
    def warmth_share(self) -> float:
        """Share of the living space's warmth that reaches this space (stated or by place)."""
        return WARMTH_BY_PLACE[self.place] if self.warmth is None else self.warmth

    @property
    def surface_share(self) -> float:
        """Heat that passes the packs' surface with the foam, over what passes without it."""
        return insulated_share(self.foam_mm, w_per_m_k=self.foam_conductivity)


class Inverter(Model):
    """The inverter that feeds the mains-voltage loads.

    `always_on` means that its idle draw runs all day; otherwise somebody switches it on for the
    time in which a load behind it runs. It switches off below `cutoff_voltage_v`, and above
    `highest_voltage_v` it switches off or is damaged.
    """

    name: Name = "inverter"
    continuous_w: PowerAboveZero
    surge_w: PowerAboveZero | None = None
    efficiency: ShareAboveZero = 0.90
    idle_w: Power = 10.0
    always_on: bool = False
    cutoff_voltage_v: Positive | None = Field(default=None, le=60)
    highest_voltage_v: Positive | None = Field(default=None, le=100)

    @property
    def surge_rating_w(self) -> float:
        """Surge rating, or twice the continuous one where none is stated (common practice)."""
        return 2.0 * self.continuous_w if self.surge_w is None else self.surge_w

    @cross_check
    def _surge_not_below_continuous(self) -> Iterator[Clash]:
        if self.surge_w is not None and self.surge_w < self.continuous_w:
            yield Clash(
                "surge_w",
                f"is {self.surge_w:g} W, below the continuous rating of {self.continuous_w:g} W",
                "A surge rating is at least the continuous one; are they swapped?",
            )


class OldBank(Model):
    """The bank that is to be replaced; it is sold, credited for its core, or costs disposal."""

    chemistry: ChemistryKey = "agm"
    capacity_ah: Charge | None = None
    mass_kg: Mass = 0.0
    age_years: Age | None = None
    sale_price: Money = 0.0


class Features(Model):
    """What the user insists on in a pack."""

    cell_voltages_visible: bool = False
    charge_display: bool = False
    low_temperature_cutoff: bool = False


CUTOFF_FRACTION = 0.875
"""Inverter cut-off over nominal voltage where none is stated: 10.5 V of 12 V (common practice)."""

HIGHEST_FRACTION = 31.0 / 24.0
"""Voltage that inverter and direct loads bear over nominal, where none is stated: 15.5 V of 12 V,
31 V of 24 V. Upper end of the band in which ISO 10133 has equipment of small craft work (from
memory); inverters commonly switch off near it."""


class System(Model):
    """Everything that stays when the battery changes.

    `take_off` is how parallel strings are joined: leads of equal length to busbars, jumpers from
    string to string with the load taken off diagonally, or at one end. `bundled_conductors` run
    together and warm one another. `insulation_degc`: what all cable is insulated for, unless an
    installed part says otherwise. `wiring_code`: whose ampacities and overcurrent limits count.
    `loads_highest_voltage_v`: what the weakest load that hangs directly on the battery bears.
    `between_spaces_m`: cable from a pack in one space to one in the next.
    """

    nominal_voltage_v: Literal[12, 24, 36, 48]
    spaces: tuple[Space, ...] = Field(min_length=1)
    mass_limit_kg: Positive | None = Field(default=None, le=1e6)
    cable_run_m: CableLength = 2.0
    inverter: Inverter | None = None
    required: Features = Features()
    old_bank: OldBank | None = None
    conductor_sizes: Literal["mm2", "awg"] = "mm2"
    bundled_conductors: int = Field(default=1, ge=1, le=24)
    insulation_degc: InsulationDegc | None = None
    wiring_code: WiringCode = "ABYC E-11"
    take_off: TakeOff = "busbars"
    between_spaces_m: CableLength | None = None
    loads_highest_voltage_v: Positive | None = Field(default=None, le=100)
    parts: tuple[ExistingPart, ...] = ()

    @property
    def new_insulation_degc(self) -> InsulationDegc:
        """What cable to be bought is insulated for. [degC]"""
        return self.insulation_degc or USUAL_INSULATION_DEGC

    @property
    def installed_insulation_degc(self) -> InsulationDegc:
        """What cable that is there is trusted for where it does not say. [degC]"""
        return self.insulation_degc or UNKNOWN_INSULATION_DEGC

    @property
    def cutoff_voltage_v(self) -> float:
        """Voltage at which the inverter gives up: the hardest current is drawn just above it."""
        if self.inverter is not None and self.inverter.cutoff_voltage_v is not None:
            return self.inverter.cutoff_voltage_v
        return CUTOFF_FRACTION * self.nominal_voltage_v

    @property
    def link_between_spaces_m(self) -> float:
        """Cable from one space to another; as long as the longest run where none is stated. [m]"""
        return self.cable_run_m if self.between_spaces_m is None else self.between_spaces_m

    @cross_check
    def _cutoff_below_nominal(self) -> Iterator[Clash]:
        cutoff = self.inverter.cutoff_voltage_v if self.inverter is not None else None
        nominal = self.nominal_voltage_v
        if cutoff is not None and not 0.6 * nominal <= cutoff <= nominal:
            yield Clash(
                "inverter.cutoff_voltage_v",
                f"is {cutoff:g} V in a {nominal} V system",
                "Give the voltage at which the inverter switches off, "
                f"{0.6 * nominal:g} to {nominal} V.",
            )

    @cross_check
    def _highest_above_nominal(self) -> Iterator[Clash]:
        nominal = self.nominal_voltage_v
        inverter = self.inverter.highest_voltage_v if self.inverter is not None else None
        for field, highest in (
            ("inverter.highest_voltage_v", inverter),
            ("loads_highest_voltage_v", self.loads_highest_voltage_v),
        ):
            if highest is not None and not nominal <= highest <= 2 * nominal:
                yield Clash(
                    field,
                    f"is {highest:g} V in a {nominal} V system",
                    f"Give the highest voltage it bears, {nominal} to {2 * nominal} V.",
                )

    @cross_check
    def _one_name_per_space(self) -> Iterator[Clash]:
        for place, first, _ in repeated(self.spaces, "name"):
            yield Clash(
                "spaces",
                f"is already the name of space {first + 1}",
                "Give each its own name.",
                (place, "name"),
            )
