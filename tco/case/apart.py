"""Reads the sheets of an old spreadsheet (xls) in a process of its own, for `tco.case.sheets`.

python -m tco.case.apart < table.xls
"""

import json
import sys
from typing import Any

from tco.case.problems import CaseError
from tco.case.sheets import every_sheet


def main() -> None:
    """Read a file's sheets from the standard input, and say them, or the problems, as JSON."""
    try:
        said: dict[str, Any] = {"sheets": every_sheet(sys.stdin.buffer.read(), "")}
    except CaseError as error:
        said = {"problems": [[p.what, p.mend] for p in error.problems]}
    json.dump(said, sys.stdout)


if __name__ == "__main__":
    main()
