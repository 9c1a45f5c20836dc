"""Ageing tables: a datasheet's own conditions give the datasheet's cycles, and the rest follows."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tco.case import Case, Pack, specify
from tco.life.stress import CHARGE_GRID, DEPTH_GRID, TABLE_DEGC, Stress, stress_of
from tco.physics.ageing import naumann_calendar_loss
from tco.physics.chemistry import CHEMISTRIES
from tco.physics.cycles import cycle_sums

PlainCase = Callable[..., Case]
TEST_C_RATE = 0.5
"""Rate of the test behind a datasheet's cycles, as `tco.physics.anchoring` takes it."""


def pack_of(plain_case: PlainCase, chemistry: str, **stated: Any) -> Pack:
    volts = {"lfp": 12.8, "nmc": 14.6, "lto": 11.5}.get(chemistry, 12.0)
    candidate = {"chemistry": chemistry, "nominal_voltage_v": volts, "mass_kg": 40.0, **stated}
    return specify(plain_case(candidate=candidate).candidates[0])


def at_25(stress: Stress) -> float:
    return float(np.interp(25.0, TABLE_DEGC, stress.calendar))


def loss(stress: Stress, calendar: float, cycle: float) -> float:
    return float(stress.loss(np.array([calendar]), np.array([cycle]))[0])


def cycled(pack: Pack, stress: Stress, cycles: float) -> float:
    """Loss after cycles of the rated depth one upon another, counted as the kernel counts."""
    per_half, tested = 20, 50
    down = np.linspace(1.0, 1.0 - pack.rated_depth, per_half + 1)
    series = np.concatenate([np.concatenate([down, down[-2:0:-1]])] * tested + [down[:1]])
    _, weighted = cycle_sums(series, np.empty(series.size), stress.cycle)
    factor = stress.rate_slope * TEST_C_RATE + stress.rate_offset
    hours = cycles * 2.0 * pack.rated_depth / TEST_C_RATE
    return loss(stress, at_25(stress) * hours, weighted / tested * cycles * factor**2)


@pytest.mark.parametrize("credibility", [1.0, 0.6])
@pytest.mark.parametrize("calendar_years", [None, 6.0, 20.0])
@pytest.mark.parametrize("depth", [0.5, 0.8, 1.0])
@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_rated_cycles_reach_the_rated_end_of_life(
    plain_case: PlainCase, chemistry: str, depth: float, calendar_years: float, credibility: float
) -> None:
    pack = pack_of(
        plain_case,
        chemistry,
        rated_cycles=900.0,
        rated_depth=depth,
        end_of_life=0.75,
        calendar_life_years=calendar_years,
    )
    stress = stress_of(pack, credibility=credibility)
    # tables by depth every 0.01, read by straight lines: 0.5 %
    assert cycled(pack, stress, 900.0 * credibility) == pytest.approx(0.25, rel=0.005)


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_calendar_life_alone_reaches_the_rated_end_of_life(
    plain_case: PlainCase, chemistry: str
) -> None:
    # few cycles are rated, so that their share leaves the calendar claim standing
    pack = pack_of(
        plain_case, chemistry, rated_cycles=300.0, end_of_life=0.8, calendar_life_years=15.0
    )
    stress = stress_of(pack, credibility=1.0)
    assert loss(stress, at_25(stress) * 8760.0 * 15.0, 0.0) == pytest.approx(0.2, rel=1e-6)


def test_an_lfp_pack_without_claims_ages_as_published(plain_case: PlainCase) -> None:
    """Shape by temperature and charge: ratios of Naumann's losses, whatever the anchor."""
    stress = stress_of(pack_of(plain_case, "lfp"), credibility=0.8)
    base = float(naumann_calendar_loss(25.0, 0.5, 3.15e7))
    for degc, soc in ((40.0, 0.5), (25.0, 1.0), (10.0, 0.25), (55.0, 0.9)):
        ratio = float(naumann_calendar_loss(degc, soc, 3.15e7)) / base
        here = np.interp(degc, TABLE_DEGC, stress.calendar) * np.interp(
            soc, CHARGE_GRID, stress.storage
        )
        assert np.sqrt(here / at_25(stress)) == pytest.approx(ratio, rel=1e-6)


def test_cold_lfp_is_held_at_the_fitted_range(plain_case: PlainCase) -> None:
    stress = stress_of(pack_of(plain_case, "lfp"), credibility=0.8)
    frozen = stress.calendar[TABLE_DEGC <= 0.0]
    assert np.all(frozen == frozen[0])
    assert frozen[0] < at_25(stress)


@pytest.mark.parametrize("chemistry", ["agm", "gel", "flooded"])
def test_lead_acid_lives_half_as_long_each_8_degc_above_25(
    plain_case: PlainCase, chemistry: str
) -> None:
    stress = stress_of(pack_of(plain_case, chemistry), credibility=0.8)
    rate = dict(zip(TABLE_DEGC.tolist(), (stress.calendar / at_25(stress)).tolist(), strict=True))
    assert [rate[t] for t in (25.0, 33.0, 41.0)] == pytest.approx([1.0, 2.0, 4.0])
    assert rate[5.0] == rate[-20.0] == pytest.approx(1.0)  # no credit for cold


