"""Over how many spaces a bank's packs stand, and which of its cables run between them."""

from dataclasses import dataclass

from tco.bank.fit.models import FitResult


@dataclass(frozen=True)
class Spread:
    """What of a bank runs from one space to another.

    `split`: of each string that stands in several spaces, how many of its series links run between
    them; most first. `strings_apart`: parallel strings do not all stand in one space.
    """

    split: tuple[int, ...] = ()
    strings_apart: bool = False


TOGETHER = Spread()


def spread_of(result: FitResult | None, *, series: int, parallel: int) -> Spread:
    """Whole strings first in each space, then strings of what is left over in them, in order."""
    if result is None or not result.fits:
        return TOGETHER
    held: dict[str, int] = {}
    for box in result.layout:
        held[box.compartment] = held.get(box.compartment, 0) + 1
    if len(held) < 2:
        return TOGETHER
    left = [name for name, packs in held.items() for _ in range(packs % series)]
    strings = [left[first : first + series] for first in range(0, len(left), series)]
    split = (len(set(string)) - 1 for string in strings)
    return Spread(tuple(sorted(filter(None, split), reverse=True)), parallel > 1)
