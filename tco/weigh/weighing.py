"""A few arrangements priced again and again, while one quantity of the case is turned.

Most turns change money only: what was wired and simulated before is kept, found again by comparing
everything it depends on. The amounts are those of `tco.compare.compare` (tested), but for one
thing: an arrangement stays in question where `compare` would no longer list it, being many times
larger than a small need.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tco.bank.arrangements import Arrangement
from tco.bank.budget import energy_budget, peak_demand
from tco.bank.replacing import replacement_price
from tco.bank.screening import required_current_a
from tco.bank.wiring import CannotWire, Wiring, unevenness, wire, wiring_ohm
from tco.case import Case
from tco.case.candidate import specify
from tco.case.evidence import PriceClass, ReliabilityAssumptions
from tco.compare import Result
from tco.life.conditions import Conditions, conditions
from tco.life.health import Life, live
from tco.life.one_out import Missing, missing_with_a_pack_out
from tco.life.year import YearProfiles, year_profiles
from tco.money.evidence import explain, price_classes
from tco.money.failures import FloatArray, failure_costs, hazard_by_age, warranty_use
from tco.money.ledger import ledger
from tco.money.measures import Measures, measure
from tco.money.warranty import WarrantyUse
from tco.weigh.knobs import assuming

KEPT = 12
"""How many different wirings, years and lives are remembered; the oldest is forgotten first."""

Found = TypeVar("Found")


@dataclass(frozen=True)
class Priced:
    """One arrangement under a turned case: the mean year with a new bank, its life, its money."""

    arrangement: Arrangement
    year: dict[str, float]
    life: Life
    measures: Measures


@dataclass(frozen=True)
class _Built:
    wirings: tuple[Wiring | None, ...]
    conditions: Conditions


@dataclass(frozen=True)
class _Simulated:
    profiles: YearProfiles
    missing: tuple[Missing, ...]


@dataclass(frozen=True)
class _Shared:
    """What of the failures is the same for all arrangements of a case."""

    classes: Mapping[str, PriceClass]
    use: WarrantyUse
    hazard: FloatArray


class Weighing:
    """Prices the same arrangements under any number of cases."""

    def __init__(self, *results: Result) -> None:
        """Take the arrangements of some results of one comparison."""
        self._sides = tuple(
            (r.arrangement.pack.name, r.arrangement.series, r.arrangement.parallel) for r in results
        )
        self._built: list[tuple[Case, _Built]] = []
        self._years: list[tuple[Case, _Simulated]] = []
        self._lives: list[tuple[Case, tuple[Life, ...]]] = []

    def priced(self, case: Case) -> tuple[Priced, ...]:
        """Each arrangement under a case, in the order they were given.

        Raises
        ------
        LookupError
            Where the case has no candidate of one's name.
        """
        sides = self._arrangements(case)
        years_of = self._without_money(case)
        built_of = assuming(years_of, credibility=1.0)
        lives_of = assuming(years_of, horizon_years=case.assumptions.horizon_years).model_copy(
            update={
                "candidates": case.candidates,
                "prices": case.prices.model_copy(update={"discount_rate": 0.0}),
            }
        )
        built = _kept(self._built, built_of, lambda: _build(case, sides))
        simulated = _kept(self._years, years_of, lambda: _simulate(case, sides, built))
        profiles = simulated.profiles
        lives = _kept(self._lives, lives_of, lambda: _live(case, sides, built.wirings, profiles))
        shared = _Shared(
            classes=price_classes(case.candidates, case.reliability),
            use=warranty_use(case, built.conditions),
            hazard=hazard_by_age(case.reliability, case.assumptions.horizon_years),
        )
        return tuple(
            _price(case, arrangement, shared, built, simulated, row, life)
            for row, (arrangement, life) in enumerate(zip(sides, lives, strict=True))
        )

    def difference(self, case: Case) -> float:
        """Total cost of the first arrangement less that of the second, at central values."""
        first, second = self.priced(case)[:2]
        return first.measures.total_cost - second.measures.total_cost

    def _arrangements(self, case: Case) -> tuple[Arrangement, ...]:
        candidates = {candidate.name: candidate for candidate in case.candidates}
        missing = [name for name, _, _ in self._sides if name not in candidates]
        if missing:
            raise LookupError(f"the case has no candidate called {missing[0]!r}")
        packs = {name: specify(candidates[name]) for name in {side[0] for side in self._sides}}
        return tuple(Arrangement(packs[name], s, p) for name, s, p in self._sides)

    def _without_money(self, case: Case) -> Case:
        """The case with all that only the money depends on set aside."""
        names = {name for name, _, _ in self._sides}
        candidates = tuple(
            c.model_copy(update={"price": 1.0}) if c.name in names else c for c in case.candidates
        )
        prices = case.prices.model_copy(
            update={"day_without_power_price": 0.0, "discount_rate": 0.0}
        )
        plain = case.model_copy(
            update={
                "candidates": candidates,
                "prices": prices,
                "reliability": ReliabilityAssumptions(),
                "evidence": (),
                "marks": (),
            }
        )
        return assuming(plain, horizon_years=1)


def _kept(known: list[tuple[Case, Found]], key: Case, make: Callable[[], Found]) -> Found:
    """What was made for an equal case before, or made now and remembered."""
    for case, found in known:
        if case == key:
            return found
    made = make()
    known.append((key, made))
    del known[:-KEPT]
    return made


def _build(case: Case, sides: Sequence[Arrangement]) -> _Built:
    current_a = required_current_a(case, peak_demand(case))
    return _Built(
        wirings=tuple(_try_wire(case, side, current_a) for side in sides),
        conditions=conditions(case, energy_budget(case)),
    )


def _try_wire(case: Case, arrangement: Arrangement, current_a: float) -> Wiring | None:
    try:
        return wire(case, arrangement, current_a=current_a)
    except CannotWire:
        return None  # as in compare: without wiring, its cost is left out


def _simulate(case: Case, sides: Sequence[Arrangement], built: _Built) -> _Simulated:
    ohms = [wiring_ohm(wiring) for wiring in built.wirings]
    profiles = year_profiles(
        sides,
        ohms,
        built.conditions,
        case.assumptions,
        unevenness=[unevenness(wiring) for wiring in built.wirings],
    )
    missing = missing_with_a_pack_out(
        sides,
        ohms,
        built.conditions,
        case.assumptions,
        lost_days=profiles.totals["unserved_days"][:, 0],
        short_hours=profiles.totals["unserved_essential_hours"][:, 0],
    )
    return _Simulated(profiles, missing)


def _live(
    case: Case,
    sides: Sequence[Arrangement],
    wirings: Sequence[Wiring | None],
    profiles: YearProfiles,
) -> tuple[Life, ...]:
    return live(
        profiles,
        horizon_years=case.assumptions.horizon_years,
        end_of_life_health=case.assumptions.end_of_life_health,
        tolerated_hours=case.assumptions.tolerated_hours_without_power,
        replacement_price=[
            replacement_price(case, side, wiring)
            for side, wiring in zip(sides, wirings, strict=True)
        ],
        day_price=case.prices.day_without_power_price,
        hour_price=case.prices.hour_without_power_price,
        longest_life_years=case.assumptions.longest_life_years,
    )


def _price(
    case: Case,
    arrangement: Arrangement,
    shared: _Shared,
    built: _Built,
    simulated: _Simulated,
    row: int,
    life: Life,
) -> Priced:
    name, wiring, hourly = arrangement.pack.name, built.wirings[row], built.conditions
    knowledge = explain(
        next(c for c in case.candidates if c.name == name),
        shared.classes[name],
        reports=case.evidence,
        marks=case.marks,
        assumptions=case.reliability,
    )
    year = {total: float(values[row, 0]) for total, values in simulated.profiles.totals.items()}
    failures = failure_costs(
        case,
        arrangement,
        knowledge,
        use=shared.use,
        hazard=shared.hazard,
        bank_kwh_per_year=year["from_bank_wh"] / 1000.0,
        missing=simulated.missing[row],
        life_years=life.first_life_years,
    )
    rows = ledger(case, arrangement, wiring=wiring, life=life, conditions=hourly, failures=failures)
    return Priced(
        arrangement=arrangement,
        year=year,
        life=life,
        measures=measure(rows, life, case.prices, horizon_years=case.assumptions.horizon_years),
    )
