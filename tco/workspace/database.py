"""Where cases lie: in one database, or in a folder with a SQLite file for each.

A file for each is deliberate: a damaged file loses one case. It is then put aside, never deleted,
and what can be read of it becomes a fresh file under the same id. A file is replaced or moved by
one process at a time, and whoever writes makes sure, once it may, that the file is still there.
"""

import os
import re
import secrets
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, Protocol, TypeVar

import sqlalchemy as sa
from alembic.util import CommandError
from sqlalchemy.exc import DBAPIError

from tco.workspace.edits import now
from tco.workspace.schema import connect, files, statements
from tco.workspace.schema.salvage import note, noted, salvage
from tco.workspace.schema.stored import (
    AlreadyThere,
    CaseInfo,
    Damaged,
    Newer,
    NoSuchCase,
    NotKept,
    NotRead,
    PutAside,
    StoreTrouble,
)
from tco.workspace.schema.upgrade import up_to_date, upgrade

T = TypeVar("T")
Row = Mapping[str, Any]
Work = Callable[[sa.Connection], T]
END = ".sqlite"
CASE_ID = re.compile(r"(?:[a-z0-9]+-)*[a-z0-9]{12}")
LONGEST_ID = 80
_TRIES = 4


class Place(Protocol):
    """Where cases lie."""

    def run(self, case_id: str, work: Work[T], *, writes: bool) -> T:
        """Do work in one transaction on the database that holds a case."""

    def create(self, case: Row, steps: Sequence[Row]) -> None:
        """Write a new case."""

    def infos(self, owner: str) -> tuple[CaseInfo, ...]:
        """The lines of an owner's cases."""

    def remove(self, case_id: str, owner: str) -> None:
        """Take a case out of the list."""

    def put_back(self, case_id: str, owner: str) -> None:
        """Take a removed case into the list again."""

    def put_aside(self, owner: str) -> tuple[PutAside, ...]:
        """Files that could not be opened."""

    def close(self) -> None:
        """Let go of what is held."""


def _check_id(case_id: str) -> None:
    """An id comes from an address that anybody can type: what cannot be one is no case's."""
    if not CASE_ID.fullmatch(case_id) or len(case_id) > LONGEST_ID:
        raise NoSuchCase


class OneDatabase:
    """All cases in one database: a server's, or one SQLite file."""

    def __init__(self, url: sa.URL) -> None:
        self._where = f"the database {url.render_as_string(hide_password=True)}"
        self._made = threading.Lock()
        self._is_made = False
        self._file: Path | None = None
        if url.get_backend_name() == "sqlite":
            self._file = Path(url.database or "")
            self._files = connect.SqliteFiles()
        else:
            self._engine = connect.server_engine(url)

    def run(self, case_id: str, work: Work[T], *, writes: bool) -> T:
        """Do work in one transaction."""
        _check_id(case_id)
        return self._run(work, writes=writes)

    def _run(self, work: Work[T], *, writes: bool) -> T:
        try:
            with connect.told(
                self._where, writes=writes, folder=self._file.parent if self._file else None
            ):
                self._make()
                return self._transact(work, writes=writes)
        except Damaged as error:
            kind = NotKept if writes else NotRead
            raise kind(
                f"There is damage in {self._where} ({error}). Nothing was written. Put a backup "
                "in its place, and keep this one until that is done."
            ) from error
        except Newer as error:
            raise NotRead(f"This program cannot use {self._where}. {error}") from error

    def _transact(self, work: Work[T], *, writes: bool) -> T:
        if self._file is not None:
            return self._files.run(self._file, work, writes=writes)
        with self._engine.begin() as connection:
            return work(connection)

    def _make(self) -> None:
        with self._made:
            if self._is_made:
                return
            if self._file is not None and not self._file.exists():
                self._files.run(self._file, upgrade, writes=True, new=True)
                connect.turn_journal(self._file, "wal")
            elif not self._transact(up_to_date, writes=False):
                self._transact(upgrade, writes=True)
            self._is_made = True

    def create(self, case: Row, steps: Sequence[Row]) -> None:
        """Write a new case."""
        self.run(
            case["id"], lambda connection: statements.insert(connection, case, steps), writes=True
        )

    def infos(self, owner: str) -> tuple[CaseInfo, ...]:
        """The lines of an owner's cases."""
        return self._run(partial(statements.infos, owner=owner), writes=False)

    def remove(self, case_id: str, owner: str) -> None:
        """Take a case out of the list."""
        work = partial(statements.mark_removed, case_id=case_id, owner=owner)
        self.run(case_id, work, writes=True)

    def put_back(self, case_id: str, owner: str) -> None:
        """Take a removed case into the list again."""
        work = partial(statements.mark_put_back, case_id=case_id, owner=owner)
        self.run(case_id, work, writes=True)

    def put_aside(self, owner: str) -> tuple[PutAside, ...]:
        """Nothing: there are no files to be put aside."""
        return ()

    def close(self) -> None:
        """Let go of the connections."""
        if self._file is not None:
            self._files.close()
        else:
            self._engine.dispose()


