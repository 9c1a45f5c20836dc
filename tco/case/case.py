"""The case: one decision, everything the user tells us."""

from collections.abc import Iterator
from typing import Any, Literal

from pydantic import Field

from tco.case.base import Clash, Model, cross_check, repeated, rows_known
from tco.case.candidate import Candidate
from tco.case.evidence import (
    ConstructionMark,
    FieldReport,
    ReliabilityAssumptions,
    WarrantyTerms,
    doubles,
    strangers,
)
from tco.case.management_unit import ManagementUnit
from tco.case.parts import FUSE_BLOCK, INVERTER, MAIN_RUN
from tco.case.prices import Assumptions, Prices
from tco.case.quantities import Name
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
    management_units: tuple[ManagementUnit, ...] = ()
    prices: Prices = Prices()
    assumptions: Assumptions = Assumptions()
    spreads: Spreads = Spreads()
    evidence: tuple[FieldReport, ...] = ()
    marks: tuple[ConstructionMark, ...] = ()
    warranties: tuple[WarrantyTerms, ...] = ()
    reliability: ReliabilityAssumptions = ReliabilityAssumptions()

    def considered(self) -> "Case":
        """The case without the candidates that are left out for now, and what is said of them."""
        gone = {candidate.name for candidate in self.candidates if candidate.left_out}
        if not gone:
            return self
        speaking = ("evidence", "marks", "warranties")
        kept = {name: _without(getattr(self, name), gone) for name in speaking}
        told = self.reliability
        kept["reliability"] = told.model_copy(
            update={
                "stated_classes": _without(told.stated_classes, gone),
                "stated_rates": _without(told.stated_rates, gone),
            }
        )
        kept["candidates"] = tuple(c for c in self.candidates if c.name not in gone)
        return self.model_copy(update=kept)

    @cross_check
    def _inverter_for_its_loads(self) -> Iterator[Clash]:
        if self.system.inverter is None:
            for place, (via,) in rows_known(self.loads, "via"):
                if via == "inverter":
                    yield Clash(
                        "loads",
                        "is the inverter, but the system has none",
                        'Add [system.inverter], or set via = "dc".',
                        (place, "via"),
                    )

    @cross_check
    def _parts_of_branches_there_are(self) -> Iterator[Clash]:
        inverter = self.system.inverter
        named = [] if inverter is None else [INVERTER, inverter.name]
        loads = rows_known(self.loads, "name", "via", "cable_run_m")
        own = [name for _, (name, via, run_m) in loads if via == "dc" and run_m is not None]
        sources = self.sources
        solar = [name for _, (name,) in rows_known(sources.solar, "name")]
        others = [
            name
            for kind in (sources.engine, sources.shore, sources.generator)
            for _, (name,) in rows_known(kind, "name")
        ]
        named = list(dict.fromkeys(named))
        every = [*named, FUSE_BLOCK, *own, *solar, *others]
        branches = list(dict.fromkeys(every))
        for place, (kind, branch, side) in rows_known(self.system.parts, "kind", "branch", "side"):
            at = ("parts", place)
            if branch is None:
                continue
            if branch not in branches:
                yield Clash(
                    "system",
                    f"is {branch!r}, which is no branch of this system; one of "
                    f"{', '.join(branches)}",
                    "Write one of these names as it stands there.",
                    (*at, "branch"),
                )
            elif every.count(branch) > 1:
                yield Clash(
                    "system",
                    f"is {branch!r}, the name of more than one branch",
                    "Give each load and charger its own name.",
                    (*at, "branch"),
                )
            elif kind == "branch cable" and branch in named:
                field, what, mend = MAIN_RUN
                yield Clash("system", what, mend, (*at, field))
            elif side == "panel side" and branch not in solar:
                yield Clash(
                    "system",
                    f"is the panel side, and {branch} is no solar controller",
                    "Leave the side out.",
                    (*at, "side"),
                )

    @cross_check
    def _one_name_per_load(self) -> Iterator[Clash]:
        yield from _same_names("loads", self.loads)

    @cross_check
    def _one_name_per_candidate(self) -> Iterator[Clash]:
        yield from _same_names("candidates", self.candidates)

    @cross_check
    def _one_name_per_management_unit(self) -> Iterator[Clash]:
        yield from _same_names("management_units", self.management_units)

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


def _without(rows: tuple[Any, ...], gone: set[str]) -> Any:
    return tuple(row for row in rows if row.candidate not in gone)


def _same_names(
    field: str, entries: tuple[Load, ...] | tuple[Candidate, ...] | tuple[ManagementUnit, ...]
) -> Iterator[Clash]:
    for place, first, _ in repeated(entries, "name"):
        yield Clash(
            field,
            f"is already the name of {field.removesuffix('s').replace('_', ' ')} {first + 1}",
            "Give each its own name.",
            (place, "name"),
        )
