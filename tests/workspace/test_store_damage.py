"""Files that are damaged: never an error nobody expected, put aside and named, the others open.

What is read afterwards is what was kept, from its beginning on; never anything else. An ordinary
run damages 10 files each way; `TCO_SEEDS=100` asks for more.
"""

import contextlib
import os
import random
import shutil
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tco.workspace.database import Folder
from tco.workspace.schema import connect
from tco.workspace.schema.salvage import salvage
from tco.workspace.schema.stored import Behind, NoSuchCase, NotKept, NotRead, StoredCase
from tco.workspace.store import Store, open_store
from tests.workspace.store_helpers import BASE, finish, fork, step

SEEDS = range(int(os.environ.get("TCO_SEEDS", "10")))
STEPS = 40
MORE = step("more")


def truncated(data: bytes, chance: random.Random) -> bytes:
    return data[: chance.randrange(len(data))]


def headless(data: bytes, chance: random.Random) -> bytes:
    length = chance.randrange(1, 100)
    return chance.randbytes(length) + data[length:]


def flipped(data: bytes, chance: random.Random) -> bytes:
    changed = bytearray(data)
    for _ in range(chance.choice([1, 3, 30, 300])):
        changed[chance.randrange(100, len(data))] = chance.randrange(256)
    return bytes(changed)


