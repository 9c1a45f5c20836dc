"""Disks that are full or read-only, files that others lock, servers that are away: told, not lost.

What was kept before is there afterwards, nothing half-written is, and it works again once mended.
"""

import errno
import json
import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tco.workspace.edits import Step
from tco.workspace.schema import connect
from tco.workspace.schema.stored import NotKept, NotRead
from tco.workspace.store import Store, open_store
from tests.workspace.store_helpers import BASE, Where, command, finish, fork, small_disk, step

LONG = "x" * 40_000
ORDINARY_USER = 65534


@pytest.fixture(params=["folder", "sqlite"])
def on_small_disk(request: pytest.FixtureRequest) -> Iterator[Where]:
    """A place on a disk of 1 MB."""
    with small_disk("1m") as disk:
        if request.param == "folder":
            yield Where("folder", folder=disk / "cases")
        else:
            yield Where("sqlite", address=f"sqlite:///{disk}/cases.sqlite")


def disk_of(where: Where) -> Path:
    return where.folder.parent if where.folder else Path(where.address.removeprefix("sqlite:///"))


def fill(disk: Path) -> Path:
    """Take all the room there is; gives the file that takes it."""
    path = (disk if disk.is_dir() else disk.parent) / "ballast"
    with path.open("wb", buffering=0) as stream:
        for size in (65536, 4096, 1):
            try:
                while stream.write(b"x" * size):
                    pass
            except OSError as error:
                assert error.errno == errno.ENOSPC  # noqa: PT017 - the disk is to be full
    return path


def append_for_ever(store: Store, case_id: str, kept: list[Step]) -> None:
    """Append long steps, each to be found in the list as soon as it is kept."""
    while len(kept) < 100:
        made = step(f"{len(kept)}{LONG}")
        kept.append(store.append(case_id, made, after=len(kept), title="B"))


def test_a_full_disk_is_told_and_the_earlier_steps_are_there(on_small_disk: Where) -> None:
    store = on_small_disk.open()
    case_id = store.create(BASE, title="Boat")
    disk = disk_of(on_small_disk)
    (disk if disk.is_dir() else disk.parent).joinpath("ballast").write_bytes(b"x" * 200_000)
    kept: list[Step] = []
    with pytest.raises(NotKept, match="no room left on the disk") as told:
        append_for_ever(store, case_id, kept)
    assert "everything kept before is safe" in str(told.value)
    assert "Free some room" in str(told.value)
    assert len(kept) > 3
    again = on_small_disk.open()
    assert again.read(case_id).steps == tuple(kept)
    assert [info.steps for info in again.cases()] == [len(kept)]
    (disk if disk.is_dir() else disk.parent).joinpath("ballast").unlink()
    kept.append(store.append(case_id, step(LONG), after=len(kept), title="B"))
    assert again.read(case_id).steps == tuple(kept)
    assert again.put_aside() == ()


def names_under(folder: Path) -> list[str]:
    """Names of files, but for those that SQLite keeps beside its own."""
    found = [path.name for path in folder.rglob("*")]
    return sorted(name for name in found if not name.endswith(("-wal", "-shm")))


def test_on_a_disk_without_any_room_cases_can_be_read(on_small_disk: Where) -> None:
    store = on_small_disk.open()
    case_id = store.create(BASE, title="Boat")
    kept = store.append(case_id, step(1), after=0, title="Boat")
    ballast = fill(disk_of(on_small_disk))
    names = names_under(ballast.parent)
    for one in (store, on_small_disk.open()):
        with pytest.raises(NotKept, match="no room left"):
            one.append(case_id, step(2), after=1, title="Boat")
        with pytest.raises(NotKept, match="no room left"):
            one.create(BASE, title="other")
        assert one.read(case_id).steps == (kept,)
        assert one.steps_after(case_id, 0) == (kept,)
        assert [info.id for info in one.cases()] == [case_id]
        assert one.put_aside() == ()
    assert names_under(ballast.parent) == names
    ballast.unlink()
    assert store.append(case_id, step(2), after=1, title="Boat").number == 2
    assert len(store.read(store.create(BASE, title="other")).base) == len(BASE)


