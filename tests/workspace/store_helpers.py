"""Places to keep cases in, steps to keep, children that can be killed, a PostgreSQL server."""

import contextlib
import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NoReturn

import psycopg
import pytest

from tco.workspace.database import Folder
from tco.workspace.edits import Edit, Step
from tco.workspace.schema.stored import Behind
from tco.workspace.store import Store, open_store

BASE = {
    ("title",): "Boat",
    ("system", "cable_run_m"): 4.5,
    ("candidates",): [],
    ("candidates", "#k3f9"): 1.0,
    ("candidates", "#k3f9", "price"): "400 €",
}
MOMENT = datetime(2026, 3, 1, 12, 30, 15, 250, tzinfo=UTC)


def step(value: Any, *, words: str = "", tab: str = "t1", **more: Any) -> Step:
    """A step that sets one cell."""
    path = ("candidates", "#k3f9", "price")
    return Step(
        (Edit(path, None, value),), words or f"price {value!r:.30}", MOMENT, tab=tab, **more
    )


@dataclass(frozen=True)
class Where:
    """A place to keep cases in: a folder of files, or the address of a database."""

    kind: str
    folder: Path | None = None
    address: str = ""

    def open(self) -> Store:
        return Store(Folder(self.folder)) if self.folder else open_store(self.address)


def append_persistently(store: Store, case_id: str, made: Step, after: int, title: str) -> Step:
    """Append a step, taking newer ones in as often as need be."""
    while True:
        try:
            return store.append(case_id, made, after=after, title=title)
        except Behind as behind:
            newer = behind.steps
        assert newer[0].number == after + 1
        after = newer[-1].number


def fork(work: Callable[[int], None]) -> tuple[int, int]:
    """Run work in a child, given the end of a pipe to write to; its process and our end."""
    ours, theirs = os.pipe()
    process = os.fork()
    if process == 0:
        _work_and_exit(work, theirs)
    os.close(theirs)
    return process, ours


def _work_and_exit(work: Callable[[int], None], pipe: int) -> NoReturn:
    code = 1
    try:
        work(pipe)
        code = 0
    except BaseException as error:
        os.write(pipe, f"\nerror {type(error).__name__}: {error}\n".encode())
    finally:
        os._exit(code)


def finish(process: int, pipe: int) -> str:
    """What a child wrote, once it has ended well."""
    with os.fdopen(pipe, encoding="utf-8") as stream:
        said = stream.read()
    _, status = os.waitpid(process, 0)
    assert os.waitstatus_to_exitcode(status) == 0, said
    return said


def kill(process: int) -> None:
    """End a child at once, wherever it is."""
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)


@contextmanager
def small_disk(size: str) -> Iterator[Path]:
    """A disk of its own in memory; the test is skipped where none may be mounted."""
    folder = Path(tempfile.mkdtemp(prefix="tco-disk-"))
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size},mode=755", "tmpfs", str(folder)],
        capture_output=True,
        text=True,
        check=False,
    )
    if mounted.returncode != 0:
        folder.rmdir()
        pytest.skip(f"a small disk may not be mounted here: {mounted.stderr.strip()}")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)
        folder.rmdir()


def _server_programs() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))
    named = shutil.which("postgres")
    return found[-1].parent if found else Path(named).parent if named else None


@contextmanager
def postgresql() -> Iterator[str]:
    """A server of its own on a free port, run by an ordinary user; its address without a name."""
    programs = _server_programs()
    if programs is None:
        pytest.skip("PostgreSQL is not installed (apt-get install postgresql)")
    folder = Path(tempfile.mkdtemp(prefix="tco-pg-"))
    as_user: dict[str, Any] = {}
    if os.geteuid() == 0:
        names = {entry.pw_name for entry in pwd.getpwall()}
        user = pwd.getpwnam("postgres" if "postgres" in names else "nobody")
        os.chown(folder, user.pw_uid, user.pw_gid)
        as_user = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
    data = folder / "data"
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    try:
        subprocess.run(
            [programs / "initdb", "-D", data, "-A", "trust", "-U", "tco", "-E", "UTF8", "-N"],
            cwd=folder,
            check=True,
            capture_output=True,
            **as_user,
        )
        options = ("listen_addresses=127.0.0.1", f"unix_socket_directories={folder}", "fsync=off")
        server = subprocess.Popen(
            [programs / "postgres", "-D", data, "-p", str(port)]
            + [part for option in options for part in ("-c", option)],
            cwd=folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            **as_user,
        )
        try:
            address = f"postgresql://tco@127.0.0.1:{port}"
            _wait_for(f"{address}/postgres", server)
            yield address
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(30)
    finally:
        shutil.rmtree(folder)


def _wait_for(address: str, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 60
    while True:
        assert server.poll() is None, "the server ended at once"
        try:
            psycopg.connect(address).close()
        except psycopg.OperationalError:
            assert time.monotonic() < until, "the server does not answer"
            time.sleep(0.1)
        else:
            return


def command(address: str, text: str) -> list[Any]:
    """Give a server one command outside of any transaction."""
    with contextlib.closing(psycopg.connect(address, autocommit=True)) as connection:
        cursor = connection.execute(text)  # type: ignore[call-overload]
        return cursor.fetchall() if cursor.description else []


def later(seconds: float) -> datetime:
    """A moment after the one steps are made at."""
    return MOMENT + timedelta(seconds=seconds)
