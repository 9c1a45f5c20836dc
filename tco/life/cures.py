"""Is it the battery or the charging that is too small? Each is enlarged, and the year run again.

A price list cannot answer this; a simulated year can. What is missing is named `battery`,
`charging`, `cold` or `none`.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from tco.bank.bank import Bank
from tco.case import Case
from tco.life.conditions import Conditions
from tco.life.records import BANK, Tables
from tco.life.runs import run_records
from tco.life.year import bank_record, bank_tables, run_alike
from tco.physics.arrays import FloatArray
from tco.sentences import Quantity, says

Verdict = Literal["battery", "charging", "cold", "none"]

ENLARGED = (1.5, 2.0)
"""Factors on capacity, and on all charging, that are tried. Our choice."""

WARM_DEGC = 10.0
"""The space is kept at least this warm to see what the cold does. Our choice."""

NEGLIGIBLE_HOURS = 1.0
"""A bank that is short less than this in a mean year has no weak point worth a word. Our choice."""

ALIKE_HOURS = 0.5
"""Cures whose hours left differ by less are alike; the simpler one is named. Our choice."""

MOST_FACTOR = 10.0
"""No cure larger than this is looked for: nobody would build it. Our choice."""

FACTOR_PRECISION = 0.005
"""A factor is found to this share of itself, rounded up."""


@dataclass(frozen=True)
class WeakPoint:
    """What leaves essential loads without power, and what would cure it.

    Hours are those of a mean year in which essential loads are short: now, and
    `hours_with["battery" | "charging" | "cold"]` with twice the capacity, with twice the charging,
    with a warm space (empty where nothing had to be tried).
    """

    verdict: Verdict
    hours_without_power: float
    hours_with: Mapping[str, float]
    reason: str


@dataclass(frozen=True)
class Enlargement:
    """How much more of something brings the hours short down to what is tolerated.

    `factor` on what there is, and `extra` of it (Ah or W); both None where no factor up to
    MOST_FACTOR does, which `reason` explains. `hours_without_power` are left at that factor (at the
    largest tried, where none does).
    """

    factor: float | None
    extra: float | None
    hours_without_power: float
    reason: str


def weak_point(
    case: Case,
    bank: Bank,
    conditions: Conditions,
    *,
    health: float = 1.0,
    by_age: float = 0.0,
) -> WeakPoint:
    """What is too small for a bank at one health; see `weak_points`."""
    return weak_points_at(case, [bank], conditions, health=health, by_age=[by_age])[0]


def weak_points_at(
    case: Case,
    banks: Sequence[Bank],
    conditions: Conditions,
    *,
    health: float,
    by_age: Sequence[float] | None = None,
) -> list[WeakPoint]:
    """`weak_points` of banks that are all at one health, whose hours are not known yet."""
    if not banks:
        return []
    out = run_alike(banks, conditions, case.assumptions, health=health, by_age=by_age)
    now = out["hours_without_power"] / conditions.years
    totals = {"hours_without_power": now[:, None]}
    return weak_points(case, banks, conditions, totals, health=health, by_age=by_age)


def weak_points(
    case: Case,
    banks: Sequence[Bank],
    conditions: Conditions,
    totals: Mapping[str, FloatArray],
    *,
    health: float = 1.0,
    by_age: Sequence[float] | None = None,
) -> list[WeakPoint]:
    """What is too small, for a bank of each arrangement at one health.

    `none` where essential loads are short less than NEGLIGIBLE_HOURS of a mean year, and no more
    than tolerated. Otherwise what helps most is named, even where the hours are tolerated: one and
    a half times and twice the capacity (more of the same packs), the same factors on what all
    chargers give, or a space kept warm. The one with the fewest hours left, on average of both
    factors, is named; among those alike the first of cold, battery, charging.

    Parameters
    ----------
    totals
        `totals["hours_without_power"]`, shape (arrangements, levels), level 0 a bank at
        `health`, as in `tco.life.year.YearProfiles` for a new one. Banks that are not short are
        not run again.
    health
        Capacity left over capacity when new; 1 is a new bank. More capacity is more packs worn
        alike.
    by_age
        How the resistance of each grows with time, as in `tco.life.year.YearProfiles`; None: with
        the capacity lost alone.
    """
    now = totals["hours_without_power"][:, 0]
    tolerated = case.assumptions.tolerated_hours_without_power
    short = [
        row for row in range(len(banks)) if now[row] >= NEGLIGIBLE_HOURS or now[row] > tolerated
    ]
    found = [_nothing_short(float(hours), health, conditions) for hours in now]
    if not short:
        return found
    kinds, tables, stresses = bank_tables([banks[row] for row in short], case.assumptions)
    sizes = (1.0, *ENLARGED)
    records = np.zeros((len(sizes), len(short)), dtype=BANK)
    for column, row in enumerate(short):
        for k, factor in enumerate(sizes):
            records[k, column] = enlarged(
                banks[row], factor, stresses[kinds[column]],
                health=health, by_age=0.0 if by_age is None else by_age[row],
            )  # fmt: skip
    larger = hours_without_power(
        records[1:].ravel(), kinds * len(ENLARGED), tables, conditions
    ).reshape(len(ENLARGED), len(short))  # fmt: skip
    charged = np.array(
        [
            hours_without_power(records[0], kinds, tables, more_charging(conditions, factor))
            for factor in ENLARGED
        ]
    )
    warm = hours_without_power(records[0], kinds, tables, kept_warm(conditions))
    for column, row in enumerate(short):
        left = {
            "cold": float(warm[column]),
            "battery": float(larger[:, column].mean()),
            "charging": float(charged[:, column].mean()),
        }
        at_twice = {
            "cold": left["cold"],
            "battery": float(larger[-1, column]),
            "charging": float(charged[-1, column]),
        }
        half_more = float(larger[0, column]), float(charged[0, column])
        found[row] = _judged(float(now[row]), left, at_twice, half_more, conditions)
    return found


_NO_HELP = "Nothing that was tried helps, so too little comes in"


def _years(conditions: Conditions) -> str:
    return f"{conditions.years} weather years" if conditions.years > 1 else "one weather year"


def _charges(conditions: Conditions) -> bool:
    given = (conditions.solar_w, conditions.engine_w, conditions.shore_w, conditions.generator_w)
    return any(bool((power > 0.0).any()) for power in given)


def _nothing_short(hours: float, health: float, conditions: Conditions) -> WeakPoint:
    bank = "A new bank" if health >= 1.0 else f"A bank worn to {health:.0%}"
    said = (
        f"{bank} leaves no essential load without power in {_years(conditions)}."
        if hours == 0.0
        else f"{bank} leaves essential loads short {_few(hours)} in a mean of "
        f"{_years(conditions)}: too little to look for a cause."
    )
    return WeakPoint("none", hours, {}, said)


def _judged(
    now: float,
    left: Mapping[str, float],
    at_twice: Mapping[str, float],
    half_more: tuple[float, float],
    conditions: Conditions,
) -> WeakPoint:
    fewest = min(left.values())
    order: tuple[Verdict, ...] = ("cold", "battery", "charging")
    verdict = next(name for name in order if left[name] <= fewest + ALIKE_HOURS)
    half = (
        f"; with half as much again of either, {half_more[0]:.0f} h (capacity) and "
        f"{half_more[1]:.0f} h (charging)"
    )
    alike = abs(at_twice["battery"] - at_twice["charging"]) <= ALIKE_HOURS
    figures = says(
        f": short {now:.0f} h in a mean of {_years(conditions)}; "
        f"{at_twice['battery']:.0f} h with twice the capacity, "
        f"{at_twice['charging']:.0f} h with twice the charging, {at_twice['cold']:.0f} h in a "
        "space kept at ",
        Quantity(WARM_DEGC, "°C", "g"),
        f" or more{half if alike and verdict != 'cold' else ''}.",
    )
    if fewest >= now - ALIKE_HOURS:
        return WeakPoint(
            "charging",
            now,
            at_twice,
            says(_NO_HELP if _charges(conditions) else "Nothing charges it", figures),
        )
    words = {
        "battery": "The battery is too small",
        "charging": "The charging is too small",
        "cold": "The cold is what holds it back",
    }
    if verdict == "cold" and max(left.values()) <= fewest + ALIKE_HOURS:
        words["cold"] += ", though more capacity or more charging would do as well"
    return WeakPoint(verdict, now, at_twice, says(words[verdict], figures))


def _few(hours: float) -> str:
    return "less than 0.1 h" if hours < 0.05 else f"{hours:.1f} h"


def extra_capacity_needed(
    case: Case,
    bank: Bank,
    conditions: Conditions,
    *,
    tolerated_hours: float | None = None,
    health: float = 1.0,
    by_age: float = 0.0,
) -> Enlargement:
    """Capacity that would bring the hours short down to what is tolerated (the case's, if None).

    More of the same packs, as worn: capacity, limits, mass, surface and heater grow, their
    resistance falls. Found by bisection on the simulated years; `extra` is in Ah when new.
    """
    _, tables, stresses = bank_tables([bank], case.assumptions)

    def hours(factor: float) -> float:
        record = np.zeros(1, dtype=BANK)
        record[0] = enlarged(bank, factor, stresses[0], health=health, by_age=by_age)
        return float(hours_without_power(record, [0], tables, conditions)[0])

    return _found(
        case,
        hours,
        tolerated_hours,
        bank.arrangement.capacity_ah,
        "capacity",
        "Ah more" if health >= 1.0 else "Ah more, counted as new",
    )


def extra_solar_needed(
    case: Case,
    bank: Bank,
    conditions: Conditions,
    *,
    tolerated_hours: float | None = None,
    health: float = 1.0,
    by_age: float = 0.0,
) -> Enlargement:
    """Solar that would bring the hours short down to what is tolerated (the case's, if None).

    All arrays and their controllers grow in proportion, with the shade and tilt they have. Found
    by bisection on the simulated years; `extra` is in W of peak power.
    """
    peak_w = sum(array.peak_w for array in case.sources.solar)
    _, tables, stresses = bank_tables([bank], case.assumptions)
    record = np.zeros(1, dtype=BANK)
    record[0] = bank_record(bank, health=health, stress=stresses[0], by_age=by_age)

    def hours(factor: float) -> float:
        sunnier = replace(conditions, solar_w=conditions.solar_w * factor)
        return float(hours_without_power(record, [0], tables, sunnier)[0])

    if not peak_w:
        now = hours(1.0)
        if now <= _tolerated(case, tolerated_hours):
            return Enlargement(1.0, 0.0, now, "What there is suffices.")
        return Enlargement(None, None, now, "There is no solar array that could be enlarged.")
    return _found(case, hours, tolerated_hours, peak_w, "solar", "W more")


def _tolerated(case: Case, stated: float | None) -> float:
    return case.assumptions.tolerated_hours_without_power if stated is None else stated


def _found(
    case: Case,
    hours: Callable[[float], float],
    stated: float | None,
    present: float,
    what: str,
    unit: str,
) -> Enlargement:
    now, wanted = hours(1.0), _tolerated(case, stated)
    if now <= wanted:
        return Enlargement(1.0, 0.0, now, "What there is suffices.")
    tolerated = _tolerated(case, None)
    short = f"{now:.0f} h short in a mean year" + (
        f", within the {tolerated:g} h tolerated," if now <= tolerated else ""
    )
    aim = f" ({wanted:g} h tolerated)" if wanted == tolerated else ""
    left = hours(MOST_FACTOR)
    if left > wanted:
        return Enlargement(
            None,
            None,
            left,
            f"Even {MOST_FACTOR:g} times the {what} brings {short} only down to {left:.0f} h{aim}: "
            f"more {what} alone does not do it.",
        )
    low, high = 1.0, MOST_FACTOR
    while high > low * (1.0 + FACTOR_PRECISION):
        middle = math.sqrt(low * high)
        at_middle = hours(middle)
        if at_middle <= wanted:
            high, left = middle, at_middle
        else:
            low = middle
    extra = (high - 1.0) * present
    return Enlargement(
        high,
        extra,
        left,
        f"{high:.2f} times the {what} ({extra:.0f} {unit}) brings {short} down to "
        f"{left:.0f} h{aim}.",
    )


def more_charging(conditions: Conditions, factor: float) -> Conditions:
    """The conditions with everything that charges giving `factor` times as much."""
    return replace(
        conditions,
        solar_w=conditions.solar_w * factor,
        engine_w=conditions.engine_w * factor,
        shore_w=conditions.shore_w * factor,
        generator_w=conditions.generator_w * factor,
    )


def kept_warm(conditions: Conditions, *, degc: float = WARM_DEGC) -> Conditions:
    """The conditions with a space that never gets colder than `degc`; its heat costs nothing."""
    return replace(conditions, space_degc=np.maximum(conditions.space_degc, degc))


def hours_without_power(
    banks: Any, kinds: Sequence[int], tables: Tables, conditions: Conditions
) -> FloatArray:
    """Hours of a mean year in which essential loads are short, one per bank.

    `banks` are records of `BANK`, shape (n,); `kinds` says which row of the tables each uses.
    """
    totals = run_records(banks, kinds, tables, conditions).totals
    hours: FloatArray = totals["hours_without_power"] / conditions.years
    return hours


GROWS = (
    *("energy_wh", "discharge_w", "charge_w", "rated_current_a"),
    *("heater_w", "heat_capacity_wh_per_k", "conductance_w_per_k"),
)
"""What of a bank grows with the number of its packs."""


def enlarged(
    bank: Bank,
    factor: float,
    stress: Any,
    *,
    health: float = 1.0,
    by_age: float = 0.0,
) -> tuple[float, ...]:
    """The record of a bank of `factor` times the packs, not a whole number of them, at a health."""
    values = dict(
        zip(
            BANK.names or (),
            bank_record(replace(bank, ohm=0.0), health=health, stress=stress, by_age=by_age),
            strict=True,
        )
    )
    for name in GROWS:
        values[name] *= factor
    values["resistance_ohm"] = values["resistance_ohm"] / factor + bank.ohm
    return tuple(values.values())
