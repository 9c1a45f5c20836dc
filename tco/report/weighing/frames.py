"""Tables of a choice between two: the draws, what would turn it, what moves it."""

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import ceil

import numpy as np
import pandas as pd

from tco.case.words import money
from tco.compare import Comparison
from tco.forms.entry import Units
from tco.money.risk import Band
from tco.physics.arrays import FloatArray
from tco.report.frames import words
from tco.result import Result
from tco.weighing.arguments import Row
from tco.weighing.breakeven import BreakEven
from tco.weighing.convergence import Convergence
from tco.weighing.curves import Point, TwoWay
from tco.weighing.drivers import Driver, how_often
from tco.weighing.sensitivity import WORDS, GlobalIndex, Swing

BINS = 44
DRAWN = (0.005, 0.995)
"""Share of the draws that the histogram spans; a lone draw far out would flatten the rest."""
MOST_BANDS = 12


def histogram(differences: FloatArray, left: str, right: str) -> pd.DataFrame:
    """Counts of the difference (left less right) by its size; a bin never spans nought."""
    low, high = (float(q) for q in np.quantile(differences, DRAWN))
    if not high > low:
        low, high = low - 1.0, high + 1.0
    step = (high - low) / BINS
    first, last = int(np.floor(low / step)), int(np.ceil(high / step))
    edges = np.arange(first, last + 1) * step
    counts, _ = np.histogram(differences, bins=edges)
    return pd.DataFrame(
        {
            "from": edges[:-1],
            "to": edges[1:],
            "draws": counts,
            "cheaper": [left if edge < -0.5 * step else right for edge in edges[:-1]],
        }
    )


def difference_words(difference: Band, draws: int, left: Result, right: Result, sign: str) -> str:
    """The band of a difference and how sure its mean is."""
    return (
        f"{left.arrangement.label} less {right.arrangement.label}: mean "
        f"{signed(difference.mean, sign)} ± {money(difference.standard_error, sign)} (standard "
        f"error, {draws:,} draws); 8 in 10 draws between {signed(difference.p10, sign)} and "
        f"{signed(difference.p90, sign)}. The same draws for both, so that luck cancels."
    )


_JOINER = "\u2060"
"""A word joiner: no width, and no line is broken at it."""


def signed(amount: float, sign: str) -> str:
    """An amount of money with its sign, which no line break parts from it."""
    return f"{'−' if amount < 0 else '+'}{_JOINER}{money(abs(amount), sign)}"


def side_by_side(rows: Sequence[Row], left: Result, right: Result, units: Units) -> pd.DataFrame:
    """The table of a choice: one line for each quantity."""
    return pd.DataFrame(
        [
            {
                "": row.what,
                left.arrangement.label: words(row.left, units),
                right.arrangement.label: words(row.right, units),
            }
            for row in rows
        ]
    )


def bands(comparison: Comparison, marked: Sequence[str] = ()) -> pd.DataFrame:
    """P10, P50 and P90 of the passing arrangements, the most often cheapest first."""
    rows = [
        {
            "arrangement": result.arrangement.label,
            "p10": result.risk.band.p10,
            "p50": result.risk.band.p50,
            "p90": result.risk.band.p90,
            "chance": result.risk.probability_cheapest,
            "regret": result.risk.expected_regret,
            "error": result.risk.band.standard_error,
            "marked": result.arrangement.label in marked,
        }
        for result in comparison.results
        if result.risk is not None and result.feasible
    ]
    columns = ["arrangement", "p10", "p50", "p90", "chance", "regret", "error", "marked"]
    frame = pd.DataFrame(rows, columns=columns)
    return frame.sort_values(["chance", "p50"], ascending=[False, True]).head(MOST_BANDS)


def tracks(found: Sequence[BreakEven], by_name: dict[str, Driver]) -> pd.DataFrame:
    """Break-evens on one scale: where each driver stands within its range, and where it turns.

    `turn` is the value the sentence tells, in the sentence's words.
    """
    rows = []
    for row in found:
        driver = by_name[row.of]
        rows.append(
            {
                "of": row.of,
                "now": min(max(row.place(row.now), 0.0), 1.0),
                "turn": None if row.told is None else row.place(row.told),
                "low_words": driver.words(row.low),
                "high_words": driver.words(row.high),
                "now_words": driver.words(row.now),
                "turn_words": "nowhere" if row.told is None else row.told_words,
                "sentence": opened(row.sentence),
            }
        )
    return pd.DataFrame(rows)


