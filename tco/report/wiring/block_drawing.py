"""One block of bare cells from above: which way round each stands, links, sense leads, unit.

Groups follow one another along a row and back along the next; cells of a group stand alike, those
of the next the other way round, so that a link joins the terminals of one edge. Plus is told by its
sign and by a filled terminal, not by colour alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tco.bank.checks.cells import ASSEMBLY
from tco.case import Pack
from tco.case.block import Block
from tco.report import svg
from tco.report.svg import lines_of, short

WIDEST_ROW = 1000.0
CELL_W, CELL_H = 54.0, 108.0
ROW_GAP = 74.0
LEFT, TOP = 190.0, 110.0
EDGE = 16.0
"""From a cell's edge to its terminal."""
TURN = 34.0
"""How far a link stands out where one row goes over into the next."""
UNIT_W, UNIT_H = 128.0, 44.0
FUSE_WORDS = 140.0
"""Room for what stands beside the last cell."""
LETTERS = 115


@dataclass(frozen=True)
class _Group:
    """Where a group stands: the middle of its first and last cell, its row, which end is up."""

    first_x: float
    last_x: float
    y: float
    plus_up: bool

    def terminal_y(self, *, plus: bool) -> float:
        """Height of its positive or negative terminals."""
        return self.y + EDGE if plus == self.plus_up else self.y + CELL_H - EDGE


