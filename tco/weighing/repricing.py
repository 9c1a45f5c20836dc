"""A few arrangements priced again and again, while one quantity of the case is turned.

The amounts are those of `tco.compare.compare`, since both ask the same stages; but an arrangement
stays in question where `compare` would no longer list it, being many times larger than a small
need.
"""

from tco.bank.choices import again
from tco.case import Case
from tco.pipeline import Priced, priced
from tco.result import Result


class Repricing:
    """Prices the same arrangements under any number of cases."""

    def __init__(self, *results: Result) -> None:
        """Take the arrangements of some results of one comparison."""
        self._sides = tuple(result.arrangement for result in results)

    def priced(self, case: Case) -> tuple[Priced, ...]:
        """Each arrangement under a case, in the order they were given.

        Raises
        ------
        LookupError
            Where the case has no candidate of one's name, or no management unit of its block's.
        """
        return priced(case, [again(case, side) for side in self._sides])

    def difference(self, case: Case) -> float:
        """Total cost of the first arrangement less that of the second, at central values."""
        first, second = self.priced(case)[:2]
        return first.measures.total_cost - second.measures.total_cost
