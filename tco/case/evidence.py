"""What is known of a model: field reports, marks of its construction, warranty terms.

The default figures of `ReliabilityAssumptions` and `WarrantyTerms` are assumptions of this project
(no source): they stand here to be seen and typed over.
"""

from collections.abc import Iterable, Iterator
from typing import Annotated, Any, Literal, get_args

from pydantic import Field

from tco.case.base import Clash, Model, NotKnownError, cross_check, repeated, rows_known
from tco.case.quantities import (
    MOST_SEEN,
    Age,
    Cycles,
    Days,
    Fraction,
    Money,
    Months,
    Name,
    NonNegative,
    Number,
    Positive,
    Temperature,
    Text,
)
from tco.physics.chemistry import Family

Quality = Literal["own", "independent inspection", "owner report", "maker's claim"]
Part = Literal["cell restraint", "board cooling", "conductor size", "connections"]
Mark = Literal["good", "fair", "poor", "not seen"]
PriceClass = Literal["cheap", "middling", "premium"]


HIGHEST_RATE_PER_PACK_YEAR = 10.0
"""A pack that fails every five weeks is no product."""
MarkTimes = Annotated[Positive, Field(ge=0.001, le=1_000)]
"""What a mark multiplies a rate by: beyond, it would say more than all evidence."""


class FieldReport(Model):
    """Units of one model seen in the field: how many, for how long, how many failed.

    `months` is the mean time a unit was watched. Only sudden failures count (board, cell,
    connection): capacity lost with use belongs to the ageing.
    """

    candidate: Name
    source: Text = ""
    quality: Quality
    units: int = Field(ge=0, le=MOST_SEEN)
    months: Months
    failures: int = Field(ge=0, le=MOST_SEEN)
    note: Text = ""

    @cross_check
    def _failures_of_something(self) -> Iterator[Clash]:
        if self.failures > 0 and self.units == 0:
            yield Clash(
                "failures",
                f"is {self.failures}, but no units were seen",
                "Give the number of units the failures were among; a report of failures without "
                "it says nothing about a rate.",
            )


class ConstructionMark(Model):
    """How well one part of a model is made, as seen with the lid off."""

    candidate: Name
    part: Part
    mark: Mark
    note: Text = ""


class WarrantyTerms(Model):
    """The warranty of one model as written, and how likely a claim is honoured.

    `term_years` not stated means the candidate's own `warranty_years`. Full value until
    `prorated_after_years`, then a straight line to nothing at the end of the term; without it the
    full value holds to the end. `cycles` are equivalent full cycles. A temperature limit not
    stated is no condition. `return_freight_price` is the freight of one pack to the maker and
    back; not stated, the freight of the purchase stands in for it. `paid_in` says whether the maker
    sends a pack or pays money; `downtime_days` is the time from the claim until either is there.
    """

    candidate: Name
    term_years: Age | None = None
    throughput_kwh: Positive | None = Field(default=None, le=1e8)
    cycles: Cycles | None = None
    prorated_after_years: Age | None = None
    freight_paid_by: Literal["maker", "buyer"] = "buyer"
    return_freight_price: Money | None = None
    operating_min_degc: Temperature | None = None
    operating_max_degc: Temperature | None = None
    storage_min_degc: Temperature | None = None
    storage_max_degc: Temperature | None = None
    commercial_use_covered: bool = True
    paid_in: Literal["pack", "money"] = "pack"
    honoured_probability: Fraction = 0.7
    downtime_days: Days = 28.0
    note: Text = ""

    @cross_check
    def _proration_within_the_term(self) -> Iterator[Clash]:
        start, term = self.prorated_after_years, self.term_years
        if start is not None and term is not None and start > term:
            yield Clash(
                "prorated_after_years",
                f"is {start:g}, after the end of the term of {term:g} years",
                "Give the age up to which the full value is paid, or leave it out.",
            )

    @cross_check
    def _operating_limits_in_order(self) -> Iterator[Clash]:
        yield from _in_order("operating", self.operating_min_degc, self.operating_max_degc)

    @cross_check
    def _storage_limits_in_order(self) -> Iterator[Clash]:
        yield from _in_order("storage", self.storage_min_degc, self.storage_max_degc)


