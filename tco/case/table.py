"""Candidate tables (CSV): headings and units as shops write them, and back without loss.

A heading is a field name (`mass_kg`), a field with another unit (`mass_lb`), or one of the words
of `HEADINGS`, with its unit in brackets: `Weight (lb)`. A cell may carry its own unit (`"31 lb"`).
`Size (mm)` holds width x depth x height in one cell. Columns that mean nothing to us are kept in
`Candidate.other`.
"""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import ValidationError

from tco.case.candidate import Candidate
from tco.case.problems import CaseError, Problem, from_validation
from tco.case.units import UnitProblem, split_key, to_canonical, unit_of_field

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
        "voltage": "nominal_voltage_v",
        "nominal voltage": "nominal_voltage_v",
        "volts": "nominal_voltage_v",
        "v": "nominal_voltage_v",
        "capacity": "capacity_ah",
        "ah": "capacity_ah",
        "usable": "usable_depth",
        "usable depth": "usable_depth",
        "depth of discharge": "usable_depth",
        "dod": "usable_depth",
        "width": "width_mm",
        "length": "width_mm",
        "depth": "depth_mm",
        "height": "height_mm",
        "size": "size",
        "dimensions": "size",
        "w x d x h": "size",
        "l x w x h": "size",
        "weight": "mass_kg",
        "mass": "mass_kg",
        "discharge": "continuous_discharge_a",
        "continuous discharge": "continuous_discharge_a",
        "max continuous discharge": "continuous_discharge_a",
        "peak": "peak_discharge_a",
        "peak discharge": "peak_discharge_a",
        "charge": "continuous_charge_a",
        "max charge": "continuous_charge_a",
        "charge current": "continuous_charge_a",
        "internal resistance": "internal_resistance_mohm",
        "resistance": "internal_resistance_mohm",
        "charge from": "charge_min_degc",
        "min charge temperature": "charge_min_degc",
        "max charge temperature": "charge_max_degc",
        "min discharge temperature": "discharge_min_degc",
        "max discharge temperature": "discharge_max_degc",
        "heater": "heater_w",
        "low-temp cut-off": "low_temperature_cutoff",
        "low temperature cut-off": "low_temperature_cutoff",
        "cold charge cut-off": "low_temperature_cutoff",
        "cycles": "rated_cycles",
        "cycle life": "rated_cycles",
        "cycle depth": "rated_depth",
        "cycles at depth": "rated_depth",
        "to health": "end_of_life",
        "calendar life": "calendar_life_years",
        "self-discharge per month": "self_discharge_per_month",
        "max in series": "max_series",
        "max in parallel": "max_parallel",
        "cell voltages": "cell_voltages_visible",
        "charge display": "charge_display",
        "display": "charge_display",
        "link to management": "management_link",
        "bms link": "management_link",
        "terminals": "terminal",
        "warranty": "warranty_years",
        "price": "price",
        "freight": "freight_price",
        "delivery": "freight_price",
        "lead time": "lead_time_days",
        "url": "link",
        "comment": "notes",
        "remarks": "notes",
    }
)
"""Words of shop tables for our fields, in lower case; "size" is three fields in one cell."""

_FIELDS = frozenset(Candidate.model_fields) - {"other"}
_SIZE = ("width_mm", "depth_mm", "height_mm")
_YES = {"yes", "y", "true", "1", "x", "✓", "ja", "oui"}
_NO = {"no", "n", "false", "0", "-", "✗", "nein", "non"}
_UNKNOWN = {"", "?", "n/a", "na", "n.a.", "unknown", "tbc", "—", "not stated"}


