"""What the headings of a shop's table mean."""

import re
from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType

from tco.case.candidate import Candidate
from tco.case.problems import Problem
from tco.case.units import CONVERSIONS, split_key, unit_of_field

HEADINGS: Mapping[str, str] = MappingProxyType(
    {
        "model": "name",
        "pack": "name",
        "battery": "name",
        "product": "name",
        "candidate": "name",
        "brand": "maker",
        "manufacturer": "maker",
        "type": "chemistry",
        "technology": "chemistry",
        "bare cell": "bare_cell",
        "bare cells": "bare_cell",
        "single cell": "bare_cell",
        "cell only": "bare_cell",
        "voltage": "nominal_voltage_v",
        "nominal voltage": "nominal_voltage_v",
        "nominal": "nominal_voltage_v",
        "system voltage": "nominal_voltage_v",
        "rated voltage": "nominal_voltage_v",
        "volts": "nominal_voltage_v",
        "v": "nominal_voltage_v",
        "charge voltage": "charge_voltage_v",
        "charged at": "charge_voltage_v",
        "charging voltage": "charge_voltage_v",
        "absorption voltage": "charge_voltage_v",
        "bulk voltage": "charge_voltage_v",
        "capacity": "capacity_ah",
        "rated capacity": "capacity_ah",
        "nominal capacity": "capacity_ah",
        "ah": "capacity_ah",
        "usable": "usable_depth",
        "usable share": "usable_depth",
        "usable depth": "usable_depth",
        "depth of discharge": "usable_depth",
        "dod": "usable_depth",
        "max dod": "usable_depth",
        "width": "width_mm",
        "length": "width_mm",
        "depth": "depth_mm",
        "height": "height_mm",
        "size": "size",
        "dimensions": "size",
        "size: w x d x h": "size",
        "w x d x h": "size",
        "l x w x h": "size",
        "weight": "mass_kg",
        "mass": "mass_kg",
        "discharge": "continuous_discharge_a",
        "discharge current": "continuous_discharge_a",
        "max discharge current": "continuous_discharge_a",
        "continuous discharge current": "continuous_discharge_a",
        "continuous discharge": "continuous_discharge_a",
        "max continuous discharge": "continuous_discharge_a",
        "peak": "peak_discharge_a",
        "peak current": "peak_discharge_a",
        "peak discharge current": "peak_discharge_a",
        "peak discharge": "peak_discharge_a",
        "charge": "continuous_charge_a",
        "max charge": "continuous_charge_a",
        "charge current": "continuous_charge_a",
        "max charge current": "continuous_charge_a",
        "internal resistance": "internal_resistance_mohm",
        "resistance": "internal_resistance_mohm",
        "short-circuit current": "short_circuit_a",
        "short circuit": "short_circuit_a",
        "charge from": "charge_min_degc",
        "charge to": "charge_max_degc",
        "discharge from": "discharge_min_degc",
        "discharge to": "discharge_max_degc",
        "min charge temperature": "charge_min_degc",
        "max charge temperature": "charge_max_degc",
        "min discharge temperature": "discharge_min_degc",
        "max discharge temperature": "discharge_max_degc",
        "heater": "heater_w",
        "low-temp cut-off": "low_temperature_cutoff",
        "low temperature cut-off": "low_temperature_cutoff",
        "cold cut-off": "low_temperature_cutoff",
        "cold charge cut-off": "low_temperature_cutoff",
        "cycles": "rated_cycles",
        "cycle life": "rated_cycles",
        "cycle depth": "rated_depth",
        "at depth": "rated_depth",
        "cycles: at depth": "rated_depth",
        "cycles at depth": "rated_depth",
        "end of life": "end_of_life",
        "to health": "end_of_life",
        "cycles: to health": "end_of_life",
        "calendar life": "calendar_life_years",
        "self-discharge": "self_discharge_per_month",
        "self-discharge a month": "self_discharge_per_month",
        "self-discharge per month": "self_discharge_per_month",
        "max in series": "max_series",
        "max in parallel": "max_parallel",
        "max together": "max_packs",
        "max packs": "max_packs",
        "max in one bank": "max_packs",
        "cell voltages": "cell_voltages_visible",
        "charge display": "charge_display",
        "display": "charge_display",
        "internal management": "internal_management",
        "built-in management": "internal_management",
        "bms inside": "internal_management",
        "link to management": "management_link",
        "bms link": "management_link",
        "rated cycles": "rated_cycles",
        "terminals": "terminal",
        "orientation": "orientations",
        "ways to stand": "orientations",
        "mounting": "orientations",
        "warranty": "warranty_years",
        "price": "price",
        "unit price": "price",
        "shipping": "freight_price",
        "freight": "freight_price",
        "delivery": "freight_price",
        "lead time": "lead_time_days",
        "left out for now": "left_out",
        "url": "link",
        "comment": "notes",
        "remarks": "notes",
    }
)
"""Words of shop tables for our fields, in lower case; "size" is three fields in one cell."""

