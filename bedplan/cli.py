"""The command line (layer: cli): thin, and quick to start.

Signatures live here; every worker is imported inside its command, so that ``bedplan --help``
loads neither shapely nor a drawing library. Exit codes: 0 fine, 1 a finding that must be
settled, 2 bad input. Messages go to the error stream, results to the output stream.
"""

from __future__ import annotations

import os
import shutil
import sys
from enum import StrEnum
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan._version import __version__
from bedplan.errors import BedplanError, GeometryError, LayoutError

if TYPE_CHECKING:
    from bedplan.model.layout import Layout
    from bedplan.plan import Plan

app = typer.Typer(
    help="Plan edged beds and paved walks inside a fence as it was really built: what fits, "
    "where it goes, what to cut, what to buy.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Start with: bedplan new my-garden.toml",
)


class Show(StrEnum):
    """The system results read in."""

    imperial = "imperial"
    metric = "metric"


class SheetName(StrEnum):
    """Sheets a drawing is made to scale on."""

    letter = "letter"
    tabloid = "tabloid"
    a4 = "a4"
    a3 = "a3"


LayoutFile = Annotated[Path, typer.Argument(metavar="LAYOUT", help="A layout file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print figures in SI units as JSON.")]
ShowIn = Annotated[
    Show | None,
    typer.Option("--show", help="Read results in this system, whatever the file says."),
]


Seconds = Annotated[
    float,
    typer.Option(
        "--seconds", min=0.1, help='How long each walk with the bond "free" may be searched.'
    ),
]


@app.callback(invoke_without_command=True)
def _start(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)
    ] = False,
) -> None:
    if version:
        typer.echo(f"bedplan {__version__}")
        raise typer.Exit


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write it.")],
    title: Annotated[str, typer.Option(help="Title of the garden.")] = "",
    show: Annotated[Show, typer.Option(help="Sizes in the starter.")] = Show.imperial,
) -> None:
    """Write a commented starter layout.

    An existing file is never touched.
    """
    from bedplan.layout_file import starter
    from bedplan.outputs.files import write_new

    name = title or file.stem.replace("-", " ").replace("_", " ").capitalize()
    write_new(file, starter(name, show.value).encode())
    typer.echo(f"Wrote {file}. Next: bedplan check {file}")


@app.command()
def check(layout: LayoutFile, *, json: AsJson = False, seconds: Seconds = 5.0) -> None:
    """Say whether a layout works.

    Tells every fault of the file at once; where there is none, every finding of practice.
    """
    plan = _plan(layout, None, seconds)
    if json:
        _print_json({"title": plan.layout.title, "checks": _record(plan)["checks"]})
    else:
        from bedplan.outputs.tables import findings_table

        table = findings_table(plan)
        if table.rows:
            _print_tables([table])
        typer.echo(_verdict(plan))
    _exit_by_findings(plan)


@app.command()
def takeoff(
    layout: LayoutFile, *, json: AsJson = False, show: ShowIn = None, seconds: Seconds = 5.0
) -> None:
    """Print every quantity and the order.

    Areas, edging pieces with their cut plan, whole units, strips of weed barrier, fill, and
    what to buy after what is on hand.
    """
    plan = _plan(layout, show, seconds)
    if json:
        _print_json(_record(plan))
    else:
        from bedplan.outputs.tables import tables

        typer.echo(plan.layout.title + "\n")
        _print_tables(tables(plan))
    _exit_by_findings(plan)


