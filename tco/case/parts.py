"""The parts of the electrical system that are there already."""

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from tco.case.base import Clash, Model, cross_check
from tco.case.quantities import (
    MOST_PIECES,
    Age,
    CableLength,
    CurrentAboveZero,
    Money,
    Name,
    Positive,
    Text,
)
from tco.physics.ampacity import InsulationDegc
from tco.physics.conductor_sizes import find_conductor
from tco.physics.fuse_classes import INSTALLED

PartKind = Literal[
    "main fuse",
    "string fuse",
    "main cable",
    "busbars",
    "switch",
    "shunt",
    "monitor",
    "external management",
    "contactor",
    "balancer",
    "spare",
    "branch cable",
    "branch fuse",
    "isolator",
    "distribution bars",
]

Wish = Literal["keep", "be rid of"]

Side = Literal["battery side", "panel side"]

OF_A_BRANCH: tuple[PartKind, ...] = ("branch cable", "branch fuse", "isolator")
"""Kinds that stand in one branch of the distribution, and have to say in which."""

FUSE_BLOCK = "DC fuse block"
"""Name of the branch to all direct loads without a cable of their own."""

INVERTER = "inverter"
"""Name of the branch to the inverter, whatever that is called."""

FUSE_CLASS_NAMES = tuple(fuse.name for fuse in INSTALLED)

MAIN_RUN = (
    "kind",
    "is branch cable, but the main run leads to the inverter",
    "Describe that cable as main cable.",
)
"""Field, what is wrong and how to mend it, of a cable said to be the inverter's."""


class ExistingPart(Model):
    """One installed part. What is not known is left out, and is then not trusted.

    `rating_a`: continuous amperes of a fuse, switch, shunt or pair of busbars. `fuse_class` (a
    breaker's too) and `size` (a conductor's label) are for fuses and cables; `insulation_degc` is
    what a cable is insulated for, `length_m` all the cable of that size, out and back. `rating_v`:
    direct voltage that an isolator may be opened at.
    `branch`: where a cable, a fuse or breaker, or an isolator of a branch stands: the name of a
    charger or of a direct load with a cable of its own, `FUSE_BLOCK` or `INVERTER`. `side`: of a
    solar controller, the battery's where it is left out. Distribution bars are those onto which
    all branches land. Prices are for all of the
    `quantity`. `price` buys a new one where it has to be replaced; `yearly_upkeep` is what it costs
    to keep, spares carried for it included. `wish`: what its owner wants of it; a part to be kept
    stays unless it is not safe. `serves`: the kind of part that a spare is for.
    """

    name: Name
    kind: PartKind
    quantity: int = Field(default=1, ge=1, le=MOST_PIECES)
    rating_a: CurrentAboveZero | None = None
    fuse_class: Name | None = None
    size: Name | None = None
    insulation_degc: InsulationDegc | None = None
    length_m: CableLength | None = None
    rating_v: Positive | None = Field(default=None, le=2_000)
    branch: Name | None = None
    side: Side | None = None
    age_years: Age | None = None
    sale_price: Money = 0.0
    price: Money | None = None
    yearly_upkeep: Money = 0.0
    wish: Wish | None = None
    serves: PartKind | None = None
    link: Text = ""
    note: Text = ""

    @cross_check
    def _known_class(self) -> Iterator[Clash]:
        if self.fuse_class is not None and self.fuse_class not in FUSE_CLASS_NAMES:
            yield Clash(
                "fuse_class",
                f"{self.fuse_class!r} is not known; one of {', '.join(FUSE_CLASS_NAMES)}",
                "Leave it out where the fuse is not marked.",
            )

    @cross_check
    def _known_size(self) -> Iterator[Clash]:
        if self.size is not None:
            try:
                find_conductor(self.size)
            except ValueError as problem:
                yield Clash("size", str(problem), 'Write for example "35 mm2" or "2/0 AWG".')

    @cross_check
    def _branch_where_one_is_meant(self) -> Iterator[Clash]:
        if self.kind in OF_A_BRANCH and self.branch is None:
            yield Clash(
                "branch",
                f"is missing: a {self.kind} stands in a branch",
                f"Name a charger, a load with its own cable, {INVERTER} or {FUSE_BLOCK}.",
            )
        if self.kind not in OF_A_BRANCH and self.branch is not None:
            yield Clash(
                "branch",
                f"is given for a part of kind {self.kind}, which stands in none",
                f"Leave it out, or make it one of {', '.join(OF_A_BRANCH)}.",
            )

    @cross_check
    def _cable_of_the_inverter(self) -> Iterator[Clash]:
        if self.kind == "branch cable" and self.branch == INVERTER:
            yield Clash(*MAIN_RUN)

    @cross_check
    def _side_of_a_controller(self) -> Iterator[Clash]:
        if self.side is not None and self.kind not in ("branch fuse", "isolator"):
            yield Clash("side", f"is given for a {self.kind}", "Leave it out.")
