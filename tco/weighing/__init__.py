"""Weighing two arrangements: each of the two usual arguments is one call.

from tco import compare, read_case
from tco.weighing import cheap_or_premium, one_or_many

comparison = compare(read_case("case.toml"), draws=1000)
print(one_or_many(comparison).answer)
print(cheap_or_premium(comparison).answer)
"""

from tco.weighing.arguments import Argument, cheap_or_premium, one_or_many
from tco.weighing.breakeven import BreakEven, break_evens
from tco.weighing.convergence import Settled, draw_until_settled
from tco.weighing.pair import Pair, any_two

__all__ = [
    "Argument",
    "BreakEven",
    "Pair",
    "Settled",
    "any_two",
    "break_evens",
    "cheap_or_premium",
    "draw_until_settled",
    "one_or_many",
]
