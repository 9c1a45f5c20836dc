"""A comparison as plain data, for other programs.

Units are in the names, metric whatever the case shows; temperatures in degC, fractions never
percent. Numbers are not rounded, so that sums still add up. A value that is not known, or lies
beyond what is followed (a life of more than 40 years), is null.
"""

import json
import math
from typing import Any

import numpy as np

from tco.case.plausibility import doubts, price_doubts
from tco.case.quantities import MONTHS
from tco.compare import Comparison, Result, bought_wh
from tco.report.answer import CAUTION, answer


def as_json(comparison: Comparison) -> str:
    """`as_data` as strict JSON (RFC 8259) in plain ASCII; equal comparisons give equal text."""
    return json.dumps(as_data(comparison), allow_nan=False, indent=1)


def as_data(comparison: Comparison) -> dict[str, Any]:
    """Everything a comparison says, in plain dicts, lists, strings, numbers, booleans and None.

    Arrangements are in rank order, the ruled-out ones last. The `present` amounts of a ledger sum
    to its `total_cost`.
    """
    case, budget = comparison.case, comparison.budget
    data = {
        "answer": answer(comparison),
        "case": case.title,
        "currency": case.prices.currency,
        "required_current_a": comparison.required_current_a,
        "energy_budget": {
            "daily_kwh": budget.daily_wh / 1000.0,
            "worst_month": MONTHS[budget.worst_month],
        },
        "arrangements": [
            _arrangement(rank, result) for rank, result in enumerate(comparison.results, start=1)
        ],
        "doubts": _doubts(comparison),
        "assumptions": case.assumptions.model_dump(mode="json"),
        "caution": CAUTION,
    }
    plain: dict[str, Any] = _plain(data)
    return plain


def _doubts(comparison: Comparison) -> dict[str, list[str]]:
    """Doubts about the claims of each candidate that has any."""
    candidates = comparison.case.candidates
    by_price = price_doubts(candidates)
    found = {c.name: [*doubts(c), *filter(None, [by_price.get(c.name)])] for c in candidates}
    return {name: sentences for name, sentences in found.items() if sentences}


def _arrangement(rank: int, result: Result) -> dict[str, Any]:
    arrangement, measures, year = result.arrangement, result.measures, result.year
    wiring = result.wiring
    return {
        "rank": rank,
        "label": arrangement.label,
        "candidate": arrangement.pack.name,
        "chemistry": arrangement.pack.chemistry.key,
        "series": arrangement.series,
        "parallel": arrangement.parallel,
        "layout": arrangement.layout,
        "packs": arrangement.packs,
        "feasible": result.feasible,
        "verified": result.screening.verified,
        "ruled_out_by": [check.requirement for check in result.screening.failures()],
        "checks": [
            {
                "requirement": check.requirement,
                "value": check.value,
                "limit": check.limit,
                "unit": check.unit,
                "margin": check.margin,
                "verdict": check.verdict,
                "reason": check.reason,
            }
            for check in result.screening.checks
        ],
        "usable_kwh": arrangement.usable_wh / 1000.0,
        "mass_kg": arrangement.mass_kg,
        "wh_per_kg": result.wh_per_kg,
        "wh_per_l": result.wh_per_l,
        "price_per_usable_kwh": result.price_per_usable_kwh,
        "wiring_cost": None if wiring is None else wiring.cost,
        "first_cost": measures.first_cost,
        "total_cost": measures.total_cost,
        "annual_cost": measures.annual_cost,
        "cost_per_kwh": measures.cost_per_kwh,
        "years_to_replacement": result.life.first_life_years,
        "unserved_hours_per_year": year["unserved_hours"],
        "year": {
            "needed_kwh": year["needed_wh"] / 1000.0,
            "delivered_kwh": year["delivered_wh"] / 1000.0,
            "unserved_kwh": year["unserved_wh"] / 1000.0,
            "bought_kwh": bought_wh(year) / 1000.0,
            "locked_out_hours": year["locked_out_hours"],
            "heater_kwh": year["heater_wh"] / 1000.0,
            "longest_gap_hours": year["longest_gap_hours"],
        },
        "health": result.life.health,
        "replacements": [
            {"year": replacement.year, "reason": replacement.reason}
            for replacement in result.life.replacements
        ],
        "bill": [
            {
                "part": line.part,
                "quantity": line.quantity,
                "unit": line.unit,
                "unit_price": line.unit_price,
                "cost": line.cost,
            }
            for line in (() if wiring is None else wiring.bill)
        ],
        "ledger": [
            {
                "year": row.year,
                "item": row.item,
                "amount": row.amount,
                "present": row.present,
                "reason": row.reason,
            }
            for row in result.ledger
        ],
        "assumed": arrangement.pack.assumed,
    }


def _plain(value: Any) -> Any:
    """The same in plain types; a number that is not finite becomes None."""
    if isinstance(value, str | bool | int) or value is None:
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, np.ndarray | np.generic):
        return _plain(value.tolist())
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    if hasattr(value, "items"):
        return {str(key): _plain(entry) for key, entry in value.items()}
    raise TypeError(f"no plain form for {type(value).__name__}")
