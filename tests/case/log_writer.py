"""Writes a log so that it reads back as the same one."""

import re
from typing import Any

from tco.case.capacity_models import CapacityLog, CapacityTest
from tco.case.cells import quoted
from tco.case.log_headings import HEADER_FIELDS, OTHER, REQUIRED, column_of


def log_to_csv(log: CapacityLog) -> str:
    """Text of a log in canonical units, columns without any value left out."""
    lines: list[list[str]] = []
    for name in CapacityLog.model_fields:
        value = getattr(log, name)
        if name in HEADER_FIELDS and value is not None and value is not False:
            lines.append([f"# {name}: {written(value)}"])
    lines.extend([f"# {remark}"] for remark in log.remarks)
    names = [
        name
        for name in CapacityTest.model_fields
        if name in REQUIRED
        or (name != "other" and any(getattr(t, name) not in (None, "", ()) for t in log.tests))
    ]
    others = sorted({key for test in log.tests for key in test.other})
    lines.append([*names, *map(written_heading, others)])
    for test in log.tests:
        values = [written(getattr(test, name)) for name in names]
        lines.append([*values, *(test.other.get(key, "") for key in others)])
    return "".join(",".join(map(quoted, line)) + "\n" for line in lines)


def written(value: Any) -> str:
    """A field's value as a cell that reads back as the same value."""
    if value is None:
        return ""
    if value is True:
        return "yes"
    if isinstance(value, tuple):
        return " ".join(map(repr, value))
    if isinstance(value, float):
        # a fourth decimal keeps 499.125 from being read as thousands
        return re.sub(r"(\.[0-9]{3})$", r"\g<1>0", repr(value))
    return str(value)


def written_heading(name: str) -> str:
    """Heading that `columns_of` turns back into the name of a column that is kept as it is."""
    taken = column_of(name).field or name.lower().startswith(OTHER.strip())
    return f"{OTHER}{name}" if taken else name
