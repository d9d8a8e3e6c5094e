"""What every result can do: stand as JSON, as tables of text, and in a notebook."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from typing import Any, TypeAlias

Json: TypeAlias = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A titled table of text; `right` names the columns that hold numbers."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[str, ...] = ()
    note: str = ""

    def _repr_html_(self) -> str:
        """The table in a notebook."""
        head = "".join(f"<th>{escape(name)}</th>" for name in self.columns)
        body = "".join(f"<tr>{_cells(row)}</tr>" for row in self.rows)
        note = f"<p>{escape(self.note)}</p>" if self.note else ""
        return f"<h4>{escape(self.title)}</h4><table><tr>{head}</tr>{body}</table>{note}"


def _cells(row: tuple[str, ...]) -> str:
    return "".join(f"<td>{escape(cell)}</td>" for cell in row)


class Shown(ABC):
    """A result that shows itself; each job's result says its headline, tables, JSON and exit code."""

    __slots__ = ()

    @property
    @abstractmethod
    def headline(self) -> str:
        """The answer in a sentence."""

    @abstractmethod
    def as_json(self) -> Json:
        """The result as JSON, in the units of the axis."""

    @property
    def summary(self) -> str:
        """Lines of text beneath the headline, where there is more to say than tables show."""
        return ""

    def tables(self) -> tuple[Table, ...]:
        """The result as tables of text."""
        return ()

    @property
    def exit_code(self) -> int:
        """0 done and fine; 1 done, and a need is not met or a finding stops the work. [1]"""
        return 0

    def _repr_html_(self) -> str:
        """The result in a notebook."""
        tables = "".join(table._repr_html_() for table in self.tables())
        return f"<h3>{escape(self.headline)}</h3>{tables}"


def one_or_all(rows: Mapping[str, Json], *, single: bool) -> Json:
    """JSON of one axis itself, or of all under ``axes``."""
    if single:
        return next(iter(rows.values()))
    return {"axes": list(rows.values())}


def counted(number: int, one: str, *, many: str = "") -> str:
    """A number with its noun in the right form.

    Parameters
    ----------
    number : int
        How many. [1]
    one : str
        The noun for one.
    many : str
        The noun for several, where an s at the end does not make it.

    Returns
    -------
    str
        Number and noun.

    Examples
    --------
    >>> counted(1, "axis", many="axes"), counted(2, "stop")
    ('1 axis', '2 stops')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
