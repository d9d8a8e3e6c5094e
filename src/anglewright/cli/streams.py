"""The standard streams: any text can be shown on them, and one that is closed is let go in peace."""

import io
import os
import sys
from contextlib import AbstractContextManager, nullcontext


def visible(text: str) -> str:
    r"""A text on one line that cannot move a terminal's cursor: control signs are spelt out.

    Examples
    --------
    >>> print(visible("an arm\x1b[2J"))
    an arm\x1b[2J
    """
    return "".join(
        sign if sign.isprintable() or sign in "\u00a0\u2009" else repr(sign)[1:-1] for sign in text
    )


def speak_any_text() -> None:
    """Let the standard streams replace what they cannot encode, rather than fail at it."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def hush(stream: object) -> None:
    """Send what is left in a closed pipe to nowhere, so that the interpreter can end in peace."""
    if isinstance(stream, io.TextIOWrapper):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def waiting(what: str, *, long: bool) -> AbstractContextManager[object]:
    """A moving sign on a terminal's standard error while something lasts over a second."""
    if not long or not sys.stderr.isatty():
        return nullcontext()
    from rich.console import Console

    return Console(stderr=True).status(f"{what} ...")
