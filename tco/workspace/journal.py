"""A case as the sum of its steps: any moment of it, what can be undone, what stands in the way."""

from collections.abc import Iterable, Sequence

from tco.workspace.document import is_row
from tco.workspace.edits import Document, Edit, Path, Step, Value, same


def at(base: Document, steps: Iterable[Step]) -> dict[Path, Value]:
    """The document after steps, in the order of their numbers."""
    document = dict(base)
    for step in steps:
        for edit in step.edits:
            if edit.after is None:
                document.pop(edit.path, None)
            else:
                document[edit.path] = edit.after
    return document


def undoable(steps: Sequence[Step], *, tab: str, opened: int) -> Step | None:
    """The step that an undo takes back: the last one standing of this tab, or that it found there.

    `opened`: number of the last step when the tab opened the case. What others do meanwhile is
    theirs to take back.
    """
    standing, _ = _stacks(steps, tab, opened)
    return standing[-1] if standing else None


def redoable(steps: Sequence[Step], *, tab: str, opened: int) -> Step | None:
    """The step that a redo makes again: the one taken back last, unless an edit came after it."""
    _, taken_back = _stacks(steps, tab, opened)
    return taken_back[-1] if taken_back else None


def _stacks(steps: Sequence[Step], tab: str, opened: int) -> tuple[list[Step], list[Step]]:
    """Steps that stand, and steps taken back that may be made again, of those that are a tab's."""
    by_number = {step.number: step for step in steps}
    standing: list[Step] = []
    taken_back: list[Step] = []
    for step in steps:
        if step.tab != tab and step.number > opened:
            continue
        if step.kind == "undo":
            standing = [other for other in standing if other.number != step.of]
            taken_back.append(by_number[step.of])
        elif step.kind == "redo":
            taken_back = [other for other in taken_back if other.number != step.of]
            standing.append(by_number[step.of])
        else:
            standing.append(step)
            taken_back = []
    return standing, taken_back


def in_the_way(edits: Iterable[Edit], document: Document) -> tuple[Edit, ...]:
    """Edits that cannot stand in a document as it has become since they were made.

    A cell holds neither what it held before the edit nor what the edit wants; or its row is gone.
    """
    edits = tuple(edits)
    made = {edit.path for edit in edits if edit.after is not None and is_row(edit.path[-1])}
    return tuple(edit for edit in edits if _is_in_the_way(edit, document, made))


def _is_in_the_way(edit: Edit, document: Document, made: set[Path]) -> bool:
    now = document.get(edit.path)
    if not same(now, edit.before) and not same(now, edit.after):
        return True
    if edit.after is None or is_row(edit.path[-1]):
        return False
    row = row_of(edit.path)
    return row is not None and row not in document and row not in made


def row_of(path: Path) -> Path | None:
    """Path of the innermost row that a path lies in; None for a cell of no row."""
    for length in range(len(path), 0, -1):
        if is_row(path[length - 1]):
            return path[:length]
    return None


def units(edits: Iterable[Edit]) -> tuple[tuple[Edit, ...], ...]:
    """Edits by what stands or falls together: a row that comes or goes, else each alone."""
    edits = tuple(edits)
    whole = {edit.path for edit in edits if is_row(edit.path[-1])}
    groups: dict[Path, list[Edit]] = {}
    for edit in edits:
        row = row_of(edit.path)
        groups.setdefault(row if row in whole and row is not None else edit.path, []).append(edit)
    return tuple(tuple(group) for group in groups.values())


def meeting(mine: Sequence[Edit], others: Iterable[Edit]) -> tuple[Edit, ...]:
    """Those of others' edits that meet a unit of mine.

    Two edits meet in one cell, unless they want the same of it, and where one takes out the row
    that the other changes.
    """
    cells = {edit.path: edit for edit in mine}
    rows = {row_of(edit.path) for edit in mine}
    going = {edit.path for edit in mine if edit.after is None and is_row(edit.path[-1])}
    met = []
    for edit in others:
        own, row = cells.get(edit.path), row_of(edit.path)
        if own is not None:
            if not same(own.after, edit.after):
                met.append(edit)
        elif row in going or (
            edit.after is None and edit.path in rows and any(e.after is not None for e in mine)
        ):
            met.append(edit)
    return tuple(met)


def squeezed(edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Edits with one for each cell, and none that changes nothing."""
    found: dict[Path, Edit] = {}
    for edit in edits:
        first = found.get(edit.path)
        found[edit.path] = edit if first is None else Edit(edit.path, first.before, edit.after)
    return tuple(edit for edit in found.values() if not same(edit.before, edit.after))
