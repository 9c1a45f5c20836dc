"""The response surface: a year's totals over health, use and weather year, simulated once.

Nobody simulates every hour of every draw. Each bank is run for each weather year by itself, at a
few levels of health and of use (all loads times a factor); draws interpolate in between.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from tco.bank.arrangements import Arrangement
from tco.case import Assumptions
from tco.life.conditions import Conditions
from tco.life.health import crossing
from tco.life.kernel import run_banks
from tco.life.records import BANK, RESULT
from tco.life.year import YearProfiles, bank_record, bank_tables, hours_of, in_chunks, rules_of

FloatArray = NDArray[np.float64]

USE_LEVELS: tuple[float, ...] = (0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.175, 1.25)
"""Factors on all loads at which banks are run; draws beyond them take the nearest."""

HEALTH_LEVELS = 7
"""Levels of health of the response, from the end of life up to new."""

COARSE_USE = (0, 4, 8)
COARSE_HEALTH = (0, 3, 6)
"""Levels at which every bank is run first; only one whose totals bend is run at all of them."""

BEND_DAYS = 0.3
"""Days a year without power by which a coarse surface may bend before it is made fine."""

BEND_BOUGHT = 0.03
"""The same for the energy bought, as a share of what the bank gives. Both are our choice."""

HOURS_PER_YEAR = 8760

FOLLOWED = (
    "engine_wh",
    "shore_wh",
    "generator_wh",
    "unserved_days",
    "from_bank_wh",
    "calendar_stress",
    "cycle_stress",
)
"""Totals the draws follow, in the order of the last axis of `Response.values`."""


@dataclass(frozen=True)
class Response:
    """Totals of one weather year.

    `values`: shape (arrangements, use levels, weather years, health levels, len(FOLLOWED)), health
    ascending. `need`: shape (arrangements, use levels), the health below which the bank no longer
    meets the need. It is followed past the levels that were run, so that straight lines between
    levels of use hold: above 1, even a new bank falls short. See `tco.life.health.need_health`
    for when it counts.
    """

    use: FloatArray
    health: FloatArray
    values: FloatArray
    need: FloatArray

    def mean_weather(self) -> "Response":
        """The same with one weather year, the mean of all."""
        return replace(self, values=np.ascontiguousarray(self.values.mean(axis=2, keepdims=True)))


def response(
    arrangements: Sequence[Arrangement],
    wiring_ohm: Sequence[float],
    unevenness: Sequence[float],
    conditions: Conditions,
    assumptions: Assumptions,
) -> Response:
    """Run every bank at several levels of health and use, each weather year by itself.

    A bank whose totals are nearly straight lines over the coarse levels is run at these only, the
    others at all. In between, totals follow a monotone cubic (Fritsch and Butland, SIAM J. Sci.
    Stat. Comput. 5 (1984) 300-304): outages begin at nothing and then bend upwards, which straight
    lines overrate. `unevenness` multiplies the cycle stress, as in
    `tco.life.year.year_profiles`.
    """
    run_use = np.asarray(USE_LEVELS)
    run_health = np.linspace(assumptions.end_of_life_health, 1.0, HEALTH_LEVELS)
    use, health = _halved(run_use), _halved(run_health)
    rows = np.arange(len(arrangements))
    coarse_use, coarse_health = run_use[list(COARSE_USE)], run_health[list(COARSE_HEALTH)]
    given = (arrangements, wiring_ohm, conditions, assumptions)
    coarse = _simulated(rows, coarse_use, coarse_health, *given)
    values = _filled(coarse, coarse_use, coarse_health, use, health)
    bent = rows[_bends(coarse, coarse_use)]
    if bent.size:
        run = _simulated(bent, run_use, run_health, *given)
        values[bent] = _filled(run, run_use, run_health, use, health)
    values[..., FOLLOWED.index("cycle_stress")] *= np.asarray(unevenness)[:, None, None, None]
    tolerated = assumptions.tolerated_hours_without_power
    hours = values[..., -1].mean(axis=2)
    return Response(
        use=use,
        health=health,
        values=values[..., :-1].copy(),
        need=np.array([_need(use, health, lane, tolerated) for lane in hours]),
    )


def _halved(levels: FloatArray) -> FloatArray:
    """The levels and the places halfway between."""
    between = (levels[1:] + levels[:-1]) / 2.0
    return np.sort(np.concatenate([levels, between]))


def _simulated(
    rows: NDArray[np.int64],
    use: FloatArray,
    health: FloatArray,
    arrangements: Sequence[Arrangement],
    wiring_ohm: Sequence[float],
    conditions: Conditions,
    assumptions: Assumptions,
) -> FloatArray:
    """Totals of some arrangements: FOLLOWED, then the hours essential loads went without."""
    some = [arrangements[row] for row in rows.tolist()]
    kinds, tables, stresses = bank_tables(some, assumptions)
    count = len(some)
    banks = np.zeros((count, health.size), dtype=BANK)
    for row, arrangement in enumerate(some):
        for column, level in enumerate(health):
            banks[row, column] = bank_record(
                arrangement,
                wiring_ohm[int(rows[row])],
                health=float(level),
                stress=stresses[kinds[row]],
            )
    flat = banks.ravel()
    flat_kinds = np.repeat(np.asarray(kinds, dtype=np.int64), health.size)
    rules, years = rules_of(conditions), conditions.years
    names = (*FOLLOWED, "unserved_essential_hours")
    values = np.empty((count, use.size, years, health.size, len(names)))
    for u, factor in enumerate(use):
        scaled = replace(
            conditions,
            essential_w=conditions.essential_w * factor,
            other_w=conditions.other_w * factor,
        )
        hourly = hours_of(scaled)
        for w in range(years):
            of_year = hourly[w * HOURS_PER_YEAR : (w + 1) * HOURS_PER_YEAR]
            out = np.zeros(flat.size, dtype=RESULT)
            monthly = np.zeros((2, flat.size, 12))

            def chunk(
                first: int, last: int, hours: object = of_year, out: object = out,
                monthly: FloatArray = monthly,
            ) -> None:  # fmt: skip
                run_banks(
                    first, last, flat, flat_kinds, tables, hours, rules, out, monthly[0], monthly[1]
                )

            in_chunks(chunk, flat.size, None)
            for k, name in enumerate(names):
                values[:, u, w, :, k] = out[name].reshape(count, health.size)
    return values


def _filled(
    values: FloatArray,
    run_use: FloatArray,
    run_health: FloatArray,
    use: FloatArray,
    health: FloatArray,
) -> FloatArray:
    """Values (arrangement, use, weather, health, total) at more levels, by monotone cubics."""
    by_use = PchipInterpolator(run_use, values, axis=1)(use)
    return np.asarray(PchipInterpolator(run_health, by_use, axis=3)(health))


def _bends(coarse: FloatArray, use: FloatArray) -> NDArray[np.bool_]:
    """Which banks' totals over three by three levels are not on straight lines."""

    def bend(total: FloatArray) -> FloatArray:
        place = (use[1] - use[0]) / (use[2] - use[0])
        by_use = total[:, 1] - (1.0 - place) * total[:, 0] - place * total[:, 2]
        by_health = total[..., 1] - 0.5 * (total[..., 0] + total[..., 2])
        return np.maximum(
            np.abs(by_use).max(axis=(1, 2)),
            np.abs(by_health).max(axis=(1, 2)),
        )

    def of(name: str) -> FloatArray:
        return coarse[..., FOLLOWED.index(name)]

    bought = of("engine_wh") + of("shore_wh") + of("generator_wh")
    given = of("from_bank_wh").max(axis=(1, 2, 3))
    return (bend(of("unserved_days")) > BEND_DAYS) | (bend(bought) > BEND_BOUGHT * given)


