"""Classes of fuses for battery circuits: what they interrupt, which ratings shops hold, how long
they bear an overload.

All of it is data, written from memory unless a source stands beside it: give the functions of
`tco.physics.fuses` your own `FuseClass` where the maker's sheet says otherwise.
Sources: UL 248-15 (class T), UL 248-8 (class J), IEC 60269-6 (gPV), ISO 8820-3 (blade), ISO 8820-5
(bolted fuses, MIDI and MEGA), IEC 60947-2 and IEC 60898-2 (breakers on rails).

Circuit breakers are classes too, judged like any other where they are installed; the tool never
chooses one to buy.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class FuseClass:
    """One kind of fuse.

    `interrupt_by_voltage` holds pairs (highest direct voltage in V, interrupt rating in A at up
    to that voltage), voltages rising; `ratings_a` the ratings that shops hold, rising. `holds` are
    pairs (multiple of the rating, shortest time in s for which it bears that), multiples rising,
    times falling. Raises ValueError where one of them is empty, not positive or out of order.
    """

    name: str
    interrupt_by_voltage: tuple[tuple[float, float], ...]
    ratings_a: tuple[float, ...]
    holds: tuple[tuple[float, float], ...] = ((1.0, 3600.0),)

    def __post_init__(self) -> None:
        voltages = [voltage for voltage, _ in self.interrupt_by_voltage]
        currents = [current for _, current in self.interrupt_by_voltage]
        multiples = [multiple for multiple, _ in self.holds]
        times = [seconds for _, seconds in self.holds]
        for values, what in (
            (voltages, "voltages"),
            (list(self.ratings_a), "ratings"),
            (multiples, "multiples"),
        ):
            if not values or values != sorted(set(values)):
                raise ValueError(f"{self.name}: {what} must be given, in rising order")
        if min(voltages + currents + list(self.ratings_a) + multiples + times) <= 0.0:
            raise ValueError(f"{self.name}: voltages, currents and times must be above zero")
        if currents != sorted(currents, reverse=True):
            raise ValueError(f"{self.name}: the interrupt rating cannot rise with voltage")
        if times != sorted(times, reverse=True):
            raise ValueError(f"{self.name}: a larger current cannot be borne for longer")

    @property
    def max_voltage_v(self) -> float:
        """Highest direct voltage in V at which this class may be used."""
        return self.interrupt_by_voltage[-1][0]

    def held_s(self, multiple: float) -> float:
        """Seconds for which a multiple of the rating is borne at least; endless up to the first.

        Straight lines between the points of `holds` on logarithmic scales, as time-current curves
        are drawn; 0 beyond the last.
        """
        if multiple <= self.holds[0][0]:
            return math.inf
        for (low, long_s), (high, short_s) in zip(self.holds, self.holds[1:], strict=False):
            if multiple <= high:
                part = math.log(multiple / low) / math.log(high / low)
                return long_s * (short_s / long_s) ** part
        return 0.0


_SLOW = ((1.10, 14_400.0), (1.35, 120.0), (2.0, 1.0), (3.5, 0.3), (6.0, 0.1))
"""Shortest times of the band for bolted strip fuses: 110 % held 4 h, 135 % opens in 120 to 1800 s,
200 % in 1 to 15 s, 350 % in 0.3 to 5 s, 600 % in 0.1 to 1 s (ISO 8820-5, from memory)."""

_BLADE = ((1.10, 360_000.0), (1.35, 0.75), (1.6, 0.25), (2.0, 0.15), (3.5, 0.04), (6.0, 0.02))
"""110 % held 100 h, 135 % opens in 0.75 to 600 s, 160 % in 0.25 to 50 s, 200 % in 0.15 to 5 s,
350 % in 0.04 to 0.5 s, 600 % in 0.02 to 0.1 s (ISO 8820-3, from memory)."""

_FAST = ((1.10, 14_400.0), (1.35, 60.0), (2.0, 5.0), (3.0, 0.5), (5.0, 0.02))
"""Cautious: class T opens within one to two hours at 135 %, within minutes at 200 %, in a few
seconds at 300 % (UL 248-15, from memory); the shortest times are common practice, no source."""

# fmt: off
BLADE = FuseClass(
    "blade",
    ((32.0, 1_000.0),),  # from memory
    (1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),  # common practice, after ISO 8820-3
    _BLADE,
)
MIDI = FuseClass(
    "MIDI",
    ((32.0, 2_000.0),),  # from memory
    (30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200),  # common practice, no source
    _SLOW,
)
MEGA = FuseClass(
    "MEGA",
    ((32.0, 2_000.0),),  # from memory
    (40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500),
    # common practice, no source
    _SLOW,
)
MRBF = FuseClass(
    "MRBF",
    ((14.0, 10_000.0), (32.0, 5_000.0)),  # from memory
    (30, 40, 50, 60, 75, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300),
    # common practice, no source
    _SLOW,  # common practice, no source: no band of its own is known to us
)
ANL = FuseClass(
    "ANL",
    ((32.0, 6_000.0),),  # from memory
    (35, 40, 50, 60, 80, 100, 130, 150, 175, 200, 225, 250, 300, 350, 400, 500, 600, 675, 750),
    # common practice, no source
    _SLOW,  # common practice, no source: no band of its own is known to us
)
GPV = FuseClass(
    "gPV",
    ((600.0, 10_000.0),),  # IEC 60269-6 asks 10 kA at least (from memory); many are marked 1000 V
    (2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 32, 40, 50),
    # solar shops: cylinders of 10 x 38 mm to 32 A, 14 x 51 mm above (common practice, no source)
    _FAST,
)
CLASS_T = FuseClass(
    "class T",
    ((125.0, 20_000.0),),  # UL 248-15, from memory
    (110, 125, 150, 175, 200, 225, 250, 300, 350, 400),
    # of NEC 240.6(A), from memory, those that shops for batteries hold (common practice)
    _FAST,
)
CLASS_J = FuseClass(
    "class J, 50 kA DC",
    # UL 248-8; makers mark time-delay types 20 kA to 100 kA for direct current (from memory), so
    # that the marking belongs to the name
    ((300.0, 50_000.0),),
    (110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500, 600),
    # NEC 240.6(A), from memory; held by electrical wholesalers (common practice). The smaller ones
    # are left out: it is for faults that class T does not stop
    _FAST,
)
# fmt: on

CHEAPEST_FIRST: tuple[FuseClass, ...] = (BLADE, MIDI, MEGA, MRBF, ANL, GPV, CLASS_T, CLASS_J)
"""Fuse and holder together, cheapest first, but gPV behind those that shops for batteries hold:
common practice, no source."""


_THERMAL = ((1.0, 3600.0), (1.35, 60.0), (2.0, 8.0), (4.0, 2.0), (6.0, 0.5))
"""Cautious: the quick edge of the bands of bimetal breakers. Common practice, no source."""

_MAGNETIC = ((1.0, 3600.0), (1.25, 30.0), (2.0, 4.0), (4.0, 0.7), (6.0, 0.02))
"""Cautious: the quick edge of medium delays, with the coil pulling at once beyond six times. Common
practice, no source."""

_TYPE_B = ((1.13, 3600.0), (2.55, 1.0), (4.0, 0.1))
"""113 % held an hour, 255 % opens in 1 to 60 s (IEC 60898-1), and direct current may release type B
at once from four times on (IEC 60898-2); from memory. Type C would bear more."""

# fmt: off
THERMAL_BREAKER = FuseClass(
    "thermal breaker",
    ((14.0, 3_000.0), (32.0, 1_500.0)),  # what makers mark on surface mounted ones; from memory
    (25, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120, 135, 150),  # common practice, no source
    _THERMAL,
)
MAGNETIC_BREAKER = FuseClass(
    "magnetic breaker",
    # of panels, hydraulic-magnetic: marked 3 kA to 7.5 kA at 65 V (from memory); the least of it
    ((65.0, 3_000.0),),
    (5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 100),  # common practice, no source
    _MAGNETIC,
)
RAIL_BREAKER = FuseClass(
    "DC rail breaker",
    ((60.0, 6_000.0),),  # one pole of a miniature breaker marked for DC; IEC 60898-2, from memory
    (6, 10, 13, 16, 20, 25, 32, 40, 50, 63),  # preferred values of IEC 60898-1, from memory
    _TYPE_B,
)
# fmt: on

BREAKERS: tuple[FuseClass, ...] = (THERMAL_BREAKER, MAGNETIC_BREAKER, RAIL_BREAKER)
"""Circuit breakers that may be installed. What a breaker's own label says goes first."""

