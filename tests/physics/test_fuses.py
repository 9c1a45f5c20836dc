import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tco.physics.fuse_classes import (
    ANL,
    BLADE,
    BREAKERS,
    CHEAPEST_FIRST,
    CLASS_T,
    INSTALLED,
    MEGA,
    MRBF,
    FuseClass,
    find_fuse_class,
    interrupt_rating_a,
)
from tco.physics.fuses import (
    FuseDuty,
    NoFuseFits,
    choose_fuse,
    prospective_short_circuit_a,
    shortcomings,
)


def fuse_for(**changes):
    arguments = {
        "load_current_a": 80.0,
        "conductor_ampacity_a": 120.0,
        "voltage_v": 14.6,
        "prospective_a": 1_500.0,
    }
    arguments |= changes
    classes = arguments.pop("classes_in_order", CHEAPEST_FIRST)
    return choose_fuse(FuseDuty(**arguments), classes_in_order=classes)


def test_interrupt_rating_falls_in_steps_at_the_voltage_limits() -> None:
    assert interrupt_rating_a(MRBF, 14.0) == interrupt_rating_a(MRBF, 1.0)
    assert interrupt_rating_a(MRBF, 14.01) < interrupt_rating_a(MRBF, 14.0)
    assert MRBF.max_voltage_v == 32.0
    with pytest.raises(ValueError, match=r"up to 32 V, not at 58\.4 V"):
        interrupt_rating_a(MRBF, 58.4)


@pytest.mark.parametrize("fuse_class", INSTALLED, ids=lambda c: c.name)
def test_classes_can_be_found_by_name(fuse_class: FuseClass) -> None:
    assert find_fuse_class(fuse_class.name.upper()) is fuse_class


def test_no_breaker_is_ever_chosen_to_buy() -> None:
    assert not set(BREAKERS) & set(CHEAPEST_FIRST)


def test_unknown_class() -> None:
    with pytest.raises(ValueError, match="class T"):
        find_fuse_class("class Z")


