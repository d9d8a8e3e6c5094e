"""Bytes of text: which encoding, which line ends, and whole lines of them a block at a time."""

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO

from anglewright.errors import DataError, Problem

BLOCK = 4 << 20  # bytes read at a time [byte]
_LONGEST = 64 << 20  # bytes without a line end that are no table of lines any more [byte]
_WIDE_SHARE = 0.25  # of zero bytes, all at odd or all at even places, above which text is of two bytes [1]
NAMES = {"utf-8": "UTF-8", "utf-16": "UTF-16", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Encoding:
    """How bytes become lines: the codec, the mark in front that is left out, the line end."""

    codec: str
    mark: bytes = b""
    bare_returns: bool = False

    @property
    def name(self) -> str:
        """The usual name."""
        return NAMES.get(self.codec, "Latin-1" if self.codec == "latin-1" else self.codec)


def encoding_of(head: bytes, tail: bytes, *, codec: str = "") -> Encoding:
    """The encoding of a text, from its first and last bytes.

    Parameters
    ----------
    head, tail : bytes
        What was looked at; a byte order mark decides before all else.
    codec : str
        The encoding asked for, empty to find it out.

    Returns
    -------
    Encoding
        UTF-16 by its mark or its zero bytes, else UTF-8 where the bytes allow it, else Latin-1.

    References
    ----------
    rfc-3629
    """
    mark = next((each for each in (codecs.BOM_UTF8, *_WIDE) if head.startswith(each)), b"")
    found = codec or _WIDE.get(mark, "utf-8" if mark else _without_mark(head, tail))
    text = head[len(mark) :].decode(found, "replace")
    return Encoding(codec=found, mark=mark, bare_returns="\r" in text[:-1] and "\n" not in text)


_WIDE = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}


def _without_mark(head: bytes, tail: bytes) -> str:
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if max(even, odd) > _WIDE_SHARE * len(head) and min(even, odd) == 0:
        return "utf-16-le" if odd else "utf-16-be"
    return "utf-8" if _is_utf8(head) and _is_utf8(tail) else "latin-1"


def _is_utf8(data: bytes) -> bool:
    """Whether bytes are UTF-8, a character cut at either end allowed for."""
    start = next((k for k in range(min(4, len(data))) if data[k] & 0xC0 != 0x80), 0)
    try:
        codecs.getincrementaldecoder("utf-8")().decode(data[start:])
    except UnicodeDecodeError:
        return False
    return True


def blocks_of(stream: IO[bytes], encoding: Encoding, *, name: str, size: int = BLOCK) -> Iterator[bytes]:
    """Whole lines as UTF-8, parted by line feeds, a block at a time.

    A byte that the encoding does not know becomes the replacement sign, so that only its cell is lost.

    Raises
    ------
    DataError
        A line is so long that it cannot be one.
    """
    decoder = codecs.getincrementaldecoder(encoding.codec)("replace")
    stream.read(len(encoding.mark))
    rest, ended = b"", False
    while not ended:
        piece = stream.read(size)
        ended = not piece
        if encoding.codec != "utf-8":
            piece = decoder.decode(piece, final=ended).encode("utf-8", "replace")
        data = rest + (piece.replace(b"\r", b"\n") if encoding.bare_returns else piece)
        cut = len(data) if ended else data.rfind(b"\n") + 1
        rest = data[cut:]
        if len(rest) > _LONGEST:
            found = f"it has {len(rest) >> 20} MB without a line end"
            raise DataError(Problem(name, found, "", "Name a file of lines, or save the table as CSV."))
        if cut:
            yield _known(data[:cut])


def _known(block: bytes) -> bytes:
    """The same bytes where they are UTF-8, else with the replacement sign for those that are not."""
    if block.isascii():
        return block
    return block.decode("utf-8", "replace").encode("utf-8")
