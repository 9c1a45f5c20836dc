"""One lane after another: an arrangement in one draw, through all its years, to its total cost.

The compiled half of `tco.money.lanes`, which gathers what goes in here.
"""

import math
from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

from tco.life.health import LONGEST_LIFE_YEARS
from tco.life.response import FOLLOWED
from tco.money.draws import INPUTS

FloatArray = NDArray[np.float64]

STEPS_PER_YEAR = 6
"""Steps in which a lane ages. Coarser than the ledger's months; within 0.5 % of it (tested)."""

_CAL, _CYC = FOLLOWED.index("calendar_stress"), FOLLOWED.index("cycle_stress")
_ENGINE, _SHORE = FOLLOWED.index("engine_wh"), FOLLOWED.index("shore_wh")
_GENERATOR, _DAYS = FOLLOWED.index("generator_wh"), FOLLOWED.index("unserved_days")
_BANK = FOLLOWED.index("from_bank_wh")
_K = len(FOLLOWED)

(
    _PACK_PRICE,
    _LATER_PRICE,
    _PARTS,
    _CYCLE_LIFE,
    _CALENDAR_LIFE,
    _USE,
    _ENERGY_PRICE,
    _DAY_PRICE,
    _RESALE,
    _DISCOUNT,
    _INFLATION,
) = (
    INPUTS.index(name)
    for name in (
        "pack_price",
        "later_pack_price",
        "parts_and_labour",
        "cycle_life",
        "calendar_life",
        "energy_use",
        "energy_price",
        "day_without_power",
        "resale",
        "discount_rate",
        "inflation",
    )
)

Function = TypeVar("Function", bound=Callable[..., Any])


def _compiled(function: Function) -> Function:
    return cast(Function, njit(cache=True, nogil=True, error_model="numpy")(function))


@_compiled
def _between(table: FloatArray, h: int, share: float, k: int) -> float:
    """Total k between two levels of health."""
    return float(table[h, k] + share * (table[h + 1, k] - table[h, k]))


@_compiled
def _health(calendar: float, cycle: float, bank: Any) -> float:
    """Health after accumulated stresses; see `tco.life.stress`."""
    if bank.exponent == 0.5:
        a, b = math.sqrt(calendar), math.sqrt(cycle)
    else:
        a, b = calendar**bank.exponent, cycle**bank.exponent
    return float(1.0 - (max(a, b) if bank.larger_counts > 0.5 else a + b))


@_compiled
def _threshold(need: FloatArray, end_of_life: float, low: int, high: int, place: float) -> float:
    """Health at which the bank is replaced, between two levels of use.

    A need of 0 at one level means that need never counts there; the nearer level then decides.
    """
    at_low, at_high = need[low], need[high]
    if at_low > 0.0 and at_high > 0.0:
        return float(max(end_of_life, at_low + place * (at_high - at_low)))
    return float(max(end_of_life, at_low if place < 0.5 else at_high))


@_compiled
def _poisson(mean: float, u: float) -> int:
    """Number of events of a Poisson law at cumulative probability u (inverse distribution)."""
    term = math.exp(-mean)
    total, number = term, 0
    while u > total and number < 1000:
        number += 1
        term *= mean / number
        total += term
    return number


