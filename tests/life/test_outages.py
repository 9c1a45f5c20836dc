"""Outages: known ones are found, by hour, day, month and year; sums are those of the year."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case, specify
from tco.case.weather_file import climate_values, read_weather_file
from tco.life.conditions import Conditions, conditions
from tco.life.outages import Moment, many_years, moment, one_in, outages, runs, too_few_years
from tco.life.year import year_profiles
from tco.physics.weather import MONTH_LENGTHS
from tests.conftest import build_plain_case

PlainCase = Callable[..., Case]
HEAVY = {"power_w": 90.0}


def bank_of(case: Case, parallel: int = 1, ohm: float = 0.001) -> Bank:
    return Bank(Arrangement(specify(case.candidates[0]), 1, parallel), ohm=ohm)


def steady(
    case: Case, years: int, *, essential_w: float = 10.0, other_w: float = 0.0
) -> Conditions:
    """Enough sun for a steady load at every hour, and nothing unusual."""
    assumptions = case.assumptions.model_copy(update={"weather_years": years})
    made = conditions(case.model_copy(update={"assumptions": assumptions}), energy_budget(case))
    size = 8760 * years
    return replace(
        made,
        essential_w=np.full(size, essential_w),
        other_w=np.full(size, other_w),
        solar_w=np.full(size, 200.0),
        space_degc=np.full(size, 20.0),
    )


def strong_demand(
    made: Conditions, hours: dict[int, float], name: str = "essential_w"
) -> Conditions:
    """Loads no bank of 100 A can carry, in some hours."""
    load = getattr(made, name).copy()
    for hour, watts in hours.items():
        load[hour] = watts
    return replace(made, **{name: load})


def day_of_year(when: Moment) -> int:
    return int(MONTH_LENGTHS[: when.month - 1].sum()) + when.day - 1


def test_known_outages_are_found_with_their_dates(plain_case: PlainCase) -> None:
    case = plain_case()
    second = 8760
    # in year 1: 3 February 23 h to 4 February 1 h; in year 2: 31 December, noon
    hours = {(31 + 2) * 24 + 23: 5000.0, (31 + 3) * 24: 5000.0, second + 364 * 24 + 12: 5000.0}
    made = strong_demand(steady(case, 2), hours)
    got = outages(case, bank_of(case), made)
    assert [outage.start for outage in got.outages] == [Moment(1, 2, 3, 23), Moment(2, 12, 31, 12)]
    assert [outage.hours for outage in got.outages] == [2, 1]
    assert all(outage.essential for outage in got.outages)
    assert got.essential == got.outages
    # 200 Wh of sun, and of 1280 Wh 90 % of depth x 96 % at 20 degC = 1106 Wh from the bank: 77 A
    # at the 14.4 V of a full one, of which 11 milliohm take 0.85 V
    assert got.outages[1].essential_kwh == pytest.approx(
        5.0 - 0.2 - 1.106 * (1 - 0.85 / 14.4), abs=0.03
    )
    assert got.longest_run_days == 2
    assert got.share_of_years == 1.0
    assert got.share_of_years_by_month == pytest.approx([0, 0.5, *[0] * 9, 0.5])
    # each hour for the share missing of its 5 kWh
    assert got.hours_by_month == pytest.approx(got.kwh_by_month / 5.0)
    assert got.hours_without_power == pytest.approx(got.essential_kwh_per_year / 5.0)


def test_other_loads_go_short_first(plain_case: PlainCase) -> None:
    case = plain_case()
    made = strong_demand(steady(case, 1), {1000: 5000.0}, "other_w")
    got = outages(case, bank_of(case), made)
    assert [outage.essential for outage in got.outages] == [False]
    assert got.essential == ()
    assert got.outages[0].other_kwh > 3.0
    assert got.outages[0].essential_kwh == got.essential_kwh_per_year == 0.0
    assert got.share_of_years == 0.0
    assert got.longest_run_days == 0


def test_one_year_in_five(plain_case: PlainCase) -> None:
    case = plain_case()
    made = strong_demand(steady(case, 5), {8760 * 3 + 100: 5000.0})
    got = outages(case, bank_of(case), made)
    assert got.share_of_years == pytest.approx(0.2)
    assert one_in(got.share_of_years) == "in 1 year of 5"
    assert one_in(0.0) == "in no year"
    assert one_in(1.0) == "in every year"
    assert one_in(0.7) == "in 7 years of 10"
    for dark in range(1, 20):  # never rounded: 19 of 20 is not 10 of 10, 9 of 20 not 1 of 2
        words = one_in(dark / 20.0)
        number, of = (int(word) for word in words.split() if word.isdecimal())
        assert number * 20 == dark * of
        assert words == f"in {number} year{'s' * (number > 1)} of {of}"


def test_the_sums_are_those_of_the_year_profiles(plain_case: PlainCase) -> None:
    case = plain_case(load=HEAVY, assumptions={"weather_years": 3})
    made = conditions(case, energy_budget(case))
    totals = year_profiles([bank_of(case)], made, case.assumptions).totals
    for level, health in ((0, 1.0), (-1, case.assumptions.end_of_life_health)):
        got = outages(case, bank_of(case), made, health=health)
        of_year = {name: float(values[0, level]) for name, values in totals.items()}
        assert of_year["hours_without_power"] > 10
        assert got.hours_without_power == pytest.approx(of_year["hours_without_power"])
        assert got.essential_kwh_per_year == pytest.approx(of_year["unserved_essential_wh"] / 1e3)
        kwh = got.essential_kwh_per_year + got.other_kwh_per_year
        assert kwh == pytest.approx(of_year["unserved_wh"] / 1e3)
        assert sum(o.hours_without_power for o in got.outages) / 3 == pytest.approx(
            of_year["hours_without_power"]
        )
        assert got.hours_by_month.sum() == pytest.approx(got.hours_without_power)
        assert got.kwh_by_month.sum() == pytest.approx(got.essential_kwh_per_year)
        assert np.all(got.share_of_years_by_month <= got.share_of_years)
        starts = [outage.start_hour for outage in got.outages]
        assert starts == sorted(starts)


def test_the_worst_fortnight_is_the_dull_one(plain_case: PlainCase) -> None:
    case = plain_case()
    made = steady(case, 3)
    day = 365 + 100  # 11 April of the second year
    sun = made.solar_w.copy()
    sun[24 * day : 24 * (day + 14)] = 4.0
    got = outages(case, bank_of(case), replace(made, solar_w=sun)).worst_fortnight
    # charge falls from the first dull day on: the window with the lowest mean begins a little later
    assert got.first.year == got.last.year == 2
    assert 100 <= day_of_year(got.first) <= 105
    assert got.usual_solar_kwh_per_day == pytest.approx(4.8)
    assert got.solar_kwh_per_day < 0.5 * 4.8
    assert got.lowest_charge < 0.2


def test_missing_energy_makes_a_fortnight_worse_than_a_low_charge(plain_case: PlainCase) -> None:
    case = plain_case()
    made = strong_demand(steady(case, 1), {24 * 200 + 3: 5000.0})
    sun = made.solar_w.copy()
    sun[24 * 100 : 24 * 103] = 0.0  # lower, but served
    got = outages(case, bank_of(case), replace(made, solar_w=sun)).worst_fortnight
    assert got.essential_kwh > 3.0
    assert day_of_year(got.first) <= 200 <= day_of_year(got.last)
    assert got.usual_solar_kwh_per_day is None


LAID_UP_DAYS = slice(24 * 305, 24 * 365)  # November and December


def laid_up_in_winter(made: Conditions) -> Conditions:
    laid_up = np.zeros(made.month.size, dtype=bool)
    laid_up[LAID_UP_DAYS] = True
    return replace(made, laid_up=laid_up, storage_charge=0.3)


def test_a_fortnight_laid_up_is_not_the_worst(plain_case: PlainCase) -> None:
    """At 30 % in store, lower than ever in use; and a dull fortnight in use."""
    case = plain_case()
    made = laid_up_in_winter(steady(case, 1))
    sun = made.solar_w.copy()
    sun[24 * 100 : 24 * 103] = 0.0
    made = replace(made, solar_w=sun)
    got = outages(case, bank_of(case), made).worst_fortnight
    assert day_of_year(got.first) <= 102 <= day_of_year(got.last) + 1
    assert day_of_year(got.last) < 305
    assert got.mean_charge > 0.4
    # what goes dark in use counts before more that does laid up
    both = strong_demand(made, {24 * 200: 2000.0, 24 * 330: 5000.0})
    in_use = outages(case, bank_of(case), both).worst_fortnight
    assert day_of_year(in_use.first) <= 200 <= day_of_year(in_use.last)


def test_a_bank_that_comes_back_from_its_storage_charge_is_not_the_hardest_fortnight(
    plain_case: PlainCase,
) -> None:
    """Stored at 30 % until the end of January, then filled slowly; the dull days come later."""
    case = plain_case()
    made = steady(case, 1)
    laid_up = np.zeros(made.month.size, dtype=bool)
    laid_up[: 24 * 31] = True
    sun = np.full(made.solar_w.size, 20.0)  # 10 W over the load: five days to fill 1280 Wh
    sun[24 * 200 : 24 * 203] = 0.0
    made = replace(made, laid_up=laid_up, storage_charge=0.3, solar_w=sun)
    got = outages(case, bank_of(case), made).worst_fortnight
    assert day_of_year(got.first) <= 202 <= day_of_year(got.last)
    assert got.lowest_charge > 0.35  # lower charges were seen in February


def test_a_fortnight_laid_up_that_goes_dark_is_the_worst_where_none_in_use_does(
    plain_case: PlainCase,
) -> None:
    case = plain_case()
    made = strong_demand(laid_up_in_winter(steady(case, 1)), {24 * 330 + 3: 5000.0})
    got = outages(case, bank_of(case), made).worst_fortnight
    assert day_of_year(got.first) <= 330 <= day_of_year(got.last)
    assert got.essential_kwh > 3.0


def test_weather_years_of_their_own(plain_case: PlainCase) -> None:
    case = plain_case(assumptions={"weather_years": 2})
    own = conditions(case, energy_budget(case))
    many = many_years(case, years=4)
    assert many.years == 4
    assert not np.array_equal(many.solar_w[: own.solar_w.size], own.solar_w)
    assert np.array_equal(many.solar_w, many_years(case, years=4).solar_w)
    other = plain_case(assumptions={"weather_years": 2, "seed": 7})
    assert not np.array_equal(many.solar_w, many_years(other, years=4).solar_w)
    # long-run light is the site's
    assert many.solar_w.mean() == pytest.approx(own.solar_w.mean(), rel=0.05)
    for years in (0, 21):
        with pytest.raises(ValueError, match="years must be 1 to 20"):
            many_years(case, years=years)


def with_file(plain_case: PlainCase, **assumptions: int) -> Case:
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    climate = climate_values(read_weather_file(path)) | {"weather_file": str(path)}
    return plain_case(climate=climate, assumptions=assumptions)


def test_years_are_drawn_where_a_weather_file_has_few(plain_case: PlainCase) -> None:
    case = with_file(plain_case)
    own = conditions(case, energy_budget(case))
    assert own.years == 1  # the typical year, which ranks
    assert too_few_years(case) == 1
    assert too_few_years(plain_case()) is None
    many = many_years(case)
    assert many.years == 20
    # the file's months come back, give or take the part of the light that is diffuse
    by_month = [np.bincount(made.month, made.solar_w) / made.years for made in (own, many)]
    assert by_month[1] == pytest.approx(by_month[0], rel=0.05)
    degc = [np.bincount(m.month, m.space_degc) / np.bincount(m.month) for m in (own, many)]
    assert degc[1] == pytest.approx(degc[0], abs=0.1)
    # years differ, and it is the case's number that starts them
    assert many.solar_w.reshape(20, -1).sum(axis=1).std() > 0.0
    assert np.array_equal(many.solar_w, many_years(case).solar_w)
    other = many_years(with_file(plain_case, seed=7))
    assert not np.array_equal(many.solar_w, other.solar_w)


def test_a_weather_file_with_enough_years_brings_its_own(
    plain_case: PlainCase, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = with_file(plain_case)
    monkeypatch.setattr("tco.life.outages.ENOUGH_YEARS", 1)
    assert too_few_years(case) is None
    own = conditions(case, energy_budget(case))
    assert np.array_equal(many_years(case).solar_w, own.solar_w)


def test_many_years_differ_more_than_those_that_rank(plain_case: PlainCase) -> None:
    case = plain_case(assumptions={"weather_years": 20})
    many, own = many_years(case), conditions(case, energy_budget(case))
    spread = [made.solar_w.reshape(20, -1).sum(axis=1).std() for made in (many, own)]
    assert spread[0] > 1.2 * spread[1]
    assert many.solar_w.mean() == pytest.approx(own.solar_w.mean(), rel=0.01)


def test_a_larger_bank_has_no_more_outages(plain_case: PlainCase) -> None:
    case = plain_case(load=HEAVY)
    made = many_years(case, years=3)
    found = [outages(case, bank_of(case, n), made) for n in (1, 2, 4)]
    for small, large in pairwise(found):
        assert large.essential_kwh_per_year <= small.essential_kwh_per_year
        assert large.share_of_years <= small.share_of_years
    assert found[0].essential_kwh_per_year > found[-1].essential_kwh_per_year


def test_moments_and_runs() -> None:
    assert moment(0) == Moment(1, 1, 1, 0)
    assert moment(8759) == Moment(1, 12, 31, 23)
    assert moment(8760 + 59 * 24 + 5) == Moment(2, 3, 1, 5)
    assert list(runs(np.array([True, True, False, True]))) == [(0, 2), (3, 4)]
    assert list(runs(np.zeros(3, dtype=bool))) == []


def test_conditions_that_are_no_whole_years(plain_case: PlainCase) -> None:
    case = plain_case()
    made = steady(case, 1)
    with pytest.raises(ValueError, match="8760 hours for each"):
        outages(case, bank_of(case), replace(made, years=2))


@given(
    parallel=st.integers(1, 3),
    watts=st.floats(40.0, 150.0),
    sun=st.floats(0.3, 2.5),
)
@settings(max_examples=15, deadline=None)
def test_outages_cover_what_is_missing(parallel: int, watts: float, sun: float) -> None:
    """Any load, sun and bank: sums, order, gaps between outages, and nothing outside the years."""
    case = build_plain_case(load={"power_w": watts})
    made = conditions(case, energy_budget(case))
    made = replace(made, solar_w=made.solar_w * sun)
    got = outages(case, bank_of(case, parallel), made)
    hours = sum(outage.hours_without_power for outage in got.outages)
    assert got.hours_without_power == pytest.approx(hours, rel=1e-12)
    # what lacks less than a hundredth of the hour's load is missing energy but no outage
    wanted_kwh = float((made.essential_w + made.other_w).sum()) / 1000.0
    listed_kwh = sum(outage.essential_kwh for outage in got.outages)
    assert listed_kwh <= got.essential_kwh_per_year + 1e-9
    assert listed_kwh >= got.essential_kwh_per_year - 0.01 * wanted_kwh
    for earlier, later in pairwise(got.outages):
        assert earlier.start_hour + earlier.hours < later.start_hour
    for outage in got.outages:
        assert 1 <= outage.hours <= 8760 - outage.start_hour
        assert outage.hours_without_power <= outage.hours
        assert outage.start == moment(outage.start_hour)
    assert (got.share_of_years > 0) == (hours > 0) == (got.longest_run_days > 0)
    assert got.longest_run_days <= 365
    fortnight = got.worst_fortnight
    assert fortnight.essential_kwh <= got.essential_kwh_per_year + 1e-9
    assert fortnight.lowest_charge <= fortnight.mean_charge
    assert day_of_year(fortnight.last) - day_of_year(fortnight.first) == 13
    assert (fortnight.first.hour, fortnight.last.hour) == (0, 23)
