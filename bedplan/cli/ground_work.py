"""Commands for work with the tape: survey, setout (layer: cli)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, OnSheet, Seconds, ShowIn, paper
from bedplan.cli.work import plan_of, print_json, print_tables, read_layout
from bedplan.errors import GeometryError

if TYPE_CHECKING:
    from bedplan.model.layout import Layout
    from bedplan.model.site import Site
    from bedplan.outputs.scene import Scene
    from bedplan.survey import Survey

DrawnTo = Annotated[
    Path | None,
    typer.Option(
        "--out", "-o", metavar="FILE", help="Draw the sheet as well: a .pdf, .svg or .png file."
    ),
]


def survey(
    layout: LayoutFile,
    *,
    out: DrawnTo = None,
    sheet: OnSheet = None,
    json: AsJson = False,
    show: ShowIn = None,
) -> None:
    """Say how well the taped fence fits its ties.

    Every tie with its residual, every corner with its angle and how far it is out of square, by
    how much the fence line fails to close, which tie looks wrong, and which to tape next.
    """
    from bedplan.site import resolve
    from bedplan.survey import surveyed

    read, found = surveyed(read_layout(layout, show))
    site = resolve(read)
    if found is None and out is not None:
        message = f"{layout}: the corners are given, not taped; there are no ties to draw"
        raise GeometryError(message)
    if json:
        from bedplan.outputs.survey_record import corners_record, survey_record

        ties = read.enclosure.ties
        print_json(
            {
                "title": read.title,
                "corners": corners_record(site.enclosure),
                "survey": survey_record(ties, found),
            }
        )
    else:
        _print_survey(read, site, found)
    if found is not None and out is not None:
        from bedplan.outputs.survey_sheet import survey_sheet

        _draw(survey_sheet(read, site, found, paper(sheet, read.show)), out)
    if found is not None and found.suspect is not None:
        raise typer.Exit(1)


def _print_survey(layout: Layout, site: Site, found: Survey | None) -> None:
    from bedplan.outputs.tables_survey import corners_table, survey_tables, survey_words

    ties = layout.enclosure.ties
    if ties is None or found is None:
        print_tables([corners_table(site.enclosure, layout.show)])
        typer.echo("The corners are given, not taped: there are no ties to check.")
        return
    print_tables(survey_tables(found, layout.show))
    typer.echo("\n".join(survey_words(ties, found, layout.show)))


def _draw(scene: Scene, out: Path) -> None:
    from bedplan.outputs.draw_mpl import render

    typer.echo(f"Drew {render(scene, out)}. Print it at 100 %.", err=True)


def setout(
    layout: LayoutFile,
    *,
    out: DrawnTo = None,
    sheet: OnSheet = None,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell where every stake goes, by the tape.

    Each bed corner, stake and first course by two ties and a check from corners of the fence, and
    by along and in from a side; sides and diagonals that prove a bed; where strings are tied; the
    courses of every walk. The sheet has a box to tick in every row.
    """
    from bedplan.plan.setting_out import set_out_plan

    plan = plan_of(layout, show, seconds)
    found = set_out_plan(plan)
    if json:
        from bedplan.outputs.setout_record import setout_record

        print_json(setout_record(plan.layout.title, found))
    else:
        from bedplan.outputs.tables_setout import HOW, setout_tables

        print_tables(setout_tables(found, plan.layout.show))
        typer.echo(HOW if found.stakes else f"{plan.layout.title} has nothing to set out.")
    if out is not None:
        from bedplan.outputs.draw_mpl import render_pages
        from bedplan.outputs.setout_sheet import setout_sheets

        made = render_pages(setout_sheets(plan, found, paper(sheet, plan.layout.show)), out)
        typer.echo(f"Drew {', '.join(map(str, made))}. Print at 100 %.", err=True)
