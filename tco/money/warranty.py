"""What a warranty is worth: share paid by age and use, conditions, what a claim takes and brings.

Warranties differ; this is the reading of `tco.case.evidence.WarrantyTerms`, common practice, no
source. The maker's own text decides a claim.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tco.case import Pack
from tco.case.evidence import WarrantyTerms
from tco.sentences import degc, says


@dataclass(frozen=True)
class WarrantyUse:
    """How the pack is used, as far as a warranty asks. Temperatures None: not known. [degC]"""

    commercial_use: bool = False
    coldest_operating_degc: float | None = None
    hottest_operating_degc: float | None = None
    coldest_storage_degc: float | None = None
    hottest_storage_degc: float | None = None


def warranty_of(pack: Pack, warranties: Sequence[WarrantyTerms]) -> WarrantyTerms:
    """Terms for a pack, its term and freight filled from the pack where the terms state none.

    A pack without a row gets the default terms with its own `warranty_years`.
    """
    found = next((row for row in warranties if row.candidate == pack.name), None)
    terms = WarrantyTerms(candidate=pack.name) if found is None else found
    term = pack.warranty_years if terms.term_years is None else terms.term_years
    freight = terms.return_freight_price
    return terms.model_copy(
        update={
            "term_years": term,
            "return_freight_price": pack.freight_price if freight is None else freight,
        }
    )


def broken_conditions(terms: WarrantyTerms, use: WarrantyUse) -> tuple[str, ...]:
    """Reasons why the terms do not cover this use, one sentence each; empty where they do.

    A temperature that is not known breaks no condition.
    """
    reasons: list[str] = []
    if use.commercial_use and not terms.commercial_use_covered:
        reasons.append("The warranty does not cover commercial use.")
    for when, words in (("operating", "in use"), ("storage", "while laid up")):
        low, high = getattr(terms, f"{when}_min_degc"), getattr(terms, f"{when}_max_degc")
        coldest = getattr(use, f"coldest_{when}_degc")
        hottest = getattr(use, f"hottest_{when}_degc")
        if low is not None and coldest is not None and coldest < low:
            reasons.append(
                says(
                    "The space gets as cold as ",
                    degc(coldest),
                    f" {words}; the warranty asks for ",
                    degc(low, "g"),
                    " or more.",
                )
            )
        if high is not None and hottest is not None and hottest > high:
            reasons.append(
                says(
                    "The space gets as hot as ",
                    degc(hottest),
                    f" {words}; the warranty asks for ",
                    degc(high, "g"),
                    " or less.",
                )
            )
    return tuple(reasons)


def throughput_limit_kwh(terms: WarrantyTerms, nominal_energy_kwh: float) -> float:
    """Energy after which the warranty ends, infinite where none is stated. [kWh]

    The smaller of the stated throughput and the stated cycles at nominal energy.

    Raises
    ------
    ValueError
        When the energy of the pack is not above zero.
    """
    if not nominal_energy_kwh > 0.0:
        raise ValueError(f"nominal_energy_kwh must be above zero, got {nominal_energy_kwh}")
    by_energy = np.inf if terms.throughput_kwh is None else terms.throughput_kwh
    by_cycles = np.inf if terms.cycles is None else terms.cycles * nominal_energy_kwh
    return float(min(by_energy, by_cycles))


def covered_years(
    terms: WarrantyTerms, *, nominal_energy_kwh: float, kwh_per_year: ArrayLike
) -> Any:
    """Age at which the warranty ends in this use: the term, or the throughput if sooner. [years]

    Raises
    ------
    ValueError
        For a negative throughput, or terms without `term_years`.
    """
    yearly = np.asarray(kwh_per_year, dtype=float)
    if not np.all(yearly >= 0.0):
        raise ValueError("kwh_per_year cannot be negative")
    with np.errstate(divide="ignore"):
        used_up = np.asarray(throughput_limit_kwh(terms, nominal_energy_kwh)) / yearly
    return np.minimum(_term(terms), used_up)


def payout_share(
    terms: WarrantyTerms,
    age_years: ArrayLike,
    *,
    nominal_energy_kwh: float,
    throughput_kwh: ArrayLike = 0.0,
    use: WarrantyUse | None = None,
) -> Any:
    """Share of a new pack's price that the terms promise for a failure at an age.

    1 until `prorated_after_years`, then a straight line to zero at the term; without proration 1
    up to and including the term. Zero after the term, beyond the throughput limit, or where the
    use breaks a condition (`broken_conditions` says which). Ages and throughputs broadcast.

    Raises
    ------
    ValueError
        For a negative age or throughput, or terms without `term_years`.
    """
    age = np.asarray(age_years, dtype=float)
    used = np.asarray(throughput_kwh, dtype=float)
    if not (np.all(age >= 0.0) and np.all(used >= 0.0)):
        raise ValueError("an age or a throughput cannot be negative")
    term = _term(terms)
    share = np.ones(np.broadcast_shapes(age.shape, used.shape))
    start = terms.prorated_after_years
    if start is not None and start < term:
        share = share * np.clip((term - age) / (term - start), 0.0, 1.0)
    limit = throughput_limit_kwh(terms, nominal_energy_kwh)
    covered = (age <= term) & (used <= limit) & (term > 0.0)
    if use is not None and broken_conditions(terms, use):
        covered = covered & False
    return np.where(covered, share, 0.0)[()]


@dataclass(frozen=True)
class Claim:
    """How one failure is met at least cost, by the bank's age; arrays of one shape.

    `way`: 0 no claim, the pack is bought at once; 1 claimed, and waited for; 2 bought at once and
    claimed, so that what the maker sends comes on top. `refund`: what the claim brings if it is
    honoured, as a multiple of a pack's price; `days` until the bank is whole again, on the mean of
    claims honoured and refused.
    """

    way: Any
    refund: Any
    days: Any


NO_CLAIM, WAITED_FOR, ON_TOP = 0, 1, 2


def cheapest_way(
    terms: WarrantyTerms,
    promised: ArrayLike,
    *,
    pack_price: float,
    tax: float,
    trouble_price: float,
    wait_days: float,
    day_price: float,
    spare_value: float,
    on_the_shelf: bool,
) -> Claim:
    """The cheapest of no claim, a claim waited for, and buying at once with a claim besides.

    Not to claim is always open, so a warranty never costs anything. A claim costs its freight and
    `trouble_price` whether it is honoured or not. Waited for, the pack is there after the
    warranty's `downtime_days`; with the chance that it is refused, one must be bought after all,
    which takes `wait_days` more. Bought at once, it takes `wait_days`, and the pack the maker sends
    is one too many: it fetches `spare_value` of a new one's price; money instead of a pack
    (`paid_in`) counts in full and is never worth waiting for. With a spare on the shelf nobody
    waits, and the maker's pack refills the shelf: it counts in full.

    Parameters
    ----------
    promised
        Share of a new pack's price promised, by age (`payout_share`).
    tax
        Factor on the price of goods bought, which a pack from the maker saves too.
    day_price
        What each day with the pack out costs.
    """
    share = np.asarray(promised, dtype=np.float64)
    chance = terms.honoured_probability
    cost = claim_cost(terms) + trouble_price
    whole = on_the_shelf or terms.paid_in == "money"
    refunds = np.stack([0.0 * share, share * tax, share * (tax if whole else spare_value)])
    waits = np.array(
        [wait_days, terms.downtime_days + (1.0 - chance) * wait_days, wait_days],
    )
    if on_the_shelf:
        waits[:] = wait_days
    elif terms.paid_in == "money":
        waits[WAITED_FOR] = terms.downtime_days + wait_days
    claimed = np.array([0.0, cost, cost])
    spent = claimed + waits * day_price
    total = -chance * refunds * pack_price + spent.reshape(-1, *(1,) * share.ndim)
    total[1:] = np.where(share > 0.0, total[1:], np.inf)  # out of cover there is nothing to claim
    way = np.argmin(total, axis=0)
    return Claim(way=way, refund=np.take_along_axis(refunds, way[None], 0)[0], days=waits[way])


def claim_cost(terms: WarrantyTerms) -> float:
    """What sending one pack in costs the owner: the freight where the buyer pays it."""
    if terms.freight_paid_by == "maker":
        return 0.0
    return terms.return_freight_price or 0.0


def _term(terms: WarrantyTerms) -> float:
    if terms.term_years is None:
        raise ValueError("the terms state no term_years; fill them with warranty_of")
    return terms.term_years
