"""What every bank of a case has in common: sources serve the loads, in their order, to the watt."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.life.hourly import open_hours
from tco.life.records import HOUR, Rules

RULES = Rules(0.0, 1.0, 0.6, 4.0, np.linspace(0.7, 0.81, 12))
watts = st.floats(0.0, 3000.0)


def hour(**columns: Any) -> Any:
    made = np.zeros(1, dtype=HOUR)
    for name, value in columns.items():
        made[name] = value
    return made


def test_solar_then_engine_then_shore() -> None:
    got = open_hours(
        hour(essential_w=60.0, other_w=40.0, solar_w=30.0, engine_w=50.0, shore_w=90.0), RULES
    )
    one = got.hours[0]
    assert (got.needed_wh, got.solar_wh, got.engine_wh, got.shore_wh) == (100.0, 30.0, 50.0, 20.0)
    assert (one["open_w"], one["solar_w"], one["engine_w"], one["shore_w"]) == (0.0, 0.0, 0.0, 70.0)
    assert one["spare_w"] == 70.0


@given(watts, watts, watts, watts, watts, watts)
@settings(deadline=None)
def test_nothing_gets_lost(
    essential: float, other: float, solar: float, engine: float, shore: float, generator: float
) -> None:
    got = open_hours(
        hour(
            essential_w=essential,
            other_w=other,
            solar_w=solar,
            engine_w=engine,
            shore_w=shore,
            generator_w=generator,
        ),
        RULES,
    )
    one = got.hours[0]
    served = got.solar_wh + got.engine_wh + got.shore_wh
    assert served + one["open_w"] == pytest.approx(essential + other, abs=1e-9)
    assert served + one["spare_w"] == pytest.approx(solar + engine + shore, abs=1e-9)
    assert min(one["open_w"], one["spare_w"]) == pytest.approx(0.0, abs=1e-9)
    assert one["generator_w"] == generator  # it waits for somebody to start it


def test_how_full_by_month() -> None:
    made = np.concatenate([hour(month=month) for month in range(12)])
    ceilings = open_hours(made, RULES).hours["ceiling"]
    assert np.array_equal(ceilings, np.linspace(0.7, 0.81, 12))
