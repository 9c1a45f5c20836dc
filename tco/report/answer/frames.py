"""Tables of the ranking, rounded, with the unit in every heading."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from tco.case.words import money
from tco.columns import COLUMNS, MONEY, Column, Row
from tco.compare import Comparison
from tco.report.frames import SIGNS, Figure
from tco.report.shown_units import mass, shown
from tco.report.words import years
from tco.result import Result


def key_figures(comparison: Comparison, result: Result) -> tuple[Figure, ...]:
    """The five figures that describe an arrangement first."""
    case, arrangement, money_of = comparison.case, result.arrangement, result.measures
    sign, units = case.prices.currency, case.units
    horizon = case.assumptions.horizon_years
    per_kwh = money_of.cost_per_kwh
    short, worn = result.hours_without_power, result.life.worn_hours_without_power
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
            f"{short:,.0f} h a year without power; worn, {worn:,.0f} h",
        ),
    )


def ranked(comparison: Comparison) -> pd.DataFrame:
    """One row per arrangement in rank order, numbers rounded, units in the headings."""
    rows = comparison.rows
    columns = [
        column
        for column in COLUMNS
        if column.words is not None
        and not (column.optional and all(column.value(row) is None for row in rows))
    ]
    return pd.DataFrame(
        [{_heading(c, comparison): _cell(c, row, comparison) for c in columns} for row in rows]
    )


def _heading(column: Column, comparison: Comparison) -> str:
    unit = unit_of(column, comparison)
    return f"{column.words} [{unit}]" if unit else f"{column.words}"


def unit_of(column: Column, comparison: Comparison) -> str:
    """The unit of a column as the reader has it."""
    if column.unit == MONEY:
        return comparison.case.prices.currency
    return shown(0.0, column.unit, imperial=comparison.case.units == "imperial")[1]


def _cell(column: Column, row: Row, comparison: Comparison) -> Any:
    value = column.value(row)
    if column.key == "verdict":
        return SIGNS[value]
    if isinstance(value, list):
        return ", ".join(value)
    if value is None:
        return column.beyond
    if column.unit == "%":
        return 100.0 * value
    return shown(value, column.unit, imperial=comparison.case.units == "imperial")[0]


def ranked_formats(headings: Sequence[str]) -> dict[Any, Any]:
    """Number format of each column of `ranked`, to the digits it deserves."""
    digits = {column.words: column.digits for column in COLUMNS}
    return {
        heading: f"{{:,.{digits[heading.partition(' [')[0]]}f}}"
        for heading in headings
        if "[" in heading
    }
