"""Copper conductors for low-voltage direct current: resistance, voltage drop, size.

The tables of sizes are in `conductor_sizes`, those of what they may carry in `ampacity`.

Sources: ABYC E-11 (voltage drop), IEC 60228 (temperature), NFPA 70 (National Electrical Code)
310.10(G) (conductors in parallel).
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, TypeVar

import numpy as np

from tco.physics.ampacity import (
    MOST_BUNDLED,
    USUAL_INSULATION_DEGC,
    WiringCode,
    ampacity_a,
    bundling_factor,
    overcurrent_limit_a,
)
from tco.physics.arrays import FloatArray
from tco.physics.conductor_sizes import (
    AWG_SIZES,
    MM2_SIZES,
    Conductor,
    System,
)

Numbers = TypeVar("Numbers", float, FloatArray)

CAUTION = (
    "A cable that is too small can start a fire. Check the size against your local code and the "
    "makers' instructions, protect it with a fuse close to the battery, and have the work done or "
    "inspected by someone licensed where the law asks for it."
)

COPPER_TEMPERATURE_COEFFICIENT_PER_K = 0.00393
"""Of copper's resistance, referred to 20 degC (IEC 60228 and IEC 60028; from memory)."""

DEFAULT_CONDUCTOR_TEMPERATURE_DEGC = 75.0
"""A warm, loaded cable, as NEC chapter 9 table 8 assumes."""

MINIMUM_AREA_MM2 = 1.3
"""Single conductors are 16 AWG (1.31 mm2) or larger, ABYC E-11; from memory."""

NEC_MINIMUM_AREA_MM2 = 2.0
"""Conductors are 14 AWG (2.08 mm2) or larger, NEC 310.3(A); from memory."""

MINIMUM_PARALLEL_AREA_MM2 = 50.0
"""Conductors in parallel are 1/0 AWG or 50 mm2 and larger each, NEC 310.10(G); from memory."""

MAXIMUM_PARALLEL_RUNS = 4
"""More cables than this do not go on one stud: common practice, no source."""

MAXIMUM_CONDUCTOR_TEMPERATURE_DEGC = 150.0
MINIMUM_CONDUCTOR_TEMPERATURE_DEGC = -60.0
"""The straight line in temperature is not trusted outside this range (our choice)."""

_ROUNDING = 1e-9


@dataclass(frozen=True)
class ConductorChoice:
    """What `smallest_conductor` found; drop, ampacity and fuse are those of all runs together.

    `fuse_limit_a`: the largest fuse it may have; `insulation_degc`: what it is insulated for.
    """

    conductor: Conductor
    runs: int
    governed_by: Literal["ampacity", "voltage drop"]
    voltage_drop_v: float
    ampacity_a: float
    fuse_limit_a: float
    insulation_degc: int = USUAL_INSULATION_DEGC


def resistance_ohm(
    conductor: Conductor,
    length_m: Numbers,
    *,
    conductor_temperature_degc: float = DEFAULT_CONDUCTOR_TEMPERATURE_DEGC,
) -> Numbers:
    """Resistance in ohm of `length_m` metres of one conductor at a copper temperature.

    R = R20 (1 + 0.00393 (T - 20)) (IEC 60228); for American sizes it agrees with the formula
    under NEC chapter 9 table 8 to 0.01 %. Any array shape of lengths. For the largest possible
    fault current use a cold conductor, for the drop in use a warm one. Raises ValueError for a
    length below zero or not finite, or a temperature outside -60 to 150 degC.
    """
    _require_not_negative(length_m, "length_m")
    if not (
        MINIMUM_CONDUCTOR_TEMPERATURE_DEGC
        <= conductor_temperature_degc
        <= MAXIMUM_CONDUCTOR_TEMPERATURE_DEGC
    ):
        raise ValueError(
            f"conductor_temperature_degc must be between {MINIMUM_CONDUCTOR_TEMPERATURE_DEGC:g} "
            f"and {MAXIMUM_CONDUCTOR_TEMPERATURE_DEGC:g}, got {conductor_temperature_degc:g}"
        )
    rise = 1.0 + COPPER_TEMPERATURE_COEFFICIENT_PER_K * (conductor_temperature_degc - 20.0)
    return length_m * (conductor.resistance_ohm_per_km_20c * rise / 1000.0)


def voltage_drop_v(
    current_a: Numbers,
    one_way_length_m: float,
    conductor: Conductor,
    *,
    runs: int = 1,
    conductor_temperature_degc: float = DEFAULT_CONDUCTOR_TEMPERATURE_DEGC,
) -> Numbers:
    """Voltage in V lost on the way out *and* back: current x 2 x length x resistance / runs.

    `runs` counts equal conductors in parallel in each direction. Ohm's law on the resistance
    table. Any array shape of currents. Raises ValueError for negative or non-finite current or
    length, runs below 1, or a temperature out of range.
    """
    _require_not_negative(current_a, "current_a")
    if runs < 1:
        raise ValueError(f"runs must be 1 or more, got {runs}")
    loop_ohm = resistance_ohm(
        conductor, 2.0 * one_way_length_m, conductor_temperature_degc=conductor_temperature_degc
    )
    return current_a * (loop_ohm / runs)


