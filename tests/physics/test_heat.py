"""Temperature of the battery's space, and how packs follow it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.physics.heat import (
    EXPOSED_SHARE,
    FOAM_W_PER_M_K,
    SURFACE_W_PER_M2_K,
    insulated_share,
    space_temperature_degc,
    surface_conductance_w_per_k,
)

outdoors = st.floats(-40.0, 45.0)


@given(outdoors)
def test_without_warmth_the_space_is_outdoors(degc: float) -> None:
    assert space_temperature_degc(degc, living_degc=18.0, warmth=0.0) == degc


@given(outdoors)
def test_with_full_warmth_it_is_the_living_space_and_never_cooled(degc: float) -> None:
    got = space_temperature_degc(degc, living_degc=18.0, warmth=1.0)
    assert got == pytest.approx(max(degc, 18.0))


def test_a_share_of_the_difference() -> None:
    assert space_temperature_degc(-10.0, living_degc=20.0, warmth=0.35) == pytest.approx(0.5)


def test_nobody_there_nothing_heated() -> None:
    got = space_temperature_degc(
        [-10.0, -10.0, 30.0], living_degc=20.0, warmth=0.5, occupied=[True, False, True]
    )
    np.testing.assert_allclose(got, [5.0, -10.0, 30.0])


@given(outdoors, st.floats(0.0, 1.0))
def test_the_space_lies_between_outdoors_and_indoors(degc: float, warmth: float) -> None:
    got = space_temperature_degc(degc, living_degc=18.0, warmth=warmth)
    assert degc - 1e-12 <= got <= max(degc, 18.0) + 1e-12


def test_array_equals_scalar() -> None:
    degc = np.array([-20.0, 0.0, 18.0, 35.0])
    many = space_temperature_degc(degc, living_degc=18.0, warmth=0.4)
    ones = [space_temperature_degc(float(t), living_degc=18.0, warmth=0.4) for t in degc]
    np.testing.assert_array_equal(many, ones)
    assert isinstance(ones[0], float)


@pytest.mark.parametrize("warmth", [-0.01, 1.01])
def test_warmth_is_a_fraction(warmth: float) -> None:
    with pytest.raises(ValueError, match="warmth must be between 0 and 1"):
        space_temperature_degc(0.0, living_degc=18.0, warmth=warmth)


def test_a_cube_of_one_metre_has_six_square_metres() -> None:
    got = surface_conductance_w_per_k(1000.0, 1000.0, 1000.0, packs=1)
    assert got == pytest.approx(6.0 * SURFACE_W_PER_M2_K * EXPOSED_SHARE)


def test_conductance_by_hand_and_by_number() -> None:
    one = surface_conductance_w_per_k(300.0, 200.0, 100.0, packs=1)
    # 2 (0.06 + 0.03 + 0.02) m2 = 0.22 m2, 0.7 of it, at 5 W/(m2 K)
    assert one == pytest.approx(0.77)
    assert surface_conductance_w_per_k(300.0, 200.0, 100.0, packs=4) == pytest.approx(4 * one)


@pytest.mark.parametrize(
    "asked", [(0.0, 1.0, 1.0, 1), (1.0, -1.0, 1.0, 1), (1.0, 1.0, 0.0, 1), (1.0, 1.0, 1.0, 0)]
)
def test_a_bank_has_packs_and_packs_have_size(asked: tuple[float, float, float, int]) -> None:
    with pytest.raises(ValueError, match="at least one pack"):
        surface_conductance_w_per_k(*asked[:3], packs=asked[3])


def test_foam_by_hand() -> None:
    # surface 1/5 = 0.2 m2 K/W, 35 mm of 0.035 W/(m K) 1.0 m2 K/W: 0.2 of 1.2
    assert insulated_share(35.0, w_per_m_k=0.035) == pytest.approx(1.0 / 6.0)
    # 50 mm of 0.025: 2.0, so 0.2 of 2.2
    assert insulated_share(50.0, w_per_m_k=0.025) == pytest.approx(1.0 / 11.0)


def test_no_foam_no_change() -> None:
    assert insulated_share(0.0) == 1.0


@given(st.floats(0.0, 300.0), st.floats(0.015, 0.1))
def test_resistances_in_series_add(foam_mm: float, w_per_m_k: float) -> None:
    together = 1.0 / (SURFACE_W_PER_M2_K * insulated_share(foam_mm, w_per_m_k=w_per_m_k))
    apart = 1.0 / SURFACE_W_PER_M2_K + foam_mm / 1000.0 / w_per_m_k
    assert together == pytest.approx(apart)
    assert insulated_share(foam_mm + 1.0, w_per_m_k=w_per_m_k) < 1.0 / (SURFACE_W_PER_M2_K * apart)


def test_foam_is_what_handbooks_say() -> None:
    # expanded and extruded polystyrene, from memory: 0.030 to 0.040 W/(m K)
    assert 0.030 <= FOAM_W_PER_M_K <= 0.040


@pytest.mark.parametrize(("foam_mm", "w_per_m_k"), [(-1.0, 0.035), (20.0, 0.0), (20.0, -0.1)])
def test_foam_has_thickness_and_conducts(foam_mm: float, w_per_m_k: float) -> None:
    with pytest.raises(ValueError, match=r"foam_mm must not be below|w_per_m_k must be above"):
        insulated_share(foam_mm, w_per_m_k=w_per_m_k)
