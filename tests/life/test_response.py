"""The response surface against simulating every hour of every draw, and its own parts."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tco.bank.wiring import unevenness, wiring_ohm
from tco.case import read_case
from tco.life import response as response_module
from tco.life.health import need_health
from tco.life.response import (
    FOLLOWED,
    USE_LEVELS,
    Response,
    _filled,
    _need,
    plain_response,
    response,
)
from tco.life.year import year_profiles
from tco.money.lanes import run_lanes
from tests.life.slow_draws import SlowDraw, every_hour
from tests.money.lane_helpers import Study, study_of

DEMO = Path(__file__).parents[2] / "candidates_demo"
FloatArray = NDArray[np.float64]


def demo_study(name: str, *, keep: int) -> Study:
    return study_of(read_case(DEMO / f"{name}.toml"), keep=keep)


def surface_of(study: Study) -> Response:
    return study.full().response


def scaled(study: Study, use: float) -> Study:
    """The study with all loads times a factor, simulated anew."""
    made = study.comparison.conditions
    made = replace(made, essential_w=made.essential_w * use, other_w=made.other_w * use)
    profiles = year_profiles(
        [r.arrangement for r in study.results],
        [wiring_ohm(r.wiring) for r in study.results],
        made,
        study.case.assumptions,
        unevenness=[unevenness(r.wiring) for r in study.results],
    )
    return replace(study, profiles=profiles)


# --- every hour of every draw --------------------------------------------------------------------


@dataclass(frozen=True)
class Both:
    """Cost and life of some draws by lanes and by the hour, shape (results, draws)."""

    fast_cost: FloatArray
    slow_cost: FloatArray
    fast_life: FloatArray
    slow_life: FloatArray

    @property
    def error(self) -> FloatArray:
        return np.asarray(self.fast_cost / self.slow_cost - 1.0)


def both_ways(study: Study, seed: int, draws: int) -> Both:
    drawn = study.drawn(draws, seed)
    inputs = study.full()
    # need is another matter, tested below; failures too, in the tests of the lanes
    inputs = replace(
        inputs,
        hazard=0.0 * inputs.hazard,
        response=replace(inputs.response, need=0.0 * inputs.response.need),
    )
    fast = run_lanes(inputs, drawn, expected_failures=True)
    slow: list[list[SlowDraw]] = [
        [every_hour(study, inputs, row, drawn, d) for d in range(draws)]
        for row in range(len(study.results))
    ]
    return Both(
        fast.total_cost,
        np.array([[found.cost for found in row] for row in slow]),
        fast.first_life,
        np.array([[found.first_life for found in row] for row in slow]),
    )


@pytest.mark.parametrize(("name", "seed"), [("coldharbour", 1), ("larch_hut", 2)])
def test_every_draw_agrees_with_every_hour_of_it(name: str, seed: int) -> None:
    """Enough power, or a generator: cost and life within 1 % in each draw."""
    found = both_ways(demo_study(name, keep=3), seed, draws=6)
    # the slow way wears month by month with its season, the fast one by the mean month
    np.testing.assert_allclose(found.fast_life, found.slow_life, rtol=0.01)
    assert np.abs(found.error).max() < 0.01
    # draws differ among themselves by more than that
    assert (found.slow_cost.std(axis=1) / found.slow_cost.mean(axis=1)).min() > 0.02
    assert (found.slow_life.std(axis=1) / found.slow_life.mean(axis=1)).min() > 0.05


def test_draws_on_the_edge_of_the_need_agree_with_every_hour_on_average() -> None:
    """Where days without power make most of the cost, they come as whole days, more or fewer by
    an hour's chance: a draw may be several percent off, the mean of many not."""
    found = both_ways(demo_study("otterbank", keep=3), 3, draws=30)
    np.testing.assert_allclose(found.fast_life, found.slow_life, rtol=0.01)
    assert found.slow_cost.max() > 3.0 * found.slow_cost.min()
    assert np.abs(found.error).max() < 0.10
    means = found.fast_cost.mean(axis=1) / found.slow_cost.mean(axis=1)
    # a scatter of 2.5 % over 30 draws leaves 0.5 % of chance; twice that, beside 1 %
    np.testing.assert_allclose(means, 1.0, atol=0.02)
    assert abs(found.error.mean()) < 0.01


