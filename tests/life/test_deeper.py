"""Over whole years: deeper cycles never make a bank last longer."""

import dataclasses
from collections.abc import Callable

import numpy as np
import pytest

from tco.bank.arrangements import Arrangement
from tco.bank.bank import Bank
from tco.bank.budget import energy_budget
from tco.case import Case, specify
from tco.life.conditions import conditions
from tco.life.health import live
from tco.life.year import year_profiles
from tco.physics.chemistry import CHEMISTRIES


@pytest.mark.parametrize("chemistry", sorted(CHEMISTRIES))
def test_deeper_years_never_last_longer(plain_case: Callable[..., Case], chemistry: str) -> None:
    """The same bank under a sun that always fills it again, and a load of up to six times.

    More wear in a year, more of it for each full cycle, and so a shorter life. The calendar's
    share is held at that of the shallowest year: a bank that rests less full may age less by it.
    """
    volts = {"lfp": 12.8, "nmc": 14.6, "lto": 11.5}.get(chemistry, 12.0)
    case = plain_case(
        candidate={"chemistry": chemistry, "nominal_voltage_v": volts, "mass_kg": 40.0}
    )
    made = conditions(case, energy_budget(case))
    sunny = dataclasses.replace(made, solar_w=6.0 * made.solar_w)
    years = []
    for times in (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0):
        loads = {"essential_w": times * made.essential_w, "other_w": times * made.other_w}
        hours = dataclasses.replace(sunny, **loads)
        years.append(
            year_profiles(
                [Bank(Arrangement(specify(case.candidates[0]), 1, 1))], hours, case.assumptions
            )
        )
    lowest, wear, cycles = (
        np.array([year.totals[name][0, 0] for year in years])
        for name in ("lowest_charge", "cycle_stress", "full_cycles")
    )
    assert np.all(np.diff(lowest) < 0.0)
    assert lowest[0] - lowest[-1] > 0.4  # deep enough to tell
    assert np.all(np.diff(wear) > 0.0)
    assert np.all(np.diff(wear / cycles) > 0.0)
    lives = []
    for year in years:
        totals = {**year.totals, "calendar_stress": years[0].totals["calendar_stress"]}
        held = dataclasses.replace(year, totals=totals)
        (life,) = live(
            held, horizon_years=3.0, end_of_life_health=0.7, tolerated_hours=1e9,
            replacement_price=1.0, day_price=0.0,
        )  # fmt: skip
        lives.append(life.health)
    assert np.all(np.diff(np.array(lives), axis=0) <= 0.0)
    assert np.all(lives[-1] < lives[0])
