"""What stands between the cells of a table given as text."""

import csv
import io
from collections.abc import Callable, Iterable


def cells_of(text: str, separator: str) -> list[list[str]]:
    """Rows of cells; csv.Error where a quotation mark never closes."""
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))


def separator_of(text: str, meant: Callable[[Iterable[list[str]]], tuple[int, int]]) -> str:
    """The separator under which most headings mean something; the more frequent one on a tie.

    `meant` gives, of the rows that a separator leads to, how many headings mean something and how
    many there are.
    """

    def under(separator: str) -> tuple[int, int]:
        try:
            return meant(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
        except csv.Error:
            return 0, 0

    return max(",;\t", key=under)
