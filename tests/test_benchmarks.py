"""The benchmarks run; what they print is the machine's, and not tested."""

from pathlib import Path

import pytest

from tco.case import read_case
from tests.benchmarks import draws

DEMO = Path(__file__).parents[1] / "candidates_demo" / "coldharbour.toml"


def test_draws_are_timed_both_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(draws, "DRAWS", 20)
    monkeypatch.setattr(draws, "TIMED", 1)
    found, count = draws.timing(read_case(DEMO))
    assert count > 0
    assert 0.0 < found.hours_to_horizon <= found.hours_to_end
