"""Turning pydantic's errors into problems a person can mend."""

import datetime
import difflib
import json
import typing
from collections.abc import Iterable, Mapping, Sized
from dataclasses import replace
from typing import Annotated, Any

import annotated_types
from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from tco.case.base import STATED, Model, Unreadable, field_kind, model_in
from tco.case.problems import Problem
from tco.case.units import CONVERSIONS, from_canonical, shown_unit, split_key

Location = tuple[str | int, ...]

_LONGEST_SHOWN = 80


def model_at(model: type[BaseModel], path: Iterable[str | int]) -> type[BaseModel] | None:
    """Model class that a location in the data of `model` belongs to, None where it is none."""
    current: type[BaseModel] | None = model
    for step in path:
        if isinstance(step, int):
            continue
        field = current.model_fields.get(step) if current is not None else None
        current = model_in(field.annotation) if field is not None else None
    return current


def from_validation(
    error: ValidationError,
    model: type[BaseModel],
    raw: Mapping[str, Any],
    *,
    file: str = "",
    row: int | None = None,
    item: str = "",
    typed: Mapping[str, str] | None = None,
) -> tuple[Problem, ...]:
    """Turn pydantic's error list into problems a person can mend.

    Parameters
    ----------
    error
        What `model.model_validate(raw)` raised.
    raw
        The data as given; used to show the value as it was typed and to name the entry
        ("load 'kettle'") beside its number.
    typed
        Values as they stood in a table, by field, where `raw` holds them converted already.

    A problem of a row of a table has no `location`: the row is no part of a case yet.
    """
    found = (
        _problem(detail, model, raw, file=file, row=row, item=item, typed=typed or {})
        for detail in error.errors(include_url=False)
    )
    return tuple(problem for problem in dict.fromkeys(found) if problem is not None)


def shown(value: Any, unit: str = "") -> str:
    """A value as it stands in the file, shortened where it is long.

    >>> shown("24 in"), shown(True), shown(-3, "in"), shown([1, 2])
    ("'24 in'", 'true', '-3 in', '[1, 2]')
    """
    if isinstance(value, Unreadable):
        value = value.given
    if isinstance(value, BaseModel | Mapping):
        return "a section"
    if isinstance(value, bool):
        text = json.dumps(value)
    elif isinstance(value, list | tuple):
        text = f"[{', '.join(shown(item) for item in value[:20])}{', …' * (len(value) > 20)}]"
    elif isinstance(value, datetime.date | datetime.time):
        text = value.isoformat()
    elif isinstance(value, int) and abs(value) > 10**_LONGEST_SHOWN:
        text = "a number of more than 80 digits"
    else:
        text = repr(value)
    if len(text) > _LONGEST_SHOWN:
        text = f"{text[: _LONGEST_SHOWN - 1]}…"
    return f"{text} {shown_unit(unit)}" if unit and not isinstance(value, str) else text


def _problem(
    detail: ErrorDetails,
    model: type[BaseModel],
    raw: Mapping[str, Any],
    *,
    file: str,
    row: int | None,
    item: str,
    typed: Mapping[str, str],
) -> Problem | None:
    kind, context = detail["type"], detail.get("ctx", {})
    location, value, unit = _as_typed(model, raw, detail["loc"], detail["input"])
    problem = Problem(
        what="",
        file=file,
        row=row,
        item=item or _entry(location, raw),
        field=_dotted(location),
        given=typed.get(_dotted(location), "") or shown(value, unit),
        location=location if row is None else (),
    )
    owner = model_at(model, location[:-1])
    name = next((step for step in reversed(location) if isinstance(step, str)), "")
    info = _field_at(model, location)
    if kind == STATED:
        given = "" if isinstance(detail["input"], Mapping | BaseModel) else problem.given
        return replace(
            problem,
            what=context["what"],
            given=given,
            allowed=context["allowed"],
            mend=context["mend"],
        )
    if kind == "value_error":
        return replace(problem, what=str(context["error"]))
    if kind == "missing":
        return replace(problem, what="is missing", given="", mend=f"Add {name}.")
    if kind == "extra_forbidden":
        names = list(owner.model_fields) if owner is not None else []
        close = difflib.get_close_matches(str(name), names, n=1, cutoff=0.6)
        return replace(
            problem,
            what="is not known here",
            allowed="" if close else ", ".join(names),
            mend=f"Did you mean {close[0]}?" if close else "Remove it, or check its spelling.",
        )
    if kind in _SHAPES or kind.endswith(("_type", "_parsing", "_parsing_size", "from_float")):
        return _wrong_shape(problem, kind, info, location)
    if kind in _LIMITS:
        allowed = _range(name, info, unit) if info is not None else ""
        return replace(
            problem,
            what=_LIMITS[kind],
            allowed=allowed,
            mend="" if "%" in problem.given else _fraction_hint(info, value, unit),
        )
    if isinstance(value, str) and kind in ("too_short", "too_long"):
        kind = f"string_{kind}"  # pydantic speaks of entries where a text was trimmed before
    if kind == "too_short" and isinstance(value, Sized) and len(value) >= context["min_length"]:
        return None  # pydantic counts readable entries only; the others have errors of their own
    what, allowed = _SENTENCES.get(kind, (detail["msg"], ""))
    return replace(problem, what=what, allowed=allowed.format(**context))


