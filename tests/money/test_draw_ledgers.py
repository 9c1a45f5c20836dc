"""Draw ledgers: the ledger at the centre, closed forms, failures that happen, common draws."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from tco import compare
from tco.case import Case, read_case
from tco.case.spreads import Factor, Shift, Spreads
from tco.life import year
from tco.money.draw_ledger_kernel import _poisson
from tco.money.draw_ledgers import DrawLedgerInputs, run_draw_ledgers
from tco.money.draws import INPUTS, Draws, draw
from tco.money.evidence import GammaRate
from tco.money.renewal import BY_AGE
from tests.money.draw_ledger_helpers import Study, central, draw_ledger_by_hand, packs_for, study_of

DEMO = Path(__file__).parents[2] / "candidates_demo"
PlainCase = Callable[..., Case]
FloatArray = NDArray[np.float64]

CLOSE = 1e-9
"""Draw ledgers and ledger take the same steps: only rounding differs."""


def one(draws: int = 1, seed: int = 1, horizon: int = 10, spreads: Spreads | None = None) -> Draws:
    """Draws for one made by hand."""
    return draw(
        spreads or Spreads(), candidates=1, years=horizon, weather_years=1, draws=draws, seed=seed
    )


def middle(*changed: tuple[str, float], horizon: int = 10) -> Draws:
    return central(Spreads(), candidates=1, years=horizon, replace=changed)


DEMOS = ("coldharbour", "larch_hut", "otterbank")


def demo_case(name: str) -> Case:
    """A demo case over at least twelve years: lead stored full outlasts Coldharbour's eight."""
    case = read_case(DEMO / f"{name}.toml")
    years = max(case.assumptions.horizon_years, 12.0)
    longer = case.assumptions.model_copy(update={"horizon_years": years})
    return case.model_copy(update={"assumptions": longer})


@pytest.fixture(scope="module", params=DEMOS)
def demo(request: pytest.FixtureRequest) -> Study:
    return study_of(demo_case(request.param))


@pytest.fixture(scope="module")
def otterbank() -> Study:
    return study_of(read_case(DEMO / "otterbank.toml"), keep=12)


# --- at the centre a draw ledger is the ledger --------------------


def test_central_lanes_are_the_ledger(demo: Study) -> None:
    found = run_draw_ledgers(demo.plain(), demo.central(), expected_failures=True)
    totals = [r.measures.total_cost for r in demo.results]
    np.testing.assert_allclose(found.total_cost[:, 0], totals, rtol=CLOSE)
    lives = [r.life.first_life_years for r in demo.results]
    np.testing.assert_allclose(found.first_life[:, 0], lives, rtol=CLOSE)
    # the energy is that of the levelised cost
    per_kwh = [r.measures.cost_per_kwh for r in demo.results]
    np.testing.assert_allclose(
        found.total_cost[:, 0] / found.discounted_kwh[:, 0], per_kwh, rtol=CLOSE
    )


def test_demos_have_what_the_lanes_must_follow() -> None:
    """Without these the test above would prove less than it says."""
    results = [
        r for name in DEMOS
        for r in study_of(demo_case(name)).results
    ]  # fmt: skip
    items = {row.item for r in results for row in r.ledger}
    wanted = {
        "packs", "freight", "wiring parts", "labour", "charger", "old bank", "replacement packs",
        "replacement labour", "disposal", "engine charging", "generator", "days without power",
        "yearly checks", "failures", "residual value", "old parts",
    }  # fmt: skip
    assert wanted <= items, wanted - items
    assert any(len(r.life.replacements) > 1 for r in results)
    reasons = [row.reason for r in results for row in r.life.replacements]
    assert sum(reason.startswith("short for ") for reason in reasons) > 5
    assert sum(reason.startswith("health reaches ") for reason in reasons) > 5
    assert any(r.life.first_life_years == pytest.approx(20.0) for r in results)


