"""The drawing holds every part, explains itself, and is well-formed whatever things are called."""

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.wiring.feeds import feeds
from tco.bank.wiring.part_decisions import reused_kinds
from tco.bank.wiring.sizing import CannotWire
from tco.bank.wiring.wiring import Wiring, wire
from tco.case import Case, read_case, specify
from tco.compare import Comparison, compare
from tco.report.svg import lines_of, short
from tco.report.wiring.diagram import wiring_diagram
from tco.report.wiring.page import diagram_with_links, wiring_page
from tests.conftest import build_plain_case
from tests.screens.helpers import ROOT

SVG = "{http://www.w3.org/2000/svg}"
NASTY = [
    "R&D <b>",
    'say "no"',
    "l'été ]]> <!--",
    "Å" * 60,
    "日本語 " * 20,
    "</script><svg>",
    "\u202eabc",
]
LETTER_WIDTH = 0.56
"""Of its size: DejaVu Sans came out at 0.50 on average in a screenshot of a note; some to spare."""


@dataclass(frozen=True)
class Drawn:
    case: Case
    wiring: Wiring
    text: str
    root: ET.Element

    @property
    def keys(self) -> set[str]:
        return {e.get("data-part", "") for e in self.root.iter() if e.get("data-part")}


def drawn(
    *,
    amps: float = 100.0,
    series: int = 1,
    parallel: int = 1,
    links: dict[str, str] | None = None,
    **changes: Any,
) -> Drawn:
    system = {"nominal_voltage_v": 12 * series, **changes.pop("system", {})}
    case = build_plain_case(system=system, **changes)
    arrangement = Arrangement(specify(case.candidates[0]), series, parallel)
    wiring = wire(case, arrangement, current_a=amps)
    text = wiring_diagram(
        case,
        arrangement,
        wiring.circuit,
        wiring.bill,
        feeds(case, wiring.circuit),
        kept=reused_kinds(wiring.parts),
        links=links,
    )
    return Drawn(case, wiring, text, ET.fromstring(text))


def _each_bought_part_shows_its_line(shown: Drawn) -> dict[str | None, str]:
    """What pointing at a part shows, by its key; every line of the bill is with what it serves."""
    titles = {
        e.get("data-part"): (e.find(f"{SVG}title").text or "")  # type: ignore[union-attr]
        for e in shown.root.iter(f"{SVG}g")
        if e.get("data-part") and e.find(f"{SVG}title") is not None
    }
    for line in shown.wiring.bill:
        for key in line.serves:
            assert f"{line.part}: " in titles[key], (key, line.part)
    return titles


@pytest.mark.parametrize("take_off", ["busbars", "diagonal", "one end"])
@pytest.mark.parametrize(("series", "parallel"), [(1, 1), (2, 1), (2, 2), (4, 2), (1, 8)])
@pytest.mark.parametrize("shunt", [False, True])
def test_every_cable_device_pack_and_source_is_on_it(
    take_off: str, series: int, parallel: int, shunt: bool
) -> None:
    parts = [{"name": "it", "kind": "monitor", "rating_a": 500.0}] if shunt else []
    shown = drawn(
        series=series,
        parallel=parallel,
        system={"take_off": take_off, "parts": parts},
        candidate={"charge_display": not shunt},
    )
    circuit = shown.wiring.circuit
    wanted = {cable.key for cable in circuit.cables} | {d.key for d in circuit.devices}
    wanted |= {f"pack {n}.{k}" for n in range(1, parallel + 1) for k in range(1, series + 1)}
    wanted |= {"fuse block", "source panel"}
    assert wanted == shown.keys
    fuse = shown.wiring.main_fuse
    words = [e.text for e in shown.root.iter(f"{SVG}text")]
    assert fuse.fuse_class.name in words
    assert f"{fuse.rating_a:g} A" in words


