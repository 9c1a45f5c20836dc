"""One draw ledger after another: an arrangement in one draw, through its years, to its total cost.

The compiled half of `tco.money.draw_ledgers`, which gathers what goes in here.
"""

import math
from typing import Any

import numpy as np

from tco.life.health import BEYOND_STEP_YEARS
from tco.life.response import FOLLOWED
from tco.life.service import GOES_ON, Pace, Rule, level_of, put_in_service, served
from tco.money.draws import INPUTS
from tco.money.renewal import ALL, GONE, ONE, REFUND, ROUNDING, cost_of, expect
from tco.physics.arrays import FloatArray, IntArray
from tco.physics.compiled import compiled

STEPS_PER_YEAR = 12
"""Steps in which a bank ages: months, as in the ledger (`tco.life.health`)."""

_CAL, _CYC = FOLLOWED.index("calendar_stress"), FOLLOWED.index("cycle_stress")
_ENGINE, _SHORE = FOLLOWED.index("engine_wh"), FOLLOWED.index("shore_wh")
_GENERATOR, _DAYS = FOLLOWED.index("generator_wh"), FOLLOWED.index("unserved_days")
_BANK, _HOURS = FOLLOWED.index("from_bank_wh"), FOLLOWED.index("hours_without_power")
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

GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0
"""Step between the uniforms of several claims in one year; each by itself stays uniform."""


@compiled
def _mix(low: float, high: float, share: float) -> float:
    """Straight line between two values."""
    return low + share * (high - low)


@compiled
def _level_of_use(levels: FloatArray, use: float) -> tuple[int, float]:
    """Level of use below `use` and the share of the next one; beyond the ends the end counts."""
    if levels.size == 1:
        return 0, 0.0
    low = 0
    while low < levels.size - 2 and use >= levels[low + 1]:
        low += 1
    share = (use - levels[low]) / (levels[low + 1] - levels[low])
    return low, min(max(share, 0.0), 1.0)


@compiled
def _poisson(mean: float, u: float) -> int:
    """Number of events of a Poisson law at cumulative probability u (inverse distribution)."""
    term = math.exp(-mean)
    total, number = term, 0
    while u > total and number < 1000:
        number += 1
        term *= mean / number
        total += term
    return number


