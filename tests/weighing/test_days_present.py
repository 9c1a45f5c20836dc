"""Days of presence: as many as asked for, and lived in as the season is."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tco import read_case
from tco.bank.budget import energy_budget
from tco.case import Case
from tco.life.conditions import conditions
from tco.weighing.days_present import LENGTHS, days_present, days_present_driver, with_days_present

DEMO = Path(__file__).resolve().parents[2] / "candidates_demo"


@pytest.fixture(scope="module", params=["otterbank", "larch_hut", "coldharbour"])
def case(request: pytest.FixtureRequest) -> Case:
    return read_case(DEMO / f"{request.param}.toml")


def hours_with_loads(case: Case) -> int:
    """Hours of a simulated year in which somebody's loads run, counted in the conditions."""
    made = conditions(case, energy_budget(case))
    present = (made.engine_w > 0) | (made.generator_w > 0) | (made.other_w > 0)
    return int(np.count_nonzero(present.reshape(made.years, -1)[0]))


def test_days_of_the_demo_cases() -> None:
    """By hand: days of the months in use less days away."""
    away = {"otterbank": 27, "larch_hut": 26, "coldharbour": 133}
    used = {
        "otterbank": 365,
        "larch_hut": 31 + 31 + 28 + 31 + 30 + 31 + 31 + 30,
        "coldharbour": 30 + 31 + 30 + 31 + 31 + 30,
    }
    for name, days in used.items():
        assert days_present(read_case(DEMO / f"{name}.toml")) == days - away[name]


@pytest.mark.parametrize("days", [0.0, 7.0, 30.0, 100.0, 200.0, 300.0, 365.0])
def test_as_many_days_as_asked_for(case: Case, days: float) -> None:
    turned = with_days_present(case, days)
    assert days_present(turned) == pytest.approx(days)
    assert max(turned.use.days_away_per_month) <= 31.0
    assert min(turned.use.days_away_per_month) >= 0.0
    type(case).model_validate(turned.model_dump())  # still a case that could be typed


def test_today_is_the_case_itself(case: Case) -> None:
    assert with_days_present(case, days_present(case)) is case


def test_the_simulated_days_are_those(case: Case) -> None:
    """Whole days in the simulated year come to what was asked for, to a day a month."""
    for days in (60.0, 300.0):
        turned = with_days_present(case, days)
        made = conditions(turned, energy_budget(turned))
        loads = made.essential_w + made.other_w
        month = made.month[:8760].reshape(365, 24)[:, 0]
        by_day = loads[:8760].reshape(365, 24).sum(axis=1)
        away_wh = energy_budget(turned).away_w.sum(axis=1)[month]
        there = int(np.count_nonzero(by_day > away_wh + 1e-6))
        assert there == pytest.approx(days, abs=12)


def test_fewer_days_are_taken_in_proportion(case: Case) -> None:
    half = with_days_present(case, days_present(case) / 2.0)
    for month in case.use.months_in_use:
        here = LENGTHS[month - 1] - case.use.days_away_per_month[month - 1]
        assert LENGTHS[month - 1] - half.use.days_away_per_month[month - 1] == pytest.approx(
            here / 2.0
        )
    assert half.use.months_in_use == case.use.months_in_use
    assert half.sources == case.sources


def test_the_season_fills_before_it_grows() -> None:
    case = read_case(DEMO / "coldharbour.toml")  # April to September
    full = with_days_present(case, 183.0)
    assert full.use.months_in_use == (4, 5, 6, 7, 8, 9)
    assert set(full.use.days_away_per_month[3:9]) == {0.0}
    assert full.sources == case.sources
    # October is warmer than March, so it comes first, then March, then November
    assert with_days_present(case, 184.0).use.months_in_use == (4, 5, 6, 7, 8, 9, 10)
    assert with_days_present(case, 215.0).use.months_in_use == (3, 4, 5, 6, 7, 8, 9, 10)
    assert with_days_present(case, 246.0).use.months_in_use == (3, 4, 5, 6, 7, 8, 9, 10, 11)
    assert with_days_present(case, 365.0).use.months_in_use == tuple(range(1, 13))


def test_a_month_that_comes_into_use_is_lived_in_like_its_neighbour() -> None:
    case = read_case(DEMO / "coldharbour.toml")
    full = with_days_present(case, 365.0)
    (solar,), (engine,), (shore,) = full.sources.solar, full.sources.engine, full.sources.shore
    # out of the barn as in April and September, driven and hooked up as often
    assert solar.shade == (0.30, 0.30, 0.30, 0.30, 0.25, 0.25, 0.25, 0.25, 0.30, 0.30, 0.30, 0.30)
    assert engine.hours_per_day == (1.2, 1.2, 1.2, 1.2, 1.4, 1.4, 1.4, 1.4, 1.2, 1.2, 1.2, 1.2)
    assert shore.nights_per_month == (3, 3, 3, 3, 3, 2, 2, 2, 3, 3, 3, 3)


def test_what_a_month_has_of_its_own_is_not_taken_away() -> None:
    case = read_case(DEMO / "larch_hut.toml")
    full = with_days_present(case, 365.0)
    for before, after in zip(case.sources.solar, full.sources.solar, strict=True):
        assert all(a <= b for a, b in zip(after.shade, before.shade, strict=True))
    for before, after in zip(case.sources.generator, full.sources.generator, strict=True):
        assert set(before.months) <= set(after.months)


def test_nobody_there_at_all_can_still_come_more(plain_case: Callable[..., Case]) -> None:
    case = plain_case(use={"days_away_per_month": [31.0] * 12})
    assert days_present(case) == 0.0
    assert days_present(with_days_present(case, 100.0)) == pytest.approx(100.0)


@pytest.mark.parametrize("days", [-1.0, 366.0])
def test_days_that_no_year_has_are_refused(case: Case, days: float) -> None:
    with pytest.raises(ValueError, match="days must be from 0 to 365"):
        with_days_present(case, days)


def test_the_driver_reaches_from_weekends_to_a_full_timer(case: Case) -> None:
    driver = days_present_driver(case)
    assert (driver.low, driver.high) == (30.0, 365.0)
    assert driver.now == days_present(case)
    assert driver.words(50.0) == "50 days a year"
