"""Which battery, in which arrangement, should replace the one you have, and at what cost.

>>> from tco import compare, read_case
>>> comparison = compare(read_case("candidates_demo/otterbank.toml"))
>>> comparison.results[0].arrangement.layout
'1S1P'
"""

from tco.case import CaseError, read_case
from tco.compare import Comparison, compare

__all__ = ["CaseError", "Comparison", "compare", "read_case"]
