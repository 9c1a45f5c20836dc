"""A comparison as plain data, for other programs.

Units are in the names, metric whatever the case shows; temperatures in degC, fractions never
percent. Numbers are not rounded, so that sums still add up. A value that is not known, or lies
beyond what is followed (a life of more than 40 years), is null.
"""

import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from tco.bank.cautions import cautions
from tco.case.plausibility import double_price_doubts, doubts, price_doubts
from tco.case.times import MONTHS
from tco.columns import COLUMNS, Row
from tco.compare import Comparison
from tco.life.cures import WeakPoint
from tco.life.health import Life
from tco.life.outages import Outages, too_few_years
from tco.life.records import bought_wh
from tco.money.risk import Band, Risk
from tco.report.answer.words import CAUTION, answer
from tco.report.inputs.words import assumed_words
from tco.report.money.words import timing
from tco.report.wiring.block import block_data
from tco.report.wiring.commissioning import commissioning
from tco.report.wiring.data import branch_data, wiring_data
from tco.report.years.first_bank import at_its_end, replaced_in_year
from tco.report.years.two_models import MODEL, second_of
from tco.result import Result
from tco.weighing.arguments import Argument
from tco.weighing.convergence import Convergence, convergence


def as_json(
    comparison: Comparison, argued: Sequence[Argument] = (), known: Convergence | None = None
) -> str:
    """`as_data` as strict JSON (RFC 8259) in plain ASCII; equal comparisons give equal text."""
    return json.dumps(as_data(comparison, argued, known), allow_nan=False, indent=1)


