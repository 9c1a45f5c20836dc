"""A second model of ageing beside the one the result rests on, for lithium iron phosphate.

Where two published models are far apart, neither deserves to be believed to the year.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tco.life.health import year_ends
from tco.physics.ageing import (
    NAUMANN_COLDEST_DEGC,
    NAUMANN_WARMEST_DEGC,
    SECONDS_PER_YEAR,
    WANG_C_RATES,
    naumann_resistance_rate,
    wang_cycle_loss,
)
from tco.physics.arrays import FloatArray
from tco.physics.chemistry import Chemistry

WANG_CELL_AH = 2.2
"""Capacity of the cells Wang et al. tested: throughput is that of one such cell."""

WANG_COLDEST_DEGC = 0.0
"""Coldest of their tests (from memory; the warmest were at 60 degC). Colder counts as that, on the
safe side for a model in which cold spares the cell."""

INCLUDES = (
    "Wang 2011 counts charge taken out, mean temperature and mean current only: neither the state "
    "of charge nor time in which nothing is drawn age the cell, and the datasheet is not asked. "
    "Currents under half the capacity an hour count as that. Its fit is to the whole loss of cells "
    "cycled without pause, so time is in it that far."
)
"""What the second opinion includes and what not, in a sentence to show beside it."""


@dataclass(frozen=True)
class SecondOpinion:
    """Health at the end of each year, by Wang et al. 2011, and what that rests on.

    `health` shape (years,), fractions of the capacity when new, never below zero;
    `full_cycles_per_year`, `mean_degc` and `mean_c_rate` are those of a mean year, new.
    `calendar_resistance` shape (years,): resistance over new by Naumann 2018's storage tests
    (time at the mean temperature and state of charge alone, cycles not included).
    """

    health: FloatArray
    calendar_resistance: FloatArray
    full_cycles_per_year: float
    mean_degc: float
    mean_c_rate: float
    includes: str = INCLUDES

    def years_to(self, health: float) -> float | None:
        """Years until the health falls to `health`; None where it does not within the horizon."""
        series = np.concatenate([[1.0], self.health])
        below = np.flatnonzero(series <= health)
        if below.size == 0:
            return None
        if below[0] == 0:
            return 0.0
        last = int(below[0])
        part = (series[last - 1] - health) / (series[last - 1] - series[last])
        return float(last - 1 + part)


def second_opinion(
    chemistry: Chemistry, year: Mapping[str, float], *, horizon_years: float
) -> SecondOpinion | None:
    """Health by Wang's model for a bank that repeats its mean year.

    The throughput is the year's full cycles times 2.2 Ah, one direction (a full cycle takes the
    capacity out once), summed over the years: a loss that goes with Ah^0.55 of all of it, Wang et
    al., J. Power Sources 196 (2011) 3942-3948. One mean temperature stands for the year: since
    ageing bends upwards with temperature, that is a little less than hour by hour.

    Parameters
    ----------
    chemistry
        The pack's.
    year
        `full_cycles`, `mean_degc`, `mean_charge` and `mean_c_rate` of a mean year, new, as in
        `tco.compare.Result.year`.
    horizon_years
        Years to look ahead, at least one.

    Returns
    -------
    SecondOpinion, or None for a chemistry that Wang et al. did not test.

    Raises
    ------
    ValueError
        If `horizon_years` is below one.
    """
    if horizon_years < 1:
        raise ValueError(f"horizon_years must be at least 1, got {horizon_years}")
    if chemistry.second_model == "no":
        return None
    years = year_ends(horizon_years)
    degc, c_rate = year["mean_degc"], year["mean_c_rate"]
    loss = wang_cycle_loss(
        max(degc, WANG_COLDEST_DEGC),
        min(c_rate, WANG_C_RATES[-1]),
        WANG_CELL_AH * year["full_cycles"] * years,
    )
    held = min(max(degc, NAUMANN_COLDEST_DEGC), NAUMANN_WARMEST_DEGC)
    charge = min(max(year["mean_charge"], 0.0), 1.0)
    per_year = float(naumann_resistance_rate(held, charge)) * SECONDS_PER_YEAR
    return SecondOpinion(
        health=np.maximum(1.0 - np.asarray(loss), 0.0),
        calendar_resistance=1.0 + per_year * years,
        full_cycles_per_year=year["full_cycles"],
        mean_degc=degc,
        mean_c_rate=c_rate,
    )
