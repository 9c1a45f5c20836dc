"""Tables of what fits: verdicts by requirement, densities, and the checks of the space."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from tco.compare import Comparison
from tco.forms.entry import Units
from tco.report.frames import SIGNS, WORDS, checks, words
from tco.result import Result


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


IN_THE_SPACE = ("space", "fuse_room", "mass", "lifting", "ventilation")


def space_checks(result: Result, *, units: Units) -> pd.DataFrame:
    """Whether it fits and may be carried, with the reasons."""
    frame = checks(result, units=units, keys=IN_THE_SPACE)
    return frame if frame.empty else frame[["", "Requirement", "Why"]]
