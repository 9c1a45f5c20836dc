"""How the system is used: loads, charging sources, the months away, the climate."""

from typing import Literal

from pydantic import Field, model_validator

from tco.case.quantities import (
    Fraction,
    Model,
    MonthlyAmount,
    MonthlyFraction,
    MonthlyTemperature,
    MonthSet,
    Name,
    NonNegative,
    Number,
    Positive,
    ShareAboveZero,
    Temperature,
    Window,
)

ALL_YEAR = tuple(range(1, 13))


class Load(Model):
    """One consumer.

    Exactly one of `power_w` and `current_a` (at the system's nominal voltage; behind the inverter,
    at the battery side) is given. `hours_per_day` are spread evenly over the window `when`.
    `at_once` of the `quantity` may run together.
    """

    name: Name
    power_w: NonNegative | None = None
    current_a: NonNegative | None = None
    surge_w: NonNegative | None = None
    hours_per_day: NonNegative = Field(le=24)
    via: Literal["dc", "inverter"] = "dc"
    when: Window = "any time"
    months: MonthSet = ALL_YEAR
    quantity: int = Field(default=1, ge=1)
    at_once: int | None = Field(default=None, ge=1)
    essential: bool = True
    also_when_away: bool = False

    @model_validator(mode="after")
    def _one_size(self) -> "Load":
        if (self.power_w is None) == (self.current_a is None):
            raise ValueError(f"load {self.name!r}: give power_w or current_a, one of the two")
        if self.at_once is not None and self.at_once > self.quantity:
            raise ValueError(
                f"load {self.name!r}: at_once ({self.at_once}) is more than quantity "
                f"({self.quantity})"
            )
        if self.surge_w is not None and self.power_w is not None and self.surge_w < self.power_w:
            raise ValueError(
                f"load {self.name!r}: surge_w ({self.surge_w:g}) is below power_w "
                f"({self.power_w:g}); give the starting peak"
            )
        return self

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
    `replacement_price` buys one that suits, where the profile is missing.
    """

    profiles: tuple[str, ...] = ("lead",)
    adjustable: bool = False
    current_adjustable: bool = False
    charges_below_freezing: bool = True
    replacement_price: NonNegative | None = None


class Solar(Charger):
    """A solar array and its charge controller. Azimuth: 0 north, 90 east, 180 south."""

    name: Name = "solar"
    peak_w: Positive
    tilt_deg: Number = Field(default=0.0, ge=0, le=90)
    azimuth_deg: Number = Field(default=180.0, ge=0, le=360)
    shade: MonthlyFraction = (0.0,) * 12
    controller_a: Positive
    efficiency: ShareAboveZero = 0.85
    temperature_coefficient_per_k: Number = Field(default=-0.0035, le=0, ge=-0.01)


class EngineCharger(Charger):
    """A DC-DC charger, or an alternator charging directly, that works while the engine runs."""

    name: Name = "DC-DC charger"
    rating_a: Positive
    hours_per_day: MonthlyAmount
    when: Window = "day"
    energy_price_per_kwh: NonNegative = 0.0


class Shore(Charger):
    """A mains charger and the nights on a hook-up."""

    name: Name = "shore charger"
    rating_a: Positive
    nights_per_month: MonthlyAmount
    when: Window = "18-8"
    efficiency: ShareAboveZero = 0.90
    energy_price_per_kwh: NonNegative = 0.30


class Generator(Charger):
    """A generator with its charger, started by hand when the battery is low."""

    name: Name = "generator"
    rating_a: Positive
    start_below: Fraction = 0.3
    stop_above: Fraction = 0.8
    when: Window = "8-20"
    months: MonthSet = ALL_YEAR
    efficiency: ShareAboveZero = 0.85
    energy_price_per_kwh: NonNegative = 1.0

    @model_validator(mode="after")
    def _stop_above_start(self) -> "Generator":
        if self.stop_above <= self.start_below:
            raise ValueError(
                f"stop_above ({self.stop_above:g}) must be higher than start_below "
                f"({self.start_below:g})"
            )
        return self


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
    `also_when_away` draw, and the bank is brought to `storage_charge`. `charged_when_laid_up`
    says which sources then keep it there.
    """

    months_in_use: MonthSet = ALL_YEAR
    days_away_per_month: MonthlyAmount = (0.0,) * 12
    living_degc: Temperature = 18.0
    storage_charge: ShareAboveZero = 1.0
    charged_when_laid_up: Literal["no", "solar", "shore"] = "solar"

    @model_validator(mode="after")
    def _somebody_is_there(self) -> "Use":
        if not self.months_in_use:
            raise ValueError("months_in_use is empty; name the months in which the bank is used")
        if any(days > 31 for days in self.days_away_per_month):
            raise ValueError("days_away_per_month: a month has at most 31 days")
        return self


class Climate(Model):
    """Monthly climate of one site, January first.

    Mean daily temperature, mean daily minimum and maximum, and mean daily irradiation on the
    horizontal.
    """

    site: Name = "site"
    latitude_deg: Number = Field(ge=-90, le=90)
    mean_degc: MonthlyTemperature
    min_degc: MonthlyTemperature
    max_degc: MonthlyTemperature
    irradiation_kwh_per_m2_day: MonthlyAmount

    @model_validator(mode="after")
    def _ordered(self) -> "Climate":
        for month, (low, mean, high) in enumerate(
            zip(self.min_degc, self.mean_degc, self.max_degc, strict=True), start=1
        ):
            if not low <= mean <= high:
                raise ValueError(
                    f"month {month}: the mean ({mean:g} degC) must lie between the mean daily "
                    f"minimum ({low:g}) and maximum ({high:g})"
                )
        return self
