"""The places that every test of storage runs over."""

import secrets
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tco.workspace.store import Store
from tests.workspace.store_helpers import Where, command, postgresql


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Address of a real server, without the name of a database."""
    with postgresql() as address:
        yield address


@pytest.fixture
def new_database(server: str) -> Callable[[], str]:
    """Maker of empty databases; gives the address of each."""

    def make() -> str:
        name = f"t_{secrets.token_hex(6)}"
        command(f"{server}/postgres", f"CREATE DATABASE {name}")
        return f"{server}/{name}"

    return make


@pytest.fixture(params=["folder", "sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Where:
    """A folder of files, one SQLite database, a database of a server."""
    if request.param == "folder":
        return Where("folder", folder=tmp_path / "cases")
    if request.param == "sqlite":
        return Where("sqlite", address=f"sqlite:///{tmp_path}/cases.sqlite")
    return Where("postgresql", address=request.getfixturevalue("new_database")())


@pytest.fixture
def store(where: Where) -> Iterator[Store]:
    """A store at each of those places."""
    made = where.open()
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The folder of a store of files."""
    return tmp_path / "cases"
