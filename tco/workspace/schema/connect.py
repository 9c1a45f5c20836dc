"""Connections to SQLite files and to a server, and their errors as sentences for people."""

import os
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TypeVar

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import NullPool

from tco.workspace.schema.stored import Damaged, NotKept, NotRead, StoreTrouble

T = TypeVar("T")
BUSY_SECONDS = 5.0
"""How long one waits for another that writes the same file; ours."""
SERVER_SECONDS = 5
"""How long a server may take to answer at first; ours."""
_ROOM = 256 * 1024
"""Bytes free on a disk below which an error of input or output is for want of room; ours."""


class SqliteFiles:
    """Connections to any SQLite files, each opened for one transaction; threads do not meet."""

    def __init__(self) -> None:
        self._asked = threading.local()
        self._engine = sa.create_engine("sqlite://", creator=self._open, poolclass=NullPool)
        sa.event.listen(self._engine, "begin", _begin)
        with self._engine.connect():  # what the dialect asks once, it asks in memory
            pass

    def _open(self) -> sqlite3.Connection:
        address = getattr(self._asked, "address", "file::memory:")
        connection = sqlite3.connect(
            address, uri=True, timeout=BUSY_SECONDS, isolation_level=None, check_same_thread=False
        )
        try:
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("PRAGMA foreign_keys=ON")
        except BaseException:
            connection.close()
            raise
        return connection

    def run(
        self, path: Path, work: Callable[[sa.Connection], T], *, writes: bool, new: bool = False
    ) -> T:
        """Do work in one transaction on a file, which is made only if it is `new`.

        SQLite writes beside a file even to read it. Where that cannot be, for want of room or
        leave, a file with nothing pending beside it is read as one that nobody writes to.
        """
        address = path.absolute().as_uri()
        try:
            return self._transact(f"{address}?mode={'rwc' if new else 'rw'}", work, writes=writes)
        except DBAPIError as error:
            if writes or not _is_out_of_reach(error) or _has_pending(path):
                raise
        return self._transact(f"{address}?mode=ro&immutable=1", work, writes=False)

    def _transact(self, address: str, work: Callable[[sa.Connection], T], *, writes: bool) -> T:
        self._asked.address = address
        with self._engine.connect() as connection:
            connection.execution_options(writes=writes)
            with connection.begin():
                return work(connection)

    def close(self) -> None:
        """Let go of what is held."""
        self._engine.dispose()


def _begin(connection: sa.Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def server_engine(url: sa.URL) -> sa.Engine:
    """A pool of connections to a server."""
    arguments = (
        {"connect_timeout": SERVER_SECONDS} if url.get_backend_name() == "postgresql" else {}
    )
    return sa.create_engine(url, pool_pre_ping=True, connect_args=arguments)


def _is_out_of_reach(error: BaseException) -> bool:
    return _code(error) in (
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_IOERR,
    )


def _has_pending(path: Path) -> bool:
    logs = (Path(f"{path}-wal"), Path(f"{path}-journal"))
    return any(log.exists() and log.stat().st_size > 0 for log in logs)


def is_damage(error: BaseException) -> bool:
    """Whether an error says that a SQLite file is not as it was written."""
    code = _code(error)
    if code is None:
        return isinstance(_origin(error), sqlite3.Error)  # text that is no UTF-8
    return code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR)


def _origin(error: BaseException) -> BaseException:
    return error.orig if isinstance(error, DBAPIError) and error.orig is not None else error


def _code(error: BaseException) -> int | None:
    code = getattr(_origin(error), "sqlite_errorcode", None)
    return code & 0xFF if isinstance(code, int) else None


