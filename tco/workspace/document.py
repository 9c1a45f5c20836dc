"""Between a case as nested plain data and the flat document that a journal keeps.

`document_of` gives every row of a list an id; `plain` turns a document back into data that
`tco.case.toml.case_from_mapping` reads, and says which row stands at which place of a list. What
is typed in another unit under a key of its own (`width_in = 24`) stands in the document under the
field, with its unit: `"24 in"`. An empty list that is stated, and an empty section, are entries of
their own (`[]`, `{}`); a field of twelve months has an entry for each, "01" to "12". Everything
else is one entry. The log of capacity tests lies beside the case, under "log".
"""

import math
import secrets
import typing
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from tco.case import Case
from tco.case.base import model_in
from tco.case.units import split_key
from tco.workspace.edits import Document, Path, Value

ROW = "#"
"""How the id of a row begins."""
MONTH_STEPS = tuple(f"{month:02d}" for month in range(1, 13))
LOG = "log"
"""First step of what belongs to the log of capacity tests, which is no part of `Case`."""

_UNITS_TYPED = {"percent": "%", "degf": "°F", "degc": "°C"}


def new_row_id() -> str:
    """An id for a new row, like no other."""
    return f"{ROW}{secrets.token_hex(5)}"


def is_row(step: str) -> bool:
    """Whether a step of a path is the id of a row."""
    return step.startswith(ROW)


def document_of(
    raw: Mapping[str, Any], *, row_id: Callable[[], str] = new_row_id
) -> dict[Path, Value]:
    """The document of a case given as nested plain data, as it is: nothing is checked."""
    found: dict[Path, Value] = {}
    _flatten(raw, Case, (), found, row_id)
    return found


def row_entries(table: Path, data: Mapping[str, Any], *, row_id: str, order: float) -> Document:
    """The entries of one row of a list, given as plain data."""
    model = model_of(table)
    found: dict[Path, Value] = {(*table, row_id): order}
    _flatten(data, model, (*table, row_id), found, new_row_id)
    return found


def _flatten(
    data: Mapping[Any, Any],
    model: type[BaseModel] | None,
    path: Path,
    found: dict[Path, Value],
    row_id: Callable[[], str],
) -> None:
    fields = model.model_fields if model is not None else {}
    names = frozenset(fields)
    for key, value in data.items():
        field, unit = (str(key), "") if key in fields else split_key(str(key), names) or (key, "")
        field = str(field).lstrip(ROW) or "?"
        here = (*path, field)
        if here in found or (unit and field in data):  # given twice: both are shown, and refused
            here, unit = (*path, str(key)), ""
        info = fields.get(field)
        inner = model_in(info.annotation) if info is not None else None
        if inner is not None and isinstance(value, Mapping) and not _is_list(info):
            if not value:
                found[here] = {}
            _flatten(value, inner, here, found, row_id)
        elif inner is not None and isinstance(value, list | tuple) and _is_list(info):
            found[here] = []
            for number, row in enumerate(value, start=1):
                place = (*here, row_id())
                found[place] = float(number)
                if isinstance(row, Mapping):
                    _flatten(row, inner, place, found, row_id)
        elif info is not None and is_monthly(info) and _twelve(value) is not None:
            for step, one in zip(MONTH_STEPS, _twelve(value) or (), strict=True):
                found[(*here, step)] = with_unit(_as_json(one), unit)
        elif value is not None:
            found[here] = with_unit(_as_json(value), unit)


