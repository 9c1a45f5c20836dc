"""Tables of the ranking and the screening, rounded, with the unit in every heading."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from tco.case.units import from_canonical
from tco.case.words import money
from tco.compare import Comparison, Result
from tco.forms import labels
from tco.forms.labels import Units
from tco.report.answer.words import years
from tco.report.shown_units import in_words, shown

SIGNS = {"pass": "✓", "caution": "▲", "unknown": "?", "fail": "✗"}


"""A verdict is told by its sign and its word; colour only helps."""


WORDS = {
    "pass": "passes", "caution": "with care", "unknown": "not stated", "fail": "fails"
}  # fmt: skip


def mass(kg: float, units: Units, *, digits: int = 0) -> str:
    """A mass in the user's unit."""
    if units == "imperial":
        return f"{from_canonical(kg, 'kg', 'lb'):,.{digits}f} lb"
    return f"{kg:,.{digits}f} kg"


@dataclass(frozen=True)
class Figure:
    """One key figure: what it is, the number with its unit, and what lies behind it."""

    label: str
    value: str
    note: str


def key_figures(comparison: Comparison, result: Result) -> tuple[Figure, ...]:
    """The five figures that describe an arrangement first."""
    case, arrangement, money_of = comparison.case, result.arrangement, result.measures
    sign, units = case.prices.currency, case.units
    horizon = case.assumptions.horizon_years
    per_kwh = money_of.cost_per_kwh
    short = result.year["unserved_essential_hours"]
    life, risk = result.life.first_life_years, result.risk
    return (
        Figure("First cost", money(money_of.first_cost, sign), "packs, freight, parts, labour"),
        Figure(
            f"Present value of {horizon:g} years",
            money(money_of.total_cost, sign),
            f"level {money(money_of.annual_cost, sign)} a year (nominal)"
            + ("" if risk is None else f"; cheapest in {risk.probability_cheapest:.0%} of draws"),
        ),
        Figure(
            "Per kWh from the bank",
            money(per_kwh, sign, digits=2) if per_kwh is not None else "–",
            "all costs over all energy delivered",
        ),
        Figure(
            "Usable energy",
            f"{arrangement.usable_wh / 1000:.1f} kWh",
            f"{arrangement.capacity_ah:,.0f} Ah at {arrangement.nominal_voltage_v:g} V, "
            + mass(arrangement.mass_kg, units),
        ),
        Figure(
            "Serves",
            "over 40 years" if life is None else years(life),
            f"{short:,.0f} h a year without essential power",
        ),
    )


def ranked(comparison: Comparison) -> pd.DataFrame:
    """One row per arrangement in rank order, numbers rounded, units in the headings."""
    case = comparison.case
    sign, imperial = case.prices.currency, case.units == "imperial"
    rows = []
    for rank, result in enumerate(comparison.results, start=1):
        failed = [check.requirement for check in result.screening.failures()]
        unknown = [c.requirement for c in result.screening.checks if c.verdict == "unknown"]
        verdict = "fail" if failed else "unknown" if unknown else "pass"
        kg, life = result.arrangement.mass_kg, result.life.first_life_years
        rows.append(
            {
                "#": rank,
                "": SIGNS[verdict],
                "Arrangement": result.arrangement.label,
                "Usable [kWh]": result.arrangement.usable_wh / 1000.0,
                f"Mass [{'lb' if imperial else 'kg'}]": (
                    from_canonical(kg, "kg", "lb") if imperial else kg
                ),
                f"First cost [{sign}]": result.measures.first_cost,
                f"Total cost [{sign}]": result.measures.total_cost,
                f"Per kWh [{sign}]": result.measures.cost_per_kwh,
                "Serves [years]": 40.0 if life is None else life,
                "No power [h/year]": result.year["unserved_essential_hours"],
                **(
                    {}
                    if result.risk is None
                    else {"Cheapest [%]": 100.0 * result.risk.probability_cheapest}
                ),
                "Assumed [values]": len(result.arrangement.pack.assumed),
                "Fails on, or not stated": ", ".join(failed or unknown),
            }
        )
    return pd.DataFrame(rows)


def ranked_formats(columns: Sequence[str]) -> dict[Any, Any]:
    """Number format of each column of `ranked`, to the digits it deserves."""
    digits = {"Usable": 1, "Per kWh": 2}
    return {
        column: f"{{:,.{next((d for k, d in digits.items() if column.startswith(k)), 0)}f}}"
        for column in columns
        if "[" in column
    }


