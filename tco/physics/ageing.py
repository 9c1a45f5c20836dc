"""How lithium iron phosphate and other cells age: published models.

Losses are fractions of the capacity when new. The models describe the cells their authors tested;
`tco.physics.anchoring` scales them to a datasheet. Any such figure is an estimate, not a promise.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tco.physics.arrays import FloatArray
from tco.physics.arrhenius import GAS_CONSTANT_J_PER_MOL_K, arrhenius_factor, kelvin

HOURS_PER_YEAR = 8760.0
DAYS_PER_YEAR = HOURS_PER_YEAR / 24.0
SECONDS_PER_YEAR = HOURS_PER_YEAR * 3600.0
"""A year of 365 days, as in the hourly simulation."""

# Calendar loss and resistance: Naumann, Schimpe, Keil, Hesse, Jossen, J. Energy Storage 17 (2018)
# 153-169, doi 10.1016/j.est.2018.01.019. That resistance grows linearly in time is from memory.
NAUMANN_REFERENCE_DEGC = 25.0
NAUMANN_COLDEST_DEGC, NAUMANN_WARMEST_DEGC = 0.0, 60.0
"""Coldest and warmest storage they tested (from memory). Whoever sums over hours holds the rates
there, on the safe side in the cold: colder and warmer count as these."""
NAUMANN_CALENDAR_RATE_PER_SQRT_S = 1.2571e-5
NAUMANN_CALENDAR_ENERGY_J_PER_MOL = 17126.0
NAUMANN_CALENDAR_SOC_CUBIC = 2.8575
NAUMANN_CALENDAR_SOC_OFFSET = 0.60225
NAUMANN_RESISTANCE_RATE_PER_S = 3.419e-10
NAUMANN_RESISTANCE_ENERGY_J_PER_MOL = 71827.0
NAUMANN_RESISTANCE_SOC_SQUARE = 3.3903
NAUMANN_RESISTANCE_SOC_OFFSET = 1.5604

# Cycle loss: Naumann, Spingler, Jossen, J. Power Sources 451 (2020) 227666. From memory: that the
# result is in percent, that there is no temperature term, and that cycle and calendar losses add.
NAUMANN_CYCLE_RATE_SLOPE = 0.0630
NAUMANN_CYCLE_RATE_OFFSET = 0.0971
NAUMANN_CYCLE_DEPTH_CUBIC = 4.0253
NAUMANN_CYCLE_DEPTH_CENTRE = 0.6
NAUMANN_CYCLE_DEPTH_OFFSET = 1.0923

# Wang et al., J. Power Sources 196 (2011) 3942-3948: the fit with a factor B per C-rate and the
# exponent 0.55. The paper's other fit (B 30330, exponent 0.552) is a different model.
WANG_C_RATES = (0.5, 2.0, 6.0, 10.0)
WANG_FACTORS = (31630.0, 21681.0, 12934.0, 15512.0)
WANG_ENERGY_J_PER_MOL = 31700.0
WANG_ENERGY_PER_C_RATE_J_PER_MOL = 370.3
WANG_EXPONENT = 0.55

# Calendar loss of an NMC cell of 2.05 Ah: Schmalstieg, Kaebitz, Ecker, Sauer, J.
# Power Sources 257 (2014) 325-334. All constants from memory, and that time is in days.
SCHMALSTIEG_TIME_EXPONENT = 0.75
SCHMALSTIEG_TEMPERATURE_K = 6976.0
SCHMALSTIEG_ENERGY_J_PER_MOL = SCHMALSTIEG_TEMPERATURE_K * GAS_CONSTANT_J_PER_MOL_K
SCHMALSTIEG_FACTOR = 1e6
SCHMALSTIEG_VOLT_SLOPE = 7.543
SCHMALSTIEG_VOLT_OFFSET = 23.75
SCHMALSTIEG_LOWEST_V = 3.4
"""Below these volts the rate is held at its value here: the law falls to nothing at 3.15 V, and an
empty cell ages too. Our choice."""


def _array(name: str, values: ArrayLike, low: float, high: float) -> FloatArray:
    array: FloatArray = np.asarray(values, dtype=np.float64)
    if not np.all(np.isfinite(array) & (array >= low) & (array <= high)):
        raise ValueError(f"{name} must be finite and in {low:g} to {high:g}")
    return array


def naumann_calendar_rate(temperature_degc: ArrayLike, soc: ArrayLike) -> Any:
    """Return the calendar ageing rate of an LFP cell.

    ``k * exp(-Ea/R (1/T - 1/Tref)) * (c (SOC - 0.5)^3 + d)``, Naumann et al. 2018. Fitted to
    storage from 0 to 60 degC (from memory); outside that it is an extrapolation.

    Parameters
    ----------
    temperature_degc
        Cell temperature, scalar or array. [degC]
    soc
        State of charge 0 to 1, scalar or array that broadcasts. [fraction]

    Returns
    -------
    float or array of the broadcast shape. [fraction / sqrt(s)]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero or a state of charge outside 0 to 1.
    """
    charge = _array("soc", soc, 0.0, 1.0)
    speed = arrhenius_factor(
        temperature_degc,
        activation_energy_j_per_mol=NAUMANN_CALENDAR_ENERGY_J_PER_MOL,
        reference_degc=NAUMANN_REFERENCE_DEGC,
    )
    shape = NAUMANN_CALENDAR_SOC_CUBIC * (charge - 0.5) ** 3 + NAUMANN_CALENDAR_SOC_OFFSET
    return NAUMANN_CALENDAR_RATE_PER_SQRT_S * speed * shape


def naumann_calendar_loss(temperature_degc: ArrayLike, soc: ArrayLike, seconds: ArrayLike) -> Any:
    """Return the capacity an LFP cell loses in storage at constant conditions.

    `naumann_calendar_rate` times the square root of time (Naumann et al. 2018).

    Parameters
    ----------
    temperature_degc, soc
        As in `naumann_calendar_rate`.
    seconds
        Time since new, scalar or array that broadcasts. [s]

    Returns
    -------
    float or array of the broadcast shape. [fraction of the capacity when new]

    Raises
    ------
    ValueError
        As `naumann_calendar_rate`, or if a time is negative.
    """
    time_s = _array("seconds", seconds, 0.0, np.inf)
    return naumann_calendar_rate(temperature_degc, soc) * np.sqrt(time_s)


def naumann_resistance_rate(temperature_degc: ArrayLike, soc: ArrayLike) -> Any:
    """Return how fast the resistance of an LFP cell grows in storage.

    ``k * exp(-Ea/R (1/T - 1/Tref)) * (c (SOC - 0.5)^2 + d)``, Naumann et al. 2018. The growth is
    this rate times the time (linear in time: from memory).

    Parameters
    ----------
    temperature_degc, soc
        As in `naumann_calendar_rate`.

    Returns
    -------
    float or array of the broadcast shape. [fraction of the resistance when new / s]

    Raises
    ------
    ValueError
        As `naumann_calendar_rate`.
    """
    charge = _array("soc", soc, 0.0, 1.0)
    speed = arrhenius_factor(
        temperature_degc,
        activation_energy_j_per_mol=NAUMANN_RESISTANCE_ENERGY_J_PER_MOL,
        reference_degc=NAUMANN_REFERENCE_DEGC,
    )
    shape = NAUMANN_RESISTANCE_SOC_SQUARE * (charge - 0.5) ** 2 + NAUMANN_RESISTANCE_SOC_OFFSET
    return NAUMANN_RESISTANCE_RATE_PER_S * speed * shape


def schmalstieg_calendar_rate(temperature_degc: ArrayLike, open_circuit_v: ArrayLike) -> Any:
    """Return the calendar ageing rate of an NMC cell.

    ``(7.543 V - 23.75) 1e6 exp(-6976 / T)``, Schmalstieg et al. 2014; the loss is this times
    days^0.75. Constants from memory. Tested at 35 to 50 degC (from memory): cooler is an
    extrapolation.

    Parameters
    ----------
    temperature_degc
        Cell temperature, scalar or array. [degC]
    open_circuit_v
        Volts of the resting cell, 2.0 to 4.3, scalar or array; below SCHMALSTIEG_LOWEST_V it
        counts as that. [V]

    Returns
    -------
    float or array of the broadcast shape. [fraction / day^0.75]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero or the volts are outside that range.
    """
    volts = np.maximum(_array("open_circuit_v", open_circuit_v, 2.0, 4.3), SCHMALSTIEG_LOWEST_V)
    speed = SCHMALSTIEG_FACTOR * np.exp(-SCHMALSTIEG_TEMPERATURE_K / kelvin(temperature_degc))
    return (SCHMALSTIEG_VOLT_SLOPE * volts - SCHMALSTIEG_VOLT_OFFSET) * speed


def naumann_cycle_rate(c_rate: ArrayLike, depth: ArrayLike) -> Any:
    """Return the cycle ageing rate of an LFP cell.

    ``(a C + b) (c (DOC - 0.6)^3 + d) / 100``, Naumann, Spingler, Jossen 2020. The paper's result
    is in percent (from memory), hence the 100.

    Parameters
    ----------
    c_rate
        Current over capacity, scalar or array, zero or more. [1/h]
    depth
        Depth of the cycles 0 to 1, scalar or array that broadcasts. [fraction]

    Returns
    -------
    float or array of the broadcast shape. [fraction / sqrt(full cycle equivalent)]

    Raises
    ------
    ValueError
        If a rate is negative or a depth outside 0 to 1.
    """
    rate = _array("c_rate", c_rate, 0.0, np.inf)
    swing = _array("depth", depth, 0.0, 1.0)
    by_rate = NAUMANN_CYCLE_RATE_SLOPE * rate + NAUMANN_CYCLE_RATE_OFFSET
    by_depth = (
        NAUMANN_CYCLE_DEPTH_CUBIC * (swing - NAUMANN_CYCLE_DEPTH_CENTRE) ** 3
        + NAUMANN_CYCLE_DEPTH_OFFSET
    )
    return by_rate * by_depth / 100.0


def naumann_cycle_loss(c_rate: ArrayLike, depth: ArrayLike, full_cycles: ArrayLike) -> Any:
    """Return the capacity an LFP cell loses by cycling alone, calendar ageing not included.

    `naumann_cycle_rate` times the square root of the full cycle equivalents (Naumann et al.
    2020). A cycle of depth D counts D full cycle equivalents.

    Parameters
    ----------
    c_rate, depth
        As in `naumann_cycle_rate`.
    full_cycles
        Full cycle equivalents since new, scalar or array that broadcasts. [-]

    Returns
    -------
    float or array of the broadcast shape. [fraction of the capacity when new]

    Raises
    ------
    ValueError
        As `naumann_cycle_rate`, or if full_cycles is negative.
    """
    cycles = _array("full_cycles", full_cycles, 0.0, np.inf)
    return naumann_cycle_rate(c_rate, depth) * np.sqrt(cycles)


def wang_cycle_loss(
    temperature_degc: ArrayLike, c_rate: ArrayLike, throughput_ah_per_2_2ah_cell: ArrayLike
) -> Any:
    """Return the capacity an LFP cell loses by Wang's model, a second opinion.

    ``B exp((-31700 + 370.3 C) / (R T)) Ah^0.55 / 100``, Wang et al. 2011. B is interpolated
    linearly between the four rates of the paper (our choice), and rates under C/2 count as C/2.
    The fit is to the whole loss of cells on test, so our reading is
    that no calendar loss is to be added.

    The throughput counts *one* direction, the charge taken out: the paper sets Ah = cycles x
    depth x cell capacity (from memory). Were it meant in both directions, losses at a given
    number of cycles would be 2^0.55 = 1.46 times as large.

    Parameters
    ----------
    temperature_degc
        Cell temperature, scalar or array. [degC]
    c_rate
        Current over capacity, up to 10, scalar or array that broadcasts. [1/h]
    throughput_ah_per_2_2ah_cell
        Charge taken out of one cell of 2.2 Ah; for another capacity multiply its throughput by
        2.2 over that capacity. [Ah]

    Returns
    -------
    float or array of the broadcast shape. [fraction of the capacity when new]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero, a rate outside 0 to 10, or the throughput
        negative.
    """
    rate = np.maximum(_array("c_rate", c_rate, 0.0, WANG_C_RATES[-1]), WANG_C_RATES[0])
    throughput = _array("throughput_ah_per_2_2ah_cell", throughput_ah_per_2_2ah_cell, 0.0, np.inf)
    factor = np.interp(rate, WANG_C_RATES, WANG_FACTORS)
    energy = WANG_ENERGY_J_PER_MOL - WANG_ENERGY_PER_C_RATE_J_PER_MOL * rate
    speed = np.exp(-energy / (GAS_CONSTANT_J_PER_MOL_K * kelvin(temperature_degc)))
    return factor * speed * throughput**WANG_EXPONENT / 100.0


def cycles_at_depth(
    depth: ArrayLike, *, reference_cycles: float, reference_depth: float, exponent: float
) -> Any:
    """Return the cycle life at a depth from the life at another depth.

    ``N = Nref (depth / Dref) ** -exponent``, a Woehler (Basquin) line. Common practice, no
    source for any one exponent; 1 means that the energy through the battery is what counts.

    Parameters
    ----------
    depth
        Depth of the cycles, above 0 and at most 1, scalar or array. [fraction]
    reference_cycles
        Cycles to the end of life at the reference depth. [-]
    reference_depth
        Depth above 0 and at most 1. [fraction]
    exponent
        Steepness of the line, zero or more. [-]

    Returns
    -------
    float or array of the same shape. [cycles]

    Raises
    ------
    ValueError
        If an argument is outside the range named above.
    """
    swing = _array("depth", depth, 0.0, 1.0)
    if not np.all(swing > 0.0):
        raise ValueError("depth must be above 0: a cycle without depth has no finite life")
    return 1.0 / damage_per_cycle(
        swing,
        reference_cycles=reference_cycles,
        reference_depth=reference_depth,
        exponent=exponent,
    )


def damage_per_cycle(
    depth: ArrayLike, *, reference_cycles: float, reference_depth: float, exponent: float
) -> Any:
    """Return the share of a life that one cycle uses up.

    One over `cycles_at_depth`; damages add (Palmgren-Miner rule, M. A. Miner, J. Applied
    Mechanics 12 (1945) A159). A cycle of depth zero does no damage, unless the exponent is zero.

    Parameters
    ----------
    depth
        Depth of the cycle 0 to 1, scalar or array. [fraction]
    reference_cycles, reference_depth, exponent
        As in `cycles_at_depth`.

    Returns
    -------
    float or array of the same shape. [fraction of a life]

    Raises
    ------
    ValueError
        If an argument is outside the range named above.
    """
    swing = _array("depth", depth, 0.0, 1.0)
    if not 0.0 < reference_cycles < np.inf:
        raise ValueError("reference_cycles must be finite and above zero")
    if not 0.0 < reference_depth <= 1.0:
        raise ValueError("reference_depth must be above 0 and at most 1")
    if not 0.0 <= exponent < np.inf:
        raise ValueError("exponent must be finite and not negative")
    return (swing / reference_depth) ** exponent / reference_cycles