def _as_json(value: Any) -> Value:
    """A value that can be kept: dates, infinities and the like as their text."""
    if isinstance(value, Mapping):
        return {str(key): _as_json(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_as_json(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    return value if value is None or isinstance(value, str | int | float) else str(value)


def _twelve(value: Any) -> Sequence[Any] | None:
    """The values of twelve months; None for what is no such thing and stays as it is."""
    if isinstance(value, list | tuple):
        return value if len(value) == len(MONTH_STEPS) else None
    return (value,) * len(MONTH_STEPS) if isinstance(value, int | float | str) else None


def with_unit(value: Value, unit: str) -> Value:
    """A value with the unit it was typed in, unless it is text that has one of its own."""
    if not unit or isinstance(value, bool):
        return value
    shown = _UNITS_TYPED.get(unit, unit)
    if isinstance(value, int | float):
        return f"{value:.12g} {shown}"
    if (
        isinstance(value, str)
        and value.strip()
        and not any(c.isalpha() or c in "%°" for c in value)
    ):
        return f"{value.strip()} {shown}"
    return value


def is_monthly(info: FieldInfo) -> bool:
    """Whether a field holds an amount for each month."""
    parts = typing.get_args(info.annotation)
    if typing.get_origin(info.annotation) is not tuple or not parts:
        return False
    item = parts[0]
    return item is float or (
        typing.get_origin(item) is Annotated and typing.get_args(item)[0] is float
    )


def _is_list(info: FieldInfo | None) -> bool:
    return info is not None and typing.get_origin(info.annotation) is tuple


def model_of(path: Path) -> type[BaseModel] | None:
    """Model of the section, or of the rows of the list, at a path; None where there is none."""
    current: type[BaseModel] | None = Case
    for step in path:
        if is_row(step):
            continue
        info = current.model_fields.get(step) if current is not None else None
        current = model_in(info.annotation) if info is not None else None
    return current


def rows(document: Document, table: Path) -> tuple[str, ...]:
    """The ids of the rows of a list, in their order."""
    length = len(table) + 1
    found = [
        (value, path[-1])
        for path, value in document.items()
        if len(path) == length and is_row(path[-1]) and path[:-1] == table
    ]
    return tuple(row_id for _, row_id in sorted(found, key=_by_place))


def _by_place(entry: tuple[Value, str]) -> tuple[float, str]:
    return (entry[0] if isinstance(entry[0], int | float) else 0.0, entry[1])


def section(document: Document, path: Path) -> dict[str, Value]:
    """The cells that stand directly at a path, by field: a row's, or a section's."""
    length = len(path) + 1
    return {
        place[-1]: value
        for place, value in document.items()
        if len(place) == length and place[:-1] == path and not is_row(place[-1])
    }


def sections(document: Document, table: Path) -> dict[str, dict[str, Value]]:
    """The cells of each row of a list, by row id in their order: one look over the document."""
    found: dict[str, dict[str, Value]] = {row: {} for row in rows(document, table)}
    length = len(table)
    for path, value in document.items():
        if len(path) == length + 2 and path[length] in found and path[:length] == table:
            found[path[length]][path[-1]] = value
    return found


def under(document: Document, path: Path) -> dict[Path, Value]:
    """Every entry at a path and below it."""
    length = len(path)
    return {place: value for place, value in document.items() if place[:length] == path}


def plain(document: Document) -> tuple[dict[str, Any], dict[Path, tuple[str, ...]]]:
    """The case in a document as nested plain data, and the rows of each list by its path.

    Entries of a row that is not there are passed over; months that are not stated of a field of
    which others are count nought, so that one can be typed after the other.
    """
    tree = _tree(document)
    places: dict[Path, tuple[str, ...]] = {}
    tree.children.pop(LOG, None)
    built = _built(tree, (), places)
    return (built if isinstance(built, dict) else {}), places


class _Node:
    """One step of a path: the value that stands there, and the steps below it."""

    __slots__ = ("children", "value")

    def __init__(self) -> None:
        self.value: Value = None
        self.children: dict[str, _Node] = {}


def _tree(document: Document) -> _Node:
    root = _Node()
    for path, value in document.items():
        node = root
        for step in path:
            node = node.children.setdefault(step, _Node())
        node.value = value
    return root


def _built(node: _Node, path: Path, places: dict[Path, tuple[str, ...]]) -> Any:
    if not node.children:
        return node.value
    if all(is_row(step) for step in node.children):
        there = sorted(
            (child.value, step)
            for step, child in node.children.items()
            if isinstance(child.value, int | float)
        )
        places[path] = tuple(step for _, step in there)
        return [_section(node.children[step], (*path, step), places) for _, step in there]
    if all(step in MONTH_STEPS for step in node.children):
        return [node.children[step].value if step in node.children else 0.0 for step in MONTH_STEPS]
    return _section(node, path, places)


def _section(node: _Node, path: Path, places: dict[Path, tuple[str, ...]]) -> dict[str, Any]:
    made = {}
    for step, child in node.children.items():
        value = _built(child, (*path, step), places)
        if value is not None and not (value == [] and child.children and child.value is None):
            made[step] = value
    return made


def path_at(location: Sequence[str | int], places: Mapping[Path, tuple[str, ...]]) -> Path:
    """The path of a location in the plain data (`Problem.location`), as far as there is one."""
    path: Path = ()
    for step in location:
        if isinstance(step, str):
            path = (*path, *step.split("."))
        elif path in places:
            if not 0 <= step < len(places[path]):
                break
            path = (*path, places[path][step])
        elif 0 <= step < len(MONTH_STEPS):
            path = (*path, MONTH_STEPS[step])
    return path
