"""What every result can do: stand as JSON, as tables of text, and in a notebook."""

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
        body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in self.rows)
        note = f"<p>{escape(self.note)}</p>" if self.note else ""
        return f"<h4>{escape(self.title)}</h4><table><tr>{head}</tr>{body}</table>{note}"


class Shown:
    """A result that shows itself; each job's result says its headline, tables, JSON and exit code."""

    __slots__ = ()

    @property
    def headline(self) -> str:
        """The answer in a sentence."""
        raise NotImplementedError

    def tables(self) -> tuple[Table, ...]:
        """The result as tables of text."""
        return ()

    def as_json(self) -> Json:
        """The result as JSON, in the units of the axis."""
        raise NotImplementedError

    @property
    def exit_code(self) -> int:
        """0 done and fine; 1 done, and a need is not met or a finding stops the work."""
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