def block_drawing(pack: Pack) -> str:
    """SVG of one block of a pack built of bare cells.

    Raises
    ------
    ValueError
        Where the pack is bought as it is.
    """
    block = pack.block
    if block is None:
        raise ValueError(f"{pack.name} is no block of bare cells")
    wide = min(CELL_W, WIDEST_ROW / (block.cells // block.rows))
    groups = _places(block, wide)
    parts: list[str] = []
    title = f"Block of {block.cells} × {pack.name}, {block.layout}, from above"
    parts.append(svg.text(24.0, 36.0, short(title, 80), size=17.0, weight="bold"))
    for number, group in enumerate(groups, start=1):
        parts += _cells(group, number, wide, block.parallel)
    for number, (one, other) in enumerate(pairwise(groups), start=1):
        parts += _link(one, other, number, wide)
    parts += _ends(block, groups, wide)
    bottom = TOP + block.rows * (CELL_H + ROW_GAP)
    parts += _words(pack, block, bottom)
    height = bottom + 20.0 * len(_lines(pack, block)) + 24.0
    width = max(LEFT + block.cells // block.rows * wide + FUSE_WORDS, 860.0)
    return svg.document(parts, width=width, height=height, title=title)


def _places(block: Block, wide: float) -> list[_Group]:
    in_a_row = block.series // block.rows
    groups = []
    for number in range(block.series):
        row, place = divmod(number, in_a_row)
        if row % 2:
            place = in_a_row - 1 - place
        x = LEFT + place * block.parallel * wide + wide / 2.0
        groups.append(
            _Group(
                x,
                x + (block.parallel - 1) * wide,
                TOP + row * (CELL_H + ROW_GAP),
                plus_up=number % 2 == 0,
            )
        )
    return groups


def _cells(group: _Group, number: int, wide: float, parallel: int) -> list[str]:
    drawn = []
    for k in range(parallel):
        x = group.first_x + k * wide
        cell = [
            svg.box(x - wide / 2.0 + 1.0, group.y, wide - 2.0, CELL_H, fill=svg.SKY, radius=3.0),
            svg.text(x, group.y + CELL_H / 2.0 + 4.0, str(number), anchor="middle", size=12.0),
        ]
        for plus in (True, False):
            y = group.terminal_y(plus=plus)
            sign, inner = ("+", 1.0) if plus else ("−", -1.0)
            inward = y + (18.0 if y < group.y + CELL_H / 2.0 else -10.0)
            cell.append(_terminal(x, y, filled=inner > 0.0))
            cell.append(svg.text(x, inward, sign, anchor="middle", size=11.0, weight="bold"))
        drawn.append(svg.group(cell, title=f"group {number}, cell {k + 1}", data_part="cell"))
    return drawn


def _terminal(x: float, y: float, *, filled: bool) -> str:
    return svg.element(
        "circle", cx=x, cy=y, r=4.0, fill=svg.INK if filled else svg.PAPER, stroke=svg.INK
    )


def _link(one: _Group, other: _Group, number: int, wide: float) -> list[str]:
    """The link from the plus of one group to the minus of the next, with its sense lead."""
    y, next_y = one.terminal_y(plus=True), other.terminal_y(plus=False)
    if one.y == other.y:
        start = min(one.first_x, other.first_x)
        end = max(one.last_x, other.last_x)
        bars = [svg.line(start, y, end, y, stroke=svg.FAINT, width=9.0)]
        tag_x, tag_y = (start + end) / 2.0, one.y - 8.0 if one.plus_up else one.y + CELL_H + 16.0
    else:
        outward = 1.0 if one.first_x > LEFT + wide else -1.0
        edge = one.last_x if outward > 0.0 else one.first_x
        out = edge + outward * (wide / 2.0 + TURN / 2.0)
        bars = [
            svg.line(one.first_x, y, one.last_x, y, stroke=svg.FAINT, width=9.0),
            svg.line(other.first_x, next_y, other.last_x, next_y, stroke=svg.FAINT, width=9.0),
            svg.line(edge, y, out, y, stroke=svg.FAINT, width=6.0),
            svg.line(out, y, out, next_y, stroke=svg.FAINT, width=6.0),
            svg.line(out, next_y, edge, next_y, stroke=svg.FAINT, width=6.0),
        ]
        tag_x, tag_y = out + outward * 14.0, (y + next_y) / 2.0
    words = f"link from plus of group {number} to minus of group {number + 1}; sense lead {number}"
    tag = svg.text(tag_x, tag_y, f"s{number}", anchor="middle", size=10.0, fill=svg.BLUE)
    marks = [_terminal(x, y, filled=True) for x in _xs(one, wide)]
    marks += [_terminal(x, next_y, filled=False) for x in _xs(other, wide)]
    return [svg.group([*bars, *marks, tag], title=words, data_part="link")]


def _xs(group: _Group, wide: float) -> Sequence[float]:
    cells = round((group.last_x - group.first_x) / wide) + 1
    return [group.first_x + k * wide for k in range(cells)]


def _ends(block: Block, groups: Sequence[_Group], wide: float) -> list[str]:
    """The block's two terminals: minus through the unit, plus to the fuse close by."""
    first, last = groups[0], groups[-1]
    minus_y, plus_y = first.terminal_y(plus=False), last.terminal_y(plus=True)
    unit_x, parts = 24.0, []
    if block.parallel > 1:
        parts += [
            svg.line(g.first_x, y, g.last_x, y, stroke=svg.FAINT, width=9.0)
            for g, y in ((first, minus_y), (last, plus_y))
        ]
    parts.append(svg.line(unit_x + UNIT_W, minus_y, first.first_x, minus_y, width=3.0))
    name = "external management" if block.unit is None else block.unit.name
    parts += [
        svg.box(unit_x, minus_y - UNIT_H / 2.0, UNIT_W, UNIT_H, fill=svg.SAND, radius=4.0),
        *(
            svg.text(
                unit_x + UNIT_W / 2.0, minus_y - 4.0 + 15.0 * k, words, anchor="middle", size=11.0
            )
            for k, words in enumerate([short(name, 20), "− of the block"])
        ),
        svg.text(first.first_x - wide / 2.0 - 14.0, minus_y - 8.0, "s0", anchor="middle",
                 size=10.0, fill=svg.BLUE),
    ]  # fmt: skip
    right = last.first_x > LEFT + wide or block.rows == 1
    edge, way = (last.last_x, 1.0) if right else (last.first_x, -1.0)
    out = edge + way * (wide / 2.0 + TURN)
    parts += [
        svg.line(edge, plus_y, out, plus_y, stroke=svg.ORANGE, width=3.0),
        svg.text(
            edge + way * (wide / 2.0 + 6.0),
            plus_y - 8.0,
            f"+ to its fuse, s{block.series}",
            anchor="start" if right else "end",
            size=11.0,
        ),
    ]
    marks = [_terminal(x, minus_y, filled=False) for x in _xs(first, wide)]
    marks += [_terminal(x, plus_y, filled=True) for x in _xs(last, wide)]
    return [*parts, *marks]


def _lines(pack: Pack, block: Block) -> list[str]:
    group = "cell" if block.parallel == 1 else f"group of {block.parallel} cells in parallel"
    unit = "the external management" if block.unit is None else block.unit.name
    links = "; ".join(f"{p.quantity} × {p.part}, {p.note}" for p in block.parts if "link" in p.part)
    return [
        *lines_of(
            f"1 to {block.series}: each {group}, in series in this order, "
            f"{pack.nominal_voltage_v:g} V in all. A filled terminal is plus.",
            LETTERS,
        ),
        *lines_of(
            f"s0 to s{block.series}: sense leads of {unit}, one on each link, fused at the cell.",
            LETTERS,
        ),
        *lines_of(f"Links: {links}.", LETTERS),
        *lines_of(f"A plan, not an approval: {ASSEMBLY}.", LETTERS),
    ]


def _words(pack: Pack, block: Block, top: float) -> list[str]:
    return [
        svg.text(24.0, top + 20.0 * number, words, size=12.0)
        for number, words in enumerate(_lines(pack, block))
    ]
