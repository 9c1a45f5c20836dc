"""The pieces a circuit is made of: cables and the devices between them."""

from dataclasses import dataclass
from typing import Literal

from tco.physics.conductors import Conductor, ConductorChoice, resistance_ohm, voltage_drop_v
from tco.physics.fuses import FuseChoice

JOINT_OHM = 60e-6
"""One crimped and bolted end. From memory: small crimped lugs 20 to 100 micro-ohm when tight;
good bolted joints 19 to 48 micro-ohm (IEEE 450 as quoted by makers)."""

Role = Literal["main", "lead", "jumper", "link"]


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
    def ends(self) -> int:
        """Crimped ends, two for each run."""
        return 2 * self.choice.runs

    @property
    def ohm(self) -> float:
        """Resistance of cable and both joints, runs together. [ohm]"""
        cable = float(resistance_ohm(self.conductor, self.length_m))
        return (cable + 2.0 * JOINT_OHM) / self.choice.runs

    @property
    def drop_v(self) -> float:
        """Voltage lost in this one piece at its current, joints left out. [V]"""
        both_ways = voltage_drop_v(
            self.current_a, self.length_m, self.conductor, runs=self.choice.runs
        )
        return float(both_ways) / 2.0


@dataclass(frozen=True)
class Device:
    """A fuse, switch, shunt or busbar at its place in the circuit."""

    key: str
    kind: Literal["main fuse", "string fuse", "switch", "shunt", "busbar"]
    rating_a: float
    fuse: FuseChoice | None = None
