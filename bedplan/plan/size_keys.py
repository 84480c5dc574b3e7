"""The sizes of a layout file that a hint may change (layer: plan).

A *size key* is one length of one bed or path: the width of a border and how far it is held back
from a corner, either side of a rectangle, the radius of a round bed, the clearance round plants,
the width of a walk along a line.

Public entry points: `size_keys`, `beds_without_size`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import (
    AlongSides,
    Around,
    BedShape,
    Centerline,
    Circle,
    Layout,
    Outline,
    Rectangle,
)
from bedplan.model.site import PlacedBed, Site

_HELD_BACK: Final = ("start", "end")
"""Keys of a border that shorten it, and so give ground to the path."""


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
        ``width``, ``length`` (the first size of a rectangle), ``radius``, ``clearance``,
        ``start`` or ``end``.
    size_m
        What it is now [m].
    steady
        True if every larger shape holds every smaller one. Not so for a rectangle round plants
        that turns as it will, nor for a round bed whose facets change with its size.
    """

    kind: Literal["bed", "path"]
    number: int
    name: str
    key: str
    size_m: float
    steady: bool = True

    @property
    def gives_ground(self) -> int:
        """The sign of the change that gives ground to the path."""
        return 1 if self.kind == "path" or self.key in _HELD_BACK else -1

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
    for number, bed in _beside(site, path):
        found += [
            SizeKey("bed", number, bed.spec.name, key, size_m, _is_steady(bed.spec.shape))
            for key, size_m in _lengths(bed.spec.shape)
        ]
    return tuple(found)


def beds_without_size(site: Site, path: int) -> tuple[str, ...]:
    """Return the names of the beds beside a path that are drawn corner by corner.

    To move one edge of such a bed, two corners must move, each along its other edge: that is
    no one length somebody could change in the file.
    """
    return tuple(
        bed.spec.name for _, bed in _beside(site, path) if isinstance(bed.spec.shape, Outline)
    )


def _is_steady(shape: BedShape) -> bool:
    match shape:
        case Around():
            return shape.square_to is not None
        case Circle():
            return shape.facets > 0
        case _:
            return True


def _beside(site: Site, path: int) -> Iterator[tuple[int, PlacedBed]]:
    area = site.paths[path].area
    for number, bed in enumerate(site.beds):
        if bed.outline.distance(area) <= SNAP_M:
            yield number, bed


def _lengths(shape: BedShape) -> Iterator[tuple[str, float]]:
    match shape:
        case AlongSides():
            yield "width", shape.width_m
            # a border that is not held back ends along the next side; that is another shape
            yield from ((key, size) for key, size in _ends(shape) if size > SNAP_M)
        case Rectangle():
            yield "length", shape.size_m[0]
            yield "width", shape.size_m[1]
        case Circle():
            yield "radius", shape.radius_m
        case Around():
            yield "clearance", shape.clearance_m
        case _:
            return


def _ends(shape: AlongSides) -> Iterator[tuple[str, float]]:
    yield from zip(_HELD_BACK, (shape.start_m, shape.end_m), strict=True)


def _sized(shape: BedShape, key: str, size_m: float) -> BedShape:
    match shape, key:
        case Rectangle(), _:
            length_m, width_m = shape.size_m
            size = (size_m, width_m) if key == "length" else (length_m, size_m)
            return replace(shape, size_m=size)
        case AlongSides(), "width":
            return replace(shape, width_m=size_m)
        case AlongSides(), "start":
            return replace(shape, start_m=size_m)
        case AlongSides(), "end":
            return replace(shape, end_m=size_m)
        case Circle(), _:
            return replace(shape, radius_m=size_m)
        case Around(), _:
            return replace(shape, clearance_m=size_m)
    message = f"a {type(shape).__name__} has no {key}"
    raise AssertionError(message)