def checks(result: Result, *, units: Units = "metric") -> pd.DataFrame:
    """The checks of one arrangement, what fails first."""
    order = {"fail": 0, "unknown": 1, "caution": 2, "pass": 3}
    found = sorted(result.screening.checks, key=lambda check: order[check.verdict])
    return pd.DataFrame(
        [
            {
                "": SIGNS[check.verdict],
                "Verdict": WORDS[check.verdict],
                "Requirement": check.requirement,
                "Value": _quantity(check.value, check.unit, units),
                "Limit": _quantity(check.limit, check.unit, units),
                "Margin": _quantity(check.margin, check.unit, units, margin=True),
                "Why": words(check.reason, units),
            }
            for check in found
        ]
    )


def words(sentence: str, units: Units) -> str:
    """A sentence of the engine in the user's units, temperatures with their sign."""
    turned = in_words(sentence, imperial=units == "imperial")
    shown = turned.replace(" degC", " °C").replace(" degF", " °F")
    return shown.replace("32.0 °F, 32 °F", "32 °F")  # said in both units, and now in one twice


def _quantity(value: float | None, unit: str, units: Units, *, margin: bool = False) -> str:
    if value is None:
        return "–"
    number, name = shown(value, unit, imperial=units == "imperial", difference=margin)
    if margin and name.startswith("deg"):
        name = name.replace("deg", "°")
    name = labels.NICE.get(name.lower(), name)
    if number == 1 and name.endswith("s"):
        name = name.removesuffix("s")
    digits = 2 if abs(number) < 10 else 1 if abs(number) < 100 else 0
    text = f"{number:{'+' if margin and round(number, digits) else ''},.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text in ('-0', '') else text} {name}".strip()


def matrix(results: Sequence[Result], *, units: Units = "metric") -> pd.DataFrame:
    """Tidy verdicts: one row per arrangement and requirement, in rank order."""
    return pd.DataFrame(
        [
            {
                "arrangement": result.arrangement.label,
                "requirement": check.requirement,
                "verdict": check.verdict,
                "sign": SIGNS[check.verdict],
                "word": WORDS[check.verdict],
                "reason": words(check.reason, units),
            }
            for result in results
            for check in result.screening.checks
        ],
        columns=["arrangement", "requirement", "verdict", "sign", "word", "reason"],
    )


def densities(comparison: Comparison) -> pd.DataFrame:
    """Wh/L and Wh/kg of each candidate; those without dimensions are left out."""
    seen: dict[str, dict[str, object]] = {}
    for result in comparison.results:
        pack = result.arrangement.pack
        if pack.name in seen or result.wh_per_l is None:
            continue
        seen[pack.name] = {
            "name": pack.name,
            "chemistry": pack.chemistry.key,
            "wh_per_l": result.wh_per_l,
            "wh_per_kg": result.wh_per_kg,
            "mass": "assumed" if "mass_kg" in pack.assumed else "stated",
        }
    frame = pd.DataFrame(
        list(seen.values()), columns=["name", "chemistry", "wh_per_l", "wh_per_kg", "mass"]
    )
    return frame.assign(label=_labels_apart(frame))


def _labels_apart(points: pd.DataFrame) -> list[str]:
    """Names of the points whose name has room beside them; "" for the others."""
    width = max(float(np.ptp(points["wh_per_kg"])), 1.0) if len(points) else 1.0
    height = max(float(np.ptp(points["wh_per_l"])), 1.0) if len(points) else 1.0
    placed: list[tuple[float, float]] = []
    found = []
    for x, y, name in zip(points["wh_per_kg"], points["wh_per_l"], points["name"], strict=True):
        at = (x / width, y / height)
        free = all(abs(at[0] - x0) > 0.2 or abs(at[1] - y0) > 0.035 for x0, y0 in placed)
        placed.append(at)
        found.append(str(name) if free else "")
    return found


def density_table(comparison: Comparison) -> pd.DataFrame:
    """Densities and price of every candidate, by price per usable kWh."""
    sign = comparison.case.prices.currency
    seen = {}
    for result in comparison.results:
        pack = result.arrangement.pack
        seen[pack.name] = {
            "Candidate": pack.name,
            "Chemistry": pack.chemistry.key,
            "Mass [Wh/kg]": result.wh_per_kg,
            "Size [Wh/L]": result.wh_per_l,
            f"Price [{sign}/kWh usable]": result.price_per_usable_kwh,
        }
    frame = pd.DataFrame(list(seen.values()))
    return frame.sort_values(frame.columns[-1]) if len(frame) else frame
