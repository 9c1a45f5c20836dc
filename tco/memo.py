"""What was worked out lately, found again by what it was worked out from."""

from collections.abc import Callable
from threading import Lock
from typing import Generic, TypeVar

Found = TypeVar("Found")


class Memo(Generic[Found]):
    """The last few results of a stage, each under what it was worked out from.

    Keys are compared, not hashed: models of a case are equal where all that stands in them is, and
    at once where they are the same object. Safe between threads; two that ask for the same thing at
    the same time may both work it out.
    """

    def __init__(self, most: int) -> None:
        """Remember up to `most` results; the one longest not asked for is forgotten first."""
        self._most = most
        self._found: list[tuple[object, Found]] = []
        self._lock = Lock()

    def of(self, key: object, work: Callable[[], Found]) -> Found:
        """What `work` gave for an equal key, or gives now."""
        with self._lock:
            for place, (known, found) in enumerate(self._found):
                if known == key:
                    self._found.append(self._found.pop(place))
                    return found
        made = work()
        with self._lock:
            self._found.append((key, made))
            del self._found[: max(len(self._found) - self._most, 0)]
        return made

    def forget(self) -> None:
        """Forget everything."""
        with self._lock:
            self._found.clear()