@app.command()
def draw(
    layout: LayoutFile,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="A .pdf, .svg or .png file. Default: the layout's name with .pdf.",
        ),
    ] = None,
    sheet: Annotated[
        SheetName | None,
        typer.Option(help="Sheet; letter for imperial layouts, a4 for metric ones."),
    ] = None,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Draw the plan to scale."""
    from bedplan.outputs.draw_mpl import render
    from bedplan.outputs.site_plan import site_plan

    plan = _plan(layout, show, seconds)
    paper = sheet.value if sheet else ("a4" if plan.layout.show == "metric" else "letter")
    target = render(site_plan(plan, paper), out or layout.with_suffix(".pdf"))
    typer.echo(f"Drew {target}. Print it at 100 %.")


PathName = Annotated[str, typer.Argument(metavar="PATH", help="The name of a path in the file.")]


@app.command()
def choices(
    layout: LayoutFile,
    path: Annotated[
        str | None,
        typer.Argument(
            metavar="[PATH]", help="The name of a path; every paved path if none is given."
        ),
    ] = None,
    show: ShowIn = None,
) -> None:
    """Compare every unit in every bond, path by path.

    Count, bound, cover, joint, cost and weight of each, the most cover first.
    """
    from bedplan.outputs.tables import choices_table
    from bedplan.plan.choices import choices as compare
    from bedplan.site import resolve

    read = _layout(layout, show)
    site = resolve(read)
    asked = [
        walk
        for walk in site.paths
        if (walk.spec.paving if path is None else walk.spec.name == path)
    ]
    if not asked:
        names = ", ".join(repr(walk.spec.name) for walk in site.paths) or "none"
        wrong = f"no path called {path!r}" if path else "no path has pavers"
        message = f"{layout}: {wrong}; the paths are {names}"
        raise GeometryError(message)
    _print_tables(
        [choices_table(walk.spec.name, compare(read, site, walk), read.show) for walk in asked]
    )


@app.command()
def choose(
    layout: LayoutFile,
    path: PathName,
    pavers: Annotated[str | None, typer.Option(help="The unit to lay.")] = None,
    bond: Annotated[str | None, typer.Option(help="The bond to lay it in.")] = None,
    direction: Annotated[str | None, typer.Option(help="A side, degrees, or best.")] = None,
) -> None:
    """Write a unit, bond or direction into the layout file.

    Only those values change; comments, order and every other byte stay. A choice that does not
    work leaves the file as it was.
    """
    from bedplan.layout_file import parse_layout
    from bedplan.layout_file.patch import with_values
    from bedplan.outputs.files import replace_file
    from bedplan.plan import make_plan

    names = [spec.name for spec in _layout(layout, None).paths]
    if path not in names:
        known = ", ".join(map(repr, names)) or "none"
        message = f"{layout}: no path called {path!r}; the paths are {known}"
        raise GeometryError(message)
    wanted = {"pavers": pavers, "bond": bond, "direction": direction}
    values = {key: value for key, value in wanted.items() if value is not None}
    changed = with_values(layout.read_bytes(), "path", names.index(path), values)
    plan = make_plan(parse_layout(changed.decode("utf-8-sig"), str(layout), layout.parent))
    replace_file(layout, changed)
    count = plan.walks[names.index(path)].count
    typer.echo(f"{layout}: {path} changed; {_counted(count, 'whole unit')} now.")


@app.command()
def export(
    layout: LayoutFile,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="A .gpkg file. Default: the layout's name with .gpkg.",
        ),
    ] = None,
    seconds: Seconds = 5.0,
) -> None:
    """Write every part as layers of a GeoPackage.

    Metres on a local grid: fence, sides, gates, posts, plants, beds, planting, boards, paths,
    units and strips.
    """
    from bedplan.outputs.exports import write_geopackage

    target = out or layout.with_suffix(".gpkg")
    write_geopackage(_plan(layout, None, seconds), target)
    typer.echo(f"Wrote {target}.")


@app.command()
def schema() -> None:
    """Print the JSON Schema of layout files, for editors."""
    from bedplan.layout_file.schema import LayoutFile as FileModel

    _print_json(
        {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            **FileModel.model_json_schema(),
        }
    )


def _layout(path: Path, show: Show | None) -> Layout:
    from dataclasses import replace

    from bedplan.layout_file import load_layout

    layout = load_layout(path)
    return replace(layout, show=show.value) if show else layout


def _plan(path: Path, show: Show | None, seconds: float) -> Plan:
    from bedplan.layout_file import place_faults
    from bedplan.plan import FreeSearch, make_plan

    try:
        return make_plan(_layout(path, show), FreeSearch(seconds, _show_search))
    except LayoutError as error:
        raise place_faults(path, error) from None
    finally:
        if sys.stderr.isatty():
            typer.echo("\r\x1b[K", err=True, nl=False)


def _show_search(share: float, count: int) -> None:
    """Keep one line on the terminal that says how far a free laying is."""
    if sys.stderr.isatty():
        bar = "#" * round(20 * share)
        typer.echo(
            f"\rlaying freely [{bar:20s}] {count} units; Ctrl-C keeps them", err=True, nl=False
        )


def _record(plan: Plan) -> dict[str, object]:
    from bedplan.outputs.record import record

    return record(plan)


def _print_json(data: object) -> None:
    import json

    typer.echo(json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False))


def _print_tables(made: object) -> None:
    from bedplan.outputs.text import set_tables

    width = min(140, max(80, shutil.get_terminal_size((110, 24)).columns))
    typer.echo(set_tables(made, width), nl=False)  # type: ignore[arg-type] # tables of one plan


def _verdict(plan: Plan) -> str:
    grave = sum(finding.severity == "error" for finding in plan.findings)
    if grave:
        return f"{plan.layout.title}: {_counted(grave, 'finding')} must be settled."
    if plan.findings:
        return f"{plan.layout.title} works; {_counted(len(plan.findings), 'finding')} to look at."
    return f"{plan.layout.title} works; nothing found."


def _counted(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _exit_by_findings(plan: Plan) -> None:
    if any(finding.severity == "error" for finding in plan.findings):
        raise typer.Exit(1)


def main() -> None:
    """Run the command line and turn every error into words and an exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a sign the terminal lacks stops nothing
    try:
        app(prog_name="bedplan")
    except LayoutError as error:
        count = len(error.faults)
        typer.echo(f"{_counted(count, 'fault')}; nothing was computed or written.\n", err=True)
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
