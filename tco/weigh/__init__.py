"""Weighing two arrangements: each of the two usual arguments is one call.

from tco import compare, read_case
from tco.weigh import cheap_or_premium, one_or_many

comparison = compare(read_case("case.toml"), draws=1000)
print(one_or_many(comparison).answer)
print(cheap_or_premium(comparison).answer)
"""

from tco.weigh.arguments import Argument, cheap_or_premium, one_or_many
from tco.weigh.breakeven import BreakEven, break_evens
from tco.weigh.pair import Pair, any_two
from tco.weigh.settle import Settled, settled

__all__ = [
    "Argument",
    "BreakEven",
    "Pair",
    "Settled",
    "any_two",
    "break_evens",
    "cheap_or_premium",
    "one_or_many",
    "settled",
]
