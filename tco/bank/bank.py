"""A bank: an arrangement as wired, what the years and the money are worked out for."""

from dataclasses import dataclass, replace

from tco.bank.arrangements import Arrangement
from tco.bank.fit.space import fit_in_spaces
from tco.bank.fit.spread import TOGETHER, Spread, spread_of
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import Case


@dataclass(frozen=True)
class Bank:
    """An arrangement as wired.

    `wiring` is None where no cable or fuse does; `why_not` then says what would have to change.
    `ohm`: resistance of cables, joints and fuses, without the packs. [ohm] `unevenness`: current
    of the hardest-worked string over an equal share; it turns over so much more. `spread`:
    what of it runs from one space to another.
    """

    arrangement: Arrangement
    wiring: Wiring | None = None
    ohm: float = 0.0
    unevenness: float = 1.0
    why_not: str = ""
    spread: Spread = TOGETHER


def as_wired(arrangement: Arrangement, wiring: Wiring) -> Bank:
    """The bank that an arrangement becomes by its wiring."""
    return Bank(arrangement, wiring, wiring.resistance_ohm, wiring.circuit.sharing.unevenness)


MOST_REWIRED = 3
"""Wiring and places are worked out in turn no more often: thicker cables may move packs, and moved
packs need other cables."""


def wired(case: Case, arrangement: Arrangement, *, current_a: float, surge_a: float = 0.0) -> Bank:
    """An arrangement wired for a continuous current and a surge, as far as it can be. [A]

    Cables that run from one space to another are as long as that takes (`Bank.spread`).
    """
    spread = _spread(case, arrangement, 0.0)
    for _ in range(MOST_REWIRED):
        try:
            wiring = wire(case, arrangement, current_a=current_a, surge_a=surge_a, spread=spread)
        except CannotWire as problem:
            return Bank(arrangement, why_not=str(problem), spread=spread)
        bank = replace(as_wired(arrangement, wiring), spread=spread)
        placed = _spread(case, arrangement, wiring.circuit.bend_radius_mm)
        if placed == spread:
            break
        spread = placed
    return bank


def _spread(case: Case, arrangement: Arrangement, bend_mm: float) -> Spread:
    if len(case.system.spaces) < 2:
        return TOGETHER
    found = fit_in_spaces(case, arrangement, bend_radius_mm=bend_mm)
    return spread_of(found, series=arrangement.series, parallel=arrangement.parallel)