def test_shorter_takes_the_larger_loss_and_others_add(plain_case: PlainCase) -> None:
    lead = stress_of(pack_of(plain_case, "agm"), credibility=1.0)
    assert loss(lead, 0.05, 0.08) == pytest.approx(0.08)
    assert loss(lead, 0.09, 0.08) == pytest.approx(0.09)
    for key, z in {"lfp": 0.5, "sodium-ion": 0.5, "lto": 0.5, "nmc": 0.75}.items():
        made = stress_of(pack_of(plain_case, key), credibility=1.0)
        assert loss(made, 0.05 ** (1 / z), 0.08 ** (1 / z)) == pytest.approx(0.05 + 0.08)


def test_lead_acid_half_believed_lasts_half_as_long_by_either_limit(plain_case: PlainCase) -> None:
    pack = pack_of(plain_case, "agm")
    half, full = stress_of(pack, credibility=0.5), stress_of(pack, credibility=1.0)
    assert half.calendar == pytest.approx(2.0 * full.calendar)
    assert half.cycle == pytest.approx(2.0 * full.cycle)


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
@pytest.mark.parametrize("years", [False, True])
def test_the_same_law_quoted_to_another_health_is_the_same_pack(
    plain_case: PlainCase, chemistry: str, years: bool
) -> None:
    """Cycles (and years) to 90, 80 and 70 %: a loss goes with the power z of either, so that twice
    the loss takes 2^(1/z) as many."""
    z = CHEMISTRIES[chemistry].loss_exponent
    quoted = []
    for end in (0.9, 0.8, 0.7):
        longer = ((1.0 - end) / 0.2) ** (1.0 / z)
        claim = {"rated_cycles": 1000.0 * longer, "rated_depth": 0.8, "end_of_life": end}
        if years:
            claim["calendar_life_years"] = 14.0 * longer
        quoted.append(stress_of(pack_of(plain_case, chemistry, **claim), credibility=0.8))
    for one in quoted[1:]:
        np.testing.assert_allclose(one.calendar, quoted[0].calendar, rtol=1e-9)
        np.testing.assert_allclose(one.cycle, quoted[0].cycle, rtol=1e-9)


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_a_health_without_cycles_changes_nothing(plain_case: PlainCase, chemistry: str) -> None:
    """The usual cycles are those to the chemistry's own end, whatever end the sheet names."""
    plain, named = (
        stress_of(pack_of(plain_case, chemistry, **claim), credibility=0.8)
        for claim in ({}, {"end_of_life": 0.6})
    )
    np.testing.assert_allclose(named.calendar, plain.calendar, rtol=1e-12)
    np.testing.assert_allclose(named.cycle, plain.cycle, rtol=1e-12)


def test_lfp_of_which_no_years_are_claimed_ages_in_store_as_published(
    plain_case: PlainCase,
) -> None:
    """Naumann 2018: 1.2571e-5 x 0.60225 per root second at 25 degC and half charge, whatever share
    of the sheet's cycles is believed; 20 % are gone after 22.1 years, by hand."""
    for credibility in (0.5, 1.0):
        claim = {"rated_cycles": 6000.0, "end_of_life": 0.7}
        stress = stress_of(pack_of(plain_case, "lfp", **claim), credibility=credibility)
        year = 365.0 * 24.0
        published = 1.2571e-5 * 0.60225 * np.sqrt(3600.0 * year)
        assert loss(stress, at_25(stress) * year, 0.0) == pytest.approx(published, rel=1e-9)
        assert loss(stress, at_25(stress) * 22.13 * year, 0.0) == pytest.approx(0.2, rel=1e-3)


LITHIUM = ["lfp", "lto", "nmc", "sodium-ion"]


@pytest.mark.parametrize("chemistry", LITHIUM)
def test_cold_spares_none_more_than_the_one_that_was_tested(
    plain_case: PlainCase, chemistry: str
) -> None:
    """Naumann's cells, 0 to 60 degC: at 0 degC time runs exp(-2 x 17126/R x 0.000307) = 0.28."""
    stress = stress_of(pack_of(plain_case, chemistry), credibility=0.8)
    speed = stress.calendar / at_25(stress)
    tested = stress_of(pack_of(plain_case, "lfp"), credibility=0.8)
    cold = TABLE_DEGC < 25.0
    assert np.all(speed[cold] >= (tested.calendar / at_25(tested))[cold] - 1e-12)
    assert np.all(speed[cold] < 1.0)
    frozen = speed[TABLE_DEGC <= 0.0]
    assert np.all(frozen == frozen[0])
    assert frozen[0] >= 0.28
    # but heat is its own: none is spared what its own law says
    assert float(np.interp(45.0, TABLE_DEGC, speed)) > 2.0