# --- need ----------------------------------------------------------------------------------------


def test_need_between_levels_of_use_is_that_of_a_run_at_that_use() -> None:
    study = demo_study("otterbank", keep=6)
    surface = surface_of(study)
    tolerated = study.case.assumptions.tolerated_hours_without_power
    compared = 0
    for use in (0.87, 0.925, 0.98, 1.03):
        run = need_health(scaled(study, use).profiles, tolerated_hours=tolerated)
        for row in range(len(study.results)):
            between = float(np.interp(use, surface.use, surface.need[row]))
            if 0.0 < run[row] < 0.91:  # further on, the rule of the small bank may cut in
                # levels of health of the run are 0.06 apart and hours bend between them
                assert between == pytest.approx(run[row], abs=0.015)
                compared += 1
    assert compared >= 6


def test_need_followed_past_the_levels() -> None:
    """A bank of which the health needed is 0.8 times the use plus 0.1, hours 1000 for each unit of
    health that is missing."""
    use, health = np.array([0.6, 0.8, 1.0, 1.2, 1.4]), np.linspace(0.7, 1.0, 7)
    needed = 0.8 * use + 0.1
    hours = 1000.0 * np.maximum(needed[:, None] - health + 0.05, 0.0)
    found = _need(use, health, hours, 50.0)
    # 0.58 and 1.06, 1.22 lie outside what was run
    np.testing.assert_allclose(found, needed, rtol=1e-9)


def test_need_known_at_one_level_grows_in_proportion() -> None:
    use, health = np.array([0.8, 1.0, 1.25]), np.array([0.7, 0.85, 1.0])
    hours = np.array([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [900.0, 500.0, 100.0]])
    found = _need(use, health, hours, 50.0)
    assert found[1] == pytest.approx(0.775)
    assert found[0] == pytest.approx(0.62)
    assert found[2] == 1.0  # 0.97 in proportion, yet even a new bank falls short


def test_no_need_where_it_never_counts() -> None:
    use, health = np.array([0.8, 1.0, 1.25]), np.array([0.7, 0.85, 1.0])
    assert _need(use, health, np.zeros((3, 3)), 50.0).tolist() == [0.0] * 3
    assert _need(use, health, np.full((3, 3), 99.0), 50.0).tolist() == [1.0] * 3


def test_life_does_not_jump_with_use_below_the_cliff() -> None:
    """A hundredth more use takes no more than a tenth of a life, down to where the rule of the
    small bank (a model's choice) lets the bank live on."""
    study = demo_study("otterbank", keep=1)
    inputs = study.full()
    uses = np.linspace(0.80, 1.0, 21)
    need = np.interp(uses, inputs.response.use, inputs.response.need[0])
    lives = np.array([
        run_lanes(inputs, study.central(("energy_use", float(use)))).first_life[0, 0]
        for use in uses
    ])  # fmt: skip
    below = need < 0.9
    assert (need > 0.72).sum() > 3
    assert (np.diff(lives[below]) < 0.05).all()
    assert (lives[below][1:] / lives[below][:-1]).min() > 0.78


# --- parts of the surface ------------------------------------------------------------------------


