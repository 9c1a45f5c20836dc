"""The response surface against simulating every hour of every draw, and its own parts."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tco.bank.bank import Bank
from tco.case import read_case
from tco.case.spreads import Factor
from tco.life import response as response_module
from tco.life.health import lives_of
from tco.life.response import (
    FOLLOWED,
    Response,
    _filled,
    plain_response,
    response,
    use_levels,
)
from tco.life.year import year_profiles
from tco.money.draw_ledgers import run_draw_ledgers
from tco.money.ledger import ledger
from tests.life.slow_draws import SlowDraw, every_hour
from tests.money.draw_ledger_helpers import Study, study_of

DEMO = Path(__file__).parents[2] / "candidates_demo"
FloatArray = NDArray[np.float64]


def demo_study(name: str, *, keep: int, **assumed: float) -> Study:
    case = read_case(DEMO / f"{name}.toml")
    assumptions = case.assumptions.model_copy(update=assumed)
    return study_of(case.model_copy(update={"assumptions": assumptions}), keep=keep)


def surface_of(study: Study) -> Response:
    return study.full().response


def scaled(study: Study, use: float) -> Study:
    """The study with all loads times a factor, simulated anew."""
    made = study.comparison.conditions
    made = replace(made, essential_w=made.essential_w * use, other_w=made.other_w * use)
    profiles = year_profiles([r.bank for r in study.results], made, study.case.assumptions)
    return replace(study, profiles=profiles)


# --- every hour of every draw --------------------------------------------------------------------


@dataclass(frozen=True)
class Both:
    """Cost and life of some draws by draw ledgers and by the hour, shape (results, draws)."""

    fast_cost: FloatArray
    slow_cost: FloatArray
    fast_life: FloatArray
    slow_life: FloatArray

    @property
    def error(self) -> FloatArray:
        return np.asarray(self.fast_cost / self.slow_cost - 1.0)


def both_ways(study: Study, seed: int, draws: int, *, months: int = 4) -> Both:
    drawn = study.drawn(draws, seed)
    inputs = study.full()
    # failures are another matter: see the tests of the draw ledgers
    inputs = replace(inputs, hazard=0.0 * inputs.hazard)
    fast = run_draw_ledgers(inputs, drawn, expected_failures=True)
    slow: list[list[SlowDraw]] = [
        [every_hour(study, inputs, row, drawn, d, months=months) for d in range(draws)]
        for row in range(len(study.results))
    ]
    return Both(
        fast.total_cost,
        np.array([[found.cost for found in row] for row in slow]),
        fast.first_life,
        np.array([[found.first_life for found in row] for row in slow]),
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "seed", "end_of_life"), [("coldharbour", 1, 0.7), ("larch_hut", 2, 0.85)]
)
def test_every_draw_agrees_with_every_hour_of_it(name: str, seed: int, end_of_life: float) -> None:
    """Enough power, or a generator: cost and life within 1 % in each draw, 0.3 % on average."""
    # wear alone is to end these lives: else many would last just as long as any bank may
    study = demo_study(name, keep=3, longest_life_years=40.0, end_of_life_health=end_of_life)
    found = both_ways(study, seed, draws=5, months=2)
    # the slow way looks at the health every second month, and half of that late on average
    np.testing.assert_allclose(found.fast_life, found.slow_life, rtol=0.01, atol=1.0 / 12.0)
    np.testing.assert_allclose(found.fast_cost, found.slow_cost, rtol=0.01)
    assert abs(found.error.mean()) < 0.003
    # draws differ among themselves by more than that
    assert (found.slow_cost.std(axis=1) / found.slow_cost.mean(axis=1)).min() > 0.01
    assert (found.slow_life.std(axis=1) / found.slow_life.mean(axis=1)).min() > 0.05


@pytest.mark.slow
def test_draws_on_the_edge_of_the_need_agree_with_every_hour() -> None:
    """Days without power make much of the cost, and need ends a life where marginal cost passes
    average cost: cost is flat there, and the moment less sharp than the cost."""
    found = both_ways(demo_study("otterbank", keep=3), 3, draws=10, months=4)
    assert found.slow_cost.max() > 1.8 * found.slow_cost.min()
    # a bank bought days before the horizon is sold at a loss: cost has a cliff there
    far = np.abs(found.slow_life - 10.0) > 0.1
    assert far.mean() > 0.8
    off = np.abs(found.error[far])
    assert off.max() < 0.02
    assert np.median(off) < 0.005
    assert abs(found.error[far].mean()) < 0.005
    lives = found.fast_life / found.slow_life - 1.0
    assert np.median(np.abs(lives)) < 0.005
    assert np.abs(lives).max() < 0.04
    assert abs(lives.mean()) < 0.005


# --- cost against size and use --------------------------------------------------------------------


def test_cost_never_falls_much_with_use() -> None:
    """Otterbank's best five from 0.8 to 1.3 of the use: cost goes up with it, without cliffs."""
    study = demo_study("otterbank", keep=5)
    case, made = study.case, study.comparison.conditions
    costs = []
    for use in np.arange(0.80, 1.301, 0.02):
        run = scaled(study, float(use))
        lives = lives_of(case, [r.bank for r in study.results], run.profiles)
        costs.append([
            sum(
                row.present
                for row in ledger(
                    case, r.bank, life=life, conditions=made, failures=r.failures
                )
            )
            for r, life in zip(study.results, lives, strict=True)
        ])  # fmt: skip
    steps = np.array(costs)[1:] / np.array(costs)[:-1] - 1.0
    assert steps.min() > -0.03
    assert steps.max() < 0.25  # the rule before let a bank cost half as much again
    assert (np.array(costs)[-1] > 1.4 * np.array(costs)[0]).all()