@pytest.mark.parametrize("kind", ["folder", "sqlite"])
def test_a_database_that_may_not_grow_is_told_as_full(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = (
        Where("folder", folder=tmp_path / "cases")
        if kind == "folder"
        else Where("sqlite", address=f"sqlite:///{tmp_path}/cases.sqlite")
    )
    store = where.open()
    case_id = store.create(BASE, title="Boat")
    opened = connect.SqliteFiles._open

    def small(self: connect.SqliteFiles) -> sqlite3.Connection:
        connection = opened(self)
        connection.execute("PRAGMA max_page_count=40")
        return connection

    kept: list[Step] = []
    with monkeypatch.context() as patched:
        patched.setattr(connect.SqliteFiles, "_open", small)
        limited = where.open()
        with pytest.raises(NotKept, match="no room left on the disk") as told:
            append_for_ever(limited, case_id, kept)
    cause = told.value.__cause__
    assert cause.orig.sqlite_errorcode == sqlite3.SQLITE_FULL  # type: ignore[union-attr]
    assert kept
    assert store.read(case_id).steps == tuple(kept)
    store.append(case_id, step(LONG), after=len(kept), title="B")


def test_a_disk_mounted_read_only_is_told(on_small_disk: Where) -> None:
    store = on_small_disk.open()
    case_id = store.create(BASE, title="Boat")
    kept = store.append(case_id, step(1), after=0, title="Boat")
    disk = disk_of(on_small_disk)
    mount = str(disk if disk.is_dir() else disk.parent)
    subprocess.run(["mount", "-o", "remount,ro", mount], check=True)
    for one in (store, on_small_disk.open()):
        with pytest.raises(NotKept, match="read-only"):
            one.append(case_id, step(2), after=1, title="Boat")
        with pytest.raises(NotKept, match="read-only"):
            one.create(BASE, title="other")
        with pytest.raises(NotKept, match="read-only"):
            one.remove(case_id)
        assert one.read(case_id).steps == (kept,)
        assert [info.id for info in one.cases()] == [case_id]
    subprocess.run(["mount", "-o", "remount,rw", mount], check=True)
    assert store.append(case_id, step(2), after=1, title="Boat").number == 2


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user may look into."""
    path = Path(tempfile.mkdtemp(prefix="tco-open-"))
    path.chmod(0o755)
    yield path
    shutil.rmtree(path)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root may become another user")
@pytest.mark.parametrize("kind", ["folder", "sqlite"])
def test_a_folder_one_may_not_write_to_is_told(kind: str, open_folder: Path) -> None:
    where = (
        Where("folder", folder=open_folder / "cases")
        if kind == "folder"
        else Where("sqlite", address=f"sqlite:///{open_folder}/cases.sqlite")
    )
    store = where.open()
    case_id = store.create(BASE, title="Boat")
    store.append(case_id, step(1), after=0, title="Boat")

    def as_another(pipe: int) -> None:
        os.setgroups([])
        os.setgid(ORDINARY_USER)
        os.setuid(ORDINARY_USER)
        other = where.open()
        said = []
        for act in (
            lambda: other.append(case_id, step(2), after=1, title="Boat"),
            lambda: other.create(BASE, title="other"),
            lambda: other.remove(case_id),
        ):
            try:
                act()
            except NotKept as error:
                said.append(str(error))
        found = [len(other.read(case_id).steps), len(other.cases()), len(other.put_aside())]
        os.write(pipe, json.dumps([found, said]).encode())

    found, said = json.loads(finish(*fork(as_another)))
    assert found == [1, 1, 0]
    assert len(said) == 3
    for sentence in said:
        assert "read-only" in sentence
        assert "everything kept before is safe" in sentence
    assert store.append(case_id, step(2), after=1, title="Boat").number == 2


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    store = Where("folder", folder=tmp_path / "file" / "cases").open()
    with pytest.raises(NotKept, match="Your last change was not kept"):
        store.create(BASE, title="Boat")
    one = open_store(f"sqlite:///{tmp_path}/nowhere/cases.sqlite")
    with pytest.raises(NotKept, match="Check that its folder is there"):
        one.create(BASE, title="Boat")


@pytest.mark.parametrize("kind", ["folder", "sqlite"])
def test_a_locked_file_is_told_and_read_all_the_same(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connect, "BUSY_SECONDS", 0.2)
    where = (
        Where("folder", folder=tmp_path)
        if kind == "folder"
        else Where("sqlite", address=f"sqlite:///{tmp_path}/cases.sqlite")
    )
    store = where.open()
    case_id = store.create(BASE, title="Boat")
    path = next(iter(tmp_path.glob("*.sqlite")))
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(NotKept, match="locked"):
        store.append(case_id, step(1), after=0, title="Boat")
    assert store.read(case_id).steps == ()
    other.close()
    assert store.append(case_id, step(1), after=0, title="Boat").number == 1


def test_a_server_that_is_away_is_told() -> None:
    store = open_store("postgresql://tco@127.0.0.1:1/none")
    with pytest.raises(NotKept, match=r"no answer.*not kept.*Check that the server runs"):
        store.create(BASE, title="Boat")
    with pytest.raises(NotRead, match=r"no answer.*Nothing was changed"):
        store.cases()


def test_a_server_that_drops_its_connections_is_asked_again(
    new_database: Callable[[], str],
) -> None:
    address = new_database()
    store = open_store(address)
    case_id = store.create(BASE, title="Boat")
    name = address.rpartition("/")[2]
    command(
        address,
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
        f"WHERE datname = '{name}' AND pid <> pg_backend_pid()",
    )
    assert store.append(case_id, step(1), after=0, title="Boat").number == 1
    store.close()


def test_a_server_that_ends_in_the_middle_of_a_step_keeps_nothing_of_it(
    new_database: Callable[[], str],
) -> None:
    address = new_database()
    store = open_store(address)
    case_id = store.create(BASE, title="Boat")
    command(
        address,
        "CREATE FUNCTION ends() RETURNS trigger AS $$ BEGIN "
        "PERFORM pg_terminate_backend(pg_backend_pid()); RETURN NEW; END $$ LANGUAGE plpgsql; "
        "CREATE TRIGGER ends AFTER INSERT ON steps FOR EACH ROW EXECUTE FUNCTION ends()",
    )
    with pytest.raises(NotKept, match="everything kept before is safe"):
        store.append(case_id, step(1), after=0, title="Van")
    command(address, "DROP TRIGGER ends ON steps")
    assert (store.read(case_id).steps, store.cases()[0].title) == ((), "Boat")
    assert store.append(case_id, step(1), after=0, title="Van").number == 1
    store.close()


def test_a_database_that_may_only_be_read_is_told(new_database: Callable[[], str]) -> None:
    address = new_database()
    store: Store = open_store(address)
    case_id = store.create(BASE, title="Boat")
    name = address.rpartition("/")[2]
    command(address, f"ALTER DATABASE {name} SET default_transaction_read_only = on")
    store.close()
    with pytest.raises(NotKept, match="read-only"):
        store.append(case_id, step(1), after=0, title="Boat")
    assert store.read(case_id).steps == ()
    store.close()
