"""Tables set as plain text for a terminal (layer: outputs)."""

from __future__ import annotations

from collections.abc import Iterable
from io import StringIO

from rich import box
from rich.console import Console
from rich.table import Table as RichTable

from bedplan.outputs.table import Table


def set_tables(made: Iterable[Table], width: int) -> str:
    """Return tables as text no wider than `width` characters, without colour."""
    page = StringIO()
    console = Console(
        file=page, width=width, color_system=None, highlight=False, markup=False, emoji=False
    )
    for table in made:
        console.print(table.title.upper())
        console.print(_rich(table))
        if table.note:
            console.print(table.note)
        console.print()
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines()) + "\n"


def _rich(table: Table) -> RichTable:
    rich = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for number, column in enumerate(table.columns):
        rich.add_column(
            column.heading,
            justify=column.align,
            overflow="fold",
            no_wrap=column.align == "right" or number == 0,
        )
    for row in table.rows:
        rich.add_row(*row)
    return rich
