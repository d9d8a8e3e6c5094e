"""What was read of a file: the recording, the columns chosen and why, the cells refused."""

from dataclasses import dataclass

from anglewright.recording import Recording


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A cell that is not what its column should hold."""

    line: int
    column: str
    text: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A file as read: rows kept, cells refused, and what had to be decided on the way.

    `refused` lists the first of them, `refused_cells` counts all; `rows_read` are the good rows of the file,
    of which `recording` may hold a part, 0 where nothing was read from a file; `named` are marks whose names
    stood for positions. [1]
    """

    recording: Recording
    reference_column: str
    raw_column: str
    why: str
    refused: tuple[Refused, ...] = ()
    decisions: tuple[str, ...] = ()
    refused_cells: int = 0
    named: tuple[str, ...] = ()
    rows_read: int = 0

    @property
    def rows(self) -> int:
        """Good rows that there were, before any were left out for memory or as motion. [1]"""
        return max(self.rows_read, len(self.recording))
