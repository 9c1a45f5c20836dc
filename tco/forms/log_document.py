"""The log of capacity tests as part of a case's document, and back to the text of a log."""

from collections.abc import Callable, Mapping

from tco.forms.log_labels import LOG_LABELS
from tco.forms.log_text import FIRST_HEADINGS, LogText, stated_line, take_apart
from tco.workspace.document import LOG, new_row_id, rows
from tco.workspace.edits import Document, Path, Value

ABOUT: Path = (LOG, "about")
TESTS: Path = (LOG, "rows")
_HEADINGS: Path = (LOG, "headings")
_REMARKS: Path = (LOG, "remarks")
_SEPARATOR: Path = (LOG, "separator")


def log_entries(text: str, *, row_id: Callable[[], str] = new_row_id) -> dict[Path, Value]:
    """The entries of a log given as text; none of an empty one."""
    if not text.strip():
        return {}
    log = take_apart(text)
    found: dict[Path, Value] = {_HEADINGS: list(log.headings), TESTS: []}
    if log.separator != ",":
        found[_SEPARATOR] = log.separator
    stated = [stated_line(line) for line in log.lines]
    remarks = [line for line, (name, _) in zip(log.lines, stated, strict=True) if not name]
    if remarks:
        found[_REMARKS] = remarks
    found.update({(*ABOUT, name): value for name, value in stated if name and value})
    for number, row in enumerate(log.rows, start=1):
        place = (*TESTS, row_id())
        found[place] = float(number)
        found.update(
            {(*place, h): cell for h, cell in zip(log.headings, row, strict=True) if cell.strip()}
        )
    return found


def log_of(document: Document) -> LogText:
    """The log in a document."""
    headings = tuple(document.get(_HEADINGS) or FIRST_HEADINGS)
    stated = {name: document.get((*ABOUT, name)) for name in LOG_LABELS}
    lines = [f"{name}: {value}" for name, value in stated.items() if value]
    remarks = document.get(_REMARKS) or []
    table = tuple(
        tuple(str(document.get((*TESTS, row, heading)) or "") for heading in headings)
        for row in rows(document, TESTS)
    )
    return LogText((*lines, *remarks), headings, table, str(document.get(_SEPARATOR) or ","))


def log_csv(document: Document) -> str:
    """The log in a document as text; "" where there is none."""
    log = log_of(document)
    started = log.tests or log.lines or log.headings != FIRST_HEADINGS
    return log.text() if started else ""


def headings_entry(log: LogText) -> Mapping[Path, Value]:
    """The entry that sets the columns of the log to those of another."""
    return {_HEADINGS: list(log.headings)}
