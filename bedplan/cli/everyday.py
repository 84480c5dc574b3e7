"""Commands of every day: new, check, takeoff (layer: cli)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, Seconds, Show, ShowIn
from bedplan.cli.work import counted, plan_of, print_json, print_tables, record_of

if TYPE_CHECKING:
    from bedplan.plan import Plan


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


def check(layout: LayoutFile, *, json: AsJson = False, seconds: Seconds = 5.0) -> None:
    """Say whether a layout works.

    Tells every fault of the file at once; where there is none, every finding of practice.
    """
    plan = plan_of(layout, None, seconds)
    if json:
        print_json({"title": plan.layout.title, "checks": record_of(plan)["checks"]})
    else:
        from bedplan.outputs.tables_order import findings_table

        table = findings_table(plan)
        if table.rows:
            print_tables([table])
        typer.echo(_verdict(plan))
    _exit_by_findings(plan)


def takeoff(
    layout: LayoutFile, *, json: AsJson = False, show: ShowIn = None, seconds: Seconds = 5.0
) -> None:
    """Print every quantity and the order.

    Areas, edging pieces with their cut plan, whole units, strips of weed barrier, fill, and
    what to buy after what is on hand.
    """
    plan = plan_of(layout, show, seconds)
    if json:
        print_json(record_of(plan))
    else:
        from bedplan.outputs.tables import tables

        typer.echo(plan.layout.title + "\n")
        print_tables(tables(plan))
    _exit_by_findings(plan)


def _verdict(plan: Plan) -> str:
    grave = sum(finding.severity == "error" for finding in plan.findings)
    if grave:
        return f"{plan.layout.title}: {counted(grave, 'finding')} must be settled."
    if plan.findings:
        return f"{plan.layout.title} works; {counted(len(plan.findings), 'finding')} to look at."
    return f"{plan.layout.title} works; nothing found."


def _exit_by_findings(plan: Plan) -> None:
    if any(finding.severity == "error" for finding in plan.findings):
        raise typer.Exit(1)