def read_candidates(path: str | Path) -> tuple[Candidate, ...]:
    """Read a candidate table.

    Raises
    ------
    CaseError
        With every problem of every row at once, each naming file, row, candidate and field.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (FileNotFoundError, IsADirectoryError):
        raise CaseError(
            [Problem("there is no such table", file=str(path), mend="Check the path.")]
        ) from None
    except UnicodeDecodeError:
        text = path.read_text(encoding="cp1252", errors="replace")
    return parse_candidates(text, file=path.name)


def parse_candidates(text: str, *, file: str = "") -> tuple[Candidate, ...]:
    """Candidates of a table given as text; see `read_candidates`."""
    candidates, problems = parse_rows(text, file=file)
    if problems:
        raise CaseError(problems)
    return candidates


def parse_rows(
    text: str, *, file: str = ""
) -> tuple[tuple[Candidate, ...], tuple[Problem, ...]]:
    """Candidates of the rows that can be read, and the problems of the others."""
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=_delimiter(text))]
    numbered = [(n, row) for n, row in enumerate(rows, start=1) if any(c.strip() for c in row)]
    if not numbered:
        return (), (Problem("has no rows", file=file, mend="Give a heading row and a candidate."),)
    headings = [heading.strip() for heading in numbered[0][1]]
    columns = [_column(heading) for heading in headings]
    problems = list(_heading_problems(columns, headings, file=file))
    candidates = []
    names: dict[str, int] = {}
    for number, row in numbered[1:]:
        raw, row_problems = _row_mapping(row, columns, headings, file=file, number=number)
        problems.extend(row_problems)
        broken = {problem.field for problem in row_problems}
        name = str(raw.get("name", ""))
        try:
            candidate = Candidate.model_validate(raw)
        except ValidationError as error:
            problems.extend(
                problem
                for problem in from_validation(
                    error, Candidate, raw, file=file, row=number, item=_item(name)
                )
                if problem.field not in broken
            )
            continue
        if candidate.name in names:
            problems.append(
                Problem(
                    f"is already the name of row {names[candidate.name]}",
                    file=file,
                    row=number,
                    item=_item(name),
                    field="name",
                    mend="Give each candidate its own name.",
                )
            )
        names[candidate.name] = number
        if not row_problems:
            candidates.append(candidate)
    return tuple(candidates), tuple(problems)


def _item(name: str) -> str:
    return f"candidate {name!r}" if name else ""


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=first.count)


def _column(heading: str) -> tuple[str, str]:
    """Field a heading means and the unit in it; ("", "") where it means nothing to us."""
    plain = heading.strip().lower()
    match = re.fullmatch(r"(.*?)\s*[(\[]([^)\]]*)[)\]]\s*", plain)
    words, unit = (match[1], match[2]) if match else (plain, "")
    words = re.sub(r"\s+", " ", words).strip()
    if match is None and words.endswith(" %"):
        words, unit = words[:-2], "%"
    field = HEADINGS.get(words)
    if field is None:
        found = split_key(words.replace(" ", "_").replace("-", "_"), _FIELDS)
        if found is None:
            return "", ""
        field, typed = found
        unit = unit or typed
    return field, unit


def _heading_problems(
    columns: Sequence[tuple[str, str]], headings: Sequence[str], *, file: str
) -> list[Problem]:
    seen: dict[str, str] = {}
    problems = []
    for (field, _), heading in zip(columns, headings, strict=True):
        if field and field in seen:
            problems.append(
                Problem(
                    f"columns {seen[field]!r} and {heading!r} both mean {field}",
                    file=file,
                    row=1,
                    mend="Rename or remove one.",
                )
            )
        seen.setdefault(field, heading)
    for field in ("name", "chemistry", "nominal_voltage_v", "capacity_ah", "price"):
        if field not in seen:
            problems.append(
                Problem(
                    f"has no column for {field}",
                    file=file,
                    row=1,
                    allowed=", ".join(w for w, f in HEADINGS.items() if f == field) or field,
                    mend=f"Add a column headed {field}.",
                )
            )
    # a column that is missing altogether would otherwise be reported again for every row
    return problems


def _row_mapping(
    row: Sequence[str],
    columns: Sequence[tuple[str, str]],
    headings: Sequence[str],
    *,
    file: str,
    number: int,
) -> tuple[dict[str, Any], list[Problem]]:
    raw: dict[str, Any] = {}
    other: dict[str, str] = {}
    problems: list[Problem] = []
    name = next(
        (c.strip() for c, (field, _) in zip(row, columns, strict=False) if field == "name"), ""
    )
    if len(row) > len(columns) and any(c.strip() for c in row[len(columns) :]):
        problems.append(
            Problem(
                f"has {len(row)} cells under {len(columns)} headings",
                file=file,
                row=number,
                item=_item(name),
                mend="Put text that holds the separator in quotes.",
            )
        )
    for cell, (field, unit), heading in zip(row, columns, headings, strict=False):
        text = cell.strip()
        if field == "" and text:
            other[heading] = text
        if field == "" or text.lower() in _UNKNOWN:
            continue
        try:
            if field == "size":
                raw.update(zip(_SIZE, _size(text, unit), strict=True))
            else:
                raw[field] = _cell(text, field, unit)
        except UnitProblem as problem:
            problems.append(
                Problem(
                    str(problem),
                    file=file,
                    row=number,
                    item=_item(name),
                    field=field,
                    given=repr(text),
                    mend="Leave the cell empty where the shop does not say.",
                )
            )
    if other:
        raw["other"] = other
    return raw, problems


def _size(text: str, unit: str) -> tuple[float, ...]:
    parts = re.split(r"\s*[x×*]\s*", text.lower())
    tail = re.search(r"[a-z\"]+$", parts[-1])
    if tail is not None and len(parts) == 3:
        unit, parts[-1] = tail[0], parts[-1][: tail.start()]
    if len(parts) != 3:
        raise UnitProblem("a size is width x depth x height, such as 520 x 269 x 220")
    return tuple(to_canonical(part, "mm", typed_unit=unit) for part in parts)


def _cell(text: str, field: str, unit: str) -> Any:
    annotation = str(Candidate.model_fields[field].annotation)
    if "bool" in annotation:
        if text.lower() in _YES:
            return True
        if text.lower() in _NO:
            return False
        raise UnitProblem("is neither yes nor no")
    if "tuple" in annotation:
        return tuple(part.strip() for part in re.split(r"[,/]", text))
    if "float" in annotation:
        if field in ("price", "freight_price"):
            text, unit = re.sub(r"[^\d.,'\-]|[.,]-+$", "", text), ""
        if field.endswith("_per_month") and unit.startswith("%"):
            unit = "%"
        return to_canonical(text, unit_of_field(field), typed_unit=unit)
    if "int" in annotation:
        number = to_canonical(text, "")
        if number != int(number):
            raise UnitProblem("is not a whole number")
        return int(number)
    return text


def write_candidates(candidates: Sequence[Candidate], path: str | Path) -> None:
    """Write a candidate table; `read_candidates` gives equal candidates."""
    Path(path).write_text(candidates_to_csv(candidates), encoding="utf-8")


def candidates_to_csv(candidates: Sequence[Candidate]) -> str:
    """Text of a candidate table in canonical units, columns without any value left out."""
    rows = [
        candidate.model_dump(mode="json", exclude_none=True, exclude_unset=True)
        for candidate in candidates
    ]
    fields = [
        field
        for field in Candidate.model_fields
        if field != "other" and any(row.get(field) not in (None, "") for row in rows)
    ]
    others = sorted({key for row in rows for key in row.get("other", {})})
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*fields, *others])
    for row in rows:
        extra = row.get("other", {})
        writer.writerow(
            [_written(row.get(field)) for field in fields] + [extra.get(k, "") for k in others]
        )
    return out.getvalue()


def _written(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "/".join(value)
    return repr(value) if isinstance(value, float) else str(value)
