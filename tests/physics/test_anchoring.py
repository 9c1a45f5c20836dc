import math
from dataclasses import FrozenInstanceError

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tco.physics.ageing import SECONDS_PER_YEAR, naumann_calendar_loss, naumann_cycle_loss
from tco.physics.anchoring import anchor_naumann, anchor_power

CLAIM = {
    "rated_cycles": 4000.0,
    "rated_depth": 0.8,
    "end_of_life": 0.8,
    "calendar_life_years": 15.0,
}
LINEAR = {**CLAIM, "cycle_loss_per_cycle": 1e-4, "calendar_loss_per_year": 0.02}

claims = st.fixed_dictionaries(
    {
        "rated_cycles": st.floats(50.0, 20000.0),
        "rated_depth": st.floats(0.05, 1.0),
        "end_of_life": st.floats(0.5, 0.95),
        "calendar_life_years": st.none() | st.floats(1.0, 40.0),
        "credibility": st.floats(0.1, 1.5),
        "test_c_rate": st.floats(0.05, 3.0),
    }
)


def naumann_parts(anchor, claim, degc, soc):
    """Both scaled terms over the datasheet's test, written out again from the definition."""
    cycles = claim["rated_cycles"] * claim["credibility"]
    hours = cycles * 2.0 * claim["rated_depth"] / claim["test_c_rate"]
    calendar = anchor.calendar_scale * naumann_calendar_loss(degc, soc, hours * 3600.0)
    cycling = anchor.cycle_scale * naumann_cycle_loss(
        claim["test_c_rate"], claim["rated_depth"], cycles * claim["rated_depth"]
    )
    return calendar, cycling


@given(claims, st.floats(-10.0, 60.0), st.floats(0.0, 1.0))
def test_naumann_gives_the_datasheet_at_its_own_conditions(claim, degc, soc):
    anchor = anchor_naumann(**claim, test_temperature_degc=degc, calendar_soc=soc)
    calendar, cycling = naumann_parts(anchor, claim, degc, soc)
    loss = 1.0 - claim["end_of_life"]
    assert calendar + cycling == pytest.approx(loss, rel=1e-12)
    assert calendar > 0.0
    assert cycling >= 0.05 * loss * (1 - 1e-9)
    if claim["calendar_life_years"] is None:
        assert anchor.calendar_scale <= 1.0
        if cycling > 0.0501 * loss:
            assert anchor.calendar_scale == 1.0


@given(claims, st.floats(0.0, 1.0))
def test_naumann_keeps_the_calendar_life_unless_it_contradicts_the_cycles(claim, soc):
    assume(claim["calendar_life_years"] is not None)
    anchor = anchor_naumann(**claim, calendar_soc=soc)
    loss = 1.0 - claim["end_of_life"]
    believed = claim["calendar_life_years"] * claim["credibility"]
    in_life = anchor.calendar_scale * naumann_calendar_loss(25.0, soc, believed * SECONDS_PER_YEAR)
    calendar, cycling = naumann_parts(anchor, claim, 25.0, soc)
    if cycling > 0.0501 * loss:
        assert in_life == pytest.approx(loss, rel=1e-12)
    else:
        assert in_life <= loss * (1 + 1e-12)
        assert calendar <= 0.95 * loss * (1 + 1e-12)


def test_a_short_calendar_life_leaves_cycling_five_percent():
    # 4000 cycles of 0.8 at C/2 take 12800 h = 1.46 years; a calendar life of 1 year cannot hold
    claim = {**CLAIM, "calendar_life_years": 1.0, "credibility": 1.0, "test_c_rate": 0.5}
    calendar, cycling = naumann_parts(anchor_naumann(**claim), claim, 25.0, 0.5)
    assert calendar == pytest.approx(0.95 * 0.2, rel=1e-12)
    assert cycling == pytest.approx(0.05 * 0.2, rel=1e-12)


def test_the_share_of_time_by_hand():
    # sqrt law: calendar's share of the loss is sqrt(test time / calendar life)
    claim = {**CLAIM, "credibility": 1.0, "test_c_rate": 0.5}
    calendar, _ = naumann_parts(anchor_naumann(**claim), claim, 25.0, 0.5)
    assert calendar == pytest.approx(0.2 * math.sqrt(12800.0 / (15.0 * 8760.0)), rel=1e-12)