_LIMITS = {
    "greater_than": "is too small",
    "greater_than_equal": "is too small",
    "less_than": "is too large",
    "less_than_equal": "is too large",
}
_SENTENCES = {
    "literal_error": ("is not one of the choices", "{expected}"),
    "too_short": ("has too few entries", "at least {min_length}"),
    "too_long": ("has too many entries", "at most {max_length}"),
    "string_too_short": ("is empty", "some text"),
    "string_too_long": ("is too long", "at most {max_length} characters"),
    "finite_number": ("is not a finite number", "a finite number"),
    "string_unicode": ("holds half a character", "readable text"),
}
_SHAPES = {"int_from_float", "float_type", "model_type", "tuple_type", "model_attributes_type"}


def _wrong_shape(
    problem: Problem, kind: str, info: FieldInfo | None, location: Location
) -> Problem:
    """Words for a value of the wrong kind: text for a number, a list for a section."""
    name = ".".join(step for step in location if isinstance(step, str))
    inner = model_in(info.annotation) if info is not None else None
    if kind.startswith(("tuple", "list")):
        mend = (
            f"Write [[{name}]] above each entry."
            if inner is not None
            else "Write the values in brackets, with commas between: [1, 2]."
        )
        return replace(problem, what="is not a list", allowed="a list", mend=mend)
    if kind.startswith(("model", "dict", "mapping")):
        if location and isinstance(location[-1], int):
            mend = f"Write [[{name}]] with the entry's values below it."
        else:
            mend = f"Write [{name}] with its values below it."
        return replace(problem, what="is not a section", allowed="a section", mend=mend)
    if kind.startswith("float"):
        return replace(problem, what="is not a number", allowed="a number")
    if kind.startswith("int"):
        return replace(problem, what="is not a whole number", allowed="a whole number")
    if kind.startswith("bool"):
        return replace(problem, what="is neither yes nor no", allowed="true or false")
    return replace(problem, what="is not text", allowed="text", mend="Put it in quotes.")


def _fraction_hint(info: FieldInfo | None, value: Any, unit: str) -> str:
    limits = _limits(info.annotation, tuple(info.metadata)) if info is not None else {}
    if limits.get("le") != 1 or unit or not isinstance(value, int | float):
        return ""
    if 1 < value <= 100:
        return f'It is a fraction: write {float(value) / 100:g} or "{value:g} %".'
    return ""


def limits_of(info: FieldInfo) -> dict[str, float]:
    """Lower and upper limits of a field, by pydantic's names (gt, ge, lt, le)."""
    return _limits(info.annotation, tuple(info.metadata))


def _limits(annotation: Any, metadata: tuple[Any, ...]) -> dict[str, float]:
    """Lower and upper limits stated for a number, the narrowest of each kind."""
    found: dict[str, float] = {}

    def narrowed(more: Mapping[str, float]) -> None:
        for name, limit in more.items():
            nearer = max if name in ("gt", "ge") else min
            found[name] = nearer(found.get(name, limit), limit)

    for mark in metadata:
        if isinstance(mark, FieldInfo):
            narrowed(_limits(None, tuple(mark.metadata)))
        for name, kind in (
            ("gt", annotated_types.Gt),
            ("ge", annotated_types.Ge),
            ("lt", annotated_types.Lt),
            ("le", annotated_types.Le),
        ):
            if isinstance(mark, kind):
                narrowed({name: getattr(mark, name)})
    origin, parts = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is Annotated:
        narrowed(_limits(parts[0], parts[1:]))
        return found
    for part in parts if origin is not None else ():
        narrowed(_limits(part, ()))
    return found


