"""Every chemistry: its table is whole, its curves behave."""

import re
from dataclasses import fields

import numpy as np
import pytest

from tco.physics.chemistry import CHEMISTRIES, Chemistry, Datum

every = pytest.mark.parametrize("chemistry", CHEMISTRIES.values(), ids=CHEMISTRIES)


@every
def test_keys_and_families(chemistry: Chemistry) -> None:
    assert CHEMISTRIES[chemistry.key] is chemistry
    assert chemistry.family in ("lithium", "sodium", "lead")


@every
def test_every_default_names_its_source(chemistry: Chemistry) -> None:
    data = [getattr(chemistry, f.name) for f in fields(chemistry)]
    assert all(datum.source.strip() for datum in data if isinstance(datum, Datum))
    assert sum(isinstance(datum, Datum) for datum in data) > 15
    assert chemistry.capacity_source


@every
def test_capacity_is_one_at_25_degrees_and_never_grows_with_cold(chemistry: Chemistry) -> None:
    assert chemistry.capacity_fraction(25.0) == 1.0
    degc = np.arange(-60.0, 60.0)
    fraction = np.asarray(chemistry.capacity_fraction(degc))
    assert np.all(np.diff(fraction) >= 0)
    assert 0.0 < fraction[0] < 1.0
    # held beyond the ends
    assert chemistry.capacity_fraction(-90.0) == chemistry.capacity_by_temperature[0][1]
    assert chemistry.capacity_fraction(90.0) == chemistry.capacity_by_temperature[-1][1]


@every
def test_temperatures_of_the_table_ascend(chemistry: Chemistry) -> None:
    degc = [t for t, _ in chemistry.capacity_by_temperature]
    assert degc == sorted(set(degc))


@every
def test_resistance_is_one_at_25_degrees_and_rises_with_cold(chemistry: Chemistry) -> None:
    assert chemistry.resistance_factor(25.0) == pytest.approx(1.0, abs=1e-12)
    factor = np.asarray(chemistry.resistance_factor(np.arange(-30.0, 50.0)))
    assert np.all(np.diff(factor) < 0)
    assert 1.3 < chemistry.resistance_factor(0.0) < 4.0


@every
def test_array_equals_scalar(chemistry: Chemistry) -> None:
    degc = np.array([-20.0, -3.3, 12.5, 25.0, 41.0])
    for function in (chemistry.capacity_fraction, chemistry.resistance_factor):
        ones = [function(float(t)) for t in degc]
        assert all(isinstance(one, float) for one in ones)
        np.testing.assert_allclose(np.asarray(function(degc)), ones)


@every
def test_voltages_are_in_order(chemistry: Chemistry) -> None:
    volts = chemistry.open_circuit_v
    assert len(volts) == 11
    assert list(volts) == sorted(set(volts))
    assert volts[0] < chemistry.cell_voltage_v < volts[-1]
    # the nominal voltage is near the mean of the curve: energy is nominal volts times Ah
    assert float(np.trapezoid(volts, dx=0.1)) == pytest.approx(chemistry.cell_voltage_v, rel=0.03)
    # float charging keeps a full cell, absorption pushes beyond float
    assert volts[5] < chemistry.float_v < chemistry.absorption_v


@every
def test_limits_and_shares_are_possible(chemistry: Chemistry) -> None:
    assert chemistry.charge_min_degc.value < chemistry.charge_max_degc.value
    assert chemistry.discharge_min_degc.value < chemistry.discharge_max_degc.value
    assert chemistry.discharge_rate_c.value <= chemistry.peak_rate_c.value
    for share in (
        chemistry.usable_depth.value,
        chemistry.rated_depth.value,
        chemistry.end_of_life.value,
        chemistry.coulombic_efficiency.value,
        chemistry.taper_from_soc,
        chemistry.charge_transfer_share,
    ):
        assert 0.0 < share <= 1.0
    assert 0.0 < chemistry.self_discharge_per_month.value < 0.1
    assert chemistry.peukert_exponent.value >= 1.0


@every
def test_ageing_has_the_constants_its_model_needs(chemistry: Chemistry) -> None:
    activation, halving = chemistry.calendar_activation_j_per_mol, chemistry.calendar_halving_k
    needs = {
        "naumann": (False, False),
        "power": (True, False),
        "shorter": (False, True),
    }[chemistry.ageing]
    assert (activation is not None, halving is not None) == needs
    assert 0.5 <= chemistry.loss_exponent <= 1.0


@every
def test_a_fuller_cell_never_ages_less(chemistry: Chemistry) -> None:
    charge = np.linspace(0.0, 1.0, 21)
    factor = chemistry.calendar_rate_by_charge(charge)
    assert factor.shape == charge.shape
    assert factor[10] == pytest.approx(1.0, rel=1e-12)
    assert np.all(np.diff(factor) >= 0.0)
    assert np.all(factor > 0.1)
    ages = chemistry.ages_when_full != "no"
    assert (factor[-1] > 1.3) == ages
    alone = chemistry.calendar_rate_by_charge(np.array([0.8]))
    assert alone[0] == pytest.approx(factor[16])


def test_sodium_ion_gains_nothing_by_our_not_knowing() -> None:
    charge = np.linspace(0.0, 1.0, 5)
    sodium, lfp = CHEMISTRIES["sodium-ion"], CHEMISTRIES["lfp"]
    got = sodium.calendar_rate_by_charge(charge)
    assert np.array_equal(got, lfp.calendar_rate_by_charge(charge))
    assert sodium.loss_exponent == lfp.loss_exponent


def test_lead_acid_alone_has_a_rate_effect_of_its_own() -> None:
    for chemistry in CHEMISTRIES.values():
        assert (chemistry.peukert_exponent.value > 1.0) == (chemistry.family == "lead")


def test_names_colours_and_marks_tell_chemistries_apart() -> None:
    every_one = list(CHEMISTRIES.values())
    names = [name for c in every_one for name in (c.key, *c.aliases)]
    assert len(set(names)) == len(names)
    assert all(name == " ".join(name.lower().split()) for name in names)
    assert len({c.colour for c in every_one}) == len({c.mark for c in every_one}) == len(every_one)
    assert all(re.fullmatch("#[0-9A-F]{6}", c.colour) for c in every_one)


@every
def test_needs_go_together(chemistry: Chemistry) -> None:
    assert chemistry.family_name
    # what plates is to be barred from it; what is doubted is not what is usual
    assert chemistry.cold_charge_cutoff or not chemistry.plates_when_cold
    assert chemistry.highest_rate_c.value >= chemistry.discharge_rate_c.value
    assert chemistry.energy_wh_per_l.value > chemistry.specific_energy_wh_per_kg.value
    if chemistry.deepest_depth is not None:
        assert chemistry.usable_depth.value < chemistry.deepest_depth.value < 1.0


def test_the_table_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        CHEMISTRIES["lfp"] = CHEMISTRIES["agm"]  # type: ignore[index]
