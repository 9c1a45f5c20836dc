"""What a case's hours are made of: presence, sources by month, prices, weather."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from pydantic import ValidationError

from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.bank.choices import arrangements
from tco.case import Case
from tco.life.conditions import Conditions, conditions
from tco.life.year import year_profiles
from tco.physics.weather import MONTH_LENGTHS

PlainCase = Callable[..., Case]
NO_SUN = {"solar": []}
MONTH_OF_HOUR = np.repeat(np.arange(12), 24 * MONTH_LENGTHS)


def hourly(case: Case) -> Conditions:
    return conditions(case, energy_budget(case))


def by_day(values: Any) -> NDArray[Any]:
    return np.asarray(values).reshape(-1, 24)


def by_month(values: Any) -> list[Any]:
    """Values of the first year, month by month, shape (days, 24)."""
    return np.split(by_day(values)[:365], np.cumsum(MONTH_LENGTHS)[:-1])


AWAY = (0.0, 3.0, 10.0, 15.0, 7.0, 30.0, 31.0, 1.0, 29.0, 8.0, 4.0, 12.0)


@pytest.mark.parametrize("pattern", ["each week", "one block"])
def test_days_away_are_counted_exactly(plain_case: PlainCase, pattern: str) -> None:
    case = plain_case(use={"days_away_per_month": AWAY, "away_pattern": pattern})
    load = by_month(hourly(case).essential_w)
    here = [int((month.sum(axis=1) > 0).sum()) for month in load]
    assert here == [int(length - away) for length, away in zip(MONTH_LENGTHS, AWAY, strict=True)]


def test_a_block_of_days_away_ends_the_month(plain_case: PlainCase) -> None:
    case = plain_case(use={"days_away_per_month": 10.0, "away_pattern": "one block"})
    for month in by_month(hourly(case).essential_w):
        there = month.sum(axis=1) > 0
        assert there[: len(there) - 10].all()
        assert not there[len(there) - 10 :].any()


def test_each_week_has_its_share_of_days_away(plain_case: PlainCase) -> None:
    case = plain_case(use={"days_away_per_month": 15.5, "away_pattern": "each week"})
    january = by_month(hourly(case).essential_w)[0].sum(axis=1) > 0
    weeks = [january[first : first + 7] for first in range(0, 28, 7)]
    assert [int(week.sum()) for week in weeks] == pytest.approx([3.5] * 4, abs=0.5)
    for week in weeks:  # the last days of each week
        assert np.all(np.diff(week.astype(int)) >= 0)


def test_when_nobody_is_there_only_unattended_loads_run(plain_case: PlainCase) -> None:
    loads = [
        {"name": "lamp", "power_w": 20.0, "hours_per_day": 5.0, "when": "17-22"},
        {
            "name": "radio",
            "power_w": 10.0,
            "hours_per_day": 2.0,
            "when": "8-10",
            "essential": False,
        },
        {"name": "pump", "power_w": 24.0, "hours_per_day": 1.0, "also_when_away": True},
    ]
    case = plain_case(
        loads=loads, use={"days_away_per_month": 20.0, "months_in_use": (1, 2, 3, 4, 5)}
    )
    made = hourly(case)
    june = MONTH_OF_HOUR == 5
    assert np.all(made.essential_w[june] == pytest.approx(1.0))
    assert np.all(made.other_w[june] == 0.0)
    daily = by_month(made.essential_w)[0].sum(axis=1)
    assert sorted(set(np.round(daily, 6))) == [24.0, 124.0]
    assert by_month(made.other_w)[0].sum() == pytest.approx(11 * 20.0)


def test_how_a_lay_up_is_kept(plain_case: PlainCase) -> None:
    old = hourly(plain_case(use={"storage_charge": 0.6}))
    assert (old.storage_charge, old.storage_charge_lead, old.heater_when_laid_up) == (
        0.6,
        1.0,
        True,
    )
    stated = {"storage_charge": 0.5, "storage_charge_lead": 0.9, "heater_when_laid_up": False}
    got = hourly(plain_case(use=stated))
    assert {name: getattr(got, name) for name in stated} == stated


def test_laid_up_months(plain_case: PlainCase) -> None:
    sources = {
        "engine": [{"rating_a": 20.0, "hours_per_day": 1.0}],
        "shore": [{"rating_a": 10.0, "nights_per_month": 5}],
        "generator": [{"rating_a": 10.0}],
    }
    summer = (MONTH_OF_HOUR >= 5) & (MONTH_OF_HOUR <= 7)
    made = {
        how: hourly(
            plain_case(
                sources=sources, use={"months_in_use": (6, 7, 8), "charged_when_laid_up": how}
            )
        )
        for how in ("no", "solar", "shore")
    }
    for how, got in made.items():
        assert np.array_equal(got.laid_up, ~summer)
        for offer in (got.engine_w, got.generator_w):
            assert offer[summer].sum() > 0
            assert offer[~summer].sum() == 0
        assert (got.solar_w[~summer].sum() > 0) == (how == "solar")
        assert got.solar_w[summer].sum() > 0
    charging_w = 10.0 * 12 * 1.07
    assert np.all(made["shore"].shore_w[~summer] == pytest.approx(charging_w))
    assert made["solar"].shore_w[~summer].sum() == made["no"].shore_w[~summer].sum() == 0


def test_engine_hours_by_month(plain_case: PlainCase) -> None:
    wanted = (0.0, 0.25, 1.0, 2.5, 8.0, 3.0, 0.0, 1.0, 1.0, 1.0, 1.0, 0.5)
    engine = {"rating_a": 30.0, "hours_per_day": wanted, "when": "9-17"}
    case = plain_case(sources={**NO_SUN, "engine": [engine]})
    full_w = 30.0 * 12 * 1.07
    for hours, month in zip(wanted, by_month(hourly(case).engine_w), strict=True):
        assert month.sum(axis=1) / full_w == pytest.approx(np.full(len(month), hours))
        assert month[:, :9].sum() == month[:, 17:].sum() == 0.0
    # on end from the opening of the window
    april = by_month(hourly(case).engine_w)[3][0] / full_w
    assert april[9:13] == pytest.approx([1.0, 1.0, 0.5, 0.0])


def test_engine_hours_across_midnight_and_in_two_windows(plain_case: PlainCase) -> None:
    for when, hours, expected in (
        ("22-4", 3.0, {22: 1.0, 23: 1.0, 0: 1.0}),
        ("5-8, 16-20", 4.0, {5: 1.0, 6: 1.0, 7: 1.0, 16: 1.0}),
    ):
        engine = {"rating_a": 10.0, "hours_per_day": hours, "when": when}
        case = plain_case(sources={**NO_SUN, "engine": [engine]})
        day = by_day(hourly(case).engine_w)[40] / (10.0 * 12 * 1.07)
        assert {h: round(v, 9) for h, v in enumerate(day) if v > 0} == expected


def test_shore_nights_are_counted_exactly_and_run_into_the_morning(plain_case: PlainCase) -> None:
    nights = (10, 9, 5, 0, 1, 2, 30, 31, 7, 3, 12, 13)
    shore = {"rating_a": 30.0, "nights_per_month": nights, "when": "18-8"}
    made = hourly(plain_case(sources={**NO_SUN, "shore": [shore]})).shore_w / (30.0 * 12 * 1.07)
    evenings = [int(month[:, 23].sum() + 1e-9) for month in by_month(made)]
    assert evenings == list(nights)
    days = by_day(made)
    assert np.array_equal(days[1:, 7], days[:-1, 18])  # the morning after
    assert made.sum() == pytest.approx(14.0 * sum(nights))
    assert np.all(days[:, 8:18] == 0.0)


def test_parts_of_nights_carry_over(plain_case: PlainCase) -> None:
    shore = {"rating_a": 30.0, "nights_per_month": 0.5, "when": "20-22"}
    made = hourly(plain_case(sources={**NO_SUN, "shore": [shore]})).shore_w
    assert (by_day(made)[:, 20] > 0).sum() == 6


def test_generator_only_in_its_months_and_hours(plain_case: PlainCase) -> None:
    generator = {"rating_a": 25.0, "months": (1, 12), "when": "10-14"}
    made = hourly(plain_case(sources={**NO_SUN, "generator": [generator]}))
    months = [month.sum() for month in by_month(made.generator_w)]
    assert months[0] == pytest.approx(31 * 4 * 25.0 * 12 * 1.07)
    assert sum(months[1:11]) == 0.0
    assert (made.generator_start, made.generator_stop) == (0.3, 0.8)


def test_solar_is_limited_by_its_controller(plain_case: PlainCase) -> None:
    def panel(amps: float) -> NDArray[np.float64]:
        array = {"peak_w": 400.0, "controller_a": amps}
        return hourly(plain_case(sources={"solar": [array]})).solar_w

    free, limited = panel(1000.0), panel(10.0)
    limit = 10.0 * 12 * 1.07
    assert free.max() > 1.5 * limit
    assert limited == pytest.approx(np.minimum(free, limit))


def test_two_arrays_and_shade(plain_case: PlainCase) -> None:
    array = {"peak_w": 100.0, "controller_a": 50.0, "temperature_coefficient_per_k": 0.0}
    shade = (0.5,) * 6 + (0.0,) * 6
    one = hourly(plain_case(sources={"solar": [array]})).solar_w
    two = hourly(plain_case(sources={"solar": [array, {**array, "shade": shade}]})).solar_w
    ratio = np.where(MONTH_OF_HOUR < 6, 1.5, 2.0)
    assert two == pytest.approx(one * ratio)


def test_the_year_has_the_light_that_was_typed(plain_case: PlainCase) -> None:
    """A flat array at 25 degC cells gives peak x efficiency x irradiation."""
    array = {"peak_w": 100.0, "controller_a": 500.0, "temperature_coefficient_per_k": 0.0}
    case = plain_case(sources={"solar": [{**array, "efficiency": 0.8}]})
    monthly = [month.sum() / len(month) for month in by_month(hourly(case).solar_w)]
    typed = case.climate.irradiation_kwh_per_m2_day
    assert monthly == pytest.approx([80.0 * kwh for kwh in typed], rel=1e-6)


def test_space_is_warm_only_while_somebody_is_there(plain_case: PlainCase) -> None:
    cold = {"mean_degc": 0.0, "min_degc": -5.0, "max_degc": 5.0}
    use = {"days_away_per_month": 10.0, "away_pattern": "one block", "living_degc": 20.0}
    made = hourly(plain_case(space={"warmth": 0.5}, climate=cold, use=use))
    outside = hourly(plain_case(space={"warmth": 0.0}, climate=cold, use=use))
    january = by_month(made.space_degc)[0] - by_month(outside.space_degc)[0]
    assert np.all(january[:21] > 2.0)
    assert np.all(january[21:] == 0.0)


def test_prices_at_the_terminals(plain_case: PlainCase) -> None:
    sources = {
        "engine": [
            {"name": "a", "rating_a": 30.0, "hours_per_day": 1.0, "energy_price_per_kwh": 1.0},
            {"name": "b", "rating_a": 10.0, "hours_per_day": 1.0, "energy_price_per_kwh": 2.0},
        ],
        "shore": [
            {"rating_a": 9.0, "nights_per_month": 1, "efficiency": 0.5, "energy_price_per_kwh": 0.3}
        ],
        "generator": [{"rating_a": 9.0, "efficiency": 0.8, "energy_price_per_kwh": 2.0}],
    }
    made = hourly(plain_case(sources=sources))
    assert made.engine_price_per_kwh == pytest.approx(1.25)
    assert made.shore_price_per_kwh == pytest.approx(0.6)
    assert made.generator_price_per_kwh == pytest.approx(2.5)
    bare = hourly(plain_case())
    assert bare.engine_price_per_kwh == bare.shore_price_per_kwh == 0.0


def test_a_source_s_share_is_what_it_offers_of_its_kind(plain_case: PlainCase) -> None:
    """January has 31 days and February 28; the window of 8 hours counts, and the rating."""
    night = {"when": "0-8", "efficiency": 0.8, "energy_price_per_kwh": 0.4}
    january, february = ([31 if m == month else 0 for m in range(12)] for month in (0, 1))
    sources = {
        "shore": [
            {**night, "name": "marina", "rating_a": 20.0, "nights_per_month": january},
            {**night, "name": "yard", "rating_a": 5.0, "nights_per_month": february, "when": "0-4"},
        ]
    }
    made = hourly(plain_case(sources=sources))
    marina, yard = made.bought
    offered = 20.0 * 31 * 8, 5.0 * 28 * 4
    assert marina.share == pytest.approx(offered[0] / sum(offered))
    assert yard.share == pytest.approx(offered[1] / sum(offered))
    assert (marina.name, marina.kind, marina.efficiency) == ("marina", "shore", 0.8)
    assert marina.price_at_terminals == pytest.approx(0.5)
    # what the sources offer is what the hours have of their kind
    volts = made.shore_w.max() / 20.0
    assert made.shore_w.sum() / made.years == pytest.approx(sum(offered) * volts)


def test_a_source_that_is_never_there_has_no_share(plain_case: PlainCase) -> None:
    never = {"name": "never", "rating_a": 9.0, "hours_per_day": 0.0, "energy_price_per_kwh": 1.0}
    made = hourly(plain_case(sources={"engine": [never]}))
    assert [source.share for source in made.bought] == [0.0]
    assert made.engine_price_per_kwh == 0.0


def test_weather_repeats_by_number_and_differs_between_numbers(plain_case: PlainCase) -> None:
    from tco.life.conditions import _synthetic

    def made(number: int) -> Conditions:
        _synthetic.cache_clear()
        return hourly(plain_case(assumptions={"seed": number, "weather_years": 2}))

    one, again, other = made(1), made(1), made(2)
    for name in ("solar_w", "space_degc", "essential_w"):
        assert getattr(one, name).tobytes() == getattr(again, name).tobytes()
    assert not np.allclose(one.solar_w, other.solar_w)
    assert not np.allclose(one.space_degc, other.space_degc)
    assert one.years == 2
    assert one.solar_w.size == one.laid_up.size == one.month.size == 17520


def test_dull_days_empty_a_bank_that_the_average_day_feeds(plain_case: PlainCase) -> None:
    """The mean day of the worst month has a third more sun than load, and yet it goes dark."""
    changes: dict[str, Any] = {
        "load": {"power_w": 30.0, "hours_per_day": 5.0},
        "candidate": {"capacity_ah": 20.0, "continuous_discharge_a": 20.0, "mass_kg": 3.0},
        "assumptions": {"weather_years": 5, "max_packs": 1, "clearness_spread": 1.0},
    }

    def unserved(**more: Any) -> tuple[float, float]:
        case = plain_case(**{**changes, **more})
        made = hourly(case)
        ratio = min(
            sun.sum() / load.sum()
            for month in range(12)
            for sun, load in [
                (made.solar_w[made.month == month], made.essential_w[made.month == month])
            ]
        )
        profiles = year_profiles(
            [Bank(a) for a in arrangements(case, energy_budget(case))], made, case.assumptions
        )
        return ratio, float(profiles.totals["hours_any_load_short"][0, 0])

    ratio, hours = unserved()
    assert ratio > 1.3
    assert hours > 5.0
    flat = {**changes["assumptions"], "clearness_spread": 0.0}
    ratio, hours = unserved(assumptions=flat)
    assert ratio > 1.3
    assert hours == 0.0


def test_an_engine_runs_no_longer_than_its_window(plain_case: PlainCase) -> None:
    engine = {"rating_a": 30.0, "hours_per_day": [1.0] * 11 + [3.5], "when": "9-12"}
    with pytest.raises(ValidationError, match=r"is 3.5 in Dec\w*, longer than its window '9-12'"):
        plain_case(sources={**NO_SUN, "engine": [engine]})
    fits = {**engine, "hours_per_day": [1.0] * 11 + [3.0]}
    assert plain_case(sources={**NO_SUN, "engine": [fits]}).sources.engine[0].when == "9-12"


def test_every_clearness_spread_that_can_be_typed_can_be_simulated(plain_case: PlainCase) -> None:
    made = hourly(plain_case(assumptions={"clearness_spread": 1.0}))
    assert made.solar_w.sum() > 0.0
    with pytest.raises(ValidationError, match="clearness_spread"):
        plain_case(assumptions={"clearness_spread": 1.01})