def test_use_levels_follow_the_spread() -> None:
    found = use_levels(Factor(low=0.88, high=1.12), 9)
    assert found.size == 9
    np.testing.assert_allclose(np.diff(np.log(found)), np.log(found[1] / found[0]), rtol=1e-9)
    # 1 and 99 % points of a log-normal law through those of 10 and 90 %
    middle, sigma = np.log(0.88 * 1.12) / 2, np.log(1.12 / 0.88) / 2 / 1.2815516
    np.testing.assert_allclose(
        found[[0, -1]], np.exp(middle + np.array([-2.3263479, 2.3263479]) * sigma), rtol=1e-6
    )
    assert use_levels(Factor(low=1.0, high=1.0), 9).tolist() == [1.0]
    apart = use_levels(Factor(low=1.2, high=1.3), 5)
    assert apart[0] == 1.0  # the case's own use can always be asked for
    assert apart[-1] > 1.3


def test_the_cheapest_banks_are_run_more_finely() -> None:
    study = demo_study("otterbank", keep=2)
    given: Any = ([Bank(r.arrangement, ohm=0.001) for r in study.results],)
    rest: Any = (
        study.comparison.conditions, study.case.assumptions, study.case.spreads.energy_use,
    )  # fmt: skip
    finest, fine, coarse = (
        response(*given, *rest, rank=np.array([place, place])).values for place in (0, 10, 100)
    )
    assert not np.allclose(finest, fine)
    assert not np.allclose(fine, coarse)
    # where all were run, they are the same
    np.testing.assert_allclose(finest[:, ::4, :, ::4], fine[:, ::4, :, ::4], atol=1e-9)
    # but for what a bank that counts as full lacks (`tco.life.shortages.FULL`)
    np.testing.assert_allclose(
        fine[:, ::16, :, ::12], coarse[:, ::16, :, ::12], rtol=2e-3, atol=0.02
    )
    np.testing.assert_array_equal(response(*given, *rest).values, finest)


def test_one_level_of_use() -> None:
    study = demo_study("otterbank", keep=2)
    given: Any = ([Bank(r.arrangement, ohm=0.001) for r in study.results],)
    found = response(
        *given, study.comparison.conditions, study.case.assumptions, Factor(low=1.0, high=1.0)
    )
    assert found.values.shape[1] == 1


# --- parts of the surface ------------------------------------------------------------------------


def test_shapes_and_new_banks_at_the_own_use() -> None:
    study = demo_study("larch_hut", keep=4)
    surface = surface_of(study)
    years = study.comparison.conditions.years
    assert surface.values.shape == (
        4, surface.use.size, years, surface.place.size, len(FOLLOWED),
    )  # fmt: skip
    assert (surface.place[0], surface.place[-1]) == (0.0, 1.0)
    assert (np.diff(surface.place) > 0).all()
    assert (np.diff(surface.use) > 0).all()
    below = int(np.searchsorted(surface.use, 1.0)) - 1
    share = (1.0 - surface.use[below]) / (surface.use[below + 1] - surface.use[below])
    own = (1.0 - share) * surface.values[:, below] + share * surface.values[:, below + 1]
    for k, name in enumerate(FOLLOWED):
        mean = own[:, :, -1, k].mean(axis=1)
        # each year by itself begins after its own December, all in a row after the last one's; runs
        # of a generator are few and long, and one more or less is seen
        close = 0.15 if name == "generator_wh" else 0.02
        np.testing.assert_allclose(mean, study.profiles.totals[name][:, 0], rtol=close, atol=0.5)


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
    found = plain_response(study.profiles)
    assert found.use.tolist() == [1.0]
    levels = study.profiles.health.shape[1]
    apart = (found.place.size - 1) // (levels - 1)
    np.testing.assert_allclose(found.place[::apart], np.linspace(0.0, 1.0, levels))
    for k, name in enumerate(FOLLOWED):
        np.testing.assert_allclose(
            found.values[:, 0, 0, ::apart, k], study.profiles.totals[name][:, ::-1], rtol=1e-12
        )


def test_mean_weather_is_what_the_lanes_take_at_the_centre() -> None:
    study = demo_study("otterbank", keep=3)
    inputs = study.full()
    whole = run_draw_ledgers(inputs, study.central(), expected_failures=True)
    mean = run_draw_ledgers(
        replace(inputs, response=inputs.response.mean_weather()), study.central(),
        expected_failures=True,
    )  # fmt: skip
    np.testing.assert_allclose(whole.total_cost, mean.total_cost, rtol=1e-12)


def test_uneven_strings_wear_the_bank() -> None:
    study = demo_study("larch_hut", keep=2)
    banks = [Bank(r.arrangement, ohm=0.001) for r in study.results]
    rest: Any = (
        study.comparison.conditions, study.case.assumptions, study.case.spreads.energy_use,
    )  # fmt: skip
    more = [banks[0], replace(banks[1], unevenness=1.3)]
    even, uneven = response(banks, *rest), response(more, *rest)
    k = FOLLOWED.index("cycle_stress")
    np.testing.assert_array_equal(even.values[0], uneven.values[0])
    np.testing.assert_allclose(uneven.values[1, ..., k], 1.3 * even.values[1, ..., k], rtol=1e-12)
