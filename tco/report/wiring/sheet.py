"""The sheet a wiring is drawn on: parts with what shows when somebody points at them."""

from collections.abc import Mapping, Sequence

from tco.bank.wiring.bill import BillLine
from tco.case import Case
from tco.report import svg
from tco.report.wiring.words import bill_words, by_key

HOLLOW: Mapping[bool, tuple[tuple[str, float], ...]] = {True: ((svg.PAPER, 1.4),), False: ()}
"""What is drawn over a line to make it hollow, as a minus is."""


class Sheet:
    """Elements drawn so far. Every part carries its key (`data-part`) and its lines of the bill,
    and is a link where `links` has an address for its part of the bill."""

    def __init__(self, case: Case, bill: Sequence[BillLine], links: Mapping[str, str]) -> None:
        self.case, self.links = case, links
        self.imperial = case.units == "imperial"
        self.currency = case.prices.currency
        self.bill: Mapping[str, list[BillLine]] = by_key(bill)
        self.parts: list[str] = []

    def title(self, key: str, words: str) -> str:
        """Words with the lines of the bill for a key."""
        lines = [
            bill_words(line, self.currency, imperial=self.imperial)
            for line in self.bill.get(key, [])
        ]
        return "\n".join([words, *lines])

    def place(self, key: str, words: str, parts: list[str], part: str = "") -> None:
        """A part with what shows when somebody points at it, as a link where there is one."""
        names = [part, *(line.part for line in self.bill.get(key, []))]
        link = next((self.links[name] for name in names if self.links.get(name)), "")
        title = self.title(key, words)
        if not link.startswith(("http://", "https://")):
            self.parts.append(svg.group(parts, title=title, data_part=key or None, tabindex=0))
            return
        inside = svg.group(parts, title=f"{title}\n{link}", data_part=key or None)
        self.parts.append(
            svg.element("a", inside, href=link, target="_blank", rel="noopener noreferrer")
        )

    def tag(self, x: float, y: float, number: int, colour: str) -> list[str]:
        """A conductor's number in a ring."""
        return [
            svg.element("circle", cx=x, cy=y, r=10.0, fill=svg.PAPER, stroke=colour),
            svg.text(x, y + 4.0, str(number), size=11, anchor="middle", weight="bold"),
        ]

    def box(
        self,
        key: str,
        x: float,
        y: float,
        lines: Sequence[str],
        *,
        width: float,
        height: float = 46.0,
        fill: str = svg.PAPER,
        words: str = "",
        part: str = "",
    ) -> None:
        """A device, centred in height on y."""
        parts = [svg.box(x, y - height / 2.0, width, height, fill=fill, radius=4.0)]
        first = y - (len(lines) - 1) * 7.5 + 4.0
        for n, line in enumerate(lines):
            parts.append(
                svg.text(
                    x + width / 2.0,
                    first + 15.0 * n,
                    line,
                    size=12 if n == 0 else 11,
                    anchor="middle",
                    weight="bold" if n == 0 else None,
                )
            )
        self.place(key, words or " ".join(lines), parts, part)
