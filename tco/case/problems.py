"""What is wrong with what the user gave, said so that it can be mended."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing to mend. Empty parts are not known or do not apply.

    Attributes
    ----------
    what
        What is wrong, to be read after the place: "is too small".
    file, row, item, field
        Where: the file, the row of a table as a spreadsheet counts them, the named entry
        ("load 'kettle'"), and the field in the project's own name (`system.spaces[1].width_mm`).
    given
        The value as it was typed, with the unit it was typed in.
    allowed, mend
        What would do, and how to mend it, a sentence.
    location
        The place in the data of a case: field names and places of lists, counted from nought.
    """

    what: str
    file: str = ""
    row: int | None = None
    item: str = ""
    field: str = ""
    given: str = ""
    allowed: str = ""
    mend: str = ""
    location: tuple[str | int, ...] = ()

    def __str__(self) -> str:
        """One or two sentences: where, what was given, what is allowed, how to mend it."""
        place = [
            self.file,
            f"row {self.row}" if self.row is not None else "",
            self.item,
            self.field,
        ]
        where = ", ".join(part for part in place if part)
        text = f"{where}: {self.what}" if where else self.what
        if self.given:
            text += f"; given {self.given}"
        if self.allowed:
            text += f"; allowed: {self.allowed}"
        if self.mend:
            text += f". {self.mend}"
        return text


class CaseError(Exception):
    """A case that cannot be used, with every problem found, none swallowed."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
