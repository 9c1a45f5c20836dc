"""Discounting against handbook factors and library examples.

Sources: ASTM E917 and NIST Handbook 135 (formulas; the figures are those formulas evaluated to six
digits, hence the tolerance of half a unit of the sixth); the tables of the handbook's Annual
Supplement (NISTIR 85-3273) in the years in which the DOE rate was 3.0 % real: A-1 (SPV, three
decimals printed), A-2 (UPV, two) and A-3a (UPV*, two) (tables and figures from memory); the
documentation of numpy-financial (four digits printed), and the library itself.
"""

import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.money.discounting import (
    capital_recovery_factor,
    net_present_value,
    present_value_factor,
    real_rate,
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


@pytest.mark.parametrize(
    ("years", "spv", "upv"),
    [
        (1, 0.971, 0.97),
        (5, 0.863, 4.58),
        (10, 0.744, 8.53),
        (15, 0.642, 11.94),
        (20, 0.554, 14.88),
        (25, 0.478, 17.41),
        (30, 0.412, 19.60),
    ],
)
def test_tables_of_the_annual_supplement(years: int, spv: float, upv: float) -> None:
    """NISTIR 85-3273, Tables A-1 and A-2, column of 3.0 % (from memory): half the last digit."""
    assert present_value_factor(0.03, years) == pytest.approx(spv, abs=0.0005)
    assert uniform_present_value_factor(0.03, years) == pytest.approx(upv, abs=0.005)


def test_capital_recovery() -> None:
    """ASTM E917: CRF = 1/UPV; 3 %, 10 years."""
    assert capital_recovery_factor(0.03, 10) == pytest.approx(1 / 8.530203, abs=SIXTH_DIGIT)


def test_escalating_present_value() -> None:
    """NIST Handbook 135, UPV*: escalation 2 %, discount 3 %, 10 years (Table A-3a prints 9.48).

    The yearly cost in prices of the day of purchase is the total over UPV* of inflation.
    """
    factor = capital_recovery_factor(real_rate(0.03, 0.02), 10)
    assert 1.0 / factor == pytest.approx(9.481274, abs=SIXTH_DIGIT)


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


# numpy-financial as a reference library (an independent implementation), at random rates and flows


@given(st.floats(0.001, 0.5), st.integers(1, 40))
def test_capital_recovery_is_the_payment_of_a_loan(rate: float, n: int) -> None:
    assert capital_recovery_factor(rate, n) == pytest.approx(-float(npf.pmt(rate, n, 1.0)))


@given(st.floats(-0.2, 0.5), st.lists(st.floats(-1e4, 1e4, allow_subnormal=False), min_size=1))
def test_net_present_value_is_that_of_numpy_financial(rate: float, flows: list[float]) -> None:
    ours = net_present_value(rate, list(enumerate(flows)))
    scale = sum(abs(f) / (1 + rate) ** t for t, f in enumerate(flows))
    assert ours == pytest.approx(float(npf.npv(rate, flows)), abs=1e-9 * scale + 1e-9)
