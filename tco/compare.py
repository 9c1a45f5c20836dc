"""From a case to a comparison: the whole story on one page.

`compare` asks the stages of `tco.pipeline` for every arrangement, adds the draws and ranks them;
it returns one object that every screen, report and export reads.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from tco.bank.budget import EnergyBudget, PeakDemand
from tco.bank.checks.screening import required_current_a
from tco.bank.choices import LeftOut, tried
from tco.bank.wiring.feeds import Branch, Feed, branches, feeds
from tco.bank.wiring.sharing_study import SharingStudy, study
from tco.case import Case
from tco.columns import COLUMNS, Row
from tco.life.conditions import Conditions
from tco.life.cures import WeakPoint, weak_points, weak_points_at
from tco.life.health import lives_of
from tco.life.outages import Outages, many_years, outages
from tco.life.outlook import YearsAhead, years_ahead
from tco.life.year import Trace, trace
from tco.money.uncertainty import uncertainty
from tco.pipeline import Years, judge_all, need_of, price, screen_all, simulate, wire_all
from tco.result import Result

if TYPE_CHECKING:
    import pandas as pd

Progress = Callable[[float, str], None]
"""Told the share done and what is being done."""


@dataclass(frozen=True)
class Comparison:
    """The answer to a case: all arrangements in rank order, those ruled out last.

    `left_out`: larger banks that a ceiling kept from being tried.

    Rank: arrangements of which everything is known and nothing fails, then those with something
    unknown, each by total cost; then the ruled-out ones by the number of failed requirements.
    """

    case: Case
    budget: EnergyBudget
    demand: PeakDemand
    conditions: Conditions
    results: tuple[Result, ...]
    left_out: tuple[LeftOut, ...] = ()

    @property
    def best(self) -> Result | None:
        """The first in rank, None where nothing passes."""
        return self.results[0] if self.results and self.results[0].feasible else None

    @property
    def required_current_a(self) -> float:
        """Continuous current every bank must carry, at the inverter's cut-off voltage. [A]"""
        return required_current_a(self.case, self.demand)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The results with their ranks, as `tco.columns.COLUMNS` reads them."""
        return tuple(Row(rank, result) for rank, result in enumerate(self.results, start=1))

    def result(self, label: str) -> Result:
        """The result of an arrangement, by its label. Raises KeyError where there is none."""
        for result in self.results:
            if result.arrangement.label == label:
                return result
        raise KeyError(label)

    def sharing(self, result: Result) -> SharingStudy | None:
        """Current sharing of an arrangement as wired and otherwise; None where it has no wiring."""
        if result.wiring is None:
            return None
        return study(self.case, result.arrangement, result.wiring.circuit)

    def feeds(self, result: Result) -> tuple[Feed, ...]:
        """What the branches of the distribution have to be; empty without wiring."""
        if result.wiring is None:
            return ()
        return feeds(self.case, result.wiring.circuit, self._branches)

    @cached_property
    def _branches(self) -> tuple[Branch, ...]:
        return branches(self.case)

    def trace(self, result: Result, *, health: float = 1.0) -> Trace:
        """Hour by hour through the weather years of one arrangement, at one health."""
        return trace(
            result.bank,
            self.conditions,
            self.case.assumptions,
            health=health,
            by_age=result.life.by_age,
        )

    @cached_property
    def weak_points(self) -> tuple[WeakPoint, ...]:
        """What is too small with each result's bank when new: battery, charging, cold or none."""
        short = np.array([[result.hours_without_power] for result in self.results])
        return tuple(
            weak_points(
                self.case,
                [result.bank for result in self.results],
                self.conditions,
                {"hours_without_power": short.reshape(-1, 1)},
            )
        )

    @cached_property
    def weak_points_when_worn(self) -> tuple[WeakPoint | None, ...]:
        """The same with each bank worn to its end of life; None for what is ruled out."""
        passing = [result for result in self.results if result.feasible]
        found: dict[str, WeakPoint] = {}
        for health in {self.worn_health(result) for result in passing}:
            some = [result for result in passing if self.worn_health(result) == health]
            points = weak_points_at(
                self.case,
                [result.bank for result in some],
                self.conditions,
                health=health,
                by_age=[result.life.by_age for result in some],
            )
            labels = (result.arrangement.label for result in some)
            found |= dict(zip(labels, points, strict=True))
        return tuple(found.get(result.arrangement.label) for result in self.results)

    def worn_health(self, result: Result) -> float:
        """The health at which an arrangement's bank is replaced."""
        return self.case.assumptions.end_of_life_of(result.arrangement.pack.chemistry)

    def power_failures(self, result: Result) -> tuple[Outages, Outages]:
        """Outages over many weather years with an arrangement's bank new, and worn to its end."""
        weather = many_years(self.case)
        worn = self.worn_health(result)
        found = [
            outages(
                self.case,
                result.bank,
                weather,
                health=health,
                by_age=result.life.by_age,
            )
            for health in (1.0, worn)
        ]
        return found[0], found[1]

    def years_ahead(self, result: Result) -> YearsAhead:
        """Power failures over many weather years, new and worn, their cures, and habits."""
        return years_ahead(self.case, result.bank, self.conditions, by_age=result.life.by_age)

    @cached_property
    def table(self) -> "pd.DataFrame":
        """One row per arrangement, in rank order; columns carry their unit in the name."""
        import pandas as pd  # a sixth of a second that the command line does not need

        return pd.DataFrame(
            [{column.key: column.plain(row) for column in COLUMNS} for row in self.rows]
        )


