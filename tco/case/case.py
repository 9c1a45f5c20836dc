"""The case: one decision, everything the user tells us."""

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from tco.case.base import NotKnownError
from tco.case.candidate import Candidate
from tco.case.evidence import (
    ConstructionMark,
    FieldReport,
    ReliabilityAssumptions,
    WarrantyTerms,
    doubles,
    strangers,
)
from tco.case.prices import Assumptions, Prices
from tco.case.quantities import Clash, Model, Name, cross_check
from tco.case.spreads import Spreads
from tco.case.system import System
from tco.case.use import Climate, Load, Sources, Use


class Case(Model):
    """A system, its use, its candidates, its prices, the assumptions."""

    title: Name = "Untitled case"
    story: str = ""
    units: Literal["metric", "imperial"] = "metric"
    candidates_file: Name | None = None
    system: System
    loads: tuple[Load, ...] = ()
    sources: Sources = Sources()
    use: Use = Use()
    climate: Climate
    candidates: tuple[Candidate, ...] = Field(default=())
    prices: Prices = Prices()
    assumptions: Assumptions = Assumptions()
    spreads: Spreads = Spreads()
    evidence: tuple[FieldReport, ...] = ()
    marks: tuple[ConstructionMark, ...] = ()
    warranties: tuple[WarrantyTerms, ...] = ()
    reliability: ReliabilityAssumptions = ReliabilityAssumptions()

    @cross_check
    def _inverter_for_its_loads(self) -> Iterator[Clash]:
        if self.system.inverter is None:
            behind = [name for load in self.loads if (name := _name_behind_inverter(load))]
            if behind:
                yield Clash(
                    "loads",
                    f"has loads behind an inverter ({', '.join(behind)}), but the system has none",
                    'Add [system.inverter], or set via = "dc".',
                )

    @cross_check
    def _one_name_per_load(self) -> Iterator[Clash]:
        yield from _same_names("loads", self.loads)

    @cross_check
    def _one_name_per_candidate(self) -> Iterator[Clash]:
        yield from _same_names("candidates", self.candidates)

    # one check for each field: a check that asks for a field which cannot be read is skipped whole
    @cross_check
    def _evidence_of_its_candidates(self) -> Iterator[Clash]:
        yield from strangers("evidence", self.evidence, self.candidates)

    @cross_check
    def _marks_of_its_candidates(self) -> Iterator[Clash]:
        yield from strangers("marks", self.marks, self.candidates)
        yield from doubles("marks", self.marks, "candidate", "part")

    @cross_check
    def _warranties_of_its_candidates(self) -> Iterator[Clash]:
        yield from strangers("warranties", self.warranties, self.candidates)
        yield from doubles("warranties", self.warranties, "candidate")

    @cross_check
    def _classes_of_its_candidates(self) -> Iterator[Clash]:
        yield from strangers(
            "reliability.stated_classes", self.reliability.stated_classes, self.candidates
        )

    @cross_check
    def _rates_of_its_candidates(self) -> Iterator[Clash]:
        yield from strangers(
            "reliability.stated_rates", self.reliability.stated_rates, self.candidates
        )


def _name_behind_inverter(load: Load) -> str:
    try:
        return load.name if load.via == "inverter" else ""
    except NotKnownError:
        return ""  # that load has an error of its own


def _same_names(field: str, entries: tuple[Load, ...] | tuple[Candidate, ...]) -> Iterator[Clash]:
    names: dict[str, int] = {}
    for entry in entries:
        try:
            names[entry.name] = names.get(entry.name, 0) + 1
        except NotKnownError:
            continue  # that entry has an error of its own
    for name, times in sorted(names.items()):
        if times > 1:
            yield Clash(field, f"has {times} entries called {name!r}", "Give each its own name.")
