"""What a case is changed by: edits of single cells, those made together in one step.

A case is kept as a *document*: a flat mapping of path to value, one entry a cell. A path is a
tuple of text, such as `("system", "cable_run_m")` or `("candidates", "#k3f9", "price")`: a row of a
list has an id of its own, which begins with "#" and never changes, so that no path depends on a
place. The entry of a row itself (`("candidates", "#k3f9")`) is the number it is ordered by; a row
without that entry is not there. Values are plain data as JSON has it; None says that a cell is
empty, which is the same as having no entry.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Literal

Path = tuple[str, ...]
Value = Any
"""Text, number, bool, list or mapping as JSON has them; None where there is nothing."""
Document = Mapping[Path, Value]
Kind = Literal["edit", "undo", "redo", "return"]


@dataclass(frozen=True)
class Edit:
    """One cell changed: where, what stood there, what stands there now."""

    path: Path
    before: Value
    after: Value

    def reversed(self) -> "Edit":
        """The edit that takes this one back."""
        return Edit(self.path, self.after, self.before)


@dataclass(frozen=True)
class Step:
    """Edits made together, and when, where and by whom.

    `words` say what was done, for people. `tab` is the token of the browser tab it was made in,
    `who` the name of the person logged in ("" without login). An "undo" or "redo" is a step too,
    `of` the number of the step it takes back or makes again; a "return" goes back to a moment.
    `number` counts the steps of a case from one; 0 for a step that is not in a journal yet.
    """

    edits: tuple[Edit, ...]
    words: str
    at: datetime
    tab: str = ""
    who: str = ""
    kind: Kind = "edit"
    of: int = 0
    number: int = 0

    def numbered(self, number: int) -> "Step":
        """The same step at its place in a journal."""
        return replace(self, number=number)


def now() -> datetime:
    """The time that a step made now carries, in UTC."""
    return datetime.now(UTC)


def applied(document: Document, edits: Iterable[Edit]) -> dict[Path, Value]:
    """The document after edits; the one given stays as it is."""
    changed = dict(document)
    for edit in edits:
        if edit.after is None:
            changed.pop(edit.path, None)
        else:
            changed[edit.path] = edit.after
    return changed


def difference(old: Document, new: Document) -> tuple[Edit, ...]:
    """The edits that turn one document into another; none where they are the same."""
    paths = [*old, *(path for path in new if path not in old)]
    return tuple(
        Edit(path, old.get(path), new.get(path))
        for path in paths
        if not same(old.get(path), new.get(path))
    )


def same(one: Value, other: Value) -> bool:
    """Whether two values of a cell are the same; 1 and true are not, 1 and 1.0 are."""
    return one == other and isinstance(one, bool) == isinstance(other, bool)