def _in_order(when: str, low: float | None, high: float | None) -> Iterator[Clash]:
    if low is not None and high is not None and low > high:
        yield Clash(
            f"{when}_min_degc",
            f"is {low:g}, above {when}_max_degc ({high:g})",
            "Are the two swapped?",
        )


class ClassPrior(Model):
    """What is believed of a class before any report.

    `rate_per_pack_year` is the mean number of failures per pack and year. `prior_failures` says
    how firmly it is held: as if the rate came from that many failures seen (the shape of the
    Gamma distribution; its spread is 1/sqrt(prior_failures) of the mean).
    """

    price_class: PriceClass
    family: Family
    rate_per_pack_year: Positive = Field(ge=1e-6, le=HIGHEST_RATE_PER_PACK_YEAR)
    prior_failures: Positive = Field(ge=0.1, le=1e4)


class QualityWeight(Model):
    """How much a report counts: each pack-year as `weight`, all reports of the kind together at
    most as `most_pack_years` for one model (not stated: no ceiling)."""

    quality: Quality
    weight: Fraction
    most_pack_years: NonNegative | None = Field(default=None, le=1e8)


class MarkFactor(Model):
    """What the marks of one part multiply the mean failure rate of the class by."""

    part: Part
    good: MarkTimes
    fair: MarkTimes
    poor: MarkTimes
    not_seen: MarkTimes = 1.0

    def factor(self, mark: Mark) -> float:
        """Factor of a mark."""
        return {"good": self.good, "fair": self.fair, "poor": self.poor}.get(mark, self.not_seen)


class StatedClass(Model):
    """The price class of a candidate, where its price does not tell."""

    candidate: Name
    price_class: PriceClass


class StatedRate(Model):
    """A failure rate the user states, instead of prior and evidence. [1 / pack year]"""

    candidate: Name
    rate_per_pack_year: NonNegative = Field(le=HIGHEST_RATE_PER_PACK_YEAR)


def _prior(price_class: PriceClass, family: Family, rate: float, failures: float) -> ClassPrior:
    return ClassPrior(
        price_class=price_class, family=family, rate_per_pack_year=rate, prior_failures=failures
    )


DEFAULT_PRIORS = (
    _prior("cheap", "lithium", 0.030, 1.5),
    _prior("middling", "lithium", 0.018, 1.5),
    _prior("premium", "lithium", 0.010, 1.5),
    _prior("cheap", "sodium", 0.040, 1.0),
    _prior("middling", "sodium", 0.025, 1.0),
    _prior("premium", "sodium", 0.015, 1.0),
    _prior("cheap", "lead", 0.025, 2.0),
    _prior("middling", "lead", 0.018, 2.0),
    _prior("premium", "lead", 0.012, 2.0),
)
"""Sudden failures per pack and year by class. Assumption, no source."""

DEFAULT_WEIGHTS = (
    QualityWeight(quality="own", weight=1.0),
    QualityWeight(quality="independent inspection", weight=0.8, most_pack_years=400.0),
    QualityWeight(quality="owner report", weight=0.4, most_pack_years=150.0),
    QualityWeight(quality="maker's claim", weight=0.1, most_pack_years=15.0),
)
"""Assumption, no source. The ceilings keep a large number from a poor source from deciding."""

DEFAULT_MARK_FACTORS = (
    MarkFactor(part="cell restraint", good=0.8, fair=1.0, poor=1.5),
    MarkFactor(part="board cooling", good=0.85, fair=1.0, poor=1.4),
    MarkFactor(part="conductor size", good=0.9, fair=1.0, poor=1.4),
    MarkFactor(part="connections", good=0.8, fair=1.0, poor=1.7),
)
"""Assumption, no source."""


