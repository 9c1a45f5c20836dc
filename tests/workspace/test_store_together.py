"""Processes and threads that write to one case at the same time: nothing is lost, none is twice."""

import contextlib
import json
import os
import shutil
import sqlite3
import threading
import time
from pathlib import Path

from tco.workspace.database import Folder
from tco.workspace.schema.stored import Behind, NoSuchCase
from tco.workspace.store import Store
from tests.workspace.store_helpers import (
    BASE,
    Where,
    append_persistently,
    finish,
    fork,
    step,
)

EACH = 100
AFTER_ONE = {"after": 1, "title": "Boat"}


def check_all_are_there(store: Store, case_id: str, writers: int) -> None:
    steps = store.read(case_id).steps
    assert [one.number for one in steps] == list(range(1, writers * EACH + 1))
    for writer in range(writers):
        own = [one.edits[0].after for one in steps if one.tab == f"t{writer}"]
        assert own == list(range(EACH))


def test_two_processes_append_to_one_case(store: Store, where: Where) -> None:
    case_id = store.create(BASE, title="Boat")

    def write(writer: int, pipe: int) -> None:
        own = where.open()
        head = refused = 0
        for value in range(EACH):
            made = step(value, tab=f"t{writer}")
            try:
                head = own.append(case_id, made, after=head, title=f"Boat {value}").number
            except Behind as behind:
                refused += 1
                head = behind.steps[-1].number
                head = append_persistently(own, case_id, made, head, f"Boat {value}").number
        os.write(pipe, json.dumps(refused).encode())

    children = [fork(lambda pipe, n=writer: write(n, pipe)) for writer in range(2)]
    refused = [json.loads(finish(*child)) for child in children]
    assert sum(refused) > 0, "they never met"
    check_all_are_there(store, case_id, 2)


def test_threads_share_one_store(store: Store) -> None:
    case_id = store.create(BASE, title="Boat")
    failed: list[BaseException] = []

    def write(writer: int) -> None:
        try:
            head = 0
            for value in range(EACH):
                made = step(value, tab=f"t{writer}")
                head = append_persistently(store, case_id, made, head, "Boat").number
                assert store.steps_after(case_id, head - 1)[0].tab == f"t{writer}"
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=write, args=(writer,)) for writer in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed, failed
    check_all_are_there(store, case_id, 3)


def test_processes_that_begin_at_once_make_the_tables_once(where: Where) -> None:
    def begin(pipe: int) -> None:
        own = where.open()
        case_id = own.create(BASE, title="Boat")
        own.append(case_id, step(1), after=0, title="Boat")
        os.write(pipe, case_id.encode())

    children = [fork(begin) for _ in range(4)]
    made = {finish(*child) for child in children}
    store = where.open()
    assert {info.id for info in store.cases()} == made
    assert len(made) == 4
    store.close()


def test_a_step_is_never_kept_in_a_file_that_was_removed(folder: Path) -> None:
    """Whoever was told that a step is kept finds it when the case is put back."""
    store = Store(Folder(folder))
    case_id = store.create(BASE, title="Boat")

    def write(pipe: int) -> None:
        own = Store(Folder(folder))
        number = 0
        while number < 300:
            try:
                number = own.append(case_id, step(number), after=number, title="Boat").number
            except NoSuchCase:
                continue
        os.write(pipe, str(number).encode())

    child = fork(write)
    rounds = 0
    while os.waitid(os.P_PID, child[0], os.WNOHANG | os.WNOWAIT | os.WEXITED) is None:
        store.remove(case_id)
        store.put_back(case_id)
        rounds += 1
    assert finish(*child) == "300"
    assert rounds > 3
    values = [one.edits[0].after for one in store.read(case_id).steps]
    assert values == list(range(300))
    assert store.put_aside() == ()


def test_a_step_goes_to_the_file_that_has_the_name_once_one_may_write(folder: Path) -> None:
    """Whoever waited to write while the file was replaced writes to the one in its place."""
    store = Store(Folder(folder))
    case_id = store.create(BASE, title="Boat")
    store.append(case_id, step(1), after=0, title="Boat")
    path = folder / f"{case_id}.sqlite"
    fresh = shutil.copy(path, folder / "fresh")
    with contextlib.closing(sqlite3.connect(fresh)) as other, other:
        other.execute("CREATE TABLE more AS SELECT zeroblob(100000) AS x")
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    writer = threading.Thread(target=store.append, args=(case_id, step(2)), kwargs=AFTER_ONE)
    writer.start()
    time.sleep(0.3)
    assert writer.is_alive(), "it did not wait"
    path.rename(folder / "old")
    holder.close()
    Path(fresh).rename(path)
    writer.join()
    assert [one.number for one in store.read(case_id).steps] == [1, 2]
    with contextlib.closing(sqlite3.connect(path)) as new:
        assert new.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert new.execute("SELECT length(x) FROM more").fetchone() == (100000,)
    with contextlib.closing(sqlite3.connect(folder / "old")) as old:
        assert old.execute("SELECT max(number) FROM steps").fetchone() == (1,)
