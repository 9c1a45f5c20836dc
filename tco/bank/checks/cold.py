"""Whether a pack may be charged and used in the cold of the battery's space."""

from tco.bank.arrangements import Arrangement
from tco.bank.checks.check import Check, Verdict
from tco.bank.cold import (
    coldest_charging_degc,
    coldest_night,
    design_temperature_degc,
    months_of_draw,
)
from tco.case import Case
from tco.case.times import MONTHS
from tco.sentences import degc, says

FREEZING_DEGC = 0.0


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
