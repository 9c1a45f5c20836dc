"""What docstrings show is what the code gives."""

import doctest
import importlib

import pytest

from tests.test_layering import NAMES

SHOWING = sorted(name for name, path in NAMES.items() if ">>>" in path.read_text(encoding="utf-8"))


def test_some_docstrings_show_something() -> None:
    assert SHOWING


@pytest.mark.parametrize("name", SHOWING)
def test_docstrings_show_what_the_code_gives(
    name: str, monkeypatch: pytest.MonkeyPatch, pytestconfig: pytest.Config
) -> None:
    monkeypatch.chdir(pytestconfig.rootpath)
    found = doctest.testmod(importlib.import_module(name))
    assert found.attempted
    assert not found.failed
