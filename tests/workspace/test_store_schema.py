"""Tables of an older version are brought up to date and worked in; those of a newer one are left.

A database of version 1 is made by running the first revision alone and writing rows to it.
"""

import contextlib
import os
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from tco.workspace.database import Folder
from tco.workspace.schema import upgrade as upgrades
from tco.workspace.schema.rows import case_row, step_row
from tco.workspace.schema.stored import NotKept, NotRead, StoreTrouble
from tco.workspace.schema.tables import HEAD, METADATA, REVISIONS
from tco.workspace.store import Store
from tests.workspace.store_helpers import BASE, Where, finish, fork, step

OLD = "old-boat-abcdefghijkl"
TIME = "2025-01-02T03:04:05.000006+00:00"


def make_version_1(connection: sa.Connection, case_id: str = OLD) -> None:
    """Tables of version 1 with a case of three steps in them, as that version wrote it."""
    upgrades.upgrade(connection, to="0001")
    case = case_row(case_id, BASE, title="Old boat", owner="", created=TIME, changed=TIME, steps=3)
    columns = [name for name in case if name not in ("owner", "removed")]
    connection.execute(
        sa.text(f"INSERT INTO cases ({', '.join(columns)}) VALUES (:{', :'.join(columns)})"),
        {name: case[name] for name in columns},
    )
    for number in range(1, 4):
        row = step_row(case_id, step(number).numbered(number))
        connection.execute(
            sa.text(f"INSERT INTO steps ({', '.join(row)}) VALUES (:{', :'.join(row)})"), row
        )


@contextlib.contextmanager
def raw(where: Where) -> Iterator[sa.Engine]:
    """The database of a place, as any program opens it; of a folder the file of the old case."""
    if where.folder:
        where.folder.mkdir(exist_ok=True)
        address = f"sqlite:///{where.folder}/{OLD}.sqlite"
    else:
        address = where.address.replace("postgresql://", "postgresql+psycopg://")
    engine = sa.create_engine(address, poolclass=sa.pool.NullPool)
    yield engine
    engine.dispose()


@pytest.fixture
def old(where: Where) -> Where:
    with raw(where) as engine, engine.begin() as connection:
        make_version_1(connection)
    return where


def revision_at(where: Where) -> str:
    with raw(where) as engine, engine.connect() as connection:
        return str(connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar())


def test_the_revisions_are_those_in_the_folder() -> None:
    script = upgrades.scripts()
    assert script.get_heads() == [HEAD]
    assert tuple(r.revision for r in reversed([*script.walk_revisions()])) == REVISIONS


def test_the_upgrades_lead_to_the_tables_of_the_code(where: Where) -> None:
    with raw(where) as engine, engine.begin() as connection:
        assert upgrades.revision(connection) == ""
        upgrades.upgrade(connection)
        assert upgrades.up_to_date(connection)
        assert compare_metadata(MigrationContext.configure(connection), METADATA) == []


def test_the_comparison_sees_a_column_that_is_missing(tmp_path: Path) -> None:
    with raw(Where("sqlite", address=f"sqlite:///{tmp_path}/x.sqlite")) as engine:
        with engine.begin() as connection:
            upgrades.upgrade(connection, to="0001")
            assert upgrades.revision(connection) == "0001"
            assert not upgrades.up_to_date(connection)
            differences = compare_metadata(MigrationContext.configure(connection), METADATA)
        assert len(differences) == 3


def test_a_database_of_version_1_is_upgraded_and_worked_in(old: Where) -> None:
    assert revision_at(old) == "0001"
    store = old.open()
    (info,) = store.cases()
    assert (info.id, info.title, info.owner, info.steps) == (OLD, "Old boat", "", 3)
    assert revision_at(old) == HEAD
    kept = store.read(OLD)
    assert kept.base == BASE
    assert kept.steps == tuple(step(n).numbered(n) for n in range(1, 4))
    assert store.append(OLD, step(4), after=3, title="Not so old").number == 4
    new = store.create(BASE, title="New", owner="ann")
    copy = store.duplicate(OLD, title="Copy")
    assert [i.title for i in store.cases()] == ["Copy", "Not so old"]
    assert [i.id for i in store.cases(owner="ann")] == [new]
    store.remove(OLD)
    assert [i.id for i in store.cases()] == [copy]
    store.put_back(OLD)
    assert len(store.read(OLD).steps) == 4
    assert store.put_aside() == ()
    store.close()


@pytest.mark.parametrize("first", ["append", "read", "steps_after", "remove"])
def test_whatever_is_done_first_upgrades(old: Where, first: str) -> None:
    store = old.open()
    {
        "append": lambda: store.append(OLD, step(4), after=3, title="x"),
        "read": lambda: store.read(OLD),
        "steps_after": lambda: store.steps_after(OLD, 1),
        "remove": lambda: store.remove(OLD),
    }[first]()
    if first != "remove":
        assert revision_at(old) == HEAD
        assert len(store.read(OLD).steps) in (3, 4)
    store.close()


