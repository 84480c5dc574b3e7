"""Names a layout refers to: sides, corners, plants, goods (layer: layout_file).

Works on the file's plain data, so that names are checked even where other values are at fault.
Anything of the wrong type is passed over here; the schema tells it.

Public entry points: `references`, `reference_faults`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Any, NamedTuple

from bedplan.errors import Fault
from bedplan.layout_file.faults import unknown_name
from bedplan.layout_file.positions import KeyPath
from bedplan.layout_file.quantities import as_angle
from bedplan.layout_file.ties import corner_names
from bedplan.model.bonds import BONDS

Data = Mapping[str, Any]
GOODS = ("board", "paver", "fabric", "material", "bond", "stake", "screw")


class Reference(NamedTuple):
    """A name used at a place of the file, and the kind of thing it must name."""

    path: KeyPath
    kind: str
    name: str


def tables(data: Data, kind: str) -> Iterator[tuple[KeyPath, Data]]:
    """Yield every table of a list of tables with its path."""
    rows = data.get(kind)
    for index, row in enumerate(rows if isinstance(rows, list) else ()):
        if isinstance(row, dict):
            yield (kind, index), row


def table(data: Data, key: str) -> Data:
    """Return an inner table, empty where there is none."""
    inner = data.get(key)
    return inner if isinstance(inner, dict) else {}


def items(data: Data, key: str) -> list[Any]:
    """Return an inner list, empty where there is none."""
    inner = data.get(key)
    return inner if isinstance(inner, list) else []


def references(data: Data) -> Iterator[Reference]:
    """Yield every name the file refers to."""
    posts = table(table(data, "enclosure"), "posts")
    for side in posts:
        if side not in ("size", "proud", "footing"):
            yield Reference(("enclosure", "posts", side), "side", side)
    for kind, find in _FINDERS.items():
        for path, row in tables(data, kind):
            yield from find(path, row)
    yield from _ground_references(("ground",), table(data, "ground"))


def _gate_references(path: KeyPath, gate: Data) -> Iterator[Reference]:
    yield from _named(path, gate, "side", "side")
    yield from _named(path, gate, "hinge", "corner")


def _plant_references(path: KeyPath, plant: Data) -> Iterator[Reference]:
    yield from _tied((*path, "at"), plant.get("at"))


def _pipe_references(path: KeyPath, pipe: Data) -> Iterator[Reference]:
    yield from _tied_all(path, pipe, "line")


def _bed_references(path: KeyPath, bed: Data) -> Iterator[Reference]:
    rectangle, circle = table(bed, "rectangle"), table(bed, "circle")
    yield from _listed(path, bed, "along", "side")
    yield from _listed(path, bed, "around", "plant")
    yield from _heading(path, bed, "square_to")
    yield from _heading((*path, "rectangle"), rectangle, "square_to")
    yield from _tied((*path, "rectangle", "center"), rectangle.get("center"))
    yield from _tied((*path, "circle", "center"), circle.get("center"))
    yield from _tied_all(path, bed, "polygon")
    yield from _named(path, bed, "edging", "board")
    yield from _covering(path, bed)
    yield from _named((*path, "mulch"), table(bed, "mulch"), "material", "material")


def _path_references(path: KeyPath, walk: Data) -> Iterator[Reference]:
    yield from _tied_all(path, walk, "polygon")
    yield from _tied_all(path, walk, "centerline")
    yield from _named(path, walk, "pavers", "paver")
    yield from _named(path, walk, "second", "paver")
    yield from _named(path, walk, "bond", "bond")
    yield from _heading(path, walk, "direction")
    yield from _covering(path, walk)
    yield from _named(path, walk, "joint_fill", "material")
    yield from _finish_references(path, walk)


def _planting_references(path: KeyPath, planting: Data) -> Iterator[Reference]:
    yield from _named(path, planting, "bed", "bed")
    yield from _heading(path, planting, "direction")


def _ground_references(path: KeyPath, ground: Data) -> Iterator[Reference]:
    yield from _finish_references(path, ground)
    yield from _listed(path, ground, "building", "side")
    for index, spot in enumerate(items(ground, "spots")):
        if isinstance(spot, dict):
            yield from _tied((*path, "spots", index, "at"), spot.get("at"))


def _finish_references(path: KeyPath, row: Data) -> Iterator[Reference]:
    yield from _heading((*path, "fall"), table(row, "fall"), "toward")
    yield from _tied((*path, "at"), row.get("at"))


_FINDERS: Mapping[str, Callable[[KeyPath, Data], Iterator[Reference]]] = {
    "gate": _gate_references,
    "plant": _plant_references,
    "pipe": _pipe_references,
    "bed": _bed_references,
    "path": _path_references,
    "planting": _planting_references,
}


def _covering(path: KeyPath, row: Data) -> Iterator[Reference]:
    yield from _named(path, row, "barrier", "fabric")
    for index, layer in enumerate(items(row, "layers")):
        if isinstance(layer, dict):
            yield from _named((*path, "layers", index), layer, "material", "material")


def _named(path: KeyPath, row: Data, key: str, kind: str) -> Iterator[Reference]:
    name = row.get(key)
    if isinstance(name, str) and not (name == "none" and kind in ("fabric", "board")):
        yield Reference((*path, key), kind, name)


def _listed(path: KeyPath, row: Data, key: str, kind: str) -> Iterator[Reference]:
    for index, name in enumerate(items(row, key)):
        if isinstance(name, str):
            yield Reference((*path, key, index), kind, name)


def _heading(path: KeyPath, row: Data, key: str) -> Iterator[Reference]:
    name = row.get(key)
    best = key == "direction" and name == "best"
    if isinstance(name, str) and not best and as_angle(name) is None:
        yield Reference((*path, key), "side", name)


def _tied(path: KeyPath, point: object) -> Iterator[Reference]:
    if isinstance(point, dict):
        yield from _named(path, point, "side", "side")


def _tied_all(path: KeyPath, row: Data, key: str) -> Iterator[Reference]:
    for index, point in enumerate(items(row, key)):
        yield from _tied((*path, key, index), point)


def _hardware_references(goods: Mapping[str, Data] | None) -> Iterator[Reference]:
    """Yield the stakes and screws that boards name, those of price lists among them."""
    for board, row in (goods or {}).get("board", {}).items():
        if isinstance(row, dict):
            yield from _named(("board", board), row, "stake", "stake")
            yield from _named(("board", board), row, "screws", "screw")


def side_names(data: Data) -> tuple[str, ...]:
    """Return the sides in file order, named by their corners; none where they make no ring."""
    corners = corner_names(table(data, "enclosure"))
    if len(corners) < 3:
        return ()
    return tuple(first + second for first, second in pairwise([*corners, corners[0]]))


def _known(data: Data) -> dict[str, tuple[str, ...] | None]:
    """Return the names of each kind; None where the file is too broken to know them."""
    sides = side_names(data)
    plants = (row.get("name") for _, row in tables(data, "plant"))
    beds = (row.get("name") for _, row in tables(data, "bed"))
    return {
        "side": sides or None,
        "corner": tuple(corner_names(table(data, "enclosure"))) or None,
        "plant": tuple(name for name in plants if isinstance(name, str)),
        "bed": tuple(name for name in beds if isinstance(name, str)),
    }


def reference_faults(data: Data, goods: Mapping[str, Data] | None) -> Iterator[Fault]:
    """Yield the fault of every name that nothing bears.

    Parameters
    ----------
    data
        The layout file.
    goods
        All goods of the layout and its price lists, by kind; None where a price list could not
        be read, so that nobody can say which names are missing.
    """
    known = _known(data)
    known |= {kind: tuple(goods[kind]) if goods is not None else None for kind in GOODS}
    if known["bond"] is not None:
        known["bond"] = (*BONDS, *known["bond"])
    corners = corner_names(table(data, "enclosure"))
    backwards = {b + a for a, b in pairwise([*corners, *corners[:1]])}
    for path, kind, name in (*references(data), *_hardware_references(goods)):
        names = known[kind]
        if names is None or name in names or (kind == "side" and name in backwards):
            continue
        yield unknown_name(path, kind, name, names)
