"""From a class and what was seen to a failure rate: Gamma prior, evidence, posterior.

The failures of packs that fail at a rate r in a time T are Poisson with mean r T; a Gamma prior
with shape a and pack-years b becomes a Gamma posterior with a + failures and b + pack-years
(NIST/SEMATECH e-Handbook 8.2.5, 8.4.6). A report from a poor source counts in part: its likelihood
is raised to a weight between 0 and 1, so failures and pack-years shrink together (the power prior
of Ibrahim and Chen, Statistical Science 15 (2000) 46-60, from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaincinv

from tco.case import Candidate
from tco.case.candidate import is_bare_cell
from tco.case.evidence import (
    ClassPrior,
    ConstructionMark,
    FieldReport,
    PriceClass,
    ReliabilityAssumptions,
)
from tco.money.cell_failures import share_of_a_pack
from tco.money.flows import WH_PER_KWH
from tco.physics.chemistry import CHEMISTRIES

MONTHS_PER_YEAR = 12.0


@dataclass(frozen=True)
class GammaRate:
    """A failure rate known as a Gamma distribution.

    `shape` is the failures it is worth, `pack_years` the time they are worth; the mean rate is
    their quotient. [failures per pack-year]
    """

    shape: float
    pack_years: float

    def __post_init__(self) -> None:
        """Refuse what is no distribution.

        Raises
        ------
        ValueError
            Unless both are finite and above zero.
        """
        for name in ("shape", "pack_years"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0.0):
                raise ValueError(f"{name} must be finite and above zero, got {value}")

    @property
    def mean(self) -> float:
        """Mean failure rate. [failures per pack-year]"""
        return self.shape / self.pack_years

    @property
    def spread(self) -> float:
        """Coefficient of variation, 1/sqrt(shape)."""
        return float(self.shape**-0.5)

    def quantile(self, share: ArrayLike) -> Any:
        """Rate that is not exceeded with this probability. [failures per pack-year]

        Raises
        ------
        ValueError
            For a share outside (0, 1).
        """
        return gammaincinv(self.shape, _inside(share, "share")) / self.pack_years

    def updated(self, failures: float, pack_years: float) -> "GammaRate":
        """Posterior after failures in pack-years (both as weighted), e-Handbook 8.2.5."""
        if not (failures >= 0.0 and pack_years >= 0.0):
            raise ValueError("failures and pack-years cannot be negative")
        return GammaRate(self.shape + failures, self.pack_years + pack_years)

    def scaled(self, factor: float) -> "GammaRate":
        """The same firmness about a mean rate `factor` times as high."""
        return GammaRate(self.shape, self.pack_years / factor)


def price_classes(
    candidates: Sequence[Candidate], assumptions: ReliabilityAssumptions
) -> Mapping[str, PriceClass]:
    """Price class of each candidate by name: as stated, else by its price per kWh.

    A price below `cheap_below` (above `premium_above`) times the median of the *other* candidates
    of the same chemistry makes it cheap (premium), bare cells among bare cells. One without others
    is middling. A price tells of quality only on average: an assumption the user sees and may
    overrule.
    """
    stated = {row.candidate: row.price_class for row in assumptions.stated_classes}
    per_kwh = [c.price / c.energy_wh * WH_PER_KWH for c in candidates]
    found: dict[str, PriceClass] = {}
    for i, candidate in enumerate(candidates):
        others = [
            per_kwh[j]
            for j, other in enumerate(candidates)
            if j != i
            and other.chemistry == candidate.chemistry
            and is_bare_cell(other) == is_bare_cell(candidate)
        ]
        middle = float(np.median(others)) if others else per_kwh[i]
        found[candidate.name] = stated.get(candidate.name) or (
            "cheap"
            if per_kwh[i] < assumptions.cheap_below * middle
            else "premium"
            if per_kwh[i] > assumptions.premium_above * middle
            else "middling"
        )
    return found


def class_prior(
    price_class: PriceClass, family: str, assumptions: ReliabilityAssumptions
) -> GammaRate:
    """Prior of a class, before marks and reports.

    Raises
    ------
    ValueError
        When the assumptions have no row for the class.
    """
    row: ClassPrior | None = next(
        (p for p in assumptions.priors if (p.price_class, p.family) == (price_class, family)), None
    )
    if row is None:
        raise ValueError(f"no prior for {price_class} {family}")
    return GammaRate(row.prior_failures, row.prior_failures / row.rate_per_pack_year)


def exposure_pack_years(
    units: ArrayLike, months: ArrayLike, *, shape: float = 1.0, reference_years: float = 10.0
) -> Any:
    """Pack-years that units watched from new for some months are worth.

    units x T (t/T)^k for a Weibull life of shape k whose mean rate over T = `reference_years` is
    sought: the cumulative hazard is that rate times this. Units x years for shape 1; a wear-out
    shape (k above 1) makes short watches worth little.
    """
    t = np.asarray(months, dtype=float) / MONTHS_PER_YEAR
    return np.asarray(units, dtype=float) * reference_years * (t / reference_years) ** shape


def weibull_scale_years(rate: ArrayLike, *, shape: float, reference_years: float) -> Any:
    """Weibull scale of a life whose mean failure rate over `reference_years` is `rate`. [years]

    From rate T = (T/c)^k; 1/rate for shape 1.
    """
    rates = np.asarray(rate, dtype=float)
    if not np.all(rates > 0.0):
        raise ValueError("a failure rate must be above zero")
    return reference_years * (rates * reference_years) ** (-1.0 / shape)


def sample_rates(
    known: GammaRate,
    u: ArrayLike,
    *,
    batch_u: ArrayLike | None = None,
    batch_spread: float = 0.0,
) -> Any:
    """Failure rates drawn by inversion from given uniform numbers.

    The same `u` for every arrangement gives common random numbers. `batch_u` draws how the
    delivery differs from the model's mean: a Gamma factor of mean 1 and that coefficient of
    variation, shared by the packs bought together (assumption, no source).

    Raises
    ------
    ValueError
        For numbers outside (0, 1).
    """
    rates = known.quantile(_inside(u, "u"))
    if batch_spread <= 0.0 or batch_u is None:
        return rates
    shape = batch_spread**-2.0
    return rates * gammaincinv(shape, _inside(batch_u, "batch_u")) / shape


def _inside(value: ArrayLike, name: str) -> Any:
    array = np.asarray(value, dtype=float)
    if not np.all((array > 0.0) & (array < 1.0)):
        raise ValueError(f"{name} must be between 0 and 1, ends excluded")
    return array


Step = Literal["class", "mark", "report", "posterior"]


@dataclass(frozen=True)
class EvidenceRow:
    """One line of the story from prior to posterior.

    `factor` is what a mark multiplies the mean by, `weight` what a report counts after every
    discount; `failures` and `pack_years` are as reported, before it. `mean`, `p10` and `p90` are
    of the rate after this line. [failures per pack-year]
    """

    step: Step
    what: str
    factor: float | None
    weight: float | None
    failures: float | None
    pack_years: float | None
    mean: float
    p10: float
    p90: float
    note: str = ""


@dataclass(frozen=True)
class Knowledge:
    """What is known of one model's failures: its class, prior (with marks), posterior, story."""

    candidate: str
    price_class: PriceClass
    prior: GammaRate
    posterior: GammaRate
    rows: tuple[EvidenceRow, ...]

    def figures(self) -> dict[str, float]:
        """Failures per pack and year: prior and posterior mean, posterior P10 and P90.

        `class_prior` is believed of its price class and family alone; `prior` has the marks in it.
        """
        low, high = self.posterior.quantile([0.1, 0.9])
        return {
            "class_prior": self.rows[0].mean,
            "prior": self.prior.mean,
            "posterior": self.posterior.mean,
            "p10": float(low),
            "p90": float(high),
        }