def as_data(
    comparison: Comparison, argued: Sequence[Argument] = (), known: Convergence | None = None
) -> dict[str, Any]:
    """Everything a comparison says, in plain dicts, lists, strings, numbers, booleans and None.

    Arrangements are in rank order, the ruled-out ones last. The `present` amounts of a ledger sum
    to its `total_cost`; `conventions` says when flows stand and in which money. `argued`: the
    arguments that were weighed, empty without draws. `known`: how well the draws know the answer,
    where draws were raised until it held still.
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
            _arrangement(comparison, rank, result, weak, worn)
            for rank, (result, weak, worn) in enumerate(
                zip(
                    comparison.results,
                    comparison.weak_points,
                    comparison.weak_points_when_worn,
                    strict=True,
                ),
                start=1,
            )
        ],
        "not_tried": [asdict(one) for one in comparison.left_out],
        "power_failures": _power_failures(comparison),
        "convergence": _convergence(known or convergence(comparison)),
        "arguments": {argument.kind: _argument(argument) for argument in argued} or None,
        "conventions": {
            "timing": timing(case.assumptions.horizon_years),
            "money": "amount: nominal money of its time. constant: in the prices of the day of "
            "purchase (real), inflation taken out. present: value on the day of purchase, "
            "discounted at the nominal rate; total_cost is the sum of present. annual_cost: level "
            "yearly amount worth total_cost, nominal, at the end of every year. annual_cost_real: "
            "the same in the prices of the day of purchase. cost_per_kwh: level price per kWh "
            "drawn from the bank that pays for all, nominal.",
            "discount_rate": case.prices.discount_rate,
            "inflation": case.prices.inflation,
            "prior": "failures_per_pack_year.class_prior: believed of its price class and "
            "chemistry alone (the ring on the screen). prior: with the marks of what was looked "
            "at, before any report. posterior: with the reports. Of a bare cell per cell.",
        },
        "doubts": _doubts(comparison),
        "doubts_about_prices": list(double_price_doubts(case.prices)),
        "assumptions": case.assumptions.model_dump(mode="json"),
        "caution": CAUTION,
    }
    plain: dict[str, Any] = _plain(data)
    return plain


def _power_failures(comparison: Comparison) -> dict[str, Any] | None:
    """How often the best arrangement leaves loads dark, new and worn; None where none passes.

    Over `weather_years` drawn for this alone, so that its hours are not those of `year`;
    `weather_file_years` is the number of years in a weather file that had too few.
    """
    best = comparison.best
    if best is None:
        return None
    new, worn = comparison.power_failures(best)
    return {
        "arrangement": best.arrangement.label,
        "weather_years": new.years,
        "weather_file_years": too_few_years(comparison.case),
        "new": _outages(new),
        "worn": _outages(worn),
    }


def _outages(found: Outages) -> dict[str, Any]:
    longest = max((outage.hours for outage in found.essential), default=0)
    return {
        "health": found.health,
        "share_of_years": found.share_of_years,
        "share_of_years_by_month": found.share_of_years_by_month,
        "hours_without_power_per_year": found.hours_without_power,
        "essential_kwh_per_year": found.essential_kwh_per_year,
        "longest_outage_hours": longest,
        "longest_run_days": found.longest_run_days,
    }


def _convergence(known: Convergence | None) -> dict[str, Any] | None:
    """How well the draws know the best mean and its lead over the second; None without draws."""
    if known is None:
        return None
    return {
        "draws": known.draws,
        "best": known.best,
        "best_mean": known.mean,
        "standard_error": known.mean_error,
        "difference_standard_error": known.difference_error,
        "target": known.target,
        "reason": known.reason,
    }


def _argument(argument: Argument) -> dict[str, Any]:
    """One argument; `difference` is left less right, in present value."""
    return {
        "answer": argument.answer,
        "left": None if argument.left is None else argument.left.arrangement.label,
        "right": None if argument.right is None else argument.right.arrangement.label,
        "difference": None if argument.difference is None else _band(argument.difference),
        "break_even": [
            {
                "of": row.of,
                "at": row.at,
                "crossings": list(row.crossings),
                "unit": row.unit,
                "now": row.now,
                "range": [row.low, row.high],
                "cheaper_below": row.cheaper_below,
                "cheaper_above": row.cheaper_above,
                "sentence": row.sentence,
            }
            for row in argument.break_even
        ],
        "table": [
            {"what": row.what, "left": row.left, "right": row.right} for row in argument.rows
        ],
    }


def _band(band: Band) -> dict[str, float]:
    return {
        "p10": band.p10,
        "p50": band.p50,
        "p90": band.p90,
        "mean": band.mean,
        "standard_error": band.standard_error,
    }


def _uncertainty(risk: Risk | None) -> dict[str, float] | None:
    if risk is None:
        return None
    return {
        **_band(risk.band),
        "probability_cheapest": risk.probability_cheapest,
        "expected_regret": risk.expected_regret,
        "regret_p90": risk.regret_p90,
    }


def _doubts(comparison: Comparison) -> dict[str, list[str]]:
    """Doubts about the claims of each candidate that has any."""
    candidates = comparison.case.candidates
    by_price = price_doubts(candidates)
    found = {c.name: [*doubts(c), *filter(None, [by_price.get(c.name)])] for c in candidates}
    return {name: sentences for name, sentences in found.items() if sentences}


def _arrangement(
    comparison: Comparison, rank: int, result: Result, weak: WeakPoint, worn: WeakPoint | None
) -> dict[str, Any]:
    arrangement, year, wiring = result.arrangement, result.year, result.wiring
    cells: dict[str, Any] = {}
    for column in COLUMNS:
        if column.json_key:
            cells[column.json_key] = column.value(Row(rank, result))
        if column.key == "ruled_out_by":
            cells["checks"] = _checks(result)
    return {
        **cells,
        "year": {
            "needed_kwh": year["needed_wh"] / 1000.0,
            "delivered_kwh": year["delivered_wh"] / 1000.0,
            "unserved_kwh": year["unserved_wh"] / 1000.0,
            "bought_kwh": bought_wh(year) / 1000.0,
            "locked_out_hours": year["locked_out_hours"] + year["laid_up_locked_out_hours"],
            "laid_up_locked_out_hours": year["laid_up_locked_out_hours"],
            "too_cold_to_charge_hours": year["too_cold_hours"] + year["laid_up_too_cold_hours"],
            "coldest_offered_degc": year["coldest_offered_degc"],
            "solar_locked_out_kwh": year["solar_locked_out_wh"] / 1000.0,
            "laid_up_solar_locked_out_kwh": year["laid_up_solar_locked_out_wh"] / 1000.0,
            "heater_kwh": (year["heater_wh"] + year["laid_up_heater_wh"]) / 1000.0,
            "laid_up_heater_kwh": year["laid_up_heater_wh"] / 1000.0,
            "longest_gap_hours": year["longest_gap_hours"],
        },
        "health": result.life.health,  # as if never replaced
        "first_bank_replaced_in_year": replaced_in_year(result.life),
        "health_when_replaced": _health_when_replaced(result.life),
        "resistance": result.life.resistance_growth,
        "second_opinion": _second(result),
        "weak_point": weak.verdict,
        "weak_point_reason": weak.reason,
        "weak_point_when_worn": None if worn is None else worn.verdict,
        "weak_point_when_worn_reason": None if worn is None else worn.reason,
        "replacements": [
            {"year": replacement.year, "reason": replacement.reason}
            for replacement in result.life.replacements
        ],
        "uncertainty": _uncertainty(result.risk),
        "failures_per_pack_year": result.failures.knowledge.figures(),
        "warranty_years_in_this_use": result.failures.covered_years,
        "warranty_void_because": list(result.failures.void),
        "fit": _fit(result),
        "block": block_data(arrangement),
        "wiring": wiring_data(result),
        "branches": [branch_data(feed) for feed in comparison.feeds(result)],
        "cautions": {one.key: one.sentence for one in cautions(comparison.case, arrangement)},
        "existing_parts": [
            {
                "part": decision.part.name,
                "kind": decision.part.kind,
                "branch": decision.part.branch,
                "decision": decision.decision,
                "reason": decision.reason,
                "value": decision.value,
                "yearly_saving": decision.yearly_saving,
            }
            for decision in (() if wiring is None else wiring.parts)
        ],
        "charger_settings": [
            {
                "charger": setting.charger,
                "setting": setting.setting,
                "value": setting.value,
                "reason": setting.reason,
            }
            for setting in (() if wiring is None else wiring.settings)
        ],
        "commissioning": [
            {
                "stage": step.stage,
                "where": step.where or None,
                "what": step.what,
                "before": step.before or None,
                "after": step.after or None,
            }
            for step in commissioning(comparison.case, result.bank)
        ],
        "ledger": [
            {
                "year": row.year,
                "item": row.item,
                "amount": row.amount,
                "present": row.present,
                "reason": row.reason,
                "constant": row.constant,
                "quantity": row.quantity,
                "unit": row.unit,
                "source": row.source,
            }
            for row in result.ledger
        ],
        "assumed": {
            field: assumed_words(datum) for field, datum in arrangement.pack.assumed.items()
        },
    }


def _checks(result: Result) -> list[dict[str, Any]]:
    return [
        {
            "key": check.key,
            "of": check.of or None,
            "requirement": check.requirement,
            "value": check.value,
            "limit": check.limit,
            "unit": check.unit,
            "margin": check.margin,
            "verdict": check.verdict,
            "reason": check.reason,
        }
        for check in result.screening.checks
    ]


def _health_when_replaced(life: Life) -> float | None:
    """Health of the first bank when it is replaced, after which `health` is of none in service."""
    return None if replaced_in_year(life) is None else at_its_end(life.health, life)


def _second(result: Result) -> dict[str, Any] | None:
    """Health by a second published model, at the same times as `health`; None where it has none."""
    second = second_of(result)
    return None if second is None else {"model": MODEL, "health": second.health}


def _fit(result: Result) -> dict[str, Any] | None:
    """Whether and where the packs stand; None where their dimensions are not known."""
    fit = result.screening.fit
    if fit is None:
        return None
    return {
        "fits": fit.fits,
        "exact": fit.exact,
        "fits_at_most": fit.fits_at_most,
        "shortfall_mm": fit.shortfall_mm,
        "space": fit.compartment,
        "wall": fit.wall,
        "reason": fit.reason,
        "layout": [
            {
                "space": placed.compartment,
                "x_mm": placed.x,
                "y_mm": placed.y,
                "z_mm": placed.z,
                "width_mm": placed.dx,
                "depth_mm": placed.dy,
                "height_mm": placed.dz,
                "orientation": placed.orientation,
            }
            for placed in fit.layout
        ],
    }


def _plain(value: Any) -> Any:
    """The same in plain types; a number that is not finite becomes None."""
    if isinstance(value, str):
        return str(value)
    if isinstance(value, bool | int) or value is None:
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
