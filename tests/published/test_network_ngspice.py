"""Nodal analysis and current sharing against ngspice, an independent circuit simulator.

ngspice comes from Debian (package `ngspice`); `.ci/run` installs it. All circuits go into one
netlist, each with nodes and elements of its own and its negative take-off on node 0, so that one
run answers them all. The netlists are written here from the drawing of the take-offs, not from
the elements the code under test makes.

Tolerance: ngspice is asked for 15 digits. At 51.2 V the voltage across a string's resistance is
the difference of two numbers with some 16 digits each, so its currents are good to some 1e-10; its
shunt `gmin` of 1e-12 S would show at 1e-11 A. 1e-7 leaves two digits for the conditioning.
"""

import re
import shutil
import subprocess
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from tco.bank.wiring.sharing import loosened, share
from tco.bank.wiring.string_network import StringNetwork
from tco.physics.network import Resistor, Sink, Source, solve, source_response

NGSPICE = shutil.which("ngspice")
pytestmark = pytest.mark.skipif(
    NGSPICE is None, reason="ngspice is not installed (Debian package ngspice; .ci/run installs it)"
)

LOAD_A = 140.0
VALUES = {"string_ohm": 0.0231, "lead_ohm": 0.00057, "link_ohm": 0.00083, "open_circuit_v": 51.2}


