"""Direct-current networks of resistors, sources and loads, by nodal analysis.

Kirchhoff's current law at every node but the reference gives one linear system ``G v = i`` for
the node voltages: the conductances between nodes stand in G, sinks and the short-circuit currents
of the sources (Norton's equivalent) in i. Any textbook of circuit theory; C.-W. Ho, A. E. Ruehli,
P. A. Brennan, "The modified nodal approach to network analysis", IEEE Trans. Circuits and Systems
22 (1975) 504-509, starts from it (citation from memory).

Signs: a resistor's current flows from `a` to `b`; a source's out of its positive terminal, so that
it is positive while the source delivers; a sink's into its positive terminal and back out of its
negative one, so that a sink of negative amperes charges.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

import numpy as np

from tco.physics.arrays import FloatArray

WIDEST_SPREAD = 1e12
"""Largest over smallest resistance of one network: beyond it, double precision (some 16 digits)
leaves fewer than about four digits of the smaller voltage drops. Our choice."""


@dataclass(frozen=True)
class Resistor:
    """A resistance between nodes `a` and `b`, above zero. [ohm]"""

    name: str
    a: str
    b: str
    ohm: float


@dataclass(frozen=True)
class Source:
    """An electromotive force [V] in series with an internal resistance above zero. [ohm]"""

    name: str
    positive: str
    negative: str
    volts: float
    ohm: float


@dataclass(frozen=True)
class Sink:
    """A load that draws a fixed current from `positive` and returns it at `negative`. [A]"""

    name: str
    positive: str
    negative: str
    amps: float


@dataclass(frozen=True)
class Solution:
    """Voltages, currents and powers of a solved network, by name.

    `volts`: of each node against the reference. [V]
    `current_a`: of each element, signs as the module says. [A]
    `heat_w`: in each resistor and in each source's internal resistance. [W]
    `source_w`: electromotive force times current of each source, negative while it is charged. [W]
    `sink_w`: drawn by each sink. [W]

    Tellegen's theorem: the sum of `source_w` is the sum of `heat_w` and `sink_w`.
    """

    volts: Mapping[str, float]
    current_a: Mapping[str, float]
    heat_w: Mapping[str, float]
    source_w: Mapping[str, float]
    sink_w: Mapping[str, float]


def solve(
    resistors: Sequence[Resistor],
    sources: Sequence[Source] = (),
    sinks: Sequence[Sink] = (),
    *,
    reference: str,
) -> Solution:
    """Solve a linear direct-current network.

    Parameters
    ----------
    resistors, sources, sinks
        Elements, each with a name of its own; nodes are whatever names they mention.
    reference
        The node whose voltage is called zero; some element must touch it.

    Raises
    ------
    ValueError
        For a node without a conducting path to the reference (it is named), a name used twice, a
        resistance not above zero, a voltage or current not finite, an element with both ends on
        one node, no element at the reference, resistances further apart than `WIDEST_SPREAD`, or
        powers beyond the range of a float.
    """
    index = _node_index(resistors, sources, sinks, reference)
    size = len(index)
    rhs = [0.0] * size
    for source in sources:
        amps = source.volts / source.ohm
        rhs[index[source.positive]] += amps
        rhs[index[source.negative]] -= amps
    for sink in sinks:
        rhs[index[sink.positive]] -= sink.amps
        rhs[index[sink.negative]] += sink.amps
    volts = dict.fromkeys(index, 0.0)
    if size > 1:
        conductance = _conductance(resistors, sources, index)
        found = np.linalg.solve(conductance[1:, 1:], np.array(rhs[1:]))
        volts.update(zip(list(index)[1:], found.tolist(), strict=True))
    current: dict[str, float] = {}
    heat: dict[str, float] = {}
    for resistor in resistors:
        amps = (volts[resistor.a] - volts[resistor.b]) / resistor.ohm
        current[resistor.name] = amps
        heat[resistor.name] = amps * amps * resistor.ohm
    source_w: dict[str, float] = {}
    for source in sources:
        across = volts[source.positive] - volts[source.negative]
        amps = (source.volts - across) / source.ohm
        current[source.name] = amps
        heat[source.name] = amps * amps * source.ohm
        source_w[source.name] = source.volts * amps
    sink_w: dict[str, float] = {}
    for sink in sinks:
        current[sink.name] = sink.amps
        sink_w[sink.name] = (volts[sink.positive] - volts[sink.negative]) * sink.amps
    if not isfinite(sum(heat.values()) + sum(map(abs, source_w.values()))):
        raise ValueError("the powers of the network are too large to compute")
    return Solution(
        volts=MappingProxyType(volts),
        current_a=MappingProxyType(current),
        heat_w=MappingProxyType(heat),
        source_w=MappingProxyType(source_w),
        sink_w=MappingProxyType(sink_w),
    )


def source_response(
    resistors: Sequence[Resistor], sources: Sequence[Source], *, reference: str
) -> FloatArray:
    """Current of each source (row) per volt more of each source (column). [A/V]

    By superposition the sources' currents are those at the voltages given plus this matrix times
    the change of the voltages, whatever the sinks draw. Symmetric (reciprocity). With Y the
    diagonal of the sources' conductances and A their incidence on the nodes:
    ``Y - Y A' G^-1 A Y``. Shape (sources, sources).

    Raises
    ------
    ValueError
        As `solve`.
    """
    index = _node_index(resistors, sources, (), reference)
    own = np.array([1.0 / source.ohm for source in sources])
    feed = np.zeros((len(index), len(sources)))
    for column, source in enumerate(sources):
        feed[index[source.positive], column] += own[column]
        feed[index[source.negative], column] -= own[column]
    conductance = _conductance(resistors, sources, index)
    volts = np.linalg.solve(conductance[1:, 1:], feed[1:])
    return np.asarray(np.diag(own) - feed[1:].T @ volts, dtype=np.float64)


def _node_index(
    resistors: Sequence[Resistor],
    sources: Sequence[Source],
    sinks: Sequence[Sink],
    reference: str,
) -> dict[str, int]:
    """Check the elements; number the nodes, the reference first."""
    neighbours: dict[str, list[str]] = {}
    names: set[str] = set()
    least, most = float("inf"), 0.0
    ends = [(r.name, r.a, r.b, r.ohm, 0.0) for r in resistors]
    ends += [(s.name, s.positive, s.negative, s.ohm, s.volts) for s in sources]
    for name, a, b, ohm, volts in ends:
        if not (isfinite(ohm) and ohm > 0.0):
            raise ValueError(f"{name}: the resistance must be finite and above zero, got {ohm:g}")
        if not isfinite(volts):
            raise ValueError(f"{name}: the voltage must be finite, got {volts:g}")
        _check_name_and_ends(name, a, b, names)
        least, most = min(least, ohm), max(most, ohm)
        neighbours.setdefault(a, []).append(b)
        neighbours.setdefault(b, []).append(a)
    for sink in sinks:
        if not isfinite(sink.amps):
            raise ValueError(f"{sink.name}: the current must be finite, got {sink.amps:g}")
        _check_name_and_ends(sink.name, sink.positive, sink.negative, names)
        neighbours.setdefault(sink.positive, [])
        neighbours.setdefault(sink.negative, [])
    if reference not in neighbours:
        raise ValueError(f"no element touches the reference node {reference!r}")
    if most > WIDEST_SPREAD * least:
        raise ValueError(
            f"resistances from {least:g} to {most:g} ohm are too far apart for an exact answer"
        )
    index = {reference: 0}
    waiting = [reference]
    while waiting:
        for node in neighbours[waiting.pop()]:
            if node not in index:
                index[node] = len(index)
                waiting.append(node)
    for node in neighbours:
        if node not in index:
            raise ValueError(
                f"node {node!r} has no conducting path to the reference node {reference!r}"
            )
    return index


def _check_name_and_ends(name: str, a: str, b: str, names: set[str]) -> None:
    if name in names:
        raise ValueError(f"two elements are called {name!r}")
    if a == b:
        raise ValueError(f"{name}: both ends are on node {a!r}")
    names.add(name)


def _conductance(
    resistors: Sequence[Resistor], sources: Sequence[Source], index: Mapping[str, int]
) -> FloatArray:
    """Conductance matrix of all nodes, the reference included. [S]"""
    matrix = [[0.0] * len(index) for _ in index]
    branches = [(index[r.a], index[r.b], r.ohm) for r in resistors]
    branches += [(index[s.positive], index[s.negative], s.ohm) for s in sources]
    for a, b, ohm in branches:
        siemens = 1.0 / ohm
        matrix[a][a] += siemens
        matrix[b][b] += siemens
        matrix[a][b] -= siemens
        matrix[b][a] -= siemens
    return np.array(matrix)
