"""Plan and elevation: to scale, on the paper, in the reader's units."""

import xml.etree.ElementTree as ET
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tco.bank.arrangements import Arrangement
from tco.bank.fit.space import compartments, fit_in_spaces
from tco.case import Case, specify
from tco.report.space.drawing import fit_drawing, length
from tco.report.svg import BLUE, ORANGE, SKY
from tests.conftest import build_plain_case

SVG = "{http://www.w3.org/2000/svg}"


def drawn(case: Case, packs: int, *, bend_mm: float = 0.0) -> tuple[ET.Element, Any]:
    arrangement = Arrangement(specify(case.candidates[0]), 1, packs)
    result = fit_in_spaces(case, arrangement, bend_radius_mm=bend_mm)
    assert result is not None
    text = fit_drawing(
        result,
        compartments(case, bend_radius_mm=bend_mm),
        imperial=case.units == "imperial",
        pack_mm=arrangement.pack.dimensions_mm,
    )
    return ET.fromstring(text), result


def boxes(root: ET.Element, **wanted: str) -> list[list[float]]:
    return [
        [float(e.get(name, "0")) for name in ("x", "y", "width", "height")]
        for e in root.iter(f"{SVG}rect")
        if all(e.get(key) == value for key, value in wanted.items())
    ]


def test_packs_are_to_the_scale_of_their_space() -> None:
    root, result = drawn(build_plain_case(), 2)
    assert result.fits
    plan, front = boxes(root, fill="#fafafa")
    scale = plan[2] / 900.0
    assert plan[3] == pytest.approx(500.0 * scale, abs=0.01)
    assert front[3] == pytest.approx(400.0 * scale, abs=0.01)
    found = sorted(tuple(round(v / scale) for v in box[2:]) for box in boxes(root, fill=SKY))
    seen = [(p.dx, p.dy) for p in result.layout] + [(p.dx, p.dz) for p in result.layout]
    assert found == sorted((round(a), round(b)) for a, b in seen)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    width=st.floats(100.0, 2000.0),
    depth=st.floats(100.0, 1200.0),
    height=st.floats(100.0, 1200.0),
    packs=st.integers(1, 8),
    units=st.sampled_from(["metric", "imperial"]),
    name=st.sampled_from(["locker", "R&D <b>" * 8, 'the "hold"']),
    opening=st.one_of(st.none(), st.floats(50.0, 400.0)),
)
def test_nothing_leaves_the_paper_and_packs_stay_in_their_space(
    width: float, depth: float, height: float, packs: int, units: str, name: str,
    opening: float | None,
) -> None:  # fmt: skip
    space = {"name": name, "width_mm": width, "depth_mm": depth, "height_mm": height,
             "opening_width_mm": opening}  # fmt: skip
    root, result = drawn(build_plain_case(space=space, units=units), packs)
    _, _, wide, high = (float(v) for v in root.get("viewBox", "").split())
    for x, y, w, h in boxes(root):
        assert -0.01 <= x <= x + w <= wide + 0.6
        assert -0.01 <= y <= y + h <= high + 0.6
    spaces = boxes(root, fill="#fafafa")
    for x, y, w, h in boxes(root, fill=SKY):
        assert any(
            x >= sx - 0.02
            and y >= sy - 0.02
            and x + w <= sx + sw + 0.02
            and y + h <= sy + sh + 0.02
            for sx, sy, sw, sh in spaces
        )
    for e in root.iter(f"{SVG}text"):
        at = float(e.get("x", "0"))
        size = float(e.get("font-size", "12"))
        reach = 0.56 * size * len(e.text or "")
        if e.get("text-anchor") == "end":
            assert at <= wide
        elif e.get("text-anchor") is None or e.get("text-anchor") == "start":
            assert at + reach <= wide + 30.0, e.text
        assert 0.0 < float(e.get("y", "0")) <= high
    # not even one: drawn in outline instead
    assert bool(boxes(root, stroke=BLUE, fill="none")) == (not result.layout)


def test_a_wall_that_would_move_is_drawn_by_as_much() -> None:
    root, result = drawn(build_plain_case(space={"depth_mm": 170.0}), 1)
    (move,) = result.moves
    assert move.wall == "depth"
    scale = boxes(root, fill="#fafafa")[0][2] / 900.0
    (orange,) = boxes(root, stroke=ORANGE)
    assert orange[3] == pytest.approx(move.by_mm * scale, abs=0.01)
    words = [e.text for e in root.iter(f"{SVG}text")]
    assert "+12 mm" in words  # 172 of the pack and twice 5 to the walls


def test_inches_for_readers_of_inches() -> None:
    case = build_plain_case(space={"depth_mm": 170.0}, units="imperial")
    root, _ = drawn(case, 1)
    words = " ".join(e.text or "" for e in root.iter(f"{SVG}text"))
    titles = " ".join(e.text or "" for e in root.iter(f"{SVG}title"))
    assert " mm" not in words + titles
    assert "35.4 in" in words  # 900 mm
    assert length(25.4, imperial=True) == "1.0 in"


def test_what_is_kept_free_for_the_cable_stands_on_the_drawing() -> None:
    root, _ = drawn(build_plain_case(), 1, bend_mm=60.0)
    words = " ".join(e.text or "" for e in root.iter(f"{SVG}text"))
    assert "60 mm free at the terminals" in words