class _Moved(Exception):  # noqa: N818 - named by what is so
    """Another process moved or replaced a file in the meantime."""


class _Old(Exception):  # noqa: N818 - named by what is so
    """The tables of a file are not up to date."""


class Folder:
    """A folder with a SQLite file for each case."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._where = f"the folder {folder}"
        self._files = connect.SqliteFiles()
        self._sound: dict[str, files.Identity] = {}
        self._left: dict[Path, PutAside] = {}

    def run(self, case_id: str, work: Work[T], *, writes: bool) -> T:
        """Do work in one transaction on the file of a case; a damaged one is put aside first."""
        _check_id(case_id)
        path = self._folder / f"{case_id}{END}"
        for _ in range(_TRIES):
            identity = self._identity(path)
            try:
                with connect.told(self._where, writes=writes, folder=self._folder):
                    try:
                        return self._transact(path, work, writes=writes, identity=identity)
                    except _Old:
                        self._upgrade(path, identity)
            except Damaged as error:
                self._put_aside(case_id, path, identity, str(error), writes=writes)
            except Newer as error:
                raise NotRead(f"The file {path} cannot be opened. {error}") from error
            except _Moved:
                continue
        raise NotRead(
            f"The file {path} is being replaced by another program. Nothing was changed. Try again."
        )

    def _identity(self, path: Path) -> files.Identity:
        with connect.told(self._where, writes=False, folder=self._folder):
            found = files.identity(path)
            if found is None and (self._folder / "damaged").exists():
                with self._lock():
                    found = files.identity(path)
        if found is None and (self._folder / "removed" / path.name).exists():
            raise NoSuchCase(statements.REMOVED, removed=True)
        if found is None:
            aside = sorted((self._folder / "damaged").glob(f"{path.stem}.*{END}"))
            raise NoSuchCase(
                f"The file of this case was damaged and nothing of it could be read. It lies in "
                f"{aside[-1]}, and nothing of it was deleted. If there is a backup of the folder, "
                f"copy {path.name} from there back to {self._folder}."
                if aside
                else ""
            )
        return found

    def _upgrade(self, path: Path, identity: files.Identity) -> None:
        try:
            with connect.told(f"an older file, {path}", writes=False, folder=self._folder):
                self._transact(path, upgrade, writes=True, identity=identity, look=False)
                connect.turn_journal(path, "wal")
        except (Damaged, CommandError) as error:
            raise NotRead(
                f"The file {path} is of an older version of this program and could not be brought "
                f"up to date ({error}). It was left as it was. Keep a copy of it, and open it with "
                "the version it was written by."
            ) from error

    def _transact(
        self,
        path: Path,
        work: Work[T],
        *,
        writes: bool,
        identity: files.Identity,
        look: bool = True,
    ) -> T:
        """Do work on a file, which is looked at first where this process has not seen it yet."""

        def guarded(connection: sa.Connection) -> T:
            if files.identity(path) != identity:
                raise _Moved
            if look and self._sound.get(path.stem) != identity:
                if not _looked(connection, path.stem):
                    raise _Old
                self._sound[path.stem] = identity
            return work(connection)

        try:
            return self._files.run(path, guarded, writes=writes)
        except DBAPIError as error:
            if files.identity(path) != identity:
                raise _Moved from error
            raise

    def create(self, case: Row, steps: Sequence[Row]) -> None:
        """Write a new case: a file that is complete when it gets its name."""
        _check_id(case["id"])
        with connect.told(self._where, writes=True, folder=self._folder):
            if (self._folder / "removed" / f"{case['id']}{END}").exists():
                raise AlreadyThere(case["id"])
            self._folder.mkdir(parents=True, exist_ok=True)
            self._place_new(self._built(case, steps), case["id"])

    def _place_new(self, fresh: Path, case_id: str) -> None:
        """Give a file its name, unless another process was first."""
        named = self._folder / f"{case_id}{END}"
        try:
            os.link(fresh, named)
        except FileExistsError:
            raise AlreadyThere(case_id) from None
        except OSError:  # a file system without links
            if named.exists():
                raise AlreadyThere(case_id) from None
            self._place(fresh, case_id)
        finally:
            fresh.unlink(missing_ok=True)
        files.sync(self._folder)

    def _built(self, case: Row, steps: Sequence[Row]) -> Path:
        fresh = self._folder / f".{case['id']}.{secrets.token_hex(4)}.new"

        def fill(connection: sa.Connection) -> None:
            upgrade(connection)
            statements.insert(connection, case, steps)

        try:
            self._files.run(fresh, fill, writes=True, new=True)
            connect.turn_journal(fresh, "wal")
        except BaseException:
            files.discard(fresh)
            raise
        return fresh

    def _place(self, fresh: Path, case_id: str) -> None:
        fresh.replace(self._folder / f"{case_id}{END}")
        files.sync(self._folder)

    def infos(self, owner: str) -> tuple[CaseInfo, ...]:
        """The lines of an owner's cases; what cannot be opened is told by `put_aside`."""
        found = []
        left: dict[Path, PutAside] = {}
        with connect.told(self._where, writes=False):
            paths = sorted(self._folder.glob(f"*{END}"))
        for path in paths:
            try:
                if not CASE_ID.fullmatch(path.stem):
                    raise NotRead(
                        f"The name of the file {path} is not that of a case. It was left as it is. "
                        "Give it back the name it had."
                    )
                work = partial(statements.info, case_id=path.stem)
                info = self.run(path.stem, work, writes=False)
            except NoSuchCase:  # removed, or put aside a moment ago
                continue
            except StoreTrouble as error:
                left[path] = PutAside(path.name, path, str(error))
            else:
                found.append(info)
        self._left = left
        return tuple(info for info in found if info.owner == owner)

    def remove(self, case_id: str, owner: str) -> None:
        """Take a case out of the list, and its file into the folder "removed"."""
        work = partial(statements.mark_removed, case_id=case_id, owner=owner)
        self.run(case_id, work, writes=True)
        self._move_removed(case_id)

    def _move_removed(self, case_id: str) -> None:
        """Move a file marked as removed, unless another still has it open: then it just stays."""
        path = self._folder / f"{case_id}{END}"
        with connect.told(self._where, writes=True, folder=self._folder), self._lock():
            if self._is_listed(case_id):
                return  # another process put it back at once
            if connect.turn_journal(path, "delete"):
                (self._folder / "removed").mkdir(exist_ok=True)
                path.replace(self._folder / "removed" / path.name)
                files.sync(self._folder / "removed")

    def put_back(self, case_id: str, owner: str) -> None:
        """Take a removed case, and its file, back."""
        _check_id(case_id)
        path = self._folder / f"{case_id}{END}"
        moved = self._folder / "removed" / path.name
        if moved.exists() and not path.exists():
            with connect.told(self._where, writes=True, folder=self._folder), self._lock():
                connect.turn_journal(moved, "wal")
                moved.replace(path)
                files.sync(self._folder)
        work = partial(statements.mark_put_back, case_id=case_id, owner=owner)
        try:
            self.run(case_id, work, writes=True)
        except NoSuchCase:
            if path.exists():
                self._move_removed(case_id)
            raise

    def _is_listed(self, case_id: str) -> bool:
        try:
            self.run(case_id, partial(statements.info, case_id=case_id), writes=False)
        except NoSuchCase:
            return False
        return True

    @contextmanager
    def _lock(self) -> Iterator[None]:
        with connect.alone(self._folder / ".lock"):
            yield

    def _put_aside(
        self, case_id: str, path: Path, identity: files.Identity, why: str, *, writes: bool
    ) -> None:
        """Move a damaged file away, and leave what can be read of it in its place."""
        words = f"{path.name} (it is damaged: {why}), in {self._where}"
        with connect.told(words, writes=writes, folder=self._folder), self._lock():
            if files.identity(path) != identity:
                return  # another process was first
            with connect.no_writers(path):
                saved = salvage(path, case_id)
                fresh = self._built(saved.case, saved.steps) if saved is not None else None
                try:
                    folder = self._folder / "damaged"
                    folder.mkdir(exist_ok=True)
                    aside = folder / f"{case_id}.{now():%Y%m%dT%H%M%S%f}{END}"
                    note(aside, case_id, saved, why)
                    files.move(path, aside)
                except BaseException:
                    files.discard(fresh)
                    raise
            if fresh is not None:
                self._place(fresh, case_id)

    def put_aside(self, owner: str) -> tuple[PutAside, ...]:
        """Damaged files and where they lie now, and files that were left where they are."""
        with connect.told(self._where, writes=False):
            paths = sorted((self._folder / "damaged").glob(f"*{END}"))
            notes = [(path, noted(path)) for path in paths]
        aside = tuple(
            PutAside(told["name"], path, told["reason"])
            for path, told in notes
            if told["owner"] in ("", owner)
        )
        return (*aside, *self._left.values())

    def close(self) -> None:
        """Let go of the connections."""
        self._files.close()


def _looked(connection: sa.Connection, case_id: str) -> bool:
    """Whether the tables of a file are up to date; Damaged where it is not sound."""
    found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalars().all()
    if found != ["ok"]:
        raise Damaged("; ".join(str(line) for line in found))
    current = up_to_date(connection)
    ids = connection.exec_driver_sql("SELECT id FROM cases").scalars().all()
    if ids != [case_id]:
        if len(ids) == 1 and isinstance(ids[0], str) and CASE_ID.fullmatch(ids[0]):
            raise NotRead(
                f"The file {case_id}{END} holds the case {ids[0]}. It was left as it is. Give it "
                f"the name {ids[0]}{END}, unless there is one already."
            )
        raise Damaged("it holds no case of its name")
    return current
