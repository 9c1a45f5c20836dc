import math

import numpy as np
import pytest

from tco.physics.arrhenius import arrhenius_factor, halving_factor, kelvin


def test_kelvin_of_the_ice_point():
    assert kelvin(0.0) == 273.15


def test_one_at_the_reference():
    assert arrhenius_factor(25.0, activation_energy_j_per_mol=17126.0) == 1.0
    assert halving_factor(25.0, halving_interval_k=8.0) == 1.0
    assert halving_factor(20.0, halving_interval_k=8.0, reference_degc=20.0) == 1.0


def test_no_activation_energy_means_no_effect():
    assert arrhenius_factor(60.0, activation_energy_j_per_mol=0.0) == 1.0


def test_arrhenius_doubles_at_the_energy_solved_by_hand():
    # exp(E/R (1/298.15 - 1/308.15)) = 2  =>  E = R ln 2 / (1/298.15 - 1/308.15)
    energy = 8.314462618 * math.log(2.0) / (1 / 298.15 - 1 / 308.15)
    factor = arrhenius_factor(35.0, activation_energy_j_per_mol=energy)
    assert factor == pytest.approx(2.0, rel=1e-12)


@pytest.mark.parametrize(("degc", "rate"), [(17.0, 0.5), (33.0, 2.0), (41.0, 4.0)])
def test_halving_steps(degc, rate):
    assert halving_factor(degc, halving_interval_k=8.0) == pytest.approx(rate, rel=1e-14)


def test_array_equals_scalar_and_rises():
    degc = np.linspace(-40.0, 80.0, 25)
    for values, one in (
        (
            arrhenius_factor(degc, activation_energy_j_per_mol=40e3),
            lambda t: arrhenius_factor(t, activation_energy_j_per_mol=40e3),
        ),
        (
            halving_factor(degc, halving_interval_k=10.0),
            lambda t: halving_factor(t, halving_interval_k=10.0),
        ),
    ):
        np.testing.assert_allclose(values, [one(t) for t in degc], rtol=1e-14)
        assert np.all(np.diff(values) > 0.0)


@pytest.mark.parametrize("degc", [-273.15, -300.0, math.nan, math.inf, [20.0, -274.0]])
def test_no_such_temperature(degc):
    with pytest.raises(ValueError, match="temperature_degc"):
        arrhenius_factor(degc, activation_energy_j_per_mol=1.0)
    with pytest.raises(ValueError, match="temperature_degc"):
        halving_factor(degc, halving_interval_k=8.0)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_bad_parameters(bad):
    with pytest.raises(ValueError, match="activation_energy"):
        arrhenius_factor(20.0, activation_energy_j_per_mol=bad)
    with pytest.raises(ValueError, match="halving_interval"):
        halving_factor(20.0, halving_interval_k=bad)


def test_zero_interval():
    with pytest.raises(ValueError, match="halving_interval"):
        halving_factor(20.0, halving_interval_k=0.0)
