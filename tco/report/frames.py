"""Tables of a comparison as people read them: rounded, with the unit in every heading."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from tco.case import Problem
from tco.case.case import Case
from tco.case.quantities import MONTHS
from tco.case.units import from_canonical
from tco.compare import Comparison, Result
from tco.report import labels
from tco.report.answer import money, years
from tco.report.labels import Entry, Units
from tco.report.shown_units import in_words, shown

SIGNS = {"pass": "✓", "caution": "▲", "unknown": "?", "fail": "✗"}
"""A verdict is told by its sign and its word; colour only helps."""
WORDS = {
    "pass": "passes", "caution": "passes, mind", "unknown": "not stated", "fail": "fails"
}  # fmt: skip

GROUPS = {
    "Packs": ("packs", "freight"),
    "Wiring and fitting": ("wiring parts", "labour", "yearly checks"),
    "Chargers": ("charger",),
    "Replacement, disposal": ("replacement packs", "replacement labour", "disposal"),
    "Charging energy": ("engine charging", "shore power", "generator"),
    "Days without power": ("days without power",),
    "Old bank and resale": ("old bank", "residual value"),
}
"""What the items of the ledger are gathered under where whole banks are compared."""
OTHER = "Other"


def group_of(item: str) -> str:
    """Group of a ledger item; `OTHER` where no group has it."""
    return next((group for group, items in GROUPS.items() if item in items), OTHER)


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
    life = result.life.first_life_years
    return (
        Figure("First cost", money(money_of.first_cost, sign), "packs, freight, parts, labour"),
        Figure(
            f"Total over {horizon} years",
            money(money_of.total_cost, sign),
            f"today's money; {money(money_of.annual_cost, sign)} a year",
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
    return turned.replace(" degC", " °C").replace(" degF", " °F")


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


def cost_groups(results: Sequence[Result]) -> pd.DataFrame:
    """Present cost by group, one row per arrangement and group; sums to the total cost."""
    rows = []
    for result in results:
        sums: dict[str, float] = {}
        for row in result.ledger:
            sums[group_of(row.item)] = sums.get(group_of(row.item), 0.0) + row.present
        rows += [
            {"arrangement": result.arrangement.label, "group": group, "present": amount}
            for group, amount in sums.items()
        ]
    return pd.DataFrame(rows, columns=["arrangement", "group", "present"])


def ledger_rows(result: Result) -> pd.DataFrame:
    """The dated rows of a ledger: year, group, item, amount, present, reason."""
    return pd.DataFrame(
        [
            {
                "year": row.year,
                "group": group_of(row.item),
                "item": row.item,
                "amount": row.amount,
                "present": row.present,
                "reason": row.reason,
            }
            for row in result.ledger
        ],
        columns=["year", "group", "item", "amount", "present", "reason"],
    )


def ledger_items(rows: pd.DataFrame, currency: str) -> pd.DataFrame:
    """The ledger by item: how many rows, what is paid, what that is today."""
    by_item = rows.groupby("item", sort=False).agg(
        count=("amount", "size"), amount=("amount", "sum"), present=("present", "sum")
    )
    return by_item.reset_index().rename(
        columns={
            "item": "Item",
            "count": "Rows",
            "amount": f"Paid [{currency}]",
            "present": f"In today's money [{currency}]",
        }
    )


def dated(rows: pd.DataFrame, currency: str) -> pd.DataFrame:
    """Ledger rows under headings for people."""
    return rows[["year", "item", "amount", "present", "reason"]].rename(
        columns={
            "year": "Year",
            "item": "Item",
            "amount": f"Paid [{currency}]",
            "present": f"In today's money [{currency}]",
            "reason": "Why",
        }
    )


def bill(result: Result, currency: str) -> pd.DataFrame:
    """The wiring bill, without tax."""
    lines = result.wiring.bill if result.wiring is not None else ()
    return pd.DataFrame(
        [
            {
                "Part": line.part,
                "Quantity": f"{line.quantity:,.1f} {line.unit}"
                if line.quantity != round(line.quantity)
                else f"{line.quantity:,.0f} {line.unit}",
                f"Each [{currency}]": line.unit_price,
                f"Cost [{currency}]": line.cost,
            }
            for line in lines
        ]
    )


def old_parts(result: Result, currency: str) -> pd.DataFrame:
    """What becomes of each installed part, and what it brings."""
    decisions = result.wiring.parts if result.wiring is not None else ()
    return pd.DataFrame(
        [
            {
                "Part": decision.part.name,
                "": decision.decision,
                "Brings": money(decision.value, currency) if decision.value else "–",
                "Why": decision.reason,
            }
            for decision in decisions
        ]
    )


def settings(result: Result) -> pd.DataFrame:
    """What to set anew on the chargers that stay."""
    found = result.wiring.settings if result.wiring is not None else ()
    return pd.DataFrame(
        [
            {"Charger": s.charger, "Setting": s.setting, "To": s.value, "Why": s.reason}
            for s in found
        ]
    )


def health(result: Result) -> pd.DataFrame:
    """Health at each year's end of the first bank and of the bank in service. Year 0 is new."""
    life = result.life
    names = (("first bank, never replaced", life.health), ("bank in service", life.in_service))
    return pd.DataFrame(
        [
            {"year": year, "bank": name, "health": value}
            for name, values in names
            for year, value in enumerate([1.0, *map(float, values)])
        ]
    )


