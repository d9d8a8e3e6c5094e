"""Readings given to a command, from a file, standard input or the clipboard; and what is said about them."""

import argparse
import io
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from anglewright.cli.asking import choose_one
from anglewright.errors import DataError, DeviceError, Problem, UsageError
from anglewright.jobs.sheetfile import SheetFile
from anglewright.tables.source import of_bytes, of_stream
from anglewright.tables.wishes import Ask, wishes_from

STDIN = "-"
"""The name of a file that means standard input."""

_PASTE = (
    ("wl-paste", "--no-newline"),
    ("xclip", "-selection", "clipboard", "-out"),
    ("xsel", "--clipboard", "--output"),
    ("pbpaste",),
    ("powershell", "-NoProfile", "-Command", "Get-Clipboard -Raw"),
)
_PATIENCE_S = 10.0  # that the clipboard is given to answer [s]


@contextmanager
def sheet_given(options: argparse.Namespace, file: str | None) -> Iterator[SheetFile | None]:
    """The readings that a command was given, None where it was given none.

    Raises
    ------
    UsageError
        A file and the clipboard are both given, or what is said about the file cannot be understood.
    DataError
        The clipboard is empty.
    DeviceError
        No program can read the clipboard.
    """
    wishes = wishes_from(options.wishes)
    if file is not None and options.clipboard:
        found = "a file and --clipboard are both given"
        raise UsageError(Problem(options.command, found, "", "Leave one of them out."))
    if options.clipboard:
        source = of_bytes(clipboard(), name="the clipboard")
        yield SheetFile(source=source, wishes=wishes, ask=_ask())
    elif file == STDIN:
        with of_stream(_bytes_of(sys.stdin), name="standard input") as source:
            yield SheetFile(source=source, wishes=wishes)
    else:
        yield None if file is None else SheetFile(source=Path(file), wishes=wishes, ask=_ask())


def _ask() -> Ask | None:
    """Whom to ask: the person at the terminal, nobody in a pipe."""
    return choose_one if sys.stdin.isatty() and sys.stderr.isatty() else None


def _bytes_of(stream: object) -> IO[bytes]:
    """The bytes behind a stream of text."""
    if isinstance(stream, io.TextIOWrapper):
        found: IO[bytes] = stream.buffer
        return found
    return io.BytesIO(stream.read().encode() if isinstance(stream, io.TextIOBase) else b"")


def clipboard() -> bytes:
    """What the clipboard holds.

    Raises
    ------
    DataError
        It is empty.
    DeviceError
        No program can read it.
    """
    for command in _PASTE:
        program = shutil.which(command[0])
        if program is None:
            continue
        try:
            done = subprocess.run([program, *command[1:]], capture_output=True, timeout=_PATIENCE_S)
        except (OSError, subprocess.TimeoutExpired):
            continue
        if done.returncode == 0 and done.stdout.strip():
            return done.stdout
        if done.returncode == 0:
            remedy = "Copy the table in the spreadsheet first."
            raise DataError(Problem("the clipboard", "it is empty", "", remedy))
    found = "no program here can read it"
    remedy = "Install xclip or wl-clipboard, or paste the table into a file."
    raise DeviceError(Problem("the clipboard", found, "", remedy))
