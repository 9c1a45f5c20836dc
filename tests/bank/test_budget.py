"""The energy budget against tables worked out by hand."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tco.bank.budget import capacity_needed_wh, energy_budget, peak_demand
from tco.case import Case

Build = Callable[..., Case]

INVERTER = {"continuous_w": 1000.0, "surge_w": 2000.0, "efficiency": 0.8, "idle_w": 10.0}


def load(name: str = "thing", **changes: Any) -> dict[str, Any]:
    return {"name": name, "power_w": 100.0, "hours_per_day": 1.0, "when": "0-24", **changes}


def inverter_case(plain_case: Build, *loads: dict[str, Any], **inverter: Any) -> Case:
    return plain_case(system={"inverter": {**INVERTER, **inverter}}, loads=list(loads))


# ---------------------------------------------------------------- energy


def test_a_load_is_spread_evenly_over_its_window(plain_case: Build) -> None:
    budget = energy_budget(plain_case())  # 20 W for 5 h between 17 and 22
    expected = np.zeros((12, 24))
    expected[:, 17:22] = 20.0
    np.testing.assert_allclose(budget.essential_w, expected)
    np.testing.assert_allclose(budget.daily_wh, 100.0)
    assert not budget.other_w.any()
    assert not budget.away_w.any()


def test_two_hours_in_a_window_of_four_are_half_the_power_in_each(plain_case: Build) -> None:
    budget = energy_budget(plain_case(loads=[load(hours_per_day=2, when="8-12")]))
    np.testing.assert_allclose(budget.essential_w[0, 8:12], 50.0)
    assert budget.essential_w[0].sum() == pytest.approx(200.0)


def test_a_window_across_midnight_fills_both_ends_of_the_day(plain_case: Build) -> None:
    budget = energy_budget(plain_case(loads=[load(hours_per_day=4, when="22-2")]))
    row = budget.essential_w[5]
    assert list(np.flatnonzero(row)) == [0, 1, 22, 23]
    np.testing.assert_allclose(row[[0, 1, 22, 23]], 100.0)


def test_half_hours_at_the_edges_of_a_window_carry_half(plain_case: Build) -> None:
    budget = energy_budget(plain_case(loads=[load(hours_per_day=2, when="8:30-10:30")]))
    np.testing.assert_allclose(budget.essential_w[0, 8:11], [50.0, 100.0, 50.0])


def test_months_of_a_load_and_the_worst_month(plain_case: Build) -> None:
    budget = energy_budget(plain_case(loads=[load(months="Nov-Jan"), load("always", power_w=5.0)]))
    expected = np.full(12, 5.0)
    expected[[10, 11, 0]] = 105.0
    np.testing.assert_allclose(budget.daily_wh, expected)
    assert budget.worst_month == 0


def test_quantity_multiplies_energy_and_at_once_does_not(plain_case: Build) -> None:
    budget = energy_budget(plain_case(loads=[load(quantity=3, at_once=1)]))
    assert budget.daily_wh[0] == pytest.approx(300.0)


def test_a_load_in_amps_is_taken_at_the_nominal_voltage(plain_case: Build) -> None:
    amps = {"name": "amps", "current_a": 2.0, "hours_per_day": 3.0}
    assert energy_budget(plain_case(loads=[amps])).daily_wh[0] == pytest.approx(2 * 12 * 3)
    at_24 = energy_budget(plain_case(system={"nominal_voltage_v": 24}, loads=[amps]))
    assert at_24.daily_wh[0] == pytest.approx(2 * 24 * 3)


def test_the_inverter_costs_its_losses_and_idles_while_it_runs(plain_case: Build) -> None:
    budget = energy_budget(inverter_case(plain_case, load(via="inverter", hours_per_day=2)))
    # 100 W / 0.8 for two hours, and 10 W of idle draw for the same two hours
    assert budget.daily_wh[0] == pytest.approx(2 * 125.0 + 2 * 10.0)


def test_an_inverter_that_is_always_on_idles_all_day(plain_case: Build) -> None:
    budget = energy_budget(inverter_case(plain_case, load(via="inverter"), always_on=True))
    assert budget.daily_wh[0] == pytest.approx(125.0 + 24 * 10.0)


def test_an_inverter_nobody_uses_draws_nothing_unless_left_on(plain_case: Build) -> None:
    assert energy_budget(inverter_case(plain_case, load())).daily_wh[0] == pytest.approx(100.0)
    left_on = energy_budget(inverter_case(plain_case, load(), always_on=True))
    assert left_on.daily_wh[0] == pytest.approx(100.0 + 240.0)
    assert left_on.essential_w.sum() == pytest.approx(12 * 340.0)


def test_direct_loads_pay_no_inverter_losses(plain_case: Build) -> None:
    both = inverter_case(plain_case, load("direct"), load("mains", via="inverter", when="0-1"))
    assert energy_budget(both).daily_wh[0] == pytest.approx(100.0 + 125.0 + 10.0)


def test_amps_behind_the_inverter_are_already_at_the_battery(plain_case: Build) -> None:
    amps = {"name": "amps", "current_a": 5.0, "hours_per_day": 1.0, "via": "inverter"}
    budget = energy_budget(inverter_case(plain_case, amps))
    assert budget.daily_wh[0] == pytest.approx(5 * 12 + 10.0)


def test_idle_draw_is_essential_only_while_an_essential_load_runs(plain_case: Build) -> None:
    case = inverter_case(
        plain_case,
        load("needed", via="inverter", when="8-9"),
        load("nice", via="inverter", when="20-22", hours_per_day=2, essential=False),
    )
    budget = energy_budget(case)
    assert budget.essential_w[0].sum() == pytest.approx(125.0 + 10.0)
    assert budget.other_w[0].sum() == pytest.approx(250.0 + 20.0)


def test_an_inverter_always_on_for_loads_that_are_not_essential_is_not_essential_either(
    plain_case: Build,
) -> None:
    nice = load("nice", via="inverter", essential=False)
    budget = energy_budget(inverter_case(plain_case, load("direct"), nice, always_on=True))
    assert budget.essential_w[0].sum() == pytest.approx(100.0)
    assert budget.other_w[0].sum() == pytest.approx(125.0 + 240.0)
    needed = load("needed", via="inverter")
    budget = energy_budget(inverter_case(plain_case, needed, nice, always_on=True))
    assert budget.essential_w[0].sum() == pytest.approx(125.0 + 240.0)
    assert budget.other_w[0].sum() == pytest.approx(125.0)


def test_the_idle_draw_of_overlapping_loads_is_never_more_than_all_the_time(
    plain_case: Build,
) -> None:
    many = load(via="inverter", quantity=10, when="8-9")
    budget = energy_budget(inverter_case(plain_case, many))
    assert budget.daily_wh[0] == pytest.approx(10 * 125.0 + 10.0)


def test_only_away_loads_draw_when_nobody_is_there(plain_case: Build) -> None:
    alarm = load("alarm", power_w=2.0, hours_per_day=24, also_when_away=True, essential=False)
    budget = energy_budget(plain_case(loads=[load(), alarm], use={"months_in_use": "Apr-Sep"}))
    np.testing.assert_allclose(budget.away_w, 2.0)
    expected = np.where([4 <= m <= 9 for m in range(1, 13)], 148.0, 48.0)
    np.testing.assert_allclose(budget.daily_wh, expected)


def test_an_away_load_behind_the_inverter_keeps_it_idling(plain_case: Build) -> None:
    pump = load("pump", via="inverter", hours_per_day=0.5, when="0-1", also_when_away=True)
    budget = energy_budget(inverter_case(plain_case, pump))
    assert budget.away_w[3].sum() == pytest.approx(0.5 * 125.0 + 0.5 * 10.0)


def test_an_inverter_always_on_with_an_away_load_idles_all_day_when_nobody_is_there(
    plain_case: Build,
) -> None:
    pump = load("pump", via="inverter", hours_per_day=0.5, when="0-1", also_when_away=True)
    budget = energy_budget(inverter_case(plain_case, pump, load(via="inverter"), always_on=True))
    assert budget.away_w[3].sum() == pytest.approx(0.5 * 125.0 + 24 * 10.0)


def test_without_loads_there_is_no_energy(plain_case: Build) -> None:
    assert not energy_budget(plain_case(loads=[])).daily_wh.any()


# ---------------------------------------------------------------- peak


def test_loads_whose_windows_overlap_may_run_together(plain_case: Build) -> None:
    case = plain_case(
        loads=[
            load("a", power_w=100, when="8-10"),
            load("b", power_w=200, when="9-12"),
            load("c", power_w=250, when="10-12"),
        ]
    )
    demand = peak_demand(case)
    assert demand.loads_w == pytest.approx(450.0)  # b and c; a and b are only 300 W
    assert demand.names == ("b", "c")


def test_loads_of_different_months_never_meet(plain_case: Build) -> None:
    case = plain_case(loads=[load("winter", months="Dec"), load("summer", months="Jul")])
    assert peak_demand(case).loads_w == pytest.approx(100.0)


def test_a_load_of_a_month_laid_up_does_not_count_unless_it_runs_then(plain_case: Build) -> None:
    used = {"months_in_use": "Jun-Aug"}
    heater = load("heater", power_w=500, months="Jan")
    assert peak_demand(plain_case(loads=[load(), heater], use=used)).loads_w == 100.0
    frost = {**heater, "also_when_away": True}
    assert peak_demand(plain_case(loads=[load(), frost], use=used)).loads_w == 500.0


def test_a_load_that_runs_no_hours_is_no_demand(plain_case: Build) -> None:
    assert peak_demand(plain_case(loads=[load(), load("never", hours_per_day=0)])).loads_w == 100.0


def test_the_hardest_hours_of_each_side_need_not_be_one(plain_case: Build) -> None:
    """In the morning the direct loads are most, in the evening what is behind the inverter."""
    case = inverter_case(
        plain_case,
        load("heater", power_w=900, when="6-8"),
        load("radio", power_w=10, via="inverter", when="6-8"),
        load("kettle", power_w=300, via="inverter", when="18-20"),
        load("lamp", power_w=20, when="18-20"),
    )
    demand = peak_demand(case)
    assert (demand.direct_w, demand.names) == (900.0, ("heater", "radio"))
    assert (demand.behind_w, demand.behind_names) == (300.0, ("kettle",))


@pytest.mark.parametrize(("at_once", "watts"), [(None, 300.0), (1, 100.0), (2, 200.0)])
def test_at_once_limits_how_many_run_together(
    plain_case: Build, at_once: int | None, watts: float
) -> None:
    demand = peak_demand(plain_case(loads=[load(quantity=3, at_once=at_once)]))
    assert demand.loads_w == pytest.approx(watts)


def test_the_largest_single_start_counts_once(plain_case: Build) -> None:
    case = plain_case(loads=[load("pump", surge_w=400), load("fridge", surge_w=250), load("lamp")])
    demand = peak_demand(case)
    assert demand.loads_surge_w == pytest.approx(300.0 + 300.0)
    assert demand.starting == "pump"


def test_a_start_comes_on_top_of_what_its_own_piece_takes_and_of_all_that_runs(
    plain_case: Build,
) -> None:
    """Three pumps of 100 W run, one of them starts at 250 W: 200 W of the others and 250 W."""
    pumps = load("pump", quantity=3, surge_w=250)
    demand = peak_demand(plain_case(loads=[pumps]))
    assert (demand.loads_w, demand.loads_surge_w) == (300.0, pytest.approx(200.0 + 250.0))
    assert demand.starting == "pump"
    behind = peak_demand(inverter_case(plain_case, {**pumps, "via": "inverter"}))
    assert behind.behind_surge_w == pytest.approx(200.0 + 250.0)
    assert behind.loads_surge_w == pytest.approx(450.0 / 0.8)


def test_the_name_that_starts_belongs_to_the_worst_start(plain_case: Build) -> None:
    case = plain_case(
        loads=[
            load("heater", power_w=500, when="8-9"),
            load("saw", power_w=300, surge_w=2000, when="12-13"),
        ]
    )
    demand = peak_demand(case)
    assert (demand.loads_w, demand.names) == (500.0, ("heater",))
    assert (demand.loads_surge_w, demand.starting) == (2000.0, "saw")


def test_the_inverter_passes_no_more_than_its_ratings(plain_case: Build) -> None:
    case = inverter_case(
        plain_case,
        load("lamp", power_w=50),
        load("kettle", power_w=900, via="inverter"),
        load("saw", power_w=600, surge_w=3000, via="inverter"),
    )
    demand = peak_demand(case)
    assert demand.loads_w == pytest.approx(50 + 1000 / 0.8)
    assert demand.loads_surge_w == pytest.approx(50 + 2000 / 0.8)
    assert demand.inverter_w == pytest.approx(50 + 1000 / 0.8)
    assert demand.over_inverter_w == pytest.approx(500.0)
    assert demand.behind_w == pytest.approx(1500.0)
    assert demand.behind_surge_w == pytest.approx(900 + 3000)
    assert demand.behind_names == ("kettle", "saw")


def test_a_start_on_the_direct_side_adds_to_what_the_inverter_carries(plain_case: Build) -> None:
    case = inverter_case(
        plain_case,
        load("winch", power_w=100, surge_w=900),
        load("mixer", power_w=80, surge_w=160, via="inverter"),
    )
    demand = peak_demand(case)
    assert demand.loads_surge_w == pytest.approx(900 + 80 / 0.8)
    assert demand.starting == "winch"


def test_an_inverter_alone_still_asks_for_its_rating(plain_case: Build) -> None:
    demand = peak_demand(inverter_case(plain_case))
    assert (demand.loads_w, demand.inverter_w) == (0.0, pytest.approx(1250.0))
    assert demand.inverter_surge_w == pytest.approx(2500.0)


def test_amps_behind_the_inverter_reach_its_output_less_the_losses(plain_case: Build) -> None:
    amps = {"name": "amps", "current_a": 50.0, "hours_per_day": 1.0, "via": "inverter"}
    demand = peak_demand(inverter_case(plain_case, amps))
    assert demand.behind_w == pytest.approx(50 * 12 * 0.8)
    assert demand.loads_w == pytest.approx(50 * 12)


def test_no_loads_no_demand(plain_case: Build) -> None:
    demand = peak_demand(plain_case(loads=[]))
    assert demand.loads_w == demand.loads_surge_w == demand.inverter_w == 0.0
    assert demand.names == ()


# ---------------------------------------------------------------- size by hand


@pytest.mark.parametrize("field", ["usable_depth", "temperature_factor", "rate_factor", "health"])
def test_a_factor_of_zero_is_refused(field: str) -> None:
    with pytest.raises(ValueError, match="above zero"):
        capacity_needed_wh(100.0, **{"autonomy_days": 2.0, "usable_depth": 0.5, field: 0.0})


def test_each_factor_divides() -> None:
    plain = capacity_needed_wh(100.0, autonomy_days=3.0, usable_depth=1.0)
    assert plain == pytest.approx(300.0)
    for field in ("temperature_factor", "rate_factor", "health"):
        half = capacity_needed_wh(100.0, autonomy_days=3.0, usable_depth=1.0, **{field: 0.5})
        assert half == pytest.approx(600.0)
