import math

import numpy as np
import pytest

from tco.physics.ageing import (
    cycles_at_depth,
    damage_per_cycle,
    naumann_calendar_loss,
    naumann_calendar_rate,
    naumann_cycle_loss,
    naumann_cycle_rate,
    naumann_resistance_rate,
    schmalstieg_calendar_rate,
    wang_cycle_loss,
)

WOEHLER = {"reference_cycles": 600.0, "reference_depth": 0.8, "exponent": 1.2}


# Models: limits, shapes, directions


def test_nothing_happens_in_no_time_and_without_cycles():
    assert naumann_calendar_loss(25.0, 0.5, 0.0) == 0.0
    assert naumann_cycle_loss(1.0, 0.8, 0.0) == 0.0
    assert wang_cycle_loss(25.0, 1.0, 0.0) == 0.0
    assert damage_per_cycle(0.0, **WOEHLER) == 0.0


def test_at_half_charge_and_reference_temperature_only_the_constants_are_left():
    assert naumann_calendar_rate(25.0, 0.5) == 1.2571e-5 * 0.60225
    assert naumann_resistance_rate(25.0, 0.5) == 3.419e-10 * 1.5604


def test_square_roots():
    assert naumann_calendar_loss(30.0, 0.7, 4e6) == 2.0 * naumann_calendar_loss(30.0, 0.7, 1e6)
    assert naumann_cycle_loss(0.5, 0.7, 400.0) == 2.0 * naumann_cycle_loss(0.5, 0.7, 100.0)


def test_array_equals_scalar_and_broadcasts():
    degc, soc = np.array([[-10.0], [25.0], [45.0]]), np.array([0.0, 0.5, 1.0, 0.3])
    for model in (naumann_calendar_rate, naumann_resistance_rate):
        values = model(degc, soc)
        assert values.shape == (3, 4)
        one_by_one = [[model(t, s) for s in soc] for t in degc[:, 0]]
        np.testing.assert_allclose(values, one_by_one, rtol=1e-14)
    rates = np.array([[0.0], [0.5], [3.0]])
    values = naumann_cycle_rate(rates, soc)
    one_by_one = [[naumann_cycle_rate(c, s) for s in soc] for c in rates[:, 0]]
    np.testing.assert_allclose(values, one_by_one, rtol=1e-14)
    values = wang_cycle_loss(degc, 1.0, soc * 1000.0)
    one_by_one = [[wang_cycle_loss(t, 1.0, s * 1000.0) for s in soc] for t in degc[:, 0]]
    np.testing.assert_allclose(values, one_by_one, rtol=1e-14)


def test_more_of_it_ages_more():
    degc, share = np.linspace(-20.0, 60.0, 33), np.linspace(0.0, 1.0, 33)
    assert np.all(np.diff(naumann_calendar_rate(degc, 0.5)) > 0.0)
    # flat where the cubic has its saddle, 0.5 and 0.6
    assert np.all(np.diff(naumann_calendar_rate(25.0, share)) >= 0.0)
    assert np.all(np.diff(naumann_cycle_rate(0.5, share)) > 0.0)
    assert np.all(np.diff(naumann_cycle_rate(share, 0.8)) > 0.0)
    assert np.all(np.diff(naumann_resistance_rate(degc, 0.5)) > 0.0)
    assert np.all(np.diff(wang_cycle_loss(degc, 0.5, 1000.0)) > 0.0)
    assert np.all(np.diff(wang_cycle_loss(25.0, 0.5, share)) > 0.0)
    assert np.all(naumann_calendar_rate(25.0, share) > 0.0)
    assert np.all(naumann_cycle_rate(0.0, share) > 0.0)


def test_wang_below_half_c_counts_as_half_c():
    half = wang_cycle_loss(25.0, 0.5, 1000.0)
    assert wang_cycle_loss(25.0, 0.05, 1000.0) == half
    assert wang_cycle_loss(25.0, 0.0, 1000.0) == half


