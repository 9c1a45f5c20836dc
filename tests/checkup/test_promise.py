"""Corrections, the fit and its band, verdicts, dates, cells: properties and limits."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.case.capacity_models import CapacityTest
from tco.checkup.health_fit import (
    CORRECTION_SHARE,
    METER_SHARE,
    REPEAT_SHARE,
    Prior,
    correct,
    fit_health,
    line_fit,
    temperature_fraction,
)
from tco.checkup.promise import NEW_START, add_years, forecast_at, judge_promise
from tco.physics.chemistry import CHEMISTRIES

BOUGHT = date(2021, 3, 1)
LFP, AGM, NMC = CHEMISTRIES["lfp"], CHEMISTRIES["agm"], CHEMISTRIES["nmc"]


def capacity(days, health, *, degc=25.0, current=None, rated=100.0, cells=()):
    return CapacityTest(
        tested_on=BOUGHT + timedelta(days=days), measured_ah=rated * health, temperature_degc=degc,
        current_a=current, cell_voltages_v=cells,
    )  # fmt: skip


def course(days, *, start=1.0, fade=0.05, exponent=0.5):
    return [capacity(d, start - fade * (d / 365.25) ** exponent) for d in days]


def promise(tests, *, today=None, chemistry=LFP, **changes):
    settled = {"warranty_years": 5.0, "threshold": 0.8, **changes}
    last = max(test.tested_on for test in tests)
    return judge_promise(
        tests, chemistry=chemistry, rated_ah=100.0, bought=BOUGHT, today=today or last, **settled
    )


@given(
    start=st.floats(0.9, 1.1),
    fade=st.floats(0.01, 0.12),
    key=st.sampled_from(sorted(CHEMISTRIES)),
    days=st.lists(st.integers(0, 1500), min_size=3, max_size=9, unique=True),
)
@settings(max_examples=60, deadline=None)
def test_noiseless_log_gives_back_its_parameters(start, fade, key, days):
    if max(days) - min(days) < 60:
        days = [*days, max(days) + 300]
    exponent = {"lfp": 0.5, "lto": 0.5, "sodium-ion": 0.5, "nmc": 0.75}.get(key, 1.0)
    tests = course(days, start=start, fade=fade, exponent=exponent)
    fit = fit_health(tests, chemistry=CHEMISTRIES[key], rated_ah=100.0, bought=BOUGHT)
    assert fit.exponent == exponent
    assert fit.start == pytest.approx(start, abs=1e-7)
    assert fit.fade == pytest.approx(fade, abs=1e-7)
    assert fit.widened == 1.0


@given(
    degc=st.floats(-20.0, 40.0), colder=st.floats(0.5, 15.0), key=st.sampled_from(["lfp", "agm"])
)
@settings(max_examples=80, deadline=None)
def test_a_colder_reading_is_corrected_upward(degc, colder, key):
    at, below = (
        correct(capacity(0, 0.7, degc=t), chemistry=CHEMISTRIES[key], rated_ah=100.0)
        for t in (degc, degc - colder)
    )
    assert below.corrected_ah >= at.corrected_ah
    if degc <= 25.0:
        assert below.corrected_ah > at.corrected_ah
        assert below.corrected_ah > below.measured_ah
        assert below.uncertainty > at.uncertainty


@given(current=st.floats(0.1, 200.0), more=st.floats(1.01, 3.0))
@settings(max_examples=50, deadline=None)
def test_a_faster_discharge_of_lead_is_corrected_upward(current, more):
    slow, fast = (
        correct(capacity(0, 0.5, current=amps), chemistry=AGM, rated_ah=100.0).corrected_ah
        for amps in (current, current * more)
    )
    assert fast >= slow >= 50.0
    if current >= 5.0:
        assert fast > slow


def test_lithium_is_not_corrected_for_the_current_but_less_sure():
    slow = correct(capacity(0, 0.9, current=20.0), chemistry=LFP, rated_ah=100.0)
    fast = correct(capacity(0, 0.9, current=100.0), chemistry=LFP, rated_ah=100.0)
    assert slow.corrected_ah == fast.corrected_ah == pytest.approx(90.0)
    assert fast.spread > slow.spread


def test_standard_conditions_need_no_correction():
    found = correct(capacity(0, 0.93, current=5.0), chemistry=AGM, rated_ah=100.0)
    assert found.corrected_ah == found.measured_ah == pytest.approx(93.0)
    assert found.assumed == ()


def test_what_was_not_noted_is_said_and_widens():
    known = correct(capacity(0, 0.8, degc=20.0, current=5.0), chemistry=AGM, rated_ah=100.0)
    bare = correct(capacity(0, 0.8, degc=None), chemistry=AGM, rated_ah=100.0)
    assert len(bare.assumed) == 2
    assert bare.corrected_ah == known.corrected_ah
    assert bare.uncertainty > 2.0 * known.uncertainty


@pytest.mark.parametrize("key", ["agm", "gel", "flooded"])
def test_lead_correction_has_no_jump(key):
    degc = np.linspace(-25.0, 45.0, 1401)
    fraction = [temperature_fraction(t, chemistry=CHEMISTRIES[key]) for t in degc]
    assert np.max(np.abs(np.diff(fraction))) < 0.002  # steps of 0.05 K, at most 0.02 a K
    assert np.all(np.diff(fraction) >= 0.0)


@given(count=st.integers(1, 7), extra=st.integers(1, 4))
@settings(max_examples=30, deadline=None)
def test_more_tests_narrow_the_band(count, extra):
    days = [30 + 150 * i for i in range(count + extra)]
    today = BOUGHT + timedelta(days=1700)
    widths = []
    for some in (days[:count], days):
        found = promise(course(some), today=today, forecast_health=[0.95, 0.93])
        widths.append(found.health_today.high - found.health_today.low)
    assert widths[1] < widths[0]


def test_the_meter_s_own_error_does_not_average_away():
    """A hundred tests on a day without a prior: the band of their health is the meter's."""
    tests = [capacity(400, 1.0) for _ in range(100)]
    fit = fit_health(tests, chemistry=LFP, rated_ah=100.0, bought=BOUGHT, fade=Prior(0.05, 1e-9))
    low, high = fit.health(BOUGHT + timedelta(days=400), quantiles=(0.1, 0.9))
    assert high - low == pytest.approx(2.0 * 1.2816 * METER_SHARE, rel=0.05)


