"""What `tco.bank.fit.fit` found, as a sentence for the owner of the boat, van or hut."""

import math
from collections.abc import Sequence

from tco.bank.fit.models import MOST_MOVE_MM, Compartment, PlacedBox, Wall, WallMove
from tco.sentences import Quantity, Sentence, joined, mm, says

_NUMBERS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def _number(n: int) -> str:
    return _NUMBERS[n] if n < len(_NUMBERS) else str(n)


def _packs(n: int) -> str:
    return f"{_number(n)} pack fits" if n < 2 else f"{_number(n)} packs fit"


def _the(name: str) -> str:
    """The name with its article, unless it is a proper name or has one."""
    return name if name[:1].isupper() or name.lower().startswith("the ") else f"the {name}"


def says_fits(count: int, compartments: Sequence[Compartment], layout: Sequence[PlacedBox]) -> str:
    """That all packs fit, and how many where if there is a choice."""
    if len(compartments) == 1:
        return _packs(count)
    shares = [(c.name, sum(p.compartment == c.name for p in layout)) for c in compartments]
    return f"{_packs(count)}: " + ", ".join(
        f"{_number(n)} in {_the(name)}" for name, n in shares if n
    )


def says_short(
    count: int,
    at_most: int,
    at: Compartment | None,
    moves: Sequence[WallMove],
    *,
    exact: bool,
) -> Sentence:
    """How many fit and which `moves` of the walls of compartment `at` the others would need."""
    start = f"{_packs(at_most)}"
    if at is None:
        text = says(
            f"{start}; moving walls by up to ", mm(MOST_MOVE_MM), " makes no room for the rest"
        )
    elif len(moves) > 1:
        listed = joined(
            ", ",
            (
                says(
                    "the opening " if m.wall.startswith("opening") else "",
                    _whole_mm(m),
                    f" {_adjectives(at, m.wall)[1]}",
                )
                for m in moves
            ),
        )
        text = says(
            f"{start}; moving one wall is not enough, {_number(count)} would need ",
            f"{_the(at.name)} ",
            listed,
        )
    elif at_most == 0 and moves[0].wall == "height":
        lid = "lid" if at.opening_side == "top" else "ceiling"
        size = _whole_mm(moves[0])
        text = says(size, f" too tall: the {lid} of {_the(at.name)} would have to rise ", size)
    elif at_most == 0 and moves[0].wall.startswith("opening"):
        text = says(
            f"does not pass the opening of {_the(at.name)}: ",
            _whole_mm(moves[0]),
            f" too {_adjectives(at, moves[0].wall)[0]}",
        )
    else:
        change = _wall_change(at, moves[0])
        text = says(f"{start}; {_number(count)} would need ", change)
    if exact:
        return text
    return says(text, " (only plain rows were tried, a better layout may exist)")


def _wall_change(at: Compartment, move: WallMove) -> Sentence:
    what = f"the opening of {_the(at.name)}" if move.wall.startswith("opening") else _the(at.name)
    return says(f"{what} ", _whole_mm(move), f" {_adjectives(at, move.wall)[1]}")


def _adjectives(at: Compartment, wall: Wall) -> tuple[str, str]:
    """What the pack is too much of, and what the wall has to become."""
    if wall in ("width", "opening_a"):
        return "wide", "wider"
    if wall == "depth" or (wall == "opening_b" and at.opening_side == "top"):
        return "deep", "deeper"
    return "tall", "higher"


def _whole_mm(move: WallMove) -> Quantity:
    return mm(math.ceil(round(move.by_mm, 4)))
