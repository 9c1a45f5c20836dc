"""What can still be read of a damaged SQLite file: the document, and the steps that lead on."""

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tco.workspace.schema.rows import base_in, info_in, step_in
from tco.workspace.schema.stored import CaseInfo, Damaged
from tco.workspace.schema.tables import CASES, STEPS

BESIDE = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a file, by the end of its name."""


@dataclass(frozen=True)
class Salvaged:
    """The rows that could be read: the case, and its steps from the first without a gap.

    `info` is the case's line; `rows` hold what a fresh file gets.
    """

    info: CaseInfo
    case: dict[str, Any]
    steps: tuple[dict[str, Any], ...]


def salvage(path: Path, case_id: str) -> Salvaged | None:
    """Read what can be read of a damaged file; None where not even the document can be.

    It works on a copy, since SQLite may write to what it opens. Raises OSError where the file
    cannot be copied.
    """
    with tempfile.TemporaryDirectory(prefix="tco-salvage-") as folder:
        copy = Path(folder) / "copy.sqlite"
        for end in ("", "-wal", "-journal"):
            if (one := Path(f"{path}{end}")).exists():
                shutil.copyfile(one, f"{copy}{end}")
        try:
            with closing(sqlite3.connect(copy, isolation_level=None)) as connection:
                connection.row_factory = sqlite3.Row
                return _salvage(connection, case_id)
        except (sqlite3.Error, UnicodeDecodeError):  # not even to be opened
            return None


def _salvage(connection: sqlite3.Connection, case_id: str) -> Salvaged | None:
    names = [column.name for column in CASES.columns]
    for row in _rows(connection, "SELECT * FROM cases"):
        case = {"owner": "", "removed": "", **row}
        try:
            if case["id"] != case_id or set(case) != set(names):
                continue
            base_in(case)
            info = info_in(case)
        except (Damaged, ValueError, KeyError):
            continue
        removed = case["removed"] if isinstance(case["removed"], str) else ""
        steps = tuple(_steps(connection, case_id))
        return Salvaged(info, {**case, "removed": removed, "steps": len(steps)}, steps)
    return None


def _steps(connection: sqlite3.Connection, case_id: str) -> Iterator[dict[str, Any]]:
    names = [column.name for column in STEPS.columns]
    found = dict(_sound(_rows(connection, "SELECT * FROM steps NOT INDEXED"), names, case_id))
    number = 1
    while True:
        if number not in found:
            asked = f"SELECT * FROM steps WHERE number={number}"
            found.update(_sound(_rows(connection, asked), names, case_id))
        if number not in found:
            return
        yield found[number]
        number += 1


def _sound(
    rows: Iterator[dict[str, Any]], names: list[str], case_id: str
) -> Iterator[tuple[int, dict[str, Any]]]:
    for row in rows:
        if set(row) != set(names) or row["case_id"] != case_id:
            continue
        try:
            step = step_in(row)
        except (Damaged, ValueError):
            continue
        yield step.number, row


def _rows(connection: sqlite3.Connection, asked: str) -> Iterator[dict[str, Any]]:
    """The rows of a query, as far as they can be read."""
    try:
        cursor = connection.execute(asked)
        while (row := cursor.fetchone()) is not None:
            yield dict(row)
    except (sqlite3.Error, UnicodeDecodeError):  # what lies behind it cannot be read
        return


def note(aside: Path, case_id: str, saved: Salvaged | None, why: str) -> None:
    """Leave beside a file put aside what happened to it."""
    if saved is None:
        name, owner = case_id, ""
        rest = "Nothing of it could be read. If there is a backup of the folder, put it back."
    else:
        name, owner, count = saved.info.title or case_id, saved.info.owner, len(saved.steps)
        whole = count >= saved.info.steps
        rest = (
            f"All of its {count} steps could be read, and the case is open again as it was."
            if whole
            else f"The first {count} of its {saved.info.steps} steps could be read; the case is "
            "open again as it was then."
        )
    reason = (
        f"The file of this case was damaged ({why}). It was put aside as {aside}; nothing of it "
        f"was deleted. {rest}"
    )
    text = json.dumps({"name": name, "owner": owner, "reason": reason}, indent=1)
    aside.with_suffix(".json").write_text(text, encoding="utf-8")


def noted(aside: Path) -> dict[str, str]:
    """What was left beside a file put aside: name, owner and reason."""
    unknown = {
        "name": aside.name,
        "owner": "",
        "reason": f"The file was damaged. It was put aside as {aside}; nothing was deleted.",
    }
    try:
        found = json.loads(aside.with_suffix(".json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return unknown  # the file itself is what matters, and it is named
    return {**unknown, **found} if isinstance(found, dict) else unknown
