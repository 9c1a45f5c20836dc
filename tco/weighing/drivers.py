"""What drives a choice: the quantities on which it may turn, and how to turn each in a case.

A driver takes a case to the same case with one quantity at another value. Everything else stays,
price classes included, so that only the quantity itself speaks. Ranges are our choice, and wide
enough to hold today's value whatever it is.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

from tco.case import Case
from tco.case.evidence import StatedClass, StatedRate
from tco.case.times import hours_of_window
from tco.case.words import money
from tco.result import Result

LONGEST_USE_YEARS = 25.0
OFTEN_PER_YEAR = 1.0
"""Failures of one pack a year from which they are told as so many a year."""

NEVER_PER_YEAR = 1e-6
"""A rate below this is told as never, and its range not by ratios."""


@dataclass(frozen=True)
class Driver:
    """One quantity: its name and unit, its range, its value now, and how to set it.

    `words` tells a value; `clause(value, above)` says in a clause that the quantity goes above
    (or below) it: "the price of Trot 100 falls below $120 a pack"; `aside` what else the value
    means, empty where nothing. `whole`: only whole numbers are looked at, and today's value.
    `by_ratio`: the range is told by ratios (ten times, a hundred times), on a logarithmic scale.
    `usual_step`: what counts as a large step; None where that is a ratio.
    """

    of: str
    unit: str
    low: float
    high: float
    now: float
    turn: Callable[[Case, float], Case]
    words: Callable[[float], str]
    clause: Callable[[float, bool], str]
    aside: Callable[[float], str] = lambda _: ""
    whole: bool = False
    by_ratio: bool = False
    usual_step: float | None = None

    def steps(self, number: int) -> list[float]:
        """Values over the range, ascending: both ends, today's value, evenly spread on its scale.

        At least three where today's value lies within; fewer than `number` where only whole
        numbers mean anything and there are not as many.
        """
        ends = [self.low, self.now, self.high]
        number = max(number, len(set(ends)))
        share = place(self.now, self.low, self.high, by_ratio=self.by_ratio)
        below = 0 if self.now <= self.low else number - 1
        if self.low < self.now < self.high:
            below = min(max(round(share * (number - 1)), 1), number - 2)
        found = set(ends)
        for start, end, count in (
            (self.low, self.now, below),
            (self.now, self.high, number - 1 - below),
        ):
            for k in range(1, count):
                value = start + (end - start) * k / count
                if self.by_ratio:
                    value = exp(log(start) + (log(end) - log(start)) * k / count)
                found.add(float(round(value)) if self.whole else value)
        return sorted(found)


def place(value: float, low: float, high: float, *, by_ratio: bool) -> float:
    """Where a value stands between two others: 0 at the low one, 1 at the high one."""
    if by_ratio:
        return log(value / low) / log(high / low)
    return (value - low) / (high - low)


def drivers(case: Case, left: Result, right: Result) -> tuple[Driver, ...]:
    """The drivers for weighing two arrangements of a case.

    Failures are those of the left side's pack, the price is the right side's: how bad would the
    cheap one have to be, how dear may the premium one be?
    """
    return (
        failure_rate(left),
        price(case, right),
        _credibility(case),
        _energy(case),
        years_of_use(case),
        _day(case),
        _discount(case),
    )


def failure_rate(side: Result) -> Driver:
    """How often a pack of one side's model fails."""
    name, now = side.arrangement.pack.name, side.failures.knowledge.posterior.mean
    of_cells = side.arrangement.pack.block is not None
    one, unit = ("a cell of", "per cell and year") if of_cells else (
        "a pack of", "per pack and year"
    )  # fmt: skip

    def turn(case: Case, rate: float) -> Case:
        others = tuple(s for s in case.reliability.stated_rates if s.candidate != name)
        stated = (*others, StatedRate(candidate=name, rate_per_pack_year=rate))
        reliability = case.reliability.model_copy(update={"stated_rates": stated})
        return case.model_copy(update={"reliability": reliability})

    def clause(rate: float, above: bool) -> str:
        often = "more" if above else "less"
        return f"{one} {name} fails {often} than {how_often(rate)}"

    return Driver(
        f"failures of {name}", unit, min(0.0005, now), max(0.5, now), now,
        turn, how_often, clause, lambda rate: _per_bank(rate, side),
        by_ratio=now >= NEVER_PER_YEAR,
    )  # fmt: skip


def how_often(rate_per_year: float) -> str:
    """A rate in words: once in so many years, or so many times a year."""
    if rate_per_year < NEVER_PER_YEAR:
        return "never"
    if rate_per_year < OFTEN_PER_YEAR:
        years = 1.0 / rate_per_year
        return f"once in {years:,.0f} years" if years >= 10 else f"once in {years:.2g} years"
    return f"{rate_per_year:.1f} times a year"


