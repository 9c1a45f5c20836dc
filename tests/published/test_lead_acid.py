"""Lead-acid figures against standards, an army manual, trade tables and worked examples."""

import math

import pytest

from tco.physics.arrhenius import halving_factor
from tco.physics.chemistry import CHEMISTRIES
from tco.physics.lead_acid import ieee485_temperature_factor, peukert_capacity_factor

# Peukert's law t = H (C/(I H))^n, evaluated outside this project for 100 Ah at 20 h: exponent,
# current, hours. Tolerance half a unit of the last digit.
PEUKERT = [(1.2, 10.0, 8.7055, 5e-5), (1.2, 50.0, 1.26191, 5e-6), (1.05, 50.0, 1.7825, 5e-5)]


# The same law as a named example: Wikipedia, article "Peukert's law", from memory (checked against
# no copy): a battery of 100 Ah at 20 h with exponent 1.2, discharged at 10 A, lasts 8.7 hours and
# so gives 87 Ah rather than 100. Two digits printed.
WIKIPEDIA = {"capacity_ah": 100.0, "rated_hours": 20.0, "exponent": 1.2}


def test_peukert_worked_example():
    drawn_ah = 100.0 * peukert_capacity_factor(10.0, **WIKIPEDIA)
    assert drawn_ah == pytest.approx(87.0, abs=0.5)
    assert drawn_ah / 10.0 == pytest.approx(8.7, abs=0.05)


@pytest.mark.parametrize(("exponent", "current", "hours", "tolerance"), PEUKERT)
def test_peukert(exponent, current, hours, tolerance):
    share = peukert_capacity_factor(current, capacity_ah=100.0, rated_hours=20.0, exponent=exponent)
    assert 100.0 * share / current == pytest.approx(hours, abs=tolerance)


# A 20-hour capacity and the reserve minutes at 25 A that go with an exponent (trade examples): Ah,
# minutes, exponent. Half a unit of the exponent's last digit moves the minutes by this share.
RESERVE = [(225.0, 447.0, 1.237), (350.0, 760.0, 1.281)]


@pytest.mark.parametrize(("capacity", "minutes", "exponent"), RESERVE)
def test_reserve_minutes(capacity, minutes, exponent):
    share = peukert_capacity_factor(25.0, capacity_ah=capacity, rated_hours=20.0, exponent=exponent)
    half_a_digit = 5e-4 * math.log(25.0 * 20.0 / capacity)
    assert 60.0 * capacity * share / 25.0 == pytest.approx(minutes, rel=half_a_digit)


# IEEE Std 485, temperature correction factors for cell size, base 77 degF. Rows from memory.
# Table values: exact but for the conversion to degC.
IEEE485 = [
    (40.0, 1.300),
    (50.0, 1.190),
    (60.0, 1.110),
    (70.0, 1.040),
    (77.0, 1.000),
    (90.0, 0.940),
    (100.0, 0.910),
]


@pytest.mark.parametrize(("degf", "factor"), IEEE485)
def test_ieee485_rows(degf, factor):
    assert ieee485_temperature_factor((degf - 32.0) / 1.8) == pytest.approx(factor, rel=1e-9)


# US Army TM 10-6140-200-14: 40 % of the room-temperature capacity at 0 degF, 75 % at 32 degF.
# The extension goes through the first and must not promise more than the second.
def test_cold_extension_and_the_army_manual():
    at_0_degf = ieee485_temperature_factor(-32.0 / 1.8, extrapolate=True)
    assert 1.0 / at_0_degf == pytest.approx(0.40, rel=1e-9)
    at_32_degf = ieee485_temperature_factor(0.0, extrapolate=True)
    assert 1.0 / at_32_degf < 0.75


# Life halves for every 8 K above 25 degC: a trade handbook's table (IEEE 450/1188 from memory).
@pytest.mark.parametrize(("degc", "years"), [(25.0, 10.0), (33.0, 5.0), (41.0, 2.5)])
def test_life_halves_per_8_kelvin(degc, years):
    interval_k = CHEMISTRIES["agm"].calendar_halving_k
    life = 10.0 / halving_factor(degc, halving_interval_k=interval_k)
    assert life == pytest.approx(years, rel=1e-12)