def test_nmc_ages_faster_when_full_as_measured(plain_case: PlainCase) -> None:
    """Schmalstieg 2014: the rate goes with 7.543 V - 23.75, time with its power 4/3."""
    stress = stress_of(pack_of(plain_case, "nmc"), credibility=0.8)
    assert stress.exponent == 0.75
    # 3.96 V at 80 % charge, 3.70 V at half: (6.12028 / 4.1591)^(4/3) = 1.6737, by hand
    assert float(np.interp(0.8, CHARGE_GRID, stress.storage)) == pytest.approx(1.6737, abs=5e-4)
    lto = stress_of(pack_of(plain_case, "lto"), credibility=0.8)
    assert np.all(lto.storage == 1.0)


@pytest.mark.parametrize("degc", [0.0, 10.0, 25.0, 35.0])
@pytest.mark.parametrize("charge", [0.5, 0.8, 1.0])
def test_on_one_footing_defaults_differ_by_their_claims(
    plain_case: PlainCase, degc: float, charge: float
) -> None:
    """Years in store to 80 % with nothing known but the chemistry.

    LFP and NMC as published, 22 and 17 years at 25 degC and half charge; 12 usual for sodium-ion.
    The same charge leaves their order, and the same cold does not make one of them outlive the
    other three times over; heat is each one's own. Lithium titanate (15 years) does not mind being
    full.
    """
    years = {}
    for key in LITHIUM:
        stress = stress_of(pack_of(plain_case, key), credibility=1.0)
        speed = float(np.interp(degc, TABLE_DEGC, stress.calendar)) * float(
            np.interp(charge, CHARGE_GRID, stress.storage)
        )
        years[key] = 0.2 ** (1.0 / stress.exponent) / (speed * 8760.0)
    assert years["nmc"] < years["lfp"]
    assert years["sodium-ion"] < years["lfp"]
    if degc <= 25.0:
        assert years["lfp"] < 3.0 * min(years["nmc"], years["sodium-ion"])
    full = stress_of(pack_of(plain_case, "lto"), credibility=1.0).storage
    assert np.all(full == 1.0)


def test_nmc_of_which_no_years_are_claimed_ages_in_store_as_published(
    plain_case: PlainCase,
) -> None:
    """Schmalstieg 2014, constants from memory: (7.543 x 3.70 - 23.75) 1e6 exp(-6976 / 298.15) a day
    to the power 0.75, that is 2.868e-4; 20 % are gone after 6,185 days, by hand."""
    for credibility in (0.5, 1.0):
        stress = stress_of(pack_of(plain_case, "nmc"), credibility=credibility)
        rate = (7.543 * 3.70 - 23.75) * 1e6 * np.exp(-6976.0 / 298.15)
        for days in (10.0, 365.0, 5000.0):
            lost = loss(stress, at_25(stress) * 24.0 * days, 0.0)
            assert lost == pytest.approx(rate * days**0.75, rel=5e-3)  # years to one decimal


@pytest.mark.parametrize("chemistry", ["agm", "lfp", "nmc", "sodium-ion", "lto", "flooded"])
def test_deep_cycles_wear_more_than_shallow_ones_of_the_same_energy(
    plain_case: PlainCase, chemistry: str
) -> None:
    stress = stress_of(pack_of(plain_case, chemistry), credibility=1.0)
    deep, shallow = stress.cycle[90], stress.cycle[20]
    assert deep > 1.05 * shallow


@pytest.mark.parametrize("chemistry", ["agm", "lfp", "sodium-ion"])
@pytest.mark.parametrize("end_of_life", [0.0, 1.0])
def test_an_impossible_end_of_life_is_an_error(
    plain_case: PlainCase, chemistry: str, end_of_life: float
) -> None:
    pack = replace(pack_of(plain_case, chemistry), end_of_life=end_of_life)
    with pytest.raises(ValueError, match="end_of_life must be between 0 and 1"):
        stress_of(pack, credibility=0.8)


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_as_many_deeper_cycles_never_wear_less(plain_case: PlainCase, chemistry: str) -> None:
    """Stress of one cycle is depth x rate at that depth, and current only adds to it."""
    stress = stress_of(pack_of(plain_case, chemistry), credibility=0.8)
    of_cycle = DEPTH_GRID * stress.cycle
    assert np.all(np.diff(of_cycle) >= 0.0)
    assert of_cycle[-1] > of_cycle[10] > 0.0
    assert stress.rate_slope >= 0.0


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_warmer_never_ages_less_and_time_never_heals(plain_case: PlainCase, chemistry: str) -> None:
    stress = stress_of(pack_of(plain_case, chemistry), credibility=0.8)
    between = stress.calendar[(TABLE_DEGC >= -20.0) & (TABLE_DEGC <= 60.0)]
    assert np.all(np.diff(between) >= 0.0)
    assert np.all(stress.calendar > 0.0)
    assert np.all(stress.storage > 0.0)