def _per_bank(rate: float, side: Result) -> str:
    if side.failures.packs == 1:
        return ""
    return f"in a bank of {side.arrangement.pieces}, {how_often(rate * side.failures.packs)}"


def price(case: Case, side: Result) -> Driver:
    """What a pack, or a bare cell, of one side's model costs."""
    currency, pack = case.prices.currency, side.arrangement.pack
    name, now, one = pack.name, pack.piece_price, "pack" if pack.block is None else "cell"

    def turn(case: Case, value: float) -> Case:
        changed = tuple(
            candidate.model_copy(update={"price": value}) if candidate.name == name else candidate
            for candidate in case.candidates
        )
        return case.model_copy(update={"candidates": changed})

    def words(value: float) -> str:
        return money(value, currency)

    high = 3.0 * now if now > 0 else max((c.price for c in case.candidates), default=0.0) or 1.0
    return Driver(
        f"price of {name}", f"{currency} a {one}", 0.1 * now, high, now, turn, words,
        lambda value, above: f"the price of {name} {_goes(above)} {words(value)} a {one}",
    )  # fmt: skip


def _goes(above: bool) -> str:
    return "rises above" if above else "falls below"


def _credibility(case: Case) -> Driver:
    now = case.assumptions.credibility
    return Driver(
        "credibility of claims", "share", min(0.2, now), 1.0, now,
        lambda c, x: assuming(c, credibility=x),
        lambda x: f"{x:.0%}",
        lambda x, above: (
            f"{'more' if above else 'less'} than {x:.0%} of the claimed cycles and years come true"
        ),
    )  # fmt: skip


def _energy(case: Case) -> Driver:
    return Driver(
        "energy used", "of today's use", 0.4, 1.6, 1.0, use,
        lambda x: f"{x:.0%}",
        lambda x, above: f"the energy used {_goes(above)} {x:.0%} of today's",
    )  # fmt: skip


def years_of_use(case: Case) -> Driver:
    """How many years are compared."""
    now = float(case.assumptions.horizon_years)
    return Driver(
        "years of use", "years", 1.0, max(LONGEST_USE_YEARS, now), now,
        lambda c, x: assuming(c, horizon_years=x),
        _counted,
        lambda x, above: f"it is used for {_counted(x)} or {'more' if above else 'less'}",
        whole=True,
    )  # fmt: skip


def _counted(years: float) -> str:
    return f"{years:g} year{'' if years == 1 else 's'}"


def _day(case: Case) -> Driver:
    currency, now = case.prices.currency, case.prices.day_without_power_price
    return Driver(
        "a day without power", currency, 0.0, max(400.0, 4.0 * now), now,
        lambda c, x: _price_of(c, day_without_power_price=x),
        lambda x: money(x, currency),
        lambda x, above: (
            f"a day without power costs {'more' if above else 'less'} than {money(x, currency)}"
        ),
    )  # fmt: skip


def _discount(case: Case) -> Driver:
    now = case.prices.discount_rate
    return Driver(
        "discount rate", "a year", min(0.0, now), max(0.15, now), now,
        lambda c, x: _price_of(c, discount_rate=x),
        lambda x: f"{x:.1%} a year",
        lambda x, above: f"the discount rate {_goes(above)} {x:.1%} a year",
        usual_step=0.03,
    )  # fmt: skip


def assuming(case: Case, **changes: float) -> Case:
    """The case with some of its assumptions at other values."""
    return case.model_copy(update={"assumptions": case.assumptions.model_copy(update=changes)})


def _price_of(case: Case, **changes: float) -> Case:
    return case.model_copy(update={"prices": case.prices.model_copy(update=changes)})


def use(case: Case, factor: float) -> Case:
    """All loads run for more or less of the day; one that overflows its window runs at any time.

    More energy, not a harder peak: what has to be carried at one time stays as it is. Only a load
    that already runs all day draws more power instead.
    """
    loads = []
    for load in case.loads:
        wanted = load.hours_per_day * factor
        changes: dict[str, float | str] = {"hours_per_day": min(24.0, wanted)}
        if wanted > sum(hours_of_window(load.when)):
            changes["when"] = "any time"
        if wanted > 24.0:
            for name in ("power_w", "current_a", "surge_w"):
                if (value := getattr(load, name)) is not None:
                    changes[name] = value * wanted / 24.0
        loads.append(load.model_copy(update=changes))
    return case.model_copy(update={"loads": tuple(loads)})


def frozen_classes(case: Case, results: tuple[Result, ...]) -> Case:
    """The case with every price class stated as it is now, so that a turned price keeps it."""
    now = {r.arrangement.pack.name: r.failures.knowledge.price_class for r in results}
    stated = tuple(StatedClass(candidate=n, price_class=c) for n, c in now.items())
    kept = tuple(s for s in case.reliability.stated_classes if s.candidate not in now)
    reliability = case.reliability.model_copy(update={"stated_classes": (*kept, *stated)})
    return case.model_copy(update={"reliability": reliability})
