"""A bank: an arrangement as wired, what the years and the money are worked out for."""

from dataclasses import dataclass

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import Case


@dataclass(frozen=True)
class Bank:
    """An arrangement as wired.

    `wiring` is None where no cable or fuse does; `why_not` then says what would have to change.
    `ohm`: resistance of cables, joints and fuses, without the packs. [ohm] `unevenness`: current
    of the hardest-worked string over an equal share; it turns over so much more.
    """

    arrangement: Arrangement
    wiring: Wiring | None = None
    ohm: float = 0.0
    unevenness: float = 1.0
    why_not: str = ""


def as_wired(arrangement: Arrangement, wiring: Wiring) -> Bank:
    """The bank that an arrangement becomes by its wiring."""
    return Bank(arrangement, wiring, wiring.resistance_ohm, wiring.circuit.sharing.unevenness)


def wired(case: Case, arrangement: Arrangement, *, current_a: float, surge_a: float = 0.0) -> Bank:
    """An arrangement wired for a continuous current and a surge, as far as it can be. [A]"""
    try:
        return as_wired(arrangement, wire(case, arrangement, current_a=current_a, surge_a=surge_a))
    except CannotWire as problem:
        return Bank(arrangement, why_not=str(problem))