def _range(name: str, info: FieldInfo, typed_unit: str) -> str:
    """The allowed range in words and units: "more than 0 mm", "-60 to 100 degC"."""
    limits = _limits(info.annotation, tuple(info.metadata))
    _, unit = field_kind(name, info) or ("", "#")
    text = range_words(limits, shown_unit(unit))
    if unit == "" and limits.get("le") == 1:
        text += ", or a percentage up to 100 %"
    if typed_unit and typed_unit.lower() in CONVERSIONS[unit] and unit:
        converted = {
            key: from_canonical(limit, unit, typed_unit.lower()) for key, limit in limits.items()
        }
        text += f" ({range_words(converted, shown_unit(typed_unit))})"
    return text


def _narrowest(limits: Mapping[str, float]) -> dict[str, float]:
    """Limits without the wider one of two on the same side."""
    kept = dict(limits)
    if "gt" in kept and "ge" in kept:
        del kept["gt" if kept["gt"] < kept["ge"] else "ge"]
    if "lt" in kept and "le" in kept:
        del kept["lt" if kept["lt"] > kept["le"] else "le"]
    return kept


def range_words(limits: Mapping[str, float], unit: str) -> str:
    """A range in words: "more than 0 mm", "-60 to 100 degC"; limits by pydantic's names."""
    limits = _narrowest(limits)
    low = limits.get("gt", limits.get("ge"))
    high = limits.get("lt", limits.get("le"))
    tail = f" {unit}" if unit else ""
    if low is not None and high is not None:
        if "gt" in limits:
            return (
                f"more than {low:.10g}, {'below' if 'lt' in limits else 'up to'} {high:.10g}{tail}"
            )
        return f"{low:.10g} to {'below ' if 'lt' in limits else ''}{high:.10g}{tail}"
    if low is not None:
        return f"more than {low:.10g}{tail}" if "gt" in limits else f"{low:.10g}{tail} or more"
    if high is not None:
        return f"less than {high:.10g}{tail}" if "lt" in limits else f"{high:.10g}{tail} or less"
    return ""


def _field_at(model: type[BaseModel], location: Location) -> FieldInfo | None:
    names = [step for step in location if isinstance(step, str)]
    if not names:
        return None
    owner = model_at(model, names[:-1])
    return owner.model_fields.get(names[-1]) if owner is not None else None


def _as_typed(
    model: type[BaseModel], raw: Any, location: Location, fallback: Any
) -> tuple[Location, Any, str]:
    """The location with its value and unit as typed.

    A location inside a value that was typed as one (a number for all twelve months) ends there.
    """
    current, unit, owner = raw, "", model
    for depth, step in enumerate(location):
        if isinstance(step, int):
            if not isinstance(current, list | tuple):
                scalar = isinstance(current, int | float | str)
                return (location[:depth] if scalar else location), current, unit
            if step >= len(current):
                return location, fallback, unit
            current = current[step]
            continue
        if isinstance(current, BaseModel):
            current = getattr(current, step, fallback)
            continue
        if not isinstance(current, Mapping):
            return location, fallback, unit
        names = frozenset(owner.model_fields) if owner is not None else frozenset()
        key, unit = _typed_key(current, step, names)
        if key is None:
            return location, fallback, ""
        current = current[key]
        owner = typing.cast(type[Model], model_at(owner, [step])) if owner is not None else owner
    if isinstance(fallback, Unreadable):
        current = fallback.given
    return location, current, unit


def _typed_key(
    data: Mapping[str, Any], field: str, names: frozenset[str]
) -> tuple[str | None, str]:
    if field in data:
        return field, ""
    for key in data:
        found = split_key(key, names) if isinstance(key, str) else None
        if found is not None and found[0] == field:
            return key, found[1]
    return None, ""


def _dotted(location: Location) -> str:
    text = ""
    for step in location:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += f".{step}" if text else step
    return text


def _entry(location: Location, raw: Any) -> str:
    """Name of the innermost named list entry on the way to the problem."""
    found, current, label = "", raw, ""
    for step in location:
        if isinstance(current, BaseModel):
            current = getattr(current, str(step), None)
        elif (isinstance(current, Mapping) and step in current) or (
            isinstance(current, list | tuple) and isinstance(step, int) and step < len(current)
        ):
            current = current[step]  # type: ignore[index]
        else:
            break
        if isinstance(step, str):
            label = step.rstrip("s")
            continue
        name = current.get("name") if isinstance(current, Mapping) else None
        name = current.name if isinstance(current, BaseModel) and hasattr(current, "name") else name
        if isinstance(name, str) and name.strip():
            found = f"{label} {shown(name.strip())}"
    return found
