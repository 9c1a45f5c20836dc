"""How parallel strings even out over a discharge.

The string that gives more falls further along its open-circuit curve and then gives less, so the
shares at the start (`tco.bank.wiring.sharing.share`) are the most uneven ones of the flat part of a
discharge. On the knee near empty the string that gave less takes over.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from tco.bank.wiring.string_network import StringNetwork, check_positive, per_ampere, per_volt
from tco.physics.arrays import FloatArray

ROSENBROCK_GAMMA = 1.0 - 0.5**0.5
"""Makes the two-stage Rosenbrock method of order 2 L-stable: J. G. Verwer, E. J. Spee, J. G. Blom,
W. Hundsdorfer, SIAM J. Sci. Comput. 20 (1999) 1456-1480 (ROS2); from memory."""

DEFAULT_TOLERANCE = 1e-3
"""Keeps the depths of typical banks within 0.001 of a fine integration (tested). Our choice."""

FIRST_STEP = 0.005
"""First step as a fraction of the whole discharge. Our choice."""


@dataclass(frozen=True)
class EvenedOut:
    """Shares over a whole discharge.

    `depth`: fraction of its own capacity each string gave, 0 for a missing one.
    `share`: time-average share of the load.
    `unevenness`: the largest of them times the number of working strings.
    `start_unevenness`: the same at the start.
    `hours`: how long the discharge took. [h]
    `ended_early`: a string was empty before the bank had given the depth asked for.
    """

    depth: tuple[float, ...]
    share: tuple[float, ...]
    unevenness: float
    start_unevenness: float
    hours: float
    ended_early: bool


def unevenness_evened_out(
    network: StringNetwork,
    load_a: float,
    *,
    soc: ArrayLike,
    volts: ArrayLike,
    capacity_ah: float | Sequence[float],
    depth: float = 0.8,
    tolerance: float = DEFAULT_TOLERANCE,
) -> EvenedOut:
    """Discharge full strings at a constant load and average their shares.

    Each string is an open-circuit voltage that depends on its own state of charge, straight
    between the points given, behind its constant resistance; slow polarisation and hysteresis are
    left out. Integrated by the two-stage Rosenbrock method ROS2 (see `ROSENBROCK_GAMMA`), stable
    however low the resistances are, which keeps the charge exactly; its steps follow the
    difference to the embedded first-order result, so that they are short at the curve's kinks.

    Parameters
    ----------
    load_a
        Constant discharge current of the bank, above zero. [A]
    soc, volts
        Open-circuit curve of a whole string: states of charge rising from 0 to 1, and voltages
        that do not fall. Same length, at least 2. [-], [V]
    capacity_ah
        Of one string, or one number for each string, missing ones included. [Ah]
    depth
        Fraction of the working strings' capacity together that is drawn, 0 to 1.
    tolerance
        Difference of state of charge allowed between the two results of one step.

    Raises
    ------
    ValueError
        When an argument is out of range.
    """
    live = network.live
    points, curve = _curve(soc, volts)
    check_positive("load_a", load_a)
    check_positive("depth", depth)
    if depth > 1.0:
        raise ValueError(f"depth must be at most 1, got {depth:g}")
    if not 1e-8 <= tolerance <= 0.1:
        raise ValueError(f"tolerance must be between 1e-8 and 0.1, got {tolerance:g}")
    capacities = np.atleast_1d(np.asarray(capacity_ah, dtype=np.float64))
    if capacities.shape not in ((1,), (network.strings,)):
        raise ValueError(f"capacity_ah must be one number or {network.strings}")
    if not np.all(np.isfinite(capacities) & (capacities > 0.0)):
        raise ValueError("capacity_ah must be finite and above zero")
    capacity = np.broadcast_to(capacities, (network.strings,))[list(live)]

    unit = per_ampere(network)
    driven = np.array([unit.share[k] for k in live]) * load_a
    conductance = per_volt(network)
    slopes = np.diff(curve) / np.diff(points)
    whole_h = depth * float(capacity.sum()) / load_a
    step_h = FIRST_STEP * whole_h
    fall = -conductance / capacity[:, None]
    base = -driven / capacity
    eye = np.eye(len(live))
    inner = points[1:-1]
    state = np.ones(len(live))
    hours, ended_early = 0.0, False
    while hours < whole_h * (1.0 - 1e-12):
        step_h = min(step_h, whole_h - hours)
        piece = inner.searchsorted(state)
        slope = slopes[piece]
        rate = base + fall @ (curve[piece] + slope * (state - points[piece]))
        inverse = np.linalg.inv(eye - (ROSENBROCK_GAMMA * step_h) * fall * slope)
        first = inverse @ rate
        ahead = state + step_h * first
        piece = inner.searchsorted(ahead)
        rate = base + fall @ (curve[piece] + slopes[piece] * (ahead - points[piece]))
        second = inverse @ (rate - 2.0 * first)
        error = 0.5 * step_h * float(np.abs(first + second).max())
        following_h = step_h * min(4.0, max(0.1, 0.8 * (tolerance / (error + 1e-300)) ** 0.5))
        if error > tolerance:
            step_h = following_h
            continue
        after = state + step_h * (1.5 * first + 0.5 * second)
        if after.min() < -1e-9:
            falling = after < 0.0
            part = float(np.min(state[falling] / (state[falling] - after[falling])))
            state = state + part * (after - state)
            hours += part * step_h
            ended_early = True
            break
        state = after
        hours += step_h
        step_h = following_h
    given = np.zeros(network.strings)
    given[list(live)] = np.maximum(1.0 - state, 0.0)
    parts = given * np.broadcast_to(capacities, (network.strings,)) / (load_a * hours)
    return EvenedOut(
        depth=tuple(given.tolist()),
        share=tuple(parts.tolist()),
        unevenness=float(parts.max()) * len(live),
        start_unevenness=unit.share[unit.hardest] * len(live),
        hours=hours,
        ended_early=ended_early,
    )


def _curve(soc: ArrayLike, volts: ArrayLike) -> tuple[FloatArray, FloatArray]:
    points = np.asarray(soc, dtype=np.float64)
    curve = np.asarray(volts, dtype=np.float64)
    if points.ndim != 1 or points.shape != curve.shape or points.size < 2:
        raise ValueError("soc and volts must be two rows of the same length, at least 2")
    if points[0] != 0.0 or points[-1] != 1.0 or not np.all(np.diff(points) > 0.0):
        raise ValueError("soc must rise from 0 to 1")
    if not np.all(np.isfinite(curve)) or not np.all(np.diff(curve) >= 0.0):
        raise ValueError("volts must be finite and must not fall as the state of charge rises")
    return points, curve