def test_an_old_file_is_kept_as_new_ones_are_afterwards(folder: Path) -> None:
    where = Where("folder", folder=folder)
    with raw(where) as engine, engine.begin() as connection:
        make_version_1(connection)
    Store(Folder(folder)).cases()
    with contextlib.closing(sqlite3.connect(folder / f"{OLD}.sqlite")) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_processes_that_open_an_old_database_at_once_upgrade_it_once(old: Where) -> None:
    start = time.monotonic() + 0.3

    def opens(pipe: int) -> None:
        store = old.open()
        time.sleep(max(0.0, start - time.monotonic()))
        os.write(pipe, f"{store.read(OLD).info.steps}".encode())

    children = [fork(opens) for _ in range(4)]
    assert [finish(*child) for child in children] == ["3"] * 4
    assert revision_at(old) == HEAD


def failing(connection: sa.Connection, to: str = "head") -> None:
    """An upgrade that has begun its work when it fails."""
    connection.execute(sa.text("ALTER TABLE cases ADD COLUMN half TEXT"))
    connection.execute(sa.text("UPDATE alembic_version SET version_num = '0002'"))
    connection.execute(sa.text("ALTER TABLE nowhere ADD COLUMN x TEXT"))


def test_an_upgrade_that_fails_leaves_all_as_it_was(
    old: Where, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr("tco.workspace.database.upgrade", failing)
        store = old.open()
        for act in (
            lambda: store.read(OLD),
            lambda: store.append(OLD, step(4), after=3, title="x"),
        ):
            with pytest.raises(StoreTrouble) as told:
                act()
            assert "nowhere" in str(told.value)
        if old.folder:
            assert "left as it was" in str(told.value)
            assert store.cases() == ()
            (left,) = store.put_aside()
            assert left.path == old.folder / f"{OLD}.sqlite"
        store.close()
    with raw(old) as engine, engine.connect() as connection:
        assert "half" not in {c["name"] for c in sa.inspect(connection).get_columns("cases")}
    assert revision_at(old) == "0001"
    store = old.open()
    assert len(store.read(OLD).steps) == 3
    store.close()


def test_what_a_newer_program_wrote_is_left_and_told(where: Where) -> None:
    with raw(where) as engine, engine.begin() as connection:
        upgrades.upgrade(connection)
        case = case_row(OLD, BASE, title="x", owner="", created=TIME, changed=TIME, steps=0)
        connection.execute(METADATA.tables["cases"].insert(), case)
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '0099'"))
    before = where.folder and (where.folder / f"{OLD}.sqlite").read_bytes()
    store = where.open()
    for act in (
        lambda: store.read(OLD),
        lambda: store.append(OLD, step(1), after=0, title="x"),
        lambda: store.remove(OLD),
    ):
        with pytest.raises(StoreTrouble, match=r"newer version of this program.*Update this prog"):
            act()
    if where.folder:
        assert store.cases() == ()
        (left,) = store.put_aside()
        assert left.path == where.folder / f"{OLD}.sqlite"
        assert "0099" in left.reason
        assert left.path.read_bytes() == before
    else:
        with pytest.raises(NotRead, match="newer version"):
            store.cases()
    store.close()
    assert revision_at(where) == "0099"


def test_a_folder_of_old_and_new_files_shows_them_all(folder: Path, tmp_path: Path) -> None:
    store = Store(Folder(folder))
    new = store.create(BASE, title="New")
    with raw(Where("folder", folder=folder)) as engine, engine.begin() as connection:
        make_version_1(connection)
    copy = "old-boat-bbbbbbbbbbbb"
    shutil.copy(folder / f"{OLD}.sqlite", folder / f"{copy}.sqlite")
    assert {info.id for info in store.cases()} == {new, OLD}
    assert [left.path.stem for left in store.put_aside()] == [copy]


def test_an_old_file_that_may_not_be_written_to_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with raw(Where("folder", folder=folder)) as engine, engine.begin() as connection:
        make_version_1(connection)

    def refused(*_: Any, **__: Any) -> None:
        error = sqlite3.OperationalError("attempt to write a readonly database")
        error.sqlite_errorcode = sqlite3.SQLITE_READONLY
        raise error

    store = Store(Folder(folder))
    act: Callable[[], object]
    with monkeypatch.context() as patched:
        patched.setattr("tco.workspace.database.upgrade", refused)
        for act in (lambda: store.read(OLD), lambda: store.append(OLD, step(1), after=3, title="")):
            with pytest.raises((NotRead, NotKept), match="read-only"):
                act()
    assert len(store.read(OLD).steps) == 3
