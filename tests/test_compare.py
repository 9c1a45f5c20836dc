"""The whole way from a case to a ranked comparison."""

import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tco.case import Case, read_case
from tco.compare import Comparison, compare
from tco.life.records import bought_wh
from tco.result import Result

Build = Callable[..., Case]
DEMO = Path(__file__).parent.parent / "candidates_demo"


@cache
def demo(name: str = "otterbank") -> Comparison:
    return compare(read_case(DEMO / f"{name}.toml"))


def candidate(plain_case: Build, **changes: Any) -> dict[str, Any]:
    stated = plain_case().candidates[0].model_dump(exclude_none=True)
    return {**stated, **changes}


def single(case: Case) -> Result:
    return compare(case).results[0]


# ---------------------------------------------------------------- rank


@pytest.mark.parametrize("name", ["otterbank", "larch_hut", "coldharbour"])
def test_rank_verified_first_then_unknown_then_by_failures(name: str) -> None:
    results = demo(name).results

    def key(result: Result) -> tuple[int, int, float]:
        failed = len(result.screening.failures())
        verified = result.screening.verified
        return (2 if failed else 0 if verified else 1), failed, result.measures.total_cost

    keys = [key(result) for result in results]
    assert keys == sorted(keys)
    assert {group for group, _, _ in keys} >= {0, 2}


def test_the_best_is_the_cheapest_of_the_verified() -> None:
    best = demo().best
    assert best is not None
    verified = [r for r in demo().results if r.screening.verified]
    assert best.measures.total_cost == min(r.measures.total_cost for r in verified)


def test_results_are_found_by_their_label() -> None:
    for result in demo().results:
        assert demo().result(result.arrangement.label) is result
    with pytest.raises(KeyError, match="no such bank"):
        demo().result("no such bank")


# ---------------------------------------------------------------- table


def test_the_table_repeats_the_results() -> None:
    comparison = demo()
    table = comparison.table
    assert len(table) == len(comparison.results)
    assert list(table["rank"]) == list(range(1, len(table) + 1))
    for row, result in zip(table.to_dict("records"), comparison.results, strict=True):
        arrangement = result.arrangement
        assert row["arrangement"] == arrangement.label
        assert row["packs"] == row["series"] * row["parallel"] == arrangement.packs
        assert row["feasible"] == result.screening.feasible
        assert bool(row["ruled_out_by"]) != row["feasible"]
        assert row["total_cost"] == result.measures.total_cost
        assert row["usable_kwh"] == pytest.approx(arrangement.usable_wh / 1000)
        assert row["wh_per_kg"] == pytest.approx(arrangement.energy_wh / arrangement.mass_kg)
        packs = arrangement.pack.price * arrangement.packs
        assert row["price_per_usable_kwh"] == pytest.approx(packs / row["usable_kwh"])
        assert row["bought_kwh_per_year"] == pytest.approx(bought_wh(result.year) / 1000)
        assert row["hours_any_load_short_per_year"] == result.year["hours_any_load_short"]
        assert row["hours_without_power_per_year"] == result.year["hours_without_power"]


def test_no_number_of_the_table_is_out_of_reason() -> None:
    numbers = demo().table.select_dtypes("number")
    assert not numbers.drop(columns=["wh_per_l"]).isna()["total_cost"].any()
    finite = numbers.fillna(0.0).to_numpy(dtype=float)
    assert np.isfinite(finite).all()
    assert (numbers["total_cost"] > 0).all()
    assert (numbers["hours_any_load_short_per_year"].between(0, 8760)).all()


def test_the_same_case_gives_the_same_table_twice() -> None:
    first = demo().table
    second = compare(read_case(DEMO / "otterbank.toml")).table
    pd.testing.assert_frame_equal(first, second, check_exact=True)


def test_measures_come_from_the_ledger() -> None:
    for result in demo().results:
        total = sum(row.present for row in result.ledger)
        assert result.measures.total_cost == pytest.approx(total)
        today = sum(row.amount for row in result.ledger if row.year == 0.0)
        assert result.measures.first_cost == pytest.approx(today)


def test_each_replacement_of_a_life_is_in_its_ledger() -> None:
    found = 0
    for result in demo().results:
        years = [row.year for row in result.ledger if row.item == "replacement packs"]
        assert years == [r.year for r in result.life.replacements]
        found += len(years)
    assert found > 0


# ---------------------------------------------------------------- small cases


def test_without_candidates_there_is_no_answer_and_no_error(plain_case: Build) -> None:
    comparison = compare(plain_case(candidates=[]))
    assert comparison.results == ()
    assert comparison.best is None
    assert len(comparison.table) == 0
    assert comparison.budget.daily_wh[0] == pytest.approx(100.0)


def test_one_candidate_is_the_best(plain_case: Build) -> None:
    comparison = compare(plain_case())
    assert len(comparison.results) == 1
    assert comparison.best is comparison.results[0]
    assert comparison.table["rank"].tolist() == [1]


def test_all_ruled_out_leaves_them_visible_without_a_best(plain_case: Build) -> None:
    comparison = compare(plain_case(system={"mass_limit_kg": 1.0}))
    assert comparison.best is None
    assert comparison.table["ruled_out_by"].tolist() == ["mass"]


