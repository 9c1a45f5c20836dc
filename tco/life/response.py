"""The response surface: a year's totals over health, use and weather year, simulated once.

Nobody simulates every hour of every draw. Each bank is run for each weather year by itself, at a
few levels of health and of use (all loads times a factor); draws interpolate in between.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tco.bank.arrangements import Arrangement
from tco.case import Assumptions
from tco.life.conditions import Conditions
from tco.life.health import crossing_health
from tco.life.kernel import run_banks
from tco.life.records import BANK, RESULT
from tco.life.year import YearProfiles, bank_record, bank_tables, hours_of, in_chunks, rules_of

FloatArray = NDArray[np.float64]

USE_LEVELS: tuple[float, ...] = (0.8, 1.0, 1.25)
"""Factors on all loads at which banks are run; draws beyond them take the nearest."""

HEALTH_LEVELS = 4
"""Levels of health of the response, from new down to the end of life."""

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
    meets the need (0 where that never counts).
    """

    use: FloatArray
    health: FloatArray
    values: FloatArray
    need: FloatArray


def response(
    arrangements: Sequence[Arrangement],
    wiring_ohm: Sequence[float],
    unevenness: Sequence[float],
    conditions: Conditions,
    assumptions: Assumptions,
) -> Response:
    """Run every bank at each level of health and use, each weather year by itself.

    `unevenness` multiplies the cycle stress, as in `tco.life.year.year_profiles`.
    """
    health = np.linspace(assumptions.end_of_life_health, 1.0, HEALTH_LEVELS)
    kinds, tables, stresses = bank_tables(arrangements, assumptions)
    count = len(arrangements)
    banks = np.zeros((count, health.size), dtype=BANK)
    for row, (arrangement, ohm) in enumerate(zip(arrangements, wiring_ohm, strict=True)):
        for column, level in enumerate(health):
            banks[row, column] = bank_record(
                arrangement, ohm, health=float(level), stress=stresses[kinds[row]]
            )
    flat = banks.ravel()
    flat_kinds = np.repeat(np.asarray(kinds, dtype=np.int64), health.size)
    rules, years = rules_of(conditions), conditions.years
    names = (*FOLLOWED, "unserved_essential_hours")
    values = np.empty((count, len(USE_LEVELS), years, health.size, len(names)))
    for u, factor in enumerate(USE_LEVELS):
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
    values[..., FOLLOWED.index("cycle_stress")] *= np.asarray(unevenness)[:, None, None, None]
    hours = values[..., -1].mean(axis=2)
    tolerated = assumptions.tolerated_hours_without_power
    need = np.column_stack(
        [
            crossing_health(health[::-1], hours[:, u, ::-1], tolerated)
            for u in range(len(USE_LEVELS))
        ]
    )
    return Response(
        use=np.asarray(USE_LEVELS), health=health, values=values[..., :-1].copy(), need=need
    )


def plain_response(profiles: YearProfiles, need: FloatArray) -> Response:
    """Response at the case's own use and mean weather, from profiles that are there already."""
    values = np.stack([profiles.totals[name][:, ::-1] for name in FOLLOWED], axis=-1)
    return Response(
        use=np.ones(1),
        health=profiles.health[::-1].copy(),
        values=np.ascontiguousarray(values[:, None, None]),
        need=need[:, None],
    )
