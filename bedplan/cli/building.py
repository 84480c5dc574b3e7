"""The command for the order of the work: steps (layer: cli)."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, OnSheet, Seconds, ShowIn, paper
from bedplan.cli.work import plan_of, print_json


def steps(
    layout: LayoutFile,
    *,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE", help="Pages to tick off: a .pdf, .svg or .png file."
        ),
    ] = None,
    sheet: OnSheet = None,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell the order to build in, step by step.

    Only the steps this layout has, each with its quantities, tools, the steps to finish first,
    what to measure and how far it may be off, and the cautions that bear on it. Local codes come
    first.
    """
    from bedplan.plan.building import build_steps

    plan = plan_of(layout, show, seconds)
    made = build_steps(plan)
    if json:
        from bedplan.outputs.tables_steps import steps_record

        print_json(steps_record(plan, made))
    else:
        from bedplan.outputs.tables_steps import steps_text

        typer.echo(steps_text(plan, made))
    if out is not None:
        from bedplan.outputs.draw_mpl import render_pages
        from bedplan.outputs.tables_steps import steps_sheets

        on = paper(sheet, plan.layout.show)
        drawn = render_pages(steps_sheets(plan, made, on), out)
        typer.echo(f"Drew {', '.join(map(str, drawn))}. Print at 100 %.", err=True)
