"""Values that can be and rarely are: a nought too many, inches for millimetres, an empty latitude.

Nothing here refuses a value: a doubt is a sentence beside its cell. All thresholds are common
practice, no source, and stand in `USUAL`, generous enough that the usual case meets none.
"""

import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tco.case.case import Case
from tco.case.times import MONTHS
from tco.sentences import Quantity, says

Location = tuple[str | int, ...]

_SIDE = "is it in another unit?"
_UNIT = "check the number and its unit."
_SHARE = "check it, and whether it was meant in per cent."


@dataclass(frozen=True)
class Doubt:
    """A sentence about a value, and the value's place in the case (as `Problem.location`)."""

    location: Location
    sentence: str


@dataclass(frozen=True)
class Usual:
    """What a number usually is: its place, its words and unit ("%" shows a share in per cent)."""

    path: tuple[str, ...]
    words: str
    unit: str
    low: float | None = None
    high: float | None = None
    ask: str = _UNIT


_SPACE, _SOURCES, _PACK = ("system", "spaces"), ("sources",), ("candidates",)
_PRICES, _CLIMATE, _ASSUMPTIONS = ("prices",), ("climate",), ("assumptions",)

USUAL: tuple[Usual, ...] = (
    Usual((*_SPACE, "width_mm"), "A width of a battery space", "mm", 100, 3_000, _SIDE),
    Usual((*_SPACE, "depth_mm"), "A depth of a battery space", "mm", 100, 3_000, _SIDE),
    Usual((*_SPACE, "height_mm"), "A height of a battery space", "mm", 100, 3_000, _SIDE),
    Usual((*_SPACE, "opening_width_mm"), "A width of an opening", "mm", 50, 3_000, _SIDE),
    Usual((*_SPACE, "opening_height_mm"), "A height of an opening", "mm", 50, 3_000, _SIDE),
    Usual((*_SPACE, "clearance_side_mm"), "A gap at the walls", "mm", None, 200, _SIDE),
    Usual((*_SPACE, "clearance_between_mm"), "A gap between packs", "mm", None, 200, _SIDE),
    Usual((*_SPACE, "clearance_top_mm"), "A gap above the packs", "mm", None, 500, _SIDE),
    Usual(("system", "mass_limit_kg"), "A mass limit", "kg", 5, 5_000),
    Usual(("system", "cable_run_m"), "A cable run", "m", 0.1, 30),
    Usual(("loads", "cable_run_m"), "A cable run", "m", 0.1, 30),
    Usual(("system", "inverter", "continuous_w"), "An inverter", "W", 50, 20_000),
    Usual(("system", "inverter", "surge_w"), "A surge rating", "W", 100, 60_000),
    Usual(("system", "inverter", "idle_w"), "An idle draw", "W", None, 200),
    Usual(("system", "inverter", "efficiency"), "An efficiency", "%", 0.7, 0.98, _SHARE),
    Usual(("system", "old_bank", "capacity_ah"), "An old bank", "Ah", 5, 5_000),
    Usual(("system", "old_bank", "mass_kg"), "An old bank", "kg", None, 5_000),
    Usual(("system", "old_bank", "age_years"), "An age of the old bank", "years", None, 25),
    Usual(("system", "parts", "rating_a"), "A rating of a part", "A", 1, 2_000),
    Usual(("system", "parts", "length_m"), "A length of cable", "m", None, 100),
    Usual(("loads", "power_w"), "A load", "W", None, 20_000),
    Usual(("loads", "current_a"), "A load", "A", None, 500),
    Usual(("loads", "surge_w"), "A starting peak", "W", None, 60_000),
    Usual(("loads", "quantity"), "A number of pieces", "pieces", None, 100),
    Usual((*_SOURCES, "solar", "peak_w"), "An array", "W", 5, 50_000),
    Usual((*_SOURCES, "solar", "controller_a"), "A charge controller", "A", 1, 500),
    Usual((*_SOURCES, "solar", "efficiency"), "An efficiency", "%", 0.5, 0.98, _SHARE),
    Usual((*_SOURCES, "solar", "shade"), "Light lost to shade", "%", None, 0.98, _SHARE),
    Usual((*_SOURCES, "solar", "cable_run_m"), "A cable run", "m", 0.1, 30),
    Usual((*_SOURCES, "engine", "rating_a"), "A charger", "A", 1, 500),
    Usual((*_SOURCES, "engine", "cable_run_m"), "A cable run", "m", 0.1, 30),
    Usual((*_SOURCES, "shore", "rating_a"), "A charger", "A", 1, 500),
    Usual((*_SOURCES, "shore", "efficiency"), "An efficiency", "%", 0.5, 0.98, _SHARE),
    Usual((*_SOURCES, "shore", "cable_run_m"), "A cable run", "m", 0.1, 30),
    Usual((*_SOURCES, "generator", "rating_a"), "A charger", "A", 1, 500),
    Usual((*_SOURCES, "generator", "efficiency"), "An efficiency", "%", 0.5, 0.98, _SHARE),
    Usual((*_SOURCES, "generator", "cable_run_m"), "A cable run", "m", 0.1, 30),
    Usual(("use", "living_degc"), "A living space", "degC", 5, 30),
    Usual(("use", "storage_charge"), "A charge in storage", "%", 0.2, None, _SHARE),
    Usual((*_CLIMATE, "mean_degc"), "A mean temperature", "degC", -35, 38),
    Usual((*_CLIMATE, "min_degc"), "A usual night", "degC", -45, 32),
    Usual((*_CLIMATE, "max_degc"), "A usual afternoon", "degC", -30, 48),
    Usual((*_CLIMATE, "irradiation_kwh_per_m2_day"), "Light on the flat", "kWh/m2 a day", None, 9),
    Usual((*_PACK, "capacity_ah"), "A capacity of a pack", "Ah", 2, 2_000),
    Usual((*_PACK, "mass_kg"), "A mass of a pack", "kg", 0.5, 500),
    Usual((*_PACK, "usable_depth"), "A usable share", "%", 0.3, None, _SHARE),
    Usual((*_PACK, "internal_resistance_mohm"), "A resistance of a pack", "mohm", 0.05, 200),
    Usual((*_PACK, "short_circuit_a"), "A short-circuit current of a pack", "A", 200, 50_000),
    Usual((*_PACK, "heater_w"), "A heater", "W", None, 500),
    Usual((*_PACK, "rated_cycles"), "A rating", "cycles", 100, 30_000),
    Usual((*_PACK, "rated_depth"), "A depth of the rated cycles", "%", 0.1, None, _SHARE),
    Usual((*_PACK, "end_of_life"), "A health that cycles end at", "%", 0.5, 0.9, _SHARE),
    Usual((*_PACK, "calendar_life_years"), "A calendar life", "years", 2, 30),
    Usual((*_PACK, "self_discharge_per_month"), "Self-discharge a month", "%", None, 0.15, _SHARE),
    Usual((*_PACK, "warranty_years"), "A warranty", "years", None, 15),
    Usual((*_PACK, "lead_time_days"), "A lead time", "days", None, 180),
    Usual((*_PRICES, "tax_rate"), "A tax", "%", None, 0.3, _SHARE),
    Usual((*_PRICES, "discount_rate"), "A discount rate", "%", 0.0, 0.15, _SHARE),
    Usual((*_PRICES, "inflation"), "An inflation", "%", -0.02, 0.15, _SHARE),
    Usual((*_PRICES, "pack_price_trend"), "A yearly change of pack prices", "%", -0.2, 0.1, _SHARE),
    Usual((*_PRICES, "minutes_per_termination"), "Work on one cable end", "minutes", None, 120),
    Usual((*_PRICES, "minutes_per_pack"), "Setting one pack", "minutes", None, 600),
    Usual((*_PRICES, "minutes_per_kg_lifted"), "Lifting one kg", "minutes", None, 10),
    Usual((*_PRICES, "usual_lead_time_days"), "A usual lead time", "days", None, 180),
    Usual((*_ASSUMPTIONS, "autonomy_days"), "An autonomy", "days", None, 14),
    Usual((*_ASSUMPTIONS, "end_of_life_health"), "A health at replacement", "%", 0.4, None, _SHARE),
    Usual(
        (*_ASSUMPTIONS, "lead_end_of_life_health"), "A lead-acid health at replacement", "%", 0.4,
        None, _SHARE,
    ),
    Usual((*_ASSUMPTIONS, "credibility"), "A share that is believed", "%", 0.3, None, _SHARE),
    Usual((*_ASSUMPTIONS, "critical_drop"), "A voltage drop", "%", 0.005, 0.1, _SHARE),
    Usual((*_ASSUMPTIONS, "tolerated_hours_without_power"), "Outage", "h a year", None, 1_000),
    Usual(("evidence", "months"), "A time watched", "months", None, 240),
    Usual(("evidence", "units"), "A number of packs seen", "packs", None, 100_000),
    Usual(("warranties", "term_years"), "A warranty", "years", None, 20),
    Usual(("warranties", "downtime_days"), "A wait for a claim", "days", None, 180),
    Usual(("reliability", "stated_rates", "rate_per_pack_year"), "A failure rate", "a pack year",
          None, 0.3),
)  # fmt: skip

