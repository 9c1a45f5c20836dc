"""Whether a pack may be charged and used in the cold of the battery's space."""

from collections.abc import Mapping

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Check, Verdict, plain_check
from tco.bank.cold import coldest_night, design_temperature_degc, heater_lift_k, months_of_draw
from tco.case import Case
from tco.case.times import MONTHS
from tco.sentences import Sentence, degc, says

FREEZING_DEGC = 0.0

SURE_WITHIN_K = 1.0
"""The simulated temperature of a pack is no surer than this: its lag, its surface and the warmth of
its space are estimates. Our choice."""


def check_charging(
    case: Case, arrangement: Arrangement, year: Mapping[str, float], *, coldest_space_degc: float
) -> Check:
    """Check that no source charges the pack below the maker's limit in the simulated years.

    `year`: totals of a mean year with a new bank (`tco.life.records.RESULT`). Without heater,
    cut-off or chargers that stop, an hour in which a source can charge a pack that is colder fails
    the bank, unless it is colder by no more than `SURE_WITHIN_K`. A heater counts if it is on and
    can hold the pack at its limit in the coldest hour of the space in which a source offers power.
    """
    pack = arrangement.pack
    coldest, limit = year["coldest_offered_degc"], pack.charge_min_degc
    hours = year["too_cold_hours"] + year["laid_up_too_cold_hours"]
    margin = coldest - limit
    chargers = case.sources.chargers()
    chargers_stop = (
        bool(chargers)
        and limit <= FREEZING_DEGC
        and not any(charger.charges_below_freezing for charger in chargers)
    )
    if not chargers:
        reason = says("no source ever charges it; the maker allows it from ", degc(limit, "g"))
        return plain_check("charging_in_the_cold", "pass", reason)
    where: Sentence = says(
        "in the simulated weather the pack is as cold as ", degc(coldest, ".1f"),
        " while a source can charge it",
    )  # fmt: skip
    if margin >= 0:
        reason = says(where, "; the maker allows charging from ", degc(limit, "g"))
        return Check("charging_in_the_cold", coldest, limit, "degC", margin, "pass", reason)
    counted = f"{hours:.0f}" if hours >= 10.0 else f"{hours:.1g}"
    where = says(
        where, ", and below the maker's ", degc(limit, "g"), f" for charging in {counted} h a year"
    )
    verdict: Verdict = "caution"
    holds, warmth = _heater(case, arrangement, year, coldest_space_degc)
    where = says(where, warmth)
    if holds and pack.low_temperature_cutoff:
        verdict = "pass"
        reason = where
    elif holds:
        reason = says(
            where,
            ", but no cut-off is stated: ask the maker whether it holds the charge back until the "
            "cells are warm",
        )
    elif pack.low_temperature_cutoff:
        reason = says(where, "; the pack refuses charge then, so these hours of charging are lost")
    elif chargers_stop:
        reason = says(
            where,
            "; the pack has no low-temperature cut-off of its own, so it hangs on the chargers, "
            "which stop below freezing: check that they sense the battery's temperature",
        )
    else:
        verdict = "caution" if -margin <= SURE_WITHIN_K else "fail"
        so_far = ", no further than the model is sure of," if verdict == "caution" else ","
        reason = says(
            where,
            f"{so_far} and the pack has no {'other guard' if warmth else 'heater'} and no "
            "low-temperature cut-off: charging it then can damage it and is a hazard; keep to the "
            "maker's limit",
        )
    return Check("charging_in_the_cold", coldest, limit, "degC", margin, verdict, reason)


def _heater(
    case: Case, arrangement: Arrangement, year: Mapping[str, float], coldest_space_degc: float
) -> tuple[bool, str]:
    """Whether a heater keeps the pack warm enough to be charged, and what is said of it."""
    pack = arrangement.pack
    if pack.heater_w <= 0:
        return False, ""
    told = f"; its heater ({pack.heater_w:g} W a {'pack' if pack.block is None else 'block'})"
    if year["laid_up_too_cold_hours"] > 0.0 and not case.use.heater_when_laid_up:
        return False, f"{told} is off while laid up"
    held_degc = coldest_space_degc + heater_lift_k(case, arrangement)
    if held_degc < pack.charge_min_degc:
        return False, says(
            f"{told} is too weak: it holds the cells at ", degc(held_degc, ".1f"),
            " at most where the space falls to ", degc(coldest_space_degc, ".1f"),
        )  # fmt: skip
    return True, f"{told} warms it first"


def check_discharging(case: Case, arrangement: Arrangement) -> Check:
    """Check that the pack gives power on a usual night of the coldest month.

    A caution where only the nights are too cold: the pack lags behind the air, and the simulated
    year counts the hours. Fails where the month's design temperature is too cold as well.
    """
    limit = arrangement.pack.discharge_min_degc
    months = months_of_draw(case)
    coldest, month = coldest_night(case, months)
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