@compiled
def run(
    first: int,
    last: int,
    market: Any,
    money: Any,
    use_levels: FloatArray,
    places: FloatArray,
    values: FloatArray,
    failure_costs: FloatArray,
    hazard: FloatArray,
    candidate: IntArray,
    rates: FloatArray,
    common: FloatArray,
    luck: FloatArray,
    event_u: FloatArray,
    claim_u: FloatArray,
    event_shift: FloatArray,
    weather: IntArray,
    horizon: float,
    expected_failures: bool,
    out: FloatArray,
) -> None:
    """Draw ledgers first to last (excluded), counted arrangement by arrangement.

    The last weather year of `values` is the mean of the others: a life that outlasts the horizon
    is followed in it, and what being short costs a year is judged by it (see `tco.life.health` for
    the rule). A year's failures happen at its middle by the rule of `tco.money.renewal`; where all
    packs are bought anew, the new bank's life begins there. `claim_u` below zero pays each claim at
    its mean.
    """
    number = common.shape[0]
    levels = places.size
    wear_calendar, wear_cycle = np.empty(levels), np.empty(levels)
    time_at = np.empty(levels)  # part of a year spent at each level of health
    short, regretted = np.empty(levels), np.empty(levels)  # hours a year, and e
    totals = np.empty(_K)
    mean_year = values.shape[2] - 1
    years = math.ceil(horizon)
    expected = np.empty((4, years))
    to_replace = np.empty(4)
    for at in range(first, last):
        a, d = at // number, at % number
        bank, x = money[a], common[d]
        lowest = bank.end_of_life
        span = (1.0 - lowest) / (levels - 1)
        discount = 1.0 + market.discount_rate + x[_DISCOUNT]
        inflation = 1.0 + market.inflation + x[_INFLATION]
        trended = inflation * (1.0 + market.trend)
        own = luck[d, candidate[a]]
        cycle_life, calendar_life = x[_CYCLE_LIFE] * own, x[_CALENDAR_LIFE] * own
        low, place = _level_of_use(use_levels, x[_USE])
        high = min(low + 1, use_levels.size - 1)
        below, above = values[a, low, mean_year], values[a, high, mean_year]
        may_need = _goes_short(below, above, place, market, x[_DAY_PRICE], short, regretted)
        price = bank.swap_packs * x[_LATER_PRICE] + bank.swap_work * x[_PARTS] + bank.swap_other
        cost = bank.first_packs * x[_PACK_PRICE] + bank.first_work * x[_PARTS] + bank.first_other
        kwh = 0.0
        pace = Pace(lowest, span, wear_calendar, wear_cycle, short, regretted)
        rule = Rule(
            bank.end_of_life, market.tolerated_hours, market.longest_life, price,
            bank.exponent, bank.larger_counts > 0.5, may_need,
        )  # fmt: skip
        serving = put_in_service(0.0, pace, rule)
        life_of_first = -1.0
        failed = 0.0
        spares = int(bank.spares)
        single = bank.packs < 1.5
        outage_extra = x[_DAY_PRICE] - 1.0
        rise = worth = factor = 1.0
        for year in range(years):
            length = min(1.0, horizon - year)
            step = length / STEPS_PER_YEAR
            below, above = values[a, low, weather[d, year]], values[a, high, weather[d, year]]
            time_at[:] = 0.0
            _wears(below, above, place, calendar_life, cycle_life, wear_calendar, wear_cycle)
            if length < 1.0:
                rise, worth = rise * inflation**length, worth * trended**length
                factor /= discount**length
            else:
                rise, worth, factor = rise * inflation, worth * trended, factor / discount
            for part in range(STEPS_PER_YEAR):
                if part == STEPS_PER_YEAR // 2 and not expected_failures:
                    index = min(int(serving.age + ROUNDING), years - 1)
                    events = _poisson(
                        rates[a, d] * hazard[a, index] * length,
                        (event_u[d, year] + event_shift[d, candidate[a]]) % 1.0,
                    )
                    failed += events
                    price_now = bank.pack_price * worth * x[_LATER_PRICE]
                    for event in range(events):
                        gone = failure_costs[a, index, GONE] > 0.0 and not single
                        which = ALL if gone and spares == 0 else ONE
                        paid = cost_of(
                            failure_costs[a], index, which, price_now, rise, outage_extra
                        )
                        if claim_u[d, year] >= 0.0:
                            u = claim_u[d, year] + event_shift[d, candidate[a]] + event * GOLDEN
                            honoured = 1.0 if u % 1.0 < bank.honoured else 0.0
                            refund = failure_costs[a, index, which + REFUND] * price_now
                            paid += refund * (bank.honoured - honoured)
                        cost += factor * paid
                        if which == ALL or single:
                            index, spares = 0, int(bank.spares)
                            serving = put_in_service(0.0, pace, rule)
                        elif gone:
                            spares -= 1
                h, s = level_of(serving.health, lowest, span, levels)
                time_at[h] += step * (1.0 - s)
                time_at[h + 1] += step * s
                serving, fraction, _ = served(serving, step, h, s, pace, rule)
                if fraction < GOES_ON:
                    moment = year + (part + fraction) * step
                    if life_of_first < 0.0:
                        life_of_first = serving.age - (1.0 - fraction) * step
                    spares = int(bank.spares)
                    then = inflation**moment
                    cost += (
                        bank.swap_packs * trended**moment * x[_LATER_PRICE]
                        + (bank.swap_work * x[_PARTS] + bank.swap_other) * then
                    ) / discount**moment
                    serving = put_in_service((1.0 - fraction) * step, pace, rule)
            totals[:] = 0.0
            for h in range(levels):
                if time_at[h] > 0.0:
                    for k in range(_K):
                        totals[k] += time_at[h] * _mix(below[h, k], above[h, k], place)
            cost += factor * (
                rise
                * x[_ENERGY_PRICE]
                * (
                    totals[_ENGINE] * market.engine_price
                    + totals[_SHORE] * market.shore_price
                    + totals[_GENERATOR] * market.generator_price
                )
                + rise
                * x[_DAY_PRICE]
                * (totals[_DAYS] * market.day_price + totals[_HOURS] * market.hour_price)
                + rise * length * (bank.yearly_work * x[_PARTS] + bank.yearly_other)
            )
            kwh += factor * totals[_BANK] / 1000.0
        # what is left: of a life that has not ended yet, from the pace at which it wears
        full = life_of_first
        if full < 0.0:
            below, above = values[a, low, mean_year], values[a, high, mean_year]
            _wears(below, above, place, calendar_life, cycle_life, wear_calendar, wear_cycle)
            full = _life_beyond(serving, pace, rule)
        if expected_failures:
            to_replace[0] = bank.swap_packs * x[_LATER_PRICE]
            to_replace[1] = bank.swap_work * x[_PARTS] + bank.swap_other
            to_replace[2] = bank.packs_price * x[_LATER_PRICE] * market.resale_share * x[_RESALE]
            to_replace[3] = bank.disposal
            expect(
                years, horizon, full, rates[a, d], hazard[a], failure_costs[a], single,
                int(bank.spares), to_replace, discount, inflation, trended,
                bank.pack_price * x[_LATER_PRICE], outage_extra, expected,
            )  # fmt: skip
            for year in range(years):
                cost += expected[1, year] / discount ** min(year + 1.0, horizon)
                cost -= expected[3, year]
                failed += expected[0, year]
        left = max(0.0, 1.0 - serving.age / full)
        cost += factor * (
            -(bank.packs_price * left + bank.spares_price)
            * worth
            * x[_LATER_PRICE]
            * market.resale_share
            * x[_RESALE]
            + bank.disposal * rise * (1.0 - left)
        )
        out[0, a, d] = cost
        out[1, a, d] = kwh
        out[2, a, d] = full
        out[3, a, d] = failed


