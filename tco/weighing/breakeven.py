"""Break-even: where two arrangements come to cost the same, one quantity turned at a time."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, floor, inf, log

from scipy.optimize import brentq

from tco.case import Case
from tco.result import Result
from tco.weighing.drivers import Driver, drivers, frozen_classes, place
from tco.weighing.repricing import Repricing

POINTS = 9
"""Values over a driver's range at which the difference is looked at for a change of sign."""

CLOSE = 0.001
"""A crossing is found to this share of the range, or of itself where that is less."""

NO_DIFFERENCE = 0.005
"""Costs this near each other are the same: half a hundredth of the currency."""


@dataclass(frozen=True)
class BreakEven:
    """Where the costs cross, or that they do not.

    `at` is the crossing nearest to today's value, None where there is none in the range;
    `crossings` are all that were found, ascending. `cheaper_below`, `cheaper_above`: labels of the
    cheaper side on either side of `at` (of the range, where there is none). A whole quantity
    (years) crosses at the first whole number at which `cheaper_above` is cheaper, or at today's
    value where that is no whole number and comes first. `told` is the value the sentence tells,
    `told_words` how: for a whole quantity that falls, the last one before `at`. `by_ratio`,
    `whole`: as the driver says.
    """

    of: str
    unit: str
    at: float | None
    now: float
    low: float
    high: float
    cheaper_below: str
    cheaper_above: str
    sentence: str
    crossings: tuple[float, ...] = ()
    range_in_words: str = ""
    told: float | None = None
    told_words: str = ""
    by_ratio: bool = False
    whole: bool = False

    def place(self, value: float) -> float:
        """Where a value stands in the range: 0 at its low end, 1 at its high one."""
        return place(value, self.low, self.high, by_ratio=self.by_ratio)


def difference(case: Case, left: Result, right: Result) -> float:
    """Total cost of the left arrangement less that of the right one, at central values."""
    return Repricing(left, right).difference(case)


def break_evens(case: Case, left: Result, right: Result) -> tuple[BreakEven, ...]:
    """Break-even of two arrangements on every driver, the nearest to today's value first.

    Nearest: the least ratio to today's value.
    """
    return tuple(row for _, row in ranked(case, left, right))


def ranked(
    case: Case, left: Result, right: Result, *, repricing: Repricing | None = None
) -> tuple[tuple[Driver, BreakEven], ...]:
    """`break_evens` with the driver each was found on.

    `weighing`, of left and right, remembers what it simulated; None begins a new one.
    """
    frozen = frozen_classes(case, (left, right))
    repricing = repricing or Repricing(left, right)
    found = [
        (driver, break_even(frozen, left, right, driver, repricing=repricing))
        for driver in drivers(case, left, right)
    ]
    return tuple(sorted(found, key=lambda pair: _distance(*pair)))


def _distance(driver: Driver, row: BreakEven) -> float:
    return inf if row.at is None else _far(driver, row.at)


def _far(driver: Driver, value: float) -> float:
    """How far a value is from today's: in ratios of e, or in the driver's own large steps."""
    if driver.usual_step is None and value > 0 and driver.now > 0:
        return abs(log(value / driver.now))
    return abs(value - driver.now) / (driver.usual_step or (driver.high - driver.low) / 4.0)


def break_even(
    case: Case, left: Result, right: Result, driver: Driver, *, repricing: Repricing | None = None
) -> BreakEven:
    """Roots of the cost difference over one driver's range, by Brent's method (scipy).

    The range is looked at in POINTS values, today's among them; each change of sign is then closed
    in on. A crossing that falls between two of these values and back again is missed.
    """
    a, b = left.arrangement.label, right.arrangement.label
    repricing = repricing or Repricing(left, right)

    def gap(value: float) -> float:
        return repricing.difference(driver.turn(case, value))

    at = driver.steps(POINTS)
    gaps = [gap(value) for value in at]
    ahead = [a if difference <= 0 else b for difference in gaps]
    if all(abs(difference) < NO_DIFFERENCE for difference in gaps):
        return _none(driver, a, a, f"{a} and {b} cost the same at every value of {driver.of}.")
    roots = [
        (_closed_in(gap, driver, at[k], at[k + 1]), ahead[k], ahead[k + 1])
        for k in range(len(at) - 1)
        if ahead[k] != ahead[k + 1]
    ]
    if not roots:
        return _none(
            driver, ahead[0], ahead[-1],
            f"No break-even on {driver.of}: {ahead[0]} is cheaper all the way from "
            f"{_range(driver)}.",
        )  # fmt: skip
    root, below, above = min(roots, key=lambda found: _far(driver, found[0]))
    crossings = tuple(found[0] for found in roots)
    told = _told(driver, root)
    words = driver.words(told)
    if driver.whole:
        words += " or more" if driver.now < root else " or less"
    return BreakEven(
        driver.of, driver.unit, root, driver.now, driver.low, driver.high, below, above,
        _sentence(driver, root, below, above, crossings), crossings, _range(driver),
        told, words, driver.by_ratio, driver.whole,
    )  # fmt: skip


def _none(driver: Driver, below: str, above: str, sentence: str) -> BreakEven:
    return BreakEven(
        driver.of, driver.unit, None, driver.now, driver.low, driver.high, below, above, sentence,
        range_in_words=_range(driver), by_ratio=driver.by_ratio, whole=driver.whole,
    )  # fmt: skip


def _range(driver: Driver) -> str:
    return f"{driver.words(driver.low)} to {driver.words(driver.high)}"


def _told(driver: Driver, root: float) -> float:
    """The value a sentence tells: of a whole quantity, the nearest at which the other leads."""
    if driver.whole and driver.now >= root:
        return float(ceil(root) - 1)
    return root


def _closed_in(gap: Callable[[float], float], driver: Driver, low: float, high: float) -> float:
    if not driver.whole:
        close = min((driver.high - driver.low) * CLOSE, max(abs(low), abs(high)) * CLOSE)
        return float(brentq(gap, low, high, xtol=close, rtol=1e-6))
    left_ahead = gap(low) <= 0
    while (first := floor(low) + 1) <= (last := ceil(high) - 1):  # whole numbers in between
        middle = float((first + last) // 2)
        if (gap(middle) <= 0) == left_ahead:
            low = middle
        else:
            high = middle
    return high


def _sentence(
    driver: Driver, root: float, below: str, above: str, crossings: Sequence[float]
) -> str:
    turn = _told(driver, root)
    rising = driver.now < root if driver.whole else driver.now <= root
    ahead, other = (below, above) if rising else (above, below)
    now = f"now {driver.words(driver.now)}"
    if not driver.whole and driver.words(turn) == driver.words(driver.now):
        now = "which is all but today's value"
    aside = "; ".join(filter(None, [driver.aside(turn), now]))
    text = (
        f"{ahead} stays ahead {'unless' if driver.whole else 'until'} "
        f"{driver.clause(turn, rising)} ({aside}); then {other} is cheaper."
    )
    others = [driver.words(value) for value in crossings if value != root]
    if others:
        text += f" The lead changes again at {' and '.join(others)}."
    return text
