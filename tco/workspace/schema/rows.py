"""Steps and documents as the text that a row holds, and back; damage is noticed by a seal."""

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from tco.workspace.edits import Document, Edit, Kind, Path, Step, Value
from tco.workspace.schema.stored import CaseInfo, Damaged, NotKept

Row = Mapping[str, Any] | sa.RowMapping
"""One row by the names of its columns."""
KINDS: tuple[Kind, ...] = ("edit", "undo", "redo", "return")
_SEALED = ("case_id", "number", "at", "kind", "of_step", "words", "tab", "who", "edits")


def json_text(data: Any) -> str:
    """Data as JSON, in ASCII alone, so that any text survives.

    Raises
    ------
    NotKept
        Where it holds a number that is not finite, or what JSON has no form for.
    """
    try:
        return json.dumps(data, allow_nan=False, separators=(",", ":"))
    except (ValueError, TypeError, RecursionError) as error:
        raise NotKept(
            f"A value cannot be kept ({error}). Nothing was written. Only text, finite numbers, "
            "yes or no, and lists of them can stand in a cell."
        ) from None


def clean(text: str) -> str:
    """Text for a column: NUL and halves of characters, which no database holds, become U+FFFD."""
    if text.isprintable():
        return text
    return "".join("\ufffd" if c == "\0" or "\ud800" <= c <= "\udfff" else c for c in text)


def time_text(at: datetime) -> str:
    """A time as ISO text in UTC, always of one length, so that text sorts as times do."""
    if at.tzinfo is None:
        raise ValueError("the time of a step needs its zone; use `now()`")
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def base_data(base: Document) -> list[list[Any]]:
    """A document as JSON data: a list of path and value."""
    return [[_names(path), value] for path, value in base.items()]


def edits_data(step: Step) -> list[list[Any]]:
    """The edits of a step as JSON data: path, before and after of each."""
    return [[_names(edit.path), edit.before, edit.after] for edit in step.edits]


def _names(path: Path) -> list[str]:
    if not all(isinstance(name, str) for name in path):
        raise ValueError(f"a path is made of text, not {path!r}")
    return list(path)


def path_of(data: Any) -> Path:
    """A path out of JSON data.

    Raises
    ------
    ValueError
        Where it is none.
    """
    if not isinstance(data, list) or not all(isinstance(name, str) for name in data):
        raise ValueError("a path of a cell is no list of text")
    return tuple(data)


def base_of(data: Any) -> dict[Path, Value]:
    """A document out of JSON data; raises ValueError where it is none."""
    if not isinstance(data, list) or not all(isinstance(e, list) and len(e) == 2 for e in data):
        raise ValueError("the document is no list of pairs")
    found = {path_of(path): value for path, value in data}
    if len(found) < len(data):
        raise ValueError("a cell is given twice")
    return found


def edits_of(data: Any) -> tuple[Edit, ...]:
    """Edits out of JSON data; raises ValueError where they are none."""
    if not isinstance(data, list) or not all(isinstance(e, list) and len(e) == 3 for e in data):
        raise ValueError("the edits of a step are no list of path, before and after")
    return tuple(Edit(path_of(path), before, after) for path, before, after in data)


def case_row(
    case_id: str, base: Document, *, title: str, owner: str, created: str, changed: str, steps: int
) -> dict[str, Any]:
    """The row of a case."""
    text = json_text(base_data(base))
    return {
        "id": case_id,
        "title": clean(title),
        "base": text,
        "created": created,
        "changed": changed,
        "steps": steps,
        "seal": _seal(case_id, text, created),
        "owner": owner,
        "removed": "",
    }


def step_row(case_id: str, step: Step) -> dict[str, Any]:
    """The row of a step, at its number."""
    row: dict[str, Any] = {
        "case_id": case_id,
        "number": step.number,
        "at": time_text(step.at),
        "kind": step.kind,
        "of_step": step.of,
        "words": clean(step.words),
        "tab": clean(step.tab),
        "who": clean(step.who),
        "edits": json_text(edits_data(step)),
    }
    return {**row, "seal": _seal(*(row[key] for key in _SEALED))}


def step_in(row: Row) -> Step:
    """The step that a row holds.

    Raises
    ------
    Damaged
        Where its seal is not right.
    """
    if row["seal"] != _seal(*(row[key] for key in _SEALED)) or row["kind"] not in KINDS:
        raise Damaged(f"step {row['number']!r} is not as it was written")
    return Step(
        edits_of(json.loads(row["edits"])),
        row["words"],
        datetime.fromisoformat(row["at"]),
        tab=row["tab"],
        who=row["who"],
        kind=row["kind"],
        of=row["of_step"],
        number=row["number"],
    )


def base_in(row: Row) -> dict[Path, Value]:
    """The document that the row of a case holds; raises Damaged where its seal is not right."""
    if row["seal"] != _seal(row["id"], row["base"], row["created"]):
        raise Damaged("the document is not as it was written")
    return base_of(json.loads(row["base"]))


def info_in(row: Row) -> CaseInfo:
    """The line of the list that the row of a case makes; raises Damaged where it cannot be."""
    texts = [row[key] for key in ("id", "title", "owner", "created", "changed")]
    if not all(isinstance(text, str) for text in texts) or not isinstance(row["steps"], int):
        raise Damaged("the row of the case is not as it was written")
    try:
        created, changed = (datetime.fromisoformat(text) for text in texts[3:])
    except ValueError:
        raise Damaged("a time of the case is not as it was written") from None
    if created.tzinfo is None or changed.tzinfo is None:
        raise Damaged("a time of the case is not as it was written")
    return CaseInfo(texts[0], texts[1], texts[2], created, changed, row["steps"])


def _seal(*parts: Any) -> str:
    return hashlib.blake2b(json.dumps(parts, default=repr).encode(), digest_size=8).hexdigest()
