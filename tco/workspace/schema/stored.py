"""What a store hands out, and what it raises where it cannot: all of it in words for people."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path as FilePath

from tco.workspace.edits import Path, Step, Value


@dataclass(frozen=True)
class CaseInfo:
    """One line of the list of cases. `steps` is the number of its last step; times are in UTC."""

    id: str
    title: str
    owner: str
    created: datetime
    changed: datetime
    steps: int


@dataclass(frozen=True)
class StoredCase:
    """A case as it is kept: the document it began with, and every step made since."""

    info: CaseInfo
    base: Mapping[Path, Value]
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class PutAside:
    """A file that could not be opened as a case, where it lies now, and why, in sentences.

    `name` is the title of the case, or the name of the file where no title could be read.
    """

    name: str
    path: FilePath
    reason: str


class StoreTrouble(Exception):  # noqa: N818 - named by what is so
    """What a store could not do: what happened, what is safe, how to mend it."""


class NotKept(StoreTrouble):
    """Something could not be written; nothing of it was, and all that was kept before is there."""


class NotRead(StoreTrouble):
    """Something could not be read now; nothing was changed."""


class NoSuchCase(LookupError):  # noqa: N818 - named by what is so
    """There is no case with this id, or it is another person's.

    `was_there` says that there is or was one, which cannot be opened; `removed` that it was taken
    off the list and can be put back.
    """

    def __init__(self, words: str = "", *, removed: bool = False) -> None:
        self.was_there, self.removed = bool(words), removed
        super().__init__(
            words
            or "There is no case at this address. It may have been removed, or it belongs to "
            "somebody else. Open the list of cases and choose one there."
        )


class AlreadyThere(Exception):  # noqa: N818 - named by what is so
    """A case with this id is kept already: nothing was written."""


class Behind(Exception):  # noqa: N818 - named by what is so
    """Newer steps were there already: nothing was written. `steps` are those newer ones."""

    def __init__(self, steps: tuple[Step, ...]) -> None:
        self.steps = steps
        super().__init__(
            f"{len(steps)} newer step(s) were made elsewhere. Nothing was written; take them in "
            "and try again."
        )


class Damaged(Exception):  # noqa: N818 - named by what is so
    """Content of a database that cannot be right; the reason is the message. Never for screens."""


class Newer(Exception):  # noqa: N818 - named by what is so
    """A database that a newer program has written; the message says so."""
