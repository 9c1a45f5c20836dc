"""The response surface: a year's totals over health, use and weather year, simulated once.

Nobody simulates every hour of every draw. Each bank is run for each weather year by itself, at a
few levels of health and of use (all loads times a factor); draws interpolate in between.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.special import ndtri

from tco.bank.bank import Bank
from tco.case import Assumptions
from tco.case.spreads import Factor
from tco.life.conditions import Conditions
from tco.life.cores import on_all_cores
from tco.life.kernel import run_banks
from tco.life.records import BANK, BOUGHT, RESULT, Tables, bought_wh
from tco.life.runs import hours_of, rules_of
from tco.life.shortages import shortage_totals
from tco.life.year import YearProfiles, bank_record, bank_tables, ends_of_life
from tco.physics.arrays import BoolArray, FloatArray, IntArray

USE_LEVELS = 9
"""Factors on all loads at which banks are run."""

RESPONSE_HEALTH_LEVELS = 7
"""Levels of health of the response, from the end of life up to new."""

USE_TAIL = 0.01
"""The levels of use reach to this point of its spread, and to 1 less this; draws beyond them, one
in fifty, take the nearest. Our choice."""

BEND_DAYS = 0.3
"""Days a year without power by which a coarse surface may bend before it is made fine."""

BEND_BOUGHT = 0.03
"""The same for the energy bought, as a share of what the bank gives. Both are our choice."""

MOST_FINE = 60
"""So many banks, the cheapest, may have a fine surface; for the others, which are hardly ever the
cheapest, three levels of use and of health must do."""

MOST_FINEST = 3
"""So many of them, between which the choice lies, have their outages run at the places in between
too. Cost then is within 2 % of simulating every hour, 0.5 % in the middle of the draws, life within
4 % (tested on Otterbank but for draws in which a bank dies days before the horizon). Not so with a
generator, or where the energy bought bends: these banks too are run at the levels of MOST_FINE
only, which are fewer. Cost and life of the one demo case with a generator, Larch Hut, are within
1 % so too (tested)."""

HOURS_PER_YEAR = 8760

FOLLOWED = (
    "engine_wh",
    "shore_wh",
    "generator_wh",
    "unserved_days",
    "hours_without_power",
    "from_bank_wh",
    "calendar_stress",
    "cycle_stress",
)
"""Totals the draws follow, in the order of the last axis of `Response.values`."""

SHORT = slice(FOLLOWED.index("unserved_days"), FOLLOWED.index("hours_without_power") + 1)
"""Where being short stands among them."""


@dataclass(frozen=True)
class Response:
    """Totals of one weather year.

    `values`: shape (arrangements, use levels, weather years, health levels, len(FOLLOWED)), use
    and health ascending. `place`: levels of health, from 0 where each bank is replaced to 1 when
    new, evenly apart.
    """

    use: FloatArray
    place: FloatArray
    values: FloatArray

    def mean_weather(self) -> "Response":
        """The same with one weather year, the mean of all."""
        return replace(self, values=np.ascontiguousarray(self.values.mean(axis=2, keepdims=True)))


def use_levels(spread: Factor, count: int) -> FloatArray:
    """Factors on all loads at which banks are run, ascending, from the spread of the energy used.

    Evenly apart by ratio; 1 lies within them. One level where the spread is nothing at 1.
    """
    low, high = np.log(spread.low), np.log(spread.high)
    tail = float(ndtri(1.0 - USE_TAIL) / ndtri(0.9))
    middle, half = (low + high) / 2.0, tail * (high - low) / 2.0
    first, last = min(middle - half, 0.0), max(middle + half, 0.0)
    return np.asarray(np.exp(np.linspace(first, last, count if last > first else 1)))


def response(
    banks: Sequence[Bank],
    conditions: Conditions,
    assumptions: Assumptions,
    energy_use: Factor,
    *,
    rank: IntArray | None = None,
    by_age: Sequence[float] | None = None,
) -> Response:
    """Run every bank at several levels of health and use, each weather year by itself.

    A bank whose totals are nearly straight lines over the coarse levels is run at these only. Where
    outages bend, the hours that matter for them are run at all levels (`tco.life.shortages`), and
    of the first in `rank` halfway between as well; where the energy bought bends, whole years at
    all levels. In between, at four places a level, totals follow a monotone cubic, as in
    `tco.life.year.YearProfiles.filled`. `Bank.unevenness` multiplies the cycle stress, as in
    `tco.life.year.year_profiles`; `energy_use` is how uncertain the use is. `rank` is the place of
    each bank by cost, from 0 (None: all are first), shape (arrangements,). `by_age` is how the
    resistance of each grows with time, as in `YearProfiles` (None: not at all).
    """
    run_use = use_levels(energy_use, USE_LEVELS)
    run_place = np.linspace(0.0, 1.0, RESPONSE_HEALTH_LEVELS)
    more_use, more_place = _halved(run_use), _halved(run_place)
    use, place = _halved(more_use), _halved(more_place)
    coarse_use, coarse_place = _ends_and_middle(run_use), _ends_and_middle(run_place)
    rows = np.arange(len(banks))
    runs = _Runs(banks, conditions, assumptions, by_age)
    coarse = runs.totals(rows, coarse_use, coarse_place)
    values = _filled(coarse, coarse_use, coarse_place, use, place)
    placed = np.zeros(rows.size, dtype=np.int64) if rank is None else rank
    short, bought = _bends(coarse, coarse_use)
    if (conditions.generator_w > 0.0).any():  # then shortages are no help
        short, bought = np.zeros_like(short), short | bought
    finest, fine = placed < MOST_FINEST, placed < MOST_FINE
    if (some := rows[short & ~bought & finest]).size:
        found = runs.shortage_totals(some, more_use, more_place)
        values[some, :, :, :, SHORT] = _filled(found, more_use, more_place, use, place)
    if (some := rows[short & ~bought & fine & ~finest]).size:
        found = runs.shortage_totals(some, run_use, run_place)
        values[some, :, :, :, SHORT] = _filled(found, run_use, run_place, use, place)
    if (some := rows[bought & fine]).size:
        found = runs.totals(some, run_use, run_place)
        values[some] = _filled(found, run_use, run_place, use, place)
    uneven = np.array([bank.unevenness for bank in banks])
    values[..., FOLLOWED.index("cycle_stress")] *= uneven[:, None, None, None]
    return Response(use=use, place=place, values=values)


def _ends_and_middle(levels: FloatArray) -> FloatArray:
    return levels[_coarse_places(levels)]


def _coarse_places(levels: FloatArray) -> list[int]:
    return [0, levels.size // 2, levels.size - 1] if levels.size > 2 else [*range(levels.size)]


@dataclass(frozen=True)
class _Runs:
    """Some banks and the hours they are run through."""

    wired: Sequence[Bank]
    conditions: Conditions
    assumptions: Assumptions
    by_age: Sequence[float] | None = None

    def banks(self, rows: IntArray, place: FloatArray) -> tuple[Any, IntArray, Tables]:
        """Records of BANK, shape (rows, levels of health), which tables each uses, the tables."""
        some = [self.wired[row] for row in rows.tolist()]
        kinds, tables, stresses = bank_tables(some, self.assumptions)
        banks = np.zeros((rows.size, place.size), dtype=BANK)
        ends = ends_of_life(some, self.assumptions).tolist()
        for k, bank in enumerate(some):
            for column, level in enumerate(ends[k] + (1.0 - ends[k]) * place):
                banks[k, column] = bank_record(
                    bank,
                    health=float(level),
                    stress=stresses[kinds[k]],
                    by_age=0.0 if self.by_age is None else self.by_age[int(rows[k])],
                )
        return banks, np.asarray(kinds, dtype=np.int64), tables

    def hourly(self, use: FloatArray) -> list[Any]:
        """Records of HOUR at each level of use, shape (years, hours)."""
        plain = hours_of(self.conditions).reshape(self.conditions.years, HOURS_PER_YEAR)
        found = []
        for factor in use:
            hours = plain.copy()
            hours["essential_w"] *= factor
            hours["other_w"] *= factor
            found.append(hours)
        return found

    def totals(self, rows: IntArray, use: FloatArray, place: FloatArray) -> FloatArray:
        """Totals of whole years, as in `Response.values`."""
        banks, kinds, tables = self.banks(rows, place)
        flat, flat_kinds = banks.ravel(), np.repeat(kinds, place.size)
        rules, years, hourly = rules_of(self.conditions), self.conditions.years, self.hourly(use)
        values = np.empty((rows.size, use.size, years, place.size, len(FOLLOWED)))

        def year_of(number: int) -> None:
            u, w = divmod(number, years)
            out, monthly = np.zeros(flat.size, dtype=RESULT), np.zeros((2, flat.size, 12))
            run_banks(
                0, flat.size, flat, flat_kinds, tables, hourly[u][w], rules, out, monthly[0],
                monthly[1],
            )  # fmt: skip
            for k, name in enumerate(FOLLOWED):
                values[:, u, w, :, k] = out[name].reshape(banks.shape)

        on_all_cores(year_of, use.size * years)
        return values

    def shortage_totals(self, rows: IntArray, use: FloatArray, place: FloatArray) -> FloatArray:
        """The totals SHORT only, of the hours that matter for them; see `tco.life.shortages`."""
        banks, kinds, tables = self.banks(rows, place)
        return shortage_totals(banks, kinds, tables, self.hourly(use), rules_of(self.conditions))


def _halved(levels: FloatArray) -> FloatArray:
    """The levels and the places halfway between."""
    between = (levels[1:] + levels[:-1]) / 2.0
    return np.sort(np.concatenate([levels, between]))


def _filled(
    values: FloatArray,
    run_use: FloatArray,
    run_place: FloatArray,
    use: FloatArray,
    place: FloatArray,
) -> FloatArray:
    """Values (arrangement, use, weather, health, total) at more levels, by monotone cubics."""
    by_use = PchipInterpolator(run_use, values, axis=1)(use) if run_use.size > 1 else values
    return np.asarray(PchipInterpolator(run_place, by_use, axis=3)(place))


def _bends(coarse: FloatArray, use: FloatArray) -> tuple[BoolArray, BoolArray]:
    """Which banks' totals over (one or) three by three levels are not on straight lines.

    For the days short, and for the energy bought.
    """

    def bend(total: FloatArray) -> FloatArray:
        by_health = np.abs(total[..., 1] - 0.5 * (total[..., 0] + total[..., 2])).max(axis=(1, 2))
        if use.size == 1:
            return np.asarray(by_health)
        place = (use[1] - use[0]) / (use[2] - use[0])
        by_use = total[:, 1] - (1.0 - place) * total[:, 0] - place * total[:, 2]
        return np.maximum(np.abs(by_use).max(axis=(1, 2)), by_health)

    def of(name: str) -> FloatArray:
        return coarse[..., FOLLOWED.index(name)]

    bought = bought_wh({name: of(name) for name in BOUGHT})
    given = of("from_bank_wh").max(axis=(1, 2, 3))
    return bend(of("unserved_days")) > BEND_DAYS, bend(bought) > BEND_BOUGHT * given


def plain_response(profiles: YearProfiles) -> Response:
    """Response at the case's own use and mean weather, from profiles that are there already."""
    place, values = profiles.filled(FOLLOWED)
    return Response(use=np.ones(1), place=place, values=values[:, None, None])
