from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tco.physics.network import WIDEST_SPREAD, Resistor, Sink, Source, solve, source_response

CELL = Source("cell", "+", "-", 12.0, 0.5)


def test_voltage_divider_by_hand() -> None:
    """12 V behind 0.5 ohm on 1.5 and 4 ohm in series: 2 A, 8 V across the 4 ohm."""
    solution = solve([Resistor("a", "+", "m", 1.5), Resistor("b", "m", "-", 4.0)], [CELL],
                     reference="-")  # fmt: skip
    assert solution.volts == pytest.approx({"-": 0.0, "m": 8.0, "+": 11.0})
    assert solution.current_a == pytest.approx({"a": 2.0, "b": 2.0, "cell": 2.0})
    assert solution.heat_w == pytest.approx({"a": 6.0, "b": 16.0, "cell": 2.0})
    assert solution.source_w["cell"] == pytest.approx(24.0)


def test_unbalanced_bridge_by_hand() -> None:
    """Wheatstone bridge of 1, 2 over 3, 4 ohm, 5 ohm across, 2 A in at the top.

    ``(1 + 1/3 + 1/5) u - w/5 = t``, ``(1/2 + 1/4 + 1/5) w - u/5 = t/2`` and
    ``(t - u) + (t - w)/2 = 2`` eliminated in fractions: t 340/71, u 252/71, w 232/71 V.
    """
    ohms = {"tu": 1.0, "tw": 2.0, "ub": 3.0, "wb": 4.0, "uw": 5.0}
    resistors = [Resistor(n, n[0], n[1], ohm) for n, ohm in ohms.items()]
    solution = solve(resistors, sinks=[Sink("feed", "b", "t", 2.0)], reference="b")
    expected = {"b": 0.0, "t": 340.0 / 71.0, "u": 252.0 / 71.0, "w": 232.0 / 71.0}
    assert solution.volts == pytest.approx(expected)
    assert solution.current_a["uw"] == pytest.approx(4.0 / 71.0)


def test_balanced_bridge_carries_nothing_across() -> None:
    resistors = [
        Resistor("tu", "t", "u", 1.0),
        Resistor("tw", "t", "w", 2.0),
        Resistor("ub", "u", "b", 3.0),
        Resistor("wb", "w", "b", 6.0),
        Resistor("uw", "u", "w", 5.0),
    ]
    solution = solve(resistors, [replace(CELL, positive="t", negative="b")], reference="b")
    assert solution.current_a["uw"] == pytest.approx(0.0, abs=1e-14)


def test_a_charging_sink_and_a_charged_source() -> None:
    """Minus 4 A drawn is 4 A put in: 12 + 4 x 0.5 = 14 V; 48 W stored, 8 W heat, 56 W supplied."""
    solution = solve([], [CELL], [Sink("charger", "+", "-", -4.0)], reference="-")
    assert solution.volts["+"] == pytest.approx(14.0)
    assert solution.current_a["cell"] == pytest.approx(-4.0)
    assert solution.source_w["cell"] == pytest.approx(-48.0)
    assert solution.sink_w["charger"] == pytest.approx(-56.0)
    assert solution.heat_w["cell"] == pytest.approx(8.0)


def test_two_unequal_sources_by_hand() -> None:
    """Millman: (13/1 + 12/2) / (1/1 + 1/2) = 12.667 V, so 1/3 A flows from one into the other."""
    sources = [Source("a", "+", "-", 13.0, 1.0), Source("b", "+", "-", 12.0, 2.0)]
    current = solve([], sources, reference="-").current_a
    assert current == pytest.approx({"a": 1.0 / 3.0, "b": -1.0 / 3.0})
    response = source_response([], sources, reference="-")
    np.testing.assert_allclose(response, np.array([[1.0, -1.0], [-1.0, 1.0]]) / 3.0, rtol=1e-12)


@pytest.mark.parametrize(
    ("resistors", "sources", "sinks", "word"),
    [
        ([Resistor("r", "+", "-", 0.0)], [CELL], [], "r: the resistance must be"),
        ([Resistor("r", "+", "-", -1.0)], [CELL], [], "r: the resistance must be"),
        ([Resistor("r", "+", "-", float("nan"))], [CELL], [], "r: the resistance must be"),
        ([], [replace(CELL, ohm=0.0)], [], "cell: the resistance must be"),
        ([], [replace(CELL, volts=float("inf"))], [], "cell: the voltage must be finite"),
        ([], [CELL], [Sink("load", "+", "-", float("nan"))], "load: the current must be finite"),
        ([Resistor("cell", "+", "-", 1.0)], [CELL], [], "two elements are called 'cell'"),
        ([], [CELL], [Sink("cell", "+", "-", 1.0)], "two elements are called 'cell'"),
        ([Resistor("r", "x", "x", 1.0)], [CELL], [], "r: both ends are on node 'x'"),
        ([Resistor("r", "x", "y", 1.0)], [CELL], [], "node 'x' has no conducting path"),
        ([], [CELL], [Sink("load", "+", "far", 1.0)], "node 'far' has no conducting path"),
        ([Resistor("r", "+", "0", 1.0)], [replace(CELL, negative="0")], [], "no element touches"),
        ([Resistor("r", "+", "-", 1.0 / WIDEST_SPREAD)], [CELL], [], None),
        ([Resistor("r", "+", "-", 0.4 / WIDEST_SPREAD)], [CELL], [], "too far apart"),
        ([], [CELL], [Sink("load", "+", "-", 1e200)], "too large"),
    ],
)  # fmt: skip
def test_refusals(resistors, sources, sinks, word) -> None:
    if word is None:
        solve(resistors, sources, sinks, reference="-")
        return
    with pytest.raises(ValueError, match=word):
        solve(resistors, sources, sinks, reference="-")


