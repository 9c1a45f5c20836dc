"""A browser for a module, and servers that end with their tests."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from tests.browser.driver import Server


@pytest.fixture(scope="module")
def chromium() -> "Iterator[Browser]":
    from tests.browser.driver import browser

    with browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> "Iterator[Server]":
    """One server for a module; its cases are each test's own by their ids."""
    from tests.browser.driver import running

    with running(tmp_path_factory.mktemp("server")) as started:
        yield started


@pytest.fixture
def new_server(tmp_path: Path) -> "Iterator[Callable[[], Server]]":
    """Starts servers of a test's own, to be killed and started again."""
    from tests.browser.driver import running

    with ExitStack() as stack:
        yield lambda: stack.enter_context(running(tmp_path))
