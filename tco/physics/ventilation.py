"""Hydrogen that lead-acid batteries give off while charged, and the air that keeps it thin.

EN IEC 62485-2 (before it EN 50272-2), seen second hand in two calculators and a maker's note:

    Q = v q s n I_gas C_rt / 1000    with v q s = 24 x 0.42e-3 m3/Ah x 5 = 0.05 m3/Ah

m3/h, n cells in series, I_gas in mA per Ah of the rated capacity C_rt. v dilutes to 4 % hydrogen,
where it begins to burn, s is a margin of five. Natural ventilation wants an opening low down and
one high up, each of A = 28 Q cm2. Good up to about 40 degC.
"""

import math
from typing import Literal

Cells = Literal["vented", "valve-regulated"]

GAS_M3_PER_AH = 0.42e-3
"""Hydrogen of one ampere-hour in one cell at 0 degC, by Faraday's law and the standard."""

AIR_M3_PER_AH = round(24.0 * GAS_M3_PER_AH * 5.0, 2)
"""Air for each ampere-hour that goes into gas in one cell, v q s as the standard rounds it."""

GASSING_MA_PER_AH: dict[Cells, float] = {"vented": 20.0, "valve-regulated": 8.0}
"""Current that goes into gas at boost charge (2.40 V a cell), per Ah of rated capacity. On float it
is 5 and 1; boost is what a bank in daily use meets. EN IEC 62485-2, as above."""

OPENING_CM2_PER_M3_H = 28.0


def gassing_current_a(capacity_ah: float, cells: Cells) -> float:
    """Current that goes into gas at boost charge under a regulated charger. [A]"""
    return GASSING_MA_PER_AH[cells] * capacity_ah / 1000.0


def airflow_m3_per_h(cells_in_series: int, gassing_a: float) -> float:
    """Air that keeps the hydrogen of a string of cells, or of strings side by side, thin enough.

    `gassing_a`: current that goes into gas, of all strings together.

    Raises
    ------
    ValueError
        When there is no cell, or a current below zero.
    """
    if cells_in_series < 1 or gassing_a < 0.0:
        raise ValueError("air is reckoned for one cell or more and a current not below zero")
    return AIR_M3_PER_AH * cells_in_series * gassing_a


def opening_cm2(airflow: float) -> float:
    """Area of each of two openings that give an airflow [m3/h] by themselves. [cm2]"""
    return OPENING_CM2_PER_M3_H * airflow


def opening_diameter_mm(airflow: float) -> float:
    """Diameter of each of two round openings that give an airflow [m3/h] by themselves. [mm]"""
    return 10.0 * math.sqrt(4.0 * opening_cm2(airflow) / math.pi)
