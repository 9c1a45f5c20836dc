"""A candidate pack as the shop describes it, and the same pack with the gaps filled.

`Candidate` holds what was typed, almost all of it optional. `specify` gives a `Pack`, where every
value is there, and `Pack.assumed` says which ones were not stated and where they come from.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from pydantic import Field, field_validator, model_validator

from tco.case.quantities import (
    Fraction,
    Model,
    Name,
    NonNegative,
    Positive,
    ShareAboveZero,
    Temperature,
)
from tco.case.system import Orientation
from tco.physics.chemistry import CHEMISTRIES, Chemistry

CHEMISTRY_ALIASES: Mapping[str, str] = MappingProxyType(
    {
        "lifepo4": "lfp",
        "lifepo": "lfp",
        "life po4": "lfp",
        "lithium iron phosphate": "lfp",
        "lithium": "lfp",
        "sodium": "sodium-ion",
        "sodium ion": "sodium-ion",
        "na-ion": "sodium-ion",
        "naion": "sodium-ion",
        "titanate": "lto",
        "wet": "flooded",
        "lead": "flooded",
        "lead-acid": "flooded",
        "open lead": "flooded",
    }
)
"""Names shops use for a chemistry. "lithium" alone is read as lfp, by far the usual one."""


def chemistry_key(text: str) -> str:
    """Key of `CHEMISTRIES` for a name as shops write it; unknown names come back unchanged.

    >>> chemistry_key("LiFePO4"), chemistry_key(" AGM ")
    ('lfp', 'agm')
    """
    key = text.strip().lower()
    return CHEMISTRY_ALIASES.get(key, key)


class Candidate(Model):
    """One pack on offer. What is not stated stays None and is filled by `specify`."""

    name: Name
    maker: str = ""
    chemistry: str
    nominal_voltage_v: Positive = Field(le=60)
    capacity_ah: Positive
    usable_depth: ShareAboveZero | None = None
    width_mm: Positive | None = None
    depth_mm: Positive | None = None
    height_mm: Positive | None = None
    mass_kg: Positive | None = None
    continuous_discharge_a: Positive | None = None
    peak_discharge_a: Positive | None = None
    continuous_charge_a: Positive | None = None
    internal_resistance_mohm: Positive | None = None
    charge_min_degc: Temperature | None = None
    charge_max_degc: Temperature | None = None
    discharge_min_degc: Temperature | None = None
    discharge_max_degc: Temperature | None = None
    heater_w: NonNegative | None = None
    low_temperature_cutoff: bool | None = None
    rated_cycles: Positive | None = None
    rated_depth: ShareAboveZero | None = None
    end_of_life: Fraction | None = None
    calendar_life_years: Positive | None = None
    self_discharge_per_month: Fraction | None = None
    max_series: int | None = Field(default=None, ge=1)
    max_parallel: int | None = Field(default=None, ge=1)
    cell_voltages_visible: bool | None = None
    charge_display: bool | None = None
    management_link: str = ""
    terminal: str = ""
    orientations: tuple[Orientation, ...] | None = None
    warranty_years: NonNegative | None = None
    price: NonNegative
    freight_price: NonNegative | None = None
    lead_time_days: NonNegative | None = None
    link: str = ""
    notes: str = ""
    other: Mapping[str, str] = Field(default_factory=dict)

    @field_validator("chemistry")
    @classmethod
    def _known_chemistry(cls, value: str) -> str:
        key = chemistry_key(value)
        if key not in CHEMISTRIES:
            raise ValueError(f"chemistry {value!r} is not known; one of {', '.join(CHEMISTRIES)}")
        return key

    @model_validator(mode="after")
    def _consistent(self) -> "Candidate":
        problems = []
        pairs = (
            ("continuous_discharge_a", "peak_discharge_a"),
            ("charge_min_degc", "charge_max_degc"),
            ("discharge_min_degc", "discharge_max_degc"),
        )
        for low, high in pairs:
            a, b = getattr(self, low), getattr(self, high)
            if a is not None and b is not None and a > b:
                problems.append(f"{low} ({a:g}) is above {high} ({b:g}); are they swapped?")
        energy_wh = self.nominal_voltage_v * self.capacity_ah
        if self.mass_kg is not None and energy_wh / self.mass_kg > 350.0:
            problems.append(
                f"mass_kg {self.mass_kg:g} means {energy_wh / self.mass_kg:.0f} Wh/kg, more than "
                "any cell on the market; check the unit of the mass, the volts and the Ah"
            )
        if None not in (self.width_mm, self.depth_mm, self.height_mm):
            litres = self.width_mm * self.depth_mm * self.height_mm / 1e6  # type: ignore[operator]
            if energy_wh / litres > 800.0:
                problems.append(
                    f"{self.width_mm:g} x {self.depth_mm:g} x {self.height_mm:g} mm means "
                    f"{energy_wh / litres:.0f} Wh/L, more than any cell on the market; check the "
                    "unit of the dimensions"
                )
        if problems:
            raise ValueError("; ".join(problems))
        return self

    @property
    def energy_wh(self) -> float:
        """Nominal energy, volts times ampere-hours. [Wh]"""
        return self.nominal_voltage_v * self.capacity_ah


@dataclass(frozen=True)
class Pack:
    """A candidate with every value the engine needs. Units are in the names.

    Dimensions may be missing (None): no default can honestly replace them.
    `assumed` maps each field that was not stated to the source of its default.
    """

    name: str
    maker: str
    chemistry: Chemistry
    nominal_voltage_v: float
    capacity_ah: float
    usable_depth: float
    dimensions_mm: tuple[float, float, float] | None
    mass_kg: float
    continuous_discharge_a: float
    peak_discharge_a: float
    continuous_charge_a: float
    internal_resistance_ohm: float
    charge_min_degc: float
    charge_max_degc: float
    discharge_min_degc: float
    discharge_max_degc: float
    heater_w: float
    low_temperature_cutoff: bool
    rated_cycles: float
    rated_depth: float
    end_of_life: float
    calendar_life_years: float | None
    self_discharge_per_month: float
    max_series: int
    max_parallel: int
    cell_voltages_visible: bool
    charge_display: bool
    orientations: tuple[Orientation, ...] | None
    warranty_years: float
    price: float
    freight_price: float
    cells_in_series: int
    assumed: Mapping[str, str] = field(default_factory=dict)

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


def cells_in_series(candidate: Candidate) -> int:
    """Number of cells in series that comes nearest to the pack's nominal voltage."""
    cell = CHEMISTRIES[candidate.chemistry].cell_voltage_v
    return max(1, round(candidate.nominal_voltage_v / cell))


