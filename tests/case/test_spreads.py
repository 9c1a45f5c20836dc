"""Spreads: in order, and named where they are not."""

import pytest
from pydantic import ValidationError

from tco.case.spreads import Factor, Shift, Spreads


@pytest.mark.parametrize(("kind", "low", "high"), [(Factor, 1.2, 0.8), (Shift, 0.02, -0.02)])
def test_high_below_low_is_refused(
    kind: type[Factor] | type[Shift], low: float, high: float
) -> None:
    with pytest.raises(ValidationError, match="below low"):
        kind(low=low, high=high)


def test_equal_ends_are_certainty() -> None:
    assert Factor(low=1.1, high=1.1).low == 1.1
    assert Shift(low=-0.01, high=-0.01).high == -0.01


@pytest.mark.parametrize("low", [0.0, -0.5])
def test_a_factor_is_above_zero(low: float) -> None:
    with pytest.raises(ValidationError):
        Factor(low=low, high=1.0)


def test_a_shift_may_be_below_zero() -> None:
    assert Shift(low=-0.02, high=-0.01).low == -0.02


def test_the_cases_own_value_lies_within_every_default() -> None:
    for name in Spreads.model_fields:
        spread = getattr(Spreads(), name)
        own = 0.0 if isinstance(spread, Shift) else 1.0
        assert spread.low < own < spread.high, name
