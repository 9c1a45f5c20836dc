"""Tables of the ranking, rounded, with the unit in every heading."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from tco.case.units import from_canonical
from tco.case.words import money
from tco.compare import Comparison, Result
from tco.report.frames import SIGNS, Figure
from tco.report.shown_units import mass
from tco.report.words import NO_POWER, years


def key_figures(comparison: Comparison, result: Result) -> tuple[Figure, ...]:
    """The five figures that describe an arrangement first."""
    case, arrangement, money_of = comparison.case, result.arrangement, result.measures
    sign, units = case.prices.currency, case.units
    horizon = case.assumptions.horizon_years
    per_kwh = money_of.cost_per_kwh
    short = result.hours_without_power
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
            f"{short:,.0f} h a year without power",
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
                f"{NO_POWER} [h/year]": result.hours_without_power,
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
