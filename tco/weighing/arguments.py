"""The two arguments everybody has: one large or several small, cheap or premium.

Each is one call: the better of either kind, what they cost in the same draws, where the costs
cross, and what a table beside a picture would show.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from tco.case.words import money
from tco.compare import Comparison
from tco.money.bank_failures import share_left
from tco.money.risk import Band, band
from tco.physics.arrays import FloatArray
from tco.result import Result
from tco.sentences import kg, says
from tco.weighing.breakeven import BreakEven, break_evens

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
    opening: str
    note: str = ""

    @property
    def answer_tells_first(self) -> bool:
        """Whether the answer ends with the nearest break-even's sentence."""
        return bool(self.break_even) and self.break_even[0].at is not None


def one_or_many(comparison: Comparison, *, with_break_even: bool = True) -> Argument:
    """The best single pack (or, where none passes, single string) against the best of several."""
    one = _best(comparison, lambda r: r.arrangement.packs == 1) or _best(
        comparison, lambda r: r.arrangement.parallel == 1
    )
    many = _best(comparison, lambda r: r.arrangement.parallel > 1)
    return _argue(
        comparison,
        "one_or_many",
        one,
        many,
        ("single pack or string", "bank of several strings"),
        with_break_even=with_break_even,
    )


def cheap_or_premium(comparison: Comparison, *, with_break_even: bool = True) -> Argument:
    """The best arrangement of a cheap pack against the best of a premium one.

    Classes are those of the failure prior (price per kWh among packs of one chemistry, or
    stated). Where either class has nothing that passes, the cheaper and the dearer half of the
    packs that pass, by price per usable kWh, take their places; the answer says so.
    """
    cheap = _best(comparison, lambda r: r.failures.knowledge.price_class == "cheap")
    premium = _best(comparison, lambda r: r.failures.knowledge.price_class == "premium")
    note = ""
    if cheap is None or premium is None:
        prices = sorted({r.price_per_usable_kwh for r in comparison.results if r.feasible})
        if len(prices) > 1:
            missing = [n for n, s in (("cheap", cheap), ("premium", premium)) if s is None]
            note = (
                f"No pack of the {' or the '.join(missing)} class passes, so the cheaper half of "
                "what passes stands against the dearer half, by price per usable kWh."
            )
            first_dear = prices[len(prices) // 2]
            cheap = _best(comparison, lambda r: r.price_per_usable_kwh < first_dear)
            premium = _best(comparison, lambda r: r.price_per_usable_kwh >= first_dear)
    return _argue(
        comparison,
        "cheap_or_premium",
        cheap,
        premium,
        ("cheap pack", "premium pack"),
        note=note,
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
    note: str = "",
) -> Argument:
    if left is None or right is None:
        nothing = _nothing(comparison, kind, (left, right), names)
        return Argument(kind, nothing, left, right, None, None, (), (), nothing)
    differences = None
    if left.costs is not None and right.costs is not None:
        differences = left.costs - right.costs
    crossings = break_evens(comparison.case, left, right) if with_break_even else ()
    # break-evens are reckoned without the draws, which may say otherwise
    ground = "" if draws_agree(left, right) else "At today's figures, "
    opening = f"{QUESTIONS[kind]} {verdict(comparison, left, right, roles=_roles(kind, left))}"
    parts = [
        opening,
        note,
        *[ground + row.sentence for row in crossings[:1] if row.at is not None],
    ]
    return Argument(
        kind=kind,
        answer=" ".join(filter(None, parts)),
        left=left,
        right=right,
        difference=None if differences is None else band(differences),
        differences=differences,
        break_even=crossings,
        rows=side_by_side(comparison, left, right),
        opening=opening,
        note=note,
    )


def _nothing(
    comparison: Comparison,
    kind: Kind,
    sides: tuple[Result | None, Result | None],
    names: tuple[str, str],
) -> str:
    if comparison.best is None:
        return f"{QUESTIONS[kind]} There is nothing to weigh: no arrangement passes."
    missing = [name for name, side in zip(names, sides, strict=True) if side is None]
    only = next((side for side in sides if side is not None), None)
    left_over = f" On the other side, {only.arrangement.label} is the best." if only else ""
    return (
        f"{QUESTIONS[kind]} There is nothing to weigh: no {' and no '.join(missing)} passes."
        f"{left_over}"
    )


def _roles(kind: Kind, left: Result) -> tuple[str, str]:
    if kind == "cheap_or_premium":
        return "Cheap", "Premium"
    return "One" if left.arrangement.packs == 1 else "One string", "Several"


def draws_agree(left: Result, right: Result) -> bool:
    """Whether the cheaper one at today's figures is so in the draws: on average and mostly.

    True without draws, and for one draw that says the same.
    """
    if left.costs is None or right.costs is None:
        return True
    left_ahead = left.measures.total_cost <= right.measures.total_cost
    saved = right.costs - left.costs if left_ahead else left.costs - right.costs
    return bool(saved.mean() >= 0.0 and np.mean(saved > 0.0) >= 0.5)


def verdict(
    comparison: Comparison, left: Result, right: Result, *, roles: tuple[str, str] | None = None
) -> str:
    """Which of two costs less, at today's figures and, where there are draws, in the draws.

    The two may disagree, since a draw is no average year: then both are said. `roles`: a word for
    each side, of which the better one's opens the sentence.
    """
    currency = comparison.case.prices.currency
    gap = right.measures.total_cost - left.measures.total_cost
    better, other = (left, right) if gap >= 0 else (right, left)
    a, b = better.arrangement.label, other.arrangement.label
    over = f"over {_years(comparison.case.assumptions.horizon_years)}"
    role = "" if roles is None else f"{roles[0] if better is left else roles[1]}: "
    open_question = "" if roles is None else "It depends: "
    text = f"{a} costs {money(abs(gap), currency)} less than {b} {over}"
    if round(abs(gap)) == 0:
        text, role = f"{a} and {b} cost the same {over}", open_question
    if better.costs is None or other.costs is None:
        return f"{role}{text}."
    saved = other.costs - better.costs
    mean, share = float(saved.mean()), float(np.mean(saved > 0))
    if saved.size == 1:
        joined = "and" if mean >= 0 else "but"
        return f"{role}{text} at today's figures, {joined} {_signed(mean, currency)} in one draw."
    low, high = (float(q) for q in np.quantile(saved, (0.1, 0.9)))
    spread = f"8 in 10 between {_signed(low, currency)} and {_signed(high, currency)}"
    often = f"cheaper in {share_words(share)} of them ({spread})"
    if draws_agree(left, right):
        text = (
            f"{role}{text} at today's figures, and {money(mean, currency)} less on average over "
            f"the draws; it is {often}."
        )
    else:
        text = (
            f"{open_question}{text} at today's figures, but the draws do not bear that out: there "
            f"it costs {_signed(mean, currency)} on average and is {often}."
        )
    error = band(saved).standard_error
    if abs(mean) < 2.0 * error:
        text += " The draws do not tell the two apart: the average is within its own error."
    return text


def _years(number: float) -> str:
    return f"{number:g} year{'' if number == 1 else 's'}"


def share_words(share: float) -> str:
    """A share in words that never rounds to all or none unless it is."""
    if 0.99 < share < 1.0:
        return "over 99%"
    return "under 1%" if 0.0 < share < 0.01 else f"{share:.0%}"


def _signed(saved: float, currency: str) -> str:
    return f"{money(abs(saved), currency)} {'less' if saved >= 0 else 'more'}"


def side_by_side(comparison: Comparison, left: Result, right: Result) -> tuple[Row, ...]:
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
        row("heaviest lift", lambda r: says(kg(r.arrangement.pack.mass_kg))),
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
