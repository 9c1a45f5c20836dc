"""Fuses for battery circuits: what is asked of one at its place, and which one answers it.

The classes are data, in `tco.physics.fuse_classes`. One rule serves whoever asks: `shortcomings`
says what a fuse lacks for its duty, `choose_fuse` takes the first that lacks nothing.
Sources: ABYC E-11; NFPA 70 (National Electrical Code) 110.9, 210.20(A) and 240.4.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np

from tco.physics.arrays import FloatArray
from tco.physics.fuse_classes import CHEAPEST_FIRST, FuseClass, interrupt_rating_a

Numbers = TypeVar("Numbers", float, FloatArray)

CAUTION = (
    "A fuse that cannot stop the short-circuit current can burst and burn. Check class, rating "
    "and interrupt rating against the makers' sheets and your local code, put the fuse within "
    "7 in (180 mm) of the battery terminal, and have the work done or inspected by someone "
    "licensed where the law asks for it."
)

CONTINUOUS_FILL = 0.8
"""A continuous load takes at most this share of the rating: NEC 210.20(A), the 80 % habit."""

_ROUNDING = 1e-9


@dataclass(frozen=True)
class FuseDuty:
    """What is asked of a fuse at its place.

    `load_current_a` flows for long, at most `fill` of the rating. `conductor_ampacity_a` is that
    of the smallest conductor it protects, for conductors in parallel the sum. `voltage_v` is the
    highest the circuit sees, `prospective_a` the largest fault there, `least_fault_a` the smallest
    one it has to open for (None: as the largest). `least_interrupt_a`: interrupt rating asked for
    whatever the fault comes to. `surge_a` is to be borne for `surge_s`; 0 for none.

    Raises ValueError for a number out of range.
    """

    load_current_a: float
    conductor_ampacity_a: float
    voltage_v: float
    prospective_a: float
    least_fault_a: float | None = None
    least_interrupt_a: float = 0.0
    surge_a: float = 0.0
    surge_s: float = 0.0
    fill: float = CONTINUOUS_FILL

    def __post_init__(self) -> None:
        for name in ("load_current_a", "conductor_ampacity_a", "voltage_v", "prospective_a"):
            _require_positive(getattr(self, name), name)
        if self.least_fault_a is not None:
            _require_positive(self.least_fault_a, "least_fault_a")
        for name in ("least_interrupt_a", "surge_a", "surge_s"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0.0):
                raise ValueError(f"{name} must be finite and not below zero, got {value}")
        if not 0.0 < self.fill <= 1.0:
            raise ValueError(f"fill must be above 0 and at most 1, got {self.fill:g}")

    @property
    def least_rating_a(self) -> float:
        """Smallest rating that the load does not tire. [A]"""
        return self.load_current_a / self.fill

    @property
    def opening_a(self) -> float:
        """Fault for which the fuse has to open. [A]"""
        return self.prospective_a if self.least_fault_a is None else self.least_fault_a


@dataclass(frozen=True)
class FuseChoice:
    """What `choose_fuse` found, and in `reason` why this class and none of the cheaper ones."""

    fuse_class: FuseClass
    rating_a: float
    interrupt_a: float
    reason: str

    @property
    def name(self) -> str:
        """Class and rating, as one asks for it in a shop."""
        return fuse_name(self.fuse_class, self.rating_a)


def fuse_name(fuse_class: FuseClass, rating_a: float) -> str:
    """What a fuse is called: its class and rating."""
    return f"{fuse_class.name} {rating_a:g} A"


Lack = Literal["voltage", "interrupt", "load", "surge", "opening", "conductor"]


@dataclass(frozen=True)
class Shortcoming:
    """One thing a fuse lacks for its duty, and that in words."""

    lack: Lack
    words: str


class NoFuseFits(ValueError):  # noqa: N818 - the name says what happened
    """No fuse passes all checks.

    `ampacity_needed_a` is the conductor ampacity in A with which one would, or None where
    a larger conductor does not help.
    """

    def __init__(self, message: str, *, ampacity_needed_a: float | None = None) -> None:
        super().__init__(message)
        self.ampacity_needed_a = ampacity_needed_a


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
        if isinstance(value, float) and math.isfinite(value) and value >= 0.0:
            continue  # by far the usual case, and quick
        if not (np.all(np.isfinite(value)) and np.all(np.asarray(value) >= 0.0)):
            raise ValueError(f"{name} must be finite and not below zero, got {value}")
    total_ohm = internal_resistance_ohm + conductor_resistance_ohm
    if not (total_ohm > 0.0 if isinstance(total_ohm, float) else np.all(total_ohm > 0.0)):
        raise ValueError("with no resistance at all the short-circuit current has no bound")
    return voltage_v / total_ohm


def shortcomings(fuse_class: FuseClass, rating_a: float, duty: FuseDuty) -> tuple[Shortcoming, ...]:
    """Everything a fuse lacks for its duty; nothing where it serves.

    1. It may be used at this voltage: a 48 V bank charges to some 58 V, so classes made for 32 V
       are out.
    2. It can stop the fault: interrupt rating at that voltage >= `prospective_a` (NEC 110.9,
       ABYC E-11; class T: UL 248-15), and no less than asked for where the fault is not known.
    3. The load does not tire it: rating >= load / fill (NEC 210.20(A), 80 %).
    4. It bears the surge for as long as that lasts (the class's shortest times).
    5. The smallest fault opens it.
    6. It protects the conductor: rating <= ampacity (ABYC E-11, NEC 240.4). The next standard size
       above the ampacity is *not* taken, though NEC 240.4(B) would let it pass.
    """
    name = fuse_name(fuse_class, rating_a)
    found: list[Shortcoming] = list(_of_class(fuse_class, duty))
    if not _carries(rating_a, duty):
        words = (
            f"{name} carries {rating_a * duty.fill:.0f} A for long; {duty.load_current_a:.0f} A "
            "are needed"
        )
        found.append(Shortcoming("load", words))
    if not _bears_surge(fuse_class, rating_a, duty):
        held_s = fuse_class.held_s(duty.surge_a / rating_a)
        words = (
            f"{name} bears a surge of {duty.surge_a:.0f} A for no more than {held_s:.2g} s with "
            f"certainty, not for {duty.surge_s:g} s"
        )
        found.append(Shortcoming("surge", words))
    if rating_a >= duty.opening_a:
        words = f"{name} would not open in a short circuit of {duty.opening_a:.0f} A"
        found.append(Shortcoming("opening", words))
    if rating_a > duty.conductor_ampacity_a * (1.0 + _ROUNDING):
        words = f"{name} does not protect a cable of {duty.conductor_ampacity_a:.0f} A"
        found.append(Shortcoming("conductor", words))
    return tuple(found)


def _carries(rating_a: float, duty: FuseDuty) -> bool:
    return rating_a >= duty.least_rating_a * (1.0 - _ROUNDING)


def _bears_surge(fuse_class: FuseClass, rating_a: float, duty: FuseDuty) -> bool:
    if duty.surge_s <= 0.0 or duty.surge_a <= 0.0:
        return True
    return duty.surge_s <= fuse_class.held_s(duty.surge_a / rating_a) * (1.0 + _ROUNDING)


def _of_class(fuse_class: FuseClass, duty: FuseDuty) -> Sequence[Shortcoming]:
    """What no rating of a class makes good."""
    name = fuse_class.name
    if duty.voltage_v > fuse_class.max_voltage_v:
        limit_v = fuse_class.max_voltage_v
        words = f"{name} stops at {limit_v:g} V and is not made for {duty.voltage_v:.1f} V"
        return [Shortcoming("voltage", words)]
    interrupt_a = interrupt_rating_a(fuse_class, duty.voltage_v)
    if interrupt_a < duty.prospective_a:
        words = (
            f"{name} interrupts only {interrupt_a:,.0f} A; a dead short could draw "
            f"{duty.prospective_a:,.0f} A"
        )
        return [Shortcoming("interrupt", words)]
    if interrupt_a < duty.least_interrupt_a:
        words = (
            f"{name} interrupts only {interrupt_a:,.0f} A, and where the packs' resistance is not "
            f"stated {duty.least_interrupt_a:,.0f} A are asked for"
        )
        return [Shortcoming("interrupt", words)]
    return []


def choose_fuse(
    duty: FuseDuty, *, classes_in_order: Sequence[FuseClass] = CHEAPEST_FIRST
) -> FuseChoice:
    """First class in order, and its smallest rating, that lacks nothing (`shortcomings`).

    `reason` says what ruled out each class that stood before.

    Raises ValueError for no class at all, and where a dead short drives too little current to
    open the fuse; NoFuseFits, with `ampacity_needed_a`, where no fuse passes. Where the smallest
    fault would not open it either, that is to be asked again with the larger conductor.
    """
    if not classes_in_order:
        raise ValueError("classes_in_order is empty: name at least one fuse class")
    if duty.opening_a <= duty.least_rating_a:
        raise ValueError(
            f"a short circuit of {duty.opening_a:.0f} A could not open a fuse of the "
            f"{duty.least_rating_a:.0f} A this load needs: check the voltage and resistances given"
        )
    passed_over: list[str] = []
    too_large: list[float] = []
    for fuse_class in classes_in_order:
        unfit = _of_class(fuse_class, duty)
        if unfit:
            passed_over.append(unfit[0].words)
            continue
        rating_a = _smallest_that_bears(fuse_class, duty)
        if rating_a is None:
            passed_over.append(f"{fuse_class.name} ends at {fuse_class.ratings_a[-1]:g} A")
            continue
        lacking = shortcomings(fuse_class, rating_a, duty)
        if not lacking:
            return _chosen(fuse_class, rating_a, duty, passed_over)
        passed_over.append(lacking[0].words)
        lacks = {one.lack for one in lacking}
        # the smallest fault grows with the conductor, the largest is there already
        if lacks == {"conductor"} or (
            lacks == {"conductor", "opening"} and rating_a < duty.prospective_a
        ):
            too_large.append(rating_a)
    raise _none_fits(duty, passed_over, too_large)


def _smallest_that_bears(fuse_class: FuseClass, duty: FuseDuty) -> float | None:
    """Smallest rating sold that load and surge leave alone; None where all are too small."""
    for rating_a in fuse_class.ratings_a:
        if _carries(rating_a, duty) and _bears_surge(fuse_class, rating_a, duty):
            return float(rating_a)
    return None


def _chosen(
    fuse_class: FuseClass, rating_a: float, duty: FuseDuty, passed_over: Sequence[str]
) -> FuseChoice:
    interrupt_a = interrupt_rating_a(fuse_class, duty.voltage_v)
    reason = (
        f"{fuse_name(fuse_class, rating_a)}: at least {duty.least_rating_a:.1f} A for the load, at "
        f"most {duty.conductor_ampacity_a:.1f} A for the conductor, interrupts {interrupt_a:,.0f} "
        f"A at {duty.voltage_v:g} V where {duty.prospective_a:,.0f} A can flow"
    )
    if duty.surge_a > rating_a:
        reason += f", bears {duty.surge_a:.0f} A for {duty.surge_s:g} s"
    if passed_over:
        reason += f"; passed over: {', '.join(passed_over)}"
    return FuseChoice(fuse_class, rating_a, interrupt_a, reason)


def _none_fits(
    duty: FuseDuty, passed_over: Sequence[str], too_large: Sequence[float]
) -> NoFuseFits:
    what = (
        f"no fuse fits a load of {duty.load_current_a:g} A on a conductor for "
        f"{duty.conductor_ampacity_a:g} A at {duty.voltage_v:g} V and {duty.prospective_a:,.0f} A "
        f"short-circuit current ({'; '.join(passed_over)})"
    )
    if too_large:
        needed_a = min(too_large)
        return NoFuseFits(
            f"{what}: use a conductor with an ampacity of at least {needed_a:g} A",
            ampacity_needed_a=needed_a,
        )
    return NoFuseFits(
        f"{what}: a larger conductor does not help; divide the bank or the load over circuits "
        "with a fuse each, or offer a class with a higher voltage, interrupt or current rating"
    )


def _require_positive(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{name} must be finite and above zero, got {value}")
