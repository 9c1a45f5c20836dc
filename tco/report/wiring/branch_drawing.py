"""The branches on the wiring diagram: bars, fuses, isolators, and what hangs on them."""

from collections.abc import Sequence

from tco.bank.wiring.feeds import BARS, Feed
from tco.bank.wiring.part_decisions import PartDecision
from tco.report import svg
from tco.report.svg import short
from tco.report.wiring.sheet import HOLLOW, Sheet
from tco.report.wiring.words import feed_words, isolator_words

CONSUMER_W, CONSUMER_H, CONSUMER_ROW = 232.0, 52.0, 66.0
PART_W, PART_H, GAP = 108.0, 34.0, 12.0
PANELS_W = 64.0


class Across:
    """Where things stand from left to right: rails, fuses, isolators, consumers, panels. [px]"""

    def __init__(self, rail_x: float, feeds: Sequence[tuple[int, Feed]]) -> None:
        before = max((len(_before(feed)) for _, feed in feeds), default=0)
        behind = max((len(_behind(feed)) for _, feed in feeds), default=0)
        self.plus_x, self.minus_x = rail_x, rail_x + 44.0
        self.fuse_x = self.minus_x + 26.0
        self.consumer_x = self.fuse_x + (1 + before) * (PART_W + GAP) + 44.0
        self.right_x = self.consumer_x + CONSUMER_W
        if behind:
            self.right_x += behind * (PART_W + GAP) + GAP + PANELS_W


def _before(feed: Feed) -> list[PartDecision]:
    """Isolators between the distribution and what it leads to."""
    return [one for one in feed.switches if one.part.side != "panel side"]


def _behind(feed: Feed) -> list[PartDecision]:
    """Isolators and breakers between a controller and its panels."""
    return [one for one in feed.switches if one.part.side == "panel side"]


def draw_branches(
    sheet: Sheet,
    consumers: Sequence[tuple[str, str, str]],
    feeds: Sequence[tuple[int, Feed]],
    across: Across,
    *,
    top: float,
    bottom: float,
    bars_stay: bool,
    carry_a: float,
) -> None:
    """Draw the distribution and every branch from it onto a sheet.

    Parameters
    ----------
    consumers
        Key, name and a few words of each, in the order of their branches.
    feeds
        The branches with the numbers of their conductors.
    top, bottom
        Of the drawing. [px]
    bars_stay
        Whether bars that are there carry the branches.
    carry_a
        What the bars carry. [A]
    """
    _rails(sheet, across, top, bottom, bool(consumers), bars_stay, carry_a)
    waiting = list(feeds)  # in the order of the consumers; two may have one name
    for n, (key, name, detail) in enumerate(consumers):
        y = top + 26.0 + n * CONSUMER_ROW
        own = next((one for one in waiting if one[1].key == key), None)
        sheet.parts.append(
            svg.hop(across.plus_x, across.consumer_x, y - 9, across.minus_x, stroke=svg.ORANGE)
        )
        sheet.parts += _minus(across.minus_x + 5.0, across.consumer_x, y + 12)
        if own is not None:
            waiting.remove(own)
            _branch(sheet, across, key, y, *own)
        sheet.box(
            key,
            across.consumer_x,
            y,
            [short(name, 26), short(detail, 36)],
            width=CONSUMER_W,
            height=CONSUMER_H,
            words=f"{name}: {detail}",
        )


def _minus(x1: float, x2: float, y: float) -> list[str]:
    return [
        svg.line(x1, y, x2, y, stroke=colour, width=thick)
        for colour, thick in ((svg.INK, 3.0), *HOLLOW[True])
    ]


def _rails(
    sheet: Sheet,
    across: Across,
    top: float,
    bottom: float,
    branched: bool,
    bars_stay: bool,
    carry_a: float,
) -> None:
    plus_x, minus_x, height = across.plus_x, across.minus_x, bottom - top
    bars = [
        svg.box(plus_x - 5.0, top, 10.0, height - 30.0, fill=svg.ORANGE, stroke="none"),
        svg.box(
            minus_x - 5.0, top, 10.0, height + 5.0, fill=svg.PAPER, stroke=svg.INK,
            stroke_width=2.6,
        ),
        svg.text(plus_x, top - 6.0, "+", size=15, anchor="middle"),
        svg.text(minus_x, top - 6.0, "−", size=15, anchor="middle"),
    ]  # fmt: skip
    where, key = "distribution, in place" if branched else "to the loads", ""
    if bars_stay:
        where, key = f"{BARS}, in place", "distribution"
    elif sheet.bill.get("distribution"):
        where, key = f"{BARS} ≥ {carry_a:.0f} A", "distribution"
    bars.append(svg.text(minus_x + 16.0, top - 6.0, where, size=11))
    if key:
        sheet.place(key, f"{BARS}: {carry_a:.0f} A to carry", bars)
    else:
        sheet.parts += bars


def _branch(sheet: Sheet, across: Across, key: str, y: float, number: int, feed: Feed) -> None:
    """Fuse and isolators where they stand, the fuse by the distribution, and the conductor's
    number."""
    line_y = y - 9.0
    parts = sheet.tag(across.consumer_x - 20.0, line_y, number, svg.ORANGE)
    fuse = feed.fuse
    if fuse is None:
        parts += _device(across.fuse_x, line_y, ["no fuse"], warns=True)
    elif not feed.of_main_run or feed.fuse_stays:
        rating = f"{fuse.rating_a:g} A" + (", in place" if feed.fuse_stays else "")
        parts += _device(across.fuse_x, line_y, [fuse.fuse_class.name, rating])
    x = across.fuse_x + PART_W + GAP
    for one in _before(feed):
        parts += _device(x, line_y, isolator_words(one), switch=True)
        x += PART_W + GAP
    behind = _behind(feed)
    if behind:
        parts += _to_panels(across.consumer_x + CONSUMER_W, y, behind)
    words = feed_words(feed, imperial=sheet.imperial)
    sheet.parts.append(svg.group(parts, title=sheet.title(key, words), data_part=key))


def _to_panels(x: float, y: float, switches: Sequence[PartDecision]) -> list[str]:
    """From a controller through what switches to its panels."""
    panels_x = x + len(switches) * (PART_W + GAP) + GAP
    parts = [svg.line(x, y - 9.0, panels_x, y - 9.0, stroke=svg.ORANGE, width=2.0)]
    parts += _minus(x, panels_x, y + 12.0)
    for n, one in enumerate(switches):
        at = x + GAP + n * (PART_W + GAP)
        parts += _device(at, y - 9.0, isolator_words(one), switch=True)
    parts += [
        svg.box(panels_x, y - CONSUMER_H / 2.0, PANELS_W, CONSUMER_H, radius=4.0),
        svg.text(panels_x + PANELS_W / 2.0, y + 4.0, "panels", size=12, anchor="middle"),
    ]
    return parts


def _device(
    x: float, y: float, lines: Sequence[str], *, warns: bool = False, switch: bool = False
) -> list[str]:
    """A fuse or breaker, or an isolator, as a box in the line."""
    parts = [
        svg.box(
            x, y - PART_H / 2.0, PART_W, PART_H, radius=4.0,
            fill=svg.PAPER if warns or switch else svg.SAND,
            stroke=svg.ORANGE if warns else svg.INK,
        )
    ]  # fmt: skip
    first = y + 4.0 - (len(lines) - 1) * 6.5
    parts += [
        svg.text(x + PART_W / 2.0, first + 13.0 * n, line, size=11, anchor="middle")
        for n, line in enumerate(lines)
    ]
    return parts
