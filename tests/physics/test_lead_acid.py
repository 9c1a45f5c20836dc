import math

import numpy as np
import pytest

from tco.physics.lead_acid import ieee485_temperature_factor, peukert_capacity_factor

BATTERY = {"capacity_ah": 100.0, "rated_hours": 20.0, "exponent": 1.2}


def test_rated_point():
    assert peukert_capacity_factor(5.0, **BATTERY) == 1.0


def test_exponent_one_has_no_rate_effect():
    assert peukert_capacity_factor(50.0, **{**BATTERY, "exponent": 1.0}) == 1.0


def test_factor_never_above_one_and_fine_at_rest():
    assert peukert_capacity_factor([0.0, 0.01, 4.9], **BATTERY).tolist() == [1.0, 1.0, 1.0]


def test_array_equals_scalar_and_falls():
    current = np.linspace(5.0, 200.0, 40)
    values = peukert_capacity_factor(current, **BATTERY)
    one_by_one = [peukert_capacity_factor(i, **BATTERY) for i in current]
    np.testing.assert_allclose(values, one_by_one, rtol=1e-14)
    assert np.all(np.diff(values) < 0.0)


def test_bad_peukert():
    with pytest.raises(ValueError, match="current_a"):
        peukert_capacity_factor([1.0, -1.0], **BATTERY)
    for name in ("capacity_ah", "rated_hours", "exponent"):
        for bad in (0.0, math.nan, math.inf):
            with pytest.raises(ValueError, match=name):
                peukert_capacity_factor(10.0, **{**BATTERY, name: bad})


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
