"""What commands do alike: read, plan, print (layer: cli).

Workers are imported inside each function, so that importing the commands stays quick.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from bedplan.cli.options import Show
from bedplan.errors import LayoutError

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
        return make_plan(read_layout(path, show), FreeSearch(seconds, _show_search))
    except LayoutError as error:
        raise place_faults(path, error) from None
    finally:
        clear_line()


def clear_line() -> None:
    """Take the line that says how far a search is off the terminal."""
    if sys.stderr.isatty():
        typer.echo("\r\x1b[K", err=True, nl=False)


def _show_search(share: float, count: int) -> None:
    """Keep one line on the terminal that says how far a free laying is."""
    if sys.stderr.isatty():
        bar = "#" * round(20 * share)
        typer.echo(
            f"\rlaying freely [{bar:20s}] {count} units; Ctrl-C keeps them", err=True, nl=False
        )


def show_hints(share: float, count: int) -> None:
    """Keep one line on the terminal that says how far a search for hints is."""
    if sys.stderr.isatty():
        bar = "#" * round(20 * share)
        typer.echo(f"\rtrying sizes [{bar:20s}] {counted(count, 'hint')}", err=True, nl=False)


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
