"""Fixtures of the tests of `tco.weighing`."""

from collections.abc import Callable

import pytest

from tco.case import Case
from tco.compare import Comparison, compare
from tests.weighing.helpers import build_two_packs


@pytest.fixture(scope="session")
def two_packs() -> Callable[..., Case]:
    return build_two_packs


@pytest.fixture(scope="session")
def comparison() -> Comparison:
    return compare(build_two_packs())


@pytest.fixture(scope="session")
def drawn() -> Comparison:
    return compare(build_two_packs(), draws=400, seed=7)
