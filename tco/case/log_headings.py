"""What the headings and the `#` lines of a log of capacity tests mean."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from tco.case.capacity_models import CapacityLog, CapacityTest
from tco.case.problems import Problem
from tco.case.units import CONVERSIONS, split_key, unit_of_field

HEADINGS: Mapping[str, str] = MappingProxyType(
    {
        "date": "tested_on",
        "tested": "tested_on",
        "day": "tested_on",
        "test date": "tested_on",
        "ah": "measured_ah",
        "capacity": "measured_ah",
        "measured": "measured_ah",
        "measured capacity": "measured_ah",
        "discharged": "measured_ah",
        "temperature": "temperature_degc",
        "temp": "temperature_degc",
        "battery temperature": "temperature_degc",
        "current": "current_a",
        "discharge": "current_a",
        "discharge current": "current_a",
        "amps": "current_a",
        "end voltage": "end_voltage_v",
        "stopped at": "end_voltage_v",
        "cut-off": "end_voltage_v",
        "cells": "cell_voltages_v",
        "cell voltages": "cell_voltages_v",
        "note": "note",
        "notes": "note",
        "remark": "note",
        "remarks": "note",
        "comment": "note",
    }
)
"""Words for the columns of a log, in lower case."""

HEADER: Mapping[str, str] = MappingProxyType(
    {
        "candidate": "candidate",
        "battery": "candidate",
        "pack": "candidate",
        "strings": "strings",
        "parallel": "strings",
        "bought": "bought",
        "installed": "bought",
        "rated": "rated_ah",
        "rated capacity": "rated_ah",
        "chemistry": "chemistry",
        "warranty": "warranty_years",
        "warranty health": "warranty_health",
        "old bank": "old_bank",
    }
)
"""Words for the `# word: value` lines of a log, in lower case; field names will do too."""

OTHER = "other: "
"""Before a heading that would be taken for one of ours but is kept in `CapacityTest.other`."""

FIELDS = frozenset(CapacityTest.model_fields) - {"other"}
HEADER_FIELDS = frozenset(CapacityLog.model_fields) - {"tests", "remarks"}
REQUIRED = ("tested_on", "measured_ah")


@dataclass(frozen=True)
class Column:
    """What a column holds: its field ("" where it means nothing to us), unit and cell number."""

    heading: str
    field: str
    unit: str
    cell: int | None = None


def column_of(heading: str) -> Column:
    """What a heading means; the field is empty where it means nothing to us."""
    plain = " ".join(heading.lower().split())
    if plain.startswith(OTHER.strip()):
        return Column(heading.strip(), "", "")
    match = re.fullmatch(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]", plain)
    words, unit = (match[1].strip(), match[2].strip()) if match else (plain, "")
    words = words.replace("_", " ")
    single = re.fullmatch(r"(?:cell|block) ?#? ?([0-9]{1,3})(?: (m?v))?", words)
    if single is not None:
        return Column(heading.strip(), "cell_voltages_v", unit or single[2] or "", int(single[1]))
    name = HEADINGS.get(words)
    if name is None:
        found = split_key(words.replace(" ", "_").replace("-", "_"), FIELDS)
        if found is None:
            return Column(heading.strip(), "", "")
        name, typed = found
        unit = unit or typed
    if re.search(r"[,; ]", unit):  # "Ah at 20 h": the part that is a unit
        fitting = CONVERSIONS[unit_of_field(name)]
        unit = next((part for part in re.split(r"[,; ]+", unit) if part in fitting), unit)
    return Column(heading.strip(), name, unit)


def columns_of(headings: Sequence[str]) -> list[Column]:
    """What each heading means; those that mean nothing to us get a name of their own."""
    columns: list[Column] = []
    kept: set[str] = set()
    for index, heading in enumerate(headings):
        column = column_of(heading)
        if not column.field:
            name = column.heading
            if name.lower().startswith(OTHER.strip()):
                name = name[len(OTHER.strip()) :].strip()
            name = plain = name or f"column {index + 1}"
            times = 1
            while name in kept:
                times += 1
                name = f"{plain} ({times})"
            kept.add(name)
            column = Column(name, "", "")
        columns.append(column)
    return columns


def heading_problems(columns: Sequence[Column], *, file: str, row: int) -> Iterator[Problem]:
    """Columns that mean the same, and columns a log needs and this one lacks."""
    seen: dict[tuple[str, int | None], str] = {}
    for column in columns:
        key = (column.field, column.cell)
        if column.field and key in seen:
            what = f"columns {seen[key]!r} and {column.heading!r} both mean {column.field}"
            mend = f'Remove one, or head it "{OTHER}{column.heading}" to keep it as it is.'
            yield Problem(what, file=file, row=row, field=column.field, mend=mend)
        seen.setdefault(key, column.heading)
    named = {name for name, _ in seen}
    together = ("cell_voltages_v", None) in seen
    if together and any(c.cell is not None for c in columns):
        mend = "Use one column for all the cells, or one for each."
        yield Problem(
            "gives the cells twice", file=file, row=row, field="cell_voltages_v", mend=mend
        )
    for name in REQUIRED:
        if name not in named:
            words = [word for word, meant in HEADINGS.items() if meant == name]
            yield Problem(
                f"has no column for {name}",
                file=file,
                row=row,
                field=name,
                allowed=", ".join((name, *words)),
                mend=f"Add a column headed {words[0]}.",
            )
