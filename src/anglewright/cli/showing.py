"""Results on a terminal: headline, then tables; in a pipe the same text without colour."""

from rich import box
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from anglewright.cli.commands import Outcome
from anglewright.jobs.shown import Shown, Table

PIPE_WIDTH = 120  # columns where the output is no terminal [1]


def show_outcome(outcome: Outcome) -> None:
    """Print a result, and a what-if beneath it."""
    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=PIPE_WIDTH)
    if outcome.changed is None:
        _show(console, outcome.result)
        return
    console.rule(Text("as the file has it"))
    _show(console, outcome.result)
    console.rule(Text(f"with {', '.join(outcome.changes)}"))
    _show(console, outcome.changed)
    console.rule()
    console.print(Text(f"now:     {outcome.result.headline}"))
    console.print(Text(f"what if: {outcome.changed.headline}"), style="bold")


def _show(console: Console, result: Shown) -> None:
    summary = getattr(result, "summary", "")
    console.print(Text(result.headline), style="bold")
    if summary:
        console.print(Text(summary))
    for table in result.tables():
        if table.title and table.title != result.headline:
            console.print()
            console.print(Text(table.title), style="bold")
        console.print(_rich(table))
        if table.note:
            console.print(Text(table.note), style="dim")


def _rich(table: Table) -> RichTable:
    drawn = RichTable(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in table.columns:
        drawn.add_column(name, justify="right" if name in table.right else "left", overflow="fold")
    for row in table.rows:
        drawn.add_row(*(Text(cell) for cell in row))
    return drawn
