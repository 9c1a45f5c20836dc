"""Cold holds back less from a small load than from a large one.

Capacities in the cold are measured at 0.2 to 1 C, where the cell's voltage comes to its end early.
At a twentieth of the capacity in an hour and less the voltage hardly falls, and most of the charge
comes out. Judgement: no source was read for how much; the share is one of a chemistry's data.
"""

import math

from tco.physics.compiled import inlined

FAST_RATE_C = 0.5
"""Rate at and above which a chemistry's capacities by temperature hold: the middle of 0.2 to 1 C
(geometric), at which such tables are measured. [1/h]"""

SLOW_RATE_C = 0.05
"""Rate at and below which the slow share holds. Judgement. [1/h]"""

_SPAN = math.log(FAST_RATE_C / SLOW_RATE_C)


@inlined
def share_held_back(rate_c: float, slow_share: float) -> float:
    """Share of the capacity lost in the cold that is lost at a rate.

    `slow_share` at SLOW_RATE_C and below, all of it at FAST_RATE_C and above, in between straight
    over the logarithm of the rate. [fraction]
    """
    if rate_c <= SLOW_RATE_C:
        return slow_share
    if rate_c >= FAST_RATE_C:
        return 1.0
    return slow_share + (1.0 - slow_share) * math.log(rate_c / SLOW_RATE_C) / _SPAN


@inlined
def fraction_at_share(fraction: float, share: float) -> float:
    """Fraction of the capacity left where only a share of what cold holds back is held back.

    Above 1, when warm, it stays as it is.
    """
    return 1.0 - (1.0 - fraction) * share if fraction < 1.0 else fraction
