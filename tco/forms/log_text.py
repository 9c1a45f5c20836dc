"""The text of a log of capacity tests taken apart for editing, and put together again.

Nothing is read into meaning here (`tco.case.capacity_log` does that): the `#` lines, the headings
and the cells stay as typed, so that an edit changes only what was edited.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, replace

from tco.case import Problem
from tco.case.capacity_log import log_separator
from tco.case.log_headings import HEADER, HEADER_FIELDS, column_of
from tco.forms.log_labels import LOG_LABELS

FIRST_HEADINGS = (
    "Date", "Measured (Ah)", "Temp (°C)", "Discharge (A)", "Stopped at (V)", "Remark",
)  # fmt: skip
_BLANK = " ,;\t"


@dataclass(frozen=True)
class LogText:
    """A log in its parts: `#` lines without the mark, headings, rows of cells, the separator."""

    lines: tuple[str, ...] = ()
    headings: tuple[str, ...] = FIRST_HEADINGS
    rows: tuple[tuple[str, ...], ...] = ()
    separator: str = ","

    def stated(self, field: str) -> str:
        """What the `# word: value` lines say of a field; "" where they say nothing."""
        return next((value for name, value in map(stated_line, self.lines) if name == field), "")

    def text(self) -> str:
        """The log as text."""
        out = io.StringIO()
        writer = csv.writer(out, delimiter=self.separator, lineterminator="\n")
        writer.writerow(self.headings)
        writer.writerows(self.rows)
        return "".join(f"# {line}\n" for line in self.lines) + out.getvalue()

    @property
    def cells(self) -> int:
        """Cell columns there are, counted by the highest number in their headings."""
        numbers = [column_of(heading).cell for heading in self.headings]
        return max((number for number in numbers if number is not None), default=0)

    def with_cells(self, count: int) -> "LogText":
        """The log with columns for so many cells, before the remarks; none is taken out."""
        new = [f"Cell {n} (mV)" for n in range(self.cells + 1, count + 1)]
        last = self.headings[-1:] and column_of(self.headings[-1]).field == "note"
        at = len(self.headings) - bool(last)
        return replace(
            self,
            headings=(*self.headings[:at], *new, *self.headings[at:]),
            rows=tuple((*row[:at], *[""] * len(new), *row[at:]) for row in self.rows),
        )

    def place(self, row: int) -> str:
        """Where a row of the text is on a screen that shows lines and tests apart."""
        head = len(self.lines) + 1
        return (
            f"test {row - head}" if row > head else ("headings" if row == head else "the battery")
        )

    @property
    def tests(self) -> int:
        """Rows with something in them."""
        return sum(any(cell.strip() for cell in row) for row in self.rows)


def stated_line(line: str) -> tuple[str, str]:
    """Field and value of a `# word: value` line; ("", "") of a remark."""
    word, colon, value = line.partition(":")
    plain = " ".join(word.lower().replace("_", " ").split())
    field = HEADER.get(plain, plain.replace(" ", "_"))
    return (field, value.strip()) if colon and field in HEADER_FIELDS else ("", "")


def take_apart(text: str) -> LogText:
    """The parts of a log; rows are filled up to the headings, and headings to the longest row."""
    lines, table = [], []
    for line in text.removeprefix("\ufeff").splitlines():
        if line.lstrip().startswith("#"):
            lines.append(line.lstrip(" #").rstrip(_BLANK))
        elif line.strip(_BLANK):
            table.append(line)
    if not table:
        return LogText(lines=tuple(lines))
    separator = log_separator("\n".join(table))
    cells = list(csv.reader(table, delimiter=separator))
    width = max(len(row) for row in cells)
    filled = [(*row, *[""] * (width - len(row))) for row in cells]
    return LogText(
        lines=tuple(lines),
        headings=_apart(filled[0]),
        rows=tuple(filled[1:]),
        separator=separator,
    )


def _apart(headings: Sequence[str]) -> tuple[str, ...]:
    """Headings by which columns can be told apart."""
    found: list[str] = []
    for number, heading in enumerate(headings, start=1):
        name = heading.strip() or f"column {number}"
        while name in found:
            name += " again"
        found.append(name)
    return tuple(found)


def as_placed(problems: Sequence[Problem], log: LogText) -> tuple[Problem, ...]:
    """Problems by test instead of row of a file, their fields by the names on the screen."""
    placed = []
    for problem in problems:
        where = problem.item or ("the log" if problem.row is None else log.place(problem.row))
        mend = problem.mend
        for field, label in LOG_LABELS.items():
            mend = mend.replace(f"Add {field}.", f"Fill in: {label}.")
        named = LOG_LABELS.get(problem.field, problem.field)
        placed.append(replace(problem, file="", row=None, item=where, field=named, mend=mend))
    return tuple(placed)