def compare(
    case: Case,
    *,
    draws: int = 0,
    seed: int | None = None,
    only: Collection[str] | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Build, screen, simulate and price every arrangement of a case, and rank them.

    Candidates that are left out for now are passed over, with what is said of them.

    Parameters
    ----------
    draws
        Number of draws of everything uncertain; 0 leaves the uncertainty out.
    seed
        Seed of the draws; the case's own where it is None. The same seed gives the same answer.
    only
        Labels of the arrangements to look at; None for all.
    progress
        Called now and then with the share done (0 to 1) and what is being done.
    """
    say = progress or (lambda share, what: None)
    case = case.considered()
    say(0.0, "energy budget")
    need = need_of(case)
    every = tried(case, need.budget)
    wanted = every.arrangements
    if only is not None:
        wanted = tuple(arrangement for arrangement in wanted if arrangement.label in only)
    say(0.05, "wiring and screening")
    banks = wire_all(case, need, wanted)
    screenings = screen_all(case, need, banks)
    results: tuple[Result, ...] = ()
    if banks:
        years = simulate(
            case, need, banks, progress=lambda share: say(0.25 + 0.55 * share, "the years")
        )
        say(0.8, "money")
        lives = lives_of(case, banks, years.profiles)
        found = price(case, need, banks, years, lives)
        judged = judge_all(case, need, screenings, found)
        results = tuple(
            Result(screening=screening, **vars(one))
            for screening, one in zip(judged, found, strict=True)
        )
        if draws > 0:
            say(0.85, "the draws")
            number = case.assumptions.seed if seed is None else seed
            results = _with_draws(case, results, years, need.conditions, draws, number)
    say(1.0, "done")
    return Comparison(
        case=case,
        budget=need.budget,
        demand=need.demand,
        conditions=need.conditions,
        results=_ranked(results),
        left_out=every.left_out,
    )


def _with_draws(
    case: Case,
    results: tuple[Result, ...],
    years: Years,
    hourly: Conditions,
    draws: int,
    seed: int,
) -> tuple[Result, ...]:
    drawn = uncertainty(
        case,
        [result.bank for result in results],
        [result.failures for result in results],
        np.array([result.feasible for result in results]),
        np.array([result.measures.total_cost for result in results]),
        years.profiles,
        hourly,
        draws=draws,
        seed=seed,
    )
    return tuple(
        replace(result, costs=costs, risk=risk)
        for result, costs, risk in zip(results, drawn.costs, drawn.risks, strict=True)
    )


def _ranked(results: Sequence[Result]) -> tuple[Result, ...]:
    def key(result: Result) -> tuple[int, int, float]:
        failures = len(result.screening.failures())
        group = 2 if failures else 0 if result.screening.verified else 1
        return group, failures, result.measures.total_cost

    return tuple(sorted(results, key=key))
