"""How cold the battery's space gets, and whether a pack may be charged and used there."""

import numpy as np

from tco.bank.arrangements import Arrangement
from tco.bank.checks import Check, Verdict
from tco.case import Case
from tco.case.quantities import MONTHS
from tco.physics.heat import space_temperature_degc
from tco.sentences import degc, says

FREEZING_DEGC = 0.0


def coldest_warmth(case: Case) -> float:
    """Warmth share of the coldest battery space: packs in it decide for the bank."""
    return min(space.warmth_share for space in case.system.spaces)


def design_temperature_degc(case: Case, month: int) -> float:
    """Temperature at which a month's energy is judged: between its mean and mean minimum. [degC]

    A bank takes hours to follow the air, so that it sees neither the night's minimum nor, in a
    cold spell, the monthly mean. Common practice, no source.
    """
    climate, use = case.climate, case.use
    outdoor = (climate.mean_degc[month] + climate.min_degc[month]) / 2.0
    return float(
        space_temperature_degc(
            outdoor,
            living_degc=use.living_degc,
            warmth=coldest_warmth(case),
            occupied=month + 1 in use.months_in_use,
        )
    )


def _night_degc(case: Case, month: int) -> float:
    """Temperature of the space at the mean daily minimum, heated only if always occupied. [degC]"""
    always_there = month + 1 in case.use.months_in_use and case.use.days_away_per_month[month] == 0
    return float(
        space_temperature_degc(
            case.climate.min_degc[month],
            living_degc=case.use.living_degc,
            warmth=coldest_warmth(case),
            occupied=always_there,
        )
    )


def _coldest(case: Case, months: list[int]) -> tuple[float, int]:
    nights = [_night_degc(case, month) for month in months]
    at = int(np.argmin(nights))
    return nights[at], months[at]


def coldest_charging_degc(case: Case) -> tuple[float, int]:
    """Coldest mean daily minimum in the space while charging goes on, and the month (0..11).

    That is in the months of use, and in those laid up if a source then keeps the bank charged.
    With nobody there for part of the month the living space is taken as unheated.
    """
    kept = case.use.charged_when_laid_up
    while_laid_up = bool(
        (kept == "solar" and case.sources.solar) or (kept == "shore" and case.sources.shore)
    )
    return _coldest(
        case, [m for m in range(12) if while_laid_up or m + 1 in case.use.months_in_use]
    )


def months_of_draw(case: Case) -> list[int]:
    """Months (0..11) in which power is drawn: those in use, or with a load when nobody is there."""
    away = {month for load in case.loads if load.also_when_away for month in load.months}
    return [m for m in range(12) if m + 1 in away or m + 1 in case.use.months_in_use]


def check_charging(case: Case, arrangement: Arrangement) -> Check:
    """Check that the pack may be charged on a usual night of the coldest month, or sees to it."""
    pack = arrangement.pack
    coldest, month = coldest_charging_degc(case)
    limit = pack.charge_min_degc
    margin = coldest - limit
    where = says(
        "the space falls to ", degc(coldest, ".1f"), f" on a usual night in {MONTHS[month]}"
    )
    chargers = case.sources.chargers()
    chargers_stop = (
        bool(chargers)
        and limit <= FREEZING_DEGC
        and not any(charger.charges_below_freezing for charger in chargers)
    )
    verdict: Verdict
    if margin >= 0:
        verdict = "pass"
        reason = says(where, "; the maker allows charging from ", degc(limit, "g"))
    elif pack.heater_w > 0:
        verdict = "pass"
        reason = says(
            where,
            ", below the maker's ",
            degc(limit, "g"),
            f" for charging; its heater ({pack.heater_w:g} W a pack) warms it first",
        )
    elif pack.low_temperature_cutoff:
        verdict = "caution"
        reason = says(
            where,
            "; the pack refuses charge below ",
            degc(limit, "g"),
            ", so cold hours of charging are lost",
        )
    elif chargers_stop:
        verdict = "caution"
        reason = says(
            where,
            "; the pack has no low-temperature cut-off of its own, so it hangs on the chargers, "
            "which stop below freezing: check that they sense the battery's temperature",
        )
    else:
        verdict = "fail"
        reason = says(
            where,
            ", below the maker's ",
            degc(limit, "g"),
            " for charging, and the pack has neither heater nor low-temperature cut-off: charging "
            "it then can damage it and is a hazard; keep to the maker's limit",
        )
    return Check("charging_in_the_cold", coldest, limit, "degC", margin, verdict, reason)


def check_discharging(case: Case, arrangement: Arrangement) -> Check:
    """Check that the pack gives power on a usual night of the coldest month.

    A caution where only the nights are too cold: the pack lags behind the air, and the simulated
    year counts the hours. Fails where the month's design temperature is too cold as well.
    """
    limit = arrangement.pack.discharge_min_degc
    months = months_of_draw(case)
    coldest, month = _coldest(case, months)
    day = min(design_temperature_degc(case, m) for m in months)
    margin = coldest - limit
    where = says(
        "the space falls to ", degc(coldest, ".1f"), f" on a usual night in {MONTHS[month]}"
    )
    verdict: Verdict
    if margin >= 0:
        verdict = "pass"
        reason = says(where, "; the pack gives power down to ", degc(limit, "g"))
    elif day >= limit:
        verdict = "caution"
        reason = says(
            where,
            "; the pack gives power down to ",
            degc(limit, "g"),
            " only, and may switch off in cold nights",
        )
    else:
        verdict = "fail"
        reason = says(
            where,
            " and stays near ",
            degc(day, ".1f"),
            "; the pack gives power down to ",
            degc(limit, "g"),
            " only",
        )
    return Check("use_in_the_cold", coldest, limit, "degC", margin, verdict, reason)