def _need(
    use: FloatArray, health: FloatArray, hours: FloatArray, tolerated_hours: float
) -> FloatArray:
    """Health needed at each level of use, followed past the levels of health that were run.

    Hours have the shape (use, health). What a bank holds against what is asked of it decides, so
    that the health needed grows with use; where it is known at one level only, in proportion.
    """
    short_when_new, short_at_end = hours[:, -1] > tolerated_hours, hours[:, 0] > tolerated_hours
    found = np.where(short_when_new, 1.0, 0.0)
    inside = np.flatnonzero(short_at_end & ~short_when_new)
    if inside.size == 0:
        return found
    found[inside] = crossing(health[::-1], hours[inside, ::-1], tolerated_hours)
    first, last = int(inside[0]), int(inside[-1])
    slope = (
        (found[last] - found[first]) / (use[last] - use[first])
        if last > first
        else found[first] / use[first]
    )
    down, up = slice(0, first), slice(last + 1, None)
    found[down] = np.clip(found[first] + slope * (use[down] - use[first]), 0.0, health[0])
    found[up] = np.maximum(found[last] + slope * (use[up] - use[last]), 1.0)
    return found


def plain_response(profiles: YearProfiles, need: FloatArray) -> Response:
    """Response at the case's own use and mean weather, from profiles that are there already."""
    values = np.stack([profiles.totals[name][:, ::-1] for name in FOLLOWED], axis=-1)
    return Response(
        use=np.ones(1),
        health=profiles.health[::-1].copy(),
        values=np.ascontiguousarray(values[:, None, None]),
        need=need[:, None],
    )
