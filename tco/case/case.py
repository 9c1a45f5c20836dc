"""The case: one decision, everything the user tells us."""

from typing import Literal

from pydantic import Field, model_validator

from tco.case.candidate import Candidate
from tco.case.prices import Assumptions, Prices
from tco.case.quantities import Model, Name
from tco.case.system import System
from tco.case.use import Climate, Load, Sources, Use
from tco.physics.chemistry import CHEMISTRIES


class Case(Model):
    """A system, its use, its candidates, its prices, the assumptions."""

    title: Name = "Untitled case"
    story: str = ""
    units: Literal["metric", "imperial"] = "metric"
    candidates_file: str | None = None
    system: System
    loads: tuple[Load, ...] = ()
    sources: Sources = Sources()
    use: Use = Use()
    climate: Climate
    candidates: tuple[Candidate, ...] = Field(default=())
    prices: Prices = Prices()
    assumptions: Assumptions = Assumptions()

    @model_validator(mode="after")
    def _consistent(self) -> "Case":
        problems = list(cross_problems(self))
        if problems:
            raise ValueError("; ".join(problems))
        return self


def cross_problems(case: Case) -> tuple[str, ...]:
    """What only shows when the parts of a case are seen together; one sentence each."""
    found = []
    if case.system.inverter is None:
        behind = [load.name for load in case.loads if load.via == "inverter"]
        if behind:
            found.append(
                f"loads run through an inverter ({', '.join(behind)}) but the system has none; "
                'add [system.inverter] or set via = "dc"'
            )
    for kind, names in (
        ("candidate", [candidate.name for candidate in case.candidates]),
        ("load", [load.name for load in case.loads]),
    ):
        double = sorted({name for name in names if names.count(name) > 1})
        if double:
            found.append(f"two {kind}s are called {', '.join(double)}; give each its own name")
    if case.system.old_bank is not None and case.system.old_bank.chemistry not in CHEMISTRIES:
        found.append(
            f"system.old_bank.chemistry {case.system.old_bank.chemistry!r} is not known; "
            f"one of {', '.join(CHEMISTRIES)}"
        )
    return tuple(found)
