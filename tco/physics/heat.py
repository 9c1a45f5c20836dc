"""How warm the battery's space is, and how fast packs follow it."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

SURFACE_W_PER_M2_K = 5.0
"""Heat passed by a pack's surface to still air, convection and radiation together. From memory
(engineering handbooks: 5 to 10 for free convection and radiation indoors)."""

EXPOSED_SHARE = 0.7
"""Share of a pack's surface that air reaches; the rest stands on the floor or against another.
Assumption, no source."""


def space_temperature_degc(
    outdoor_degc: ArrayLike, *, living_degc: float, warmth: float, occupied: ArrayLike = True
) -> Any:
    """Temperature of the battery's space between outdoors and a heated living space.

    Linear mixing: the space keeps the share `warmth` (0 outside, 1 as warm as the living space)
    of the difference. A living space is heated when it is colder outside than `living_degc`, is
    as warm as outdoors otherwise, and is not heated when nobody is there. [degC]

    Raises
    ------
    ValueError
        When `warmth` is not between 0 and 1.
    """
    if not 0.0 <= warmth <= 1.0:
        raise ValueError(f"warmth must be between 0 and 1, got {warmth:g}")
    outdoor = np.asarray(outdoor_degc, dtype=np.float64)
    difference = np.maximum(living_degc - outdoor, 0.0) * np.asarray(occupied, dtype=np.float64)
    out = outdoor + warmth * difference
    return float(out) if out.ndim == 0 else out


def surface_conductance_w_per_k(
    width_mm: float, depth_mm: float, height_mm: float, *, packs: int
) -> float:
    """Heat conductance between a bank of equal packs and the air of its space. [W/K]"""
    if min(width_mm, depth_mm, height_mm) <= 0 or packs < 1:
        raise ValueError("a bank has at least one pack with dimensions above zero")
    area_mm2 = 2.0 * (width_mm * depth_mm + width_mm * height_mm + depth_mm * height_mm)
    return SURFACE_W_PER_M2_K * EXPOSED_SHARE * packs * area_mm2 / 1e6
