from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tco.bank.wiring import string_network
from tco.bank.wiring.current_evening_out import unevenness_evened_out
from tco.bank.wiring.sharing import (
    Limits,
    loosened,
    share,
    share_of_the_best_string,
    usable_current_a,
    with_string_out,
)
from tco.bank.wiring.string_network import StringNetwork

TAKE_OFFS = ("busbars", "diagonal", "one end")
SOC = np.array([0.0, 0.1, 0.2, 0.5, 0.8, 0.9, 1.0])
VOLTS = 8.0 * np.array([2.5, 2.978, 3.169, 3.266, 3.31, 3.314, 3.6])  # a lithium-like shape


def bank(strings: int = 4, take_off="one end", **changes) -> StringNetwork:
    arguments = {
        "strings": strings,
        "string_ohm": 0.020,
        "lead_ohm": 0.0005,
        "link_ohm": 0.0004,
        "open_circuit_v": 26.4,
        "take_off": take_off,
    }
    return StringNetwork(**(arguments | changes))


@pytest.mark.parametrize("take_off", TAKE_OFFS)
def test_one_string_carries_all(take_off) -> None:
    sharing = share(bank(1, take_off), 100.0)
    assert sharing.share == pytest.approx((1.0,))
    assert sharing.unevenness == pytest.approx(1.0)
    leads = 2 * 0.0005 if take_off == "busbars" else 0.0
    assert sharing.bank_ohm == pytest.approx(0.020 + leads)


@pytest.mark.parametrize("strings", [2, 3, 5, 8])
def test_busbars_share_equally(strings: int) -> None:
    sharing = share(bank(strings, "busbars"), 120.0)
    assert sharing.share == pytest.approx((1.0 / strings,) * strings)
    assert sharing.hardest == 0
    assert sharing.bank_ohm == pytest.approx((0.020 + 2 * 0.0005) / strings)


def test_busbars_with_one_aged_string_by_current_divider() -> None:
    """Strings of 21 and 31 milliohm with their leads: 31/52 and 21/52 of the load."""
    sharing = share(bank(2, "busbars", extra_ohm=(0.0, 0.010)), 52.0)
    assert sharing.current_a == pytest.approx((31.0, 21.0))
    assert sharing.joint_heat_w == pytest.approx((0.0, 21.0**2 * 0.010))


def test_two_strings_on_the_diagonal_are_equal() -> None:
    assert share(bank(2, "diagonal"), 80.0).share == pytest.approx((0.5, 0.5))


def test_three_strings_on_the_diagonal_by_hand() -> None:
    """Kirchhoff round strings 1 and 2: the ends carry (R + k)/(3R + 2k), the middle R/(3R + 2k)."""
    r, k = 0.020, 0.0004
    ends, middle = (r + k) / (3 * r + 2 * k), r / (3 * r + 2 * k)
    assert share(bank(3, "diagonal"), 80.0).share == pytest.approx((ends, middle, ends))


@pytest.mark.parametrize("strings", [2, 3, 4, 7])
def test_one_end_is_a_ladder(strings: int) -> None:
    """From the far end: ``Z = R``, then ``Z = 1 / (1/R + 1/(2k + Z))``; string 1 gets Z/R."""
    r, k = 0.020, 0.0004
    seen = [r]
    for _ in range(strings - 1):
        seen.append(1.0 / (1.0 / r + 1.0 / (2 * k + seen[-1])))
    left, shares = 1.0, []
    for z in reversed(seen):
        shares.append(left * z / r)
        left *= 1.0 - z / r
    sharing = share(bank(strings, "one end"), 60.0)
    assert sharing.share == pytest.approx(tuple(shares))
    assert sharing.bank_ohm == pytest.approx(seen[-1])
    assert sharing.hardest == 0


def test_one_end_is_worse_with_more_strings_and_thinner_jumpers() -> None:
    by_count = [share(bank(n), 10.0).unevenness for n in range(1, 9)]
    assert np.all(np.diff(by_count) > 0.0)
    by_link = [share(bank(link_ohm=ohm), 10.0).unevenness for ohm in (1e-5, 1e-4, 1e-3, 1e-2)]
    assert np.all(np.diff(by_link) > 0.0)
    by_string = [share(bank(string_ohm=ohm), 10.0).unevenness for ohm in (0.002, 0.01, 0.05)]
    assert np.all(np.diff(by_string) < 0.0)


