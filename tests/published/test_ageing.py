"""Published ageing models, evaluated by hand from the papers' constants outside this project.

These are evaluations of the published formulas, not measurements: they guard the copying,
the units and the powers. Percent as in the papers.

No point of a figure or table of measured losses stands here: none of these papers' was recalled
with certainty, and none could be read.
"""

import pytest

from tco.life.growth import RESISTANCE_GROWTH_PER_LOSS
from tco.physics.ageing import (
    naumann_calendar_loss,
    naumann_cycle_loss,
    naumann_resistance_rate,
    schmalstieg_calendar_rate,
    wang_cycle_loss,
)

YEAR_S = 365 * 24 * 3600.0

# Naumann et al., J. Energy Storage 17 (2018) 153-169, doi 10.1016/j.est.2018.01.019.
# degC, state of charge, years, percent lost, absolute tolerance.
# At 25 degC half a unit of the last digit. At 40 degC the gas constant enters: the evaluation
# used 8.314 as the papers of the field do, against CODATA's 8.314462618; that moves the factor
# by Ea/R (1/Tref - 1/T) x 5.6e-5 = 1.9e-5 of itself, 0.0004 here.
CALENDAR = [
    (25.0, 0.5, 1, 4.2516, 0.00005),
    (25.0, 0.5, 10, 13.4447, 0.00005),
    (25.0, 1.0, 1, 6.7731, 0.00005),
    (40.0, 0.5, 10, 18.7187, 0.0004 + 0.00005),
]


@pytest.mark.parametrize(("degc", "soc", "years", "percent", "tolerance"), CALENDAR)
def test_naumann_calendar(degc, soc, years, percent, tolerance):
    loss = 100.0 * naumann_calendar_loss(degc, soc, years * YEAR_S)
    assert loss == pytest.approx(percent, abs=tolerance)


def test_naumann_activation_energy_is_low():
    # Ea 17126 J/mol: about x1.25 for 10 degC near 25 (three digits, so 0.005)
    ratio = naumann_calendar_loss(35.0, 0.5, YEAR_S) / naumann_calendar_loss(25.0, 0.5, YEAR_S)
    assert ratio == pytest.approx(1.25, abs=0.005)


# Naumann 2018, resistance: 3.419e-10 /s x 1.5604 x 31536000 s = 0.01682448 at 25 degC and half
# charge; x (3.3903 x 0.25 + 1.5604) / 1.5604 = 1.543178 when full. Products worked out separately.
def test_naumann_resistance():
    half = naumann_resistance_rate(25.0, 0.5) * YEAR_S
    assert half == pytest.approx(0.01682448, abs=5e-9)
    assert naumann_resistance_rate(25.0, 1.0) * YEAR_S / half == pytest.approx(1.543178, abs=5e-7)
    # exp(71827/8.314 (1/298.15 - 1/308.15)) = 2.5607; CODATA's digits move it by 0.0001
    warm = naumann_resistance_rate(35.0, 0.5) * YEAR_S
    assert warm / half == pytest.approx(2.5607, abs=0.0002)


# Naumann, Spingler, Jossen, J. Power Sources 451 (2020) 227666.
# C-rate, depth, full cycle equivalents, percent lost; half a unit of the last digit.
CYCLING = [(1.0, 1.0, 1000.0, 6.8344), (0.5, 0.8, 1000.0, 4.5730)]


@pytest.mark.parametrize(("c_rate", "depth", "full_cycles", "percent"), CYCLING)
def test_naumann_cycle(c_rate, depth, full_cycles, percent):
    loss = 100.0 * naumann_cycle_loss(c_rate, depth, full_cycles)
    assert loss == pytest.approx(percent, abs=0.00005)


# Wang et al., J. Power Sources 196 (2011) 3942-3948, C/2 and 2000 Ah. Evaluated with R = 8.314;
# here the energy stands alone in the exponent, so CODATA's constant moves the result by
# Ea/(R T) x 5.6e-5 = 0.07 % at 25 degC and 0.06 % at 60 degC. Tolerance 0.1 %.
WANG = [(25.0, 6.2258), (60.0, 23.674)]


@pytest.mark.parametrize(("degc", "percent"), WANG)
def test_wang(degc, percent):
    assert 100.0 * wang_cycle_loss(degc, 0.5, 2000.0) == pytest.approx(percent, rel=1e-3)


# Wang 2011, the factor B at each of the four rates: ratio of two losses at the same temperature
# and throughput is B1/B2 exp(370.3 (C1 - C2)/(R T)). Worked out separately with R = 8.314
# and T = 298.15: 2C 21681/31630 x exp(0.224078) = 0.857622; 6C 12934/31630 x
# exp(0.821621) = 0.929949; 10C 15512/31630 x exp(1.419164) = 2.027232. The gas constant's
# later digits move them by less than 1e-4.
@pytest.mark.parametrize(("c_rate", "ratio"), [(2.0, 0.857622), (6.0, 0.929949), (10.0, 2.027232)])
def test_wang_rates(c_rate, ratio):
    at_half_c = wang_cycle_loss(25.0, 0.5, 2000.0)
    assert wang_cycle_loss(25.0, c_rate, 2000.0) / at_half_c == pytest.approx(ratio, rel=1e-4)


# Schmalstieg, Kaebitz, Ecker, Sauer, J. Power Sources 257 (2014) 325-334, NMC: percent lost in
# store after days. Constants from memory, so this guards the arithmetic only. Logarithms by hand:
# (7.543 x 3.7 - 23.75) 1e6 exp(-6976/298.15) = 4.1591e6 x exp(-23.39762) = 4.1591e6 x 6.8950e-11
# = 2.86770e-4; x 365^0.75 = 83.506: 2.3947 % a year; 3650^0.75 = 469.59: 13.466 % in ten.
# At 4.1 V (7.1763 / 4.1591 = 1.72545 times as fast) and 40 degC (x exp(1.12076) = 3.06719).
# Four digits were carried: 0.05 % of the loss.
NMC = [
    (25.0, 3.7, 365.0, 2.3947),
    (25.0, 3.7, 3650.0, 13.466),
    (25.0, 4.1, 365.0, 4.1320),
    (40.0, 3.7, 365.0, 7.3450),
]


@pytest.mark.parametrize(("degc", "volts", "days", "percent"), NMC)
def test_schmalstieg(degc, volts, days, percent):
    loss = 100.0 * schmalstieg_calendar_rate(degc, volts) * days**0.75
    assert loss == pytest.approx(percent, rel=5e-4)


# Growth of resistance in store, same paper, from memory: (5.270 V - 16.32) 1e5 exp(-5986/T) a
# day^0.75. At 3.7 V (5.270 x 3.7 - 16.32) 1e5 = 3.179e5; at 25 degC x exp(-20.07714) = 1.90814e-9:
# 6.0660e-4; at 40 degC x exp(5986 x 1.60659e-4) = 2.61615 as fast: 1.58696e-3. For each share of
# capacity lost that is 2.1152 and 1.8042 (fewest digits carried: five in the exponents, 0.02 %).
NMC_RESISTANCE = {25.0: (6.0660e-4, 2.1152), 40.0: (1.58696e-3, 1.8042)}


def test_resistance_beside_capacity_is_between_what_schmalstieg_found():
    ratios = [
        growth / schmalstieg_calendar_rate(degc, 3.7)
        for degc, (growth, _) in NMC_RESISTANCE.items()
    ]
    assert ratios == pytest.approx([ratio for _, ratio in NMC_RESISTANCE.values()], rel=2e-4)
    assert min(ratios) < RESISTANCE_GROWTH_PER_LOSS < max(ratios)
