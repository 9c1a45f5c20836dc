"""A candidate pack as the shop describes it, and the same pack with the gaps filled.

`Candidate` holds what was typed, almost all of it optional. `specify` gives a `Pack`, where every
value is there, and `Pack.assumed` says which ones were not stated and where they come from.
"""

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field

from tco.case.base import Clash, Model, cross_check, stated_error
from tco.case.pack import Pack
from tco.case.quantities import (
    Age,
    Charge,
    ChemistryKey,
    CurrentAboveZero,
    Cycles,
    Days,
    Fraction,
    Money,
    Name,
    NonNegative,
    PackMass,
    PackSide,
    Positive,
    ShareAboveZero,
    Temperature,
    Text,
)
from tco.case.system import Orientation
from tco.physics.chemistry import CHEMISTRIES, Datum
from tco.sentences import says

LOWEST_VOLTAGE_V = 1.0
"""No pack has less than a cell, and no cell on the market less than 1.2 V (common knowledge)."""
HIGHEST_CHARGING_RATIO = 1.6
"""Charging voltage over nominal beyond any chemistry's; sodium-ion has most, about 1.3."""
HIGHEST_WH_PER_KG = 350.0
HIGHEST_WH_PER_L = 800.0
"""More than any cell on the market stores (common knowledge, no source): a slip of a unit."""


MOST_OF_A_CELL = 1.4
"""A cell's nominal voltage over the usual of its chemistry, at most (own choice: two cells in
series have 2.0 times)."""


MOST_IN_SERIES = 1_000


def _trimmed_headings(value: Any) -> Any:
    if not isinstance(value, Mapping):
        return value
    seen: dict[str, Any] = {}
    for heading, text in value.items():
        trimmed = heading.strip() if isinstance(heading, str) else heading
        if trimmed in seen:
            raise stated_error(f"has two columns headed {trimmed!r}", mend="Rename one.")
        seen[trimmed] = text
    return seen


def _without_empty(value: Mapping[str, str]) -> Mapping[str, str]:
    return {heading: text for heading, text in value.items() if text}


OtherColumns = Annotated[
    Mapping[Name, Text], BeforeValidator(_trimmed_headings), AfterValidator(_without_empty)
]
"""Columns of a shop's table that mean nothing to us, kept as typed (outer blanks aside)."""