@compiled
def _goes_short(
    below: FloatArray,
    above: FloatArray,
    place: float,
    market: Any,
    day_factor: float,
    short: FloatArray,
    regretted: FloatArray,
) -> bool:
    """Whether need may end a life: hours short of a mean year by health, and what they cost more
    than with a new bank, filled in."""
    levels = short.size
    when_new, falls_short, costs_more = 0.0, False, False
    for h in range(levels - 1, -1, -1):
        short[h] = _mix(below[h, _HOURS], above[h, _HOURS], place)
        paid = day_factor * (
            market.day_price * _mix(below[h, _DAYS], above[h, _DAYS], place)
            + market.hour_price * short[h]
        )
        if h == levels - 1:
            when_new = paid
        regretted[h] = paid - when_new
        falls_short |= short[h] > market.tolerated_hours
        costs_more |= regretted[h] > 0.0
    return falls_short and costs_more


@compiled
def _wears(
    below: FloatArray,
    above: FloatArray,
    place: float,
    calendar_life: float,
    cycle_life: float,
    wear_calendar: FloatArray,
    wear_cycle: FloatArray,
) -> None:
    """Fill in the wear of a year by health, as a bank with these lives has it."""
    for h in range(wear_calendar.size):
        wear_calendar[h] = _mix(below[h, _CAL], above[h, _CAL], place) / calendar_life
        wear_cycle[h] = _mix(below[h, _CYC], above[h, _CYC], place) / cycle_life


@compiled
def _life_beyond(bank: Any, pace: Pace, rule: Rule) -> float:
    """Age at which a bank that outlives the horizon would end, at most the greatest of any bank."""
    while bank.age < rule.longest_life:
        age, step = bank.age, min(BEYOND_STEP_YEARS, rule.longest_life - bank.age)
        level, share = level_of(bank.health, pace.lowest, pace.span, pace.calendar.size)
        bank, part, _ = served(bank, step, level, share, pace, rule)
        if part < GOES_ON:
            return float(age + part * step)
    return float(rule.longest_life)
