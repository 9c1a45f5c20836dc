"""The pieces a circuit is made of: cables and the devices between them."""

import math
from dataclasses import dataclass
from typing import Literal

from tco.physics.conductor_sizes import Conductor
from tco.physics.conductors import ConductorChoice, resistance_ohm, voltage_drop_v
from tco.physics.fuses import FuseChoice

JOINT_OHM = 60e-6
"""One crimped and bolted end. From memory: small crimped lugs 20 to 100 micro-ohm when tight;
good bolted joints 19 to 48 micro-ohm (IEEE 450 as quoted by makers)."""

TIGHT_JOINT_OHM = 19e-6
"""A good bolted joint, which counts for short circuits: 19 to 48 micro-ohm (IEEE 450 as quoted by
makers)."""

COLD_COPPER_DEGC = 20.0
"""Of a cable at rest when a short circuit begins: it lets more current through than a warm one."""

STRAND_FILL = 0.6
"""Copper's share of the round that its fine strands take up. From memory: bunched class 5
conductors of 10 to 120 mm2 measure about 1.46 times the root of their area."""

INSULATION_MM: tuple[tuple[float, float], ...] = (
    (2.5, 0.8),
    (6.0, 0.8),
    (16.0, 1.0),
    (35.0, 1.2),
    (70.0, 1.4),
    (120.0, 1.6),
)
"""Largest area in mm2 and wall of the insulation in mm, single PVC cores (EN 50525-2-31, from
memory). Battery cable is made thicker by some: its maker's figure goes first."""

BEND_DIAMETERS: tuple[tuple[float, float], ...] = ((8.0, 2.0), (12.0, 3.0), (math.inf, 4.0))
"""Largest outside diameter in mm, and the inside radius of a careful bend at a terminal in
diameters (HD 516 S2, table of bending radii for fixed cables, from memory; for a bend anywhere
else it asks 4, 5 and 6). The cable's maker comes first."""

Role = Literal["main", "lead", "jumper", "link", "branch"]


def outside_diameter_mm(conductor: Conductor) -> float:
    """Outside diameter of a single-core cable of this size, estimated. [mm]

    Copper area over `STRAND_FILL`, as a circle, and the insulation on both sides.
    """
    wall = next((mm for area, mm in INSULATION_MM if conductor.area_mm2 <= area), 1.6)
    return math.sqrt(4.0 * conductor.area_mm2 / (math.pi * STRAND_FILL)) + 2.0 * wall


def bend_radius_mm(conductor: Conductor) -> float:
    """Smallest inside radius of a careful bend at a terminal. [mm]"""
    outside = outside_diameter_mm(conductor)
    return outside * next(times for largest, times in BEND_DIAMETERS if outside <= largest)


@dataclass(frozen=True)
class Cable:
    """One piece of cable between two terminals; `choice.runs` equal ones side by side."""

    key: str
    role: Role
    start: str
    end: str
    choice: ConductorChoice
    length_m: float
    current_a: float

    @property
    def conductor(self) -> Conductor:
        """Its size."""
        return self.choice.conductor

    @property
    def colour(self) -> str:
        """Of its insulation: black on the negative side, red elsewhere."""
        if self.role == "branch":  # its key is a name
            return "black" if self.start.endswith("-") else "red"
        return "black" if self.key.endswith("-") or " - " in self.key else "red"

    @property
    def ends(self) -> int:
        """Crimped ends, two for each run."""
        return 2 * self.choice.runs

    @property
    def ohm(self) -> float:
        """Resistance of cable and both joints, runs together. [ohm]"""
        cable = float(resistance_ohm(self.conductor, self.length_m))
        return (cable + 2.0 * JOINT_OHM) / self.choice.runs

    @property
    def cold_ohm(self) -> float:
        """The same at its least: copper at 20 degC, good joints, for short circuits. [ohm]"""
        cable = float(
            resistance_ohm(
                self.conductor, self.length_m, conductor_temperature_degc=COLD_COPPER_DEGC
            )
        )
        return (cable + 2.0 * TIGHT_JOINT_OHM) / self.choice.runs

    @property
    def drop_v(self) -> float:
        """Voltage lost in this one piece at its current, joints left out. [V]"""
        both_ways = voltage_drop_v(
            self.current_a, self.length_m, self.conductor, runs=self.choice.runs
        )
        return float(both_ways) / 2.0


@dataclass(frozen=True)
class Device:
    """A fuse, contactor, switch, shunt or busbar at its place in the circuit."""

    key: str
    kind: Literal["main fuse", "string fuse", "contactor", "switch", "shunt", "busbar"]
    rating_a: float
    fuse: FuseChoice | None = None