def explain(
    candidate: Candidate,
    price_class: PriceClass,
    *,
    reports: Sequence[FieldReport] = (),
    marks: Sequence[ConstructionMark] = (),
    assumptions: ReliabilityAssumptions,
) -> Knowledge:
    """Prior, evidence and posterior of one candidate, with a row for each step.

    Rows of other candidates among `reports` and `marks` are left out. Marks multiply the prior
    mean; reports then update it, each by its weight (`report_weights`). A rate the user states
    takes the place of all of it. Of a bare cell everything is per cell (`tco.money.cell_failures`).
    """
    family = CHEMISTRIES[candidate.chemistry].family
    share = share_of_a_pack(candidate)
    now = class_prior(price_class, family, assumptions).scaled(share)
    what = f"{price_class} {family}" + (f", one cell: 1/{1.0 / share:.0f}" if share < 1.0 else "")
    rows = [_row("class", what, now, note="assumption, no source")]
    factors = {row.part: row for row in assumptions.mark_factors}
    for mark in marks:
        if mark.candidate != candidate.name:
            continue
        factor = factors[mark.part].factor(mark.mark)
        now = now.scaled(factor)
        rows.append(_row("mark", f"{mark.part}: {mark.mark}", now, factor=factor, note=mark.note))
    prior = now
    own = [report for report in reports if report.candidate == candidate.name]
    weights = report_weights(own, assumptions, prior_mean=prior.mean)
    for report, weight in zip(own, weights, strict=True):
        seen = _pack_years(report, assumptions)
        now = now.updated(weight * report.failures, weight * seen)
        rows.append(
            _row(
                "report",
                f"{report.quality}: {report.source}" if report.source else report.quality,
                now,
                weight=weight,
                failures=float(report.failures),
                pack_years=seen,
                note=report.note,
            )
        )
    for stated in assumptions.stated_rates:
        if stated.candidate == candidate.name:
            now = _certain(stated.rate_per_pack_year)
    rows.append(_row("posterior", candidate.name, now))
    return Knowledge(candidate.name, price_class, prior, now, tuple(rows))


