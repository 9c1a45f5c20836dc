"""Break-even: where two arrangements come to cost the same, one quantity turned at a time."""

from collections.abc import Callable
from dataclasses import dataclass

from scipy.optimize import brentq

from tco.case import Case
from tco.compare import Result, compare
from tco.weigh.knobs import Knob, frozen_classes, knobs

POINTS = 7
"""Values over a knob's range at which the difference is looked at for a change of sign."""

CLOSE = 0.002
"""A crossing is found to this share of the range."""


@dataclass(frozen=True)
class BreakEven:
    """Where the costs cross, or that they do not.

    `at` is None where there is no crossing in the range. `cheaper_below`, `cheaper_above`: labels
    of the cheaper side on either side of the crossing (of the range, where there is none).
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


def difference(case: Case, left: str, right: str) -> float:
    """Total cost of the left arrangement less that of the right one, at central values."""
    comparison = compare(case, only={left, right})
    return (
        comparison.result(left).measures.total_cost - comparison.result(right).measures.total_cost
    )


def break_evens(case: Case, left: Result, right: Result) -> tuple[BreakEven, ...]:
    """Break-even of two arrangements on every knob, the nearest to today's value first."""
    frozen = frozen_classes(case, (left, right))
    found = [break_even(frozen, left, right, knob) for knob in knobs(case, left, right)]

    def distance(row: BreakEven) -> float:
        if row.at is None:
            return float("inf")
        return abs(row.at - row.now) / (row.high - row.low)

    return tuple(sorted(found, key=distance))


def break_even(case: Case, left: Result, right: Result, knob: Knob) -> BreakEven:
    """Root of the cost difference over one knob's range.

    The range is looked at in POINTS steps; the crossing nearest to today's value is then closed
    in on with Brent's method (scipy). A crossing that falls between two points and back is missed.
    """
    a, b = left.arrangement.label, right.arrangement.label

    def gap(value: float) -> float:
        return difference(knob.turn(case, value), a, b)

    step = (knob.high - knob.low) / (POINTS - 1)
    at = sorted({knob.low + step * k for k in range(POINTS)} | {_inside(knob)})
    gaps = [gap(value) for value in at]
    crossings = [
        (at[k], at[k + 1]) for k in range(len(at) - 1) if (gaps[k] > 0) != (gaps[k + 1] > 0)
    ]
    below, above = (a if gaps[0] <= 0 else b), (a if gaps[-1] <= 0 else b)
    if not crossings:
        return BreakEven(
            knob.of, knob.unit, None, knob.now, knob.low, knob.high, below, above,
            f"{below} is cheaper over the whole range of {knob.of}, from {knob.words(knob.low)} to "
            f"{knob.words(knob.high)}: there is no break-even.",
        )  # fmt: skip
    low, high = min(crossings, key=lambda ends: _away(ends, knob.now))
    root = _closed_in(gap, low, high, (knob.high - knob.low) * CLOSE)
    below = a if gap_sign(gaps, at, low) else b
    above = b if below == a else a
    return BreakEven(
        knob.of, knob.unit, root, knob.now, knob.low, knob.high, below, above,
        _sentence(knob, root, below, above),
    )  # fmt: skip


def gap_sign(gaps: list[float], at: list[float], value: float) -> bool:
    """Whether the left side is the cheaper one at one of the points looked at."""
    return gaps[at.index(value)] <= 0


def _inside(knob: Knob) -> float:
    return min(max(knob.now, knob.low), knob.high)


def _away(ends: tuple[float, float], now: float) -> float:
    low, high = ends
    return 0.0 if low <= now <= high else min(abs(low - now), abs(high - now))


def _closed_in(gap: Callable[[float], float], low: float, high: float, close: float) -> float:
    return float(brentq(gap, low, high, xtol=close, rtol=1e-6))


def _sentence(knob: Knob, root: float, below: str, above: str) -> str:
    cheaper_now = below if knob.now <= root else above
    other = above if cheaper_now == below else below
    word = "rises above" if knob.now <= root else "falls below"
    return (
        f"{cheaper_now} stays cheaper until {knob.of} {word} {knob.words(root)} "
        f"(now {knob.words(knob.now)}); beyond that {other} is."
    )
