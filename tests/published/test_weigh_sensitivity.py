"""Our way into the library's global indices, on the function everybody checks with.

Ishigami's function: sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1, x uniform on (-pi, pi). Indices in
closed form, with a = 7 and b = 0.1: D1 = b pi^4/5 + b^2 pi^8/50 + 1/2, D2 = a^2/8,
D13 = 8 b^2 pi^8/225 (Saltelli et al., Global Sensitivity Analysis, 2008, section 4.6, from memory;
they follow by integration). `tests/published/test_sensitivity.py` checks the library itself.
"""

import numpy as np
import pytest

from tco.weighing.sensitivity import indices_of

A, B = 7.0, 0.1
D1, D2, D13 = B * np.pi**4 / 5 + B**2 * np.pi**8 / 50 + 0.5, A**2 / 8, 8 * B**2 * np.pi**8 / 225
WHOLE = D1 + D2 + D13
FIRST = {"x1": D1 / WHOLE, "x2": D2 / WHOLE, "x3": 0.0}
TOTAL = {"x1": (D1 + D13) / WHOLE, "x2": D2 / WHOLE, "x3": D13 / WHOLE}


def ishigami(u: np.ndarray) -> np.ndarray:
    x = np.pi * (2.0 * u - 1.0)
    return np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_indices_of_ishigami() -> None:
    found = indices_of(ishigami, ("x1", "x2", "x3"), samples=2**13, seed=3)
    for row in found:
        # a quasi-random estimate with 8,192 samples errs by a few thousandths
        assert row.first_order == pytest.approx(FIRST[row.of], abs=0.01)
        assert row.total == pytest.approx(TOTAL[row.of], abs=0.01)
    assert [row.of for row in found] == ["x1", "x2", "x3"]  # by total, the largest first


def test_each_name_keeps_its_own_column() -> None:
    """A sum of independent parts: each explains its variance, nothing interacts."""
    weights = np.array([1.0, 2.0, 4.0])
    found = indices_of(lambda u: u @ weights, ("one", "two", "four"), samples=2**11, seed=1)
    shares = {"one": 1 / 21, "two": 4 / 21, "four": 16 / 21}
    for row in found:
        assert row.first_order == pytest.approx(shares[row.of], abs=0.01)
        assert row.total == pytest.approx(shares[row.of], abs=0.01)