class Candidate(Model):
    """One pack or bare cell on offer. What is not stated stays None and is filled by `specify`.

    `bare_cell`: a single cell that needs a management and something to hold it, of which blocks are
    built (`tco.bank.blocks`); not stated, see `is_bare_cell`. Its `max_series`, `max_parallel` and
    `max_packs` count cells, those of strings side by side together. `short_circuit_a`: what the
    maker says a dead short draws; nothing fills it. `left_out`: kept in the case, but not compared
    for now.
    """

    _reads_shop_forms = True

    name: Name
    maker: Text = ""
    chemistry: ChemistryKey
    bare_cell: bool | None = None
    nominal_voltage_v: Positive = Field(ge=LOWEST_VOLTAGE_V, le=60)
    charge_voltage_v: Positive | None = Field(default=None, ge=LOWEST_VOLTAGE_V, le=100)
    capacity_ah: Charge
    usable_depth: ShareAboveZero | None = None
    width_mm: PackSide | None = None
    depth_mm: PackSide | None = None
    height_mm: PackSide | None = None
    mass_kg: PackMass | None = None
    continuous_discharge_a: CurrentAboveZero | None = None
    peak_discharge_a: CurrentAboveZero | None = None
    continuous_charge_a: CurrentAboveZero | None = None
    internal_resistance_mohm: Positive | None = Field(default=None, ge=1e-4, le=1e5)
    short_circuit_a: CurrentAboveZero | None = None
    charge_min_degc: Temperature | None = None
    charge_max_degc: Temperature | None = None
    discharge_min_degc: Temperature | None = None
    discharge_max_degc: Temperature | None = None
    heater_w: NonNegative | None = Field(default=None, le=1e5)
    low_temperature_cutoff: bool | None = None
    rated_cycles: Cycles | None = None
    rated_depth: ShareAboveZero | None = None
    end_of_life: ShareAboveZero | None = Field(default=None, lt=1)
    calendar_life_years: Positive | None = Field(default=None, ge=0.1, le=200)
    self_discharge_per_month: Fraction | None = None
    max_series: int | None = Field(default=None, ge=1, le=MOST_IN_SERIES)
    max_parallel: int | None = Field(default=None, ge=1, le=1_000)
    max_packs: int | None = Field(default=None, ge=1, le=1_000)
    cell_voltages_visible: bool | None = None
    charge_display: bool | None = None
    internal_management: bool | None = None
    management_link: Text = ""
    terminal: Text = ""
    orientations: Annotated[tuple[Orientation, ...], Field(min_length=1)] | None = None
    warranty_years: Age | None = None
    price: Money
    freight_price: Money | None = None
    lead_time_days: Days | None = None
    link: Text = ""
    notes: Text = ""
    left_out: bool | None = None
    other: OtherColumns = Field(default_factory=dict)

    @cross_check
    def _peak_not_below_continuous(self) -> Iterator[Clash]:
        yield from _swapped(
            ("continuous_discharge_a", self.continuous_discharge_a),
            ("peak_discharge_a", self.peak_discharge_a),
        )

    @cross_check
    def _charged_above_nominal(self) -> Iterator[Clash]:
        nominal, charged = self.nominal_voltage_v, self.charge_voltage_v
        if charged is not None and not nominal <= charged <= HIGHEST_CHARGING_RATIO * nominal:
            yield Clash(
                "charge_voltage_v",
                f"is {charged:g} V for a pack of {nominal:g} V nominal",
                "Give the voltage at which the maker has it charged full, "
                f"{nominal:g} to {HIGHEST_CHARGING_RATIO * nominal:g} V.",
            )

    @cross_check
    def _charge_limits_in_order(self) -> Iterator[Clash]:
        yield from _swapped(
            ("charge_min_degc", self.charge_min_degc), ("charge_max_degc", self.charge_max_degc)
        )

    @cross_check
    def _discharge_limits_in_order(self) -> Iterator[Clash]:
        yield from _swapped(
            ("discharge_min_degc", self.discharge_min_degc),
            ("discharge_max_degc", self.discharge_max_degc),
        )

    @cross_check
    def _cell_is_one(self) -> Iterator[Clash]:
        if not self.bare_cell:
            return
        chemistry = CHEMISTRIES[self.chemistry]
        if not chemistry.cell_management:
            yield Clash(
                "bare_cell",
                f"is yes, but {chemistry.name} needs no management",
                "Leave it empty: such cells are connected like packs.",
            )
        elif self.nominal_voltage_v > MOST_OF_A_CELL * chemistry.cell_voltage_v:
            yield Clash(
                "bare_cell",
                f"is yes, but one cell of {chemistry.name} has {chemistry.cell_voltage_v:g} V, not "
                f"{self.nominal_voltage_v:g} V",
                "Give the volts of one cell, or leave it empty for a pack.",
            )
        if self.internal_management:
            yield Clash(
                "internal_management",
                "is yes for a bare cell",
                "A cell with a management of its own is a pack of one cell: is it a bare cell?",
            )

    @cross_check
    def _mass_possible(self) -> Iterator[Clash]:
        if self.mass_kg is None:
            return
        density = self.nominal_voltage_v * self.capacity_ah / self.mass_kg
        if density > HIGHEST_WH_PER_KG:
            yield Clash(
                "mass_kg",
                f"is {self.mass_kg:g} kg, so the pack would store {density:.0f} Wh/kg, more than "
                "any cell on the market",
                "Check the unit of the mass, the volts and the Ah.",
            )

    @cross_check
    def _size_possible(self) -> Iterator[Clash]:
        if self.width_mm is None or self.depth_mm is None or self.height_mm is None:
            return
        litres = self.width_mm * self.depth_mm * self.height_mm / 1e6
        energy_wh = self.nominal_voltage_v * self.capacity_ah
        if energy_wh > HIGHEST_WH_PER_L * litres:
            yield Clash(
                "width_mm",
                f"and the other sides are {self.width_mm:g} x {self.depth_mm:g} x "
                f"{self.height_mm:g} mm, too small for {energy_wh:.0f} Wh of any cell on sale "
                f"({HIGHEST_WH_PER_L:g} Wh/L)",
                "Check the unit of the dimensions, the volts and the Ah.",
            )

    @property
    def energy_wh(self) -> float:
        """Nominal energy, volts times ampere-hours. [Wh]"""
        return self.nominal_voltage_v * self.capacity_ah


