"""Where the bytes of a sheet come from: a file, a packed file, a stream or the clipboard's text."""

import gzip
import io
import tempfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import IO, cast

from anglewright.errors import DataError, Problem

HEAD = 1 << 20  # bytes looked at from the beginning; a file no longer than this is known whole [byte]
TAIL = 1 << 14  # bytes looked at from the end of a longer one [byte]
_KEPT = 32 << 20  # of a stream that are kept in memory before a temporary file takes it [byte]
_GZIP = b"\x1f\x8b"
_MOST_WHOLE = 256 << 20  # bytes of a file that can only be read whole [byte]
_NAMED = "Name a file."


class Form(Enum):
    """What kind of file it is, by its first bytes."""

    TEXT = "text"
    PARQUET = "Parquet"
    WORKBOOK = "a spreadsheet"


_OTHER = {
    b"\xd0\xcf\x11\xe0": ("a spreadsheet of the old binary kind", "Save it as .xlsx or as CSV."),
    b"%PDF": ("a PDF", "Save the table as CSV."),
    b"SQLite format 3": ("a database", "Export the table as CSV."),
    b"\x89HDF": ("an HDF5 file", "Export the readings as CSV or Parquet."),
    b"\x89PNG": ("a picture", "Type the readings, or save them as CSV."),
    b"\xff\xd8\xff": ("a picture", "Type the readings, or save them as CSV."),
    b"BZh": ("packed with bzip2", "Unpack it, or pack it with gzip."),
    b"\xfd7zXZ": ("packed with xz", "Unpack it, or pack it with gzip."),
    b"(\xb5/\xfd": ("packed with zstd", "Unpack it, or pack it with gzip."),
    b"7z\xbc\xaf": ("packed with 7z", "Unpack it, or pack it with gzip."),
}


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """Bytes under a name, which can be read from the beginning as often as is wanted.

    `begin` gives them as they are stored; what is packed with gzip is unpacked on the way.
    """

    name: str
    begin: Callable[[], AbstractContextManager[IO[bytes]]]
    path: Path | None = None

    @contextmanager
    def opened(self) -> Iterator[IO[bytes]]:
        """The bytes from the beginning, unpacked.

        Raises
        ------
        DataError
            The file is missing, cannot be read, or is packed and damaged.
        """
        try:
            with self.begin() as stored:
                packed = stored.read(2) == _GZIP
                stored.seek(0)
                yield cast("IO[bytes]", gzip.GzipFile(fileobj=stored)) if packed else stored
        except FileNotFoundError:
            raise DataError(Problem(self.name, "there is no such file", "", "Check the path.")) from None
        except (EOFError, gzip.BadGzipFile, zlib.error):
            remedy = "Pack it again, or name the file unpacked."
            raise DataError(Problem(self.name, "it is packed, and damaged or cut off", "", remedy)) from None
        except OSError as fault:
            reason = (fault.strerror or str(fault)).lower()
            raise DataError(Problem(self.name, f"it cannot be read ({reason})", "", _NAMED)) from None

    def head(self, size: int = HEAD) -> bytes:
        """The first bytes, at most `size` of them."""
        with self.opened() as stream:
            return stream.read(size)

    def tail(self, size: int = TAIL) -> bytes:
        """The last bytes, at most `size` of them."""
        packed = self.packed()
        with self.opened() as stream:
            if packed:  # only who has read all of it knows its end
                last = b""
                while piece := stream.read(1 << 20):
                    last = (last + piece)[-size:]
                return last
            stream.seek(0, io.SEEK_END)
            stream.seek(max(0, stream.tell() - size))
            return stream.read(size)

    def packed(self) -> bool:
        """Whether it is packed with gzip."""
        with self.begin() as stored:
            return stored.read(2) == _GZIP


def form_of(source: Source, head: bytes) -> Form:
    """What kind of file it is.

    Raises
    ------
    DataError
        It is empty, or of a kind that holds no table that can be read here.
    """
    if not head.strip():
        raise DataError(Problem(source.name, "it is empty", "", "Name the file with the readings."))
    if head.startswith(b"PAR1"):
        return Form.PARQUET
    if head.startswith(b"PK\x03\x04"):
        return Form.WORKBOOK
    for first, (what, remedy) in _OTHER.items():
        if head.startswith(first):
            raise DataError(Problem(source.name, f"it is {what}", "", remedy))
    return Form.TEXT


def whole_of(source: Source) -> bytes:
    """All bytes of a file that can only be read whole.

    Raises
    ------
    DataError
        There are too many.
    """
    data = source.head(_MOST_WHOLE + 1)
    if len(data) > _MOST_WHOLE:
        found = f"it has over {_MOST_WHOLE >> 20} MB, and its kind can only be read whole"
        raise DataError(Problem(source.name, found, "", "Save the readings as CSV or Parquet."))
    return data


def of_path(path: Path) -> Source:
    """A file as a source; nothing is read yet."""
    return Source(str(path), lambda: path.open("rb"), path)


def of_bytes(data: bytes, *, name: str) -> Source:
    """Bytes in memory as a source."""
    return Source(name, lambda: io.BytesIO(data))


@contextmanager
def of_stream(stream: IO[bytes], *, name: str) -> Iterator[Source]:
    """All that a stream gives, as a source; a long one goes through a temporary file."""
    with tempfile.SpooledTemporaryFile(max_size=_KEPT) as kept:
        while piece := stream.read(1 << 20):
            kept.write(piece)

        def begin() -> AbstractContextManager[IO[bytes]]:
            kept.seek(0)
            return nullcontext(kept)

        yield Source(name, begin)
