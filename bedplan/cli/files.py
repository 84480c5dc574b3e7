"""Commands that write files for others: draw, export, schema (layer: cli)."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bedplan.cli.options import LayoutFile, OnSheet, Seconds, ShowIn, paper
from bedplan.cli.work import plan_of, print_json


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
    sheet: OnSheet = None,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Draw the plan to scale."""
    from bedplan.outputs.draw_mpl import render
    from bedplan.outputs.site_plan import site_plan

    plan = plan_of(layout, show, seconds)
    target = render(
        site_plan(plan, paper(sheet, plan.layout.show)), out or layout.with_suffix(".pdf")
    )
    typer.echo(f"Drew {target}. Print it at 100 %.")


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
    write_geopackage(plan_of(layout, None, seconds), target)
    typer.echo(f"Wrote {target}.")


def schema() -> None:
    """Print the JSON Schema of layout files, for editors."""
    from bedplan.layout_file.schema import LayoutFile as FileModel

    print_json(
        {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            **FileModel.model_json_schema(),
        }
    )