MOST_WH_PER_DAY_LOAD = 24_000.0
"""A kilowatt all day."""
DAY_OVER_PACK = 3.0
"""A day without power that costs more than this many packs is doubted."""


def odd_values(case: Case) -> tuple[Doubt, ...]:
    """Doubts about the numbers of a case, its candidates' claims against each other aside."""
    found = [
        Doubt(location, sentence)
        for usual in USUAL
        for location, sentence in _beyond(case, usual.path, (), usual)
    ]
    found += _hungry_loads(case)
    found += _given_away(case)
    found += _dear_days(case)
    if case.climate.latitude_deg == 0.0:
        found.append(
            Doubt(
                ("climate", "latitude_deg"),
                "A latitude of 0 is on the equator: was it left empty?",
            )
        )
    return tuple(found)


def _beyond(
    value: Any, path: tuple[str, ...], location: Location, usual: Usual
) -> Iterator[tuple[Location, str]]:
    """Places at a path, in every row of its lists, where a number is unusual, and why."""
    if value is None:
        return
    if isinstance(value, tuple) and path:
        for place, entry in enumerate(value):
            yield from _beyond(entry, path, (*location, place), usual)
        return
    if path:
        yield from _beyond(getattr(value, path[0]), path[1:], (*location, path[0]), usual)
        return
    if isinstance(value, tuple):
        odd = [month for month, entry in enumerate(value) if _limit_passed(entry, usual)]
        if odd:
            sentence = _sentence(value[odd[0]], usual, f" in {MONTHS[odd[0]]}")
            yield (*location, odd[0]), sentence
    elif _limit_passed(value, usual):
        yield location, _sentence(value, usual, "")