@contextmanager
def told(where: str, *, writes: bool, folder: Path | None = None) -> Iterator[None]:
    """Errors of databases and files as `NotKept` (of what writes), `NotRead`, or `Damaged`.

    Parameters
    ----------
    where
        The database or folder in words, for the sentence.
    folder
        Where its files lie, if it has any.
    """
    kind: type[StoreTrouble] = NotKept if writes else NotRead
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        if is_damage(error):
            raise Damaged(str(_origin(error))) from error
        raise kind(_sentence(error, where, folder, writes=writes)) from error
    except UnicodeDecodeError as error:  # an error of SQLite's with damaged text in it
        raise Damaged("text in it cannot be read") from error
    except OSError as error:
        raise kind(_sentence(error, where, folder, writes=writes)) from error


def _sentence(error: BaseException, where: str, folder: Path | None, *, writes: bool) -> str:
    safe = (
        "Your last change was not kept; everything kept before is safe."
        if writes
        else "Nothing was changed."
    )
    what, mend = _what(_origin(error), where, folder)
    return f"{what} {safe} {mend}"


def _what(error: BaseException, where: str, folder: Path | None) -> tuple[str, str]:
    code = _code(error)
    number = error.errno if isinstance(error, OSError) else None
    ioerr = code in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN)
    if code == sqlite3.SQLITE_FULL or number == 28 or (ioerr and _is_full(folder)):
        return f"There is no room left on the disk for {where}.", "Free some room and try again."
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL):
        return (
            f"Another program has kept {where} locked for {BUSY_SECONDS:.0f} seconds.",
            "Close what else has it open (another window of this program, a copy or a backup "
            "that runs) and try again.",
        )
    refused = number in (1, 13, 30) or code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM)
    if refused or (code == sqlite3.SQLITE_CANTOPEN and not _may_write(folder)):
        return (
            f"This program may not write to {where}: it is read-only.",
            "Give it leave to write there, or name another folder in TCO_FOLDER.",
        )
    if code == sqlite3.SQLITE_CANTOPEN:
        return f"The file for {where} cannot be opened.", "Check that its folder is there."
    if code is not None or number is not None:
        return (
            f"The disk failed for {where} ({error}).",
            "Check the disk; keep a copy of the folder elsewhere.",
        )
    first = str(error).strip().splitlines() or [type(error).__name__]
    return (
        f"There is no answer from {where}, or it refuses ({first[0]}).",
        "Check that the server runs and can be reached, then try again.",
    )


def _is_full(folder: Path | None) -> bool:
    try:
        return folder is not None and shutil.disk_usage(folder).free < _ROOM
    except OSError:
        return False  # a folder that is not there is not full


def _may_write(folder: Path | None) -> bool:
    return folder is None or not folder.exists() or os.access(folder, os.W_OK)


def turn_journal(path: Path, mode: str) -> bool:
    """Give a SQLite file its journal for good, "wal" or "delete"; False where it cannot be now.

    "delete" needs the file for itself alone, and leaves nothing beside it.
    """
    address = f"{path.absolute().as_uri()}?mode=rw"
    with closing(sqlite3.connect(address, uri=True, timeout=BUSY_SECONDS)) as connection:
        try:
            return bool(connection.execute(f"PRAGMA journal_mode={mode}").fetchone()[0] == mode)
        except sqlite3.OperationalError as error:
            if _code(error) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                return False
            raise


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold a lock that is a SQLite file, which ends with the process that held it."""
    address = f"{path.absolute().as_uri()}?mode=rwc"
    with closing(
        sqlite3.connect(address, uri=True, timeout=2 * BUSY_SECONDS, isolation_level=None)
    ) as connection:
        connection.execute("BEGIN EXCLUSIVE")
        yield


@contextmanager
def no_writers(path: Path) -> Iterator[None]:
    """Keep others from writing to a SQLite file, if it is sound enough for anybody to write."""
    address = f"{path.absolute().as_uri()}?mode=rw"
    with closing(
        sqlite3.connect(address, uri=True, timeout=BUSY_SECONDS, isolation_level=None)
    ) as connection:
        try:
            connection.execute("BEGIN IMMEDIATE")
        except (sqlite3.DatabaseError, UnicodeDecodeError) as error:
            if isinstance(error, sqlite3.Error) and not is_damage(error):
                raise
        yield
