"""Commands about units: choices, hints, choose (layer: cli)."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bedplan.cli.options import AsJson, LayoutFile, PathName, Seconds, ShowIn
from bedplan.cli.work import (
    clear_line,
    counted,
    laying_freely,
    print_json,
    print_tables,
    progress_line,
    read_layout,
)
from bedplan.errors import GeometryError, LayoutError, OutputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bedplan.layout_file.patch import Value
    from bedplan.model.layout import Layout, PathSpec
    from bedplan.plan.choices import Choice

OnePath = Annotated[
    str | None,
    typer.Argument(
        metavar="[PATH]", help="The name of a path; every paved path if none is given."
    ),
]


def choices(
    layout: LayoutFile,
    path: OnePath = None,
    *,
    json: AsJson = False,
    show: ShowIn = None,
    free: Annotated[
        float | None,
        typer.Option(
            "--free",
            min=0.1,
            metavar="SECONDS",
            help="Lay every unit freely as well; how long each walk may be searched.",
        ),
    ] = None,
) -> None:
    """Compare every unit in every bond, path by path.

    Count, bounds, cover, margins, joint, cost and weight of each, the most cover first. In bonds
    of two sizes only units of one thickness are tried together, and what the file asks for.
    """
    from bedplan.layout_file import place_faults
    from bedplan.outputs.tables_ground import choice_record, choices_table
    from bedplan.plan.choices import uneven_pairs

    read = read_layout(layout, show)
    asked = _paved(layout, read, path)
    try:
        made = _compared(read, asked, free)
    except LayoutError as error:
        raise place_faults(layout, error) from None
    finally:
        clear_line()
    if json:
        rows = [{"name": name, "choices": [*map(choice_record, each)]} for name, each in made]
        print_json({"title": read.title, "paths": rows})
        return
    note = "Units of different thickness are not tried together." if uneven_pairs(read) else ""
    print_tables([choices_table(name, each, read.show, note) for name, each in made])


def _compared(
    layout: Layout, asked: Sequence[PathSpec], free: float | None
) -> list[tuple[str, tuple[Choice, ...]]]:
    """Return the choices for each path; what the file lays freely is searched as in a takeoff."""
    from bedplan.plan import FreeSearch
    from bedplan.plan.choices import choices as compare
    from bedplan.site import resolve

    site = resolve(layout)
    search = FreeSearch(FreeSearch().seconds if free is None else free, laying_freely())
    placed = [path for path in site.paths if path.spec in asked]
    return [
        (path.spec.name, compare(layout, site, path, free=free is not None, search=search))
        for path in placed
    ]


def hints(
    layout: LayoutFile,
    path: OnePath = None,
    *,
    json: AsJson = False,
    show: ShowIn = None,
    seconds: Annotated[
        float, typer.Option("--seconds", min=0.1, help="How long to look for changes.")
    ] = 20.0,
) -> None:
    """Tell the smallest changes of size that gain whole units, or that lose none.

    For every width of a walk and every bed edge beside one, up to one unit and its joint: what to
    change, what it gains in units and costs in bed area; and how much narrower the path may be
    with every unit kept.
    """
    from bedplan.layout_file import place_faults
    from bedplan.outputs.tables_hints import hint_notes, hints_record, hints_table
    from bedplan.plan.hints import search_hints

    read = read_layout(layout, show)
    _paved(layout, read, path)
    progress = progress_line("trying sizes", lambda count: counted(count, "hint"))
    try:
        search = search_hints(read, path, seconds=seconds, progress=progress)
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
        typer.echo(" ".join([f"{found}.", *hint_notes(search)]))


def _paved(file: Path, layout: Layout, name: str | None) -> list[PathSpec]:
    """Return the paths meant by a name, or all that are paved if there is none."""
    asked = [spec for spec in layout.paths if (spec.paving if name is None else spec.name == name)]
    if not asked:
        wrong = "no path has pavers" if name is None else f"no path called {name!r}"
        names = ", ".join(repr(spec.name) for spec in layout.paths) or "none"
        message = f"{file}: {wrong}; the paths are {names}"
        raise GeometryError(message)
    if name is not None and not asked[0].paving:
        message = f"{file}: path {name!r} has no pavers; there are no units to lay"
        raise GeometryError(message)
    return asked


def choose(  # noqa: PLR0913 - an option for every key it may write
    layout: LayoutFile,
    path: PathName,
    *,
    pavers: Annotated[str | None, typer.Option(help="The unit to lay.")] = None,
    second: Annotated[
        str | None, typer.Option(help="The second unit, for a bond of two sizes.")
    ] = None,
    bond: Annotated[str | None, typer.Option(help="The bond to lay it in.")] = None,
    direction: Annotated[str | None, typer.Option(help="A side, degrees, or best.")] = None,
    seconds: Seconds = 5.0,
) -> None:
    """Write a unit, bond or direction into the layout file.

    Only those values change; comments, order and every other byte stay. A bond of one size takes
    a second unit out of the file. A choice that does not work leaves the file as it was.
    """
    from bedplan.layout_file import place_faults
    from bedplan.layout_file.patch import with_values
    from bedplan.outputs.files import replace_file

    read = read_layout(layout, None)
    number = _number(layout, read, path)
    wanted = {
        "pavers": pavers,
        "second": second,
        "bond": bond,
        "direction": _degrees(direction),
    }
    values: dict[str, Value] = {key: word for key, word in wanted.items() if word is not None}
    if not values:
        message = "nothing to change: give --pavers, --second, --bond or --direction"
        raise GeometryError(message)
    _check_writable(layout)
    try:
        values |= _idle_second(read, read.paths[number], values)
        changed = with_values(layout.read_bytes(), "path", number, values)
        count = _count_of(layout, changed, number, seconds)
    except LayoutError as error:
        # told by the file as it stands: nothing of the change is in it
        raise place_faults(layout, error) from None
    finally:
        clear_line()
    if not count:
        message = f"{layout}: no whole unit fits into {path!r} so; nothing was changed"
        raise GeometryError(message)
    replace_file(layout, changed)
    typer.echo(f"{layout}: {path} changed; {counted(count, 'whole unit')} now.")


def _number(file: Path, layout: Layout, name: str) -> int:
    """Return the number of a path in its file."""
    names = [spec.name for spec in layout.paths]
    if name not in names:
        known = ", ".join(map(repr, names)) or "none"
        message = f"{file}: no path called {name!r}; the paths are {known}"
        raise GeometryError(message)
    return names.index(name)


def _check_writable(file: Path) -> None:
    """Refuse a file that is write-protected, though its folder would let it be replaced."""
    mode = file.stat().st_mode
    if not mode & 0o222 or not os.access(file, os.W_OK):
        message = f"{file} cannot be written (it is write-protected); nothing was changed"
        raise OutputError(message)


def _idle_second(layout: Layout, path: PathSpec, values: dict[str, Value]) -> dict[str, Value]:
    """Return the second unit as a key to take out, where a newly chosen bond has one size."""
    from bedplan.model.bonds import BONDS
    from bedplan.paving.patterns import sizes_of

    bond = values.get("bond")
    known = isinstance(bond, str) and (bond in BONDS or bond in layout.bonds)
    idle = known and path.paving and path.paving.second and "second" not in values
    return {"second": None} if idle and sizes_of(layout, str(bond)) == 1 else {}


def _count_of(file: Path, text: bytes, number: int, seconds: float) -> int:
    """Return how many units lie in a path of a layout that is not written yet."""
    from bedplan.layout_file import parse_layout
    from bedplan.plan import FreeSearch, make_plan

    layout = parse_layout(text.decode("utf-8-sig"), str(file), file.parent)
    return make_plan(layout, FreeSearch(seconds, laying_freely())).walks[number].count


def _degrees(direction: str | None) -> str | float | None:
    """Return a direction given in plain degrees as the number it is."""
    if direction is None or not re.fullmatch(r"[-+]?\d+(\.\d+)?", direction.strip(), re.ASCII):
        return direction
    degrees = float(direction)
    return int(degrees) if degrees.is_integer() else degrees
