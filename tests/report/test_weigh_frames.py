"""Tables of a choice between two."""

import numpy as np
import pytest

from tco.report.weigh_frames import histogram, signed, stretches
from tco.weigh.breakeven import BreakEven


def test_no_bin_spans_nought_and_every_side_is_told() -> None:
    rng = np.random.default_rng(4)
    draws = rng.normal(30.0, 100.0, 5000)
    bins = histogram(draws, "left", "right")
    assert not ((bins["from"] < -1e-9) & (bins["to"] > 1e-9)).any()
    assert set(bins[bins["from"] >= -1e-9]["cheaper"]) == {"right"}
    assert set(bins[bins["to"] <= 1e-9]["cheaper"]) == {"left"}
    assert bins["draws"].sum() == pytest.approx(draws.size, rel=0.015)
    left = bins[bins["cheaper"] == "left"]["draws"].sum()
    assert left == pytest.approx((draws < 0).sum(), rel=0.03)


def test_equal_draws_make_a_histogram() -> None:
    assert histogram(np.full(100, 5.0), "a", "b")["draws"].sum() == 100


def row(at: float | None, crossings: tuple[float, ...], below: str, above: str) -> BreakEven:
    return BreakEven("x", "u", at, 5.0, 0.0, 10.0, below, above, "", crossings)


def test_stretches_take_turns() -> None:
    one = stretches([row(4.0, (4.0,), "a", "b")], "a", "b")
    assert list(one["cheaper"]) == ["a", "b"]
    assert list(one["to"]) == [0.4, 1.0]
    # the nearest of three is the middle one: below it b, so before that a, and so on
    three = stretches([row(6.0, (2.0, 6.0, 9.0), "b", "a")], "a", "b")
    assert list(three["cheaper"]) == ["a", "b", "a", "b"]
    none = stretches([row(None, (), "b", "b")], "a", "b")
    assert list(none["cheaper"]) == ["b"]


def test_money_with_its_sign() -> None:
    assert signed(-1234.0, "€") == "−€1,234"
    assert signed(5.0, "€") == "+€5"
