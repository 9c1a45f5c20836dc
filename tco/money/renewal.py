"""Failures one is to expect of a bank, and banks bought anew because of them.

A failed pack is replaced by one of its kind while there is one: the model still made, or a spare on
the shelf. Else, and where the bank is a single pack, all packs are bought anew: the bank's life,
the model's time on the market and the shelf then begin again. `expect` follows the shares of banks
by the day they were new; the ledger and the draw ledgers at expected failures both call it, and
draw ledgers with failures that happen keep the same rule (`tco.money.draw_ledger_kernel`).
"""

import math
from typing import Any

import numpy as np

from tco.physics.arrays import FloatArray
from tco.physics.compiled import compiled, inlined

BY_AGE = (
    "one_pack",
    "one_other",
    "one_outage",
    "one_refund",
    "all_pack",
    "all_other",
    "all_outage",
    "all_refund",
    "gone",
)
"""Columns of a failure's cost by the bank's age: with one pack bought, and with all. `pack` and
`refund` are multiples of a pack's price, the refund as promised (its mean is already in `pack`);
`other` is money of today, `outage` the part of it for days without power; `gone` is 1 where the
model is no longer sold."""

ONE, ALL, GONE = 0, BY_AGE.index("all_pack"), BY_AGE.index("gone")
PACK, OTHER, OUTAGE, REFUND = 0, 1, 2, 3
"""Offsets from ONE or ALL."""

SHORTEST_LIFE_YEARS = 0.1
"""A shorter life is taken as this one where replacements to come are counted."""

ROUNDING = 1e-9
"""Added to an age before its whole years are taken: banks renewed at mid-year are whole years old
at later ones, which sums of months miss by a little. [years]"""

BANK = ("packs_price", "rest_price", "resale_price", "disposal")
"""What `to_come` needs of a bank, in today's money: its packs with tax, all else that a replacement
takes, what its packs fetch when new at the horizon, and being rid of it."""


@compiled
def to_come(
    birth: float,
    life: float,
    horizon: float,
    bank: FloatArray,
    discount: float,
    inflation: float,
    trended: float,
) -> float:
    """Present cost of all replacements to come of a bank new at `birth`, less what is left.

    Each bank lasts `life` years; at the horizon the share of life left is sold and the share used
    bears its part of the disposal, as in `tco.money.ledger`. `bank` as BANK; `discount`,
    `inflation` and `trended` are yearly factors (1 + rate).
    """
    cost = 0.0
    life = max(life, SHORTEST_LIFE_YEARS)
    moment = birth + life
    while moment < horizon:
        packs = bank[0] * trended**moment
        cost += (packs + bank[1] * inflation**moment) / discount**moment
        moment += life
    left = min(max((moment - horizon) / life, 0.0), 1.0)
    end = bank[3] * (1.0 - left) * inflation**horizon - bank[2] * left * trended**horizon
    return float(cost + end / discount**horizon)


@compiled
def expect(
    years: int,
    horizon: float,
    life: float,
    rate: float,
    hazard: FloatArray,
    by_age: FloatArray,
    single_pack: bool,
    spares: int,
    bank: FloatArray,
    discount: float,
    inflation: float,
    trended: float,
    pack_price: float,
    outage_extra: float,
    out: FloatArray,
) -> None:
    """Failures to be expected in each year, what they cost, and what the lives they renew save.

    Parameters
    ----------
    life
        Years each bank lasts until it is replaced for wear or need.
    rate, hazard
        Mean failures of a pack a year, and its multiple for the whole bank by age, shape (years,).
    by_age
        Costs of one failure, shape (years, len(BY_AGE)).
    single_pack
        Whether the bank is one pack, so that each failure renews it.
    pack_price
        Price of one pack in today's money, to which `by_age` refers.
    outage_extra
        Part by which a day without power costs more than in `by_age`.
    out
        Filled with shape (4, years): failures; nominal cost of them at the year's end; banks bought
        anew; present value of what renewed lives save.
    """
    births = np.zeros(years + 1)
    mass = np.zeros((years + 1, spares + 1))
    births[0], mass[0, spares] = 0.0, 1.0
    life = max(life, SHORTEST_LIFE_YEARS)
    after = np.zeros(spares + 1)
    out[:] = 0.0
    for year in range(years):
        length = min(1.0, horizon - year)
        middle, end = year + 0.5 * length, year + length
        price = pack_price * trended**end
        rise = inflation**end
        births[year + 1] = middle
        new = to_come(middle, life, horizon, bank, discount, inflation, trended)
        moved = 0.0
        for b in range(year + 1):
            since = middle - births[b]
            age = since - math.floor(since / life) * life
            index = min(int(age + ROUNDING), years - 1)
            gone = by_age[index, GONE] > 0.0 and not single_pack
            if not gone:  # the shelf has been filled again
                together = 0.0
                for s in range(spares + 1):
                    together += mass[b, s]
                    mass[b, s] = 0.0
                mass[b, spares] = together
            mean = rate * hazard[index] * length
            one = cost_of(by_age, index, ONE, price, rise, outage_extra)
            renewed = 0.0
            for s in range(spares + 1):
                share = mass[b, s]
                if share <= 0.0:
                    continue
                out[0, year] += share * mean
                if not gone:
                    out[1, year] += share * mean * one
                    if single_pack:
                        renewed += share * -math.expm1(-mean)
                    continue
                later = ALL if by_age[0, GONE] > 0.0 and spares == 0 else ONE
                exactly, rest, matched, left = math.exp(-mean), 1.0, 0.0, 0.0
                for n in range(s + 1):
                    after[s - n] += share * exactly
                    rest -= exactly
                    matched += n * exactly
                    exactly *= mean / (n + 1)
                rest = max(rest, 0.0)
                left = max(mean - matched - rest * (s + 1), 0.0)
                out[1, year] += share * (
                    (matched + rest * s) * one
                    + rest * cost_of(by_age, index, ALL, price, rise, outage_extra)
                    + left * cost_of(by_age, 0, later, price, rise, outage_extra)
                )
                renewed += share * rest
            if gone:
                for s in range(spares + 1):  # whole rows at once take two seconds to compile
                    mass[b, s], after[s] = after[s], 0.0
            elif single_pack:
                mass[b, spares] -= renewed
            if renewed > 0.0:
                moved += renewed
                old = to_come(middle - age, life, horizon, bank, discount, inflation, trended)
                out[3, year] += renewed * (old - new)
        mass[year + 1, spares] = moved
        out[2, year] = moved


@inlined
def cost_of(
    by_age: FloatArray, index: int, which: int, price: float, rise: float, outage_extra: float
) -> Any:
    """Nominal cost of one failure at an age, `which` being ONE or ALL."""
    other = by_age[index, which + OTHER] + by_age[index, which + OUTAGE] * outage_extra
    return by_age[index, which + PACK] * price + other * rise
