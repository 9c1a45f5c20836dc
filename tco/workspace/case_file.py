"""One case as one file: what it began with and every step since, as JSON text in and out."""

import json
import math
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import Any

from tco.case import CaseError, Problem
from tco.case.files import whole_text
from tco.workspace.document import LOG, is_row
from tco.workspace.edits import Edit, Path, Step, Value
from tco.workspace.schema.rows import KINDS, base_data, edits_data, json_text, time_text
from tco.workspace.schema.stored import StoredCase

FORMAT = "tco case"
VERSION = 1

# What no case comes near; ours.
_LARGEST_TEXT = 50_000_000
_MOST_CELLS = 200_000
_MOST_STEPS = 100_000
_DEEPEST_PATH = 12
_LONGEST_NAME = 1_000
_LONGEST_VALUE = 1_000_000
_DEEPEST_VALUE = 40
_LARGEST_WHOLE = 10**300
_MOST_PROBLEMS = 20

_NO_SUCH_FILE = "Choose a file that this program has saved as a case."
_DAMAGED = "Take another copy of the file; this one was changed or cut short."


def case_file_text(kept: StoredCase) -> str:
    """A case with its history as the text of one file; the same case gives the same text."""
    head = {
        "format": FORMAT,
        "version": VERSION,
        "title": kept.info.title,
        "changed": time_text(kept.info.changed),
    }
    steps = [
        {
            "at": time_text(step.at),
            "words": step.words,
            "who": step.who,
            "tab": step.tab,
            "kind": step.kind,
            "of": step.of,
            "edits": edits_data(step),
        }
        for step in kept.steps
    ]
    lines = [f"{json_text(name)}:{json_text(value)}" for name, value in head.items()]
    lines.append(f'"base":{_listed(base_data(kept.base))}')
    lines.append(f'"steps":{_listed(steps)}')
    return "{" + ",\n".join(lines) + "}\n"


def _listed(entries: list[Any]) -> str:
    """A list as JSON, one entry a line."""
    return "[\n" + ",\n".join(map(json_text, entries)) + "\n]" if entries else "[]"


def read_case_file(text: str, file: str = "") -> tuple[str, dict[Path, Value], tuple[Step, ...]]:
    """Title, document and steps out of the text of a file.

    Parameters
    ----------
    file
        Its name, for the messages.

    Raises
    ------
    CaseError
        Where it is no such file, is from a newer version, or anything in it cannot be right.
    """
    data = _loaded(text, file)
    problems: list[Problem] = []

    def wrong(what: str, item: str = "", given: Any = "") -> None:
        shown = str(given)[:60].encode("ascii", "backslashreplace").decode()
        problems.append(Problem(what, file=file, item=item, given=shown, mend=_DAMAGED))
        if len(problems) >= _MOST_PROBLEMS:
            raise CaseError(problems)

    title = data.get("title")
    if not isinstance(title, str) or len(title) > _LONGEST_VALUE:
        wrong("is no title", item="title", given=title)
    base = _base(data.get("base"), wrong)
    steps = _steps(data.get("steps"), wrong)
    if problems:
        raise CaseError(problems)
    return str(title), base, steps


_Wrong = Callable[..., None]


def _loaded(text: str, file: str) -> dict[str, Any]:
    def refused(what: str, mend: str) -> CaseError:
        return CaseError([Problem(what, file=file, mend=mend)])

    if len(text) > _LARGEST_TEXT:
        raise refused("is larger than any case", _NO_SUCH_FILE)
    begins = text.lstrip("\ufeff \t\r\n")
    try:
        data = json.loads(begins, parse_constant=_no_constant)
        if "\\ud" in begins.lower():  # a character written as two halves, or as one alone
            data = json.loads(whole_text(json.dumps(data, ensure_ascii=False)))
    except (ValueError, RecursionError) as error:
        if not begins.startswith('{"format":"' + FORMAT):
            raise refused("is no case file of this program", _NO_SUCH_FILE) from None
        reason = str(error).splitlines()[0] if isinstance(error, ValueError) else "too nested"
        raise refused(f"is a case file that is damaged ({reason})", _DAMAGED) from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise refused("is no case file of this program", _NO_SUCH_FILE)
    version = data.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise refused("does not say which version of a case file it is", _DAMAGED)
    if version > VERSION:
        raise refused(
            f"was saved by a newer version of this program (case file {version}, this version "
            f"reads up to {VERSION})",
            "Update this program, then open the file again.",
        )
    return data


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no number")


