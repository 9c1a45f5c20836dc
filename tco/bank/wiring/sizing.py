"""Conductor and fuse for one run of a case: sized together, refused in words."""

from tco.case import Case
from tco.physics.conductors import ConductorChoice, smallest_conductor
from tco.physics.fuses import FuseChoice, NoFuseFits, choose_fuse

PART_OF_DROP = 1.0 / 3.0
"""Share of the allowed voltage drop to which leads, jumpers and links are each sized; the main run
keeps to what they leave. Own choice."""


class CannotWire(ValueError):  # noqa: N818 - the name says what happened
    """No conductor or fuse of the tables serves this arrangement; the message says why."""


def size_run(
    case: Case,
    name: str,
    current_a: float,
    length_m: float,
    *,
    drop: float,
    ampacity_a: float = 0.0,
) -> ConductorChoice:
    """Smallest conductor of the case's system for a current and a one-way length.

    `drop`: the part of the nominal voltage that may be lost out and back; `ampacity_a`: ampacity
    asked for beyond the current's own. Raises CannotWire, naming the run.
    """
    try:
        return _smallest(case, current_a, length_m, drop=drop, ampacity_a=ampacity_a)
    except ValueError as error:
        raise CannotWire(f"{name}: {error}") from error


def _smallest(
    case: Case, current_a: float, length_m: float, *, drop: float, ampacity_a: float
) -> ConductorChoice:
    return smallest_conductor(
        current_a=current_a,
        one_way_length_m=length_m,
        nominal_voltage_v=float(case.system.nominal_voltage_v),
        allowed_drop_fraction=drop,
        system=case.system.conductor_sizes,
        engine_space=any(space.engine_space for space in case.system.spaces),
        bundled=case.system.bundled_conductors,
        minimum_ampacity_a=ampacity_a,
    )


def protect_run(
    case: Case,
    name: str,
    current_a: float,
    length_m: float,
    volts: float,
    short_a: float,
    *,
    drop: float | None = None,
) -> tuple[ConductorChoice, FuseChoice]:
    """Conductor and fuse together: the fuse carries the load and protects the conductor."""
    allowed = case.assumptions.critical_drop * PART_OF_DROP if drop is None else drop
    ampacity = 0.0
    while True:
        size = size_run(case, name, current_a, length_m, drop=allowed, ampacity_a=ampacity)
        try:
            return size, choose_fuse(
                load_current_a=current_a,
                conductor_ampacity_a=size.ampacity_a,
                voltage_v=volts,
                prospective_a=short_a,
            )
        except NoFuseFits as problem:
            needed = problem.ampacity_needed_a
            if needed is None or needed <= ampacity:
                raise CannotWire(f"{name}: {problem}") from problem
            ampacity = needed
        except ValueError as error:
            raise CannotWire(f"{name}: {error}") from error
