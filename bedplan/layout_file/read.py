"""Reads a layout file and tells everything that is wrong with it (layer: layout_file).

The way of a file: bytes, TOML, its price lists, the schema, names and rules, geometry. The first
two stop at their first fault; from there on the faults of all steps come together, sorted by
line. A fault in a price list carries that list's name and line.

Public entry points: `load_layout`, `parse_layout`, and `place_faults` for what planning finds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from bedplan.errors import Fault, LayoutError
from bedplan.layout_file.build import build_layout
from bedplan.layout_file.build_ground import ground_faults
from bedplan.layout_file.faults import schema_faults
from bedplan.layout_file.include import Gathered, gather
from bedplan.layout_file.references import GOODS, reference_faults, table
from bedplan.layout_file.rules import rule_faults
from bedplan.layout_file.salvage import salvage
from bedplan.layout_file.schema import LayoutFile
from bedplan.layout_file.schema_goods import PriceList
from bedplan.layout_file.source import SourceFile, parse_source, read_source
from bedplan.layout_file.ties import key_of_tie
from bedplan.model.layout import Layout
from bedplan.paving.patterns import pattern_faults
from bedplan.site import find_faults
from bedplan.survey import surveyed

Model = TypeVar("Model", bound=PriceList)

_UNITS = ("in", "ft", "yd", "m", "cm", "mm")


def load_layout(path: str | Path) -> Layout:
    """Return the layout of a file.

    Parameters
    ----------
    path
        A TOML file. Price lists it includes are looked for beside it.

    Raises
    ------
    LayoutError
        With every fault of the file and its price lists, sorted by line.
    """
    file = Path(path)
    return _layout(read_source(file, str(path)), file.parent)


def place_faults(path: str | Path, error: LayoutError) -> LayoutError:
    """Return an error found while planning a layout, its faults with file and line.

    Parameters
    ----------
    path
        The file the layout came from.
    error
        What `bedplan.make_plan` raised.
    """
    file = Path(path)
    source = read_source(file, str(path))
    gathered = gather(source, file.parent)
    files = [source.name, *(each.name for each in gathered.lists)]
    return LayoutError(_sorted(_placed(source, gathered, error.faults), files))


def parse_layout(text: str, name: str = "layout.toml", folder: Path | None = None) -> Layout:
    r"""Return the layout of a text.

    Parameters
    ----------
    text
        What a layout file would hold.
    name
        How faults call it.
    folder
        Where its price lists lie; None for a text that may include none.

    Raises
    ------
    LayoutError
        With every fault, sorted by line.

    Examples
    --------
    >>> text = '''
    ... title = "Yard"
    ... unit = "m"
    ... [enclosure]
    ... corners = { A = [0, 0], B = [9, 0], C = [9, 6], D = [0, 6] }
    ... [[bed]]
    ... name = "border"
    ... along = ["BC"]
    ... width = 0.8
    ... '''
    >>> parse_layout(text).beds[0].shape
    AlongSides(sides=('BC',), width_m=0.8, start_m=0.0, end_m=0.0)
    >>> parse_layout(text.replace("width", "wide"))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    bedplan.errors.LayoutError: layout.toml:9: bed[1].wide: unknown key 'wide'; did you mean...
    """
    return _layout(parse_source(text.encode(errors="surrogatepass"), name), folder)


def _layout(source: SourceFile, folder: Path | None) -> Layout:
    gathered = gather(source, folder)
    _refuse_empty(source)
    file, faults = _validated(source, LayoutFile, _unit(source.data))
    goods = gathered.goods(source.data)
    faults += reference_faults(source.data, goods)
    faults += rule_faults(source.data, goods)
    lists, list_faults = _price_lists(gathered)
    elsewhere = [*gathered.faults, *list_faults]
    if file is not None and not faults and not elsewhere:
        layout, faults = _worked_out(file, lists)
        if not faults:
            return layout
    else:
        faults += _hidden_faults(source, faults, lists)
    places = {source.name: source, **{each.name: each for each in gathered.lists}}
    raise LayoutError(_sorted([*_placed(source, gathered, faults), *elsewhere], list(places)))


def _worked_out(file: LayoutFile, lists: list[PriceList]) -> tuple[Layout, list[Fault]]:
    """Return the layout, its corners found where they are taped, and the engines' faults.

    Ties that make no fence hide the faults of whatever is tied to it.
    """
    layout = build_layout(file, lists)
    try:
        layout, _ = surveyed(layout)
    except LayoutError as error:
        return layout, [*error.faults, *pattern_faults(layout)]
    return layout, [*find_faults(layout), *pattern_faults(layout), *ground_faults(layout)]


def _refuse_empty(source: SourceFile) -> None:
    if not source.data:
        raise LayoutError(
            [
                Fault(
                    (),
                    "an empty file",
                    "a layout: a title and an enclosure",
                    "start from the file that `bedplan new` writes",
                    source.name,
                    1,
                )
            ]
        )


def _unit(data: dict[str, Any]) -> str:
    """Return the unit of bare numbers; metres where it is wrong, which the schema tells once."""
    unit = data.get("unit", "")
    return unit if unit in (*_UNITS, "") else "m"


def _validated(
    source: SourceFile,
    model: type[Model],
    unit: str = "",
) -> tuple[Model | None, list[Fault]]:
    try:
        return model.model_validate(source.data, context={"unit": unit}), []
    except ValidationError as error:
        wrong = error.errors(include_url=False)
        return None, schema_faults(wrong, model, source.positions.line)


def _price_lists(gathered: Gathered) -> tuple[list[PriceList], list[Fault]]:
    """Return the sound price lists, and the faults of the others in place."""
    lists: list[PriceList] = []
    faults: list[Fault] = []
    for source in gathered.lists:
        prices, wrong = _validated(source, PriceList)
        faults += [source.place(fault) for fault in wrong]
        if prices is not None:
            lists.append(prices)
    return lists, faults


def _hidden_faults(
    source: SourceFile,
    faults: Sequence[Fault],
    lists: list[PriceList],
) -> Iterator[Fault]:
    """Yield the geometry faults of what can be drawn although the file has other faults."""
    remains = salvage(source.data, faults)
    if remains is None:
        return
    rest = SourceFile(source.name, source.text, remains.data)
    file, _ = _validated(rest, LayoutFile, _unit(source.data))
    if file is not None:
        found = map(remains.original, _worked_out(file, lists)[1])
        yield from (fault for fault in found if fault is not None)


def _placed(
    source: SourceFile,
    gathered: Gathered,
    faults: Iterable[Fault],
) -> Iterator[Fault]:
    """Yield faults with file and line: goods defined only in a price list are placed there."""
    for fault in faults:
        home = source
        if len(fault.path) > 1 and fault.path[0] in GOODS:
            kind, name = str(fault.path[0]), fault.path[1]
            if name not in table(source.data, kind):
                home = next(
                    (each for each in reversed(gathered.lists) if name in table(each.data, kind)),
                    source,
                )
        yield home.place(_as_written(source, fault))


def _as_written(source: SourceFile, fault: Fault) -> Fault:
    """Return the fault of a tie, or of a known mark, under the key the file has for it."""
    enclosure = table(source.data, "enclosure")
    match fault.path:
        case ("enclosure", "corners", str(name)) if name in table(enclosure, "known"):
            return replace(fault, path=("enclosure", "known", name))
        case ("enclosure", "ties", str(name), *rest):
            key = key_of_tie(name, enclosure)
            return replace(fault, path=("enclosure", "ties", key, *rest))
    return fault


def _sorted(faults: Iterable[Fault], files: list[str]) -> list[Fault]:
    """Return faults by file, the layout first, and by line; each once."""
    order = {name: number for number, name in enumerate(files)}
    once = dict.fromkeys(faults)
    return sorted(once, key=lambda fault: (order.get(fault.file, len(order)), fault.line))
