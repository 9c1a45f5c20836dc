"""Pieces of the hourly kernel: sources serve loads, the taper."""

import math
from typing import Any

import numpy as np

from tco.life.records import OPEN_HOUR, Open, Rules
from tco.physics.compiled import compiled, inlined

TABLE_COLDEST_DEGC = -60.0
TABLE_STEP_K = 1.0
TABLE_SIZE = 141
"""Tables by temperature run from -60 to +80 degC in steps of 1 K."""

FULLY_CHARGED = 0.98
"""State of charge from which a lead-acid battery counts as fully recharged. Common practice, no
source."""


@inlined
def share_gained(charge: float, rate: float, taper: float) -> float:
    """State of charge gained in an hour at `rate` (share per hour) or what the taper lets in.

    The bank accepts no more than taper x (1 - charge) per hour: constant up to the knee, where
    the two meet, then an exponential approach to full.
    """
    room = 1.0 - charge
    if rate <= taper * (room - rate):
        return rate
    if rate >= taper * room:
        return room * -math.expm1(-taper)
    at_knee = rate / taper
    before = (room - at_knee) / rate
    return room - at_knee * math.exp(-taper * (1.0 - before))


@compiled
def open_hours(hourly: Any, rules: Rules) -> Open:
    """Let solar, engine and shore serve the loads: what every bank of a case has in common.

    `hourly` holds records of `HOUR`, shape (hours,).
    """
    made = np.empty(hourly.size, dtype=OPEN_HOUR)
    needed = from_solar = from_engine = from_shore = 0.0
    for i in range(hourly.size):
        hour, opened = hourly[i], made[i]
        missing = hour.essential_w + hour.other_w
        needed += missing
        used = min(missing, hour.solar_w)
        opened.solar_w = hour.solar_w - used
        missing -= used
        from_solar += used
        used = min(missing, hour.engine_w)
        opened.engine_w = hour.engine_w - used
        missing -= used
        from_engine += used
        used = min(missing, hour.shore_w)
        opened.shore_w = hour.shore_w - used
        missing -= used
        from_shore += used
        opened.open_w = missing
        opened.spare_w = opened.solar_w + opened.engine_w + opened.shore_w
        opened.generator_w = hour.generator_w
        opened.space_degc = hour.space_degc
        opened.ceiling = rules.ceiling[hour.month]
        opened.essential_w = hour.essential_w
        opened.other_w = hour.other_w
        opened.month = hour.month
        opened.laid_up = hour.laid_up
    return Open(made, needed, from_solar, from_engine, from_shore)