HOURS_PER_YEAR, FORTNIGHT = 8760, 14


@dataclass(frozen=True)
class ChargeYear:
    """State of charge by day of the weather year that holds the worst fortnight.

    `days`: day 0..364, lowest, mean and highest charge of it (fractions). `start` and `end` are
    the first and the last day of the fortnight whose mean charge is lowest, `lowest` the lowest
    charge within it.
    """

    days: pd.DataFrame
    start: int
    end: int
    lowest: float
    weather_year: int

    @property
    def words(self) -> str:
        """When the worst fortnight is, and how low it goes."""
        return (
            f"Worst fortnight: {day_text(self.start)} to {day_text(self.end)} of weather year "
            f"{self.weather_year + 1}; charge falls to {self.lowest:.0%}."
        )


def day_text(day: int) -> str:
    """Day of a 365-day year as a date.

    >>> day_text(0), day_text(364)
    ('1 Jan', '31 Dec')
    """
    lengths = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    for month, length in zip(MONTHS, lengths, strict=True):
        if day < length:
            return f"{day + 1} {month}"
        day -= length
    raise ValueError("a year has 365 days")


def charge_year(charge: np.ndarray) -> ChargeYear:
    """Find the worst fortnight in hourly states of charge, shape (years * 8760,)."""
    by_day = np.asarray(charge, dtype=float).reshape(-1, 365, 24)
    means = by_day.mean(axis=2)
    sums = np.cumsum(np.pad(means, ((0, 0), (1, 0))), axis=1)
    fortnights = (sums[:, FORTNIGHT:] - sums[:, :-FORTNIGHT]) / FORTNIGHT
    year, start = np.unravel_index(int(np.argmin(fortnights)), fortnights.shape)
    chosen = by_day[year]
    end = int(start) + FORTNIGHT - 1
    frame = pd.DataFrame(
        {
            "day": np.arange(365),
            "date": pd.date_range("2001-01-01", periods=365, freq="D"),
            "lowest": chosen.min(axis=1),
            "mean": chosen.mean(axis=1),
            "highest": chosen.max(axis=1),
        }
    )
    lowest = float(chosen[int(start) : end + 1].min())
    return ChargeYear(frame, int(start), end, lowest, int(year))


def budget(comparison: Comparison) -> pd.DataFrame:
    """Mean power by month and hour of the day while somebody is there. [W]"""
    power = comparison.budget.essential_w + comparison.budget.other_w
    return pd.DataFrame(
        [
            {"month": MONTHS[month], "hour": hour, "watts": float(power[month, hour])}
            for month in range(12)
            for hour in range(24)
        ]
    )


def daily_need(comparison: Comparison) -> pd.DataFrame:
    """Energy of a day by month. [kWh]"""
    return pd.DataFrame(
        {"month": list(MONTHS), "kwh": [float(wh) / 1000.0 for wh in comparison.budget.daily_wh]}
    )


def assumed(case: Case, comparison: Comparison) -> pd.DataFrame:
    """What the shops do not say and is assumed: candidate, field, value with unit, source."""
    headings = {entry.field: entry for entry in labels.CANDIDATE}
    rows = []
    packs = {result.arrangement.pack.name: result.arrangement.pack for result in comparison.results}
    for name in (candidate.name for candidate in case.candidates if candidate.name in packs):
        pack = packs[name]
        for field, told in pack.assumed.items():
            entry = headings.get(field)
            value, _, source = told.partition(": ")
            if not source or not _is_number(value):
                value, source = "–", told
            elif entry is not None:
                value = _assumed_value(float(value), entry, case)
            rows.append(
                {
                    "Candidate": pack.name,
                    "Not stated": entry.label if entry is not None else field.replace("_", " "),
                    "Taken as": value,
                    "Because": source,
                }
            )
    return pd.DataFrame(rows, columns=["Candidate", "Not stated", "Taken as", "Because"])


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _assumed_value(value: float, entry: Entry, case: Case) -> str:
    from tco.report.typed import shown_text

    shown = shown_text({entry.field: value}, entry, case.units)
    return f"{shown} {entry.shown_unit(case.units, case.prices.currency)}".strip()


def problems(found: Sequence[Problem]) -> pd.DataFrame:
    """What is wrong with what was typed, and how to mend it."""
    rows = []
    for problem in found:
        where = problem.item or problem.file or problem.field.split(".")[0].split("[")[0]
        row = f", row {problem.row}" if problem.row is not None else ""
        allowed = f"allowed: {problem.allowed}" if problem.allowed else ""
        mend = ". ".join(part for part in (allowed, problem.mend) if part)
        rows.append(
            {
                "Where": f"{where}{row}",
                "What": labels.label_of(problem.field) if problem.field else "",
                "Typed": problem.given,
                "Problem": problem.what,
                "How to mend it": mend,
            }
        )
    return pd.DataFrame(rows, columns=["Where", "What", "Typed", "Problem", "How to mend it"])