BRANCH_PARTS: list[dict[str, Any]] = [
    {"name": "roof breaker", "kind": "branch fuse", "branch": "panel", "rating_a": 50.0,
     "fuse_class": "DC rail breaker"},
    {"name": "roof cable", "kind": "branch cable", "branch": "panel", "size": "35 mm2",
     "length_m": 9.0, "insulation_degc": 105},
    {"name": "roof switch", "kind": "isolator", "branch": "panel", "side": "panel side",
     "rating_a": 100.0},
    {"name": "bulkhead breaker", "kind": "branch fuse", "branch": "panel", "side": "panel side",
     "fuse_class": "DC rail breaker", "rating_a": 63.0},
    {"name": "inverter isolator", "kind": "isolator", "branch": "inverter", "rating_a": 10.0},
    {"name": "second isolator", "kind": "isolator", "branch": "inverter", "rating_a": 300.0},
    {"name": "inverter fuse", "kind": "branch fuse", "branch": "inverter", "fuse_class": "class T",
     "rating_a": 110.0},
    {"name": "block cable", "kind": "branch cable", "branch": "DC fuse block", "size": "1.5 mm2",
     "length_m": 1.0},
    {"name": "posts", "kind": "distribution bars", "rating_a": 600.0},
]  # fmt: skip
WITH_PARTS: dict[str, Any] = {
    "parts": BRANCH_PARTS, "inverter": {"name": "sine", "continuous_w": 700.0},
}  # fmt: skip


def test_parts_of_branches_are_drawn_in_place() -> None:
    """Fuse, breaker and isolator each in its branch: what stays says so, what goes is bought."""
    shown = drawn(system=WITH_PARTS)
    kept = {d.part.name: d.decision for d in shown.wiring.parts}
    assert kept["inverter isolator"] == "replace"
    assert kept["block cable"] == "replace"
    assert {name for name, one in kept.items() if one == "keep"} == {
        "roof breaker", "roof cable", "roof switch", "bulkhead breaker", "second isolator",
        "inverter fuse", "posts",
    }  # fmt: skip
    words = [e.text or "" for e in shown.root.iter(f"{SVG}text")]
    for wanted in (
        "DC rail breaker", "50 A, in place", "isolator 100 A", "breaker 63 A", "panels",
        "to be bought", "isolator 300 A", "110 A, in place", "distribution bars, in place",
        "35 mm², in place", "DC rail breaker 50 A, 6 kA, in place",
    ):  # fmt: skip
        assert wanted in words, wanted
    assert "distribution" in shown.keys
    _each_bought_part_shows_its_line(shown)


def test_a_branch_that_says_nothing_of_itself_is_drawn_as_before() -> None:
    words = [e.text or "" for e in drawn().root.iter(f"{SVG}text")]
    assert "distribution, in place" in words
    assert not any(word.startswith(("isolator", "panels")) for word in words)
    assert any(word.startswith("branches from the distribution are taken") for word in words)
    stated = [
        {"name": "f", "kind": "branch fuse", "branch": name, "fuse_class": "gPV", "rating_a": 50.0}
        for name in ("panel", "DC fuse block")
    ] + [
        {"name": "c", "kind": "branch cable", "branch": name, "size": "35 mm2", "length_m": 9.0}
        for name in ("panel", "DC fuse block")
    ]
    told = [e.text or "" for e in drawn(system={"parts": stated}).root.iter(f"{SVG}text")]
    assert not any(word.startswith("branches from the distribution are taken") for word in told)


