"""A process that is killed at any moment: every step it was told is kept is there afterwards.

An ordinary run kills 25 times a place; `TCO_KILLS=200` asks for more.
"""

import contextlib
import os
import random
import select
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tco.workspace.schema.stored import NoSuchCase
from tco.workspace.store import Store
from tests.workspace.store_helpers import BASE, Where, fork, kill, step

ROUNDS = int(os.environ.get("TCO_KILLS", "25"))
LONGEST_LIFE_S = 0.06


def keeps_on(where: Where, case_id: str, pipe: int, *, told_too_early: bool = False) -> None:
    """Append without end; say each number, and each new case, once it is kept."""
    own = where.open()
    number = own.read(case_id).info.steps
    while True:
        made = step("x" * random.randrange(5000), words=f"{number + 1}")
        if told_too_early:
            os.write(pipe, f"step {number + 1}\n".encode())
        number = own.append(case_id, made, after=number, title=f"Boat {number}").number
        if not told_too_early:
            os.write(pipe, f"step {number}\n".encode())
        if number % 7 == 0:
            new = own.create(BASE, title="new", steps=[step(n) for n in range(5)])
            os.write(pipe, f"case {new}\n".encode())
            if number % 2:
                own.remove(new)
                os.write(pipe, f"gone {new}\n".encode())


def said_until_killed(work: Callable[[int], None], life: float) -> list[str]:
    """What a child said before it was killed, some time after its first word."""
    process, pipe = fork(work)
    ready, _, _ = select.select([pipe], [], [], 30)
    assert ready, "the child says nothing"
    time.sleep(life)
    kill(process)
    with os.fdopen(pipe, encoding="utf-8") as stream:
        said = stream.read()
    assert "error" not in said, said
    return said.splitlines()


def lost(where: Where, case_id: str, said: list[str]) -> list[str]:
    """What was said to be kept, and is not; damage of any file fails at once."""
    store = where.open()
    kept = store.read(case_id)
    assert [one.number for one in kept.steps] == list(range(1, kept.info.steps + 1))
    assert [one.words for one in kept.steps] == [str(one.number) for one in kept.steps]
    cases = {info.id for info in store.cases()}
    gone = {line.split()[1] for line in said if line.startswith("gone")}
    missing = []
    for line in said:
        what, name = line.split()
        if what == "step":
            there = int(name) <= kept.info.steps
        elif what == "gone":
            there = name not in cases
        elif name in cases:
            there = len(store.read(name).steps) == 5
        else:
            there = name in gone or was_being_removed(store, name)
        if not there:
            missing.append(line)
    assert store.put_aside() == ()
    store.close()
    for path in files_of(where):
        with contextlib.closing(sqlite3.connect(path)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    return missing


def was_being_removed(store: Store, case_id: str) -> bool:
    """Whether a case is there to be put back: killed after the removal, before it was said."""
    try:
        store.put_back(case_id)
    except NoSuchCase:
        return False
    return len(store.read(case_id).steps) == 5


def files_of(where: Where) -> list[Path]:
    if where.folder:
        return sorted(path for path in where.folder.rglob("*.sqlite"))
    if where.kind == "sqlite":
        return [Path(where.address.removeprefix("sqlite:///"))]
    return []


def test_what_was_said_to_be_kept_is_kept(where: Where) -> None:
    store = where.open()
    case_id = store.create(BASE, title="Boat")
    store.close()
    told = 0
    for seed in range(ROUNDS):
        life = random.Random(seed).uniform(0, LONGEST_LIFE_S)
        said = said_until_killed(lambda pipe: keeps_on(where, case_id, pipe), life)
        told += len(said)
        assert lost(where, case_id, said) == [], f"round {seed}"
    assert told > ROUNDS
    print(f"{where.kind}: killed {ROUNDS} times, {told} things said to be kept, all are there")


def test_a_store_that_speaks_too_early_is_found_out(where: Where) -> None:
    """The check of the test above: it finds the steps that a liar lost."""
    store = where.open()
    case_id = store.create(BASE, title="Boat")
    store.close()
    found: list[Any] = []
    for seed in range(60):
        life = random.Random(seed).uniform(0, LONGEST_LIFE_S)
        said = said_until_killed(
            lambda pipe: keeps_on(where, case_id, pipe, told_too_early=True), life
        )
        found += lost(where, case_id, said)
        if found:
            break
    assert found, "no lie was found out in 60 rounds"


def test_a_killed_process_leaves_no_half_case(folder: Path) -> None:
    where = Where("folder", folder=folder)
    store = where.open()

    def makes(pipe: int) -> None:
        own = where.open()
        while True:
            new = own.create(BASE, title="new", steps=[step(n) for n in range(5)])
            os.write(pipe, f"{new}\n".encode())

    said = []
    for seed in range(10):
        said += said_until_killed(makes, random.Random(seed).uniform(0, LONGEST_LIFE_S))
    found = [info.id for info in store.cases()]
    assert set(said) <= set(found)
    for case_id in found:
        kept = store.read(case_id)
        assert (kept.base, len(kept.steps)) == (BASE, 5)
    assert store.put_aside() == ()


@pytest.mark.parametrize("ending", ["-wal", ""])
def test_steps_still_in_the_log_of_a_killed_process_are_read(folder: Path, ending: str) -> None:
    """What was committed lies in a log beside the file until the last connection closes."""
    where = Where("folder", folder=folder)
    store = where.open()
    case_id = store.create(BASE, title="Boat")
    path = folder / f"{case_id}.sqlite"

    def dies(pipe: int) -> None:
        holds = sqlite3.connect(path)
        holds.execute("SELECT count(*) FROM steps").fetchall()
        own = where.open()
        for number in range(5):
            own.append(case_id, step(number, words=f"{number + 1}"), after=number, title="B")
        os.write(pipe, b"step 5\n")
        time.sleep(60)

    assert said_until_killed(dies, 0) == ["step 5"]
    assert Path(f"{path}-wal").stat().st_size > 0
    if ending:
        assert len(store.read(case_id).steps) == 5
    else:
        assert lost(where, case_id, ["step 5"]) == []
