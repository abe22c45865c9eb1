"""Lines and tables in the terminal, alike for all commands. It imports rich, so import it inside the commands."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterable, Sequence

from rich import box
from rich.console import Console
from rich.table import Table

PIPE_WIDTH = 160
"""Letters in a line where the output goes to a file or another program."""


def terminal(pipe_width: int = PIPE_WIDTH) -> Console:
    """Where commands print; names from the files are printed as they are, never as markup."""
    width = None if sys.stdout.isatty() else pipe_width
    return Console(markup=False, highlight=False, emoji=False, width=width)


def print_table(
    out: Console,
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    right: Collection[str] = (),
    gap: int = 2,
) -> None:
    """Print a table; `right` are the heads of columns of figures, `gap` the spaces after each column."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, gap, 0, 0))
    for head in heads:
        table.add_column(head, justify="right" if head in right else "left")
    for row in rows:
        table.add_row(*row)
    out.print(table)