def _base(data: Any, wrong: _Wrong) -> dict[Path, Value]:
    if not isinstance(data, list) or len(data) > _MOST_CELLS:
        wrong("is no list of cells, or longer than any case's", item="base")
        return {}
    found: dict[Path, Value] = {}
    for number, entry in enumerate(data, start=1):
        item = f"cell {number} of the beginning"
        if not isinstance(entry, list) or len(entry) != 2:
            wrong("is no pair of place and value", item=item, given=entry)
            continue
        path, value = entry
        reason = _path_wrong(path) or _value_wrong(value) or _kind_wrong(path, value)
        if not reason and tuple(path) in found:
            reason = "is given twice"
        if reason:
            wrong(reason, item=item, given=entry)
        else:
            found[tuple(path)] = value
    return found


def _steps(data: Any, wrong: _Wrong) -> tuple[Step, ...]:
    if not isinstance(data, list) or len(data) > _MOST_STEPS:
        wrong("is no list of steps, or longer than any case's", item="steps")
        return ()
    cells = 0
    found = []
    for number, entry in enumerate(data, start=1):
        reasons = list(_step_wrong(entry, number))
        for reason in reasons:
            wrong(reason, item=f"step {number}")
        if reasons:
            continue
        cells += len(entry["edits"])
        found.append(
            Step(
                tuple(Edit(tuple(path), before, after) for path, before, after in entry["edits"]),
                entry["words"],
                datetime.fromisoformat(entry["at"]).astimezone(UTC),
                tab=entry["tab"],
                who=entry["who"],
                kind=entry["kind"],
                of=entry["of"],
                number=number,
            )
        )
    if cells > 10 * _MOST_CELLS:
        wrong("change more cells than any case's", item="steps", given=cells)
    return tuple(found)


def _step_wrong(entry: Any, number: int) -> Iterator[str]:
    """What is wrong with the step of a file, in words to be read after its number."""
    if not isinstance(entry, dict):
        yield "is no step"
        return
    for name in ("words", "who", "tab"):
        if not isinstance(entry.get(name), str) or len(entry[name]) > _LONGEST_VALUE:
            yield f"has no text as {name!r}"
    if not _is_time(entry.get("at")):
        yield "has no time with its zone"
    kind, of = entry.get("kind"), entry.get("of")
    if kind not in KINDS:
        yield "is of no known kind"
    if not isinstance(of, int) or isinstance(of, bool) or not 0 <= of < number:
        yield "does not refer to a step before it"
    elif kind in ("undo", "redo") and of == 0:
        yield "does not say which step it takes back or makes again"
    edits = entry.get("edits")
    if not isinstance(edits, list) or len(edits) > _MOST_CELLS:
        yield "has no list of edits"
        return
    for edit in edits:
        if not isinstance(edit, list) or len(edit) != 3:
            yield "has an edit that is not a place, what stood there and what stands there now"
            return
        path, *values = edit
        reason = _path_wrong(path) or next(
            filter(None, (_value_wrong(v) or _kind_wrong(path, v) for v in values)), ""
        )
        if reason:
            yield f"has a cell that {reason}"
            return


def _is_time(data: Any) -> bool:
    if not isinstance(data, str):
        return False
    try:
        at = datetime.fromisoformat(data)
        return at.tzinfo is not None and at.astimezone(UTC) is not None
    except (ValueError, OverflowError):
        return False


def _path_wrong(path: Any) -> str:
    if not isinstance(path, list) or not 1 <= len(path) <= _DEEPEST_PATH:
        return "has no place, which is a list of names"
    if not all(isinstance(name, str) and len(name) <= _LONGEST_NAME for name in path):
        return "has a place with a name that is no text, or far too long"
    return ""


def _kind_wrong(path: list[str], value: Value) -> str:
    """What is wrong with the kind of a value at its place: a row's number, the log's headings."""
    if value is None:
        return ""
    if is_row(path[-1]):
        number = isinstance(value, int | float) and not isinstance(value, bool)
        return "" if number else "gives a row a place that is no number"
    if path[0] == LOG and path[1:] in (["headings"], ["remarks"]):
        texts = isinstance(value, list) and all(isinstance(one, str) for one in value)
        return "" if texts else "holds no list of texts in the log"
    return ""


def _value_wrong(value: Value, depth: int = 0) -> str:
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, str):
        return "holds more text than any cell" if len(value) > _LONGEST_VALUE else ""
    if isinstance(value, int):
        return "holds a number that is far too large" if abs(value) > _LARGEST_WHOLE else ""
    if isinstance(value, float):
        return "" if math.isfinite(value) else "holds a number that is not finite"
    if depth >= _DEEPEST_VALUE:
        return "holds lists within lists without end"
    inner = value.values() if isinstance(value, dict) else value
    if len(value) > _MOST_CELLS or (
        isinstance(value, dict) and any(len(key) > _LONGEST_NAME for key in value)
    ):
        return "holds more than any cell"
    return next(filter(None, (_value_wrong(one, depth + 1) for one in inner)), "")
