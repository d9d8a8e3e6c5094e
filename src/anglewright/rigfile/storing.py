"""Files written so that an interrupted write loses nothing: to a side file, then moved into place."""

import os
from pathlib import Path

from anglewright.errors import DataError, Problem

_HEAD = 400  # bytes of a file in which a writer's own sign stands


def write_whole(path: Path, text: str, *, fresh: bool = False) -> None:
    """Write a text file in one piece; the old one stays until the new one is whole.

    Parameters
    ----------
    path : Path
        The file; missing folders are made.
    text : str
        What to write, as UTF-8 with line feeds.
    fresh : bool
        Refuse to replace a file, even one that another program makes at this moment.

    Raises
    ------
    DataError
        The place cannot be written to, or `fresh` and there is a file.
    """
    side = path.with_name(f".{path.name[:80]}.{os.getpid()}.part")
    _make_folder(path.parent)
    try:
        try:
            _fill(side, text)
            _move(side, path, fresh=fresh)
        finally:
            side.unlink(missing_ok=True)
    except FileExistsError:
        raise taken(path) from None
    except OSError as fault:
        raise _unwritable(path, fault) from None


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        file = next(each for each in (folder, *folder.parents) if each.exists())
        problem = Problem(str(file), "it is a file", "a folder belongs here", "Name another place.")
        raise DataError(problem) from None
    except OSError as fault:
        raise _unwritable(folder, fault) from None


def _unwritable(path: Path, fault: OSError) -> DataError:
    reason = (fault.strerror or str(fault)).lower()
    remedy = "Name a place that you may write to."
    return DataError(Problem(str(path), f"it cannot be written ({reason})", "", remedy))


def _fill(side: Path, text: str) -> None:
    with side.open("w", encoding="utf-8", newline="\n") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())


def _move(side: Path, path: Path, *, fresh: bool) -> None:
    """Into place; a fresh file is linked there, which fails where there is one, if the disk knows links."""
    if fresh:
        try:
            path.hardlink_to(side)
        except FileExistsError:
            raise
        except OSError:
            if path.exists():
                raise FileExistsError(str(path)) from None
        else:
            return
    side.replace(path)


def taken(path: Path) -> DataError:
    """The refusal to write over a file."""
    return DataError(Problem(str(path), "there is a file of that name", "", "Name another; yours is kept."))


def hold_foreign(path: Path, sign: str) -> None:
    """Refuse to write over a file that this program did not write.

    Parameters
    ----------
    path : Path
        The file that is to be written.
    sign : str
        What stands near the top of each file of its kind that the program writes.

    Raises
    ------
    DataError
        There is a file, and the sign is not in it.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
    except (FileNotFoundError, NotADirectoryError):
        return  # nothing is there; a file where a folder should be is told when it is made
    except OSError as fault:
        raise _unwritable(path, fault) from None
    if sign.encode() not in head:
        raise taken(path)
