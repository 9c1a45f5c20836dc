"""Any two arrangements weighed against each other, as the two arguments are."""

from dataclasses import dataclass

from tco.compare import Comparison
from tco.money.risk import Band, band
from tco.physics.arrays import FloatArray
from tco.result import Result
from tco.weighing.arguments import Row, side_by_side, verdict


@dataclass(frozen=True)
class Pair:
    """Two arrangements; `difference` is left less right in the same draws, None without draws."""

    answer: str
    left: Result
    right: Result
    difference: Band | None
    differences: FloatArray | None
    rows: tuple[Row, ...]
    note: str = ""

    @property
    def opening(self) -> str:
        """The answer, as an argument opens with it."""
        return self.answer


def any_two(comparison: Comparison, left: Result, right: Result) -> Pair:
    """Weigh two results of a comparison, whether or not they pass.

    Raises
    ------
    ValueError
        When both are the same.
    """
    if left.arrangement.label == right.arrangement.label:
        raise ValueError("two different arrangements are needed")
    differences = None
    if left.costs is not None and right.costs is not None:
        differences = left.costs - right.costs
    return Pair(
        answer=_answer(comparison, left, right),
        left=left,
        right=right,
        difference=None if differences is None else band(differences),
        differences=differences,
        rows=side_by_side(comparison, left, right),
    )


def _answer(comparison: Comparison, left: Result, right: Result) -> str:
    failing = [
        f"{side.arrangement.label} fails on "
        + ", ".join(check.requirement for check in side.screening.failures())
        for side in (left, right)
        if not side.feasible
    ]
    beware = f" But {'; '.join(failing)}." if failing else ""
    return verdict(comparison, left, right) + beware