def opened(sentence: str) -> str:
    """A sentence with a capital letter in front."""
    return sentence[:1].upper() + sentence[1:]


def stretches(found: Sequence[BreakEven], left: str, right: str) -> pd.DataFrame:
    """The stretches of every driver's range, by who is cheaper there.

    Of whole numbers, one ends and the next begins half-way between the two.
    """
    rows = []
    for row in found:
        turns = list(row.crossings) or ([] if row.at is None else [row.at])
        edges = [
            row.place(row.low),
            *(row.place((turn + ceil(turn) - 1) / 2.0 if row.whole else turn) for turn in turns),
            row.place(row.high),
        ]
        before = turns.index(row.at) if row.at in turns else 0
        for number, (start, end) in enumerate(pairwise(edges)):
            same = (number - before) % 2 == 0
            who = row.cheaper_below if same else right if row.cheaper_below == left else left
            rows.append({"of": row.of, "from": start, "to": end, "cheaper": who})
    return pd.DataFrame(rows)


def swings(found: Sequence[Swing], total: float, *, most: int = 8) -> pd.DataFrame:
    """The widest swings of one arrangement's cost; `low`, `high`: the quantity's own values."""
    rows = []
    for swing in list(found)[:most]:
        rows.append(
            {
                "of": WORDS.get(swing.of, swing.of),
                "at_low": swing.at_low,
                "at_high": swing.at_high,
                "low": _value(swing.of, swing.low_value),
                "high": _value(swing.of, swing.high_value),
                "total": total,
            }
        )
    return pd.DataFrame(rows)


def _value(of: str, value: float) -> str:
    if of == "failure_rate":
        return f"a pack fails {how_often(value)}"
    if of in ("discount_rate", "inflation"):
        return f"{100.0 * value:+.1f} points"
    return f"{value:.2f} times"


def indices(found: Sequence[GlobalIndex], *, most: int = 8) -> pd.DataFrame:
    """Global indices in words."""
    return pd.DataFrame(
        [
            {"of": WORDS.get(row.of, row.of), "first": row.first_order, "total": row.total}
            for row in list(found)[:most]
        ]
    )


def map_cells(found: TwoWay, left: str, right: str) -> pd.DataFrame:
    """Cells of the two-way map: values in words, difference, who is cheaper, whether it is today's.

    `x_at`, `y_at` count the columns from the left and the rows from below.
    """
    xs = sorted({x for x, _, _ in found.points})
    ys = sorted({y for _, y, _ in found.points})
    return pd.DataFrame(
        [
            {
                "x": found.x.words(x),
                "y": found.y.words(y),
                "x_at": xs.index(x),
                "y_at": ys.index(y),
                "difference": gap,
                "cheaper": left if gap <= 0 else right,
                "text": f"{abs(gap):,.0f}",
                "todays": (x, y) == (found.x.now, found.y.now),
            }
            for x, y, gap in found.points
        ]
    )


def curve(points: Sequence[Point], words: Callable[[float], str]) -> pd.DataFrame:
    """Points of a curve, tidy; `words` tells what was turned."""
    return pd.DataFrame(
        [
            {
                "arrangement": point.label,
                "x": point.x,
                "words": words(point.x) + (", as the case is" if point.todays else ""),
                "kwh_per_year": point.kwh_per_year,
                "used_kwh_per_year": point.used_kwh_per_year,
                "annual_cost": point.annual_cost,
                "cost_per_kwh": point.cost_per_kwh,
                "no_power": point.hours_without_power,
                "todays": point.todays,
                "enough": point.enough,
            }
            for point in points
        ]
    )


def settling_words(steps: Sequence[Convergence], *, running: bool, sign: str) -> str:
    """What every round of draws knew, and why it goes on or ended there."""
    if not steps:
        return "Nothing passes, so there is nothing to settle."
    last = steps[-1]
    rounds = "; ".join(
        f"{step.draws:,} draws: ± {money(step.mean_error, sign)} and "
        f"± {money(step.difference_error, sign)}"
        for step in steps
    )
    wanted = "" if last.target is None else f", both wanted below ± {money(last.target, sign)}"
    how = {
        None: "Going on.",
        "settled": "Settled.",
        "stopped": "Stopped before it settled; what the last whole round knew is shown.",
        "most draws": "Not settled; these are the most draws it goes to.",
        "nothing to choose": "",
    }[None if running else last.reason]
    return f"{how} Standard error of the least mean cost and of its lead{wanted}. {rounds}."