def test_what_cannot_be_wired_is_ruled_out_and_still_priced(plain_case: Build) -> None:
    case = plain_case(system={"cable_run_m": 90.0}, load={"power_w": 900.0, "hours_per_day": 0.1})
    result = single(case)
    assert result.wiring is None
    assert "wiring" in {c.key for c in result.screening.failures()}
    assert result.measures.first_cost == pytest.approx(420.0)  # packs and freight
    assert compare(case).table["wiring_cost"].isna().all()


def test_a_pack_without_dimensions_has_no_density_and_comes_after_one_with(
    plain_case: Build,
) -> None:
    known = candidate(plain_case, name="known", price=900.0)
    unknown = candidate(plain_case, name="unknown", price=100.0)
    del unknown["width_mm"]
    comparison = compare(plain_case(candidates=[unknown, known]))
    assert [r.arrangement.pack.name for r in comparison.results] == ["known", "unknown"]
    assert comparison.results[1].wh_per_l is None
    assert comparison.results[0].wh_per_l == pytest.approx(1280 / (330 * 172 * 215 / 1e6))


# ---------------------------------------------------------------- what must follow from what


def test_twice_the_price_costs_more_by_what_packs_cost(plain_case: Build) -> None:
    once, twice = single(plain_case()), single(plain_case(candidate={"price": 800.0}))
    assert twice.measures.first_cost - once.measures.first_cost == pytest.approx(400.0)
    assert twice.measures.total_cost > once.measures.total_cost
    assert twice.life.first_life_years == once.life.first_life_years


def test_no_loads_deliver_nothing(plain_case: Build) -> None:
    result = single(plain_case(loads=[]))
    assert result.measures.cost_per_kwh is None
    assert result.year["delivered_wh"] == 0.0
    assert result.year["unserved_wh"] == 0.0


def test_without_any_charging_the_bank_runs_flat(plain_case: Build) -> None:
    result = single(plain_case(sources={"solar": []}))
    assert result.year["hours_without_power"] > 1000
    assert "hours_without_power" in {c.key for c in result.screening.failures()}


def test_more_solar_never_leaves_more_hours_without_power(plain_case: Build) -> None:
    panel = plain_case().sources.solar[0].model_dump()
    hours = []
    for watts in (20.0, 50.0, 100.0, 400.0):
        case = plain_case(sources={"solar": [{**panel, "peak_w": watts, "controller_a": 60.0}]})
        hours.append(single(case).year["hours_any_load_short"])
    assert hours == sorted(hours, reverse=True)
    assert hours[0] > hours[-1]


def test_a_dear_day_without_power_costs_only_those_who_have_them(plain_case: Build) -> None:
    def cost(price: float, watts: float) -> float:
        panel = {**plain_case().sources.solar[0].model_dump(), "peak_w": watts}
        found = single(
            plain_case(sources={"solar": [panel]}, prices={"day_without_power_price": price})
        )
        # days lost to a failed pack are another matter: they grow dear for all
        return sum(row.present for row in found.ledger if row.item != "failures")

    assert cost(200.0, 20.0) > cost(20.0, 20.0)
    assert cost(200.0, 400.0) == pytest.approx(cost(20.0, 400.0))


def test_cheap_or_premium_turns_with_the_years_of_use(plain_case: Build) -> None:
    """A premium pack of twice the price and a long life loses over two years and wins over 25."""
    common = {"calendar_life_years": 4.0, "rated_cycles": 1000.0}
    cheap = candidate(plain_case, name="cheap", price=500.0, **common)
    premium = candidate(
        plain_case, name="premium", price=1000.0, calendar_life_years=25.0, rated_cycles=8000.0
    )

    def winner(years: int) -> str:
        case = plain_case(
            candidates=[cheap, premium],
            assumptions={"horizon_years": years, "resale_share": 0.0},
        )
        best = compare(case).best
        assert best is not None
        return best.arrangement.pack.name

    assert winner(2) == "cheap"
    assert winner(25) == "premium"


def test_progress_runs_from_nought_to_one(plain_case: Build) -> None:
    seen: list[tuple[float, str]] = []
    compare(plain_case(), progress=lambda share, what: seen.append((share, what)))
    shares = [share for share, _ in seen]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(what for _, what in seen)


def test_a_trace_follows_every_hour(plain_case: Build) -> None:
    comparison = compare(plain_case())
    trace = comparison.trace(comparison.results[0])
    assert trace.charge.shape == trace.degc.shape == (8760,)
    assert trace.charge.min() >= 0.0
    assert trace.charge.max() <= 1.0 + 1e-9


def test_habits_ahead_start_from_the_life_of_the_result() -> None:
    """With all the wiring renewed at a replacement, which makes need replace later."""
    case = read_case(DEMO / "otterbank.toml")
    dear = case.assumptions.model_copy(update={"rewired_share": 1.0})
    got = compare(case.model_copy(update={"assumptions": dear}))
    advised = 0
    for result in got.results:
        if result.feasible:
            for advice in got.years_ahead(result).habits:
                assert advice.years == pytest.approx(result.life.first_life_years, abs=1e-9)
                advised += 1
    assert advised > 2


def test_the_required_current_is_of_the_hardest_moment(plain_case: Build) -> None:
    assert compare(plain_case()).required_current_a == pytest.approx(20.0 / 10.5)


def test_the_engine_imports_no_front_end() -> None:
    code = (
        "import sys, tco.compare\n"
        "bad = {'streamlit', 'altair', 'openpyxl', 'matplotlib'} & set(sys.modules)\n"
        "sys.exit(repr(bad) if bad else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
