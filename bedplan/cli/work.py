"""What commands do alike: read, plan, print (layer: cli).

Workers are imported inside each function, so that importing the commands stays quick.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from bedplan.cli.options import Show
from bedplan.errors import LayoutError

Progress = Callable[[float, int], None]
"""Told the share of a search that is done, and how many it has found."""

if TYPE_CHECKING:
    from bedplan.model.layout import Layout
    from bedplan.outputs.table import Table
    from bedplan.plan import Plan


def read_layout(path: Path, show: Show | None) -> Layout:
    """Return the layout of a file, its results in another system if one is asked for."""
    from dataclasses import replace

    from bedplan.layout_file import load_layout

    layout = load_layout(path)
    return replace(layout, show=show.value) if show else layout


def plan_of(path: Path, show: Show | None, seconds: float) -> Plan:
    """Return a file's layout worked out; faults found on the way get file and line."""
    from bedplan.layout_file import place_faults
    from bedplan.plan import FreeSearch, make_plan

    try:
        return make_plan(read_layout(path, show), FreeSearch(seconds, laying_freely()))
    except LayoutError as error:
        raise place_faults(path, error) from None
    finally:
        clear_line()


def clear_line() -> None:
    """Take the line that says how far a search is off the terminal."""
    if sys.stderr.isatty():
        typer.echo("\r\x1b[K", err=True, nl=False)


def laying_freely() -> Progress:
    """Return what keeps a line on the terminal while units are laid freely."""
    return progress_line("laying freely", lambda count: f"{count} units; Ctrl-C keeps them")


def progress_line(doing: str, found: Callable[[int], str]) -> Progress:
    """Return what keeps one line on the terminal that says how far a search is.

    Parameters
    ----------
    doing
        What is being done.
    found
        Tells how many there are by now.
    """

    def tell(share: float, count: int) -> None:
        if sys.stderr.isatty():
            bar = "#" * round(20 * share)
            typer.echo(f"\r{doing} [{bar:20s}] {found(count)}\x1b[K", err=True, nl=False)

    return tell


def record_of(plan: Plan) -> dict[str, object]:
    """Return a plan as plain data."""
    from bedplan.outputs.record import record

    return record(plan)


def print_json(data: object) -> None:
    """Print data as JSON."""
    import json

    typer.echo(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))


def print_tables(made: Iterable[Table]) -> None:
    """Print tables as wide as the terminal, within reason."""
    from bedplan.outputs.text import set_tables

    width = min(140, max(80, shutil.get_terminal_size((110, 24)).columns))
    typer.echo(set_tables(made, width), nl=False)


def counted(number: int, word: str) -> str:
    """Return a number with its word, in the plural where it needs one."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
