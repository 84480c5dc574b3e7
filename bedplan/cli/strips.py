"""The command about weed barrier: strips (layer: cli)."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, OnSheet, Seconds, ShowIn, paper
from bedplan.cli.work import plan_of, print_json, print_tables
from bedplan.errors import OutputError


def strips(
    layout: LayoutFile,
    *,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="Draw the strips with their numbers into a .pdf, .svg or .png file; one page "
            "for each fabric.",
        ),
    ] = None,
    sheet: OnSheet = None,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell how to lay the weed barrier.

    Strips by number in laying order, on a slope like shingles, with what each lies on top of,
    their pieces and end laps, and the openings for plants.
    """
    from bedplan.outputs.barrier_record import barrier_record
    from bedplan.outputs.tables_barrier import openings_table, strips_table

    plan = plan_of(layout, show, seconds)
    if out is not None and not plan.barriers:
        message = f"{plan.layout.title} has no weed barrier; nothing was drawn"
        raise OutputError(message)
    if json:
        print_json([barrier_record(plan, part) for part in plan.barriers])
    else:
        made = [
            table
            for part in plan.barriers
            for table in (strips_table(plan, part), openings_table(plan, part))
        ]
        print_tables(table for table in made if table.rows)
    if out is not None:
        from bedplan.outputs.barrier_sheet import barrier_sheets
        from bedplan.outputs.draw_mpl import render_pages

        on = paper(sheet, plan.layout.show)
        files = render_pages(barrier_sheets(plan, on), out)
        typer.echo(f"Drew {', '.join(map(str, files))}. Print at 100 %.", err=True)