def page_lost(data: bytes, chance: random.Random) -> bytes:
    page = chance.randrange(len(data) // 4096) * 4096
    return data[:page] + bytes(4096) + data[page + 4096 :]


def grown(data: bytes, chance: random.Random) -> bytes:
    return data + chance.randbytes(chance.randrange(1, 20_000))


def other_content(data: bytes, chance: random.Random) -> bytes:
    return chance.choice([b"", b"hello", b"\0" * len(data), b"SQLite format 3\0", data[::-1]])


DAMAGES = [truncated, headless, flipped, page_lost, grown, other_content]


def two_cases(folder: Path) -> tuple[StoredCase, StoredCase]:
    """A case that will be damaged and another one."""
    store = Store(Folder(folder))
    ids = [store.create(BASE, title=title, owner="ann") for title in ("Boat", "Van")]
    for case_id in ids:
        for number in range(STEPS):
            made = step(f"{number}" + "y" * 300, words=f"price {number}")
            store.append(case_id, made, after=number, title=f"Boat {number}")
    boat, van = (store.read(case_id, owner="ann") for case_id in ids)
    return boat, van


def damage(path: Path, how: Callable[[bytes, random.Random], bytes], seed: int) -> bytes:
    data = how(path.read_bytes(), random.Random(seed))
    path.write_bytes(data)
    return data


@pytest.mark.parametrize("how", DAMAGES)
@pytest.mark.parametrize("first", ["cases", "read", "append", "steps_after"])
def test_a_damaged_file_is_put_aside_and_the_others_open(
    how: Callable[[bytes, random.Random], bytes],
    first: str,
    tmp_path: Path,
) -> None:
    boat, van = two_cases(tmp_path / "sound")
    for seed in SEEDS:
        folder = shutil.copytree(tmp_path / "sound", tmp_path / f"{seed}")
        data = damage(folder / f"{boat.info.id}.sqlite", how, seed)
        check_damaged(Store(Folder(folder)), first, boat, van, data)


def check_damaged(store: Store, first: str, boat: StoredCase, van: StoredCase, data: bytes) -> None:
    case_id = boat.info.id
    with contextlib.suppress(Behind, NoSuchCase, NotRead, NotKept):  # in words, see below
        {
            "cases": lambda: store.cases(owner="ann"),
            "read": lambda: store.read(case_id, owner="ann"),
            "append": lambda: store.append(case_id, MORE, after=STEPS, title="x"),
            "steps_after": lambda: store.steps_after(case_id, 2),
        }.get(first, lambda: None)()
    assert store.read(van.info.id, owner="ann") == van
    assert van.info in store.cases(owner="ann")
    left = ""
    try:
        kept = store.read(case_id, owner="ann")
    except NoSuchCase as gone:
        kept, words = None, str(gone)
    except NotRead as newer:
        left = str(newer)
    if left:  # a version that cannot be told from a newer program's
        assert "newer version" in left
        return
    aside = store.put_aside(owner="ann")
    if kept is not None:
        assert kept.base == boat.base
        assert kept.steps == (*boat.steps, MORE.numbered(STEPS + 1))[: len(kept.steps)]
    if kept is not None and not aside:
        assert len(kept.steps) >= STEPS
        return
    assert len(aside) == 1
    if first != "append":  # which may have gone well, before a damaged step was read
        assert aside[0].path.read_bytes() == data
    assert str(aside[0].path) in aside[0].reason
    assert "nothing of it was deleted" in aside[0].reason
    if kept is None:
        assert "damaged" in words
        assert str(aside[0].path) in words
        assert [info.id for info in store.cases(owner="ann")] == [van.info.id]
        return
    count = len(kept.steps)
    saved = [count, STEPS] if count > STEPS else [count]
    assert any(
        f" {n} steps" in aside[0].reason or f"first {n} of" in aside[0].reason for n in saved
    )
    assert store.append(case_id, step(1), after=count, title="on").number == count + 1
    assert {info.id for info in store.cases(owner="ann")} == {case_id, van.info.id}
    assert store.put_aside(owner="ann") == aside


def test_a_damaged_step_is_noticed_though_the_file_is_sound(tmp_path: Path) -> None:
    boat, _ = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE steps SET edits = replace(edits, 'y', 'z') WHERE number = 31")
    store = Store(Folder(tmp_path))
    assert store.read(boat.info.id, owner="ann").steps == boat.steps[:30]
    (aside,) = store.put_aside(owner="ann")
    assert "step 31" in aside.reason
    assert "first 30 of its 40 steps" in aside.reason
    assert aside.name == "Boat 39"
    assert store.put_aside(owner="bob") == ()


@pytest.mark.parametrize(
    "spoil",
    [
        "DROP TABLE steps",
        "DROP TABLE cases",
        "DROP TABLE alembic_version",
        "DELETE FROM alembic_version",
        "DELETE FROM cases",
        "DELETE FROM steps WHERE number = 20",
        "DELETE FROM steps WHERE number = 40",
        "UPDATE cases SET base = '[]'",
        "UPDATE cases SET base = 'no json', title = X'FF'",
        "UPDATE cases SET changed = 'yesterday'",
        "UPDATE cases SET steps = 'many'",
        "UPDATE cases SET title = CAST(X'FFFE' AS TEXT)",
        "UPDATE steps SET edits = X'00' WHERE number = 3",
        "UPDATE steps SET words = CAST(X'FFFE' AS TEXT) WHERE number = 3",
        "UPDATE steps SET of_step = 'x' WHERE number = 3",
        "ALTER TABLE steps DROP COLUMN seal",
        "ALTER TABLE cases RENAME COLUMN title TO name",
    ],
)
def test_tables_and_rows_that_cannot_be_right_are_noticed(spoil: str, tmp_path: Path) -> None:
    boat, van = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(spoil)
    store = Store(Folder(tmp_path))
    with contextlib.suppress(NoSuchCase):  # where nothing could be read; it is named below
        kept = store.read(boat.info.id, owner="ann")
        assert kept.steps == boat.steps[: len(kept.steps)]
        assert kept.base == boat.base
    assert len(store.put_aside(owner="ann")) == 1
    assert store.read(van.info.id, owner="ann") == van


def test_a_damaged_index_loses_no_step(tmp_path: Path) -> None:
    boat, _ = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as connection:
        (page,) = connection.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_steps_1'"
        ).fetchone()
    data = path.read_bytes()
    path.write_bytes(data[: (page - 1) * 4096] + bytes(4096) + data[page * 4096 :])
    store = Store(Folder(tmp_path))
    assert store.read(boat.info.id, owner="ann").steps == boat.steps
    (aside,) = store.put_aside(owner="ann")
    assert "All of its 40 steps" in aside.reason


