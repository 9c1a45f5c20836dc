"""A few arrangements priced again and again, while one quantity of the case is turned.

The amounts are those of `tco.compare.compare`, since both ask the same stages; but an arrangement
stays in question where `compare` would no longer list it, being many times larger than a small
need.
"""

from collections.abc import Sequence

from tco.bank.arrangements import Arrangement, arranged
from tco.case import Case
from tco.case.candidate import specify
from tco.pipeline import Priced, priced
from tco.result import Result


class Repricing:
    """Prices the same arrangements under any number of cases."""

    def __init__(self, *results: Result) -> None:
        """Take the arrangements of some results of one comparison."""
        self._sides = tuple(
            (r.arrangement.pack.name, r.arrangement.series, r.arrangement.parallel) for r in results
        )

    def priced(self, case: Case) -> tuple[Priced, ...]:
        """Each arrangement under a case, in the order they were given.

        Raises
        ------
        LookupError
            Where the case has no candidate of one's name.
        """
        return priced(case, self._arrangements(case))

    def difference(self, case: Case) -> float:
        """Total cost of the first arrangement less that of the second, at central values."""
        first, second = self.priced(case)[:2]
        return first.measures.total_cost - second.measures.total_cost

    def _arrangements(self, case: Case) -> Sequence[Arrangement]:
        candidates = {candidate.name: candidate for candidate in case.candidates}
        missing = [name for name, _, _ in self._sides if name not in candidates]
        if missing:
            raise LookupError(f"the case has no candidate called {missing[0]!r}")
        packs = {name: specify(candidates[name]) for name in {side[0] for side in self._sides}}
        return tuple(arranged(case, packs[name], s, p) for name, s, p in self._sides)
