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


FOAM_W_PER_M_K = 0.035
"""Conductivity of foam board. From memory: handbooks (ASHRAE Fundamentals, EN ISO 10456) give
expanded polystyrene 0.033 to 0.040, extruded 0.030 to 0.036, polyurethane 0.022 to 0.028."""


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


def insulated_share(foam_mm: float, *, w_per_m_k: float = FOAM_W_PER_M_K) -> float:
    """Conductance of a pack's surface with foam around it over that of the bare surface, 0..1.

    Layers in series (Fourier's law for a plane wall, in any heat transfer handbook): 1/U = 1/h +
    d/k with h the surface's own transfer `SURFACE_W_PER_M2_K`, d the thickness and k the
    conductivity of the foam; the share is U/h. The greater outside of the foam is left out, and
    what the pack stands on is as tight as before, so that thick foam keeps a little more heat here
    than in truth.

    Raises
    ------
    ValueError
        When the thickness is below zero, or the conductivity not above it.
    """
    if foam_mm < 0.0:
        raise ValueError(f"foam_mm must not be below zero, got {foam_mm:g}")
    if w_per_m_k <= 0.0:
        raise ValueError(f"w_per_m_k must be above zero, got {w_per_m_k:g}")
    return 1.0 / (1.0 + SURFACE_W_PER_M2_K * foam_mm / 1000.0 / w_per_m_k)