def test_response_refuses_the_same() -> None:
    with pytest.raises(ValueError, match="node 'x' has no conducting path"):
        source_response([Resistor("r", "x", "y", 1.0)], [CELL], reference="-")


OHMS = st.floats(1e-4, 10.0)


@st.composite
def meshes(draw):
    """A random connected network: a tree over all nodes, more resistors, sources and sinks."""
    nodes = [f"n{k}" for k in range(draw(st.integers(2, 7)))]
    resistors = [
        Resistor(f"tree {k}", nodes[k], nodes[draw(st.integers(0, k - 1))], draw(OHMS))
        for k in range(1, len(nodes))
    ]
    pairs = st.lists(st.sampled_from(nodes), min_size=2, max_size=2, unique=True)
    for k in range(draw(st.integers(0, 5))):
        resistors.append(Resistor(f"more {k}", *draw(pairs), draw(OHMS)))
    volts, amps = st.floats(-60.0, 60.0), st.floats(-300.0, 300.0)
    sources = [
        Source(f"source {k}", *draw(pairs), draw(volts), draw(OHMS))
        for k in range(draw(st.integers(1, 4)))
    ]
    sinks = [Sink(f"sink {k}", *draw(pairs), draw(amps)) for k in range(draw(st.integers(0, 3)))]
    return resistors, sources, sinks


@settings(max_examples=60, deadline=None)
@given(meshes())
def test_kirchhoff_ohm_and_energy(mesh) -> None:
    resistors, sources, sinks = mesh
    solution = solve(resistors, sources, sinks, reference="n0")
    assert solution.volts["n0"] == 0.0
    scale = max(map(abs, solution.current_a.values())) + 1e-3
    leaving = dict.fromkeys(solution.volts, 0.0)
    for r in resistors:
        leaving[r.a] += solution.current_a[r.name]
        leaving[r.b] -= solution.current_a[r.name]
        drop = solution.volts[r.a] - solution.volts[r.b]
        assert drop == pytest.approx(r.ohm * solution.current_a[r.name], abs=1e-9)
    for s in sources:
        leaving[s.positive] -= solution.current_a[s.name]
        leaving[s.negative] += solution.current_a[s.name]
    for d in sinks:
        leaving[d.positive] += d.amps
        leaving[d.negative] -= d.amps
    # volts to some 1e-15 of 60 V over 1e-4 ohm leave 1e-9 A; conditioning takes a few digits more
    assert leaving == pytest.approx(dict.fromkeys(leaving, 0.0), abs=1e-7 * scale)
    supplied = sum(solution.source_w.values())
    used = sum(solution.heat_w.values()) + sum(solution.sink_w.values())
    powers = [*solution.source_w.values(), *solution.heat_w.values(), *solution.sink_w.values()]
    assert supplied == pytest.approx(used, abs=1e-8 * (1.0 + sum(map(abs, powers))))


@settings(max_examples=40, deadline=None)
@given(meshes())
def test_reciprocity_and_superposition(mesh) -> None:
    resistors, sources, sinks = mesh
    response = source_response(resistors, sources, reference="n0")
    size = 1e-9 * np.abs(response).max()
    np.testing.assert_allclose(response, response.T, atol=size)
    assert np.linalg.eigvalsh((response + response.T) / 2.0).min() >= -size  # passive
    before = solve(resistors, sources, sinks, reference="n0").current_a
    raised = [replace(sources[0], volts=sources[0].volts + 1.0), *sources[1:]]
    after = solve(resistors, raised, sinks, reference="n0").current_a
    change = [after[s.name] - before[s.name] for s in sources]
    scale = max(map(abs, before.values())) + np.abs(response).max()
    np.testing.assert_allclose(change, response[:, 0], atol=1e-7 * scale)


@settings(max_examples=40, deadline=None)
@given(meshes())
def test_the_reference_and_the_order_do_not_matter(mesh) -> None:
    resistors, sources, sinks = mesh
    one = solve(resistors, sources, sinks, reference="n0").current_a
    two = solve(resistors[::-1], sources[::-1], sinks[::-1], reference="n1").current_a
    scale = max(map(abs, one.values())) + 1e-3
    assert dict(two) == pytest.approx(dict(one), abs=1e-7 * scale)
