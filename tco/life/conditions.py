"""What every arrangement of a case meets, hour by hour: loads, sources, the space's temperature.

Built once per case and shared by all arrangements. Arrays have shape (weather years x 8760,).
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from tco.bank.budget import EnergyBudget
from tco.bank.charging import CHARGING_OVER_NOMINAL
from tco.bank.cold import coldest_warmth, surface_share
from tco.case import Case, Climate
from tco.case.times import hours_of_window
from tco.case.use import EngineCharger, Shore, Solar
from tco.case.weather_file import read_weather_file
from tco.physics.arrays import BoolArray, FloatArray, IntArray
from tco.physics.heat import space_temperature_degc
from tco.physics.lead_acid import SULPHATION
from tco.physics.sun import cell_temperature_degc
from tco.physics.weather import MONTH_LENGTHS, HourlyWeather, plane_of_array, synthetic_weather

DAYS_PER_WEEK = 7


Kind = Literal["engine", "shore", "generator"]


@dataclass(frozen=True)
class Bought:
    """A source whose energy is paid for.

    `share` of the energy of its kind: what it offers in a year over what all of the kind offer,
    since the simulated hours keep apart kinds, not sources. `price_per_kwh` as it is bought, before
    the charger, of which `efficiency` arrives at the bank's terminals.
    """

    kind: Kind
    name: str
    share: float
    price_per_kwh: float
    efficiency: float

    @property
    def price_at_terminals(self) -> float:
        """Price per kWh that arrives at the bank."""
        return self.price_per_kwh / self.efficiency


@dataclass(frozen=True)
class Conditions:
    """Hourly conditions at the bank's terminals.

    Loads wanted (`essential_w`, `other_w`) and power on offer (`solar_w`, `engine_w`, `shore_w`,
    `generator_w`; the generator's only if it is started) [W], temperature of the battery's space
    [degC], whether the system is laid up, and the calendar month 0..11. The generator starts and
    stops at the states of charge given; charging stops at `charge_ceiling` (by month), when laid up
    at `storage_charge` (lead-acid: `storage_charge_lead`), with the packs' heaters on or off.
    `sulphation` and `surface_share` as in `tco.life.records.Rules`. `bought`: every source whose
    energy is paid for; the prices of a kind are per kWh at the bank's terminals, the mean of its
    sources by their shares.
    """

    essential_w: FloatArray
    other_w: FloatArray
    solar_w: FloatArray
    engine_w: FloatArray
    shore_w: FloatArray
    generator_w: FloatArray
    space_degc: FloatArray
    laid_up: BoolArray
    month: IntArray
    years: int
    generator_start: float
    generator_stop: float
    storage_charge: float
    lost_day_hours: float
    bought: tuple[Bought, ...]
    charge_ceiling: tuple[float, ...] = (1.0,) * 12
    storage_charge_lead: float = 1.0
    heater_when_laid_up: bool = True
    sulphation: float = SULPHATION
    surface_share: float = 1.0

    @property
    def engine_price_per_kwh(self) -> float:
        """Mean price of engine energy; 0 where there is none."""
        return self._price("engine")

    @property
    def shore_price_per_kwh(self) -> float:
        """Mean price of shore energy; 0 where there is none."""
        return self._price("shore")

    @property
    def generator_price_per_kwh(self) -> float:
        """Price of generator energy; 0 where there is none."""
        return self._price("generator")

    @property
    def coldest_offered_space_degc(self) -> float:
        """The coldest hour of the battery's space in which a source has power to offer.

        The coldest of all where none ever has.
        """
        offers = self.solar_w + self.engine_w + self.shore_w + self.generator_w > 0.0
        return float(self.space_degc[offers].min() if offers.any() else self.space_degc.min())

    def _price(self, kind: Kind) -> float:
        return sum((b.share * b.price_at_terminals for b in self.bought if b.kind == kind), 0.0)


def weather_of(
    climate: Climate, *, years: int, seed: int, clearness_spread: float, lasting: bool = False
) -> HourlyWeather:
    """Hourly weather of a climate: its file's where it has one, else synthetic.

    A file brings its own years. Both are kept, since every edit of a case asks for them again.
    """
    if climate.weather_file:
        return read_weather_file(climate.weather_file).weather
    return _synthetic(
        climate, years=years, seed=seed, clearness_spread=clearness_spread, lasting=lasting
    )


@lru_cache(maxsize=8)
def _synthetic(
    climate: Climate, *, years: int, seed: int, clearness_spread: float, lasting: bool
) -> HourlyWeather:
    return synthetic_weather(
        latitude_deg=climate.latitude_deg,
        mean_degc=climate.mean_degc,
        min_degc=climate.min_degc,
        max_degc=climate.max_degc,
        irradiation_kwh_per_m2_day=climate.irradiation_kwh_per_m2_day,
        years=years,
        seed=seed,
        clearness_spread=clearness_spread,
        lasting=lasting,
    )


def conditions(case: Case, budget: EnergyBudget, *, lasting: bool = False) -> Conditions:
    """Hourly conditions of a case over its weather years.

    With `lasting`, synthetic years stray for whole months, so that some are worse than others: for
    how often something happens. Without it each is nearly a mean year: a few of them then serve to
    rank, where a few that differ would rank by the luck of the draw.
    """
    assumptions = case.assumptions
    weather = weather_of(
        case.climate,
        years=assumptions.weather_years,
        seed=assumptions.seed,
        clearness_spread=assumptions.clearness_spread,
        lasting=lasting,
    )
    years = weather.years
    month = weather.month_index.astype(np.int64)
    hour = np.tile(np.arange(24), 365 * years)
    occupied_day, laid_up_day = days_there(case)
    occupied = np.tile(np.repeat(occupied_day, 24), years)
    laid_up = np.tile(np.repeat(laid_up_day, 24), years)
    essential = np.where(occupied, budget.essential_w[month, hour], budget.away_w[month, hour])
    other = np.where(occupied, budget.other_w[month, hour], 0.0)
    charging_v = CHARGING_OVER_NOMINAL * case.system.nominal_voltage_v
    present = occupied & ~laid_up
    solar = _solar(case, weather, month, charging_v)
    engine = np.tile(_engine(case) * charging_v, years) * present
    shore_day = _shore(case, laid_up_day) * charging_v
    shore = np.tile(shore_day, years)
    generator = np.tile(_generator(case) * charging_v, years) * present
    if case.use.charged_when_laid_up != "solar":
        solar = np.where(laid_up, 0.0, solar)
    space = space_temperature_degc(
        weather.temperature_degc,
        living_degc=case.use.living_degc,
        warmth=coldest_warmth(case),
        occupied=occupied,
    )
    started = case.sources.generator[0] if case.sources.generator else None
    return Conditions(
        essential_w=essential,
        other_w=other,
        solar_w=solar,
        engine_w=engine,
        shore_w=shore,
        generator_w=generator,
        space_degc=space,
        laid_up=laid_up,
        month=month,
        years=years,
        generator_start=started.start_below if started else 0.0,
        generator_stop=started.stop_above if started else 1.0,
        storage_charge=case.use.storage_charge,
        storage_charge_lead=case.use.storage_charge_lead,
        heater_when_laid_up=case.use.heater_when_laid_up,
        sulphation=assumptions.sulphation,
        surface_share=surface_share(case),
        lost_day_hours=case.assumptions.lost_day_hours,
        bought=_bought(case, occupied_day & ~laid_up_day, laid_up_day),
    )


def _bought(case: Case, present: BoolArray, laid_up: BoolArray) -> tuple[Bought, ...]:
    """Sources whose energy is paid for, with their shares by the energy they offer in a year."""
    there = np.repeat(present, 24)
    sources = case.sources
    offers: list[tuple[Kind, str, float, float, float]] = [
        *(
            ("engine", s.name, float(_engine_a(s)[there].sum()), s.energy_price_per_kwh, 1.0)
            for s in sources.engine
        ),
        *(
            (
                "shore",
                s.name,
                float(_shore_a(case, s, laid_up).sum()),
                s.energy_price_per_kwh,
                s.efficiency,
            )
            for s in sources.shore
        ),
        *(
            (
                "generator",
                s.name,
                float(_generator(case).sum()),
                s.energy_price_per_kwh,
                s.efficiency,
            )
            for s in sources.generator
        ),
    ]
    whole: dict[str, float] = {}
    for kind, _, offered, _, _ in offers:
        whole[kind] = whole.get(kind, 0.0) + offered
    return tuple(
        Bought(kind, name, offered / whole[kind] if whole[kind] > 0 else 0.0, price, efficiency)
        for kind, name, offered, price, efficiency in offers
    )


def days_there(case: Case) -> tuple[BoolArray, BoolArray]:
    """For each day of the year: is somebody there, is the system laid up.

    Days away are taken from each week (its last days are the ones with somebody there) or as one
    block at the end of the month, as the case says.
    """
    occupied, laid_up = [], []
    for month, length in enumerate(MONTH_LENGTHS):
        in_use = month + 1 in case.use.months_in_use
        away = min(case.use.days_away_per_month[month], float(length))
        here = 1.0 - away / length
        days = np.zeros(length, dtype=bool)
        if case.use.away_pattern == "one block":
            days[: round(here * length)] = True
        else:
            done = 0
            for first in range(0, length, DAYS_PER_WEEK):
                last = min(first + DAYS_PER_WEEK, length)
                count = round(here * last) - done
                done += count
                if count > 0:
                    days[last - count : last] = True
        occupied.append(days & in_use)
        laid_up.append(np.full(length, not in_use))
    return np.concatenate(occupied), np.concatenate(laid_up)


def _solar(case: Case, weather: HourlyWeather, month: IntArray, charging_v: float) -> FloatArray:
    total = np.zeros(month.size)
    for array in case.sources.solar:
        total += array_power_w(array, weather, month, case.climate.latitude_deg, charging_v)
    return total


def array_power_w(
    array: Solar,
    weather: HourlyWeather,
    month: IntArray,
    latitude_deg: float,
    charging_v: float,
) -> FloatArray:
    """Power of a solar array at the bank's terminals. [W]

    Plane-of-array irradiance less the month's shade, times rated power and efficiency, corrected
    for cell temperature (NOCT formula), limited by the controller's current.
    """
    light = plane_of_array(
        weather,
        latitude_deg=latitude_deg,
        tilt_deg=array.tilt_deg,
        azimuth_deg=array.azimuth_deg,
    )
    light = light * (1.0 - np.asarray(array.shade))[month]
    cell = cell_temperature_degc(weather.temperature_degc, light)
    hot = 1.0 + array.temperature_coefficient_per_k * (cell - 25.0)
    power = array.peak_w * array.efficiency * light / 1000.0 * hot
    return np.clip(power, 0.0, array.controller_a * charging_v)


def _engine(case: Case) -> FloatArray:
    """Current of all engine-driven chargers through a year, hourly. [A]

    The hours of a day run on end from the opening of the window.
    """
    return sum((_engine_a(source) for source in case.sources.engine), np.zeros(365 * 24))


def _engine_a(source: EngineCharger) -> FloatArray:
    window = np.asarray(hours_of_window(source.when))
    opening = _first_hour(window)
    order = [(opening + i) % 24 for i in range(24)]
    by_month = []
    for hours in source.hours_per_day:
        left, day = hours, np.zeros(24)
        for h in order:
            day[h] = min(window[h], left)
            left -= day[h]
        by_month.append(day)
    days = [np.tile(day, length) for day, length in zip(by_month, MONTH_LENGTHS, strict=True)]
    return source.rating_a * np.concatenate(days)


def _first_hour(window: FloatArray) -> int:
    """First hour of a window that may cross midnight."""
    for hour in range(24):
        if window[hour] > 0 and window[hour - 1] == 0:
            return hour
    return 0


def _shore(case: Case, laid_up_day: BoolArray) -> FloatArray:
    """Current of all shore chargers through a year, hourly. [A]

    The nights on a hook-up are spread evenly over the month, whoever is there; parts of a night
    carry over to the next month. A night that crosses midnight goes on into the next morning.
    A laid-up system that is charged from shore is plugged in always.
    """
    every = (_shore_a(case, source, laid_up_day) for source in case.sources.shore)
    return sum(every, np.zeros(365 * 24))


def _shore_a(case: Case, source: Shore, laid_up_day: BoolArray) -> FloatArray:
    window = np.asarray(hours_of_window(source.when))
    crosses = window[0] > 0 and window[23] > 0
    evening = np.where(np.arange(24) >= 12, window, 0.0) if crosses else window
    morning = window - evening
    share = np.minimum(np.asarray(source.nights_per_month) / MONTH_LENGTHS, 1.0)
    so_far = np.floor(np.cumsum(np.repeat(share, MONTH_LENGTHS)) + 1e-6)
    on = np.diff(so_far, prepend=0.0) * ~laid_up_day
    hours = np.outer(on, evening) + np.outer(np.roll(on, 1), morning)
    if case.use.charged_when_laid_up == "shore":
        hours[laid_up_day] = 1.0
    else:
        hours[laid_up_day] = 0.0
    return source.rating_a * hours.ravel()


def _generator(case: Case) -> FloatArray:
    total = np.zeros(365 * 24)
    for source in case.sources.generator:
        window = np.asarray(hours_of_window(source.when))
        days = [
            np.tile(window * (month + 1 in source.months), length)
            for month, length in enumerate(MONTH_LENGTHS)
        ]
        total += source.rating_a * np.concatenate(days)
    return total