def test_band_is_the_normal_law_where_the_fade_is_certain_to_be_positive():
    fit = fit_health(course([10, 300, 700, 1100]), chemistry=LFP, rated_ah=100.0, bought=BOUGHT)
    day = BOUGHT + timedelta(days=1100)
    row = np.array([1.0, -(fit.years(day) ** 0.5)])
    sd = float(np.sqrt(row @ fit.covariance @ row))
    low, middle, high = fit.health(day)
    assert middle == pytest.approx(row @ [fit.start, fit.fade], abs=2e-4)
    assert [middle - low, high - middle] == pytest.approx([1.2816 * sd] * 2, rel=0.02)


def test_scatter_beyond_what_was_stated_widens_the_band():
    calm = course([10, 200, 400, 600, 800])
    wild = [
        capacity((t.tested_on - BOUGHT).days, t.measured_ah / 100.0 + 0.06 * (-1) ** i)
        for i, t in enumerate(calm)
    ]
    widths = []
    for tests in (calm, wild):
        fit = fit_health(tests, chemistry=LFP, rated_ah=100.0, bought=BOUGHT, start=NEW_START)
        low, _, high = fit.health(tests[-1].tested_on)
        widths.append(high - low)
    assert fit.widened > 2.0
    assert widths[1] > 1.5 * widths[0]


def test_tests_that_agree_with_each_other_and_not_with_the_label_do_not_scatter():
    """A pack that was never more than 80 % of its label: the tests win over the expectation."""
    fit = promise(course([20, 300, 600, 900], start=0.8, fade=0.05), warranty_years=8.0).fit
    assert fit.widened == 1.0
    assert fit.health(date(2023, 8, 18))[1] == pytest.approx(0.8 - 0.05 * 2.464**0.5, abs=0.03)
    same_day = [capacity(400, health) for health in (0.8, 0.9, 1.0)]
    assert promise(same_day).fit.widened > 5.0


