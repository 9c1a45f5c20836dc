"""How the system is used: loads, charging sources, the months away, the climate."""

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from tco.case.base import Clash, Model, cross_check
from tco.case.quantities import (
    MOST_PIECES,
    CableLength,
    Current,
    CurrentAboveZero,
    Fraction,
    Money,
    MonthlyDays,
    MonthlyFraction,
    MonthlyHours,
    MonthlyLight,
    MonthlyTemperature,
    Name,
    NonNegative,
    Number,
    Positive,
    Power,
    PowerAboveZero,
    ProfileKey,
    ShareAboveZero,
    Temperature,
    Text,
)
from tco.case.times import MONTHS, MonthSet, Window, hours_of_window
from tco.physics.arrays import FloatArray
from tco.physics.weather import brightest_months_wh_per_m2_day

ALL_YEAR = tuple(range(1, 13))


class Load(Model):
    """One consumer.

    Exactly one of `power_w` and `current_a` (at the system's nominal voltage; behind the inverter,
    at the battery side) is given. `hours_per_day` are spread evenly over the window `when`.
    `at_once` of the `quantity` may run together. `cable_run_m`: one way from the distribution, of a
    direct load with a cable and fuse of its own; None where it hangs on the fuse block.
    """

    name: Name
    power_w: Power | None = None
    current_a: Current | None = None
    surge_w: Power | None = None
    hours_per_day: NonNegative = Field(le=24)
    via: Literal["dc", "inverter"] = "dc"
    when: Window = "any time"
    months: MonthSet = ALL_YEAR
    quantity: int = Field(default=1, ge=1, le=MOST_PIECES)
    at_once: int | None = Field(default=None, ge=1, le=MOST_PIECES)
    essential: bool = True
    also_when_away: bool = False
    cable_run_m: CableLength | None = None

    @cross_check
    def _one_size(self) -> Iterator[Clash]:
        if self.power_w is None and self.current_a is None:
            yield Clash("power_w", "is missing", "Give power_w or current_a, one of the two.")
        if self.power_w is not None and self.current_a is not None:
            yield Clash(
                "current_a",
                f"is given ({self.current_a:g} A) beside power_w ({self.power_w:g} W)",
                "Give one of the two.",
            )

    @cross_check
    def _no_more_at_once_than_there_are(self) -> Iterator[Clash]:
        if self.at_once is not None and self.at_once > self.quantity:
            yield Clash(
                "at_once",
                f"is {self.at_once}, more than the quantity of {self.quantity}",
                "At most as many run at once as there are.",
            )

    @cross_check
    def _fits_its_window(self) -> Iterator[Clash]:
        window_hours = sum(hours_of_window(self.when))
        if self.hours_per_day > window_hours + 1e-9:
            yield Clash(
                "hours_per_day",
                f"is {self.hours_per_day:g}, longer than its window {self.when!r} "
                f"({window_hours:g} h)",
                "Widen the window, or give fewer hours.",
            )

    @cross_check
    def _surge_above_power(self) -> Iterator[Clash]:
        if self.surge_w is not None and self.power_w is not None and self.surge_w < self.power_w:
            yield Clash(
                "surge_w",
                f"is {self.surge_w:g} W, below the power of {self.power_w:g} W",
                "Give the starting peak, which is at least the power.",
            )

    def watts(self, nominal_voltage_v: float) -> float:
        """Power of one piece while it runs. [W]"""
        if self.power_w is not None:
            return self.power_w
        assert self.current_a is not None  # by _one_size
        return self.current_a * nominal_voltage_v


class Charger(Model):
    """What every battery charger states: its output and the charge profiles it has.

    `profiles` holds families ("lithium", "sodium", "lead") or chemistry keys; a fully adjustable
    charger says `adjustable = true`. `current_adjustable`: its current can be turned down.
    `cable_run_m`: one way from the charger to the distribution.
    `replacement_price` buys one that suits, where the profile is missing.
    """

    profiles: tuple[ProfileKey, ...] = ("lead",)
    adjustable: bool = False
    current_adjustable: bool = False
    cable_run_m: CableLength = 3.0
    charges_below_freezing: bool = True
    replacement_price: Money | None = None


class Solar(Charger):
    """A solar array and its charge controller. Azimuth: 0 north, 90 east, 180 south.

    `panel_voltage_v`: open-circuit voltage of the array at 25 degC, as the panels' label says.
    """

    name: Name = "solar"
    peak_w: PowerAboveZero
    tilt_deg: Number = Field(default=0.0, ge=0, le=90)
    azimuth_deg: Number = Field(default=180.0, ge=0, le=360)
    shade: MonthlyFraction = (0.0,) * 12
    controller_a: CurrentAboveZero
    panel_voltage_v: Positive | None = Field(default=None, le=2_000)
    efficiency: ShareAboveZero = 0.85
    temperature_coefficient_per_k: Number = Field(default=-0.0035, le=0, ge=-0.01)


class EngineCharger(Charger):
    """A DC-DC charger, or an alternator charging directly, that works while the engine runs.

    `direct`: the alternator itself is on the bank, with nothing between; a pack that disconnects
    under charge would then leave it without a load.
    """

    name: Name = "DC-DC charger"
    rating_a: CurrentAboveZero
    direct: bool = False
    hours_per_day: MonthlyHours
    when: Window = "day"
    energy_price_per_kwh: Money = 0.0

    @cross_check
    def _fits_its_window(self) -> Iterator[Clash]:
        window_hours = sum(hours_of_window(self.when))
        longest = max(self.hours_per_day)
        if longest > window_hours + 1e-9:
            month = self.hours_per_day.index(longest)
            yield Clash(
                "hours_per_day",
                f"is {longest:g} in {MONTHS[month]}, longer than its window {self.when!r} "
                f"({window_hours:g} h)",
                "Widen the window, or give fewer hours.",
                (month,),
            )