STATED_SHAPE = 1e6
"""Shape of a Gamma law so narrow that a stated rate is as good as certain."""


def _certain(rate: float) -> GammaRate:
    return GammaRate(STATED_SHAPE, STATED_SHAPE / max(rate, 1e-9))


def report_weights(
    reports: Sequence[FieldReport], assumptions: ReliabilityAssumptions, *, prior_mean: float
) -> tuple[float, ...]:
    """What each report of one model counts, 0 to 1.

    Quality's weight x youth; then all reports of a quality are cut alike so that together they
    are worth no more than its `most_pack_years`. Youth is y = months / `months_for_full_weight`
    (at most 1) for a report that reassures, since what comes with age cannot have been seen yet;
    one whose own rate R exceeds `prior_mean` m warns at any age and counts y + (1-y)(1 - m/R).
    """
    by_quality = {row.quality: row for row in assumptions.weights}
    plain = [
        by_quality[report.quality].weight * _youth(report, assumptions, prior_mean)
        for report in reports
    ]
    worth = [w * _pack_years(r, assumptions) for w, r in zip(plain, reports, strict=True)]
    found = []
    for report, weight in zip(reports, plain, strict=True):
        ceiling = by_quality[report.quality].most_pack_years
        total = sum(v for v, r in zip(worth, reports, strict=True) if r.quality == report.quality)
        cut = ceiling / total if ceiling is not None and total > ceiling else 1.0
        found.append(weight * cut)
    return tuple(found)


def _youth(report: FieldReport, assumptions: ReliabilityAssumptions, prior_mean: float) -> float:
    whole = assumptions.months_for_full_weight
    youth = min(1.0, report.months / whole) if whole > 0.0 else 1.0
    if report.failures == 0:
        return youth
    expected = prior_mean * _pack_years(report, assumptions)
    return youth + (1.0 - youth) * max(0.0, 1.0 - expected / report.failures)


def _pack_years(report: FieldReport, assumptions: ReliabilityAssumptions) -> float:
    return float(
        exposure_pack_years(
            report.units,
            report.months,
            shape=assumptions.weibull_shape,
            reference_years=assumptions.reference_years,
        )
    )


def _row(
    step: Step,
    what: str,
    now: GammaRate,
    *,
    factor: float | None = None,
    weight: float | None = None,
    failures: float | None = None,
    pack_years: float | None = None,
    note: str = "",
) -> EvidenceRow:
    low, high = now.quantile([0.1, 0.9])
    return EvidenceRow(
        step, what, factor, weight, failures, pack_years, now.mean, float(low), float(high), note
    )