@_compiled
def run(
    first: int,
    last: int,
    market: Any,
    money: Any,
    use_levels: FloatArray,
    health_levels: FloatArray,
    values: FloatArray,
    need: FloatArray,
    failure_pack: FloatArray,
    failure_other: FloatArray,
    hazard: FloatArray,
    candidate: NDArray[np.int64],
    rates: FloatArray,
    common: FloatArray,
    luck: FloatArray,
    event_u: FloatArray,
    weather: NDArray[np.int64],
    horizon: int,
    expected_failures: bool,
    out: FloatArray,
) -> None:
    """Lanes first to last (excluded), counted arrangement by arrangement."""
    number = common.shape[0]
    levels = health_levels.size
    span = health_levels[1] - health_levels[0]
    table = np.empty((levels, _K))
    step = 1.0 / STEPS_PER_YEAR
    for lane in range(first, last):
        a, d = lane // number, lane % number
        bank, x = money[a], common[d]
        discount = 1.0 + market.discount_rate + x[_DISCOUNT]
        inflation = 1.0 + market.inflation + x[_INFLATION]
        trended = inflation * (1.0 + market.trend)
        own = luck[d, candidate[a]]
        cycle_life, calendar_life = x[_CYCLE_LIFE] * own, x[_CALENDAR_LIFE] * own
        # between two levels of use
        place, low_use = 0.0, 0
        if use_levels.size > 1:
            low_use = use_levels.size - 2
            for k in range(use_levels.size - 1):
                if x[_USE] < use_levels[k + 1]:
                    low_use = k
                    break
            place = (x[_USE] - use_levels[low_use]) / (
                use_levels[low_use + 1] - use_levels[low_use]
            )
            place = min(max(place, 0.0), 1.0)
        high_use = min(low_use + 1, use_levels.size - 1)
        threshold = _threshold(need[a], market.end_of_life, low_use, high_use, place)

        cost = (
            bank.packs_price * market.tax * x[_PACK_PRICE]
            + bank.freight_price
            + (bank.parts_price + bank.labour_price + bank.charger_price) * x[_PARTS]
            + bank.other_first
        )
        kwh = 0.0
        health, calendar, cycle, age = 1.0, 0.0, 0.0, 0.0
        life_of_first = -1.0
        failed = 0.0
        for year in range(horizon):
            w = weather[d, year]
            for h in range(levels):
                for k in range(_K):
                    below = values[a, low_use, w, h, k]
                    table[h, k] = below + place * (values[a, high_use, w, h, k] - below)
            age_at_middle = age + 0.5
            engine = shore = generator = days = drawn = 0.0
            for part in range(STEPS_PER_YEAR):
                spot = min(max((health - health_levels[0]) / span, 0.0), levels - 1.0)
                h = min(int(spot), levels - 2)
                s = spot - h
                engine += step * _between(table, h, s, _ENGINE)
                shore += step * _between(table, h, s, _SHORE)
                generator += step * _between(table, h, s, _GENERATOR)
                days += step * _between(table, h, s, _DAYS)
                drawn += step * _between(table, h, s, _BANK)
                calendar_rate = _between(table, h, s, _CAL)
                cycle_rate = _between(table, h, s, _CYC)
                calendar += step * calendar_rate / calendar_life
                cycle += step * cycle_rate / cycle_life
                before = health
                health = _health(calendar, cycle, bank)
                age += step
                if health <= threshold:
                    fraction = (before - threshold) / max(before - health, 1e-12)
                    fraction = min(max(fraction, 0.0), 1.0)
                    moment = year + (part + fraction) * step
                    if life_of_first < 0.0:
                        life_of_first = moment
                    rise, worth = inflation**moment, trended**moment
                    cost += (
                        bank.packs_price * market.tax * worth * x[_LATER_PRICE]
                        + (bank.freight_price + bank.disposal) * rise
                        + bank.swap_labour * rise * x[_PARTS]
                    ) / discount**moment
                    rest = (1.0 - fraction) * step
                    calendar = rest * table[levels - 1, _CAL] / calendar_life
                    cycle = rest * table[levels - 1, _CYC] / cycle_life
                    age = rest
                    health = _health(calendar, cycle, bank)
                    if part * step < 0.5:
                        age_at_middle = max(year + 0.5 - moment, 0.0)
            ends = year + 1.0
            rise, worth, factor = inflation**ends, trended**ends, discount**-ends
            index = min(int(age_at_middle), horizon - 1)
            mean = rates[a, d] * hazard[a, index]
            events = mean if expected_failures else float(_poisson(mean, event_u[d, year]))
            failed += events
            cost += factor * (
                rise
                * x[_ENERGY_PRICE]
                * (
                    engine * market.engine_price
                    + shore * market.shore_price
                    + generator * market.generator_price
                )
                + rise * days * market.day_price * x[_DAY_PRICE]
                + rise * bank.checks * x[_PARTS]
                - rise * bank.upkeep_saved
                + events
                * (
                    bank.pack_price * worth * x[_LATER_PRICE] * failure_pack[a, index]
                    + failure_other[a, index] * rise
                )
            )
            kwh += factor * drawn / 1000.0
        # what is left: of a life that has not ended yet, from the pace at which it wears
        full = life_of_first
        if full < 0.0:
            full = _life_beyond(
                calendar,
                cycle,
                age,
                threshold,
                table,
                health_levels,
                calendar_life,
                cycle_life,
                bank,
            )
        left = max(0.0, 1.0 - age / full)
        rise, worth = inflation**horizon, trended**horizon
        cost += (
            -bank.packs_price * worth * x[_LATER_PRICE] * market.resale_share * x[_RESALE] * left
            + bank.disposal * rise * (1.0 - left)
        ) / discount**horizon
        out[0, a, d] = cost
        out[1, a, d] = kwh
        out[2, a, d] = full
        out[3, a, d] = failed


@_compiled
def _life_beyond(
    calendar: float,
    cycle: float,
    age: float,
    threshold: float,
    table: FloatArray,
    health_levels: FloatArray,
    calendar_life: float,
    cycle_life: float,
    bank: Any,
) -> float:
    """Age at which a bank that outlives the horizon would end, in half years, at most the longest.

    The last year's weather goes on.
    """
    levels = health_levels.size
    span = health_levels[1] - health_levels[0]
    step = 0.5
    while age < LONGEST_LIFE_YEARS:
        health = _health(calendar, cycle, bank)
        if health <= threshold:
            return age
        spot = min(max((health - health_levels[0]) / span, 0.0), levels - 1.0)
        h = min(int(spot), levels - 2)
        s = spot - h
        calendar += step / calendar_life * _between(table, h, s, _CAL)
        cycle += step / cycle_life * _between(table, h, s, _CYC)
        age += step
    return float(LONGEST_LIFE_YEARS)
