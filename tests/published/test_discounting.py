"""Discounting against handbook factors and library examples.

Sources: ASTM E917 and NIST Handbook 135 (formulas; the figures are those formulas evaluated to six
digits, hence the tolerance of half a unit of the sixth), and the documentation of numpy-financial
(four digits printed).
"""

import pytest

from tco.money.discounting import (
    capital_recovery_factor,
    escalating_present_value_factor,
    net_present_value,
    present_value_factor,
    uniform_present_value_factor,
)

SIXTH_DIGIT = 0.5e-6
FOURTH_DIGIT = 0.5e-4


def test_single_present_value() -> None:
    """NIST Handbook 135, SPV: 3 %, 10 years."""
    assert present_value_factor(0.03, 10) == pytest.approx(0.744094, abs=SIXTH_DIGIT)


@pytest.mark.parametrize(("rate", "factor"), [(0.03, 8.530203), (0.05, 7.721735)])
def test_uniform_present_value(rate: float, factor: float) -> None:
    """NIST Handbook 135, UPV: 10 years."""
    assert uniform_present_value_factor(rate, 10) == pytest.approx(factor, abs=SIXTH_DIGIT)


def test_capital_recovery() -> None:
    """ASTM E917: CRF = 1/UPV; 3 %, 10 years."""
    assert capital_recovery_factor(0.03, 10) == pytest.approx(1 / 8.530203, abs=SIXTH_DIGIT)


def test_escalating_present_value() -> None:
    """NIST Handbook 135, UPV*: escalation 2 %, discount 3 %, 10 years."""
    assert escalating_present_value_factor(0.03, 0.02, 10) == pytest.approx(
        9.481274, abs=SIXTH_DIGIT
    )


def test_net_present_value() -> None:
    """numpy-financial, npv: the first amount stands at time zero."""
    flows = [-40000.0, 5000.0, 8000.0, 12000.0, 30000.0]
    assert net_present_value(0.08, list(enumerate(flows))) == pytest.approx(
        3065.2227, abs=FOURTH_DIGIT
    )


def test_loan_payment() -> None:
    """numpy-financial, pmt: 200 000 over 15 years at 7.5 %, monthly."""
    payment = 200_000.0 * capital_recovery_factor(0.075 / 12, 180)
    assert payment == pytest.approx(1854.0247, abs=FOURTH_DIGIT)