def test_shapes_and_new_banks_at_the_own_use() -> None:
    study = demo_study("larch_hut", keep=4)
    surface = surface_of(study)
    years = study.comparison.conditions.years
    assert surface.values.shape == (
        4, surface.use.size, years, surface.health.size, len(FOLLOWED),
    )  # fmt: skip
    assert set(USE_LEVELS) <= set(surface.use.tolist())
    assert surface.health[0] == study.case.assumptions.end_of_life_health
    assert (np.diff(surface.health) > 0).all()
    assert (np.diff(surface.use) > 0).all()
    own = int(np.flatnonzero(surface.use == 1.0)[0])
    for k, name in enumerate(FOLLOWED):
        mean = surface.values[:, own, :, -1, k].mean(axis=1)
        # each year by itself begins after its own December, all in a row after the last one's
        np.testing.assert_allclose(mean, study.profiles.totals[name][:, 0], rtol=0.02, atol=0.5)


def test_straight_banks_are_filled_in_as_if_they_were_run(monkeypatch: pytest.MonkeyPatch) -> None:
    study = demo_study("coldharbour", keep=4)
    filled = surface_of(study)
    monkeypatch.setattr(response_module, "BEND_BOUGHT", -1.0)
    run = surface_of(study)
    assert not np.array_equal(filled.values, run.values)  # now all levels were run
    given = run.values[..., FOLLOWED.index("from_bank_wh")].max()
    for k, name in enumerate(FOLLOWED):
        close = 0.003 * given if name.endswith("_wh") else 0.3 if name.endswith("days") else 0.0
        np.testing.assert_allclose(
            filled.values[..., k], run.values[..., k], rtol=0.02, atol=close, err_msg=name
        )


def test_filling_keeps_levels_lines_and_never_overshoots() -> None:
    use, health = np.array([0.8, 1.0, 1.25]), np.array([0.7, 0.85, 1.0])
    more_use, more_health = np.linspace(0.8, 1.25, 10), np.linspace(0.7, 1.0, 7)

    def total(u: FloatArray, h: FloatArray) -> FloatArray:
        return np.asarray((3.0 * u[:, None] - 2.0 * h)[None, :, None, :, None])

    found = _filled(total(use, health), use, health, more_use, more_health)
    np.testing.assert_allclose(found, total(more_use, more_health), rtol=1e-12)
    outage = np.maximum(total(use, health) - 1.2, 0.0)
    again = _filled(outage, use, health, use, health)
    np.testing.assert_allclose(again, outage, atol=1e-12)
    more = _filled(outage, use, health, more_use, more_health)
    assert more.min() >= -1e-12
    assert more.max() == pytest.approx(outage.max())
    assert (np.diff(more, axis=1) >= -1e-12).all()


def test_plain_response_is_the_profiles() -> None:
    study = demo_study("larch_hut", keep=2)
    found = plain_response(study.profiles, np.array([0.0, 0.8]))
    assert found.use.tolist() == [1.0]
    assert found.need.tolist() == [[0.0], [0.8]]
    for k, name in enumerate(FOLLOWED):
        np.testing.assert_array_equal(
            found.values[:, 0, 0, :, k], study.profiles.totals[name][:, ::-1]
        )


def test_mean_weather_is_what_the_lanes_take_at_the_centre() -> None:
    study = demo_study("otterbank", keep=3)
    inputs = study.full()
    whole = run_lanes(inputs, study.central(), expected_failures=True)
    mean = run_lanes(
        replace(inputs, response=inputs.response.mean_weather()), study.central(),
        expected_failures=True,
    )  # fmt: skip
    np.testing.assert_allclose(whole.total_cost, mean.total_cost, rtol=1e-12)


def test_uneven_strings_wear_the_bank() -> None:
    study = demo_study("larch_hut", keep=2)
    given: Any = (
        [r.arrangement for r in study.results], [0.001, 0.001],
    )  # fmt: skip
    rest: Any = (study.comparison.conditions, study.case.assumptions)
    even, uneven = response(*given, [1.0, 1.0], *rest), response(*given, [1.0, 1.3], *rest)
    k = FOLLOWED.index("cycle_stress")
    np.testing.assert_array_equal(even.values[0], uneven.values[0])
    np.testing.assert_allclose(uneven.values[1, ..., k], 1.3 * even.values[1, ..., k], rtol=1e-12)
