"""What the fields of evidence are called: how packs fail, what was looked at, what is warranted."""

from typing import get_args

from tco.case.evidence import Mark, Part, PriceClass, Quality
from tco.forms.entry import entry as _e
from tco.physics.chemistry import Family

REPORT = (
    _e("candidate", "Candidate", "text"),
    _e("source", "Who says so", "text"),
    _e("quality", "How good the source is", "choice", choices=get_args(Quality)),
    _e("units", "Packs seen"),
    _e("months", "Months run"),
    _e("failures", "Failures"),
    _e("note", "Note", "text"),
)
MARK = (
    _e("candidate", "Candidate", "text"),
    _e("part", "Part looked at", "choice", choices=get_args(Part)),
    _e("mark", "Mark", "choice", choices=get_args(Mark)),
    _e("note", "Note", "text"),
)
TERMS = (
    _e("candidate", "Candidate", "text"),
    _e("term_years", "Term"),
    _e("throughput_kwh", "Throughput"),
    _e("cycles", "Cycles"),
    _e("prorated_after_years", "Prorated after"),
    _e("freight_paid_by", "Freight paid by", "choice", choices=("maker", "buyer")),
    _e("return_freight_price", "Return freight", "price"),
    _e("operating_min_degc", "Used from"),
    _e("operating_max_degc", "Used to"),
    _e("storage_min_degc", "Stored from"),
    _e("storage_max_degc", "Stored to"),
    _e("commercial_use_covered", "Commercial use covered", "yes_no"),
    _e("paid_in", "Paid as", "choice", choices=("pack", "money")),
    _e("honoured_probability", "Honoured", "share"),
    _e("downtime_days", "Takes"),
    _e("note", "Note", "text"),
)
FAILING = (
    _e("cheap_below", "Cheap below", unit="× median price"),
    _e("premium_above", "Premium above", unit="× median price"),
    _e("weibull_shape", "Law with age: 1 exponential, else Weibull", unit="–"),
    _e("reference_years", "Rates hold over"),
    _e("months_for_full_weight", "Full weight after", unit="months"),
    _e("batch_spread", "Spread between batches", unit="–"),
    _e("model_gone_after_years", "Model off the market after"),
    _e("swap_days", "Swapping a pack"),
)
PRIOR = (
    _e("price_class", "Price class", "choice", choices=get_args(PriceClass)),
    _e("family", "Family", "choice", choices=get_args(Family)),
    _e("rate_per_pack_year", "Failures", unit="per pack and year"),
    _e("prior_failures", "Believed like", unit="failures seen"),
)
WEIGHT = (
    _e("quality", "Source", "choice", choices=get_args(Quality)),
    _e("weight", "Weight", "share"),
    _e("most_pack_years", "Counts at most", unit="pack-years"),
)
FACTOR = (
    _e("part", "Part looked at", "choice", choices=get_args(Part)),
    _e("good", "Good", unit="× failures"),
    _e("fair", "Fair", unit="× failures"),
    _e("poor", "Poor", unit="× failures"),
    _e("not_seen", "Not seen", unit="× failures"),
)
STATED_RATE = (
    _e("candidate", "Candidate", "text"),
    _e("rate_per_pack_year", "Failures", unit="per pack and year"),
)
STATED_CLASS = (
    _e("candidate", "Candidate", "text"),
    _e("price_class", "Price class", "choice", choices=get_args(PriceClass)),
)
