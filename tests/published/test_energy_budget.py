"""Sizing by hand against a published worksheet.

Source: a free, simplified worksheet after the IEEE's practice for sizing lead-acid batteries of
stand-alone systems (IEEE 1013): 1000 Wh a day, 2.5 days, 50 % depth, multiplier 1.30 at 40 degF,
giving 6500 Wh and, at 12 V, 541.67 Ah. Its multipliers multiply; our temperature factor divides.

This is the only sizing example checked: IEEE 485's own (a cell-sizing worksheet over a duty cycle)
rests on a maker's capacity factors, which were not recalled with certainty, and is not imitated.
"""

import pytest

from tco.bank.budget import capacity_needed_wh

EXAMPLE = {"autonomy_days": 2.5, "usable_depth": 0.50}


def test_worksheet_example() -> None:
    needed = capacity_needed_wh(1000.0, temperature_factor=1 / 1.30, **EXAMPLE)
    assert needed == pytest.approx(6500.0)  # exact in the source
    assert needed / 12.0 == pytest.approx(541.67, abs=0.005)  # two digits printed


@pytest.mark.parametrize(
    ("degf", "multiplier"),
    [(80, 1.00), (70, 1.04), (60, 1.11), (50, 1.19), (40, 1.30), (30, 1.40), (20, 1.59)],
)
def test_worksheet_multipliers(degf: int, multiplier: float) -> None:
    """At every temperature of the worksheet the answer is the one at 80 degF times multiplier."""
    warm = capacity_needed_wh(1000.0, **EXAMPLE)
    assert warm == pytest.approx(5000.0)
    cold = capacity_needed_wh(1000.0, temperature_factor=1 / multiplier, **EXAMPLE)
    assert cold == pytest.approx(5000.0 * multiplier)