def string_networks() -> list[StringNetwork]:
    """Every take-off with 1 to 8 strings, loosened joints, aged strings and missing ones."""
    networks = []
    for take_off, strings in product(("busbars", "diagonal", "one end"), (1, 2, 3, 4, 6, 8)):
        plain = {"strings": strings, "take_off": take_off, **VALUES}
        networks.append(StringNetwork(**plain))
        loose = tuple([0.001 if k == strings // 2 else 0.0 for k in range(strings)])
        networks.append(StringNetwork(**plain, extra_ohm=loose))
        aged = tuple([0.004 * k for k in range(strings)])
        networks.append(StringNetwork(**plain, extra_ohm=aged))
        if strings > 1:
            for out in (0, strings // 2, strings - 1):
                networks.append(StringNetwork(**plain, missing=frozenset({out})))
            if take_off != "busbars":
                links = (0.001, *[0.0] * (strings - 2))
                networks.append(StringNetwork(**plain, extra_link_ohm=links, extra_ohm=loose))
    return networks


def netlist_of(network: StringNetwork, case: str) -> list[str]:
    """Write one bank from the drawing: cells V, strings R, leads and jumpers R, the load I."""
    n = network.strings
    busbars = network.take_off == "busbars"
    last_on_negative = n - 1 if network.take_off == "diagonal" else 0
    lines = []

    def negative(k: int) -> str:
        return "0" if not busbars and k == last_on_negative else f"{case}n{k}"

    for k in range(n):
        extra = network.extra_ohm[k] if network.extra_ohm else 0.0
        if k not in network.missing:
            ohm = network.string_ohm + extra
            lines.append(f"v{case}s{k} {case}e{k} {negative(k)} dc {network.open_circuit_v!r}")
            lines.append(f"r{case}s{k} {case}e{k} {case}p{k} {ohm!r}")
        if busbars and k not in network.missing:
            lines.append(f"r{case}u{k} {case}p{k} {case}bus {network.lead_ohm!r}")
            lines.append(f"r{case}l{k} {case}n{k} 0 {network.lead_ohm!r}")
        if not busbars and k + 1 < n:
            extra = network.extra_link_ohm[k] if network.extra_link_ohm else 0.0
            ohm = network.link_ohm + extra
            lines.append(f"r{case}u{k} {case}p{k} {case}p{k + 1} {ohm!r}")
            lines.append(f"r{case}l{k} {negative(k)} {negative(k + 1)} {network.link_ohm!r}")
    lines.append(f"i{case} {top_of(network, case)} 0 dc {LOAD_A!r}")
    return lines


def top_of(network: StringNetwork, case: str) -> str:
    return f"{case}bus" if network.take_off == "busbars" else f"{case}p0"


def run_ngspice(lines: list[str], wanted: list[str], folder: Path) -> dict[str, float]:
    """Operating point of a circuit: the vectors asked for, by name."""
    prints = [f"print {name}" for name in wanted]
    deck = ["* banks of strings", *lines, ".control", "set numdgt=15", "op", *prints, "quit 0",
            ".endc", ".end"]  # fmt: skip
    path = folder / "banks.cir"
    path.write_text("\n".join(deck) + "\n", encoding="ascii")
    done = subprocess.run(
        [str(NGSPICE), "-b", str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    found = re.findall(r"^(\S+) = (\S+)\s*$", done.stdout, flags=re.MULTILINE)
    values = {name: float(value) for name, value in found if name in set(wanted)}
    missing = set(wanted) - set(values)
    assert not missing, f"ngspice gave no {sorted(missing)[:3]}: {done.stderr[-500:]}"
    return values


NETWORKS = string_networks() if NGSPICE else []


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    lines, wanted = [], []
    for number, network in enumerate(NETWORKS):
        case = f"c{number}"
        lines += netlist_of(network, case)
        wanted += [f"i(v{case}s{k})" for k in network.live] + [f"v({top_of(network, case)})"]
    return run_ngspice(lines, wanted, tmp_path_factory.mktemp("ngspice"))


def test_there_are_enough_banks() -> None:
    assert len(NETWORKS) == 3 * (3 + 5 * 6) + 2 * 5


def test_shares_of_every_bank(answers: dict[str, float]) -> None:
    for number, network in enumerate(NETWORKS):
        sharing = share(network, LOAD_A)
        for k in network.live:
            # ngspice counts current into a source's positive terminal
            theirs = -answers[f"i(vc{number}s{k})"]
            assert sharing.current_a[k] == pytest.approx(theirs, rel=1e-7), (network, k)


def test_voltage_and_resistance_of_every_bank(answers: dict[str, float]) -> None:
    for number, network in enumerate(NETWORKS):
        sharing = share(network, LOAD_A)
        theirs = answers[f"v({top_of(network, f'c{number}')})"]
        assert sharing.terminal_v == pytest.approx(theirs, rel=1e-9), network
        assert sharing.bank_ohm == pytest.approx((51.2 - theirs) / LOAD_A, rel=1e-7), network


def test_heat_of_loosened_joints(answers: dict[str, float]) -> None:
    """The heat ngspice's currents make in the joint, for banks with one loosened string joint."""
    seen = 0
    for number, network in enumerate(NETWORKS):
        if sum(ohm > 0.0 for ohm in network.extra_ohm) == 1 and 0.001 in network.extra_ohm:
            k = network.extra_ohm.index(0.001)
            heat_w = answers[f"i(vc{number}s{k})"] ** 2 * 0.001
            assert share(network, LOAD_A).joint_heat_w[k] == pytest.approx(heat_w, rel=1e-7)
            if not network.extra_link_ohm:
                tight = StringNetwork(strings=network.strings, take_off=network.take_off, **VALUES)
                assert loosened(tight, LOAD_A, string=k).heat_w == pytest.approx(heat_w, rel=1e-7)
            seen += 1
    assert seen >= 18


def test_random_meshes(tmp_path: Path) -> None:
    """Meshes of resistors, unequal sources and sinks: node voltages and source currents."""
    rng = np.random.default_rng(20)
    lines, wanted, expected = [], [], {}
    for case in range(12):
        nodes = ["0", *[f"m{case}n{k}" for k in range(1, 7)]]
        ends = [(nodes[k], nodes[rng.integers(0, k)]) for k in range(1, 7)]
        ends += [tuple(rng.choice(nodes, 2, replace=False).tolist()) for _ in range(6)]
        resistors = [
            Resistor(f"r{case}x{k}", a, b, float(10.0 ** rng.uniform(-4, 1)))
            for k, (a, b) in enumerate(ends)
        ]
        pairs = [tuple(rng.choice(nodes, 2, replace=False).tolist()) for _ in range(5)]
        sources = [
            Source(f"v{case}y{k}", *pairs[k], float(rng.uniform(-60, 60)), 0.01 * (k + 1))
            for k in range(3)
        ]
        sinks = [Sink(f"i{case}z{k}", *pairs[k], float(rng.uniform(-99, 99))) for k in (3, 4)]
        lines += [f"{r.name} {r.a} {r.b} {r.ohm!r}" for r in resistors]
        for s in sources:
            inner = f"{s.name}e"
            lines.append(f"{s.name} {inner} {s.negative} dc {s.volts!r}")
            lines.append(f"r{s.name} {inner} {s.positive} {s.ohm!r}")
        lines += [f"{d.name} {d.positive} {d.negative} dc {d.amps!r}" for d in sinks]
        solution = solve(resistors, sources, sinks, reference="0")
        expected |= {f"v({n})": v for n, v in solution.volts.items() if n != "0"}
        expected |= {f"i({s.name})": -solution.current_a[s.name] for s in sources}
    wanted = list(expected)
    theirs = run_ngspice(lines, wanted, tmp_path)
    for name in wanted:
        # up to some 1e4 A here; 1e-7 A is the digits left of 60 V over 1e-4 ohm
        assert expected[name] == pytest.approx(theirs[name], rel=1e-7, abs=1e-7), name


def test_response_of_sources(tmp_path: Path) -> None:
    """One string of a chain raised by 1 V against the rest, without a load."""
    r, link = 0.0231, 0.00083
    jumpers = [Resistor(f"{s}{k}", f"{s}{k}", f"{s}{k + 1}", link) for s in "pn" for k in range(3)]
    strings = [Source(f"s{k}", f"p{k}", f"n{k}", 0.0, r) for k in range(4)]
    ours = source_response(jumpers, strings, reference="n0")
    lines = []
    for raised in range(4):
        node = {f"n{k}": "0" if k == 0 else f"n{k}c{raised}" for k in range(4)}
        for k in range(4):
            lines.append(f"vs{k}c{raised} e{k}c{raised} {node[f'n{k}']} dc {int(k == raised)}")
            lines.append(f"rs{k}c{raised} e{k}c{raised} p{k}c{raised} {r}")
        for k in range(3):
            lines.append(f"rp{k}c{raised} p{k}c{raised} p{k + 1}c{raised} {link}")
            lines.append(f"rn{k}c{raised} {node[f'n{k}']} {node[f'n{k + 1}']} {link}")
    wanted = [f"i(vs{k}c{raised})" for k in range(4) for raised in range(4)]
    theirs = run_ngspice(lines, wanted, tmp_path)
    matrix = np.array([-theirs[name] for name in wanted]).reshape(4, 4)
    np.testing.assert_allclose(ours, matrix, rtol=1e-7)
