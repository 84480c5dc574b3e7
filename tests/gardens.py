"""Small gardens built in Python, for tests: a fence, polygon beds, one kind of board."""

from __future__ import annotations

import math
from dataclasses import replace
from string import ascii_uppercase

import shapely
from shapely.geometry import Polygon

from bedplan.edging import edge_beds
from bedplan.geometry.lines import mitre_point, through
from bedplan.model.layout import (
    BedSpec,
    Centerline,
    Circle,
    EnclosureSpec,
    Layout,
    Outline,
    PathSpec,
    Rectangle,
    Rest,
    SidePoint,
)
from bedplan.model.materials import Board, StockItem
from bedplan.site import resolve

INCH = 0.0254
FOOT = 0.3048
YARD3 = 0.9144**3


def fence(points):
    """Return the spec of a fence with corners A, B, C…"""
    return EnclosureSpec(
        tuple(
            (name, (float(x), float(y)))
            for name, (x, y) in zip(ascii_uppercase, points, strict=False)
        )
    )


def rectangle(width, height):
    return fence([(0, 0), (width, 0), (width, height), (0, height)])


def pine(**changes):
    """Return a board that one length always suffices for, unless told otherwise."""
    plain = Board("pine", 0.016, 0.14, kerf_m=0.003, stock=(StockItem(40.0, 1.0),))
    return replace(plain, **changes)


def bed(name, points, **more):
    places = tuple((float(x), float(y)) for x, y in points)
    return BedSpec(name, Outline(places), edging=more.pop("edging", "pine"), **more)


WALK = PathSpec("walk", Rest())


def garden(spec, beds=(), paths=(WALK,), board=None, **more):
    return Layout(
        "Garden",
        spec,
        beds=tuple(beds),
        paths=tuple(paths),
        boards={"pine": board or pine()},
        **more,
    )


def edged(points, board, **more):
    """Return the bed in place and its edging, the fence far away."""
    x0, y0, x1, y1 = Polygon(points).bounds
    wide = fence([(x0 - 5, y0 - 5), (x1 + 5, y0 - 5), (x1 + 5, y1 + 5), (x0 - 5, y1 + 5)])
    layout = garden(wide, [bed("bed", points, **more)], board=board)
    site = resolve(layout)
    return site.beds[0], edge_beds(site, layout.boards)[0]


def regular(count, radius, turn_deg=0.0):
    """Return the corners of a regular polygon."""
    turns = [math.radians(turn_deg) + 2 * math.pi * i / count for i in range(count)]
    return [(radius * math.cos(a), radius * math.sin(a)) for a in turns]


def inner_ring(points, thickness):
    """Return the corners of a mitred inset, or None where a side does not survive it.

    Each side is moved in and crossed with the next one: no buffer, no overlay.
    """
    ring = Polygon(points)
    points = list(points) if ring.exterior.is_ccw else list(points)[::-1]
    sides = [through(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    inner = [mitre_point(sides[i - 1], sides[i], thickness) for i in range(len(sides))]
    for side, a, b in zip(sides, inner, [*inner[1:], inner[0]], strict=True):
        if side.station(b) - side.station(a) <= thickness:
            return None
    shape = Polygon(inner)
    # no inner side may come near another outer side: there would be no room between boards
    apart = shape.is_valid and ring.contains(shape)
    return inner if apart and shape.exterior.distance(ring.exterior) > 0.99 * thickness else None


def moved_point(point, angle_deg, dx, dy):
    a = math.radians(angle_deg)
    x, y = point
    return (x * math.cos(a) - y * math.sin(a) + dx, x * math.sin(a) + y * math.cos(a) + dy)


def moved(layout, angle_deg, dx, dy):
    """Return the same garden drawn elsewhere, turned about the origin and then shifted."""

    def to(place):
        fixed = isinstance(place, SidePoint)
        return place if fixed else moved_point(place, angle_deg, dx, dy)

    def turned(square_to):
        return square_to if isinstance(square_to, str) else square_to + angle_deg

    def shape_of(shape):
        match shape:
            case Rectangle():
                return Rectangle(to(shape.center), shape.size_m, turned(shape.square_to))
            case Circle():
                return replace(shape, center=to(shape.center))
            case Outline():
                return Outline(tuple(map(to, shape.points)))
            case Centerline():
                return Centerline(tuple(map(to, shape.points)), shape.width_m)
        return shape

    corners = tuple((name, to(at)) for name, at in layout.enclosure.corners)
    return replace(
        layout,
        enclosure=replace(layout.enclosure, corners=corners),
        plants=tuple(replace(plant, at=to(plant.at)) for plant in layout.plants),
        beds=tuple(replace(each, shape=shape_of(each.shape)) for each in layout.beds),
        paths=tuple(replace(each, shape=shape_of(each.shape)) for each in layout.paths),
    )


def total_area(shapes):
    return math.fsum(shapely.area(list(shapes)).tolist()) if shapes else 0.0
