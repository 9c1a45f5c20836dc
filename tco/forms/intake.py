"""What the rows of a shop's table are to the candidates that are there, and taking them in.

A row is told from the others by maker and name, whatever their case and blanks. What a shop leaves
empty never takes away what is typed, and a cell that cannot be read never replaces one.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from tco.case.candidate import Candidate
from tco.case.cells import read_cell
from tco.case.quantities import chemistry_key
from tco.case.shop_forms import read_shop_form
from tco.case.units import UnitProblem
from tco.forms.shop_table import IntakeRow

Kind = Literal["new", "changed", "same", "doubled"]
Choice = Literal["update", "add", "leave out"]
CHOICES: tuple[Choice, ...] = ("update", "add", "leave out")

_OTHER = "other"


@dataclass(frozen=True)
class Difference:
    """A cell in which a row differs from what is there; `column` names a kept column of a shop."""

    field: str
    before: Any
    after: Any
    column: str = ""


@dataclass(frozen=True)
class Fate:
    """What a row is to the candidates that are there.

    Attributes
    ----------
    kind
        "new"; "changed": it is there, and differs; "same": it is there, and no cell would change;
        "doubled": a row above it in the same table has its name.
    at
        Place among the present rows, counted from nought, where it is there.
    of
        Number of the row above that it doubles.
    differences
        Cells it would change where it is there, or in which it differs from the row it doubles.
    """

    row: IntakeRow
    kind: Kind
    at: int | None = None
    of: int | None = None
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class Intake:
    """What is taken in: rows to add, cells to set by place of the present row, and words for it."""

    added: tuple[dict[str, Any], ...] = ()
    updated: tuple[tuple[int, dict[str, Any]], ...] = ()
    words: str = ""


def against(rows: Sequence[IntakeRow], present: Sequence[Mapping[str, Any]]) -> tuple[Fate, ...]:
    """What every row of a table is to the rows that are there, given as their cells by field."""
    by_name: dict[str, list[int]] = {}
    for place, there in enumerate(present):
        name = _named(there)
        for known in {name, _without_number(name)}:
            by_name.setdefault(known, []).append(place)
    above: dict[str, list[IntakeRow]] = {}
    fates: list[Fate] = []
    for row in rows:
        name = _named(row.data)
        alike = [n for n in by_name.get(name, ()) if _makers_agree(present[n], row.data)]
        fates.append(_fate(row, alike, above.get(name, []), present))
        if name:
            above.setdefault(name, []).append(row)
    return tuple(fates)


def _fate(
    row: IntakeRow,
    alike: Sequence[int],
    above: Sequence[IntakeRow],
    present: Sequence[Mapping[str, Any]],
) -> Fate:
    """What a row is, by the present rows that may be the same pack and the rows of its name."""
    name, maker = _named(row.data), _plain(row.data.get("maker"))
    found = {place: differences(present[place], row) for place in alike}
    equal = next((place for place, different in found.items() if not different), None)
    if equal is not None:
        return Fate(row, "same", at=equal)
    first = next((other for other in above if _makers_agree(other.data, row.data)), None)
    if first is not None:
        return Fate(row, "doubled", of=first.number, differences=differences(first.data, row))
    named = [place for place in found if name and _named(present[place]) == name]
    if not named:
        return Fate(row, "new")
    place = min(named, key=lambda n: _plain(present[n].get("maker")) != maker)
    return Fate(row, "changed", at=place, differences=found[place])


def _makers_agree(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    return len({_plain(one.get("maker")), _plain(other.get("maker"))} - {""}) < 2


def _without_number(name: str) -> str:
    """A plain name without the number it got where it was taken."""
    return re.sub(r"\([0-9]+\)$", "", name)


def _named(data: Mapping[str, Any]) -> str:
    return _plain(data.get("name"))


def _plain(text: Any) -> str:
    return "".join(str(text or "").casefold().split())


def differences(there: Mapping[str, Any], row: IntakeRow) -> tuple[Difference, ...]:
    """Cells of a row that would change those there: stated, readable, and not the same."""
    found = []
    for field, after in row.data.items():
        before = there.get(field)
        if field == _OTHER:
            old = before if isinstance(before, Mapping) else {}
            found += [
                Difference(_OTHER, old.get(column), text, column)
                for column, text in after.items()
                if _text(text) and _text(text) != _text(old.get(column))
            ]
        elif field == "name" or (field == "maker" and _plain(before) == _plain(after)):
            continue
        elif not _equal(field, before, after) and field not in row.unreadable:
            found.append(Difference(field, before, after))
    return tuple(found)


def _equal(field: str, one: Any, other: Any) -> bool:
    first, second = _value(field, one), _value(field, other)
    if isinstance(first, float) and isinstance(second, float):
        return math.isclose(first, second, rel_tol=1e-9, abs_tol=1e-12)
    return bool(first == second)


def _value(field: str, value: Any) -> Any:
    """A cell as it is compared: read where it can be, else its text."""
    if isinstance(value, str):
        value = _read(field, _text(value))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    return tuple(value) if isinstance(value, list) else value


def _read(field: str, text: str) -> Any:
    if not text or field not in Candidate.model_fields:
        return text or None
    if field == "chemistry":
        return chemistry_key(text)
    try:
        return read_cell(text, field, "")
    except UnitProblem:
        form = read_shop_form(field, text)
        return text if form is None else form.values[field]


def _text(value: Any) -> str:
    return " ".join(str(value or "").split())


def usual_choice(fate: Fate, those_here: Choice = "update") -> Choice:
    """What is done with a row of which nobody says anything: `those_here` with the changed ones.

    What is the same is left out, and so is a row that says nothing else than the one it doubles.
    """
    if fate.kind == "changed":
        return those_here
    if fate.kind == "same" or (fate.kind == "doubled" and not fate.differences):
        return "leave out"
    return "add"


def changes(
    fates: Sequence[Fate], choices: Mapping[int, Choice], present: Sequence[Mapping[str, Any]]
) -> Intake:
    """What is taken in.

    Parameters
    ----------
    choices
        By the number of a row; `usual_choice` for those not in it. A new row has nothing to
        update and is added; a doubled row updates what became of the row above it.
    present
        The rows that are there, as `against` was given them.
    """
    names = {_named(row) for row in present} - {""}
    added: list[dict[str, Any]] = []
    updated: dict[int, dict[str, Any]] = {}
    here: dict[int, int] = {}
    came: dict[int, dict[str, Any]] = {}
    left = 0
    for fate in fates:
        row, choice = fate.row, choices.get(fate.row.number, usual_choice(fate))
        at = here.get(fate.of) if fate.of is not None else fate.at
        above = came.get(fate.of) if fate.of is not None else None
        if at is not None:
            here[row.number] = at
        if choice == "leave out":
            left += fate.kind != "same"
        elif choice == "update" and at is not None:
            new = updated.get(at, {})
            new = {**new, **_set({**present[at], **new}, row)}
            if new:
                updated[at] = new
        elif choice == "update" and above is not None:
            above.update(_set(above, row))
        else:
            data = dict(row.data)
            if _named(data):
                data["name"] = _free(str(data["name"]), names)
                names.add(_named(data))
            added.append(data)
            came[row.number] = data
    counts = ((len(added), "added"), (len(updated), "updated"), (left, "left out"))
    words = ", ".join(f"{count} {what}" for count, what in counts if count)
    return Intake(tuple(added), tuple(updated.items()), words or "nothing to change")


def _set(there: Mapping[str, Any], row: IntakeRow) -> dict[str, Any]:
    """Cells that a row sets, by field; a kept column joins those that are there."""
    different = differences(there, row)
    new = {cell.field: cell.after for cell in different if cell.field != _OTHER}
    kept = {cell.column: cell.after for cell in different if cell.field == _OTHER}
    if kept:
        old = there.get(_OTHER)
        new[_OTHER] = {**(old if isinstance(old, Mapping) else {}), **kept}
    return new


def _free(name: str, taken: set[str]) -> str:
    """The name, with a number where it is taken."""
    number, free = 1, name
    while _plain(free) in taken:
        number += 1
        free = f"{name} ({number})"
    return free