def smallest_conductor(
    *,
    current_a: float,
    one_way_length_m: float,
    nominal_voltage_v: float,
    allowed_drop_fraction: float = 0.03,
    system: System = "mm2",
    engine_space: bool = False,
    bundled: int = 1,
    insulation_degc: int = USUAL_INSULATION_DEGC,
    code: WiringCode = "ABYC E-11",
    minimum_fuse_a: float = 0.0,
    minimum_area_mm2: float = MINIMUM_AREA_MM2,
    conductor_temperature_degc: float = DEFAULT_CONDUCTOR_TEMPERATURE_DEGC,
) -> ConductorChoice:
    """Smallest cable that carries the current and keeps the drop; parallel cables if it must.

    Both limits are kept: ampacity (`tco.physics.ampacity`) and a drop, out and back, of at most
    `allowed_drop_fraction` of the nominal voltage (ABYC E-11: 0.03 for critical circuits, 0.10
    for others). `minimum_fuse_a`: a fuse that it has to be large enough for. If the largest size
    is too small, two to four equal conductors in parallel are taken, the fewest first, each at
    least 1/0 AWG or 50 mm2 (NEC 310.10(G), from memory); they must be of one length, make and lug,
    or they share unequally. A conductor alone (`bundled` 1) is taken to stay apart from its
    parallel partners; otherwise the bundle grows with the runs.

    `governed_by` names the limit that the next smaller choice breaks; if it breaks both, or if
    there is none smaller, the limit that comes nearer to (or lies further beyond) its bound.

    Raises ValueError for arguments out of range, and, saying what to change, if even four
    parallel conductors do not do.
    """
    _require_positive(current_a, "current_a")
    _require_positive(nominal_voltage_v, "nominal_voltage_v")
    _require_not_negative(one_way_length_m, "one_way_length_m")
    _require_not_negative(minimum_fuse_a, "minimum_fuse_a")
    _require_not_negative(minimum_area_mm2, "minimum_area_mm2")
    if not 0.0 < allowed_drop_fraction < 1.0:
        raise ValueError(
            f"allowed_drop_fraction must be between 0 and 1, got {allowed_drop_fraction:g}"
        )
    if system not in ("awg", "mm2"):
        raise ValueError(f"system must be 'awg' or 'mm2', got {system!r}")
    bundling_factor(bundled, code)  # refuses an impossible bundle at once
    needed_a = max(current_a, minimum_fuse_a)
    allowed_v = allowed_drop_fraction * nominal_voltage_v

    smaller: tuple[float, float] | None = None
    smallest_drop_v, largest_a = math.inf, 0.0
    for size, runs in _in_order_of_effort(system, minimum_area_mm2):
        together = bundled * runs if bundled > 1 else 1
        if together > MOST_BUNDLED and runs > 1:
            break  # no factor is known for so large a bundle
        one_a = ampacity_a(
            size,
            engine_space=engine_space,
            bundled=together,
            insulation_degc=insulation_degc,
            code=code,
        )
        total_a = runs * one_a
        limit_a = runs * overcurrent_limit_a(size, one_a, code)
        drop_v = voltage_drop_v(
            current_a,
            one_way_length_m,
            size,
            runs=runs,
            conductor_temperature_degc=conductor_temperature_degc,
        )
        use = (max(current_a / total_a, minimum_fuse_a / limit_a), drop_v / allowed_v)
        if max(use) <= 1.0 + _ROUNDING:
            governs = _limit_that_governs(smaller, use)
            return ConductorChoice(size, runs, governs, drop_v, total_a, limit_a, insulation_degc)
        smaller = use
        smallest_drop_v, largest_a = min(smallest_drop_v, drop_v), max(largest_a, total_a)

    troubles, cures = [], ["raise the system voltage", "divide the load over several circuits"]
    if needed_a > largest_a:
        troubles.append(f"{needed_a:.0f} A is more than the {largest_a:.0f} A they may carry")
        if engine_space or bundled > 1:
            cures.append("route the cables singly and outside the engine space")
    if smallest_drop_v > allowed_v:
        troubles.append(
            f"the drop of {smallest_drop_v:.2f} V is more than the {allowed_v:.2f} V allowed"
        )
        cures += ["shorten the run", "allow a larger drop"]
    raise ValueError(
        f"even {MAXIMUM_PARALLEL_RUNS} of the largest {system} conductors in parallel are too "
        f"small: {' and '.join(troubles)}; {', '.join(cures[:-1])} or {cures[-1]}"
    )


@lru_cache(maxsize=64)
def _in_order_of_effort(
    system: System, minimum_area_mm2: float
) -> tuple[tuple[Conductor, int], ...]:
    """All sizes alone, smallest first, then the large ones in two, three and four runs."""
    sizes = [
        size
        for size in (AWG_SIZES if system == "awg" else MM2_SIZES)
        if size.area_mm2 >= minimum_area_mm2
    ]
    if not sizes:
        raise ValueError(f"no {system} size reaches minimum_area_mm2 = {minimum_area_mm2:g}")
    large = [size for size in sizes if size.area_mm2 >= MINIMUM_PARALLEL_AREA_MM2]
    together = [(size, runs) for runs in range(2, MAXIMUM_PARALLEL_RUNS + 1) for size in large]
    return (*[(size, 1) for size in sizes], *together)


def _limit_that_governs(
    smaller: tuple[float, float] | None, chosen: tuple[float, float]
) -> Literal["ampacity", "voltage drop"]:
    """Which of (ampacity, drop) decided, from the used shares of both choices."""
    ampacity_used, drop_used = chosen if smaller is None else smaller
    return "ampacity" if ampacity_used >= drop_used else "voltage drop"


def _require_not_negative(value: float | FloatArray, name: str) -> None:
    plain = isinstance(value, int | float)  # by far the usual case, and quick
    if plain and math.isfinite(value) and value >= 0.0:
        return
    if plain or not (np.all(np.isfinite(value)) and np.all(np.asarray(value) >= 0.0)):
        raise ValueError(f"{name} must be finite and not below zero, got {value}")


def _require_positive(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{name} must be finite and above zero, got {value}")
