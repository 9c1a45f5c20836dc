"""What the cost of a failure is made of: packs, work, time without power, the warranty's share.

The expected cost of failures (`tco.money.renewal.expect`) is a sum over what one failure takes by
the bank's age, so that each part of it is found by leaving the other parts out.
"""

import math
from collections.abc import Mapping
from typing import Literal

import numpy as np

from tco.money.failures import FailureCosts
from tco.money.renewal import (
    ALL,
    GONE,
    ONE,
    OTHER,
    OUTAGE,
    PACK,
    REFUND,
    ROUNDING,
    SHORTEST_LIFE_YEARS,
)
from tco.physics.arrays import FloatArray

Part = Literal["packs", "work", "outage", "warranty"]
PARTS: tuple[Part, ...] = ("packs", "work", "outage", "warranty")
"""Packs bought less sound ones sold; labour, freight and the claim's own cost; time without power;
what the warranty returns on the mean of claims honoured and refused, which is negative."""

SHOWN = 0.005
"""A part of less is nothing to tell. [money]"""


def only(costs: FailureCosts, part: Part) -> FloatArray:
    """`FailureCosts.by_age` with one part of the cost; those of all PARTS add up to it.

    Shape (horizon, columns of `tco.money.renewal.BY_AGE`). Columns that tell what happens stay as
    they are.
    """
    whole = costs.by_age
    found = np.zeros_like(whole)
    found[:, GONE] = whole[:, GONE]
    for which in (ONE, ALL):
        returned = costs.honoured * whole[:, which + REFUND]
        found[:, which + REFUND] = whole[:, which + REFUND]
        if part == "packs":
            found[:, which + PACK] = whole[:, which + PACK] + returned
        elif part == "work":
            found[:, which + OTHER] = whole[:, which + OTHER] - whole[:, which + OUTAGE]
        elif part == "outage":
            found[:, which + OTHER] = whole[:, which + OUTAGE]
            found[:, which + OUTAGE] = whole[:, which + OUTAGE]
        else:
            found[:, which + PACK] = -returned
    return found


def within_cover(costs: FailureCosts, time_years: float, life_years: float) -> bool:
    """Whether a bank that is replaced each `life_years`, and for no failure, is under warranty."""
    life = max(life_years, SHORTEST_LIFE_YEARS)
    age = time_years - math.floor(time_years / life) * life
    share = costs.warranty_share
    return bool(share[min(int(age + ROUNDING), share.size - 1)] > 0.0)


def failure_reason(
    number: float, each: Mapping[Part, float], *, all_anew: bool, covered: bool, tax: str
) -> str:
    """Why a year's failures cost what they do.

    `each`: what one failure takes, by its parts, in the money of its time. `all_anew`: whether the
    model may be gone, so that a whole bank is bought. `covered`: whether the bank would be under
    warranty without any failure; else only one bought after a failure is. `tax` is said of the
    packs.
    """
    pays = abs(each["warranty"]) >= SHOWN
    names: dict[Part, str] = {
        "packs": f"for {'packs bought, less sound ones sold' if all_anew else 'the pack'}{tax}",
        "work": "for labour, freight and the claim" if pays else "for labour and freight",
        "outage": "for time without power until it is replaced",
        "warranty": "that the warranty returns on average"
        + ("" if covered else ", of a bank bought anew after a failure"),
    }
    told = [
        f"{'−' if each[part] < 0.0 else '+'} {abs(each[part]):,.2f} {names[part]}"
        for part in PARTS
        if abs(each[part]) >= SHOWN
    ]
    whole = f"{number:.4f} failures expected × {sum(each.values()):,.2f}"
    return f"{whole} = {' '.join(told).removeprefix('+ ')}" if told else whole