def rectangles(root: ET.Element) -> list[tuple[float, float, float, float]]:
    """Boxes of devices (with rounded corners): x, y, width, height."""
    return [
        tuple(float(e.get(name, "0")) for name in ("x", "y", "width", "height"))  # type: ignore[misc]
        for e in root.iter(f"{SVG}rect")
        if e.get("rx")
    ]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    series=st.integers(1, 4),
    parallel=st.integers(1, 8),
    take_off=st.sampled_from(["busbars", "diagonal", "one end"]),
    amps=st.floats(1.0, 380.0),
    name=st.sampled_from(["Plain 100", *NASTY]),
    sources=st.integers(0, 6),
    units=st.sampled_from(["metric", "imperial"]),
    branch_parts=st.lists(st.sampled_from(BRANCH_PARTS), max_size=6),
)
def test_nothing_overlaps_or_leaves_the_paper(
    series: int, parallel: int, take_off: str, amps: float, name: str, sources: int, units: str,
    branch_parts: list[dict[str, Any]],
) -> None:  # fmt: skip
    solar = [
        {"name": f"{name} {n}"[:60], "peak_w": 300.0, "controller_a": 20.0} for n in range(sources)
    ] + [{"name": "panel", "peak_w": 300.0, "controller_a": 20.0}]
    try:
        shown = drawn(
            amps=amps, series=series, parallel=parallel, sources={"solar": solar}, units=units,
            system={**WITH_PARTS, "take_off": take_off, "parts": branch_parts},
            candidate={"name": name[:110]},
        )  # fmt: skip
    except CannotWire:
        return
    _, _, width, height = (float(v) for v in shown.root.get("viewBox", "").split())
    boxes = rectangles(shown.root)
    for i, (x, y, w, h) in enumerate(boxes):
        assert 0 <= x < x + w <= width
        assert 0 <= y < y + h <= height
        for x2, y2, w2, h2 in boxes[i + 1 :]:
            apart = x + w <= x2 or x2 + w2 <= x or y + h <= y2 or y2 + h2 <= y
            assert apart, "two boxes overlap"
    for e in shown.root.iter(f"{SVG}text"):
        at = (float(e.get("x", "0")), float(e.get("y", "0")))
        long = LETTER_WIDTH * float(e.get("font-size", "12")) * len(e.text or "")
        left = at[0] - (long / 2 if e.get("text-anchor") == "middle" else 0.0)
        if (e.text or "").isascii():
            assert 0 <= left < left + long <= width, e.text
        assert 0 < at[1] <= height
    rows = sorted(
        {
            float(e.get("y", "0"))
            for e in shown.root.iter(f"{SVG}text")
            if float(e.get("font-size", "0")) == 11.5
        }
    )
    assert all(b - a >= 13.0 for a, b in pairwise(rows))


@pytest.mark.parametrize("name", NASTY)
def test_nasty_names_are_escaped(name: str) -> None:
    shown = drawn(
        parallel=2,
        candidate={"name": name},
        sources={"solar": [{"name": name, "peak_w": 100.0, "controller_a": 10.0}]},
        system={"inverter": {"name": name, "continuous_w": 500.0}},
    )
    titles = [e.text or "" for e in shown.root.iter(f"{SVG}title")]
    stripped = shown.case.candidates[0].name
    assert any(stripped in title for title in titles)
    assert "<script" not in shown.text
    assert not {e.tag for e in shown.root.iter()} - {
        SVG + tag for tag in ("svg", "g", "title", "rect", "text", "line", "circle", "polyline",
                              "path")
    }  # fmt: skip


def test_pointing_shows_the_line_of_the_bill() -> None:
    shown = drawn(parallel=2)
    titles = _each_bought_part_shows_its_line(shown)
    assert "€400.00" in titles["pack 1.1"]
    assert "0.15 m, 55 A, " in titles["string 1 + to fuse"]


def test_what_is_in_place_says_so() -> None:
    parts = [
        {"name": "s", "kind": "switch", "rating_a": 300.0},
        {"name": "c", "kind": "main cable", "size": "95 mm2", "length_m": 9.0},
    ]
    words = [e.text for e in drawn(system={"parts": parts}).root.iter(f"{SVG}text")]
    assert "in place" in words
    assert "main fuse to switch, in place" in words
    fresh = [e.text for e in drawn().root.iter(f"{SVG}text")]
    assert "in place" not in fresh


def test_a_charger_that_is_replaced_is_not_called_in_place() -> None:
    shore = {"name": "shore", "rating_a": 20.0, "nights_per_month": 1.0, "profiles": ["lead"]}
    for price, says in ((99.0, "up to 20 A, replaced"), (None, "up to 20 A, in place")):
        charger = {**shore, "replacement_price": price}
        root = drawn(sources={"solar": [], "shore": [charger]}).root
        assert says in [e.text for e in root.iter(f"{SVG}text")]


def test_lengths_are_in_the_reader_s_units() -> None:
    words = " ".join(e.text or "" for e in drawn(units="imperial").root.iter(f"{SVG}text"))
    assert "6.6 ft" in words  # two metres
    assert " m " not in words


def test_a_part_with_a_link_is_a_link_and_nothing_else_is() -> None:
    links = {"battery switch": "https://shop.example/?a=1&b=2", "busbar": "javascript:alert(1)"}
    shown = drawn(parallel=2, links=links)
    anchors = list(shown.root.iter(f"{SVG}a"))
    assert [a.get("href") for a in anchors] == ["https://shop.example/?a=1&b=2"]
    assert anchors[0].find(f"{SVG}g").get("data-part") == "switch"  # type: ignore[union-attr]
    assert "javascript" not in shown.text