def test_health_never_rises_even_if_the_tests_say_so():
    fit = fit_health(
        [capacity(10, 0.97), capacity(300, 0.99), capacity(700, 1.01)],
        chemistry=NMC, rated_ah=100.0, bought=BOUGHT,
    )  # fmt: skip
    assert fit.fade < 0.0
    medians = [fit.health(BOUGHT + timedelta(days=d))[1] for d in (0, 500, 3000)]
    assert medians == sorted(medians, reverse=True)


def test_few_tests_without_a_prior_are_refused():
    with pytest.raises(ValueError, match="cannot tell start from fading"):
        fit_health(course([100]), chemistry=LFP, rated_ah=100.0, bought=BOUGHT)
    with pytest.raises(ValueError, match="cannot tell start from fading"):
        line_fit([[1.0, 2.0], [1.0, 2.0]], [1, 2], covariance=np.eye(2), priors=(None, None))
    with pytest.raises(ValueError, match="no test"):
        fit_health([], chemistry=LFP, rated_ah=100.0, bought=BOUGHT)
    with pytest.raises(ValueError, match="before the purchase"):
        fit_health([capacity(-1, 1.0)], chemistry=LFP, rated_ah=100.0, bought=BOUGHT)
    with pytest.raises(ValueError, match="rated_ah"):
        correct(capacity(0, 1.0), chemistry=LFP, rated_ah=0.0)


def test_one_test_leaves_the_expectation_in_charge():
    found = promise([capacity(20, 0.984)], forecast_health=[0.93, 0.90, 0.88])
    assert found.fit.learnt < 0.1
    assert found.health_at_end is not None
    assert found.health_at_end.middle == pytest.approx(1.0 - 0.0699 * 5**0.5, abs=0.01)
    many = promise(course([20, 300, 600, 900, 1200]), forecast_health=[0.93, 0.90, 0.88])
    assert many.fit.learnt > 0.7


@pytest.mark.parametrize(
    ("fade", "verdict"), [(0.02, "kept"), (0.0894, "doubtful"), (0.16, "broken")]
)
def test_verdict(fade, verdict):
    """With z 0.5 a fade of 0.0894 reaches 0.8 in five years: sqrt(5) x 0.0894 = 0.2."""
    assert promise(course([20, 300, 600, 900, 1200], fade=fade)).verdict == verdict


def test_probability_and_crossing_agree():
    found = promise(course([20, 300, 600, 900, 1200], fade=0.0894))
    assert found.probability_broken == pytest.approx(0.5, abs=0.03)
    early, median, late = found.crossing
    assert early is not None
    assert median is not None
    assert found.warranty_end is not None
    assert abs((median - found.warranty_end).days) < 60
    assert early < median
    assert late is None or late > median
    assert found.fit.probability_below(0.8, early) == pytest.approx(0.1, abs=0.005)
    assert found.fit.probability_below(0.8, median) == pytest.approx(0.5, abs=0.005)


def test_last_day_to_claim_and_the_claim():
    tests = course([20, 300, 600], fade=0.17)
    found = promise(tests, today=date(2024, 3, 1))
    assert found.warranty_end == date(2026, 3, 1)
    assert found.last_claim_day == date(2026, 1, 30)
    assert found.claim == "claim now"
    milder = course([20, 300, 600], fade=0.12)
    assert promise(milder, today=date(2022, 11, 1)).claim == "test before it lapses"
    assert promise(tests, today=date(2026, 3, 1)).claim == "claim now"
    assert promise(tests, today=date(2026, 3, 2)).claim == "lapsed"
    assert promise(course([20, 300, 600], fade=0.02)).claim == "not due"
    bare = promise(tests, warranty_years=0.0)
    assert (bare.claim, bare.verdict, bare.last_claim_day) == ("no warranty", "no promise", None)


@pytest.mark.parametrize(
    ("fade", "claim"), [(0.162, "claim now"), (0.150, "test before it lapses")]
)
def test_a_claim_is_due_from_an_even_chance(fade, claim):
    """0.8 is reached after (0.2 / 0.16)**2 = 1.56 years, day 571."""
    found = promise(course([20, 200, 400, 571], fade=fade), forecast_health=[0.84, 0.774])
    assert 0.05 < found.probability_below_today < 0.95
    assert found.claim == claim