def _swapped(low: tuple[str, float | None], high: tuple[str, float | None]) -> Iterator[Clash]:
    if low[1] is not None and high[1] is not None and low[1] > high[1]:
        yield Clash(low[0], f"is {low[1]:g}, above {high[0]} ({high[1]:g})", "Are the two swapped?")


def cells_in_series(candidate: Candidate) -> int:
    """Number of cells in series that comes nearest to the pack's nominal voltage."""
    cell = CHEMISTRIES[candidate.chemistry].cell_voltage_v
    return max(1, round(candidate.nominal_voltage_v / cell))


def is_bare_cell(candidate: Candidate) -> bool:
    """Whether a candidate is a bare cell, which needs a management and something to hold it.

    Where it does not say: one whose volts are those of a single cell of a chemistry that needs a
    management, and that is not said to have one.
    """
    if candidate.bare_cell is not None:
        return candidate.bare_cell
    chemistry = CHEMISTRIES[candidate.chemistry]
    return (
        chemistry.cell_management
        and not candidate.internal_management
        and candidate.nominal_voltage_v <= MOST_OF_A_CELL * chemistry.cell_voltage_v
    )


def specify(candidate: Candidate) -> Pack:
    """Fill every gap of a candidate from its chemistry, and say so.

    Charge, discharge and peak currents default to the chemistry's C-rates; peak never below the
    stated continuous current. A feature that is not mentioned is assumed absent.
    No default contradicts a stated value: a continuous current stays below a stated peak, a
    temperature limit within the stated opposite one. Packs in series default to as many as make
    a 48 V system (four of 12.8 V). Features of a bare cell are those of its management unit, which
    also says how many it takes in series.
    """
    chemistry, bare = CHEMISTRIES[candidate.chemistry], is_bare_cell(candidate)
    assumed: dict[str, Datum] = {}

    def stated_or(name: str, default: float, source: str) -> float:
        stated: float | None = getattr(candidate, name)
        if stated is not None:
            return stated
        assumed[name] = Datum(default, source)
        return default

    def of_chemistry(name: str) -> float:
        datum = getattr(chemistry, name)
        return stated_or(name, datum.value, says(f"{chemistry.name}, ", datum.source))

    def by_rate(name: str, rate_c: Datum) -> float:
        return stated_or(
            name,
            rate_c.value * candidate.capacity_ah,
            says(f"{rate_c.value:g} C for {chemistry.name}, ", rate_c.source),
        )

    def limit(name: str, other: str, nearer: Callable[[float, float], float]) -> float:
        """A temperature limit; a default never lies beyond the opposite limit that is stated."""
        usual: Datum = getattr(chemistry, name)
        opposite: float | None = getattr(candidate, other)
        if opposite is None or nearer(usual.value, opposite) == usual.value:
            return of_chemistry(name)
        return stated_or(name, opposite, f"no further than the stated {other}")

    def management() -> bool:
        if candidate.internal_management is not None:
            return candidate.internal_management
        if bare:
            assumed["internal_management"] = Datum(False, "a bare cell has none")
            return False
        usual = chemistry.cell_management
        assumed["internal_management"] = Datum(
            usual, f"{'built in' if usual else 'none'}, as usual for {chemistry.name} packs"
        )
        return usual

    def feature(name: str) -> bool:
        stated: bool | None = getattr(candidate, name)
        if stated is None and not bare:
            assumed[name] = Datum(False, "not mentioned, so assumed absent")
        return bool(stated)

    def in_series() -> int:
        if bare:
            return candidate.max_series or MOST_IN_SERIES
        usual_v = chemistry.max_series_voltage_v
        most = max(1, round(usual_v.value / candidate.nominal_voltage_v))
        source = f"up to a {usual_v.value:g} V system, {usual_v.source}"
        return int(stated_or("max_series", most, source))

    cells = cells_in_series(candidate)
    usual_a = chemistry.discharge_rate_c.value * candidate.capacity_ah
    if candidate.peak_discharge_a is not None and candidate.peak_discharge_a < usual_a:
        continuous = stated_or(
            "continuous_discharge_a", candidate.peak_discharge_a, "no more than the stated peak"
        )
    else:
        continuous = by_rate("continuous_discharge_a", chemistry.discharge_rate_c)
    peak_default = max(continuous, chemistry.peak_rate_c.value * candidate.capacity_ah)
    dimensions = (candidate.width_mm, candidate.depth_mm, candidate.height_mm)
    known = tuple(d for d in dimensions if d is not None)
    return Pack(
        name=candidate.name,
        maker=candidate.maker,
        chemistry=chemistry,
        nominal_voltage_v=candidate.nominal_voltage_v,
        capacity_ah=candidate.capacity_ah,
        charge_voltage_v=stated_or(
            "charge_voltage_v",
            cells * chemistry.absorption_v,
            f"{cells} cells of {chemistry.absorption_v:g} V, usual for {chemistry.name}",
        ),
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
        continuous_charge_a=by_rate("continuous_charge_a", chemistry.charge_rate_c),
        internal_resistance_ohm=stated_or(
            "internal_resistance_mohm",
            1000.0 * chemistry.resistance_ohm_ah.value * cells / candidate.capacity_ah,
            f"{cells} cells of {chemistry.resistance_ohm_ah.value:g} ohm Ah, "
            + chemistry.resistance_ohm_ah.source,
        )
        / 1000.0,
        short_circuit_a=candidate.short_circuit_a,
        charge_min_degc=limit("charge_min_degc", "charge_max_degc", min),
        charge_max_degc=limit("charge_max_degc", "charge_min_degc", max),
        discharge_min_degc=limit("discharge_min_degc", "discharge_max_degc", min),
        discharge_max_degc=limit("discharge_max_degc", "discharge_min_degc", max),
        heater_w=stated_or("heater_w", 0.0, "no heater mentioned"),
        low_temperature_cutoff=feature("low_temperature_cutoff"),
        rated_cycles=of_chemistry("rated_cycles"),
        rated_depth=of_chemistry("rated_depth"),
        end_of_life=of_chemistry("end_of_life"),
        calendar_life_years=of_chemistry("calendar_life_years"),
        self_discharge_per_month=of_chemistry("self_discharge_per_month"),
        max_series=in_series(),
        max_parallel=int(of_chemistry("max_parallel")),
        max_packs=candidate.max_packs,
        cell_voltages_visible=feature("cell_voltages_visible"),
        charge_display=feature("charge_display"),
        internal_management=management(),
        orientations=candidate.orientations,
        warranty_years=stated_or("warranty_years", 0.0, "no warranty mentioned"),
        price=candidate.price,
        freight_price=stated_or("freight_price", 0.0, "no freight mentioned"),
        cells_in_series=cells,
        assumed=MappingProxyType(assumed),
    )
