"""Any two arrangements weighed against each other, as the two arguments are."""

from dataclasses import dataclass

import numpy as np

from tco.case.words import money
from tco.compare import Comparison, Result
from tco.money.risk import Band, FloatArray, band
from tco.weigh.arguments import Row
from tco.weigh.arguments import _rows as side_by_side


@dataclass(frozen=True)
class Pair:
    """Two arrangements; `difference` is left less right in the same draws, None without draws."""

    answer: str
    left: Result
    right: Result
    difference: Band | None
    differences: FloatArray | None
    rows: tuple[Row, ...]


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
        answer=_answer(comparison, left, right, differences),
        left=left,
        right=right,
        difference=None if differences is None else band(differences),
        differences=differences,
        rows=side_by_side(comparison, left, right),
    )


def _answer(
    comparison: Comparison, left: Result, right: Result, differences: FloatArray | None
) -> str:
    currency = comparison.case.prices.currency
    gap = right.measures.total_cost - left.measures.total_cost
    better, other = (left, right) if gap >= 0 else (right, left)
    text = (
        f"{better.arrangement.label} costs {money(abs(gap), currency)} less than "
        f"{other.arrangement.label} over {comparison.case.assumptions.horizon_years} years"
    )
    if differences is not None:
        saved = -differences if better is left else differences
        text += f", and is cheaper in {float(np.mean(saved > 0)):.0%} of the draws"
    failing = [
        f"{side.arrangement.label} fails on "
        + ", ".join(check.requirement for check in side.screening.failures())
        for side in (left, right)
        if not side.feasible
    ]
    return "; but ".join([text, *failing]) + "."
