"""What a warranty is worth: share paid by age and use, conditions, claim, freight, last day.

Warranties differ; this is the reading of `tco.case.evidence.WarrantyTerms`, common practice, no
source. The maker's own text decides a claim.
"""

import calendar
import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tco.case import Pack
from tco.case.evidence import WarrantyTerms

MONTHS_PER_YEAR = 12


@dataclass(frozen=True)
class Conditions:
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


def broken_conditions(terms: WarrantyTerms, use: Conditions) -> tuple[str, ...]:
    """Reasons why the terms do not cover this use, one sentence each; empty where they do.

    A temperature that is not known breaks no condition.
    """
    reasons = []
    if use.commercial_use and not terms.commercial_use_covered:
        reasons.append("The warranty does not cover commercial use.")
    for when in ("operating", "storage"):
        low, high = getattr(terms, f"{when}_min_degc"), getattr(terms, f"{when}_max_degc")
        coldest = getattr(use, f"coldest_{when}_degc")
        hottest = getattr(use, f"hottest_{when}_degc")
        if low is not None and coldest is not None and coldest < low:
            reasons.append(
                f"The pack gets as cold as {coldest:.0f} degC ({when}); "
                f"the warranty asks for {low:g} degC or more."
            )
        if high is not None and hottest is not None and hottest > high:
            reasons.append(
                f"The pack gets as hot as {hottest:.0f} degC ({when}); "
                f"the warranty asks for {high:g} degC or less."
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
    use: Conditions | None = None,
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


def claim_cost(terms: WarrantyTerms) -> float:
    """What sending one pack in costs the owner: the freight where the buyer pays it."""
    if terms.freight_paid_by == "maker":
        return 0.0
    return terms.return_freight_price or 0.0


def expected_recovery(
    terms: WarrantyTerms, share: ArrayLike, *, price: ArrayLike, friction: float = 0.0
) -> Any:
    """Money a claim brings on average: share x price x chance that it is honoured - its cost.

    The cost is the freight the buyer pays and `friction`, what the claim takes in time and
    trouble. Nobody claims at a loss: zero where the result would be negative.
    """
    promised = np.asarray(share, dtype=float) * np.asarray(price, dtype=float)
    cost = claim_cost(terms) + friction
    return np.maximum(promised * terms.honoured_probability - cost, 0.0)


def drawn_recovery(
    terms: WarrantyTerms,
    share: ArrayLike,
    *,
    price: ArrayLike,
    u: ArrayLike,
    friction: float = 0.0,
) -> Any:
    """Money one claim brings, honoured where the uniform number u is below the chance.

    Claimed only where the claim is worth it on average (as in `expected_recovery`); its cost is
    then spent whether it is honoured or not, so a draw may be negative. Its mean over u is
    `expected_recovery`.
    """
    promised = np.asarray(share, dtype=float) * np.asarray(price, dtype=float)
    cost = claim_cost(terms) + friction
    worth_it = promised * terms.honoured_probability > cost
    honoured = np.asarray(u, dtype=float) < terms.honoured_probability
    return np.where(worth_it, np.where(honoured, promised, 0.0) - cost, 0.0)[()]


def last_day(bought: datetime.date, term_years: float) -> datetime.date:
    """Last day of a warranty that runs from the day of purchase.

    The same date `term_years` later, or the last of the month where that date does not exist:
    Regulation (EEC, Euratom) No 1182/71, article 3(2)(c) (from memory), the usual count in Europe.
    Parts of a month are left out. Other laws and texts count otherwise: claim before.

    Raises
    ------
    ValueError
        For a negative term or one beyond the calendar.
    """
    if not 0.0 <= term_years < 1000.0:
        raise ValueError(f"a term of {term_years:g} years cannot be counted")
    months = int(term_years * MONTHS_PER_YEAR + 1e-9)
    year, month = divmod(bought.year * MONTHS_PER_YEAR + bought.month - 1 + months, MONTHS_PER_YEAR)
    day = min(bought.day, calendar.monthrange(year, month + 1)[1])
    return datetime.date(year, month + 1, day)


def _term(terms: WarrantyTerms) -> float:
    if terms.term_years is None:
        raise ValueError("the terms state no term_years; fill them with warranty_of")
    return terms.term_years