def _limit_passed(value: float, usual: Usual) -> bool:
    return (usual.low is not None and value < usual.low) or (
        usual.high is not None and value > usual.high
    )


def _sentence(value: float, usual: Usual, when: str) -> str:
    low = usual.low is not None and value < usual.low
    limit = usual.low if low else usual.high
    assert limit is not None  # by _limit_passed
    return says(
        f"{usual.words} of ",
        _shown(value, usual.unit),
        f"{when} is {'less' if low else 'more'} than the usual ",
        _shown(limit, usual.unit),
        f": {usual.ask}",
    )


def _shown(value: float, unit: str) -> str | Quantity:
    if unit == "%":
        return f"{100.0 * value:.4g} %"
    digits = ",.0f" if abs(value) >= 10_000 else ".4g"
    return Quantity(value, unit, digits)


def _hungry_loads(case: Case) -> Iterator[Doubt]:
    for place, load in enumerate(case.loads):
        wh = load.watts(case.system.nominal_voltage_v) * load.hours_per_day * load.quantity
        if wh > MOST_WH_PER_DAY_LOAD:
            yield Doubt(
                ("loads", place, "hours_per_day"),
                f"{load.name} takes {wh / 1000.0:,.0f} kWh a day, more than the "
                f"{MOST_WH_PER_DAY_LOAD / 1000.0:.0f} kWh of a kilowatt all day: check power, "
                "hours and pieces.",
            )


def _given_away(case: Case) -> Iterator[Doubt]:
    for place, candidate in enumerate(case.candidates):
        if candidate.price == 0.0:
            yield Doubt(
                ("candidates", place, "price"),
                f"{candidate.name} costs nothing: it wins by that alone. Is its price not known?",
            )


def _dear_days(case: Case) -> Iterator[Doubt]:
    prices = [candidate.price for candidate in case.candidates if candidate.price > 0.0]
    if not prices:
        return
    pack, day = statistics.median(prices), case.prices.day_without_power_price
    if day > DAY_OVER_PACK * pack:
        yield Doubt(
            ("prices", "day_without_power_price"),
            f"A day without power at {day:,.0f} costs {day / pack:,.0f} times a usual pack here "
            f"({pack:,.0f}): the answer is then about outages alone.",
        )
