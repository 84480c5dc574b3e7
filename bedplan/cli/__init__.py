"""The command line (layer: cli): thin, and quick to start.

Signatures live in this package; every worker is imported inside its command, so that
``bedplan --help`` loads neither shapely nor a drawing library. Exit codes: 0 fine, 1 a finding
that must be settled, 2 bad input. Messages go to the error stream, results to the output stream.

Public entry point: `main`.
"""

from __future__ import annotations

import os
import sys
from io import TextIOWrapper
from typing import Annotated

import typer

from bedplan._version import __version__
from bedplan.cli import building, cutting, everyday, files, ground_work, ordering, paving, strips
from bedplan.cli.whatif import whatif
from bedplan.cli.work import counted
from bedplan.errors import BedplanError, LayoutError

app = typer.Typer(
    help="Plan edged beds and paved walks inside a fence as it was really built: what fits, "
    "where it goes, what to cut, what to buy.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Start with: bedplan new my-garden.toml",
)
for command in (
    everyday.new,
    everyday.check,
    everyday.takeoff,
    paving.choices,
    paving.hints,
    paving.choose,
    cutting.cuts,
    cutting.changes,
    ground_work.survey,
    ground_work.setout,
    building.steps,
    strips.strips,
    ordering.order,
    ordering.spread,
    whatif,
    files.draw,
    files.export,
    files.schema,
):
    app.command()(command)


@app.callback(invoke_without_command=True)
def _start(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)
    ] = False,
) -> None:
    if version:
        typer.echo(f"bedplan {__version__}")
        raise typer.Exit


def main() -> None:
    """Run the command line and turn every error into words and an exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a sign the terminal lacks stops nothing
    try:
        app(prog_name="bedplan")
    except LayoutError as error:
        count = len(error.faults)
        typer.echo(f"{counted(count, 'fault')}; nothing was computed or written.\n", err=True)
        typer.echo("\n\n".join(str(fault) for fault in error.faults), err=True)
        sys.exit(2)
    except BedplanError as error:
        typer.echo(str(error), err=True)
        sys.exit(2)
    except KeyboardInterrupt:
        typer.echo("stopped; nothing was written", err=True)
        sys.exit(130)
    except Exception as error:  # the last line: a person gets no traceback
        if os.environ.get("BEDPLAN_DEBUG"):
            raise
        typer.echo(
            f"bedplan failed: {type(error).__name__}: {error}. This is a bug in bedplan; "
            "set BEDPLAN_DEBUG=1 to see where, and report it with the layout file.",
            err=True,
        )
        sys.exit(2)
