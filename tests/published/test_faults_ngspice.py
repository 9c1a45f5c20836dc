"""Short circuits of the demos' banks against ngspice, an independent circuit simulator.

Every bank of the demos with its leads, links left out, is written from its list of cables, shorted
at its busbars, before and behind the fuse of its first string, and at the end of the main run.
Copper at 20 degC by IEC 60228 and NEC chapter 9 table 8, two joints of 19 micro-ohm a cable.
"""

from pathlib import Path

import pytest

from tco import compare, read_case
from tco.bank.wiring.circuit import Circuit
from tests.published.test_network_ngspice import NGSPICE, run_ngspice
from tests.screens.helpers import ROOT

pytestmark = pytest.mark.skipif(NGSPICE is None, reason="ngspice is not installed")
JOINTS_OHM = 2 * 19e-6


def banks(demo: str) -> list[Circuit]:
    case = read_case(ROOT / "candidates_demo" / f"{demo}.toml")
    return [r.wiring.circuit for r in compare(case).results if r.wiring is not None]


def netlist(made: Circuit, case: str, place: str) -> list[str]:
    """One bank, shorted at a place: "bars", "before" or "behind" a fuse, "end" of the main run."""
    ohm = {cable.key: cable.cold_ohm for cable in made.cables}
    lines = []
    for n in range(1, made.network.strings + 1):
        at = f"{case}s{n}"
        lines.append(f"v{at} {at}e {at}n dc {made.charging_v!r}")
        lines.append(f"r{at} {at}e {at}t {made.source.string_ohm!r}")
        if made.take_off is None:
            lines += [f"v{at}p {at}t {case}plus dc 0", f"v{at}m {at}n 0 dc 0"]
            continue
        lines.append(f"r{at}f {at}t {at}f {ohm[f'string {n} + to fuse']!r}")
        lines.append(f"v{at}fuse {at}f {at}g dc 0")  # a fuse is an ammeter
        lines.append(f"r{at}p {at}g {case}plus {ohm[f'string {n} +']!r}")
        lines.append(f"r{at}m {at}n 0 {ohm[f'string {n} -']!r}")
    run_ohm = sum(cable.cold_ohm for cable in made.of_role("main"))
    shorts = {
        "bars": [f"r{case}x {case}plus {case}x {JOINTS_OHM!r}", f"v{case}x {case}x 0 dc 0"],
        "end": [
            f"r{case}x {case}plus {case}x {JOINTS_OHM + run_ohm!r}",
            f"v{case}x {case}x 0 dc 0",
        ],
        "before": [f"v{case}x {case}s1f 0 dc 0"],
        "behind": [f"v{case}x {case}s1g {case}s1n dc 0"],
    }
    return [*lines, *shorts[place]]


@pytest.mark.parametrize("demo", ["otterbank", "larch_hut", "coldharbour"])
def test_short_circuits_of_every_bank_of_the_demos(demo: str, tmp_path: Path) -> None:
    lines: list[str] = []
    wanted: list[str] = []
    found = [made for made in banks(demo) if made.take_off in (None, "busbars")]
    assert len(found) > 20
    for number, made in enumerate(found):
        for place in ("bars", "end", "before", "behind"):
            if place in ("before", "behind") and made.take_off is None:
                continue
            case = f"c{number}{place}"
            lines += netlist(made, case, place)
            wanted.append(f"i(v{case}s1fuse)" if place.startswith("be") else f"i(v{case}x)")
    amps = run_ngspice(lines, wanted, tmp_path)
    for number, made in enumerate(found):
        chargers_a = made.source.chargers_a
        assert made.short_circuit_a == pytest.approx(amps[f"i(vc{number}barsx)"], rel=1e-6)
        at_end = made.at_distribution().most_a - chargers_a
        assert at_end == pytest.approx(amps[f"i(vc{number}endx)"], rel=1e-6)
        if made.string_fault_a is not None:
            others = abs(amps[f"i(vc{number}befores1fuse)"]) + chargers_a
            own = abs(amps[f"i(vc{number}behinds1fuse)"])
            assert made.string_fault_a == pytest.approx(max(others, own), rel=1e-6)
