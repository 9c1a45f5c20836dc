"""Reading a case with mistakes in it: what can be read goes on, and what was done instead is said.

A candidate with a mistake is left out. Elsewhere the last good value stands in, or, where there
never was one, what was typed is passed over. So a case on screen always has an answer.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tco.case import Case, CaseError, Problem
from tco.case.toml import case_from_mapping
from tco.workspace.document import MONTH_STEPS, path_at, plain, under
from tco.workspace.edits import Document, Path, Step, Value, same
from tco.workspace.journal import at, row_of

CANDIDATES: Path = ("candidates",)
_ROUNDS = 20
_OLDER_TRIED = 50


@dataclass(frozen=True)
class Mistake:
    """One problem, the path of the cell it stands at (as far as it has one), and what came of it.

    `instead` says what the answer rests on meanwhile: "left out" (the row is), "as before" (the
    last good value holds), or "passed over" (as if it had not been typed).
    """

    problem: Problem
    path: Path
    instead: str = ""


@dataclass(frozen=True)
class Reading:
    """What was read of a document: the case that can be computed, and every mistake in it.

    `good` is the document that `case` is: the one read, less what could not be.
    """

    case: Case
    mistakes: tuple[Mistake, ...]
    good: Document


def read(document: Document, last: Document) -> Reading:
    """Read a case as far as it can be.

    Parameters
    ----------
    document
        The case as typed, mistakes and all.
    last
        A document that could be read: what `good` was of the reading before.

    Raises
    ------
    CaseError
        Where `last` cannot be read either.
    """
    good: dict[Path, Value] = dict(document)
    first: tuple[Mistake, ...] | None = None
    tried: dict[Path, int] = {}
    for _ in range(_ROUNDS):
        data, places = plain(good)
        try:
            case = case_from_mapping(data)
        except CaseError as error:
            found = _located(error.problems, good, places)
            good = _mended(good, last, found, tried)
            first = found if first is None else first
        else:
            return Reading(case, _told(first or (), document, good), good)
    data, _ = plain(last)
    case = case_from_mapping(data)
    return Reading(case, _told(first or (), document, last), last)


def last_good(base: Document, steps: Sequence[Step], usual: Document) -> Document:
    """The newest document of a journal that can be read: each cell with its last value that can.

    `usual` can be read, and stands in where no value of a cell ever could.
    """
    document = at(base, steps)
    older: dict[Path, list[Value]] = {}
    for step in steps:
        for edit in step.edits:
            older.setdefault(edit.path, []).append(edit.before)
    for _ in range(_OLDER_TRIED):
        reading = read(document, usual)
        again = False
        for mistake in reading.mistakes:
            for path in under(document, mistake.path) or (mistake.path,):
                if older.get(path):
                    value, again = older[path].pop(), True
                    document.pop(path, None)
                    document.update({path: value} if value is not None else {})
        if not again:
            return reading.good
    return read(document, usual).good


def _located(
    problems: Iterable[Problem], document: Document, places: dict[Path, tuple[str, ...]]
) -> tuple[Mistake, ...]:
    return tuple(Mistake(p, path_at(p.location, places)) for p in problems)


def _mended(
    good: dict[Path, Value], last: Document, found: Sequence[Mistake], tried: dict[Path, int]
) -> dict[Path, Value]:
    """The document with every mistake put right as it was, or taken out; each time goes further.

    In a row first the cell, then the row as it was, then the row goes. Elsewhere first the cell,
    then (of a month) the same month of its section, then the section around it, and so on.
    """
    mended = dict(good)
    for path in dict.fromkeys(mistake.path for mistake in found):
        harder = tried[path] = tried.get(path, -1) + 1
        row = row_of(path)
        if row is None:
            monthly = path[-1:] != () and path[-1] in MONTH_STEPS
            if monthly and harder == 1:
                for place in {*under(mended, path[:-2]), *under(last, path[:-2])}:
                    if place[-1] == path[-1]:
                        _put_back(mended, last, place)
            else:
                further = max(0, harder - 1) + 1 if monthly and harder else harder
                _put_back(mended, last, path[: max(0, len(path) - further)])
        elif row[:-1] == CANDIDATES or row not in last or harder >= 2:
            _take_out(mended, row)
        else:
            _put_back(mended, last, row if harder else path)
    return mended


def _take_out(document: dict[Path, Value], place: Path) -> None:
    for path in under(document, place):
        del document[path]


def _put_back(document: dict[Path, Value], last: Document, place: Path) -> None:
    _take_out(document, place)
    document.update(under(last, place))


def _told(found: Iterable[Mistake], document: Document, good: Document) -> tuple[Mistake, ...]:
    """Mistakes with what came of each, and what was put back along with them."""
    told = [replace(m, instead=_instead(m.path, document, good)) for m in found]
    spoken_of = {mistake.path for mistake in told}
    for path in dict.fromkeys((*document, *good)):
        if path in spoken_of or same(document.get(path), good.get(path)):
            continue
        row = row_of(path)
        if row is not None and row not in good:
            continue  # the row is left out, which is told
        if row is not None and row in spoken_of:
            continue
        told.append(Mistake(Problem(WAITS), path, _instead(path, document, good)))
    return tuple(told)


WAITS = "does not go together with what cannot be read"
"""What a value waits for that was put back along with another."""


def _instead(path: Path, document: Document, good: Document) -> str:
    row = row_of(path)
    if row is not None and row in document and row not in good:
        return "left out"
    return "as before" if under(good, path) else "passed over"
