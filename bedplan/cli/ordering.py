"""Commands about buying: order, spread (layer: cli)."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, Seconds, ShowIn
from bedplan.cli.work import plan_of, print_json, print_tables
from bedplan.errors import GeometryError

if TYPE_CHECKING:
    from bedplan.outputs.table import Table
    from bedplan.plan import Plan
    from bedplan.takeoff.spreading import Spread


def order(  # noqa: PLR0913 - one parameter an option
    layout: LayoutFile,
    *,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the lines as CSV.")
    ] = None,
    xlsx: Annotated[
        Path | None,
        typer.Option(
            "--xlsx",
            metavar="FILE",
            help="Write a workbook in which costs and sums follow quantities and prices.",
        ),
    ] = None,
    text: Annotated[
        Path | None,
        typer.Option("--text", metavar="FILE", help="Write a list to tick off, for the phone."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace files that are there.")] = False,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell what to buy, what it costs and weighs.

    After what is on hand: lines with prices, sums by group, tax, what stays over, trips with the
    vehicle and barrow loads. A missing price is shown as missing, never as zero.
    """
    from bedplan.outputs.order_files import order_csv, order_list, order_workbook

    plan = plan_of(layout, show, seconds)
    wanted = ((csv, order_csv), (xlsx, order_workbook), (text, order_list))
    files = {target: make(plan) for target, make in wanted if target is not None}
    _write(files, replace=force)
    if json:
        from bedplan.outputs.order_record import order_record

        print_json(order_record(plan))
    else:
        typer.echo(plan.layout.title + "\n")
        print_tables(_tables(plan))
        for target in files:
            typer.echo(f"Wrote {target}.")


def _write(files: dict[Path, bytes], *, replace: bool) -> None:
    """Write every file or none that would replace another."""
    from bedplan.errors import OutputError
    from bedplan.outputs.files import replace_file, write_new

    there = [str(target) for target in files if target.exists()]
    if there and not replace:
        message = (
            f"{', '.join(there)} would be replaced; nothing was written. "
            "Choose another name or add --force"
        )
        raise OutputError(message)
    for target, content in files.items():
        (replace_file if replace else write_new)(target, content)


def _tables(plan: Plan) -> list[Table]:
    from bedplan.outputs.tables_loads import groups_table, loads_table, surplus_table
    from bedplan.outputs.tables_order import order_table

    show = plan.layout.show
    made = [order_table(plan), groups_table(plan), surplus_table(plan), loads_table(plan, show)]
    return [table for table in made if table.rows]


def spread(
    layout: LayoutFile,
    material: Annotated[
        str, typer.Argument(metavar="MATERIAL", help="The name of a material in the file.")
    ],
    *,
    volume: Annotated[
        str | None,
        typer.Option(help='Loose volume of the heap, such as "2 yd^3"; what is on hand if none.'),
    ] = None,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Seconds = 5.0,
) -> None:
    """Tell how far a heap goes.

    How deep it lies if spread evenly over every bed and path that uses the material, and which of
    them it fills at their set depth.
    """
    from bedplan.takeoff.spreading import spread_heap

    plan = plan_of(layout, show, seconds)
    known = plan.layout.materials
    if material not in known:
        message = f"no material called {material!r}; the layout has {', '.join(known) or 'none'}"
        raise GeometryError(message)
    heap_m3 = known[material].on_hand_m3 if volume is None else _volume(volume)
    heap = spread_heap(known[material], heap_m3, plan.fill)
    if json:
        print_json({**asdict(heap), "short_m3": heap.short_m3})
    else:
        _print_heap(plan, heap)


def _volume(text: str) -> float:
    from bedplan.units import parse

    volume_m3: float = parse(text, "volume")
    if volume_m3 < 0.0:
        message = f"--volume {text}: a volume must not be below zero"
        raise GeometryError(message)
    return volume_m3


def _print_heap(plan: Plan, heap: Spread) -> None:
    from bedplan.outputs.tables_spread import spread_table, spread_words

    table = spread_table(plan, heap)
    if table.rows:
        print_tables([table])
    typer.echo(spread_words(plan, heap))
