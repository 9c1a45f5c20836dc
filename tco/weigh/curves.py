"""From weekend user to full-timer, and from one year to many: curves of cost for a few results."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tco.case import Case
from tco.compare import Comparison, Result
from tco.weigh.breakeven import ranked
from tco.weigh.knobs import Knob, frozen_classes
from tco.weigh.weighing import Weighing

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
    case = frozen_classes(comparison.case, tuple(results))
    weighing = Weighing(*results)
    return tuple(
        Point(
            label=priced.arrangement.label,
            x=value,
            kwh_per_year=priced.year["delivered_wh"] / 1000.0,
            total_cost=priced.measures.total_cost,
            annual_cost=priced.measures.annual_cost,
            cost_per_kwh=priced.measures.cost_per_kwh,
            hours_without_power=priced.year["unserved_essential_hours"],
        )
        for value in values
        for priced in weighing.priced(knob.turn(case, value))
    )


@dataclass(frozen=True)
class TwoWay:
    """Difference of two results (left less right) over two knobs: rows of (x, y, difference)."""

    x: Knob
    y: Knob
    points: tuple[tuple[float, float, float], ...]


def two_way(
    case: Case,
    left: Result,
    right: Result,
    x: Knob,
    y: Knob,
    *,
    steps: int = 7,
    weighing: Weighing | None = None,
) -> TwoWay:
    """A map of who is cheaper when two quantities are turned together."""
    frozen = frozen_classes(case, (left, right))
    weighed = weighing or Weighing(left, right)
    return TwoWay(
        x=x,
        y=y,
        points=tuple(
            (first, second, weighed.difference(y.turn(x.turn(frozen, first), second)))
            for first in _steps(x, steps)
            for second in _steps(y, steps)
        ),
    )


def _steps(knob: Knob, steps: int) -> list[float]:
    values = np.linspace(knob.low, knob.high, steps).tolist()
    return sorted({float(round(value)) for value in values}) if knob.whole else values


def most_telling_map(
    comparison: Comparison, left: Result, right: Result, *, steps: int = 7
) -> TwoWay:
    """The map over the two quantities that matter most to which of two is cheaper.

    Those whose break-even is nearest to today's value come first; where fewer than two have one,
    those that move the difference most over their range. The map's range is the knob's.
    """
    weighing = Weighing(left, right)
    found = ranked(comparison.case, left, right, weighing=weighing)
    chosen = [knob for knob, row in found if row.at is not None][:2]
    if len(chosen) < 2:
        frozen = frozen_classes(comparison.case, (left, right))

        def swing(knob: Knob) -> float:
            low, high = (weighing.difference(knob.turn(frozen, x)) for x in (knob.low, knob.high))
            return abs(high - low)

        rest = sorted((knob for knob, _ in found if knob not in chosen), key=swing, reverse=True)
        chosen = [*chosen, *rest][:2]
    return two_way(comparison.case, left, right, *chosen, steps=steps, weighing=weighing)
