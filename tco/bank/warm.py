"""How warm the bank gets: where its resistance is lowest and a short circuit hardest."""

from tco.case import Case
from tco.physics.heat import space_temperature_degc

WORKED_DEGC = 40.0
"""A bank at work on a warm day, the least that is counted on. Common practice, no source."""

ENGINE_SPACE_DEGC = 50.0
"""Air of an engine space, as ABYC E-11 takes it for ampacities; from memory."""


def warmest_degc(case: Case) -> float:
    """Warmest that the packs are taken to get: at least `WORKED_DEGC`. [degC]

    More where a usual afternoon of the warmest month, or an engine, makes a space warmer.
    """
    climate, use = case.climate, case.use
    spaces = [
        float(
            space_temperature_degc(
                max(climate.max_degc), living_degc=use.living_degc, warmth=space.warmth_share
            )
        )
        for space in case.system.spaces
    ]
    engine = any(space.engine_space for space in case.system.spaces)
    return max(WORKED_DEGC, ENGINE_SPACE_DEGC if engine else WORKED_DEGC, *spaces)
