"""The library behind the global sensitivities, on the function everybody checks with.

Ishigami's function, sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1 with x uniform on (-pi, pi); first-order
and total indices in closed form, Saltelli et al., Global Sensitivity Analysis (2008), section 4.6
(from memory; they follow from the variances D1 = b pi^4/5 + b^2 pi^8/50 + 1/2, D2 = a^2/8,
D13 = 8 b^2 pi^8/225).
"""

import numpy as np
import pytest
from scipy import stats

FIRST = (0.313905, 0.442411, 0.0)
TOTAL = (0.557589, 0.442411, 0.243684)
SIXTH_DIGIT = 0.5e-6


def test_closed_form() -> None:
    a, b = 7.0, 0.1
    one = b * np.pi**4 / 5 + b**2 * np.pi**8 / 50 + 0.5
    two, both = a**2 / 8, 8 * b**2 * np.pi**8 / 225
    whole = one + two + both
    assert one / whole == pytest.approx(FIRST[0], abs=SIXTH_DIGIT)
    assert two / whole == pytest.approx(FIRST[1], abs=SIXTH_DIGIT)
    assert (one + both) / whole == pytest.approx(TOTAL[0], abs=SIXTH_DIGIT)
    assert both / whole == pytest.approx(TOTAL[2], abs=SIXTH_DIGIT)


def test_sobol_indices_of_scipy() -> None:
    def ishigami(x):
        return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])

    uniform = stats.uniform(loc=-np.pi, scale=2 * np.pi)
    found = stats.sobol_indices(
        func=ishigami, n=2**14, dists=[uniform] * 3, rng=np.random.default_rng(4)
    )
    # quasi-random: an error of about 1/n times a few; random draws would err by 0.01
    np.testing.assert_allclose(found.first_order, FIRST, atol=0.004)
    np.testing.assert_allclose(found.total_order, TOTAL, atol=0.004)