def test_wang_between_two_rates_uses_the_factor_between():
    # 1.25 C is halfway from C/2 to 2C: B = (31630 + 21681) / 2
    expected = (
        26655.5 * math.exp((-31700 + 370.3 * 1.25) / (8.314462618 * 298.15)) * 1000**0.55 / 100
    )
    assert wang_cycle_loss(25.0, 1.25, 1000.0) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("soc", [-0.01, 1.01, math.nan, 50.0])
def test_no_such_state_of_charge(soc):
    for model in (naumann_calendar_rate, naumann_resistance_rate):
        with pytest.raises(ValueError, match="soc"):
            model(25.0, soc)


def test_out_of_range():
    with pytest.raises(ValueError, match="temperature_degc"):
        naumann_calendar_rate(-300.0, 0.5)
    with pytest.raises(ValueError, match="temperature_degc"):
        naumann_resistance_rate(math.nan, 0.5)
    with pytest.raises(ValueError, match="temperature_degc"):
        wang_cycle_loss(-273.15, 0.5, 1.0)
    with pytest.raises(ValueError, match="seconds"):
        naumann_calendar_loss(25.0, 0.5, -1.0)
    with pytest.raises(ValueError, match="c_rate"):
        naumann_cycle_rate(-0.1, 0.5)
    with pytest.raises(ValueError, match="depth"):
        naumann_cycle_rate(0.5, 1.1)
    with pytest.raises(ValueError, match="full_cycles"):
        naumann_cycle_loss(0.5, 0.5, [1.0, -1.0])
    with pytest.raises(ValueError, match="c_rate"):
        wang_cycle_loss(25.0, 10.1, 1.0)
    with pytest.raises(ValueError, match="throughput"):
        wang_cycle_loss(25.0, 1.0, -1.0)


# Cycle life by depth


def test_reference_point_and_inverse():
    assert cycles_at_depth(0.8, **WOEHLER) == pytest.approx(600.0, rel=1e-14)
    depth = np.array([0.1, 0.4, 1.0])
    np.testing.assert_allclose(
        cycles_at_depth(depth, **WOEHLER) * damage_per_cycle(depth, **WOEHLER), 1.0, rtol=1e-14
    )


def test_exponent_one_keeps_the_energy_and_zero_the_cycles():
    assert cycles_at_depth(
        0.2, reference_cycles=500.0, reference_depth=0.8, exponent=1.0
    ) == pytest.approx(2000.0, rel=1e-14)
    assert cycles_at_depth(0.2, reference_cycles=500.0, reference_depth=0.8, exponent=0.0) == 500.0


@pytest.mark.parametrize("depth", [0.0, -0.1, 1.1, math.nan, [0.5, 0.0]])
def test_no_life_at_such_a_depth(depth):
    with pytest.raises(ValueError, match="depth"):
        cycles_at_depth(depth, **WOEHLER)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("reference_cycles", 0.0),
        ("reference_depth", 0.0),
        ("reference_depth", 1.5),
        ("exponent", -1.0),
        ("exponent", math.nan),
    ],
)
def test_bad_cycle_life(name, value):
    with pytest.raises(ValueError, match=name):
        damage_per_cycle(0.5, **{**WOEHLER, name: value})


def test_schmalstieg_limits():
    rate = schmalstieg_calendar_rate
    volts, degc = np.array([3.4, 3.7, 4.1]), np.array([[0.0], [25.0], [45.0]])
    table = rate(degc, volts)
    assert table.shape == (3, 3)
    assert np.all(np.diff(table, axis=0) > 0.0)
    assert np.all(np.diff(table, axis=1) > 0.0)
    assert table[1, 2] == rate(25.0, 4.1)
    # held below 3.4 V, where the law would fall to nothing
    assert rate(25.0, 3.0) == rate(25.0, 3.4) > 0.0
    for volts_out in (1.9, 4.4, np.nan):
        with pytest.raises(ValueError, match="open_circuit_v"):
            rate(25.0, volts_out)
    with pytest.raises(ValueError, match="temperature_degc"):
        rate(-300.0, 3.7)