INSTALLED: tuple[FuseClass, ...] = (*CHEAPEST_FIRST, *BREAKERS)
"""Everything that may be found installed."""


def find_fuse_class(name: str) -> FuseClass:
    """Return the class called so ("ANL", "class T"), capitals or not; ValueError lists them."""
    for fuse_class in INSTALLED:
        if fuse_class.name.lower() == name.strip().lower():
            return fuse_class
    known = ", ".join(fuse_class.name for fuse_class in INSTALLED)
    raise ValueError(f"no fuse class is called {name!r}; known: {known}")


def interrupt_rating_a(fuse_class: FuseClass, voltage_v: float) -> float:
    """Largest fault current in A that this class can stop at `voltage_v`.

    Give the highest voltage the circuit sees (the charging voltage), not the nominal one.
    Raises ValueError for a voltage not above zero or beyond what the class may be used at.
    """
    if not (math.isfinite(voltage_v) and voltage_v > 0.0):
        raise ValueError(f"voltage_v must be finite and above zero, got {voltage_v}")
    for limit_v, interrupt_a in fuse_class.interrupt_by_voltage:
        if voltage_v <= limit_v:
            return interrupt_a
    raise ValueError(
        f"{fuse_class.name} may be used up to {fuse_class.max_voltage_v:g} V, "
        f"not at {voltage_v:g} V"
    )
