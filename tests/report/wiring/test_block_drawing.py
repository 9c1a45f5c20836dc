"""The drawing of a block joins plus to minus, numbers every sense lead, and stays on the paper."""

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from tco.bank.blocks import built, rows_possible
from tco.case import Candidate, Pack, Prices, specify
from tco.case.management_unit import ManagementUnit
from tco.report.wiring.block_drawing import CELL_H, _places, block_drawing

LETTER_WIDTH = 0.56
"""Of its size, as measured for `tests/report/wiring/test_diagram.py`."""
SVG = "{http://www.w3.org/2000/svg}"
CELL = Candidate(
    name="<Ridge> & Co", chemistry="lfp", nominal_voltage_v=3.2, capacity_ah=280.0, price=68.0
)
UNIT = ManagementUnit(
    name="Warden", fewest_cells=4, most_cells=16, continuous_discharge_a=200.0, price=160.0
)
LAYOUTS = [
    (series, parallel, rows)
    for series in (4, 8, 12, 14, 16)
    for parallel in (1, 2, 4)
    for rows in rows_possible(series)
]


def block(series: int, parallel: int, rows: int, unit: ManagementUnit | None = UNIT) -> Pack:
    return built(CELL, Prices(), series=series, parallel=parallel, rows=rows, unit=unit)


@pytest.mark.parametrize(("series", "parallel", "rows"), LAYOUTS)
def test_every_cell_link_and_sense_lead_is_drawn(series: int, parallel: int, rows: int) -> None:
    root = ET.fromstring(block_drawing(block(series, parallel, rows)))
    kinds = [e.get("data-part") for e in root.iter() if e.get("data-part")]
    assert kinds.count("cell") == series * parallel
    assert kinds.count("link") == series - 1
    words = [e.text or "" for e in root.iter(f"{SVG}text")]
    leads = [w for w in words if w[:1] == "s" and w[1:].isdigit()]
    assert sorted(leads, key=lambda w: int(w[1:])) == [f"s{n}" for n in range(series)]
    assert f"+ to its fuse, s{series}" in words


@pytest.mark.parametrize(("series", "parallel", "rows"), LAYOUTS)
def test_a_link_joins_plus_to_minus_at_one_edge(series: int, parallel: int, rows: int) -> None:
    found = block(series, parallel, rows).block
    assert found is not None
    groups = _places(found, 40.0)
    for one, other in pairwise(groups):
        plus, minus = one.terminal_y(plus=True) - one.y, other.terminal_y(plus=False) - other.y
        assert plus == minus
        assert 0.0 < plus < CELL_H
        if one.y == other.y:  # neighbours: the gap between them is one cell wide
            gap = max(one.first_x, other.first_x) - min(one.last_x, other.last_x)
            assert gap == pytest.approx(40.0)
        else:  # one straight below the other
            assert one.first_x == other.first_x


@pytest.mark.parametrize(("series", "parallel", "rows"), LAYOUTS)
def test_nothing_leaves_the_paper(series: int, parallel: int, rows: int) -> None:
    root = ET.fromstring(block_drawing(block(series, parallel, rows)))
    width, height = map(float, (root.get("viewBox") or "").split()[2:])
    for e in root.iter(f"{SVG}text"):
        x, y = float(e.get("x", "")), float(e.get("y", ""))
        wide = LETTER_WIDTH * float(e.get("font-size", "")) * len(e.text or "")
        left = {"start": x, "middle": x - wide / 2.0, "end": x - wide}[e.get("text-anchor", "")]
        assert left >= 0.0, e.text
        assert left + wide <= width, e.text
        assert 0.0 < y < height


def test_who_watches_and_the_caution_are_told() -> None:
    said = " ".join(ET.fromstring(block_drawing(block(8, 2, 2))).itertext())
    assert "Warden" in said
    assert "live at all times" in said
    assert "external management" in block_drawing(block(8, 1, 1, unit=None))


def test_a_pack_that_is_bought_has_no_such_drawing() -> None:
    with pytest.raises(ValueError, match="no block of bare cells"):
        block_drawing(specify(CELL))
