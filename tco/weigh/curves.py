"""From weekend user to full-timer, and from one year to many: curves of cost for a few results."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tco.case import Case
from tco.compare import Comparison, Result, compare
from tco.weigh.breakeven import difference
from tco.weigh.knobs import Knob, frozen_classes

USE_FACTORS = (0.25, 0.4, 0.6, 0.8, 1.0, 1.25, 1.5)
HORIZONS = (1, 2, 3, 5, 7, 10, 13, 16, 20, 25)


@dataclass(frozen=True)
class Point:
    """One point of a curve: `x` is what was turned, the rest what came out."""

    label: str
    x: float
    kwh_per_year: float
    total_cost: float
    annual_cost: float
    cost_per_kwh: float | None
    hours_without_power: float


def use_curve(comparison: Comparison, results: Sequence[Result], use: Knob) -> tuple[Point, ...]:
    """Cost per kWh against energy used per year: all loads run for more or less of the day."""
    return _curve(comparison, results, use, USE_FACTORS)


def horizon_curve(
    comparison: Comparison, results: Sequence[Result], years: Knob
) -> tuple[Point, ...]:
    """Cost a year against the years of use."""
    return _curve(comparison, results, years, [float(h) for h in HORIZONS])


def _curve(
    comparison: Comparison, results: Sequence[Result], knob: Knob, values: Sequence[float]
) -> tuple[Point, ...]:
    labels = {r.arrangement.label for r in results}
    case = frozen_classes(comparison.case, tuple(results))
    points = []
    for value in values:
        for r in compare(knob.turn(case, value), only=labels).results:
            points.append(
                Point(
                    label=r.arrangement.label,
                    x=value,
                    kwh_per_year=r.year["delivered_wh"] / 1000.0,
                    total_cost=r.measures.total_cost,
                    annual_cost=r.measures.annual_cost,
                    cost_per_kwh=r.measures.cost_per_kwh,
                    hours_without_power=r.year["unserved_essential_hours"],
                )
            )
    return tuple(points)


@dataclass(frozen=True)
class TwoWay:
    """Difference of two results (left less right) over two knobs: rows of (x, y, difference)."""

    x: Knob
    y: Knob
    points: tuple[tuple[float, float, float], ...]


def two_way(case: Case, left: Result, right: Result, x: Knob, y: Knob, *, steps: int = 7) -> TwoWay:
    """A map of who is cheaper when two quantities are turned together."""
    frozen = frozen_classes(case, (left, right))
    a, b = left.arrangement.label, right.arrangement.label
    points = []
    for first in np.linspace(x.low, x.high, steps):
        turned = x.turn(frozen, float(first))
        for second in np.linspace(y.low, y.high, steps):
            gap = difference(y.turn(turned, float(second)), a, b)
            points.append((float(first), float(second), gap))
    return TwoWay(x=x, y=y, points=tuple(points))
