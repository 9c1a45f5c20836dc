"""What the chargers push into a bank, together and alone, and whether they suit its chemistry."""

from collections.abc import Iterable, Sequence

from tco.bank.arrangements import Arrangement
from tco.case import Case
from tco.case.use import EngineCharger, Generator, Shore, Solar

Source = Solar | EngineCharger | Shore | Generator

CHARGING_OVER_NOMINAL = 1.07
"""Mean charging voltage over nominal (12.8 V of 12 V): common practice, no source."""


def charger_current_a(case: Case, charger: Source) -> float:
    """Current one source can push into the bank. [A]"""
    if isinstance(charger, Solar):
        volts = case.system.nominal_voltage_v * CHARGING_OVER_NOMINAL
        return min(charger.controller_a, charger.peak_w * charger.efficiency / volts)
    return charger.rating_a


def takes_a(arrangement: Arrangement, unevenness: float = 1.0) -> float:
    """What a bank takes before the string that works hardest is at its packs' limit. [A]

    `unevenness`: current of that string over an equal share.
    """
    return arrangement.parallel * arrangement.pack.continuous_charge_a / unevenness


def chargers_together(case: Case) -> tuple[Source, ...]:
    """Find the chargers that may run at one time and push most current.

    The sun shines on all panels whatever else runs. Of the engine, the hook-up and the generator
    only one is taken to run at a time, with all of its chargers.
    """
    groups: tuple[Sequence[Source], ...] = (
        case.sources.engine,
        case.sources.shore,
        case.sources.generator,
    )
    strongest = max(groups, key=lambda group: sum_of_currents_a(case, group))
    return (*case.sources.solar, *strongest)


def charging_together_a(case: Case) -> float:
    """Current of the chargers that may run at one time. [A]"""
    return sum_of_currents_a(case, chargers_together(case))


def sum_of_currents_a(case: Case, chargers: Iterable[Source]) -> float:
    """Currents of some chargers added up. [A]"""
    return sum(charger_current_a(case, charger) for charger in chargers)


def can_be_turned_down(charger: Source) -> bool:
    """Whether its current can be set lower, as a solar controller's always can."""
    return charger.current_adjustable or isinstance(charger, Solar)


def charger_suits(charger: Source, arrangement: Arrangement) -> bool:
    """Whether a charger has a profile for the chemistry, or can be set to one."""
    chemistry = arrangement.pack.chemistry
    return bool(
        charger.adjustable
        or chemistry.key in charger.profiles
        or chemistry.family in charger.profiles
    )


def chargers_to_replace(case: Case, arrangement: Arrangement) -> tuple[tuple[str, float], ...]:
    """Name and replacement price of each charger that has no profile for the pack."""
    return tuple(
        (charger.name, charger.replacement_price)
        for charger in case.sources.chargers()
        if charger.replacement_price is not None and not charger_suits(charger, arrangement)
    )