@pytest.mark.parametrize("take_off", ["diagonal", "one end"])
def test_perfect_jumpers_share_equally_and_bad_ones_leave_string_1(take_off) -> None:
    """Deviations go with link over string: 1e-8 of it leaves 1e-7; 1e5 leaves the near strings."""
    assert share(bank(link_ohm=2e-10), 10.0).share == pytest.approx((0.25,) * 4, abs=1e-7)
    shares = share(bank(take_off=take_off, link_ohm=2000.0), 0.001).share
    expected = (1.0, 0.0, 0.0, 0.0) if take_off == "one end" else (0.5, 0.0, 0.0, 0.5)
    assert shares == pytest.approx(expected, abs=1e-4)


def test_the_diagonal_spares_the_middle_and_is_better_than_one_end() -> None:
    for strings in (3, 4, 6):
        diagonal, one_end = share(bank(strings, "diagonal"), 9.0), share(bank(strings), 9.0)
        assert diagonal.unevenness < one_end.unevenness
        assert diagonal.share == pytest.approx(diagonal.share[::-1])
        assert min(diagonal.share) == pytest.approx(diagonal.share[strings // 2])


def test_a_missing_string_leaves_its_jumpers() -> None:
    """With the middle of three gone, string 3 is 4 jumpers away: shares (R + 4k) : R."""
    sharing = share(bank(3, missing=frozenset({1})), 50.0)
    total = 2 * 0.020 + 4 * 0.0004
    assert sharing.share == pytest.approx((0.0216 / total, 0.0, 0.020 / total))
    assert sharing.unevenness == pytest.approx(2 * 0.0216 / total)


networks = st.builds(
    lambda n, take_off, r, lead, link, extra, links, out: StringNetwork(
        strings=n,
        string_ohm=r,
        lead_ohm=lead,
        link_ohm=link,
        open_circuit_v=51.2,
        take_off=take_off,
        extra_ohm=tuple(extra[:n]),
        extra_link_ohm=() if take_off == "busbars" else tuple(links[: n - 1]),
        missing=frozenset(k for k in out if k < n - 1),
    ),
    st.integers(1, 6),
    st.sampled_from(TAKE_OFFS),
    st.floats(1e-3, 0.1),
    st.floats(1e-5, 1e-2),
    st.floats(1e-5, 1e-2),
    st.lists(st.sampled_from((0.0, 1e-3, 0.02)), min_size=6, max_size=6),
    st.lists(st.sampled_from((0.0, 1e-3)), min_size=5, max_size=5),
    st.sets(st.integers(0, 5), max_size=2),
)


@settings(max_examples=80, deadline=None)
@given(networks, st.floats(-200.0, 200.0))
def test_shares_sum_to_1_and_energy_balances(network: StringNetwork, load_a: float) -> None:
    if load_a * share(network, 0.0).bank_ohm >= 51.2:
        with pytest.raises(ValueError, match="cannot drive"):
            share(network, load_a)
        return
    sharing = share(network, load_a)
    assert sum(sharing.share) == pytest.approx(1.0, abs=1e-9)
    assert sum(sharing.current_a) == pytest.approx(load_a, abs=1e-7)
    for index, part in enumerate(sharing.share):
        if index not in network.live:
            assert part == 0.0
        elif network.take_off != "diagonal":  # on a diagonal a middle string may even be charged
            assert part > 0.0
    assert sharing.share[sharing.hardest] == pytest.approx(max(sharing.share))
    assert sharing.unevenness >= 1.0 - 1e-9
    made = 51.2 * load_a - sharing.terminal_v * load_a
    assert sum(sharing.heat_w.values()) == pytest.approx(made, rel=1e-8, abs=1e-9)
    assert sharing.terminal_v == pytest.approx(51.2 - load_a * sharing.bank_ohm)


def test_a_weak_jumper_can_turn_a_middle_string_of_a_diagonal_round() -> None:
    """Currents at 100 A from ngspice (.op on the same network): string 4 is charged by the rest."""
    network = StringNetwork(
        6, 2**-8, 2**-7, 2**-7, 51.2, "diagonal", extra_link_ohm=(0.0, 0.0, 0.001, 0.0, 0.0)
    )
    spice = (41.4904, 7.45210, 3.22215, -0.3650119, 6.83362, 41.3667)
    assert share(network, 100.0).current_a == pytest.approx(spice, rel=2e-6)


@settings(max_examples=40, deadline=None)
@given(networks, st.floats(1.0, 300.0))
def test_usable_current_brings_the_hardest_string_to_its_limit(network, limit_a: float) -> None:
    usable_a = usable_current_a(network, Limits(limit_a))
    assert usable_a * max(share(network, 0.0).share) == pytest.approx(limit_a)
    assert usable_a <= limit_a * len(network.live) * (1.0 + 1e-9)


@settings(max_examples=30, deadline=None)
@given(networks)
def test_strings_driving_each_other(network) -> None:
    """Equal rises of all voltages drive nothing; what one string drives into another is mutual."""
    response = string_network.per_volt(network)
    size = np.abs(response).max() * 1e-9 + 1e-9
    np.testing.assert_allclose(response, response.T, atol=size)
    np.testing.assert_allclose(response.sum(axis=1), 0.0, atol=size)


def test_one_out_of_two_on_busbars() -> None:
    out = with_string_out(bank(2, "busbars"), 150.0, Limits(100.0))
    assert out.usable_a == pytest.approx(100.0)
    assert out.overloaded
    assert not with_string_out(bank(2, "busbars"), 99.0, Limits(100.0)).overloaded
    assert with_string_out(bank(2, "busbars"), -101.0, Limits(100.0)).overloaded


@pytest.mark.parametrize("take_off", TAKE_OFFS)
def test_one_out_is_the_worst_of_all_choices(take_off) -> None:
    network = bank(5, take_off)
    out = with_string_out(network, 90.0, Limits(30.0))
    each = [
        usable_current_a(replace(network, missing=frozenset({k})), Limits(30.0)) for k in range(5)
    ]
    assert out.usable_a == pytest.approx(min(each))
    assert each[out.string] == pytest.approx(min(each))
    assert out.sharing.share[out.string] == 0.0
    assert out.usable_a < usable_current_a(network, Limits(30.0))


def test_of_equals_the_first_is_named() -> None:
    """Strings on busbars are all alike, so that string 1 stands for them."""
    four = bank(4, "busbars")
    assert with_string_out(four, 90.0, Limits(100.0)).string == 0
    assert loosened(four, 90.0).place == "string 1"


def test_the_last_string_cannot_be_spared() -> None:
    with pytest.raises(ValueError, match="no others"):
        with_string_out(bank(3, missing=frozenset({0, 1})), 10.0, Limits(100.0))


def test_100_a_through_1_milliohm_is_10_w() -> None:
    loose = loosened(bank(1), 100.0)
    assert loose.heat_w == pytest.approx(10.0)
    assert loose.current_a == pytest.approx(100.0)
    for word in ("10.0 W", "Stop", "isolate", "competent", "10%", "20%", "IEEE 450"):
        assert word in loose.caution


def test_a_loosened_lead_by_current_divider() -> None:
    """Strings of 21 and 22 milliohm: 21/43 of 86 A is 42 A, which makes 1.764 W in 1 milliohm."""
    loose = loosened(bank(2, "busbars"), 86.0, string=1)
    assert loose.heat_w == pytest.approx(42.0**2 * 0.001)
    assert loose.share == pytest.approx(21.0 / 43.0)
    assert (loose.hardest, loose.hardest_share) == (0, pytest.approx(22.0 / 43.0))
    assert loose.place == "string 2"


def test_the_hottest_place_is_the_first_jumper() -> None:
    """In a bank taken from one end the first jumper carries all but string 1's current."""
    loose = loosened(bank(4), 100.0)
    assert loose.place == "jumper 1-2"
    assert loose.current_a == pytest.approx(100.0 * (1.0 - loose.hardest_share))
    assert loose.heat_w == pytest.approx(loose.current_a**2 * 0.001)
    assert loose.heat_w > loosened(bank(4), 100.0, string=0).heat_w
    assert loose.hardest_share > max(share(bank(4), 100.0).share)


def test_only_the_added_part_of_a_joint_is_counted() -> None:
    """Strings of 21 and 23 milliohm at 44 A: 21 A through the joint, of which 1 milliohm is new."""
    worse = loosened(bank(2, "busbars", extra_ohm=(0.0, 0.001)), 44.0, string=1)
    assert worse.current_a == pytest.approx(21.0)
    assert worse.heat_w == pytest.approx(0.441)


def even(network: StringNetwork, load_a: float = 100.0, **changes):
    arguments = {"soc": SOC, "volts": VOLTS, "capacity_ah": 100.0}
    return unevenness_evened_out(network, load_a, **(arguments | changes))


def test_equal_strings_stay_equal() -> None:
    evened = even(bank(4, "busbars"), depth=1.0)
    assert evened.depth == pytest.approx((1.0,) * 4)
    assert evened.hours == pytest.approx(4.0)
    assert not evened.ended_early


def test_a_flat_curve_evens_nothing() -> None:
    evened = even(bank(3), soc=[0.0, 1.0], volts=[26.0, 26.0], depth=0.5)
    assert evened.share == pytest.approx(share(bank(3), 100.0).share)
    assert evened.unevenness == pytest.approx(evened.start_unevenness)


def test_a_flat_curve_ends_with_the_hardest_string() -> None:
    """At constant shares string 1 empties its 100 Ah when it has carried 100 Ah."""
    first = share(bank(3, link_ohm=0.004), 100.0).current_a[0]
    evened = even(bank(3, link_ohm=0.004), soc=[0.0, 1.0], volts=[26.0, 26.0], depth=1.0)
    assert evened.ended_early
    assert evened.hours == pytest.approx(100.0 / first)
    assert evened.depth[0] == pytest.approx(1.0)


def test_two_strings_on_a_straight_curve_in_closed_form() -> None:
    """Two strings on busbars, one with more resistance, on a line of slope m.

    The difference of charge q obeys ``dq/dt = load (g1 - g2)/(g1 + g2) - 2 g q m / C`` with
    ``g = g1 g2 / (g1 + g2)``: it rises with the time constant ``C / (2 g m)`` to a limit.
    """
    g1, g2, slope, capacity_ah, load_a = 1 / 0.021, 1 / 0.051, 6.0, 100.0, 40.0
    evened = even(
        bank(2, "busbars", extra_ohm=(0.0, 0.030)), load_a, soc=[0, 1], volts=[20, 20 + slope],
        depth=0.6, tolerance=1e-6,
    )  # fmt: skip
    hours = 0.6 * 2 * capacity_ah / load_a
    tau_h = capacity_ah * (g1 + g2) / (2 * g1 * g2 * slope)
    gap_ah = load_a * (g1 - g2) / (g1 + g2) * tau_h * (1.0 - np.exp(-hours / tau_h))
    each = np.array([load_a * hours + gap_ah, load_a * hours - gap_ah]) / 2.0
    assert evened.hours == pytest.approx(hours)
    # some hundred steps, each good to well under its tolerance of 1e-6
    assert evened.depth == pytest.approx(tuple(each / capacity_ah), abs=1e-5)


@pytest.mark.parametrize(("string_ohm", "link_ohm"), [(0.02, 0.001), (0.001, 0.0003), (0.05, 0.01)])
def test_evening_agrees_with_a_fine_integration(string_ohm: float, link_ohm: float) -> None:
    """scipy's Radau at 1e-9, with its own right-hand side."""
    network = bank(4, string_ohm=string_ohm, link_ohm=link_ohm)
    driven = np.array(share(network, 100.0).current_a)
    response = string_network.per_volt(network)
    result = solve_ivp(
        lambda _, z: -(driven + response @ np.interp(z, SOC, VOLTS)) / 100.0,
        (0.0, 3.2), np.ones(4), method="Radau", rtol=1e-9, atol=1e-11, max_step=0.02,
    )  # fmt: skip
    fine = tuple(1.0 - result.y[:, -1])
    assert even(network).depth == pytest.approx(fine, abs=1e-3)
    assert even(network, tolerance=1e-5).depth == pytest.approx(fine, abs=1e-5)


@settings(max_examples=30, deadline=None)
@given(networks, st.floats(1.0, 200.0), st.floats(0.1, 1.0))
def test_evening_keeps_the_charge(network: StringNetwork, load_a: float, depth: float) -> None:
    evened = even(network, load_a, depth=depth)
    assert sum(evened.depth) * 100.0 == pytest.approx(load_a * evened.hours, rel=1e-6)
    assert sum(evened.share) == pytest.approx(1.0, rel=1e-6)
    assert evened.unevenness <= evened.start_unevenness * (1.0 + 1e-6)
    assert evened.ended_early or sum(evened.depth) == pytest.approx(depth * len(network.live))


def test_a_smaller_string_goes_deeper() -> None:
    evened = even(bank(2, "busbars"), capacity_ah=(100.0, 60.0), depth=0.7)
    assert evened.depth[1] > evened.depth[0]
    assert evened.share[1] < 0.5


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"take_off": "star"}, "take_off must be one of"),
        ({"strings": 0}, "at least one string"),
        ({"string_ohm": 0.0}, "string_ohm must be"),
        ({"link_ohm": 0.0}, "link_ohm must be"),
        ({"link_ohm": float("nan")}, "link_ohm must be"),
        ({"take_off": "busbars", "lead_ohm": 0.0}, "lead_ohm must be"),
        ({"lead_ohm": -1.0}, "lead_ohm must be"),
        ({"open_circuit_v": 0.0}, "open_circuit_v must be"),
        ({"extra_ohm": (0.1,)}, "extra_ohm has 1 numbers where 4 belong"),
        ({"extra_ohm": (0.0, 0.0, 0.0, -0.1)}, "extra_ohm must be finite and not negative"),
        ({"extra_link_ohm": (0.1,) * 4}, "extra_link_ohm has 4 numbers where 3 belong"),
        ({"missing": frozenset({4})}, "numbered 0 to 3"),
        ({"missing": frozenset(range(4))}, "every string is missing"),
    ],
)
def test_networks_out_of_range(changes, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        bank(**changes)


def test_unused_resistances_may_be_zero() -> None:
    assert share(bank(lead_ohm=0.0), 1.0).share[0] > 0.25
    assert share(bank(take_off="busbars", link_ohm=0.0), 1.0).share == pytest.approx((0.25,) * 4)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda n: share(n, float("nan")), "load_a must be finite"),
        (lambda n: share(n, 1e5), "cannot drive"),
        (lambda n: usable_current_a(n, Limits(0.0)), "string_a must be"),
        (lambda n: loosened(n, 10.0, 0.0), "extra_ohm must be"),
        (lambda n: loosened(n, 10.0, string=4), "not one of the working"),
        (lambda n: even(n, 0.0), "load_a"),
        (lambda n: even(n, depth=1.1), "depth must be at most 1"),
        (lambda n: even(n, tolerance=0.0), "tolerance must be"),
        (lambda n: even(n, capacity_ah=(1.0, 2.0)), "capacity_ah must be one number or 4"),
        (lambda n: even(n, capacity_ah=0.0), "capacity_ah must be finite"),
        (lambda n: even(n, soc=[0.1, 1.0], volts=[1.0, 2.0]), "soc must rise from 0 to 1"),
        (lambda n: even(n, soc=[0.0, 1.0], volts=[2.0, 1.0]), "must not fall"),
        (lambda n: even(n, soc=[0.0, 1.0], volts=[2.0]), "same length"),
    ],
)
def test_arguments_out_of_range(call, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        call(bank())


@pytest.mark.parametrize("take_off", ["diagonal", "one end"])
def test_a_jumper_may_be_what_limits_the_rest(take_off) -> None:
    """By hand: with the first of three strings out, all the load passes the first jumper of at
    least one side, so that no more may be drawn than a jumper carries."""
    network = bank(3, take_off)
    left = replace(network, missing=frozenset({0}))
    assert usable_current_a(left, Limits(1e6, jumper_a=70.0)) == pytest.approx(70.0)
    out = with_string_out(network, 60.0, Limits(1e6, jumper_a=70.0))
    assert (out.usable_a, out.limited_by) == (pytest.approx(70.0), "jumper")


def test_the_main_run_limits_what_all_give_together() -> None:
    out = with_string_out(
        bank(4, "busbars"), 90.0, Limits(100.0, bank_a=120.0, bank_by="main fuse")
    )
    assert (out.usable_a, out.limited_by) == (120.0, "main fuse")
    assert with_string_out(bank(4, "busbars"), 121.0, Limits(100.0, bank_a=120.0)).overloaded


def test_the_best_string_takes_more_by_what_its_packs_have_less() -> None:
    """By hand: on busbars without leads worth speaking of, packs of 0.8 R beside packs of R take
    1.25 / (1.25 + n - 1); never more than 1.25 times an equal share."""
    for strings in (2, 3, 8):
        network = StringNetwork(strings, 0.010, 1e-9, 0.0, 12.8, "busbars")
        part = share_of_the_best_string(network, 0.010)
        uneven = replace(network, string_ohm=0.008, extra_ohm=(0.0, *[0.002] * (strings - 1)))
        assert part == pytest.approx(share(uneven, 100.0).share[0])
        assert part == pytest.approx(1.25 / (1.25 + strings - 1), rel=1e-5)
        assert 1.0 / strings < part < 1.25 / strings


def test_from_one_end_the_hardest_string_takes_more_than_a_quarter_over_its_share() -> None:
    """Which is why no fixed margin serves: thin jumpers leave most of the load to the first."""
    network = StringNetwork(4, 0.003, 0.0, 0.001, 12.8, "one end")
    assert share_of_the_best_string(network, 0.003) > 1.25 / 4
