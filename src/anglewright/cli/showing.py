"""Results on a terminal: headline, then tables; in a pipe the same text without colour."""

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.measure import Measurement
from rich.table import Table as RichTable
from rich.text import Text

from anglewright.cli.commands import Outcome
from anglewright.cli.streams import visible
from anglewright.jobs.shown import Shown, Table

PIPE_WIDTH = 120  # columns where the output is no terminal, more where a table needs them [1]


def show_outcome(outcome: Outcome) -> None:
    """Print a result, and a what-if beneath it."""
    console = Console(highlight=False)
    if not console.is_terminal:
        console = Console(highlight=False, width=_pipe_width(console, outcome))
    with console.capture() as captured:
        _show_both(console, outcome)
    print(captured.get(), end="")  # here, so that a closed pipe is noticed where it can be answered


def _show_both(console: Console, outcome: Outcome) -> None:
    if outcome.changed is None:
        _show(console, outcome.result)
        return
    console.rule(Text("as the file has it"))
    _show(console, outcome.result)
    console.rule(Text(visible(f"with {', '.join(outcome.changes)}")))
    _show(console, outcome.changed)
    console.rule()
    console.print(Text(visible(f"now:     {outcome.result.headline}")))
    console.print(Text(visible(f"what if: {outcome.changed.headline}")), style="bold")


def _show(console: Console, result: Shown) -> None:
    console.print(Text(visible(result.headline)), style="bold")
    for line in result.summary.splitlines():
        console.print(Text(visible(line)))
    for table in result.tables():
        if table.title and table.title != result.headline:
            console.print()
            console.print(Text(visible(table.title)), style="bold")
        console.print(_fitting(table, console))
        if table.note:
            console.print(Text(visible(table.note)), style="dim")


def _pipe_width(console: Console, outcome: Outcome) -> int:
    """Room for every table without breaking a number."""
    results = [result for result in (outcome.result, outcome.changed) if result is not None]
    tables = [table for result in results for table in result.tables()]
    wide = [table for table in tables if _whole_width(table) > PIPE_WIDTH]
    return max([PIPE_WIDTH, *(_least_width(table, console) for table in wide)])


def _whole_width(table: Table) -> int:
    """Room in which no cell breaks, at most: far quicker to tell than the least that will do. [1]"""
    columns = zip(table.columns, *table.rows, strict=True)
    return sum(max(cell_len(visible(cell)) for cell in column) + 3 for column in columns) + 1


def _least_width(table: Table, console: Console) -> int:
    wide = console.options.update(max_width=10_000)
    return Measurement.get(console, wide, _rich(table, whole=True)).minimum


def _fitting(table: Table, console: Console) -> RichTable:
    """The table with whole numbers where there is room, as in any pipe; else with some that break."""
    fits = not console.is_terminal or _least_width(table, console) <= console.width
    return _rich(table, whole=fits)


def _rich(table: Table, *, whole: bool) -> RichTable:
    drawn = RichTable(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in table.columns:
        if name in table.right:
            drawn.add_column(Text(visible(name)), justify="right", overflow="fold", no_wrap=whole)
        else:
            drawn.add_column(Text(visible(name)), justify="left", overflow="fold")
    for row in table.rows:
        drawn.add_row(*(Text(visible(cell)) for cell in row))
    return drawn
