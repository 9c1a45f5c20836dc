"""Machine code kept on disk is what the sources say, whichever of them was changed."""

import subprocess
import sys
from pathlib import Path

import pytest

INNER = """
from tco.physics.compiled import step

SHARE = 0.5

@step
def part(x):
    return SHARE * x

def same(x):
    return x
"""

OUTER = """
from tco.physics import compiled as ours
ours.PACKAGE = "kept"
from kept.inner import part

@ours.compiled
def whole(x):
    return part(x) + 1.0

print(whole(4.0), sum(whole.stats.cache_hits.values()), sum(whole.stats.cache_misses.values()))
"""


@pytest.fixture
def package(tmp_path: Path) -> Path:
    folder = tmp_path / "kept"
    folder.mkdir()
    (folder / "__init__.py").write_text("")
    (folder / "inner.py").write_text(INNER)
    (folder / "outer.py").write_text(OUTER)
    return folder


def ran(package: Path) -> tuple[float, int, int]:
    """What the compiled function gives in a new process; found on disk, and compiled, how often."""
    printed = subprocess.run(
        [sys.executable, "-c", "import kept.outer"],
        cwd=package.parent, capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    return float(printed[0]), int(printed[1]), int(printed[2])


def test_what_was_compiled_is_found_again(package: Path) -> None:
    assert ran(package) == (3.0, 0, 1)
    assert ran(package) == (3.0, 1, 0)


@pytest.mark.slow
def test_a_change_in_another_file_is_compiled(package: Path) -> None:
    ran(package)
    inner, source = package / "inner.py", INNER
    for before, after, answer in [
        ("SHARE = 0.5", "SHARE = 0.25", 2.0),  # a constant
        ("SHARE * x", "SHARE * x * x", 5.0),  # code
        ("x * x", "x + 2.0", 4.0),  # a number in it
        ("x + 2.0", "max(x, 8.0)", 3.0),  # a function of the language
    ]:
        source = source.replace(before, after)
        inner.write_text(source)
        assert ran(package) == (answer, 0, 1)
    inner.write_text(source.replace("return x", "return 2 * x"))  # not used
    assert ran(package) == (answer, 1, 0)


RECORD = """
from typing import NamedTuple

class Pair(NamedTuple):
    first: float
    second: float
"""

READER = """
from tco.physics.compiled import compiled
from kept.record import Pair

@compiled
def whole(pair: Pair):
    return pair.first

read = whole(Pair(first=1.0, second=2.0))
print(read, sum(whole.stats.cache_hits.values()), sum(whole.stats.cache_misses.values()))
"""


def test_the_order_of_a_record_matters(package: Path) -> None:
    (package / "outer.py").write_text(READER)
    (package / "record.py").write_text(RECORD)
    assert ran(package) == (1.0, 0, 1)
    turned = RECORD.replace("    first: float\n    second", "    second: float\n    first")
    (package / "record.py").write_text(turned)
    assert ran(package) == (1.0, 0, 1)
