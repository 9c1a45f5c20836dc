"""The stages from a case to what each bank costs. Nothing else strings them together.

    case -> need -> wiring -> screening -> years -> life -> money

Each stage is a function of the case and of what the stages before it gave. Need and wiring are
remembered by the parts of the case they read, the years by every number the hourly loop is given
(`tco.life.runs`): an edit works out anew only what it touches.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank, wired
from tco.bank.budget import EnergyBudget, PeakDemand, energy_budget, peak_demand, surge_w
from tco.bank.checks.check import Screening
from tco.bank.checks.screening import judge_year, required_current_a, screen
from tco.bank.wiring.feeds import has_parts_of_branches
from tco.case import Assumptions, Candidate, Case, Prices
from tco.case.block import Block
from tco.case.weather_file import file_stamp
from tco.life.conditions import Conditions, conditions
from tco.life.health import Life, lives_of
from tco.life.pack_failure_outage import Missing, missing_with_a_pack_out
from tco.life.year import YearProfiles, year_profiles
from tco.memo import Memo
from tco.money.failures import (
    FailureCosts,
    failure_costs,
    failure_knowledge,
    hazard_by_age,
    warranty_use,
)
from tco.money.ledger import LedgerRow, ledger
from tco.money.measures import Measures, measure

REMEMBERED = 6
"""How many different cases a stage remembers."""


@dataclass(frozen=True)
class Need:
    """What is asked of a bank: energy and power, and the hours of the weather years."""

    budget: EnergyBudget
    demand: PeakDemand
    current_a: float
    surge_a: float
    conditions: Conditions


@dataclass(frozen=True)
class Years:
    """What the weather years do to some banks, and what lacks in them with a pack out."""

    profiles: YearProfiles
    missing: tuple[Missing, ...]

    def new(self, row: int) -> dict[str, float]:
        """Totals of a mean year with a new bank, by the names of `tco.life.records.RESULT`."""
        return {name: float(values[row, 0]) for name, values in self.profiles.totals.items()}


@dataclass(frozen=True)
class Priced:
    """One bank: a mean year when new, its life, its failures, its money.

    `year` holds the totals of that year, by the names of `tco.life.records.RESULT`.
    """

    bank: Bank
    year: dict[str, float]
    life: Life
    failures: FailureCosts
    ledger: tuple[LedgerRow, ...]
    measures: Measures


_NEEDS: Memo[Need] = Memo(REMEMBERED)
_WIRINGS: Memo[dict[tuple[object, ...], tuple[Candidate, Bank]]] = Memo(REMEMBERED)


def need_of(case: Case) -> Need:
    """What the loads, the sources and the place ask of a bank."""
    climate = case.climate
    key = (
        case.system, case.loads, case.sources, case.use, climate,
        _read_by_need(case.assumptions), file_stamp(climate.weather_file),
    )  # fmt: skip

    def work() -> Need:
        budget, demand = energy_budget(case), peak_demand(case)
        current_a = required_current_a(case, demand)
        surge_a = surge_w(case, demand) / case.system.cutoff_voltage_v
        return Need(budget, demand, current_a, surge_a, conditions(case, budget))

    return _NEEDS.of(key, work)


def _read_by_need(assumptions: Assumptions) -> tuple[object, ...]:
    return (
        assumptions.current_to_carry, assumptions.weather_years, assumptions.seed,
        assumptions.clearness_spread, assumptions.lost_day_hours, assumptions.sulphation,
    )  # fmt: skip


def wire_all(case: Case, need: Need, arrangements: Sequence[Arrangement]) -> tuple[Bank, ...]:
    """Every arrangement as wired, or why it cannot be."""
    key = (
        case.system, case.sources, case.use, _read_by_wiring(case.prices), case.climate.max_degc,
        case.assumptions.critical_drop, case.assumptions.surge_seconds,
        need.current_a, need.surge_a,
        case.loads if has_parts_of_branches(case) else (),  # which are judged by what they draw
    )  # fmt: skip
    known = _WIRINGS.of(key, dict)
    told = {c.name: c.model_copy(update={"price": 0.0}) for c in case.candidates}
    banks = []
    for arrangement in arrangements:
        pack = arrangement.pack
        layout = None if pack.block is None else pack.block.key
        one = (pack.name, layout, arrangement.series, arrangement.parallel)
        candidate, bank = known.get(one, (None, None))
        as_told = candidate == told[pack.name]
        if bank is None or not as_told or not _alike(bank.arrangement.pack.block, pack.block):
            bank = wired(case, arrangement, current_a=need.current_a, surge_a=need.surge_a)
            known[one] = told[pack.name], bank
        banks.append(replace(bank, arrangement=arrangement))
    return tuple(banks)


def _alike(one: Block | None, other: Block | None) -> bool:
    """Whether two blocks are wired alike: all but the price of their cells."""
    if one is None or other is None:
        return one is other
    return replace(one, cell_price=0.0) == replace(other, cell_price=0.0)


NOT_READ_BY_WIRING = frozenset({
    "tax_rate", "discount_rate", "inflation", "pack_price_trend", "day_without_power_price",
    "hour_without_power_price", "dangerous_goods_price", "claim_trouble", "usual_lead_time_days",
    "check_minutes_per_termination_year", "disposal_price_per_kg_lithium",
    "disposal_price_per_kg_sodium", "disposal_price_per_kg_lead",
})  # fmt: skip
"""Prices that say nothing of cables and parts: an edit of one wires nothing anew."""


def _read_by_wiring(prices: Prices) -> dict[str, object]:
    return {name: value for name, value in prices if name not in NOT_READ_BY_WIRING}


def screen_all(case: Case, need: Need, banks: Sequence[Bank]) -> tuple[Screening, ...]:
    """Every requirement checked on every bank, before its years are known."""
    return tuple(screen(case, bank, budget=need.budget, demand=need.demand) for bank in banks)


def simulate(
    case: Case,
    need: Need,
    banks: Sequence[Bank],
    *,
    progress: Callable[[float], None] | None = None,
) -> Years:
    """The weather years of every bank, from new to its end of life."""
    profiles = year_profiles(banks, need.conditions, case.assumptions, progress=progress)
    missing = missing_with_a_pack_out(
        banks,
        need.conditions,
        case.assumptions,
        lost_days=profiles.totals["unserved_days"][:, 0],
        hours_without_power=profiles.totals["hours_without_power"][:, 0],
    )
    return Years(profiles, missing)


def price(
    case: Case, need: Need, banks: Sequence[Bank], years: Years, lives: Sequence[Life]
) -> tuple[Priced, ...]:
    """What every bank costs over the horizon, failures and all."""
    horizon = case.assumptions.horizon_years
    knowledge = failure_knowledge(case, {bank.arrangement.pack.name for bank in banks})
    use = warranty_use(case, need.conditions)
    hazard = hazard_by_age(case.reliability, horizon)
    found = []
    for row, (bank, life) in enumerate(zip(banks, lives, strict=True)):
        year = years.new(row)
        failures = failure_costs(
            case,
            bank.arrangement,
            knowledge[bank.arrangement.pack.name],
            use=use,
            hazard=hazard,
            bank_kwh_per_year=year["from_bank_wh"] / 1000.0,
            missing=years.missing[row],
            life_years=life.first_life_years,
        )
        rows = ledger(case, bank, life=life, conditions=need.conditions, failures=failures)
        measures = measure(rows, life, case.prices, horizon_years=horizon)
        found.append(Priced(bank, year, life, failures, rows, measures))
    return tuple(found)


def judge_all(
    case: Case, need: Need, screenings: Sequence[Screening], found: Sequence[Priced]
) -> tuple[Screening, ...]:
    """The screenings with what the years say: the hand calculation has not the last word."""
    coldest = need.conditions.coldest_offered_space_degc
    return tuple(
        judge_year(case, screening, one.bank.arrangement, one.year, coldest_space_degc=coldest)
        for screening, one in zip(screenings, found, strict=True)
    )


def priced(case: Case, arrangements: Sequence[Arrangement]) -> tuple[Priced, ...]:
    """Some arrangements of a case, from their wiring to their money, in the order given."""
    need = need_of(case)
    banks = wire_all(case, need, arrangements)
    years = simulate(case, need, banks)
    return price(case, need, banks, years, lives_of(case, banks, years.profiles))