@pytest.mark.parametrize("name", DEMOS)
def test_the_ledger_is_that_of_every_level_of_health_and_the_draws_are_about_it(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the first in rank: levels in between change the total by less than 0.3 %, and on the
    surface that the draws are taken from the case itself costs the same within 0.5 %."""
    case = read_case(DEMO / f"{name}.toml")
    study = study_of(case, keep=1)
    first = study.results[0]
    monkeypatch.setattr(year, "HEALTH_LEVELS", 61)
    every = compare(case, only=[first.arrangement.label]).results[0]
    assert first.measures.total_cost == pytest.approx(every.measures.total_cost, rel=0.003)
    centre = run_draw_ledgers(study.full(), study.central(), expected_failures=True)
    assert centre.total_cost[0, 0] == pytest.approx(first.measures.total_cost, rel=0.005)


HARD = {
    "load": {"power_w": 90.0},
    "candidate": {"rated_cycles": 300.0, "calendar_life_years": 12.0},
    "assumptions": {"horizon_years": 12},
}
"""Several replacements within the horizon."""

CHANGES: dict[str, dict[str, Any]] = {
    "worn out several times": {},
    "tax": {"prices": {"tax_rate": 0.21}},
    "no discount, no inflation": {"prices": {"discount_rate": 0.0, "inflation": 0.0}},
    "deflation, dear packs": {"prices": {"inflation": -0.01, "pack_price_trend": 0.04}},
    "one year": {"assumptions": {"horizon_years": 1}},
    "forty years": {"assumptions": {"horizon_years": 40}},
    "rising hazard": {"reliability": {"weibull_shape": 2.0, "model_gone_after_years": 3.0}},
    "dear days": {"prices": {"day_without_power_price": 300.0}},
    "dear hours": {"prices": {"hour_without_power_price": 9.0, "day_without_power_price": 0.0}},
    "own labour": {"prices": {"own_labour": True, "tax_rate": 0.1}},
    "dangerous goods and a spare": {
        "prices": {"dangerous_goods_price": 18.0, "tax_rate": 0.1},
        "assumptions": {"spare_packs": 2},
    },
    "half of the wiring renewed": {
        "prices": {"tax_rate": 0.1, "day_without_power_price": 300.0},
        "assumptions": {"rewired_share": 0.5},
    },
    "all of the wiring renewed, two shore sources": {
        "assumptions": {"rewired_share": 1.0},
        "sources": {
            "shore": [
                {"name": "marina", "rating_a": 6.0, "nights_per_month": 3},
                {
                    "name": "camp site",
                    "rating_a": 4.0,
                    "nights_per_month": [0, 0, 0, 2, 5, 9, 9, 9, 4, 0, 0, 0],
                    "energy_price_per_kwh": 1.5,
                    "efficiency": 0.8,
                },
            ]
        },
    },
    "lead-acid, by its own end": {
        "candidate": {
            "chemistry": "agm",
            "nominal_voltage_v": 12.0,
            "mass_kg": 40.0,
            "rated_cycles": 300.0,
        },
        "assumptions": {"horizon_years": 12, "lead_end_of_life_health": 0.85},
    },
    "too old": {"assumptions": {"horizon_years": 17, "longest_life_years": 5.5}},
    "part of a year": {"assumptions": {"horizon_years": 7.4}},
    "part of a year, rising hazard": {
        "assumptions": {"horizon_years": 8.75},
        "reliability": {"weibull_shape": 2.0},
    },
}


@pytest.mark.parametrize("name", CHANGES)
def test_central_lanes_are_the_ledger_at_the_edges(plain_case: PlainCase, name: str) -> None:
    changes = CHANGES[name]
    case = plain_case(
        **{
            **HARD,
            **changes,
            "assumptions": {**HARD["assumptions"], **changes.get("assumptions", {})},
        }
    )
    study = study_of(case)
    if case.assumptions.horizon_years > 1:
        assert max(len(r.life.replacements) for r in study.results) > 1
    found = run_draw_ledgers(study.plain(), study.central(), expected_failures=True)
    np.testing.assert_allclose(
        found.total_cost[:, 0], [r.measures.total_cost for r in study.results], rtol=CLOSE
    )


@pytest.mark.parametrize(
    ("name", "field", "change"),
    [
        ("discount_rate", "discount_rate", 0.01),
        ("inflation", "inflation", 0.01),
        ("day_without_power", "day_without_power_price", 1.5),
        ("parts_and_labour", "labour_per_hour", None),
    ],
)
def test_a_draw_changed_is_the_case_changed(
    plain_case: PlainCase, name: str, field: str, change: float | None
) -> None:
    """A multiplier or a shift of a draw does what the same change of the case does."""
    base = plain_case(**HARD)
    if change is None:  # no labour at all: parts and labour times 2 is more, and by no more
        base = plain_case(**{**HARD, "prices": {"labour_per_hour": 0.0}})
        study = study_of(base)
        once, twice = (
            run_draw_ledgers(
                study.plain(), study.central((name, x)), expected_failures=True
            ).total_cost
            for x in (1.0, 2.0)
        )
        parts = [
            sum(row.amount for row in r.ledger if row.item in ("wiring parts", "charger"))
            for r in study.results
        ]
        np.testing.assert_allclose((twice - once)[:, 0], parts, rtol=1e-9, atol=0.02)
        return
    value = getattr(base.prices, field)
    other = value + change if name in ("discount_rate", "inflation") else value * change
    changed = study_of(plain_case(**{**HARD, "prices": {field: other}}))
    study = study_of(base)
    found = run_draw_ledgers(study.plain(), study.central((name, change)), expected_failures=True)
    by_label = {r.arrangement.label: r.measures.total_cost for r in changed.results}
    wanted = [by_label[r.arrangement.label] for r in study.results]
    np.testing.assert_allclose(found.total_cost[:, 0], wanted, rtol=CLOSE)
    assert not np.allclose(wanted, [r.measures.total_cost for r in study.results], rtol=1e-3)


# --- closed forms --------------------


@pytest.mark.parametrize(
    ("exponent", "larger", "life"),
    [
        (1.0, False, 0.3 / (0.05 + 0.04)),  # losses add up
        (1.0, True, 0.3 / 0.05),  # the larger alone
        (0.5, False, 0.09 / (np.sqrt(0.05) + np.sqrt(0.04)) ** 2),  # square roots of time
    ],
)
def test_life_in_closed_form(exponent: float, larger: bool, life: float) -> None:
    by_hand = draw_ledger_by_hand(
        calendar=0.05, cycle=0.04, exponent=exponent, larger_counts=larger
    )
    found = run_draw_ledgers(by_hand, middle(), expected_failures=True)
    # within a month a square root is taken for straight
    assert found.first_life[0, 0] == pytest.approx(life, rel=1e-9 if exponent == 1.0 else 5e-3)


def test_life_past_the_horizon_in_closed_form() -> None:
    for loss in (0.0101, 0.0137, 0.029):
        found = run_draw_ledgers(
            draw_ledger_by_hand(calendar=loss), middle(), expected_failures=True
        )
        assert found.first_life[0, 0] == pytest.approx(0.3 / loss, rel=1e-9)
    for oldest in (40.0, 17.3, 10.0):
        by_hand = draw_ledger_by_hand(calendar=0.001, market={"longest_life": oldest})
        endless = run_draw_ledgers(by_hand, middle(), expected_failures=True)
        assert endless.first_life[0, 0] == pytest.approx(oldest, rel=1e-12)


def test_the_greatest_age_ends_a_life_within_the_horizon() -> None:
    """Ten years, replaced at 4 and 8: three banks of 100, half of the third left and not sold."""
    market = {"longest_life": 4.0}
    by_hand = draw_ledger_by_hand(calendar=0.001, market=market, money=packs_for(100.0))
    found = run_draw_ledgers(by_hand, middle(), expected_failures=True)
    assert found.first_life[0, 0] == pytest.approx(4.0, rel=1e-9)
    never = draw_ledger_by_hand(calendar=0.001, money=packs_for(100.0))
    kept = run_draw_ledgers(never, middle(), expected_failures=True)
    more = found.total_cost[0, 0] - kept.total_cost[0, 0]
    assert more == pytest.approx(200.0, rel=1e-9)
    # at the very end of the horizon nobody buys
    last_day = draw_ledger_by_hand(
        calendar=0.001, market={"longest_life": 10.0}, money=packs_for(100.0)
    )
    at_end = run_draw_ledgers(last_day, middle(), expected_failures=True)
    assert at_end.total_cost[0, 0] == pytest.approx(kept.total_cost[0, 0], rel=1e-9)


def test_life_factors_multiply_their_own_part() -> None:
    by_hand = draw_ledger_by_hand(calendar=0.05, cycle=0.04)
    found = run_draw_ledgers(by_hand, middle(("cycle_life", 2.0), ("calendar_life", 0.5)))
    assert found.first_life[0, 0] == pytest.approx(0.3 / (0.05 / 0.5 + 0.04 / 2.0), rel=1e-9)


def test_cost_in_closed_form() -> None:
    """Replaced at 4 and 8 years of 10; half of the last life is left. All by hand."""
    d, i, trend = 0.06, 0.02, -0.03
    by_hand = draw_ledger_by_hand(
        calendar=0.075,
        market={
            "discount_rate": d, "inflation": i, "trend": trend, "day_price": 50.0,
            "engine_price": 0.4e-3, "resale_share": 0.25,
        },
        money={
            **packs_for(1000.0, tax=1.2),
            "first_work": 200.0 + 80.0 + 90.0, "first_other": 60.0 - 30.0,
            "swap_work": 40.0, "swap_other": 60.0 + 15.0, "disposal": 15.0,
            "yearly_work": 12.0, "yearly_other": -9.0,
        },
        engine_wh=100e3, unserved_days=2.0,
    )  # fmt: skip
    later = 1.1
    found = run_draw_ledgers(by_hand, middle(("later_pack_price", later)), expected_failures=True)
    wanted = 1200.0 + 60.0 + 200.0 + 80.0 + 90.0 - 30.0
    for t in (4.0, 8.0):
        packs = 1200.0 * later * ((1 + i) * (1 + trend)) ** t
        wanted += (packs + (60.0 + 15.0 + 40.0) * (1 + i) ** t) / (1 + d) ** t
    for t in range(1, 11):
        wanted += (100.0 * 0.4 + 2.0 * 50.0 + 12.0 - 9.0) * ((1 + i) / (1 + d)) ** t
    resale = 1000.0 * later * ((1 + i) * (1 + trend)) ** 10 * 0.25 * 0.5
    wanted += (15.0 * (1 + i) ** 10 * 0.5 - resale) / (1 + d) ** 10
    assert found.total_cost[0, 0] == pytest.approx(wanted, rel=1e-9)


# --- failures that happen --------------------


def test_poisson_sampler_is_scipys() -> None:
    u = np.linspace(0.0005, 0.9995, 400)
    for mean in (0.0, 0.02, 0.7, 4.0, 30.0):
        ours = [_poisson(mean, float(x)) for x in u]
        assert ours == stats.poisson.ppf(u, mean).astype(int).tolist()


@pytest.mark.parametrize("batch_spread", [0.0, 0.5])
def test_failures_happen_as_often_as_expected(batch_spread: float) -> None:
    posterior = GammaRate(2.0, 40.0)  # 0.05 a pack and year
    by_hand = replace(draw_ledger_by_hand(packs=4, rates=posterior), batch_spread=batch_spread)
    found = run_draw_ledgers(by_hand, one(draws=4000)).failures[0]
    expected = 4 * 0.05 * 10
    assert found.mean() == pytest.approx(expected, abs=4.0 * found.std() / np.sqrt(found.size))
    assert np.array_equal(found, np.round(found))
    # Poisson given the rate; a Gamma rate adds its own variance, and the batch its share:
    # Var = E + (4 x 10)^2 Var(rate), Var(rate) = m^2 ((1 + 1/a)(1 + s^2) - 1)
    spread = (1 + 1 / 2.0) * (1 + batch_spread**2) - 1
    assert found.var() == pytest.approx(expected + expected**2 * spread, rel=0.15)


def test_expected_failures_are_the_mean_rate() -> None:
    by_hand = draw_ledger_by_hand(packs=4, rates=GammaRate(2.0, 40.0))
    found = run_draw_ledgers(by_hand, one(draws=3), expected_failures=True)
    np.testing.assert_allclose(found.failures, 2.0, rtol=1e-12)


def test_each_failure_costs_its_pack_and_the_rest() -> None:
    by_hand = replace(
        draw_ledger_by_hand(
            rates=GammaRate(1e6, 1e6 / 0.3), failing=1, money={"pack_price": 500.0}
        ),
        failure_costs=by_age(one_pack=0.8, one_other=70.0, one_outage=20.0),
    )
    draws = replace(one(draws=200), common=middle().common.repeat(200, axis=0))
    draws.common[:, INPUTS.index("day_without_power")] = 1.5
    found = run_draw_ledgers(by_hand, draws)
    assert found.failures.std() > 1.0
    each = 500.0 * 0.8 + 70.0 + 20.0 * 0.5
    np.testing.assert_allclose(found.total_cost, found.failures * each, rtol=1e-9)


def by_age(horizon: int = 10, **columns: float | list[float]) -> FloatArray:
    """Costs of a failure by age, shape (1, horizon, columns), the same at every age or listed."""
    table = np.zeros((1, horizon, len(BY_AGE)))
    for name, values in columns.items():
        table[0, :, BY_AGE.index(name)] = values
    return table


def test_age_starts_anew_with_each_bank() -> None:
    """Worn every 4 years, failing only in its third year: two whole such years in ten (ages at
    mid-year 0.5, 1.5, 2.5, 3.5, 0.5, ...), and the third bank is 1.5 years old in the last."""
    hazard = np.zeros((1, 10))
    hazard[0, 2] = 1.0
    by_hand = replace(
        draw_ledger_by_hand(calendar=0.075, rates=GammaRate(1e6, 1e6 / 0.3)), hazard=hazard
    )
    found = run_draw_ledgers(by_hand, middle(), expected_failures=True)
    assert found.failures[0, 0] == pytest.approx(2 * 0.3, rel=1e-9)


# --- common random numbers --------------------


def test_same_seed_same_bytes(otterbank: Study) -> None:
    inputs = otterbank.plain()
    first, second = (run_draw_ledgers(inputs, otterbank.drawn(50)).total_cost for _ in range(2))
    assert first.tobytes() == second.tobytes()
    assert not np.array_equal(
        first, run_draw_ledgers(inputs, otterbank.drawn(50, seed=2)).total_cost
    )


def test_a_lane_does_not_depend_on_its_neighbours(otterbank: Study) -> None:
    """Threads and order change nothing: alone, an arrangement costs what it does in the case."""
    inputs = otterbank.plain()
    whole = run_draw_ledgers(inputs, otterbank.drawn(50)).total_cost
    for row in (0, 5):
        alone = run_draw_ledgers(only(inputs, [row]), otterbank.drawn(50)).total_cost
        assert alone.tobytes() == whole[[row]].tobytes()


def only(inputs: DrawLedgerInputs, rows: list[int]) -> DrawLedgerInputs:
    surface = inputs.response
    return replace(
        inputs,
        money=inputs.money[rows],
        response=replace(surface, values=surface.values[rows]),
        failures=tuple(inputs.failures[row] for row in rows),
        failure_costs=inputs.failure_costs[rows],
        hazard=inputs.hazard[rows],
        candidate=inputs.candidate[rows],
    )


def test_identical_arrangements_cost_the_same_in_every_draw(otterbank: Study) -> None:
    twins = only(otterbank.plain(), [3, 3])
    first, second = run_draw_ledgers(twins, otterbank.drawn(200)).total_cost
    assert np.array_equal(first, second)
    assert first.std() > 0.0


def test_differences_are_sharper_than_with_draws_of_their_own(otterbank: Study) -> None:
    """Two banks share prices, rates, use and weather; two of one model share luck and failures."""
    inputs = otterbank.plain()
    common = run_draw_ledgers(inputs, otterbank.drawn(1000)).total_cost
    other = run_draw_ledgers(inputs, otterbank.drawn(1000, seed=9)).total_cost

    def sharpening(a: int, b: int) -> float:
        return float((common[a] - common[b]).std() / (common[a] - other[b]).std())

    pairs = [(a, b) for a in range(12) for b in range(a)]
    alike = np.array([inputs.candidate[a] == inputs.candidate[b] for a, b in pairs])
    found = np.array([sharpening(a, b) for a, b in pairs])
    assert sum(alike) >= 2
    # models have luck of their own, which nothing shares: 4 % is two standard errors
    assert found.max() < 1.04
    assert np.median(found[alike]) < 0.8
    assert found[alike].max() < 0.96
    assert found.mean() < 0.95


def test_standard_error_falls_with_more_draws(otterbank: Study) -> None:
    """Stratified draws scatter no more than sigma / sqrt(n)."""
    inputs = only(otterbank.plain(), [0])
    means = [
        run_draw_ledgers(inputs, otterbank.drawn(100, seed=s)).total_cost.mean() for s in range(60)
    ]
    sigma = run_draw_ledgers(inputs, otterbank.drawn(4000)).total_cost.std()
    # a standard deviation of 60 samples is known to 9 %: three of them
    assert np.std(means) < sigma / np.sqrt(100) * 1.27


# --- what must not turn around --------------------


def test_wider_spreads_give_a_wider_band() -> None:
    by_hand = draw_ledger_by_hand(calendar=0.075, money=packs_for(1000.0))
    tight, wide = (
        run_draw_ledgers(
            by_hand,
            one(draws=500, spreads=Spreads(pack_price=Factor(low=1 / x, high=x))),
        ).total_cost[0]
        for x in (1.05, 1.6)
    )
    assert np.ptp(np.quantile(wide, [0.1, 0.9])) > np.ptp(np.quantile(tight, [0.1, 0.9]))


def test_no_spread_no_band() -> None:
    sure = {
        name: (Shift if name in ("discount_rate", "inflation") else Factor)(
            low=0.0 if name in ("discount_rate", "inflation") else 1.0,
            high=0.0 if name in ("discount_rate", "inflation") else 1.0,
        )
        for name in Spreads.model_fields
    }
    by_hand = draw_ledger_by_hand(calendar=0.075, money=packs_for(1000.0))
    found = run_draw_ledgers(by_hand, one(draws=20, spreads=Spreads(**sure))).total_cost  # type: ignore[arg-type]
    np.testing.assert_allclose(
        found,
        run_draw_ledgers(by_hand, middle(), expected_failures=True).total_cost[0, 0],
        rtol=1e-12,
    )


def test_longer_life_never_costs_more() -> None:
    """Where a bank's age and health cost nothing else, and packs do not get cheaper faster than
    money is discounted."""
    by_hand = draw_ledger_by_hand(
        calendar=0.05, cycle=0.03, market={"discount_rate": 0.05, "resale_share": 0.3},
        money={**packs_for(1000.0), "swap_work": 50.0, "swap_other": 10.0, "disposal": 10.0},
    )  # fmt: skip
    for name in ("cycle_life", "calendar_life"):
        costs = [
            run_draw_ledgers(by_hand, middle((name, float(x))), expected_failures=True).total_cost[
                0, 0
            ]
            for x in np.linspace(0.3, 3.0, 109)
        ]
        assert (np.diff(costs) < 1e-9).all(), name


def test_more_failures_never_cost_less(otterbank: Study) -> None:
    """In every draw, where packs are replaced one by one. Where all are bought anew a failure may
    come in time to save a replacement, so that the mean alone must not fall."""
    inputs, draws = otterbank.plain(), otterbank.drawn(300)
    worse = replace(inputs, hazard=2.0 * inputs.hazard)
    assert (run_draw_ledgers(worse, draws).total_cost.mean(axis=1)
            > run_draw_ledgers(inputs, draws).total_cost.mean(axis=1)).all()  # fmt: skip
    never = inputs.failure_costs.copy()
    never[:, :, BY_AGE.index("gone")] = 0.0
    money = inputs.money.copy()
    money["packs"] = 2.0
    base, more = (
        run_draw_ledgers(replace(i, failure_costs=never, money=money), draws)
        for i in (inputs, worse)
    )
    assert (more.failures >= base.failures).all()
    assert (more.failures > base.failures).any()
    assert (more.total_cost >= base.total_cost - 1e-9).all()


# --- claims that are honoured or not --------------------


def claiming(honoured: float = 0.6) -> DrawLedgerInputs:
    by_hand = draw_ledger_by_hand(
        rates=GammaRate(1e6, 1e6 / 0.3), failing=1,
        money={"pack_price": 500.0, "honoured": honoured},
    )  # fmt: skip
    table = by_age(one_pack=1.0 - honoured, one_other=70.0, one_refund=1.0)
    return replace(by_hand, failure_costs=table)


def still(count: int, seed: int = 1) -> Draws:
    """Draws of failures and claims alone."""
    return replace(one(draws=count, seed=seed), common=middle().common.repeat(count, axis=0))


def test_a_claim_is_honoured_or_it_is_not() -> None:
    found = run_draw_ledgers(claiming(), still(4000))
    once = found.failures[0] == 1.0
    # all of the pack back, or nothing, and 70 besides
    assert set(np.round(found.total_cost[0, once], 6)) == {70.0, 570.0}
    share = (found.total_cost[0, once] < 100.0).mean()
    assert share == pytest.approx(0.6, abs=4.0 * np.sqrt(0.24 / once.sum()))


def test_drawing_claims_leaves_the_mean_and_widens_the_band() -> None:
    draws = still(20_000)
    drawn, at_mean = (
        run_draw_ledgers(claiming(), d).total_cost[0] for d in (draws, replace(draws, claim_u=None))
    )
    difference = drawn - at_mean
    assert difference.std() > 100.0
    assert difference.mean() == pytest.approx(0.0, abs=4.0 * difference.std() / 20_000**0.5)
    assert drawn.std() > 1.05 * at_mean.std()


@pytest.mark.parametrize("honoured", [0.0, 1.0])
def test_a_certain_answer_is_its_own_mean(honoured: float) -> None:
    draws = still(300)
    drawn, at_mean = (
        run_draw_ledgers(claiming(honoured), d).total_cost
        for d in (draws, replace(draws, claim_u=None))
    )
    np.testing.assert_allclose(drawn, at_mean, rtol=1e-12)


def test_two_banks_of_one_model_meet_the_same_answers(otterbank: Study) -> None:
    draws = otterbank.drawn(300)
    results = otterbank.comparison.results
    warranted = next(k for k, r in enumerate(results) if r.failures.warranty_share.max() > 0.0)
    twins = only(otterbank.plain(), [warranted, warranted])
    first, second = run_draw_ledgers(twins, draws).total_cost
    assert np.array_equal(first, second)
    assert not np.array_equal(
        first, run_draw_ledgers(twins, replace(draws, claim_u=None)).total_cost[0]
    )
