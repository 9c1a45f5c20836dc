"""Figures, checks and sentences that several rooms show, in the units of the reader."""

from collections.abc import Collection
from dataclasses import dataclass

import pandas as pd

from tco.bank.checks.check import REQUIREMENTS
from tco.forms.entry import NICE, Units
from tco.report.shown_units import shown
from tco.result import Result
from tco.sentences import told

SIGNS = {"pass": "✓", "caution": "▲", "unknown": "?", "fail": "✗"}
"""A verdict is told by its sign and its word; colour only helps."""
WORDS = {
    "pass": "passes", "caution": "with care", "unknown": "not stated", "fail": "fails"
}  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """One key figure: what it is, the number with its unit, and what lies behind it."""

    label: str
    value: str
    note: str


def checks(
    result: Result, *, units: Units = "metric", keys: Collection[str] = REQUIREMENTS
) -> pd.DataFrame:
    """The checks of one arrangement, or those with one of some keys, what fails first."""
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
            if check.key in keys
        ]
    )


def words(sentence: str, units: Units) -> str:
    """A sentence of the engine in the user's units, temperatures with their sign."""
    return told(sentence, units, signs=True)


def _quantity(value: float | None, unit: str, units: Units, *, margin: bool = False) -> str:
    if value is None:
        return "–"
    number, name = shown(value, unit, imperial=units == "imperial", difference=margin)
    if margin and name.startswith("deg"):
        name = name.replace("deg", "°")
    name = NICE.get(name.lower(), name)
    if number == 1 and name.endswith("s"):
        name = name.removesuffix("s")
    digits = 2 if abs(number) < 10 else 1 if abs(number) < 100 else 0
    text = f"{number:{'+' if margin and round(number, digits) else ''},.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text in ('-0', '') else text} {name}".strip()