def specify(candidate: Candidate) -> Pack:
    """Fill every gap of a candidate from its chemistry, and say so.

    Charge, discharge and peak currents default to the chemistry's C-rates; peak never below the
    stated continuous current. Calendar life stays None for an LFP pack that states none: the
    published model then runs as published. A feature that is not mentioned is assumed absent.
    """
    chemistry = CHEMISTRIES[candidate.chemistry]
    assumed: dict[str, str] = {}

    def stated_or(name: str, default: float, source: str) -> float:
        stated: float | None = getattr(candidate, name)
        if stated is not None:
            return stated
        assumed[name] = f"{default:g}: {source}"
        return default

    def of_chemistry(name: str) -> float:
        datum = getattr(chemistry, name)
        return stated_or(name, datum.value, f"{chemistry.name}, {datum.source}")

    def by_rate(name: str, rate_c: float, source: str) -> float:
        return stated_or(
            name, rate_c * candidate.capacity_ah, f"{rate_c:g} C for {chemistry.name}, {source}"
        )

    def feature(name: str) -> bool:
        stated: bool | None = getattr(candidate, name)
        if stated is None:
            assumed[name] = "not mentioned, so assumed absent"
        return bool(stated)

    cells = cells_in_series(candidate)
    continuous = by_rate(
        "continuous_discharge_a", chemistry.discharge_rate_c.value, chemistry.discharge_rate_c.source
    )
    peak_default = max(continuous, chemistry.peak_rate_c.value * candidate.capacity_ah)
    dimensions = (candidate.width_mm, candidate.depth_mm, candidate.height_mm)
    known = tuple(d for d in dimensions if d is not None)
    calendar = candidate.calendar_life_years
    if calendar is None and chemistry.ageing == "naumann":
        assumed["calendar_life_years"] = "not stated: ageing as published by Naumann 2018"
    elif calendar is None:
        calendar = of_chemistry("calendar_life_years")
    return Pack(
        name=candidate.name,
        maker=candidate.maker,
        chemistry=chemistry,
        nominal_voltage_v=candidate.nominal_voltage_v,
        capacity_ah=candidate.capacity_ah,
        usable_depth=of_chemistry("usable_depth"),
        dimensions_mm=(known[0], known[1], known[2]) if len(known) == 3 else None,
        mass_kg=stated_or(
            "mass_kg",
            candidate.energy_wh / chemistry.specific_energy_wh_per_kg.value,
            f"{chemistry.specific_energy_wh_per_kg.value:g} Wh/kg, "
            + chemistry.specific_energy_wh_per_kg.source,
        ),
        continuous_discharge_a=continuous,
        peak_discharge_a=stated_or(
            "peak_discharge_a",
            peak_default,
            f"the larger of continuous and {chemistry.peak_rate_c.value:g} C, "
            + chemistry.peak_rate_c.source,
        ),
        continuous_charge_a=by_rate(
            "continuous_charge_a", chemistry.charge_rate_c.value, chemistry.charge_rate_c.source
        ),
        internal_resistance_ohm=stated_or(
            "internal_resistance_mohm",
            1000.0 * chemistry.resistance_ohm_ah.value * cells / candidate.capacity_ah,
            f"{cells} cells of {chemistry.resistance_ohm_ah.value:g} ohm Ah, "
            + chemistry.resistance_ohm_ah.source,
        )
        / 1000.0,
        charge_min_degc=of_chemistry("charge_min_degc"),
        charge_max_degc=of_chemistry("charge_max_degc"),
        discharge_min_degc=of_chemistry("discharge_min_degc"),
        discharge_max_degc=of_chemistry("discharge_max_degc"),
        heater_w=stated_or("heater_w", 0.0, "no heater mentioned"),
        low_temperature_cutoff=feature("low_temperature_cutoff"),
        rated_cycles=of_chemistry("rated_cycles"),
        rated_depth=of_chemistry("rated_depth"),
        end_of_life=of_chemistry("end_of_life"),
        calendar_life_years=calendar,
        self_discharge_per_month=of_chemistry("self_discharge_per_month"),
        max_series=int(
            stated_or(
                "max_series",
                max(1, int(chemistry.max_series_voltage_v.value / candidate.nominal_voltage_v + 0.1)),
                f"up to {chemistry.max_series_voltage_v.value:g} V nominal, "
                + chemistry.max_series_voltage_v.source,
            )
        ),
        max_parallel=int(of_chemistry("max_parallel")),
        cell_voltages_visible=feature("cell_voltages_visible"),
        charge_display=feature("charge_display"),
        orientations=candidate.orientations,
        warranty_years=stated_or("warranty_years", 0.0, "no warranty mentioned"),
        price=candidate.price,
        freight_price=stated_or("freight_price", 0.0, "no freight mentioned"),
        cells_in_series=cells,
        assumed=MappingProxyType(assumed),
    )


Feature = Literal["cell_voltages_visible", "charge_display", "low_temperature_cutoff"]
