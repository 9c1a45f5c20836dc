"""Conductor and fuse for one run of a case: sized together, refused in words."""

from collections.abc import Callable
from dataclasses import dataclass

from tco.bank.wiring.faults import Fault
from tco.case import Case
from tco.physics.conductors import (
    MINIMUM_AREA_MM2,
    NEC_MINIMUM_AREA_MM2,
    ConductorChoice,
    smallest_conductor,
)
from tco.physics.fuses import FuseChoice, FuseDuty, NoFuseFits, choose_fuse
from tco.sentences import degc, says

PART_OF_DROP = 1.0 / 3.0
"""Share of the allowed voltage drop to which leads, jumpers and links are each sized; the main run
keeps to what they leave. Own choice."""


@dataclass(frozen=True)
class DropParts:
    """Shares of the allowed voltage drop to which the cables of a bank are sized, each."""

    lead: float = PART_OF_DROP
    jumper: float = PART_OF_DROP
    link: float = PART_OF_DROP


USUAL_PARTS = DropParts()


class CannotWire(ValueError):  # noqa: N818 - the name says what happened
    """No conductor or fuse of the tables serves; the message names the run, if any, and says why.

    `conductor`: the one found for the run where only its fuse is lacking.
    """

    def __init__(self, why: str, *, run: str = "", conductor: ConductorChoice | None = None):
        super().__init__(f"{run}: {why}" if run else why)
        self.why, self.conductor = why, conductor


@dataclass(frozen=True)
class Run:
    """One run of cable to size, in A and m one way.

    `drop`: the part of the nominal voltage that may be lost out and back. `least_interrupt_a`: what
    its fuse has to interrupt at least, whatever the fault comes to. `installed`: its cable is there
    already, and trusted for no more than it says. `surge_a`: for `assumptions.surge_seconds`.
    """

    name: str
    current_a: float
    length_m: float
    drop: float
    least_interrupt_a: float = 0.0
    installed: bool = False
    surge_a: float = 0.0


def hot(case: Case) -> bool:
    """Whether cables run through an engine space: one space with the engine in it is enough."""
    return any(space.engine_space for space in case.system.spaces)


def cable_basis(case: Case) -> str:
    """What sizes of cable rest on, as a sentence of quantities."""
    stated = case.system.insulation_degc is not None
    return says(
        "cable insulated for ",
        degc(case.system.new_insulation_degc, "g"),
        f"{'' if stated else ' (assumed)'}, ampacities of {case.system.wiring_code}",
    )


def size_run(case: Case, run: Run, *, fuse_a: float = 0.0) -> ConductorChoice:
    """Smallest conductor of the case's system for a run.

    `fuse_a`: fuses that it has to be large enough for. [A] Raises CannotWire.
    """
    system = case.system
    try:
        return smallest_conductor(
            current_a=run.current_a,
            one_way_length_m=run.length_m,
            nominal_voltage_v=float(system.nominal_voltage_v),
            allowed_drop_fraction=run.drop,
            system=system.conductor_sizes,
            engine_space=hot(case),
            bundled=system.bundled_conductors,
            insulation_degc=(
                system.installed_insulation_degc if run.installed else system.new_insulation_degc
            ),
            code=system.wiring_code,
            minimum_fuse_a=fuse_a,
            minimum_area_mm2=(
                NEC_MINIMUM_AREA_MM2 if system.wiring_code == "NEC" else MINIMUM_AREA_MM2
            ),
        )
    except ValueError as error:
        raise CannotWire(str(error), run=run.name) from error


def protect_run(
    case: Case,
    run: Run,
    *,
    voltage_v: float,
    fault: Callable[[ConductorChoice], Fault],
    fuse_a: float = 0.0,
) -> tuple[ConductorChoice, FuseChoice, FuseDuty]:
    """Conductor, fuse and the fuse's duty for a run: the one place where a fuse is chosen.

    The fuse carries the load, protects the conductor and stops the short circuit at the highest
    voltage; the conductor grows until there is one. `fault`: the short circuit at the fuse with a
    conductor; `fuse_a`: rating of an installed fuse that stays in the run. [A] Raises CannotWire.
    """
    while True:
        size = size_run(case, run, fuse_a=fuse_a)
        try:
            duty = duty_of(case, run, size, voltage_v=voltage_v, fault=fault(size))
            return size, choose_fuse(duty), duty
        except NoFuseFits as problem:
            needed = problem.ampacity_needed_a
            if needed is None or needed <= fuse_a:
                raise CannotWire(str(problem), run=run.name, conductor=size) from problem
            fuse_a = needed
        except ValueError as error:
            raise CannotWire(str(error), run=run.name, conductor=size) from error


def duty_of(
    case: Case, run: Run, size: ConductorChoice, *, voltage_v: float, fault: Fault
) -> FuseDuty:
    """What is asked of the fuse of a run with a conductor. Raises ValueError."""
    return FuseDuty(
        load_current_a=run.current_a,
        conductor_ampacity_a=size.fuse_limit_a,
        voltage_v=voltage_v,
        prospective_a=fault.most_a,
        least_fault_a=fault.least_a,
        least_interrupt_a=run.least_interrupt_a,
        surge_a=run.surge_a,
        surge_s=case.assumptions.surge_seconds,
    )
