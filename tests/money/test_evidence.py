"""Prior, evidence, posterior: what each step does, and what it must never do."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case import Candidate
from tco.case.evidence import (
    ConstructionMark,
    FieldReport,
    QualityWeight,
    ReliabilityAssumptions,
    StatedClass,
)
from tco.money.evidence import (
    GammaRate,
    class_prior,
    explain,
    exposure_pack_years,
    price_classes,
    report_weights,
    sample_rates,
    weibull_scale_years,
)
from tco.money.reliability import cumulative_hazard

USUAL = ReliabilityAssumptions()
EQUAL = ReliabilityAssumptions(
    weights=tuple(QualityWeight(quality=row.quality, weight=1.0) for row in USUAL.weights),
    months_for_full_weight=0.0,
)
"""Every report counts in full."""


def candidate(name: str = "Fell", **changes: Any) -> Candidate:
    data = {
        "name": name,
        "chemistry": "lfp",
        "nominal_voltage_v": 10.0,
        "capacity_ah": 100.0,
        "price": 300.0,
    }
    return Candidate.model_validate(data | changes)


def report(**changes: Any) -> FieldReport:
    data = {"candidate": "Fell", "quality": "own", "units": 10, "months": 24.0, "failures": 0}
    return FieldReport.model_validate(data | changes)


POSITIVE = st.floats(0.05, 200.0)
COUNTS = st.integers(0, 500)


def test_posterior_by_brute_force() -> None:
    """Prior density times Poisson likelihood, integrated on a grid, gives the same mean."""
    prior, failures, pack_years = GammaRate(1.5, 50.0), 3, 40.0
    rates = np.linspace(1e-6, 1.0, 200_001)
    density = rates**0.5 * np.exp(-50.0 * rates) * rates**failures * np.exp(-pack_years * rates)
    mean = float(np.sum(density * rates) / np.sum(density))
    # even grid of 5e-6 over a density of width 0.02: well below 1e-6
    assert prior.updated(failures, pack_years).mean == pytest.approx(mean, rel=1e-6)


@given(shape=POSITIVE, years=POSITIVE, failures=COUNTS, more=POSITIVE)
def test_posterior_mean_lies_between_prior_and_what_was_seen(
    shape: float, years: float, failures: int, more: float
) -> None:
    prior = GammaRate(shape, years)
    found = prior.updated(failures, more).mean
    low, high = sorted((prior.mean, failures / more))
    assert low * (1 - 1e-12) <= found <= high * (1 + 1e-12)


@given(shape=POSITIVE, years=POSITIVE, a=COUNTS, b=COUNTS, t=POSITIVE, u=POSITIVE)
def test_evidence_in_two_parts_is_evidence_at_once(
    shape: float, years: float, a: int, b: int, t: float, u: float
) -> None:
    twice = GammaRate(shape, years).updated(a, t).updated(b, u)
    once = GammaRate(shape, years).updated(a + b, t + u)
    assert twice.shape == pytest.approx(once.shape)
    assert twice.pack_years == pytest.approx(once.pack_years)


def test_nothing_seen_changes_nothing() -> None:
    assert GammaRate(1.5, 50.0).updated(0.0, 0.0) == GammaRate(1.5, 50.0)


@pytest.mark.parametrize(("shape", "years"), [(0.0, 1.0), (1.0, -1.0), (float("nan"), 1.0)])
def test_no_distribution(shape: float, years: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        GammaRate(shape, years)


def test_classes_by_price_per_kwh_among_the_same_chemistry() -> None:
    row = [
        candidate("a", price=200.0),
        candidate("b", price=300.0),
        candidate("c", price=310.0),
        candidate("d", price=600.0),
        candidate("e", price=900.0, capacity_ah=300.0),
        candidate("lead alone", price=50.0, chemistry="agm"),
    ]
    found = price_classes(row, USUAL)
    # others' medians per kWh: a 305, b 305, c 300, d 300, e 305
    assert found == {
        "a": "cheap",
        "b": "middling",
        "c": "middling",
        "d": "premium",
        "e": "middling",
        "lead alone": "middling",
    }


@pytest.mark.parametrize(
    ("price", "price_class"),
    [(239.0, "cheap"), (240.0, "middling"), (375.0, "middling"), (376.0, "premium")],
)
def test_a_price_is_held_against_the_others_and_not_its_own(price: float, price_class: str) -> None:
    """The other costs 300 a kWh: cheap below 240 (0.8 times), premium above 375 (1.25 times)."""
    found = price_classes([candidate("a", price=price), candidate("b", price=300.0)], USUAL)
    assert found["a"] == price_class


def test_a_stated_rate_takes_the_place_of_all_evidence_of_that_model_alone() -> None:
    stated = ReliabilityAssumptions.model_validate(
        {"stated_rates": [{"candidate": "Fell", "rate_per_pack_year": 0.07}]}
    )
    seen = [report(failures=3), report(candidate="Other", failures=3)]
    known = explain(candidate(), "cheap", reports=seen, assumptions=stated)
    assert known.posterior.mean == pytest.approx(0.07)
    assert known.posterior.spread < 0.01
    assert known.prior.mean == pytest.approx(0.03)  # cheap lithium, before anything was seen
    other = explain(candidate("Other"), "cheap", reports=seen, assumptions=stated)
    assert other == explain(candidate("Other"), "cheap", reports=seen, assumptions=USUAL)


def test_a_stated_class_overrules_the_price() -> None:
    stated = ReliabilityAssumptions(
        stated_classes=(StatedClass(candidate="a", price_class="premium"),)
    )
    assert price_classes([candidate("a"), candidate("b")], stated)["a"] == "premium"


def test_class_prior_has_the_stated_mean_and_firmness() -> None:
    prior = class_prior("cheap", "lithium", USUAL)
    row = USUAL.priors[0]
    assert prior.mean == pytest.approx(row.rate_per_pack_year)
    assert prior.spread == pytest.approx(row.prior_failures**-0.5)
    with pytest.raises(ValueError, match="no prior"):
        class_prior("cheap", "plutonium", USUAL)


def test_marks_multiply_the_prior_and_keep_its_spread() -> None:
    marks = [
        ConstructionMark(candidate="Fell", part="cell restraint", mark="poor"),
        ConstructionMark(candidate="Fell", part="connections", mark="good"),
        ConstructionMark(candidate="Fell", part="board cooling", mark="not seen"),
        ConstructionMark(candidate="Other", part="conductor size", mark="poor"),
    ]
    plain = explain(candidate(), "cheap", assumptions=USUAL)
    marked = explain(candidate(), "cheap", marks=marks, assumptions=USUAL)
    assert marked.prior.mean == pytest.approx(plain.prior.mean * 1.5 * 0.8)
    assert marked.prior.spread == pytest.approx(plain.prior.spread)
    assert [row.factor for row in marked.rows if row.step == "mark"] == [1.5, 0.8, 1.0]


def test_a_report_warns_where_its_rate_is_above_the_prior_with_its_marks() -> None:
    """Half of 24 months watched, a rate of 0.1, a prior of 0.03 x 1.7: 0.5 + 0.5 (1 - 0.51)."""
    known = explain(
        candidate(),
        "cheap",
        reports=[report(months=12.0, failures=1)],
        marks=[ConstructionMark(candidate="Fell", part="connections", mark="poor")],
        assumptions=USUAL,
    )
    assert known.rows[2].weight == pytest.approx(0.745)
    figures = known.figures()
    assert figures["class_prior"] == pytest.approx(0.03)
    assert figures["prior"] == pytest.approx(0.051)


def test_the_story_has_every_step_and_ends_at_the_posterior() -> None:
    known = explain(
        candidate(),
        "middling",
        reports=[
            report(failures=1, source="our own boats"),
            report(quality="owner report", units=3),
            report(candidate="Other", failures=9),
        ],
        assumptions=USUAL,
    )
    assert [row.step for row in known.rows] == ["class", "report", "report", "posterior"]
    assert known.rows[1].what == "own: our own boats"
    assert known.rows[1].pack_years == pytest.approx(20.0)
    # 10 units for 2 years in full, 3 at 0.4: by hand, prior 1.5 failures at 0.018
    shape, years = 1.5 + 1.0, 1.5 / 0.018 + 20.0 + 0.4 * 6.0
    assert known.posterior.shape == pytest.approx(shape)
    assert known.posterior.pack_years == pytest.approx(years)
    assert known.rows[-1].mean == pytest.approx(shape / years)
    figures = known.figures()
    assert set(figures) == {"class_prior", "prior", "posterior", "p10", "p90"}
    assert figures["p10"] < figures["posterior"] < figures["p90"]


def test_without_evidence_the_posterior_is_the_prior() -> None:
    known = explain(candidate(), "cheap", assumptions=USUAL)
    assert known.posterior == known.prior


def test_a_young_product_stays_uncertain() -> None:
    """The same pack-years without a failure: seen for three months, or for three years."""
    young = explain(
        candidate(), "cheap", reports=[report(units=480, months=3.0)], assumptions=USUAL
    )
    old = explain(candidate(), "cheap", reports=[report(units=40, months=36.0)], assumptions=USUAL)
    assert young.rows[1].pack_years == pytest.approx(old.rows[1].pack_years)
    assert young.posterior.mean > 1.5 * old.posterior.mean
    assert young.figures()["p90"] > 1.5 * old.figures()["p90"]


def test_early_failures_warn_at_any_age() -> None:
    quiet = explain(candidate(), "premium", reports=[report(months=2.0)], assumptions=USUAL)
    dead_on_arrival = explain(
        candidate(), "premium", reports=[report(months=0.0, failures=2)], assumptions=USUAL
    )
    assert quiet.rows[1].weight == pytest.approx(2.0 / 24.0)
    assert dead_on_arrival.rows[1].weight == 1.0
    assert dead_on_arrival.posterior.mean > 2.0 * dead_on_arrival.prior.mean


def test_a_poor_source_cannot_decide() -> None:
    """A maker who claims 50 000 years without a failure counts as 15 pack-years, whatever."""
    claim = report(quality="maker's claim", units=25_000)
    known = explain(candidate(), "cheap", reports=[claim, claim], assumptions=USUAL)
    gained = known.posterior.pack_years - known.prior.pack_years
    assert gained == pytest.approx(15.0)
    own = explain(candidate(), "cheap", reports=[report(units=25_000)], assumptions=USUAL)
    assert own.posterior.mean < 0.01 * known.posterior.mean


def test_a_ceiling_is_that_of_one_quality_alone() -> None:
    """What is known first-hand takes nothing from what others tell, nor the other way."""
    told = [
        report(units=500),  # 1000 pack-years in full, without a ceiling
        report(quality="maker's claim", units=50),  # 100 at 0.1: 10, below the ceiling of 15
        report(quality="owner report", units=500),  # 1000 at 0.4: 400, cut to 150
    ]
    assert report_weights(told, USUAL, prior_mean=0.02) == pytest.approx([1.0, 0.1, 0.15])


@settings(deadline=None)
@given(
    units=st.integers(1, 2000),
    months=st.floats(0.1, 120.0),
    failures=st.integers(0, 50),
    quality=st.sampled_from([row.quality for row in USUAL.weights]),
)
def test_one_more_failure_never_reassures(
    units: int, months: float, failures: int, quality: str
) -> None:
    fewer, more = (
        explain(
            candidate(),
            "middling",
            reports=[report(units=units, months=months, failures=n, quality=quality)],
            assumptions=USUAL,
        ).posterior.mean
        for n in (failures, failures + 1)
    )
    assert more >= fewer * (1 - 1e-12)


@given(
    st.lists(
        st.builds(
            report,
            units=st.integers(0, 1000),
            months=st.floats(0.0, 60.0),
            quality=st.sampled_from([row.quality for row in USUAL.weights]),
        ),
        max_size=5,
    )
)
def test_weights_are_shares_and_keep_the_ceiling(reports: list[FieldReport]) -> None:
    weights = report_weights(reports, USUAL, prior_mean=0.02)
    assert all(0.0 <= weight <= 1.0 for weight in weights)
    for row in USUAL.weights:
        worth = sum(
            w * r.units * r.months / 12.0
            for w, r in zip(weights, reports, strict=True)
            if r.quality == row.quality
        )
        assert row.most_pack_years is None or worth <= row.most_pack_years * (1 + 1e-9)


def test_pack_years_by_shape() -> None:
    assert exposure_pack_years(10, 18.0) == pytest.approx(15.0)
    # wear-out (shape 2): one year of ten is worth a hundredth of the ten years' hazard
    assert exposure_pack_years(1, 12.0, shape=2.0, reference_years=10.0) == pytest.approx(0.1)
    assert exposure_pack_years(1, 120.0, shape=2.0, reference_years=10.0) == pytest.approx(10.0)


@given(rate=st.floats(1e-4, 1.0), shape=st.floats(0.5, 5.0), years=st.floats(0.1, 30.0))
def test_scale_and_pack_years_speak_of_the_same_hazard(
    rate: float, shape: float, years: float
) -> None:
    scale = weibull_scale_years(rate, shape=shape, reference_years=10.0)
    by_rate = rate * exposure_pack_years(1, 12.0 * years, shape=shape, reference_years=10.0)
    assert cumulative_hazard(years, scale=scale, shape=shape) == pytest.approx(by_rate, rel=1e-9)


def test_wear_out_makes_short_watches_worth_less() -> None:
    means = [
        explain(
            candidate(),
            "cheap",
            reports=[report(units=50, months=24.0)],
            assumptions=EQUAL.model_copy(update={"weibull_shape": shape}),
        ).posterior.mean
        for shape in (1.0, 1.5, 2.5)
    ]
    assert means == sorted(means)


def test_draws_follow_the_posterior() -> None:
    known = GammaRate(2.5, 120.0)
    u = (np.arange(100_000) + 0.5) / 100_000
    rates = sample_rates(known, u)
    assert np.all(np.diff(rates) > 0.0)  # the same u, the same order: common random numbers
    assert float(np.mean(rates)) == pytest.approx(known.mean, rel=1e-4)
    assert float(np.quantile(rates, 0.9)) == pytest.approx(float(known.quantile(0.9)), rel=1e-4)
    assert sample_rates(known, 0.5) == known.quantile(0.5)


def test_batch_spread_widens_and_keeps_the_mean() -> None:
    rng = np.random.default_rng(3)
    u, batch_u = rng.uniform(size=(2, 200_000))
    known = GammaRate(400.0, 20_000.0)
    plain = sample_rates(known, u)
    spread = sample_rates(known, u, batch_u=batch_u, batch_spread=0.3)
    # standard error of the mean 0.3/sqrt(200000) = 7e-4; four of them
    assert float(np.mean(spread)) == pytest.approx(known.mean, rel=2.7e-3)
    variation = float(np.std(spread) / np.mean(spread))
    assert variation == pytest.approx((0.3**2 + 0.05**2 + (0.3 * 0.05) ** 2) ** 0.5, rel=0.01)
    assert float(np.std(plain) / np.mean(plain)) == pytest.approx(0.05, rel=0.01)
    np.testing.assert_array_equal(sample_rates(known, u, batch_u=batch_u), plain)


@pytest.mark.parametrize("u", [0.0, 1.0, -0.1, float("nan")])
def test_no_draw_from_outside(u: float) -> None:
    with pytest.raises(ValueError, match="ends excluded"):
        sample_rates(GammaRate(1.0, 1.0), u)