def test_processes_that_find_the_damage_at_once_put_it_aside_once(tmp_path: Path) -> None:
    boat, _ = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    with contextlib.closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE steps SET words = 'x' WHERE number = 31")
    start = time.monotonic() + 0.5

    def opens(pipe: int) -> None:
        time.sleep(max(0.0, start - time.monotonic()))
        kept = Store(Folder(tmp_path)).read(boat.info.id, owner="ann")
        assert kept.steps == boat.steps[:30], len(kept.steps)

    for child in [fork(opens) for _ in range(4)]:
        finish(*child)
    store = Store(Folder(tmp_path))
    assert len(store.put_aside(owner="ann")) == 1
    assert len([*(tmp_path / "damaged").glob("*.sqlite")]) == 1
    assert [*tmp_path.glob("*.new*")] == []


def test_a_damaged_file_in_a_folder_without_room_stays_where_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    boat, van = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    data = damage(path, page_lost, 1)
    store = Store(Folder(tmp_path))
    names = {one.name for one in tmp_path.iterdir()}

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(Path, "replace", full)
        with pytest.raises(NotRead, match=r"no room left on the disk.*damaged"):
            store.read(boat.info.id, owner="ann")
        assert [info.id for info in store.cases(owner="ann")] == [van.info.id]
        (left,) = store.put_aside(owner="ann")
        assert (left.path, left.path.read_bytes()) == (path, data)
    assert {one.name for one in tmp_path.iterdir()} - names <= {".lock", "damaged"}
    assert van.info.id in [info.id for info in store.cases(owner="ann")]
    assert len(store.put_aside(owner="ann")) == 1


def test_salvage_leaves_the_file_as_it_is(tmp_path: Path) -> None:
    boat, _ = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    data = path.read_bytes()
    saved = salvage(path, boat.info.id)
    assert saved is not None
    assert len(saved.steps) == STEPS
    assert path.read_bytes() == data
    assert salvage(path, "another-case1234") is None


def test_files_of_other_names_are_named_and_left(tmp_path: Path) -> None:
    boat, van = two_cases(tmp_path)
    path = tmp_path / f"{boat.info.id}.sqlite"
    copy = path.with_name(f"{path.stem} (copy).sqlite")
    swapped = path.with_name("other-abcdefghijkl.sqlite")
    copy.write_bytes(path.read_bytes())
    swapped.write_bytes(path.read_bytes())
    store = Store(Folder(tmp_path))
    assert {info.id for info in store.cases(owner="ann")} == {boat.info.id, van.info.id}
    aside = {one.path: one.reason for one in store.put_aside(owner="ann")}
    assert set(aside) == {copy, swapped}
    assert "not that of a case" in aside[copy]
    assert boat.info.id in aside[swapped]
    copy.unlink()
    swapped.unlink()
    store.cases(owner="ann")
    assert store.put_aside(owner="ann") == ()


@pytest.mark.parametrize("how", DAMAGES)
def test_damage_of_one_database_is_told(
    how: Callable[[bytes, random.Random], bytes], tmp_path: Path
) -> None:
    path = tmp_path / "cases.sqlite"
    store = open_store(f"sqlite:///{path}")
    case_id = store.create(BASE, title="Boat")
    for number in range(STEPS):
        store.append(case_id, step("y" * 300), after=number, title="Boat")
    whole, kept = path.read_bytes(), store.read(case_id)
    told = 0
    for seed in SEEDS:
        path.write_bytes(how(whole, random.Random(seed)))
        damaged = path.read_bytes()
        for one in (store, open_store(f"sqlite:///{path}")):
            try:
                found = one.read(case_id)
            except (NotRead, NoSuchCase):
                told += 1
            else:
                assert (found.base, found.steps) == (kept.base, kept.steps)
            with contextlib.suppress(NotRead):  # told in words, as above
                one.cases()
        if how is not other_content:  # an empty file becomes a new database
            assert path.read_bytes()[100:] == damaged[100:]
    assert told or how is grown


def test_other_errors_are_not_taken_for_damage() -> None:
    full = sqlite3.OperationalError("full")
    full.sqlite_errorcode = sqlite3.SQLITE_FULL
    assert not connect.is_damage(full)
    assert not connect.is_damage(OSError(28, "full"))
    assert connect.is_damage(sqlite3.OperationalError("Could not decode to UTF-8"))