def test_both_fuses_say_what_they_interrupt_and_the_caution_names_standards() -> None:
    shown = drawn(parallel=3)
    words = " ".join(e.text or "" for e in shown.root.iter(f"{SVG}text"))
    circuit = shown.wiring.circuit
    assert circuit.string_fuse is not None
    assert f"a dead short could send {circuit.short_circuit_a:,.0f} A through it" in words
    assert f"a dead short could send {circuit.string_fault_a:,.0f} A through it" in words
    for standard in ("ABYC E-11", "ISO 13297", "NEC", "IEC 60364", "licensed"):
        assert standard in words


# ---------------------------------------------------------------- the page


@pytest.fixture(scope="module")
def otterbank() -> Comparison:
    case = read_case(ROOT / "candidates_demo" / "otterbank.toml")
    first = case.candidates[0].model_copy(update={"link": "https://shop.example/</script>?x=1&y"})
    return compare(case.model_copy(update={"candidates": (first, *case.candidates[1:3])}))


def test_the_page_holds_every_line_and_stands_alone(otterbank: Comparison) -> None:
    for result in otterbank.results:
        if result.wiring is None:
            continue
        page = wiring_page(otterbank, result)
        data = re.search(r'<script type="application/json">(.*?)</script>', page)
        assert data is not None
        lines = json.loads(data[1])
        for line in result.wiring.bill:
            for key in line.serves:
                assert any(entry["words"].startswith(f"{line.part}: ") for entry in lines[key])
        svg = page[page.index("<svg") : page.index("</svg>") + 6]
        parts = {e.get("data-part") for e in ET.fromstring(svg).iter() if e.get("data-part")}
        assert set(lines) <= parts | {f"source {c.name}" for c in otterbank.case.sources.chargers()}
        # two scripts of ours, nothing from elsewhere
        assert page.count("<script") == page.count("</script>") == 2
        assert not re.search(r"""(src|href)=["'](?!https://shop\.example)""", page)
        assert "@media print" in page


def test_the_page_gives_the_user_s_own_link(otterbank: Comparison) -> None:
    name = otterbank.case.candidates[0].name
    result = next(
        r for r in otterbank.results if r.arrangement.pack.name == name and r.wiring is not None
    )
    page = wiring_page(otterbank, result)
    data = re.search(r'<script type="application/json">(.*?)</script>', page)
    assert data is not None
    (entry,) = json.loads(data[1])["pack 1.1"]
    assert entry["link"] == "https://shop.example/</script>?x=1&y"
    hrefs = [
        a.get("href") for a in ET.fromstring(diagram_with_links(otterbank, result)).iter(f"{SVG}a")
    ]
    assert set(hrefs) == {"https://shop.example/</script>?x=1&y"}
    assert len(hrefs) == result.arrangement.packs


@given(st.text(max_size=300), st.integers(2, 80))
def test_lines_keep_to_their_length_and_lose_nothing(text: str, longest: int) -> None:
    lines = lines_of(text, longest)
    assert all(len(line) <= longest for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert len(short(text, longest)) <= longest


@pytest.mark.parametrize("take_off", ["busbars", "diagonal", "one end"])
def test_no_conductor_is_drawn_over_another(take_off: str) -> None:
    """Upright stretches of different conductors on one line would look like one conductor."""
    root = drawn(parallel=4, system={"take_off": take_off}).root
    stretches: list[tuple[str, float, float, float]] = []
    for part in root.iter(f"{SVG}g"):
        path = part.find(f"{SVG}polyline")
        if path is None:
            continue
        points = [tuple(map(float, p.split(","))) for p in path.get("points", "").split()]
        for (x1, y1), (x2, y2) in pairwise(points):
            if x1 == x2 and y1 != y2:
                stretches.append((part.get("data-part", ""), x1, min(y1, y2), max(y1, y2)))
    assert stretches
    for i, (name, x, low, high) in enumerate(stretches):
        for other, x2, low2, high2 in stretches[i + 1 :]:
            assert x != x2 or high <= low2 or high2 <= low, (name, other)
