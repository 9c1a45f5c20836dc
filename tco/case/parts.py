"""The parts of the electrical system that are there already."""

from collections.abc import Iterator
from typing import Literal

from pydantic import Field

from tco.case.base import Clash, Model, cross_check
from tco.case.quantities import MOST_PIECES, Age, CableLength, CurrentAboveZero, Money, Name, Text
from tco.physics.ampacity import InsulationDegc
from tco.physics.conductor_sizes import find_conductor
from tco.physics.fuse_classes import CHEAPEST_FIRST

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
]

FUSE_CLASS_NAMES = tuple(fuse.name for fuse in CHEAPEST_FIRST)


class ExistingPart(Model):
    """One installed part. What is not known is left out, and is then not trusted.

    `rating_a`: continuous amperes of a fuse, switch, shunt or pair of busbars. `fuse_class` and
    `size` (a conductor's label) are for fuses and cables; `insulation_degc` is what a cable is
    insulated for, `length_m` all the cable of that size, out and back. Prices are for all of the
    `quantity`. `price` buys a new one where it has to be replaced; `yearly_upkeep` is what it costs
    to keep, spares carried for it included.
    """

    name: Name
    kind: PartKind
    quantity: int = Field(default=1, ge=1, le=MOST_PIECES)
    rating_a: CurrentAboveZero | None = None
    fuse_class: Name | None = None
    size: Name | None = None
    insulation_degc: InsulationDegc | None = None
    length_m: CableLength | None = None
    age_years: Age | None = None
    sale_price: Money = 0.0
    price: Money | None = None
    yearly_upkeep: Money = 0.0
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
