"""The judgement of a log of capacity tests as plain data, for other programs."""

import math
from datetime import date
from typing import Any

from tco.checkup.assessment import Assessment
from tco.checkup.cell_balance import Imbalance
from tco.checkup.health_fit import HealthFit
from tco.checkup.old_bank import OldBank
from tco.checkup.promise import REPLACE_BELOW, Band, Promise, add_years
from tco.report.checkup.words import CAUTION, detail, doubts, headline, verdict_sentence


def promise_data(assessment: Assessment) -> dict[str, Any]:
    """The judgement as plain dicts, lists, strings, numbers, booleans and None, for JSON.

    Fractions are never percent; dates are ISO; what is not known, or later than 40 years, is None.
    `course` holds the 80 % band of health every half year, for a chart.
    """
    judged = assessment.judged
    fit = judged.fit
    data: dict[str, Any] = {
        "kind": "promise" if isinstance(judged, Promise) else "old bank",
        "label": assessment.label,
        "answer": verdict_sentence(judged),
        "headline": headline(judged),
        "detail": detail(judged),
        "doubts": doubts(judged),
        "verdict": judged.verdict,
        "today": judged.today.isoformat(),
        "bought": fit.bought.isoformat(),
        "rated_ah": judged.rated_ah,
        "chemistry": assessment.chemistry.key,
        "health_today": _band(judged.health_today),
    }
    if isinstance(judged, Promise):
        data |= {
            "threshold": judged.threshold,
            "warranty_years": judged.warranty_years,
            "warranty_end": _iso(judged.warranty_end),
            "last_claim_day": _iso(judged.last_claim_day),
            "notice_days": judged.notice_days,
            "claim": judged.claim,
            "probability_below_today": judged.probability_below_today,
            "probability_broken": judged.probability_broken,
            "health_at_warranty_end": _band(judged.health_at_end),
            "crossing": dict(
                zip(("early", "median", "late"), map(_iso, judged.crossing), strict=True)
            ),
            "next_test": judged.next_test.isoformat(),
            "forecast_today": judged.forecast_today,
        }
    else:
        need = judged.needed_health
        data |= {
            "replace_below": REPLACE_BELOW,
            "probability_below_rule": judged.probability_below_rule,
            "needed_health": need if need is not None and math.isfinite(need) else None,
            "too_small_when_new": need is not None and need > 1.0,
            "probability_below_need": judged.probability_below_need,
            "serves": judged.serves,
            **_need_data(judged),
        }
    data["fit"] = {
        "start": fit.start,
        "fade": fit.fade,
        "exponent": fit.exponent,
        "covariance": [[float(value) for value in row] for row in fit.covariance],
        "learnt": fit.learnt,
        "widened": fit.widened,
    }
    data["tests"] = [
        {
            "date": test.tested_on.isoformat(),
            "measured_ah": test.measured_ah,
            "temperature_fraction": test.temperature_fraction,
            "rate_fraction": test.rate_fraction,
            "corrected_ah": test.corrected_ah,
            "health": test.health,
            "standard_uncertainty": test.uncertainty,
            "assumed": list(test.assumed),
        }
        for test in fit.tests
    ]
    data["course"] = [
        {"date": day.isoformat(), **_quantiles(fit, day)} for day in _course_days(judged)
    ]
    data["cells"] = _cell_data(judged.imbalance)
    data["assumed"] = list(assessment.assumed)
    data["caution"] = CAUTION
    return data


def _need_data(old: OldBank) -> dict[str, Any]:
    """What the case asks of the bank, as simulated; all None where it was not."""
    need, short = old.need, old.hours_without_power
    more, sun = (None, None) if need is None else (need.more_capacity, need.more_solar)
    return {
        "hours_without_power_per_year": None
        if short is None
        else {"low": short.low, "median": short.middle, "high": short.high},
        "lowest_health_tried": None if need is None else float(need.levels[-1]),
        "hours_without_power_per_year_new": None if need is None else need.hours_at(1.0),
        "tolerated_hours_per_year": None if need is None else need.tolerated_hours,
        "weak_point_new": None if need is None else need.weak.verdict,
        "weak_point_new_reason": None if need is None else need.weak.reason,
        "more_capacity_factor": None if more is None else more.factor,
        "more_solar_factor": None if sun is None else sun.factor,
    }


def _band(band: Band | None) -> dict[str, float] | None:
    if band is None:
        return None
    return {"low": band.low, "median": band.middle, "high": band.high}


def _quantiles(fit: HealthFit, day: date) -> dict[str, float]:
    low, median, high = (float(value) for value in fit.health(day))
    return {"low": low, "median": median, "high": high}


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _course_days(judged: Promise | OldBank) -> list[date]:
    """Every half year from the purchase to the end of the warranty, or a year past today."""
    end = add_years(judged.today, 1.0)
    if isinstance(judged, Promise) and judged.warranty_end is not None:
        end = max(end, judged.warranty_end)
    days = [judged.fit.bought]
    while days[-1] < end:
        days.append(min(add_years(judged.fit.bought, 0.5 * len(days)), end))
    return days


def _cell_data(found: Imbalance | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "dates": [day.isoformat() for day in found.tested_on],
        "spread_mv": list(found.spread_mv),
        "growth_mv_per_year": found.growth_mv_per_year,
        "lowest_cell": found.lowest_cell,
        "highest_cell": found.highest_cell,
        "always_lowest": found.always_lowest,
        "odd_cell": found.odd_cell,
        "odd_mv": found.odd_mv,
        "apart": found.apart,
        "growing": found.growing,
        "caution": found.caution,
    }