OTHER = "other: "
"""Before a heading that would be taken for one of ours but is kept in `Candidate.other`."""

FIELDS = frozenset(Candidate.model_fields) - {"other"}
REQUIRED = tuple(name for name, info in Candidate.model_fields.items() if info.is_required())


def field_of_heading(heading: str) -> tuple[str, str]:
    """Field a heading means and the unit in it; ("", "") where it means nothing to us.

    >>> field_of_heading("Weight (lb)"), field_of_heading("DoD %"), field_of_heading("Colour")
    (('mass_kg', 'lb'), ('usable_depth', '%'), ('', ''))
    """
    plain = " ".join(re.sub(r"\b(max|min)\.", r"\1", heading.lower()).replace("×", "x").split())
    if plain.startswith(OTHER.strip()):
        return "", ""
    match = re.fullmatch(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]", plain)
    words, unit = (match[1].strip(), match[2].strip()) if match else (plain, "")
    if match is None and words.endswith("%"):
        words, unit = words[:-1].strip(), "%"
    field = HEADINGS.get(words)
    if field is None:
        found = split_key(words.replace(" ", "_").replace("-", "_"), FIELDS) or _unit_last(words)
        if found is None:
            return "", ""
        field, typed = found
        unit = unit or typed
    if "price" in field and re.search(r"/|\bper\b", unit):
        return "", ""  # a price per kWh is not the price
    if re.search(r"[,; ]", unit):  # "W x D x H, mm", "Ah at 20 h": the part that is a unit
        fitting = _units_of(field)
        unit = next((part for part in re.split(r"[,; ]+", unit) if part in fitting), unit)
    return field, unit


def _units_of(field: str) -> Collection[str]:
    return CONVERSIONS["mm" if field == "size" else unit_of_field(field)]


def _unit_last(words: str) -> tuple[str, str] | None:
    """Field and unit of a heading that ends in its unit: "weight, kg"; None where it does not."""
    match = re.fullmatch(r"(.+?)(?:, ?| )([^ ,]+)", words)
    field = HEADINGS.get(match[1], "") if match is not None else ""
    if match is None or not field:
        return None
    if "price" in field:
        fits = re.fullmatch(r"[€£$]|eur|gbp|usd|chf", match[2]) is not None
    else:
        fits = match[2] in _units_of(field)
    return (field, match[2]) if fits else None


def other_heading(heading: str, index: int) -> str:
    """Name under which the column of a heading that means nothing to us is kept.

    A column without heading is named by its place, counted from one.
    """
    text = heading.strip()
    if text.lower().startswith(OTHER.strip()):
        text = text[len(OTHER.strip()) :].strip()
    return text or f"column {index + 1}"


def written_heading(name: str) -> str:
    """Heading that `field_of_heading` and `other_heading` turn back into an `other` name."""
    taken = field_of_heading(name)[0] or name.lower().startswith(OTHER.strip())
    return f"{OTHER}{name}" if taken or not name else name


def heading_problems(
    fields: Sequence[str], headings: Sequence[str], *, file: str, row: int
) -> list[Problem]:
    """Columns that mean the same, and columns every table needs and this one lacks."""
    seen: dict[str, str] = {}
    problems = []
    for field, heading in zip(fields, headings, strict=True):
        for part in SIZE if field == "size" else (field,):
            if part and part in seen:
                problems.append(
                    Problem(
                        f"columns {seen[part]!r} and {heading!r} both mean {part}",
                        file=file,
                        row=row,
                        field=part,
                        mend=f'Remove one, or head it "{OTHER}{heading}" to keep it as it is.',
                    )
                )
            seen.setdefault(part, heading)
    for field in REQUIRED:
        if field not in seen:
            words = [word for word, meant in HEADINGS.items() if meant == field]
            problems.append(
                Problem(
                    f"has no column for {field}",
                    file=file,
                    row=row,
                    field=field,
                    allowed=", ".join(dict.fromkeys((field, *words))),
                    mend=f"Add a column headed {field}.",
                )
            )
    return problems


SIZE = ("width_mm", "depth_mm", "height_mm")
"""Fields of a size in one cell, in the order in which it is written."""
