"""The outline of a bed from the way it was asked for (layer: engines).

An outline is the outer face of the bed's boards. Public entry point: `bed_outline`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from bedplan.errors import GeometryError, LayoutError
from bedplan.geometry.lines import Line, Point, mitre_point
from bedplan.geometry.polygons import circle, ring_polygon
from bedplan.geometry.tolerance import SNAP_M
from bedplan.model.layout import (
    AlongSides,
    Around,
    BedShape,
    Circle,
    Outline,
    Rectangle,
)
from bedplan.model.site import Enclosure, PlacedPlant, Side
from bedplan.site.enclosure import Path, locate, side_of

FACET_SAGITTA_M = 0.0127
"""Greatest gap between a straight board and the circle it follows [m]: 1/2 in, our choice."""

MOST_FACETS = 360
"""No circle has more straight edges."""


def bed_outline(
    enclosure: Enclosure, shape: BedShape, plants: Mapping[str, PlacedPlant], path: Path
) -> Polygon:
    """Return a bed's outline, counter-clockwise.

    Parameters
    ----------
    enclosure
        The fence it is tied to.
    shape
        One of the five ways to ask for a bed.
    plants
        Plants in place, by name.
    path
        Where the bed stands in the file, for faults.

    Raises
    ------
    LayoutError
        If the shape cannot be drawn inside this fence.
    """
    match shape:
        case AlongSides():
            outline = _along(enclosure, shape, path)
        case Rectangle():
            outline = _rectangle(enclosure, shape, path)
        case Circle():
            _check_facets(shape, path)
            center = locate(enclosure, shape.center, (*path, "circle", "center"))
            outline = (
                _facets(center, shape.radius_m, shape.facets)
                if shape.facets
                else circle(center, shape.radius_m)
            )
        case Outline():
            outline = outline_polygon(enclosure, shape, path)
        case Around():
            outline = _around(enclosure, shape, plants, path)
    return shapely.orient_polygons(outline)


def facet_count(radius_m: float, sagitta_m: float = FACET_SAGITTA_M, least: int = 6) -> int:
    """Return the least number of straight boards that follow a circle within a sagitta.

    Parameters
    ----------
    radius_m, sagitta_m
        Of the circle, and how far a board may stray from it [m].
    least
        Fewer are never taken.

    References
    ----------
    First principles: a chord of half angle ``a`` stands off by ``r (1 - cos a)``.
    """
    half_angle = math.acos(max(0.0, 1.0 - sagitta_m / radius_m))
    return max(least, math.ceil(math.pi / half_angle - 1e-9))


def sagitta_of(radius_m: float, facets: int) -> float:
    """Return how far so many straight boards stray from their circle [m].

    Examples
    --------
    >>> round(sagitta_of(1.0, 6), 4)
    0.134
    """
    return radius_m * (1.0 - math.cos(math.pi / facets))


def _check_facets(shape: Circle, path: Path) -> None:
    if shape.facets > MOST_FACETS:
        raise LayoutError.of(
            (*path, "circle", "sagitta"),
            f"{shape.facets} straight edges to stay so near the circle",
            f"at most {MOST_FACETS} straight edges",
            "allow a larger sagitta, or take edging that bends",
        )


def _facets(center: Point, radius_m: float, count: int) -> Polygon:
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return Polygon(
        np.column_stack((center[0] + radius_m * np.cos(turn), center[1] + radius_m * np.sin(turn)))
    )


def outline_polygon(enclosure: Enclosure, shape: Outline, path: Path) -> Polygon:
    """Return the polygon through places, some of which may be tied to the fence.

    Raises
    ------
    LayoutError
        If it crosses itself or encloses nothing.
    """
    points = [
        locate(enclosure, place, (*path, "polygon", i)) for i, place in enumerate(shape.points)
    ]
    try:
        return ring_polygon(points, "the polygon")
    except GeometryError as error:
        raise LayoutError.of(
            (*path, "polygon"),
            str(error),
            "a simple polygon",
            "list its corners in order, each once",
        ) from None


def heading_deg(enclosure: Enclosure, square_to: str | float, path: Path) -> float:
    """Return the direction meant by the name of a side or by a number of degrees."""
    if isinstance(square_to, str):
        return side_of(enclosure, square_to, (*path, "square_to")).direction_deg
    return square_to


def _rectangle(enclosure: Enclosure, shape: Rectangle, path: Path) -> Polygon:
    here = (*path, "rectangle")
    x, y = locate(enclosure, shape.center, (*here, "center"))
    length, width = shape.size_m
    box = shapely.box(x - length / 2, y - width / 2, x + length / 2, y + width / 2)
    return affinity.rotate(box, heading_deg(enclosure, shape.square_to, here), origin=(x, y))


def _around(
    enclosure: Enclosure, shape: Around, plants: Mapping[str, PlacedPlant], path: Path
) -> Polygon:
    rings = []
    for name in shape.plants:
        if name not in plants:
            raise LayoutError.of(
                (*path, "around"),
                f"no plant is called {name!r}",
                "the name of a plant in this file",
                "check its spelling",
            )
        plant = plants[name]
        reach = plant.plant.stem_m / 2 + shape.clearance_m
        x, y = plant.at
        rings.append((x, y, reach))
    if shape.square_to is None:
        circles = [shapely.Point(x, y).buffer(reach, quad_segs=32) for x, y, reach in rings]
        return shapely.minimum_rotated_rectangle(shapely.union_all(circles))
    angle = heading_deg(enclosure, shape.square_to, path)
    turned = [affinity.rotate(shapely.Point(x, y), -angle, origin=(0, 0)) for x, y, _ in rings]
    reaches = [reach for _, _, reach in rings]
    box = shapely.box(
        min(p.x - r for p, r in zip(turned, reaches, strict=True)),
        min(p.y - r for p, r in zip(turned, reaches, strict=True)),
        max(p.x + r for p, r in zip(turned, reaches, strict=True)),
        max(p.y + r for p, r in zip(turned, reaches, strict=True)),
    )
    return affinity.rotate(box, angle, origin=(0, 0))


def _along(enclosure: Enclosure, shape: AlongSides, path: Path) -> Polygon:
    sides = [side_of(enclosure, name, (*path, "along", i)) for i, name in enumerate(shape.sides)]
    _check_chain(sides, path)
    closed = (
        len(sides) == len(enclosure.sides)
        and sides[-1].second == sides[0].first
        and shape.start_m == 0.0
        and shape.end_m == 0.0
    )
    if closed:
        return _border_all_round(sides, shape.width_m, path)
    if shape.start_m + shape.end_m >= sum(side.length_m for side in sides) - SNAP_M or (
        len(sides) > 1
        and (shape.start_m >= sides[0].length_m or shape.end_m >= sides[-1].length_m)
    ):
        raise LayoutError.of(
            (*path, "start"),
            "start and end leave nothing of the border",
            "a start and an end short of their sides",
            "shorten them, or drop the side",
        )
    outer = [
        sides[0].point(shape.start_m),
        *(side.start for side in sides[1:]),
        sides[-1].point(sides[-1].length_m - shape.end_m),
    ]
    inner = [
        _first_inner(enclosure, sides[0], shape.start_m, shape.width_m),
        *_corners(sides, shape.width_m),
        _first_inner(enclosure, sides[-1].reversed(), shape.end_m, shape.width_m),
    ]
    return _border(outer, inner, path)


def _check_chain(sides: Sequence[Side], path: Path) -> None:
    for number, (one, after) in enumerate(pairwise(sides)):
        if one.second != after.first:
            raise LayoutError.of(
                (*path, "along", number + 1),
                f"side {after.name} does not start where {one.name} ends",
                "sides in a row, such as BC then CD",
                "put them in order round the fence, or make two beds",
            )


def _corners(sides: Sequence[Side], width_m: float) -> list[Point]:
    return [
        mitre_point(one.line, after.line, one.inward * width_m) for one, after in pairwise(sides)
    ]


def _first_inner(enclosure: Enclosure, side: Side, start_m: float, width_m: float) -> Point:
    """Return the inner corner at the start of a border.

    A border that starts at its corner runs on to the side before it, so that no sliver is
    left; one that is shortened, turns an outward corner, or would run on by more than its width
    (a corner flatter than 135°) ends square.
    """
    square = side.point(start_m, width_m)
    if start_m > 0.0:
        return square
    before = next(
        other
        for other in (*enclosure.sides, *(s.reversed() for s in enclosure.sides))
        if other.second == side.first and other.first != side.second
    )
    inner: Line = side.line.shifted(side.inward * width_m)
    met = inner.meet(before.line)
    reflex = side.inward * before.line.left_of(side.end) <= 0.0
    flat = met is not None and side.line.station(met) < -width_m - SNAP_M
    return square if met is None or reflex or flat else met


def _border(outer: list[Point], inner: list[Point], path: Path) -> Polygon:
    try:
        return ring_polygon([*outer, *reversed(inner)], "the border")
    except GeometryError as error:
        raise LayoutError.of(
            (*path, "width"),
            str(error),
            "a width its sides have room for",
            "make the border narrower, or end it short",
        ) from None


def _border_all_round(sides: Sequence[Side], width_m: float, path: Path) -> Polygon:
    inner = _corners([sides[-1], *sides], width_m)
    polygon = Polygon([side.start for side in sides], [inner])
    # past the middle of the plot the inner sides run backwards, though the ring is still simple
    backwards = any(
        side.line.station(b) <= side.line.station(a)
        for side, a, b in zip(sides, inner, [*inner[1:], inner[0]], strict=True)
    )
    if backwards or not polygon.is_valid:
        raise LayoutError.of(
            (*path, "width"),
            "a border that fills the whole enclosure",
            "a width that leaves ground inside",
            "make it narrower",
        )
    return polygon