class ReliabilityAssumptions(Model):
    """How evidence becomes a failure rate; all of it visible and changeable, none with a source.

    A candidate is cheap below `cheap_below` and premium above `premium_above` times the median
    price per kWh of the other candidates of its chemistry.
    `weibull_shape` 1 is a constant failure rate, above 1 one that grows with age; the rate of a
    class is then the mean over the first `reference_years`. A report that reassures counts in full
    once its units were watched for `months_for_full_weight`, before that in proportion: what comes
    with age cannot have been seen yet. `batch_spread` is how much one delivery differs from the
    model's mean (coefficient of variation): packs bought together share it. A failed pack cannot
    be matched once the model is older than `model_gone_after_years`: all packs of the bank, in
    series as in parallel, are then bought anew, unless a spare on the shelf matches. `swap_days` is
    the time without the pack where there is one.
    """

    priors: tuple[ClassPrior, ...] = DEFAULT_PRIORS
    weights: tuple[QualityWeight, ...] = DEFAULT_WEIGHTS
    mark_factors: tuple[MarkFactor, ...] = DEFAULT_MARK_FACTORS
    stated_classes: tuple[StatedClass, ...] = ()
    stated_rates: tuple[StatedRate, ...] = ()
    cheap_below: Positive = Field(default=0.8, le=100)
    premium_above: Positive = Field(default=1.25, le=100)
    weibull_shape: Number = Field(default=1.0, ge=0.3, le=10.0)
    reference_years: Positive = Field(default=10.0, ge=0.1, le=200)
    months_for_full_weight: Months = 24.0
    batch_spread: NonNegative = Field(default=0.3, le=3.0)
    model_gone_after_years: Age = 4.0
    swap_days: Days = 1.0

    @cross_check
    def _classes_in_order(self) -> Iterator[Clash]:
        if self.cheap_below > self.premium_above:
            yield Clash(
                "cheap_below",
                f"is {self.cheap_below:g}, above premium_above ({self.premium_above:g})",
                "Are the two swapped?",
            )

    @cross_check
    def _every_class_once(self) -> Iterator[Clash]:
        wanted = [(c, f) for f in get_args(Family) for c in get_args(PriceClass)]
        yield from _once("priors", wanted, self.priors, "price_class", "family")

    @cross_check
    def _every_quality_once(self) -> Iterator[Clash]:
        wanted = [(quality,) for quality in get_args(Quality)]
        yield from _once("weights", wanted, self.weights, "quality")

    @cross_check
    def _every_part_once(self) -> Iterator[Clash]:
        wanted = [(part,) for part in get_args(Part)]
        yield from _once("mark_factors", wanted, self.mark_factors, "part")

    @cross_check
    def _one_class_per_candidate(self) -> Iterator[Clash]:
        yield from doubles("stated_classes", self.stated_classes, "candidate")

    @cross_check
    def _one_rate_per_candidate(self) -> Iterator[Clash]:
        yield from doubles("stated_rates", self.stated_rates, "candidate")


def _once(field: str, wanted: Iterable[Any], rows: Iterable[Any], *keys: str) -> Iterator[Clash]:
    """A clash for each key without a row, and for each row whose key has one already.

    What has no row cannot be told where a row cannot be read: it may be the one that is missing.
    """
    rows = tuple(rows)
    given = [values for _, values in rows_known(rows, *keys)]
    for key in wanted if len(given) == len(rows) else ():
        if key not in given:
            yield Clash(field, f"has no row for {' '.join(key)}", "Add one.")
    yield from doubles(field, rows, *keys)


def strangers(field: str, rows: Iterable[Any], candidates: Iterable[Any]) -> Iterator[Clash]:
    """Clashes of a case's field whose rows name a candidate that the case does not have.

    Left out where a candidate's own name cannot be read: it may be the one meant.
    """
    try:
        known = {candidate.name for candidate in candidates}
    except NotKnownError:
        return
    for place, (name,) in rows_known(rows, "candidate"):
        if name not in known:
            yield Clash(
                field,
                f"is {name!r}, which is no candidate of the case",
                "Write the candidate's name as in the table, or remove the row.",
                (place, "candidate"),
            )


def doubles(field: str, rows: Iterable[Any], *keys: str) -> Iterator[Clash]:
    """Clashes of a case's field that has two rows with the same keys, at the later row."""
    for place, first, values in repeated(rows, *keys):
        words = ", ".join(map(repr, values))
        what = f"speaks of {words} again, as row {first + 1} does"
        yield Clash(field, what, "Keep one row.", (place, keys[-1]))
