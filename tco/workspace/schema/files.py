"""Files as a folder holds them: which one a name stands for, and names that are on disk."""

import errno
import os
from pathlib import Path

from tco.workspace.schema.salvage import BESIDE

Identity = tuple[int, int]
"""Device and number of a file: another file under the same name has another."""


def identity(path: Path) -> Identity | None:
    """Which file a name stands for now; None for none."""
    try:
        found = path.stat()
    except FileNotFoundError:
        return None
    return found.st_dev, found.st_ino


def discard(fresh: Path | None) -> None:
    """Delete a file that this process was making and that has no name of a case yet."""
    if fresh is not None:
        for end in ("", *BESIDE):
            Path(f"{fresh}{end}").unlink(missing_ok=True)


def sync(folder: Path) -> None:
    """See to it that the names in a folder are on disk, where a system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno != errno.EINVAL:  # a file system that has no such thing
            raise
    finally:
        os.close(handle)


def move(path: Path, to: Path) -> None:
    """Move a SQLite file with what lies beside it."""
    path.replace(to)
    for end in BESIDE:
        if Path(f"{path}{end}").exists():
            Path(f"{path}{end}").replace(f"{to}{end}")