class Shore(Charger):
    """A mains charger and the nights on a hook-up."""

    name: Name = "shore charger"
    rating_a: CurrentAboveZero
    nights_per_month: MonthlyDays
    when: Window = "18-8"
    efficiency: ShareAboveZero = 0.90
    energy_price_per_kwh: Money = 0.30


class Generator(Charger):
    """A generator with its charger, started by hand when the battery is low.

    `start_below` and `stop_above` are shares of the energy that can be used (within the usable
    depth, at the pack's temperature), as somebody watching the battery would judge it.
    """

    name: Name = "generator"
    rating_a: CurrentAboveZero
    start_below: Fraction = 0.3
    stop_above: Fraction = 0.8
    when: Window = "8-20"
    months: MonthSet = ALL_YEAR
    efficiency: ShareAboveZero = 0.85
    energy_price_per_kwh: Money = 1.0

    @cross_check
    def _stop_above_start(self) -> Iterator[Clash]:
        if self.stop_above <= self.start_below:
            yield Clash(
                "stop_above",
                f"is {self.stop_above:g}, not above start_below ({self.start_below:g})",
                "It stops at a higher charge than it starts at; are they swapped?",
            )


class Sources(Model):
    """Everything that can charge the bank."""

    solar: tuple[Solar, ...] = ()
    engine: tuple[EngineCharger, ...] = ()
    shore: tuple[Shore, ...] = ()
    generator: tuple[Generator, ...] = Field(default=(), max_length=1)

    def chargers(self) -> tuple[Solar | EngineCharger | Shore | Generator, ...]:
        """Every source, in the order in which the engine draws on them."""
        return (*self.solar, *self.engine, *self.shore, *self.generator)


class Use(Model):
    """When somebody is there, and how the bank is left when nobody is.

    In a month that is not in `months_in_use` the system is laid up: only loads that run
    `also_when_away` draw, and the bank is brought to `storage_charge` if its cells are lithium or
    sodium, to `storage_charge_lead` if lead-acid: full, since lead that stands part charged
    sulphates, and a weak acid freezes (common practice, no source). `charged_when_laid_up` says
    which sources then keep it there; packs with a heater then warm themselves for it unless
    `heater_when_laid_up` is false. Days away are taken from each week, or as one block at
    the end of the month. `commercial`: somebody earns with it, which some warranties bar.
    """

    months_in_use: MonthSet = ALL_YEAR
    commercial: bool = False
    days_away_per_month: MonthlyDays = (0.0,) * 12
    away_pattern: Literal["each week", "one block"] = "each week"
    living_degc: Temperature = 18.0
    storage_charge: ShareAboveZero = 1.0
    storage_charge_lead: ShareAboveZero = 1.0
    charged_when_laid_up: Literal["no", "solar", "shore"] = "solar"
    heater_when_laid_up: bool = True

    @cross_check
    def _somebody_is_there(self) -> Iterator[Clash]:
        if not self.months_in_use:
            yield Clash("months_in_use", "is empty", "Name the months in which the bank is used.")


class Climate(Model):
    """Monthly climate of one site, January first.

    Mean daily temperature, mean daily minimum and maximum, and mean daily irradiation on the
    horizontal. A `weather_file` (EPW, TMY3, PVGIS) fills the other fields when a case is read,
    and its hours are then taken in place of synthetic ones; here its path is absolute.
    """

    site: Name = "site"
    weather_file: Text | None = None
    latitude_deg: Number = Field(ge=-90, le=90)
    mean_degc: MonthlyTemperature
    min_degc: MonthlyTemperature
    max_degc: MonthlyTemperature
    irradiation_kwh_per_m2_day: MonthlyLight

    @cross_check
    def _ordered(self) -> Iterator[Clash]:
        for month, (low, mean, high) in enumerate(
            zip(self.min_degc, self.mean_degc, self.max_degc, strict=True)
        ):
            if not low <= mean <= high:
                yield Clash(
                    "mean_degc",
                    f"is {mean:g} degC in {MONTHS[month]}, not between the mean daily minimum "
                    f"({low:g}) and maximum ({high:g})",
                    "Check the three values of that month.",
                    (month,),
                )

    @cross_check
    def _no_more_light_than_arrives(self) -> Iterator[Clash]:
        if self.weather_file:
            return  # it is checked as it is read, and its hours are taken
        latitude, light = self.latitude_deg, self.irradiation_kwh_per_m2_day
        most = brightest_months_wh_per_m2_day(latitude)
        months = _too_bright(light, most)
        if not months:
            return
        if latitude != 0.0 and not _too_bright(light, brightest_months_wh_per_m2_day(-latitude)):
            month = max(months, key=lambda month: 1000.0 * light[month] - most[month])
            yield Clash(
                "latitude_deg",
                f"is {latitude:g}, where {MONTHS[month]} has no more than "
                f"{most[month] / 1000.0:.2f} kWh/m2 a day on the flat, not {light[month]:g}",
                f"Is the latitude's sign forgotten? South is negative; {-latitude:g} would fit.",
            )
            return
        for month in months:
            yield Clash(
                "irradiation_kwh_per_m2_day",
                f"is {light[month]:g} kWh/m2 a day in {MONTHS[month]}, more than can reach the "
                f"ground at latitude {latitude:g} ({most[month] / 1000.0:.2f})",
                "Check the unit (kWh a day, not a month) and the latitude: south is negative.",
                (month,),
            )


def _too_bright(light_kwh: tuple[float, ...], most_wh: FloatArray) -> list[int]:
    """Months, counted from nought, with more light than can be."""
    return [month for month in range(12) if 1000.0 * light_kwh[month] > most_wh[month]]
