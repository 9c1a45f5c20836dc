"""Whether an old bank is finished, and, apart from that, whether it is enough for the need.

A bank is finished by its health alone. A sound one can still be too small for what is asked of it,
or have too little to charge it: then it is not the bank that has failed, and a new one of the same
size would do no better.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from tco.case.capacity_models import CapacityTest
from tco.checkup.cell_balance import Imbalance, imbalance
from tco.checkup.health_fit import HealthFit, Prior, ageing_exponent, fit_health
from tco.checkup.old_need import OldNeed
from tco.checkup.promise import REPLACE_BELOW, SURE, Band, band_on, check_dates, expected_fade
from tco.physics.chemistry import Chemistry

OldVerdict = Literal["finished", "borderline", "not finished"]
Serves = Literal[
    "enough",
    "doubtful",
    "worn too far",
    "too small",
    "too little charging",
    "too cold",
    "something else",
    "unknown",
]

MISSING: dict[str, Serves] = {
    "battery": "too small",
    "charging": "too little charging",
    "cold": "too cold",
}
"""Weak points of a new bank as what the old one lacks."""

OLD_START = Prior(1.0, 0.10)
"""Health when new over the rated Ah for an old bank, of whose youth nothing is known. Assumption,
no source."""


@dataclass(frozen=True)
class OldBank:
    """Whether the old bank is finished (`verdict`), and whether it is enough (`serves`).

    `verdict` goes by the rule (REPLACE_BELOW) alone. `needed_health` is the health below which
    essential loads go short longer than tolerated: None where it is not known, 0 where no such
    health was found (down to `tco.checkup.old_need.LOWEST_HEALTH`), above 1 where even a new bank
    of that size does not do. `serves`: "enough" and "doubtful" as probability has it; where it
    falls short, "worn too far" if a new bank of that size would do; otherwise what `need.missing`
    names, which no new bank of that size would cure.
    `hours_without_power` are the hours a year, at today's health, in which essential loads go short
    (from the better end of the health's band to the worse); None, as `need`, where nothing was
    simulated.
    """

    fit: HealthFit
    rated_ah: float
    today: date
    health_today: Band
    probability_below_rule: float
    needed_health: float | None
    probability_below_need: float | None
    verdict: OldVerdict
    serves: Serves
    need: OldNeed | None
    hours_without_power: Band | None
    imbalance: Imbalance | None


def judge_old_bank(
    tests: Sequence[CapacityTest],
    *,
    chemistry: Chemistry,
    rated_ah: float,
    bought: date,
    today: date,
    need: OldNeed | None = None,
    needed_health: float | None = None,
) -> OldBank:
    """Say whether an old bank is finished by the trade's 80 %, and whether it meets the need.

    Finished: below the rule with probability SURE or more; not finished: with 1 - SURE at most;
    borderline otherwise. Enough and falling short likewise, by the need.

    Parameters
    ----------
    need
        What the case asks of the bank, as simulated.
    needed_health
        The health it must have, where the user knows it; wins over that of `need`.

    Raises
    ------
    ValueError
        As `judge_promise`.
    """
    check_dates(tests, bought=bought, today=today)
    fit = fit_health(
        tests,
        chemistry=chemistry,
        rated_ah=rated_ah,
        bought=bought,
        start=OLD_START,
        fade=expected_fade(
            exponent=ageing_exponent(chemistry),
            forecast_health=None,
            warranty_years=0.0,
            threshold=REPLACE_BELOW,
            calendar_life_years=chemistry.calendar_life_years.value,
        ),
    )
    wanted = needed_health
    if wanted is None and need is not None:
        wanted = need.needed_health
    now = band_on(fit, today)
    by_rule = fit.probability_below(REPLACE_BELOW, today)
    by_need = None if wanted is None else fit.probability_below(wanted, today)
    verdict: OldVerdict = "borderline"
    if by_rule >= SURE:
        verdict = "finished"
    elif by_rule <= 1.0 - SURE:
        verdict = "not finished"
    return OldBank(
        fit=fit,
        rated_ah=rated_ah,
        today=today,
        health_today=now,
        probability_below_rule=by_rule,
        needed_health=wanted,
        probability_below_need=by_need,
        verdict=verdict,
        serves=_serves(by_need, wanted, need),
        need=need,
        hours_without_power=None
        if need is None
        else Band(*sorted(need.hours_at(health) for health in (now.high, now.middle, now.low))),
        imbalance=imbalance(tests, chemistry=chemistry),
    )


def _serves(by_need: float | None, wanted: float | None, need: OldNeed | None) -> Serves:
    if by_need is None or wanted is None:
        return "unknown"
    if by_need <= 1.0 - SURE:
        return "enough"
    if by_need < SURE:
        return "doubtful"
    if wanted <= 1.0 or need is None:
        return "worn too far"
    return MISSING.get(need.missing, "something else")
