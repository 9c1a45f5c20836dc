"""What evidence, warranties and failure rates are called where people read and type them."""

from typing import get_args

from tco.case.evidence import Mark, Part, PriceClass, Quality
from tco.forms.entry import entry
from tco.physics.chemistry import Family

REPORT = (
    entry("candidate", "Candidate", "text"),
    entry("source", "Who says so", "text"),
    entry("quality", "How good the source is", "choice", choices=get_args(Quality)),
    entry("units", "Packs seen"),
    entry("months", "Months run"),
    entry("failures", "Failures"),
    entry("note", "Note", "text"),
)
MARK = (
    entry("candidate", "Candidate", "text"),
    entry("part", "Part looked at", "choice", choices=get_args(Part)),
    entry("mark", "Mark", "choice", choices=get_args(Mark)),
    entry("note", "Note", "text"),
)
TERMS = (
    entry("candidate", "Candidate", "text"),
    entry("term_years", "Term"),
    entry("throughput_kwh", "Throughput"),
    entry("cycles", "Cycles"),
    entry("prorated_after_years", "Prorated after"),
    entry("freight_paid_by", "Freight paid by", "choice", choices=("maker", "buyer")),
    entry("return_freight_price", "Return freight", "price"),
    entry("operating_min_degc", "Used from"),
    entry("operating_max_degc", "Used to"),
    entry("storage_min_degc", "Stored from"),
    entry("storage_max_degc", "Stored to"),
    entry("commercial_use_covered", "Commercial use covered", "yes_no"),
    entry("paid_in", "Paid as", "choice", choices=("pack", "money")),
    entry("honoured_probability", "Honoured", "share"),
    entry("downtime_days", "Takes"),
    entry("note", "Note", "text"),
)
FAILING = (
    entry("cheap_below", "Cheap below", unit="× median price"),
    entry("premium_above", "Premium above", unit="× median price"),
    entry("weibull_shape", "Law with age: 1 exponential, else Weibull", unit="–"),
    entry("reference_years", "Rates hold over"),
    entry("months_for_full_weight", "Full weight after", unit="months"),
    entry("batch_spread", "Spread between batches", unit="–"),
    entry("model_gone_after_years", "Model off the market after"),
    entry("swap_days", "Swapping a pack"),
)
PRIOR = (
    entry("price_class", "Price class", "choice", choices=get_args(PriceClass)),
    entry("family", "Family", "choice", choices=get_args(Family)),
    entry("rate_per_pack_year", "Failures", unit="per pack and year"),
    entry("prior_failures", "Believed like", unit="failures seen"),
)
WEIGHT = (
    entry("quality", "Source", "choice", choices=get_args(Quality)),
    entry("weight", "Weight", "share"),
    entry("most_pack_years", "Counts at most", unit="pack-years"),
)
FACTOR = (
    entry("part", "Part looked at", "choice", choices=get_args(Part)),
    entry("good", "Good", unit="× failures"),
    entry("fair", "Fair", unit="× failures"),
    entry("poor", "Poor", unit="× failures"),
    entry("not_seen", "Not seen", unit="× failures"),
)
STATED_RATE = (
    entry("candidate", "Candidate", "text"),
    entry("rate_per_pack_year", "Failures", unit="per pack and year"),
)
STATED_CLASS = (
    entry("candidate", "Candidate", "text"),
    entry("price_class", "Price class", "choice", choices=get_args(PriceClass)),
)
