"""Fuses for battery circuits: which class, which rating, and whether it can stop a short circuit.

Interrupt ratings and lists of ratings are data, written from memory unless a source stands
beside them: give the functions your own `FuseClass` where the maker's sheet says otherwise.
Sources: ABYC E-11; UL 248-15 (class T); NFPA 70 (National Electrical Code) 110.9, 210.20(A),
240.4 and 240.6(A).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from tco.physics.arrays import FloatArray

Numbers = TypeVar("Numbers", float, FloatArray)

CAUTION = (
    "A fuse that cannot stop the short-circuit current can burst and burn. Check class, rating "
    "and interrupt rating against the makers' sheets and your local code, put the fuse within "
    "7 in (180 mm) of the battery terminal, and have the work done or inspected by someone "
    "licensed where the law asks for it."
)

CONTINUOUS_FILL = 0.8
"""A continuous load takes at most this share of the rating: NEC 210.20(A), the 80 % habit."""


@dataclass(frozen=True)
class FuseClass:
    """One kind of fuse.

    `interrupt_by_voltage` holds pairs (highest direct voltage in V, interrupt rating in A at up
    to that voltage), voltages rising; `ratings_a` the ratings sold, rising. Raises ValueError
    if either is empty, not positive or out of order.
    """

    name: str
    interrupt_by_voltage: tuple[tuple[float, float], ...]
    ratings_a: tuple[float, ...]

    def __post_init__(self) -> None:
        voltages = [voltage for voltage, _ in self.interrupt_by_voltage]
        currents = [current for _, current in self.interrupt_by_voltage]
        for values, what in ((voltages, "voltages"), (list(self.ratings_a), "ratings")):
            if not values or values != sorted(set(values)):
                raise ValueError(f"{self.name}: {what} must be given, in rising order")
        if min(voltages + currents + list(self.ratings_a)) <= 0.0:
            raise ValueError(f"{self.name}: voltages and currents must be above zero")
        if currents != sorted(currents, reverse=True):
            raise ValueError(f"{self.name}: the interrupt rating cannot rise with voltage")

    @property
    def max_voltage_v(self) -> float:
        """Highest direct voltage in V at which this class may be used."""
        return self.interrupt_by_voltage[-1][0]


@dataclass(frozen=True)
class FuseChoice:
    """What `choose_fuse` found, and in `reason` why this class and none of the cheaper ones."""

    fuse_class: FuseClass
    rating_a: float
    interrupt_a: float
    reason: str


class NoFuseFits(ValueError):  # noqa: N818 - the name says what happened
    """No fuse passes all checks.

    `ampacity_needed_a` is the conductor ampacity in A with which one would, or None where
    a larger conductor does not help.
    """

    def __init__(self, message: str, *, ampacity_needed_a: float | None = None) -> None:
        super().__init__(message)
        self.ampacity_needed_a = ampacity_needed_a


# fmt: off
BLADE = FuseClass(
    "blade",
    ((32.0, 1_000.0),),  # from memory
    (1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),  # common practice, after ISO 8820-3
)
MIDI = FuseClass(
    "MIDI",
    ((32.0, 2_000.0),),  # from memory
    (30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200),  # common practice, no source
)
MEGA = FuseClass(
    "MEGA",
    ((32.0, 2_000.0),),  # from memory
    (40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500),
    # common practice, no source
)
MRBF = FuseClass(
    "MRBF",
    ((14.0, 10_000.0), (32.0, 5_000.0)),  # from memory
    (30, 40, 50, 60, 75, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300),
    # common practice, no source
)
ANL = FuseClass(
    "ANL",
    ((32.0, 6_000.0),),  # from memory
    (35, 40, 50, 60, 80, 100, 130, 150, 175, 200, 225, 250, 300, 350, 400, 500, 600, 675, 750),
    # common practice, no source
)
CLASS_T = FuseClass(
    "class T",
    ((125.0, 20_000.0),),  # UL 248-15, from memory
    (30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400,
     450, 500, 600),  # NEC 240.6(A), from memory; shops hold 110 A and up (common practice)
)
# fmt: on

CHEAPEST_FIRST: tuple[FuseClass, ...] = (BLADE, MIDI, MEGA, MRBF, ANL, CLASS_T)
"""Fuse and holder together, cheapest first: common practice, no source."""

_ROUNDING = 1e-9


def find_fuse_class(name: str) -> FuseClass:
    """Return the class called so ("ANL", "class T"), capitals or not; ValueError lists them."""
    for fuse_class in CHEAPEST_FIRST:
        if fuse_class.name.lower() == name.strip().lower():
            return fuse_class
    known = ", ".join(fuse_class.name for fuse_class in CHEAPEST_FIRST)
    raise ValueError(f"no fuse class is called {name!r}; known: {known}")


def interrupt_rating_a(fuse_class: FuseClass, voltage_v: float) -> float:
    """Largest fault current in A that this class can stop at `voltage_v`.

    Give the highest voltage the circuit sees (the charging voltage), not the nominal one.
    Raises ValueError for a voltage not above zero or beyond what the class may be used at.
    """
    _require_positive(voltage_v, "voltage_v")
    for limit_v, interrupt_a in fuse_class.interrupt_by_voltage:
        if voltage_v <= limit_v:
            return interrupt_a
    raise ValueError(
        f"{fuse_class.name} fuses may be used up to {fuse_class.max_voltage_v:g} V, "
        f"not at {voltage_v:g} V"
    )


def prospective_short_circuit_a(
    voltage_v: float,
    internal_resistance_ohm: Numbers,
    conductor_resistance_ohm: Numbers,
) -> Numbers:
    """Current in A into a dead short: V / (R internal + R conductors), Ohm's law.

    For the worst case take the charged battery's voltage, its resistance when warm, and no more
    conductor, cold, than lies between battery and fuse (0 is safest). The resistance of a bank
    is that of a pack times packs in series over strings in parallel: fault currents of parallel
    strings add, those of packs in series do not (ABYC E-11). A maker's own short-circuit figure
    goes before this estimate. Any array shapes that broadcast.

    Raises ValueError for a voltage not above zero, a resistance below zero, or none at all.
    """
    _require_positive(voltage_v, "voltage_v")
    for value, name in (
        (internal_resistance_ohm, "internal_resistance_ohm"),
        (conductor_resistance_ohm, "conductor_resistance_ohm"),
    ):
        if not (np.all(np.isfinite(value)) and np.all(np.asarray(value) >= 0.0)):
            raise ValueError(f"{name} must be finite and not below zero, got {value}")
    total_ohm = internal_resistance_ohm + conductor_resistance_ohm
    if not np.all(np.asarray(total_ohm) > 0.0):
        raise ValueError("with no resistance at all the short-circuit current has no bound")
    return voltage_v / total_ohm


def choose_fuse(
    *,
    load_current_a: float,
    conductor_ampacity_a: float,
    voltage_v: float,
    prospective_a: float,
    fill: float = CONTINUOUS_FILL,
    classes_in_order: Sequence[FuseClass] = CHEAPEST_FIRST,
) -> FuseChoice:
    """First class in order, and its smallest rating, that passes four checks.

    1. The load does not tire it: rating >= load / fill (NEC 210.20(A), 80 %).
    2. It protects the conductor: rating <= ampacity (ABYC E-11, NEC 240.4). The next standard
       size above the ampacity is *not* taken, though NEC 240.4(B) would let it pass.
    3. It may be used at this voltage. `voltage_v` is the highest the circuit sees: a 48 V bank
       charges to some 58 V, so classes made for 32 V are out.
    4. It can stop the fault: interrupt rating at that voltage >= `prospective_a` (NEC 110.9,
       ABYC E-11; class T: UL 248-15).

    For conductors in parallel give the sum of their ampacities. Currents in A, voltage in V.
    `reason` says what ruled out each class that stood before.

    Raises ValueError for arguments out of range, and where a dead short drives too little
    current to open the fuse; NoFuseFits, with `ampacity_needed_a`, where no fuse passes.
    """
    _require_positive(load_current_a, "load_current_a")
    _require_positive(conductor_ampacity_a, "conductor_ampacity_a")
    _require_positive(voltage_v, "voltage_v")
    _require_positive(prospective_a, "prospective_a")
    if not 0.0 < fill <= 1.0:
        raise ValueError(f"fill must be above 0 and at most 1, got {fill:g}")
    if not classes_in_order:
        raise ValueError("classes_in_order is empty: name at least one fuse class")
    least_a = load_current_a / fill
    if prospective_a <= least_a:
        raise ValueError(
            f"a short circuit of {prospective_a:.0f} A could not open a fuse of the "
            f"{least_a:.0f} A this load needs: check the voltage and resistances given"
        )

    passed_over: list[str] = []
    ratings_above_ampacity: list[float] = []
    for fuse_class in classes_in_order:
        name = fuse_class.name
        if voltage_v > fuse_class.max_voltage_v:
            passed_over.append(f"{name} stops at {fuse_class.max_voltage_v:g} V")
            continue
        interrupt_a = interrupt_rating_a(fuse_class, voltage_v)
        if interrupt_a < prospective_a:
            passed_over.append(f"{name} interrupts only {interrupt_a:.0f} A")
            continue
        rating_a = min(
            (r for r in fuse_class.ratings_a if r >= least_a * (1.0 - _ROUNDING)), default=None
        )
        if rating_a is None:
            passed_over.append(f"{name} ends at {fuse_class.ratings_a[-1]:g} A")
            continue
        if rating_a >= prospective_a:
            passed_over.append(f"{name} {rating_a:g} A would not open in a short circuit")
            continue
        if rating_a > conductor_ampacity_a * (1.0 + _ROUNDING):
            passed_over.append(f"{name} {rating_a:g} A is more than the conductor may carry")
            ratings_above_ampacity.append(rating_a)
            continue
        reason = (
            f"{name} {rating_a:g} A: at least {least_a:.1f} A for the load, at most "
            f"{conductor_ampacity_a:.1f} A for the conductor, interrupts {interrupt_a:.0f} A "
            f"at {voltage_v:g} V where {prospective_a:.0f} A can flow"
        )
        if passed_over:
            reason += f"; passed over: {', '.join(passed_over)}"
        return FuseChoice(fuse_class, float(rating_a), interrupt_a, reason)

    what = (
        f"no fuse fits a load of {load_current_a:g} A on a conductor for "
        f"{conductor_ampacity_a:g} A at {voltage_v:g} V and {prospective_a:.0f} A short-circuit "
        f"current ({', '.join(passed_over)})"
    )
    if ratings_above_ampacity:
        needed_a = float(min(ratings_above_ampacity))
        raise NoFuseFits(
            f"{what}: use a conductor with an ampacity of at least {needed_a:g} A",
            ampacity_needed_a=needed_a,
        )
    raise NoFuseFits(
        f"{what}: a larger conductor does not help; divide the bank or the load over circuits "
        "with a fuse each, or offer a class with a higher voltage, interrupt or current rating"
    )


def _require_positive(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{name} must be finite and above zero, got {value}")
