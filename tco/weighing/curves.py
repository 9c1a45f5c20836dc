"""From weekend user to full-timer, and from one year to many: curves of cost for a few results."""

from collections.abc import Sequence
from dataclasses import dataclass

from tco.case import Case
from tco.compare import Comparison
from tco.money.discounting import capital_recovery_factor
from tco.money.measures import discounted_kwh
from tco.pipeline import Priced
from tco.result import Result
from tco.weighing.breakeven import BreakEven, ranked
from tco.weighing.days_present import days_present_driver
from tco.weighing.drivers import Driver, frozen_classes, years_of_use
from tco.weighing.repricing import Repricing

DAYS = (30.0, 60.0, 90.0, 120.0, 180.0, 240.0, 300.0, 365.0)
"""Days of presence a year: some weekends, to a full-timer. Our choice."""
HORIZONS = (1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 13.0, 16.0, 20.0, 25.0)


@dataclass(frozen=True)
class Point:
    """One point of a curve: `x` is what was turned, the rest what came out.

    `kwh_per_year` is the energy the loads got out of the bank, as an equal amount a year:
    discounted like the energy of the levelised cost, so that `kwh_per_year * cost_per_kwh` is
    `annual_cost`. `used_kwh_per_year`: all that the loads got in a mean year with a new bank, the
    part that came straight from a charger among it. `todays`: the case as it is. `enough`: no
    more hours without power than the case tolerates, with a new bank.
    """

    label: str
    x: float
    kwh_per_year: float
    used_kwh_per_year: float
    total_cost: float
    annual_cost: float
    cost_per_kwh: float | None
    hours_without_power: float
    todays: bool
    enough: bool


def use_curve(comparison: Comparison, results: Sequence[Result]) -> tuple[Point, ...]:
    """Cost per kWh against energy a year, from a weekend user to a full-timer.

    What is turned are the days of presence (`tco.weighing.days_present`), each simulated.
    """
    return _curve(comparison, results, days_present_driver(comparison.case), DAYS)


def horizon_curve(comparison: Comparison, results: Sequence[Result]) -> tuple[Point, ...]:
    """Cost a year against the years of use."""
    return _curve(comparison, results, years_of_use(comparison.case), HORIZONS)


def _curve(
    comparison: Comparison, results: Sequence[Result], driver: Driver, values: Sequence[float]
) -> tuple[Point, ...]:
    case = frozen_classes(comparison.case, tuple(results))
    repricing = Repricing(*results)
    tolerated = case.assumptions.tolerated_hours_without_power
    points = []
    for value in sorted({*values, driver.now}):
        turned = driver.turn(case, value)
        for priced in repricing.priced(turned):
            hours = priced.year["hours_without_power"]
            points.append(
                Point(
                    label=priced.bank.arrangement.label,
                    x=value,
                    kwh_per_year=_equal_kwh(priced, turned),
                    used_kwh_per_year=priced.year["delivered_wh"] / 1000.0,
                    total_cost=priced.measures.total_cost,
                    annual_cost=priced.measures.annual_cost,
                    cost_per_kwh=priced.measures.cost_per_kwh,
                    hours_without_power=hours,
                    todays=value == driver.now,
                    enough=hours <= tolerated,
                )
            )
    return tuple(points)


def _equal_kwh(priced: Priced, case: Case) -> float:
    """Energy out of the bank as an equal amount a year: what the levelised cost divides by."""
    horizon = case.assumptions.horizon_years
    present = discounted_kwh(priced.life, case.prices, horizon_years=horizon)
    return present * capital_recovery_factor(case.prices.discount_rate, horizon)


@dataclass(frozen=True)
class TwoWay:
    """Difference of two results (left less right) over two drivers: rows of (x, y, difference)."""

    x: Driver
    y: Driver
    points: tuple[tuple[float, float, float], ...]


def two_way(
    case: Case,
    left: Result,
    right: Result,
    x: Driver,
    y: Driver,
    *,
    steps: int = 7,
) -> TwoWay:
    """A map of who is cheaper when two quantities are turned together.

    Today's values of both are among the values looked at.
    """
    frozen = frozen_classes(case, (left, right))
    repricing = Repricing(left, right)
    return TwoWay(
        x=x,
        y=y,
        points=tuple(
            (first, second, repricing.difference(y.turn(x.turn(frozen, first), second)))
            for first in x.steps(steps)
            for second in y.steps(steps)
        ),
    )


def telling_pair(
    case: Case,
    left: Result,
    right: Result,
    *,
    found: Sequence[tuple[Driver, BreakEven]] | None = None,
) -> tuple[Driver, Driver]:
    """The two quantities that matter most to which of two is cheaper.

    Those whose break-even is nearest to today's value come first; where fewer than two have one,
    those that move the difference most over their range. `found`: the break-evens with their
    drivers (`ranked`), nearest first; worked out where None.
    """
    repricing = Repricing(left, right)
    pairs = found or ranked(case, left, right, repricing=repricing)
    chosen = [driver for driver, row in pairs if row.at is not None][:2]
    if len(chosen) < 2:
        frozen = frozen_classes(case, (left, right))

        def swing(driver: Driver) -> float:
            low, high = (
                repricing.difference(driver.turn(frozen, x)) for x in (driver.low, driver.high)
            )
            return abs(high - low)

        rest = sorted(
            (driver for driver, _ in pairs if driver not in chosen), key=swing, reverse=True
        )
        chosen = [*chosen, *rest][:2]
    return chosen[0], chosen[1]
