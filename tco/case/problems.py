"""What is wrong with what the user gave, said so that it can be mended."""

import difflib
import types
import typing
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails


@dataclass(frozen=True)
class Problem:
    """One thing to mend. Empty parts are not known or do not apply."""

    what: str
    file: str = ""
    row: int | None = None
    item: str = ""
    field: str = ""
    given: str = ""
    allowed: str = ""
    mend: str = ""

    def __str__(self) -> str:
        """One sentence: where, what was given, what is allowed, how to mend it."""
        place = [
            self.file,
            f"row {self.row}" if self.row is not None else "",
            self.item,
            self.field,
        ]
        where = ", ".join(part for part in place if part)
        text = f"{where}: {self.what}" if where else self.what
        if self.given:
            text += f"; given {self.given}"
        if self.allowed:
            text += f"; allowed: {self.allowed}"
        if self.mend:
            text += f". {self.mend}"
        return text


class CaseError(Exception):
    """A case that cannot be used, with every problem found, none swallowed."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def model_at(model: type[BaseModel], path: Iterable[str | int]) -> type[BaseModel] | None:
    """Model class that a location in the data of `model` belongs to, None where it is none."""
    current: Any = model
    for step in path:
        if isinstance(step, int):
            continue
        field = current.model_fields.get(step)
        current = _model_in(field.annotation) if field is not None else None
        if current is None:
            return None
    return typing.cast(type[BaseModel], current)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if typing.get_origin(annotation) in (tuple, list, typing.Union, types.UnionType):
        for part in typing.get_args(annotation):
            found = _model_in(part)
            if found is not None:
                return found
    return None


_SENTENCES = {
    "missing": ("is missing", ""),
    "extra_forbidden": ("is not known here", ""),
    "greater_than": ("is too small", "more than {gt:g}"),
    "greater_than_equal": ("is too small", "{ge:g} or more"),
    "less_than": ("is too large", "less than {lt:g}"),
    "less_than_equal": ("is too large", "{le:g} or less"),
    "literal_error": ("is not one of the choices", "{expected}"),
    "too_short": ("has too few entries", "at least {min_length}"),
    "too_long": ("has too many entries", "at most {max_length}"),
    "string_too_short": ("is empty", "some text"),
    "finite_number": ("is not a finite number", "a finite number"),
}
_KINDS = {"float": "a number", "int": "a whole number", "bool": "yes or no", "string": "text"}


def from_validation(
    error: ValidationError,
    model: type[BaseModel],
    raw: Mapping[str, Any],
    *,
    file: str = "",
    row: int | None = None,
    item: str = "",
) -> tuple[Problem, ...]:
    """Turn pydantic's error list into problems a person can mend.

    Parameters
    ----------
    error
        What `model.model_validate(raw)` raised.
    raw
        The data as given; used to name the entry ("load 'kettle'") beside its number.
    """
    return tuple(
        _problem(detail, model, raw, file=file, row=row, item=item) for detail in error.errors()
    )


def _problem(
    detail: ErrorDetails,
    model: type[BaseModel],
    raw: Mapping[str, Any],
    *,
    file: str,
    row: int | None,
    item: str,
) -> Problem:
    location = detail["loc"]
    kind, context = detail["type"], detail.get("ctx", {})
    what, allowed, mend = _explain(kind, context, detail["msg"])
    field_name = str(location[-1]) if location and isinstance(location[-1], str) else ""
    if kind == "extra_forbidden":
        owner = model_at(model, location[:-1])
        names = list(owner.model_fields) if owner is not None else []
        close = difflib.get_close_matches(field_name, names, n=1, cutoff=0.6)
        mend = f"Did you mean {close[0]}?" if close else "Remove it, or check its spelling."
        allowed = "" if close else ", ".join(names)
    if kind == "missing":
        mend = f"Add {field_name}."
    if field_name and not allowed and "between 0 and 1" not in what:
        allowed = allowed.strip()
    if kind in ("less_than_equal",) and context.get("le") == 1 and _is_number(detail["input"]):
        mend = (
            f'It is a fraction: write {float(detail["input"]) / 100:g} or "{detail["input"]:g} %".'
        )
    shown = kind not in ("missing", "value_error") or (
        kind == "value_error" and not isinstance(detail["input"], Mapping | list | tuple)
    )
    return Problem(
        what=what,
        file=file,
        row=row,
        item=item or _entry(location, raw),
        field=_dotted(location),
        given=repr(detail["input"]) if shown and kind != "missing" else "",
        allowed=allowed,
        mend=mend,
    )


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _explain(kind: str, context: Mapping[str, Any], message: str) -> tuple[str, str, str]:
    if kind == "value_error":
        return str(context.get("error", message)), "", ""
    if kind in _SENTENCES:
        what, allowed = _SENTENCES[kind]
        return what, allowed.format(**context), ""
    stem = kind.split("_", 1)[0]
    if stem in _KINDS:
        return f"is not {_KINDS[stem]}", _KINDS[stem], ""
    return message, "", ""


def _dotted(location: tuple[str | int, ...]) -> str:
    text = ""
    for step in location:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += f".{step}" if text else step
    return text


def _entry(location: tuple[str | int, ...], raw: Mapping[str, Any]) -> str:
    """Name of the innermost named list entry on the way to the problem."""
    found, current, label = "", raw, ""
    for step in location:
        try:
            current = current[step]  # type: ignore[index]
        except (KeyError, IndexError, TypeError):
            break
        if isinstance(step, str):
            label = step.rstrip("s")
        elif isinstance(current, Mapping) and current.get("name"):
            found = f"{label} {current['name']!r}"
    return found
