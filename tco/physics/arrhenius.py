"""How temperature speeds up or slows down an ageing process.

Both functions return a *rate* multiplier: 1 at the reference temperature, above 1 where ageing
is faster. A life is therefore divided by it.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tco.physics.arrays import FloatArray

GAS_CONSTANT_J_PER_MOL_K = 8.314462618
"""Molar gas constant. CODATA 2018 (exact in the SI of 2019, here to the ten digits listed)."""

ABSOLUTE_ZERO_DEGC = -273.15
"""Zero kelvin. BIPM, SI Brochure, 9th edition, section 2.3.1 (definition of the degree Celsius)."""


def kelvin(temperature_degc: ArrayLike) -> Any:
    """Return the thermodynamic temperature.

    Parameters
    ----------
    temperature_degc
        Temperature, scalar or array. [degC]

    Returns
    -------
    float or array of the same shape. [K]

    Raises
    ------
    ValueError
        If any temperature is not a finite number above absolute zero.
    """
    celsius: FloatArray = np.asarray(temperature_degc, dtype=np.float64)
    if not np.all(np.isfinite(celsius) & (celsius > ABSOLUTE_ZERO_DEGC)):
        raise ValueError(
            f"temperature_degc must be finite and above absolute zero ({ABSOLUTE_ZERO_DEGC} degC)"
        )
    return celsius - ABSOLUTE_ZERO_DEGC


def arrhenius_factor(
    temperature_degc: ArrayLike,
    *,
    activation_energy_j_per_mol: float,
    reference_degc: float = 25.0,
) -> Any:
    """Return the rate of a thermally activated process relative to a reference temperature.

    ``exp(-Ea/R * (1/T - 1/Tref))``, the Arrhenius equation (IUPAC Gold Book, A00446) as a ratio.

    Parameters
    ----------
    temperature_degc
        Temperature, scalar or array. [degC]
    activation_energy_j_per_mol
        Activation energy; zero means the temperature does not matter. [J/mol]
    reference_degc
        Temperature at which the factor is 1. [degC]

    Returns
    -------
    float or array of the same shape. [-]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero, or the energy is negative or not finite.
    """
    if not 0.0 <= activation_energy_j_per_mol < np.inf:
        raise ValueError("activation_energy_j_per_mol must be finite and not negative")
    return np.exp(-_exponent(temperature_degc, activation_energy_j_per_mol, reference_degc))


def arrhenius_resistance(temperature_degc: ArrayLike, *, activation_energy_j_per_mol: float) -> Any:
    """Return the resistance of a thermally activated path relative to 25 degC: one over its rate.

    Parameters, shapes and errors as of `arrhenius_factor`.
    """
    return np.exp(_exponent(temperature_degc, activation_energy_j_per_mol, 25.0))


def _exponent(temperature_degc: ArrayLike, energy_j_per_mol: float, reference_degc: float) -> Any:
    inverse_difference = 1.0 / kelvin(temperature_degc) - 1.0 / kelvin(reference_degc)
    return energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K * inverse_difference


def halving_factor(
    temperature_degc: ArrayLike,
    *,
    halving_interval_k: float,
    reference_degc: float = 25.0,
) -> Any:
    """Return the rate of a process whose life halves with every interval of temperature.

    ``2 ** ((T - Tref) / interval)``. Below the reference the factor is under 1, so a life comes
    out longer than the rated one; callers who do not want that credit clip the temperature.

    Parameters
    ----------
    temperature_degc
        Temperature, scalar or array. [degC]
    halving_interval_k
        Rise in temperature that halves the life. [K]
    reference_degc
        Temperature at which the factor is 1. [degC]

    Returns
    -------
    float or array of the same shape. [-]

    Raises
    ------
    ValueError
        If a temperature is at or below absolute zero, or the interval is not above zero.
    """
    if not 0.0 < halving_interval_k < np.inf:
        raise ValueError("halving_interval_k must be finite and above zero")
    rise_k = kelvin(temperature_degc) - kelvin(reference_degc)
    return np.exp2(rise_k / halving_interval_k)