@pytest.mark.parametrize(
    ("interrupt", "ratings", "word"),
    [
        ((), (10.0,), "voltages"),
        (((32.0, 1e3), (14.0, 2e3)), (10.0,), "voltages"),
        (((14.0, 1e3), (32.0, 2e3)), (10.0,), "cannot rise"),
        (((32.0, 1e3),), (20.0, 10.0), "ratings"),
        (((32.0, 1e3),), (), "ratings"),
        (((32.0, 1e3),), (10.0, 10.0), "ratings"),
        (((32.0, 2e3), (32.0, 1e3)), (10.0,), "voltages"),
        (((32.0, 1e3),), (0.0, 10.0), "above zero"),
    ],
)
def test_a_class_must_make_sense(interrupt, ratings, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        FuseClass("odd", interrupt, ratings)


def test_prospective_current_limits_and_arrays() -> None:
    assert prospective_short_circuit_a(12.0, 0.002, 0.0) == pytest.approx(6000.0)
    assert prospective_short_circuit_a(12.0, 0.0, 0.002) == pytest.approx(6000.0)
    inside = np.array([0.001, 0.002, 0.05])
    np.testing.assert_array_equal(
        prospective_short_circuit_a(12.0, inside, np.full(3, 0.001)),
        [prospective_short_circuit_a(12.0, float(r), 0.001) for r in inside],
    )
    with pytest.raises(ValueError, match="no bound"):
        prospective_short_circuit_a(12.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="internal_resistance_ohm"):
        prospective_short_circuit_a(12.0, -0.001, 0.01)
    with pytest.raises(ValueError, match="conductor_resistance_ohm"):
        prospective_short_circuit_a(12.0, 0.001, float("inf"))
    with pytest.raises(ValueError, match="voltage_v"):
        prospective_short_circuit_a(0.0, 0.001, 0.01)


@given(
    load_a=st.floats(0.5, 500.0),
    ampacity_a=st.floats(10.0, 900.0),
    voltage_v=st.floats(10.0, 130.0),
    prospective_a=st.floats(700.0, 25_000.0),
)
def test_a_choice_passes_all_checks_and_a_refusal_can_be_cured_as_it_says(
    load_a, ampacity_a, voltage_v, prospective_a
) -> None:
    arguments = {
        "load_current_a": load_a,
        "voltage_v": voltage_v,
        "prospective_a": prospective_a,
    }
    try:
        choice = fuse_for(conductor_ampacity_a=ampacity_a, **arguments)
    except NoFuseFits as refusal:
        needed_a = refusal.ampacity_needed_a
        if needed_a is None:
            with pytest.raises(NoFuseFits):
                fuse_for(conductor_ampacity_a=1e6, **arguments)
        else:
            assert needed_a > ampacity_a
            assert fuse_for(conductor_ampacity_a=needed_a, **arguments).rating_a == needed_a
            with pytest.raises(NoFuseFits):
                fuse_for(conductor_ampacity_a=needed_a * 0.999, **arguments)
        return
    assert choice.rating_a in choice.fuse_class.ratings_a
    assert load_a / 0.8 <= choice.rating_a * (1 + 1e-8)
    assert choice.rating_a <= ampacity_a * (1 + 1e-8)
    assert voltage_v <= choice.fuse_class.max_voltage_v
    assert choice.interrupt_a == interrupt_rating_a(choice.fuse_class, voltage_v) >= prospective_a


def test_exactly_at_the_limits_passes() -> None:
    choice = fuse_for(load_current_a=80.0, conductor_ampacity_a=100.0, prospective_a=2_000.0)
    assert (choice.fuse_class.name, choice.rating_a) == ("MIDI", 100.0)


@pytest.mark.parametrize("fuse_class", INSTALLED, ids=lambda c: c.name)
def test_a_class_serves_up_to_its_voltage_and_not_beyond(fuse_class: FuseClass) -> None:
    """A fuse marked 32 V DC may be used at 32 V: the marking is the highest voltage allowed."""
    limit_v, interrupt_a = fuse_class.interrupt_by_voltage[-1]
    arguments = {
        "load_current_a": 24.0, "prospective_a": interrupt_a, "classes_in_order": [fuse_class],
    }  # fmt: skip
    choice = fuse_for(voltage_v=limit_v, **arguments)
    assert (choice.fuse_class, choice.interrupt_a) == (fuse_class, interrupt_a)
    with pytest.raises(NoFuseFits, match=f"stops at {limit_v:g} V"):
        fuse_for(voltage_v=limit_v + 0.1, **arguments)


def test_last_digits_move_no_size() -> None:
    """80 A asks for a fuse of 100 A, on a conductor for 100 A, however the figures were summed."""
    for up in (1.0 - 1e-12, 1.0 + 1e-12):
        assert fuse_for(load_current_a=80.0 * up).rating_a == 100.0
        assert fuse_for(conductor_ampacity_a=100.0 * up).rating_a == 100.0


def test_the_least_ampacity_that_does_is_named() -> None:
    """120 A for a load of 96: MIDI and others have 125 A, ANL only 130 A."""
    with pytest.raises(NoFuseFits) as caught:
        fuse_for(load_current_a=96.0)
    assert caught.value.ampacity_needed_a == 125.0


def test_order_of_classes_is_the_callers() -> None:
    assert fuse_for(classes_in_order=[ANL, MEGA]).fuse_class is ANL
    assert fuse_for(classes_in_order=[MEGA, ANL]).fuse_class is MEGA


def test_reason_tells_what_was_passed_over() -> None:
    reason = fuse_for(prospective_a=8_000.0).reason
    assert "class T 110 A" in reason
    assert "ANL interrupts only 6,000 A" in reason
    assert "blade" in reason


def test_fill_of_one_takes_the_load_itself() -> None:
    assert fuse_for(fill=1.0).rating_a == 80.0


def test_a_larger_conductor_does_not_help_against_a_hard_fault() -> None:
    with pytest.raises(NoFuseFits, match="does not help") as caught:
        fuse_for(prospective_a=60_000.0)
    assert caught.value.ampacity_needed_a is None
    with pytest.raises(NoFuseFits, match="stops at 32 V"):
        fuse_for(voltage_v=58.4, classes_in_order=[BLADE, MEGA, ANL])
    with pytest.raises(NoFuseFits, match="class T ends at 400 A"):
        fuse_for(load_current_a=900.0, conductor_ampacity_a=2_000.0, classes_in_order=[CLASS_T])


def test_a_short_too_weak_to_open_the_fuse() -> None:
    for short_a in (90.0, 100.0):  # a fuse carries its rating for ever: it opens above it only
        with pytest.raises(ValueError, match="could not open"):
            fuse_for(prospective_a=short_a)
    with pytest.raises(NoFuseFits, match="would not open"):
        fuse_for(load_current_a=85.0, prospective_a=108.0, classes_in_order=[CLASS_T])
    with pytest.raises(NoFuseFits, match="would not open"):
        fuse_for(load_current_a=72.0, prospective_a=100.0, classes_in_order=[MEGA])


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"load_current_a": 0.0}, "load_current_a"),
        ({"conductor_ampacity_a": -5.0}, "conductor_ampacity_a"),
        ({"voltage_v": float("nan")}, "voltage_v"),
        ({"prospective_a": float("inf")}, "prospective_a"),
        ({"fill": 0.0}, "fill"),
        ({"fill": 80.0}, "fill"),
        ({"classes_in_order": []}, "classes_in_order"),
    ],
)
def test_arguments_out_of_range(changes: dict, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        fuse_for(**changes)


@pytest.mark.parametrize("fuse_class", INSTALLED, ids=lambda c: c.name)
def test_an_overload_is_borne_for_less_time_the_larger_it_is(fuse_class: FuseClass) -> None:
    multiples = np.linspace(1.0, 8.0, 200)
    times = [fuse_class.held_s(float(multiple)) for multiple in multiples]
    assert times == sorted(times, reverse=True)
    assert fuse_class.held_s(1.0) == float("inf")
    assert fuse_class.held_s(8.0) == 0.0
    for multiple, seconds in fuse_class.holds[1:]:
        assert fuse_class.held_s(multiple) == pytest.approx(seconds)


def test_between_two_points_the_curve_is_straight_on_logarithmic_paper() -> None:
    """Geometric means of both ends meet: at 1.643 = sqrt(1.35 x 2) MEGA bears sqrt(120 x 1) s."""
    assert MEGA.held_s((1.35 * 2.0) ** 0.5) == pytest.approx(120.0**0.5)


def test_a_curve_must_make_sense() -> None:
    for holds, word in ((((1.0, 10.0), (2.0, 20.0)), "for longer"), (((2.0, 1.0), (1.0, 2.0)),
                        "multiples"), (((1.0, 0.0),), "above zero")):  # fmt: skip
        with pytest.raises(ValueError, match=word):
            FuseClass("odd", ((32.0, 1e3),), (10.0,), holds)


@given(
    load_a=st.floats(5.0, 300.0),
    times=st.floats(1.0, 6.0),
    seconds=st.floats(0.0, 30.0),
)
def test_a_choice_bears_its_surge(load_a: float, times: float, seconds: float) -> None:
    surge = {"surge_a": load_a * times, "surge_s": seconds}
    duty = {"load_current_a": load_a, "conductor_ampacity_a": 1e4, "prospective_a": 4_000.0}
    try:
        choice = fuse_for(**duty, **surge)
    except NoFuseFits:
        return
    assert choice.fuse_class.held_s(load_a * times / choice.rating_a) >= seconds * (1 - 1e-8)
    calm = fuse_for(**duty)
    if calm.fuse_class == choice.fuse_class:
        assert calm.rating_a <= choice.rating_a


def test_a_surge_asks_for_a_larger_fuse_and_says_so() -> None:
    """80 A for long take 100 A. 300 A are three times that: MEGA may open after 0.45 s."""
    calm = fuse_for(classes_in_order=[MEGA])
    surge = fuse_for(
        classes_in_order=[MEGA], surge_a=300.0, surge_s=5.0, conductor_ampacity_a=400.0
    )
    assert (calm.rating_a, surge.rating_a) == (100.0, 175.0)
    assert "bears 300 A for 5 s" in surge.reason
    (lack,) = shortcomings(MEGA, 100.0, FuseDuty(80.0, 120.0, 14.6, 1_500.0, surge_a=300.0,
                                                 surge_s=5.0))  # fmt: skip
    assert lack.lack == "surge"
    assert "no more than" in lack.words


def test_whoever_asks_gets_the_same_answer() -> None:
    """What is chosen lacks nothing; the next smaller rating of its class lacks something."""
    duty = FuseDuty(80.0, 200.0, 14.6, 1_500.0, surge_a=200.0, surge_s=5.0)
    choice = choose_fuse(duty)
    assert shortcomings(choice.fuse_class, choice.rating_a, duty) == ()
    smaller = [r for r in choice.fuse_class.ratings_a if r < choice.rating_a]
    assert shortcomings(choice.fuse_class, smaller[-1], duty)


def test_the_smallest_fault_opens_it_too() -> None:
    with pytest.raises(NoFuseFits, match="would not open"):
        fuse_for(least_fault_a=101.0, load_current_a=80.0, conductor_ampacity_a=2_000.0,
                 classes_in_order=[CLASS_T])  # fmt: skip
    assert fuse_for(least_fault_a=101.0).rating_a == 100.0
