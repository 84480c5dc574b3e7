"""Commands about boards: cuts, changes (layer: cli)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, OnSheet, Seconds, SheetName, ShowIn, paper
from bedplan.cli.work import counted, plan_of, print_json, print_tables
from bedplan.errors import GeometryError, LayoutError, OutputError

if TYPE_CHECKING:
    from bedplan.plan import BoardPlan, Plan
    from bedplan.plan.changes import Changes
    from bedplan.plan.sawing import SawnBoard
    from bedplan.plan.still_wanted import StillWanted


def cuts(  # noqa: PLR0913 - one parameter an option
    layout: LayoutFile,
    *,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="Draw the edging plan and the cut sheet into a .pdf, or page by page into .svg "
            "or .png files.",
        ),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            metavar="DIR",
            help="Write pieces.csv, boards.csv, offcuts.csv and labels.csv into this folder.",
        ),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Let --csv replace files that are there.")
    ] = False,
    keep: Annotated[
        str | None,
        typer.Option(
            help="Least length of an offcut worth keeping; 12 in for imperial layouts, 300 mm for "
            "metric ones."
        ),
    ] = None,
    sheet: OnSheet = None,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell how to saw every board.

    Pieces in sawing order with long and short point, saw settings, notches and marks along the
    board; then the offcuts by name, and what is left on hand as lines for the next layout.
    """
    from bedplan.plan.sawing import KEEP_M, sawn_boards

    plan = plan_of(layout, show, seconds)
    keep_m = _length(keep, "--keep") if keep is not None else KEEP_M[plan.layout.show]
    boards = [(part, sawn_boards(part, keep_m)) for part in plan.boards]
    if json:
        from bedplan.outputs.cut_record import cuts_record

        print_json(cuts_record(plan, keep_m))
    elif boards:
        _print_cuts(plan, boards, keep_m)
    else:
        typer.echo(f"{plan.layout.title} has no edging to cut.")
    if csv is not None:
        _write_csv(csv, plan, boards, replace=force)
    if out is not None:
        _draw(plan, sheet, keep_m, out)


def _length(text: str, option: str) -> float:
    """Return a length given as an option; not below zero."""
    from bedplan.units import parse

    length: float = parse(text, "length")
    if length < 0.0:
        message = f"{option} {text}: a length must not be below zero"
        raise GeometryError(message)
    return length


def _print_cuts(
    plan: Plan, boards: list[tuple[BoardPlan, tuple[SawnBoard, ...]]], keep_m: float
) -> None:
    from bedplan.outputs.tables_cuts import (
        notches_table,
        offcuts_table,
        on_hand_lines,
        sawing_table,
    )

    show = plan.layout.show
    every = [board for _, sawn in boards for board in sawn]
    notches = notches_table(every, show)
    print_tables(
        [
            *(sawing_table(part, sawn, show) for part, sawn in boards),
            *([notches] if notches else []),
            offcuts_table(every, keep_m, show),
        ]
    )
    typer.echo("FOR THE NEXT LAYOUT\n")
    typer.echo("\n".join(on_hand_lines(part, sawn, show) for part, sawn in boards))


def _write_csv(
    folder: Path,
    plan: Plan,
    boards: list[tuple[BoardPlan, tuple[SawnBoard, ...]]],
    *,
    replace: bool,
) -> None:
    from bedplan.outputs.csv_files import cut_files, write_set

    files = cut_files([board for _, sawn in boards for board in sawn], plan.layout.show)
    write_set(folder, files, replace=replace)
    typer.echo(f"Wrote {', '.join(files)} in {folder}.", err=True)


def _draw(plan: Plan, sheet: SheetName | None, keep_m: float, out: Path) -> None:
    from bedplan.outputs.cut_sheet import cut_sheet
    from bedplan.outputs.draw_mpl import render_pages
    from bedplan.outputs.edging_plan import edging_plan

    on = paper(sheet, plan.layout.show)
    pages = cut_sheet(plan, on, keep_m)
    if not pages:
        message = f"{plan.layout.title} has no edging to cut; nothing was drawn"
        raise OutputError(message)
    files = render_pages((edging_plan(plan, on), *pages), out)
    named = ", ".join(str(file) for file in files)
    typer.echo(f"Drew {counted(len(pages) + 1, 'page')}: {named}. Print at 100 %.", err=True)


def changes(  # noqa: PLR0913 - one parameter an option
    before: Annotated[Path, typer.Argument(metavar="BEFORE", help="The layout as drawn.")],
    after: Annotated[Path, typer.Argument(metavar="AFTER", help="The layout as built.")],
    *,
    cut: Annotated[
        Path | None,
        typer.Option(
            "--cut",
            metavar="FILE",
            help="Pieces already cut: the pieces.csv that cuts writes, rows of what is not cut "
            "yet taken out, or one label a line.",
        ),
    ] = None,
    within: Annotated[
        str, typer.Option(help="A piece this much longer or shorter is the same.")
    ] = "1/16 in",
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell what changed from one layout to another.

    Corners and sides that moved, pieces of edging that are longer, shorter, sawn at another angle,
    new or gone, and totals. With the pieces already cut: which still serve, where, trimmed by how
    much, which are left over, and what is still to be cut and bought.
    """
    from bedplan.plan.changes import compare

    within_m = _length(within, "--within")
    old, new = plan_of(before, show, seconds), plan_of(after, show, seconds)
    made = compare(old, new, within_m)
    still = None if cut is None else _still_wanted(old, new, made, cut, after, within_m)
    if json:
        from bedplan.outputs.cut_record import changes_record

        print_json({"title": new.layout.title, **changes_record(made, still)})
        return
    from bedplan.outputs.tables_changes import changes_tables, reuse_tables

    unit = new.layout.show
    tables = changes_tables(made, unit, within_m)
    if tables:
        print_tables(tables)
    else:
        typer.echo("Nothing changed." if still is None else "Nothing changed.\n")
    if still is not None:
        print_tables(reuse_tables(still, unit, within_m))


def _still_wanted(
    old: Plan, new: Plan, made: Changes, cut: Path, after: Path, within_m: float
) -> StillWanted:
    """Return what cut pieces serve; faults of the later layout get file and line."""
    from bedplan.layout_file import place_faults
    from bedplan.layout_file.cut_pieces import read_cut_pieces
    from bedplan.plan.changes import pieces_of
    from bedplan.plan.still_wanted import still_wanted

    there = read_cut_pieces(cut, {piece.label: piece for piece in pieces_of(old)})
    try:
        return still_wanted(new, made.pieces, there, within_m)
    except LayoutError as error:
        raise place_faults(after, error) from None
