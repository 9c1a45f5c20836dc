"""Ageing of lead-acid that misses its full charges, against a published model's weight of it."""

import pytest

from tco.physics.lead_acid import SULPHATION

PER_HOUR = 6.614e-5
PER_HOUR_AND_DEPTH = 3.307e-3
"""Schiffer, Sauer, Bindner, Cronin, Lundsager, Kaiser, J. Power Sources 168 (2007) 66-78: slope of
the state-of-charge factor by the hours since the last full charge, and what the lowest state of
charge since adds. From memory."""


def schiffer_mean(hours: float, lowest_charge: float) -> float:
    """Mean weight of energy turned over between full charges `hours` apart, at I10."""
    return 1.0 + (PER_HOUR + PER_HOUR_AND_DEPTH * (1.0 - lowest_charge)) * hours / 2.0


def ours(days: int) -> float:
    return 1.0 + SULPHATION * (days - 1) / days


def test_a_full_charge_every_week_is_on_the_safe_side() -> None:
    assert schiffer_mean(168.0, 0.5) == pytest.approx(1.144, abs=5e-4)
    assert schiffer_mean(168.0, 0.5) < ours(7) < schiffer_mean(168.0, 0.5) + 0.5


def test_a_month_without_is_within_a_quarter() -> None:
    # more than that is not to be had from one number: the published weight goes on growing
    assert ours(30) == pytest.approx(schiffer_mean(720.0, 0.5), rel=0.25)


def test_a_full_charge_every_day_adds_little() -> None:
    assert ours(1) == 1.0
    assert schiffer_mean(24.0, 0.5) == pytest.approx(1.0, abs=0.03)
