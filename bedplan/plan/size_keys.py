"""The sizes of a layout file that a hint may change (layer: plan).

A *size key* is one length of one bed or path: the width of a border, either side of a
rectangle, the clearance round plants, the width of a walk along a line.

Public entry point: `size_keys`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import AlongSides, Around, BedShape, Centerline, Layout, Rectangle
from bedplan.model.site import Site


@dataclass(frozen=True)
class SizeKey:
    """One length of a layout.

    Parameters
    ----------
    kind, number
        Which table of the file: ``("bed", 2)`` for the third bed.
    name
        What that bed or path is called.
    key
        ``width``, ``length`` (the first size of a rectangle) or ``clearance``.
    size_m
        What it is now [m].
    """

    kind: Literal["bed", "path"]
    number: int
    name: str
    key: str
    size_m: float

    def set_to(self, layout: Layout, size_m: float) -> Layout:
        """Return the layout with this one length changed [m]."""
        if self.kind == "path":
            paths = list(layout.paths)
            shape = paths[self.number].shape
            assert isinstance(shape, Centerline)
            paths[self.number] = replace(paths[self.number], shape=replace(shape, width_m=size_m))
            return replace(layout, paths=tuple(paths))
        beds = list(layout.beds)
        bed = beds[self.number]
        beds[self.number] = replace(bed, shape=_sized(bed.shape, self.key, size_m))
        return replace(layout, beds=tuple(beds))


def size_keys(layout: Layout, site: Site, path: int) -> tuple[SizeKey, ...]:
    """Return the lengths that move a border of a path: its own width, and the beds beside it.

    Parameters
    ----------
    layout, site
        The layout and its parts in place.
    path
        Number of the path.
    """
    found = []
    shape = layout.paths[path].shape
    if isinstance(shape, Centerline):
        found.append(SizeKey("path", path, layout.paths[path].name, "width", shape.width_m))
    area = site.paths[path].area
    for number, bed in enumerate(site.beds):
        if bed.outline.distance(area) <= SNAP_M:
            found += [
                SizeKey("bed", number, bed.spec.name, key, size_m)
                for key, size_m in _lengths(bed.spec.shape)
            ]
    return tuple(found)


def _lengths(shape: BedShape) -> Iterator[tuple[str, float]]:
    match shape:
        case AlongSides():
            yield "width", shape.width_m
        case Rectangle():
            yield "length", shape.size_m[0]
            yield "width", shape.size_m[1]
        case Around():
            yield "clearance", shape.clearance_m
        case _:
            return


def _sized(shape: BedShape, key: str, size_m: float) -> BedShape:
    match shape:
        case AlongSides():
            return replace(shape, width_m=size_m)
        case Rectangle():
            length_m, width_m = shape.size_m
            size = (size_m, width_m) if key == "length" else (length_m, size_m)
            return replace(shape, size_m=size)
        case Around():
            return replace(shape, clearance_m=size_m)
    message = f"a {type(shape).__name__} has no {key}"
    raise AssertionError(message)
