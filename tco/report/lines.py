"""Lines of text for a terminal."""

import textwrap
from collections.abc import Iterable

WIDTH = 100

UNBROKEN = "\u00a0"
"""A blank at which no line is broken; `as_text` makes a plain blank of it."""


def wrapped(text: str, *, indent: int = 0, hang: int = 0, first: str | None = None) -> list[str]:
    """A sentence in lines of at most WIDTH columns; `first` starts the first of them."""
    return textwrap.wrap(
        text.replace(" × ", f"{UNBROKEN}×{UNBROKEN}"),
        WIDTH,
        initial_indent=" " * indent if first is None else first,
        subsequent_indent=" " * (indent + hang),
    )


def as_text(lines: Iterable[str]) -> str:
    """Lines as one text; line breaks and control characters inside a name become blanks."""
    return "\n".join(
        "".join(c if c.isprintable() else " " for c in line).rstrip() for line in lines
    )
