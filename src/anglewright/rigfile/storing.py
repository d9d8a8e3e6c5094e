"""Files written so that an interrupted write loses nothing: to a side file, then renamed."""

import os
from pathlib import Path

from anglewright.errors import DataError, Problem


def write_whole(path: Path, text: str) -> None:
    """Write a text file in one piece; the old one stays until the new one is whole.

    Raises
    ------
    DataError
        The place cannot be written to.
    """
    side = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with side.open("w", encoding="utf-8", newline="\n") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        side.replace(path)
    except OSError as fault:
        side.unlink(missing_ok=True) if side.parent.is_dir() else None
        reason = (fault.strerror or str(fault)).lower()
        remedy = "Name a folder that you may write to."
        raise DataError(Problem(str(path), f"it cannot be written ({reason})", "", remedy)) from None