def test_next_test_comes_before_the_last_day_to_claim():
    found = promise(course([20, 300, 1600]), today=BOUGHT + timedelta(days=1601))
    assert found.last_claim_day is not None
    assert found.today <= found.next_test <= found.last_claim_day - timedelta(days=30)
    early = promise(course([20, 300]))
    assert early.next_test == add_years(early.fit.tests[-1].tested_on, 1)


def test_a_cell_that_stands_out_brings_the_next_test_forward():
    """The battery is 300 days old; three months later, not a year, it should be looked at."""
    calm, odd = (
        promise([capacity(20, 1.0), capacity(300, 0.97, cells=(3.33, 3.33, 3.33 - gap))])
        for gap in (0.01, 0.06)
    )
    assert calm.next_test == add_years(calm.fit.tests[-1].tested_on, 1)
    assert odd.next_test == add_years(odd.fit.tests[-1].tested_on, 0.25)


@given(
    day=st.dates(date(1950, 1, 1), date(2100, 12, 31)),
    months=st.integers(0, 240),
    more=st.integers(1, 24),
)
def test_years_are_added_by_the_calendar(day, months, more):
    end, later = add_years(day, months / 12.0), add_years(day, (months + more) / 12.0)
    assert day <= end < later
    assert (end.year - day.year) * 12 + end.month - day.month == months
    assert end.day == day.day or (end + timedelta(days=1)).day == 1


def test_years_out_of_range():
    for years in (-0.1, float("nan"), 8000.0):
        with pytest.raises(ValueError, match="years"):
            add_years(BOUGHT, years)


def test_forecast_between_and_beyond_its_years():
    assert forecast_at([0.93, 0.90], 1.0, exponent=0.5) == pytest.approx(0.93)
    assert forecast_at([0.93, 0.90], 0.25, exponent=0.5) == pytest.approx(0.965)
    assert forecast_at([0.93, 0.90], 2.01, exponent=0.5) is None


def test_refusals():
    tests = course([20, 300])
    with pytest.raises(ValueError, match="after today"):
        promise(tests, today=BOUGHT + timedelta(days=100))
    with pytest.raises(ValueError, match="before the purchase"):
        promise(tests, today=BOUGHT - timedelta(days=1))
    with pytest.raises(ValueError, match="threshold"):
        promise(tests, threshold=1.0)
    with pytest.raises(ValueError, match="negative"):
        promise(tests, warranty_years=-1.0)
    with pytest.raises(ValueError, match="forecast_health"):
        promise(tests, forecast_health=[])


def test_the_80_percent_band_holds_the_truth_in_80_percent_of_simulated_banks():
    """Banks and errors drawn as stated: priors, one meter each, one temperature curve, repetition.

    400 banks: the share inside has a standard error of 2 %; 6 % is three of them.
    """
    rng = np.random.default_rng(20240420)
    days, end, expected = (30, 250, 500, 800), 1826, 0.08
    fraction = temperature_fraction(15.0, chemistry=LFP)
    inside, below = 0, []
    for _ in range(400):
        start = rng.normal(NEW_START.mean, NEW_START.spread)
        fade = rng.normal(expected, 0.2 * expected)
        meter = 1.0 + rng.normal(0.0, METER_SHARE)
        curve = 1.0 + CORRECTION_SHARE * (1.0 / fraction - 1.0) * rng.normal()
        tests = [
            capacity(
                d,
                ((start - fade * (d / 365.25) ** 0.5) * meter * curve
                 + rng.normal(0.0, REPEAT_SHARE)) * fraction,
                degc=15.0, current=20.0,
            )
            for d in days
        ]  # fmt: skip
        fit = fit_health(
            tests, chemistry=LFP, rated_ah=100.0, bought=BOUGHT,
            start=NEW_START, fade=Prior(expected, 0.2 * expected),
        )  # fmt: skip
        day = BOUGHT + timedelta(days=end)
        truth = start - fade * fit.years(day) ** 0.5
        low, _, high = fit.health(day)
        inside += low <= truth <= high
        below.append(truth < low)
    assert inside / 400 == pytest.approx(0.8, abs=0.06)
    assert np.mean(below) == pytest.approx(0.1, abs=0.045)
