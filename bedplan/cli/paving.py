"""Commands about units: choices, hints, choose (layer: cli)."""

from __future__ import annotations

import re
from typing import Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, PathName, ShowIn
from bedplan.cli.work import (
    clear_line,
    counted,
    print_json,
    print_tables,
    read_layout,
    show_hints,
)
from bedplan.errors import GeometryError, LayoutError


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
    from bedplan.outputs.tables_ground import choices_table
    from bedplan.plan.choices import choices as compare
    from bedplan.site import resolve

    read = read_layout(layout, show)
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
    print_tables(
        [choices_table(walk.spec.name, compare(read, site, walk), read.show) for walk in asked]
    )


def hints(
    layout: LayoutFile,
    *,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Annotated[
        float, typer.Option("--seconds", min=0.1, help="How long to look for changes.")
    ] = 20.0,
) -> None:
    """Tell the smallest changes of size that gain whole units.

    For every width of a walk and every bed edge beside one, up to one unit and its joint: what to
    change, what it gains in units and costs in bed area, and which changes close a margin.
    """
    from bedplan.layout_file import place_faults
    from bedplan.outputs.tables_hints import hints_record, hints_table
    from bedplan.plan.hints import search_hints

    read = read_layout(layout, show)
    try:
        search = search_hints(read, seconds=seconds, progress=show_hints)
    except LayoutError as error:
        raise place_faults(layout, error) from None
    finally:
        clear_line()
    if json:
        print_json(hints_record(search))
    elif search.hints:
        print_tables([hints_table(search, read.show)])
    else:
        found = "No change of up to one unit gains one" if search.complete else "Nothing found yet"
        typer.echo(f"{found}.")


def choose(
    layout: LayoutFile,
    path: PathName,
    pavers: Annotated[str | None, typer.Option(help="The unit to lay.")] = None,
    second: Annotated[
        str | None, typer.Option(help="The second unit, for a bond of two sizes.")
    ] = None,
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

    names = [spec.name for spec in read_layout(layout, None).paths]
    if path not in names:
        known = ", ".join(map(repr, names)) or "none"
        message = f"{layout}: no path called {path!r}; the paths are {known}"
        raise GeometryError(message)
    wanted = {
        "pavers": pavers,
        "second": second,
        "bond": bond,
        "direction": _degrees(direction),
    }
    values = {key: value for key, value in wanted.items() if value is not None}
    if not values:
        message = "nothing to change: give --pavers, --second, --bond or --direction"
        raise GeometryError(message)
    changed = with_values(layout.read_bytes(), "path", names.index(path), values)
    plan = make_plan(parse_layout(changed.decode("utf-8-sig"), str(layout), layout.parent))
    count = plan.walks[names.index(path)].count
    if not count:
        message = f"{layout}: no whole unit fits into {path!r} so; nothing was changed"
        raise GeometryError(message)
    replace_file(layout, changed)
    typer.echo(f"{layout}: {path} changed; {counted(count, 'whole unit')} now.")


def _degrees(direction: str | None) -> str | float | None:
    """Return a direction given in plain degrees as the number it is."""
    if direction is None or not re.fullmatch(r"[-+]?\d+(\.\d+)?", direction.strip(), re.ASCII):
        return direction
    degrees = float(direction)
    return int(degrees) if degrees.is_integer() else degrees
