import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.physics.lead_acid import (
    float_life_years,
    ieee485_temperature_factor,
    peukert_capacity_factor,
    peukert_exponent_from_reserve,
    peukert_hours,
)

BATTERY = {"capacity_ah": 100.0, "rated_hours": 20.0, "exponent": 1.2}


def test_rated_point():
    assert peukert_hours(5.0, **BATTERY) == 20.0
    assert peukert_capacity_factor(5.0, **BATTERY) == 1.0


def test_exponent_one_has_no_rate_effect():
    ideal = {**BATTERY, "exponent": 1.0}
    assert peukert_hours(50.0, **ideal) == pytest.approx(2.0, rel=1e-14)
    assert peukert_capacity_factor(50.0, **ideal) == 1.0


@given(st.floats(5.0, 500.0), st.floats(1.0, 1.6))
def test_factor_is_the_charge_drawn_above_the_rated_current(current, exponent):
    battery = {**BATTERY, "exponent": exponent}
    drawn = current * peukert_hours(current, **battery) / 100.0
    assert peukert_capacity_factor(current, **battery) == pytest.approx(drawn, rel=1e-12)


def test_factor_never_above_one_and_fine_at_rest():
    assert peukert_capacity_factor([0.0, 0.01, 4.9], **BATTERY).tolist() == [1.0, 1.0, 1.0]


def test_array_equals_scalar_and_falls():
    current = np.linspace(5.0, 200.0, 40)
    for model in (peukert_hours, peukert_capacity_factor):
        values = model(current, **BATTERY)
        np.testing.assert_allclose(values, [model(i, **BATTERY) for i in current], rtol=1e-14)
        assert np.all(np.diff(values) < 0.0)


@given(st.floats(1.0, 1.8), st.floats(30.0, 400.0))
def test_reserve_gives_the_exponent_back(exponent, capacity):
    hours = peukert_hours(25.0, capacity_ah=capacity, rated_hours=20.0, exponent=exponent)
    found = peukert_exponent_from_reserve(capacity, reserve_minutes=60.0 * hours)
    assert found == pytest.approx(exponent, rel=1e-9)


def test_bad_peukert():
    with pytest.raises(ValueError, match="current_a"):
        peukert_hours(0.0, **BATTERY)
    with pytest.raises(ValueError, match="current_a"):
        peukert_capacity_factor([1.0, -1.0], **BATTERY)
    for name in ("capacity_ah", "rated_hours", "exponent"):
        for model in (peukert_hours, peukert_capacity_factor):
            for bad in (0.0, math.nan, math.inf):
                with pytest.raises(ValueError, match=name):
                    model(10.0, **{**BATTERY, name: bad})


def test_bad_reserve():
    with pytest.raises(ValueError, match="reserve_minutes must"):
        peukert_exponent_from_reserve(100.0, reserve_minutes=0.0)
    with pytest.raises(ValueError, match="reserve_current_a"):
        peukert_exponent_from_reserve(500.0, reserve_minutes=1000.0)  # C20 current is 25 A
    with pytest.raises(ValueError, match="contradict"):
        peukert_exponent_from_reserve(100.0, reserve_minutes=300.0)  # 125 Ah at 25 A
    with pytest.raises(ValueError, match="capacity_ah"):
        peukert_exponent_from_reserve(-1.0, reserve_minutes=100.0)


def test_temperature_factor_between_rows():
    # 45 degF, halfway from 1.300 to 1.190
    assert ieee485_temperature_factor((45.0 - 32.0) / 1.8) == pytest.approx(1.245, rel=1e-12)


def test_temperature_factor_array_equals_scalar_and_falls():
    degc = np.linspace(-20.0, 37.0, 58)
    values = ieee485_temperature_factor(degc, extrapolate=True)
    one_by_one = [ieee485_temperature_factor(t, extrapolate=True) for t in degc]
    np.testing.assert_allclose(values, one_by_one, rtol=1e-14)
    assert np.all(np.diff(values) < 0.0)


def test_extension_does_not_change_the_table():
    degc = np.linspace(4.45, 37.75, 30)
    np.testing.assert_allclose(
        ieee485_temperature_factor(degc, extrapolate=True),
        ieee485_temperature_factor(degc),
        rtol=1e-14,
    )


def test_extension_ends_as_documented():
    # -4 degF: 1.300 + (2.5 - 1.3) * 44 / 40
    assert ieee485_temperature_factor(-20.0, extrapolate=True) == pytest.approx(2.62, rel=1e-12)
    assert ieee485_temperature_factor(55.0, extrapolate=True) == 0.910


@pytest.mark.parametrize("degc", [4.4, 0.0, 37.9, math.nan, math.inf, [25.0, 0.0]])
def test_outside_the_table(degc):
    with pytest.raises(ValueError, match="temperature_degc"):
        ieee485_temperature_factor(degc)


@pytest.mark.parametrize("degc", [-20.1, math.nan, math.inf])
def test_outside_the_extension(degc):
    with pytest.raises(ValueError, match="temperature_degc"):
        ieee485_temperature_factor(degc, extrapolate=True)


def test_float_life_no_credit_for_cold_array_equals_scalar():
    degc = np.array([-30.0, 10.0, 25.0, 29.0, 50.0])
    values = float_life_years(degc, life_at_25_years=8.0)
    assert values[:3].tolist() == [8.0, 8.0, 8.0]
    assert values.tolist() == [float_life_years(t, life_at_25_years=8.0) for t in degc]
    assert values[3] == pytest.approx(8.0 / math.sqrt(2.0), rel=1e-14)


def test_bad_float_life():
    with pytest.raises(ValueError, match="life_at_25_years"):
        float_life_years(25.0, life_at_25_years=0.0)
    with pytest.raises(ValueError, match="temperature_degc"):
        float_life_years(-300.0, life_at_25_years=10.0)
