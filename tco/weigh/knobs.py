"""The quantities on which a choice may turn, and how to turn each of them in a case.

A knob takes a case to the same case with one quantity at another value. Everything else stays,
price classes included, so that only the quantity itself speaks.
"""

from collections.abc import Callable
from dataclasses import dataclass

from tco.case import Case
from tco.case.evidence import StatedClass, StatedRate
from tco.case.quantities import hours_of_window
from tco.case.words import money
from tco.compare import Result


@dataclass(frozen=True)
class Knob:
    """One quantity: its name and unit, its range, its value now, and how to set it."""

    of: str
    unit: str
    low: float
    high: float
    now: float
    turn: Callable[[Case, float], Case]
    words: Callable[[float], str]


def knobs(case: Case, left: Result, right: Result) -> tuple[Knob, ...]:
    """The knobs for weighing two arrangements of a case."""
    currency = case.prices.currency
    prices, assumptions = case.prices, case.assumptions
    found = [
        _failure_rate(left),
        _price(case, right, currency),
        Knob(
            "credibility of cycle claims", "share", 0.2, 1.0, assumptions.credibility,
            lambda c, x: _assume(c, credibility=x), lambda x: f"{x:.0%} of the claimed cycles",
        ),
        Knob(
            "energy used", "of today's use", 0.4, 1.6, 1.0, _use,
            lambda x: f"{x:.0%} of today's use",
        ),
        Knob(
            "years of use", "years", 1.0, 25.0, float(assumptions.horizon_years),
            lambda c, x: _assume(c, horizon_years=max(1, round(x))), lambda x: f"{x:.0f} years",
        ),
        Knob(
            "a day without power", currency, 0.0, 400.0, prices.day_without_power_price,
            lambda c, x: _price_of(c, day_without_power_price=x), lambda x: money(x, currency),
        ),
        Knob(
            "discount rate", "a year", 0.0, 0.15, prices.discount_rate,
            lambda c, x: _price_of(c, discount_rate=x), lambda x: f"{x:.1%} a year",
        ),
    ]  # fmt: skip
    return tuple(found)


def _failure_rate(side: Result) -> Knob:
    name = side.arrangement.pack.name

    def turn(case: Case, rate: float) -> Case:
        others = tuple(s for s in case.reliability.stated_rates if s.candidate != name)
        stated = (*others, StatedRate(candidate=name, rate_per_pack_year=rate))
        reliability = case.reliability.model_copy(update={"stated_rates": stated})
        return case.model_copy(update={"reliability": reliability})

    return Knob(
        f"failures of {name}",
        "per pack and year",
        0.0005,
        0.5,
        side.failures.knowledge.posterior.mean,
        turn,
        lambda rate: f"once in {1.0 / rate:.0f} pack-years" if rate < 0.2 else f"{rate:.2f} a year",
    )


def _price(case: Case, side: Result, currency: str) -> Knob:
    name, price = side.arrangement.pack.name, side.arrangement.pack.price

    def turn(case: Case, value: float) -> Case:
        changed = tuple(
            candidate.model_copy(update={"price": value}) if candidate.name == name else candidate
            for candidate in case.candidates
        )
        return case.model_copy(update={"candidates": changed})

    return Knob(
        f"price of {name}", f"{currency} a pack", 0.1 * price, 3.0 * price, price, turn,
        lambda value: f"{money(value, currency)} a pack",
    )  # fmt: skip


def _assume(case: Case, **changes: float) -> Case:
    return case.model_copy(update={"assumptions": case.assumptions.model_copy(update=changes)})


def _price_of(case: Case, **changes: float) -> Case:
    return case.model_copy(update={"prices": case.prices.model_copy(update=changes)})


def _use(case: Case, factor: float) -> Case:
    """All loads run for more or less of the day; one that overflows its window runs at any time.

    More energy, not a harder peak: what has to be carried at one time stays as it is.
    """
    loads = []
    for load in case.loads:
        hours = min(24.0, load.hours_per_day * factor)
        changes: dict[str, float | str] = {"hours_per_day": hours}
        if hours > sum(hours_of_window(load.when)):
            changes["when"] = "any time"
        loads.append(load.model_copy(update=changes))
    return case.model_copy(update={"loads": tuple(loads)})


def frozen_classes(case: Case, results: tuple[Result, ...]) -> Case:
    """The case with every price class stated as it is now, so that a turned price keeps it."""
    now = {r.arrangement.pack.name: r.failures.knowledge.price_class for r in results}
    stated = tuple(StatedClass(candidate=n, price_class=c) for n, c in now.items())
    kept = tuple(s for s in case.reliability.stated_classes if s.candidate not in now)
    reliability = case.reliability.model_copy(update={"stated_classes": (*kept, *stated)})
    return case.model_copy(update={"reliability": reliability})
