"""The two arguments everybody has: one large or several small, cheap or premium.

Each is one call: the better of either kind, what they cost in the same draws, where the costs
cross, and what a table beside a picture would show.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tco.case.words import money
from tco.compare import Comparison, Result
from tco.money.bank_failures import share_left
from tco.money.risk import Band, band
from tco.weigh.breakeven import BreakEven, break_evens

FloatArray = NDArray[np.float64]

Kind = Literal["one_or_many", "cheap_or_premium"]

QUESTIONS: dict[Kind, str] = {
    "one_or_many": "One large pack or several small ones?",
    "cheap_or_premium": "Cheap or premium?",
}


@dataclass(frozen=True)
class Row:
    """One line of the table: what is compared, in words for both sides."""

    what: str
    left: str
    right: str


@dataclass(frozen=True)
class Argument:
    """One argument, weighed.

    `left` is the single pack or the cheap one, `right` the several or the premium one; None where
    no such arrangement passes. `difference` is left less right over the same draws, None without
    draws or without both sides.
    """

    kind: Kind
    answer: str
    left: Result | None
    right: Result | None
    difference: Band | None
    differences: FloatArray | None
    break_even: tuple[BreakEven, ...]
    rows: tuple[Row, ...]


def one_or_many(comparison: Comparison, *, with_break_even: bool = True) -> Argument:
    """The best single pack (or single string) against the best bank of several strings."""
    one = _best(comparison, lambda r: r.arrangement.packs == 1) or _best(
        comparison, lambda r: r.arrangement.parallel == 1
    )
    many = _best(comparison, lambda r: r.arrangement.parallel > 1)
    return _argue(
        comparison,
        "one_or_many",
        one,
        many,
        ("single pack", "bank of several strings"),
        with_break_even=with_break_even,
    )


def cheap_or_premium(comparison: Comparison, *, with_break_even: bool = True) -> Argument:
    """The best arrangement of a cheap pack against the best of a premium one.

    Classes are those of the failure prior (price per kWh among packs of one chemistry, or
    stated). Where either class has nothing that passes, the cheaper and the dearer half of what
    passes, by price per usable kWh, take their places.
    """
    cheap = _best(comparison, lambda r: r.failures.knowledge.price_class == "cheap")
    premium = _best(comparison, lambda r: r.failures.knowledge.price_class == "premium")
    if cheap is None or premium is None:
        passing = [r for r in comparison.results if r.feasible]
        if len(passing) > 1:
            middle = float(np.median([r.price_per_usable_kwh for r in passing]))
            cheap = _best(comparison, lambda r: r.price_per_usable_kwh < middle)
            premium = _best(comparison, lambda r: r.price_per_usable_kwh >= middle)
    return _argue(
        comparison,
        "cheap_or_premium",
        cheap,
        premium,
        ("cheap pack", "premium pack"),
        with_break_even=with_break_even,
    )


def _best(comparison: Comparison, wanted: Callable[[Result], bool]) -> Result | None:
    return next((r for r in comparison.results if r.feasible and wanted(r)), None)


def _argue(
    comparison: Comparison,
    kind: Kind,
    left: Result | None,
    right: Result | None,
    names: tuple[str, str],
    *,
    with_break_even: bool,
) -> Argument:
    if left is None or right is None or left is right:
        missing = " nor ".join(
            name for name, side in zip(names, (left, right), strict=True) if side is None
        )
        return Argument(
            kind, f"{QUESTIONS[kind]} There is nothing to weigh: no {missing or names[1]} passes.",
            left, right, None, None, (), (),
        )  # fmt: skip
    differences = None
    if left.costs is not None and right.costs is not None:
        differences = left.costs - right.costs
    crossings = break_evens(comparison.case, left, right) if with_break_even else ()
    return Argument(
        kind=kind,
        answer=_answer(comparison, kind, left, right, differences, crossings),
        left=left,
        right=right,
        difference=None if differences is None else band(differences),
        differences=differences,
        break_even=crossings,
        rows=_rows(comparison, left, right),
    )


def _answer(
    comparison: Comparison,
    kind: Kind,
    left: Result,
    right: Result,
    differences: FloatArray | None,
    crossings: Sequence[BreakEven],
) -> str:
    currency = comparison.case.prices.currency
    gap = right.measures.total_cost - left.measures.total_cost
    better, other = (left, right) if gap >= 0 else (right, left)
    text = (
        f"{QUESTIONS[kind]} {better.arrangement.label}: {money(abs(gap), currency)} less than "
        f"{other.arrangement.label} over {comparison.case.assumptions.horizon_years} years"
    )
    if differences is not None:
        saved = -differences if better is left else differences
        low, high = (float(q) for q in np.quantile(saved, (0.1, 0.9)))
        text += (
            f", and cheaper in {float(np.mean(saved > 0)):.0%} of the draws (8 in 10 between "
            f"{_signed(low, currency)} and {_signed(high, currency)})"
        )
    text += "."
    near = next((row for row in crossings if row.at is not None), None)
    if near is not None:
        text += f" {near.sentence[0].upper()}{near.sentence[1:]}"
    return text


def _signed(saved: float, currency: str) -> str:
    return f"{money(abs(saved), currency)} {'less' if saved >= 0 else 'more'}"


def _rows(comparison: Comparison, left: Result, right: Result) -> tuple[Row, ...]:
    """What the money does not say on its face, side by side."""
    currency = comparison.case.prices.currency

    def row(what: str, words: Callable[[Result], str]) -> Row:
        return Row(what, words(left), words(right))

    def wired(words: Callable[[Result], str]) -> Callable[[Result], str]:
        return lambda r: words(r) if r.wiring is not None else "–"

    return (
        row("total cost", lambda r: money(r.measures.total_cost, currency)),
        row("to buy", lambda r: money(r.measures.first_cost, currency)),
        row("of that, wiring", wired(lambda r: money(r.wiring.cost, currency))),  # type: ignore[union-attr]
        row("connections", wired(lambda r: f"{r.wiring.connections}")),  # type: ignore[union-attr]
        row(
            "heat in cables and joints at full current",
            wired(lambda r: f"{r.wiring.circuit.heat_w:.0f} W"),  # type: ignore[union-attr]
        ),
        row("heaviest lift", lambda r: f"{r.arrangement.pack.mass_kg:.0f} kg"),
        row(
            "failures expected",
            lambda r: f"{r.failures.expected(0):.3f} a year",
        ),
        row(
            "power left with one pack dead",
            lambda r: f"{share_left(r.arrangement.series, r.arrangement.parallel):.0%}",
        ),
        row("one pack as a spare", lambda r: money(r.arrangement.pack.price, currency)),
        row("usable energy, new", lambda r: f"{r.arrangement.usable_wh / 1000:.1f} kWh"),
        row(
            "serves",
            lambda r: (
                "over 40 years"
                if r.life.first_life_years is None
                else f"{r.life.first_life_years:.0f} years"
            ),
        ),
    )
