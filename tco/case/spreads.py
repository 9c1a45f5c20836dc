"""How uncertain the quantities of a case are: the 10 % and 90 % points of each.

Multipliers are 1 at the case's own value. The defaults are this project's own judgement, no
source; every one can be changed.
"""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from tco.case.base import Clash, Model, cross_check
from tco.case.quantities import Number, Positive

Times = Annotated[Positive, Field(ge=0.001, le=1_000)]
"""More than a thousand times the case's own value is another case. A choice of ours."""


class _Points(Model):
    """A 10 % and a 90 % point, in order."""

    low: Number
    high: Number

    @cross_check
    def _in_order(self) -> Iterator[Clash]:
        if self.high < self.low:
            yield Clash(
                "high",
                f"is {self.high:g}, below low ({self.low:g})",
                "low is the 10 % point, high the 90 % point.",
            )


class Factor(_Points):
    """A multiplier that is below `low` in one case of ten, and above `high` in one of ten."""

    low: Times
    high: Times


class Shift(_Points):
    """An amount to add: below `low` in one case of ten, above `high` in one of ten."""

    low: Number = Field(ge=-0.5, le=0.5)
    high: Number = Field(ge=-0.5, le=0.5)


class Spreads(Model):
    """The uncertain quantities.

    `cycle_life` and `calendar_life` multiply how long packs last, for all alike; `pack_luck` does
    so for each model by itself, since one may be better or worse than its datasheet. `energy_use`
    multiplies all loads. `discount_rate` and `inflation` are shifts of the yearly rates.
    """

    pack_price: Factor = Factor(low=0.97, high=1.05)
    later_pack_price: Factor = Factor(low=0.75, high=1.2)
    parts_and_labour: Factor = Factor(low=0.85, high=1.3)
    cycle_life: Factor = Factor(low=0.6, high=1.3)
    calendar_life: Factor = Factor(low=0.75, high=1.3)
    pack_luck: Factor = Factor(low=0.75, high=1.25)
    energy_use: Factor = Factor(low=0.88, high=1.12)
    energy_price: Factor = Factor(low=0.8, high=1.35)
    day_without_power: Factor = Factor(low=0.6, high=1.6)
    resale: Factor = Factor(low=0.4, high=1.4)
    discount_rate: Shift = Shift(low=-0.015, high=0.015)
    inflation: Shift = Shift(low=-0.01, high=0.012)