@given(
    claims, st.floats(1e-6, 1e-2), st.floats(1e-4, 0.2), st.floats(0.2, 5.0), st.floats(0.5, 1.0)
)
def test_powers_give_the_datasheet_at_its_own_conditions(claim, per_cycle, per_year, factor, z):
    anchor = anchor_power(
        **claim,
        cycle_loss_per_cycle=per_cycle,
        calendar_loss_per_year=per_year,
        test_calendar_factor=factor,
        exponent=z,
    )
    cycles = claim["rated_cycles"] * claim["credibility"]
    years = cycles * 2.0 * claim["rated_depth"] / claim["test_c_rate"] / 8760.0
    loss = 1.0 - claim["end_of_life"]
    cycling = anchor.cycle_scale * per_cycle * cycles**z
    assert anchor.calendar_scale * per_year * (factor * years) ** z + cycling == pytest.approx(
        loss, rel=1e-12
    )
    assert cycling >= 0.05 * loss * (1 - 1e-9)
    if claim["calendar_life_years"] is None:
        assert anchor.calendar_scale <= 1.0
        if cycling > 0.0501 * loss:
            assert anchor.calendar_scale == 1.0
    else:
        believed = claim["calendar_life_years"] * claim["credibility"]
        in_life = anchor.calendar_scale * per_year * believed**z
        if cycling > 0.0501 * loss:
            assert in_life == pytest.approx(loss, rel=1e-12)
        else:
            assert in_life <= loss * (1 + 1e-12)


def test_half_believed_is_the_same_as_half_claimed():
    """Of cycles and of years alike: a claim of years is no better than one of cycles."""
    half = {**CLAIM, "rated_cycles": 2000.0, "calendar_life_years": 7.5}
    assert anchor_naumann(**CLAIM, credibility=0.5) == anchor_naumann(**half)
    sure, doubtful = anchor_naumann(**CLAIM), anchor_naumann(**CLAIM, credibility=0.5)
    assert doubtful.calendar_scale > sure.calendar_scale
    assert doubtful.cycle_scale > sure.cycle_scale
    for z in (0.5, 0.75, 1.0):
        model = {"cycle_loss_per_cycle": 1e-4, "calendar_loss_per_year": 0.02, "exponent": z}
        got = anchor_power(**CLAIM, **model, credibility=0.5)
        assert got.calendar_scale == pytest.approx(anchor_power(**half, **model).calendar_scale)
        assert got.cycle_scale == pytest.approx(anchor_power(**half, **model).cycle_scale)


def test_without_a_calendar_claim_nothing_is_doubted_but_the_cycles():
    claim = {**CLAIM, "calendar_life_years": None}
    assert anchor_naumann(**claim, credibility=0.5).calendar_scale == 1.0


@pytest.mark.parametrize("anchor", [anchor_naumann, anchor_power])
@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("rated_cycles", 0.0),
        ("rated_cycles", -5.0),
        ("rated_cycles", math.nan),
        ("rated_depth", 0.0),
        ("rated_depth", 1.01),
        ("rated_depth", 80.0),
        ("end_of_life", 0.0),
        ("end_of_life", 1.0),
        ("end_of_life", math.nan),
        ("credibility", 0.0),
        ("credibility", -1.0),
        ("calendar_life_years", 0.0),
        ("test_c_rate", 0.0),
    ],
)
def test_bad_claims_are_named(anchor, name, value):
    claim = CLAIM if anchor is anchor_naumann else LINEAR
    with pytest.raises(ValueError, match=name):
        anchor(**{**claim, name: value})


@pytest.mark.parametrize(
    "name", ["cycle_loss_per_cycle", "calendar_loss_per_year", "test_calendar_factor", "exponent"]
)
def test_bad_linear_model(name):
    with pytest.raises(ValueError, match=name):
        anchor_power(**{**LINEAR, name: 0.0})


def test_bad_conditions_of_the_naumann_test():
    with pytest.raises(ValueError, match="calendar_soc"):
        anchor_naumann(**CLAIM, calendar_soc=1.2)
    with pytest.raises(ValueError, match="temperature_degc"):
        anchor_naumann(**CLAIM, test_temperature_degc=-400.0)


def test_an_anchor_cannot_be_changed():
    anchor = anchor_naumann(**CLAIM)
    with pytest.raises(FrozenInstanceError):
        anchor.cycle_scale = 2.0  # type: ignore[misc]
