"""The table of arrangements for other programs: one writer for each form.

Every column with its key, units metric and fractions never percent whatever the case shows.
"""

import csv
import io
from collections.abc import Callable, Mapping
from types import MappingProxyType

from tco.columns import COLUMNS
from tco.compare import Comparison


def as_csv(comparison: Comparison) -> str:
    """One row per arrangement in rank order; what is not known is empty."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(column.key for column in COLUMNS)
    writer.writerows([column.plain(row) for column in COLUMNS] for row in comparison.rows)
    return out.getvalue().rstrip("\n")


EXPORTS: Mapping[str, Callable[[Comparison], str]] = MappingProxyType({"csv": as_csv})
"""What the command line offers as `--csv`, by its name."""
