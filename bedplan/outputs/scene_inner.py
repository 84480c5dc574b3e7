"""Dimensions inside the fence: how long and wide each bed is, how wide each walk is at its least.

They are drawn where they fit and left out where they do not: the names and the outer
dimensions have the first claim to the paper. Layer: outputs. Public entry point:
`inner_labels`.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.model.layout import AlongSides, Circle, System
from bedplan.model.site import PlacedBed
from bedplan.outputs.label import Label
from bedplan.outputs.scene import Point
from bedplan.outputs.scene_dimensions import inner_dimension
from bedplan.outputs.scene_palette import BED_FILL, UNIT_FILL
from bedplan.outputs.sheet import Frame
from bedplan.units import format_length

if TYPE_CHECKING:
    from bedplan.plan import Plan

SIZE_OF: Final = "size of "
"""How the subject of a bed's own dimension begins; the bed's name follows."""

WIDEST_WALK_M: Final = 1.5
"""A passage wider than this is room enough and gets no dimension [m]."""

_SHARES: Final = (0.12, 0.88, 0.2, 0.8, 0.3, 0.7, 0.42, 0.58)
"""Where across a bed its dimension may run, as parts of the way over: near an edge first."""

_LEAST_MM: Final = 2.0
"""A dimension line keeps this far from the edge it runs along [mm]."""


def inner_labels(plan: Plan, frame: Frame, crowded: Container[str] = ()) -> list[Label]:
    """Return the optional dimensions inside the fence, but none of the `crowded` beds."""
    show = plan.layout.show
    stems = shapely.union_all(
        [
            shapely.Point(frame.point(plant.at)).buffer(
                plant.plant.stem_m / 2 * frame.mm_per_m + 1.0
            )
            for plant in plan.site.plants
        ]
    )
    beds = [
        label
        for bed in plan.site.beds
        if bed.spec.name not in crowded
        for label in bed_dimensions(bed, frame, show, stems)
    ]
    return [*beds, *walk_widths(plan, frame)]


def times(sizes: Sequence[str]) -> str:
    """Return sizes joined as one says them, the unit once where it is the same.

    Examples
    --------
    >>> times(["1200 mm", "900 mm"])
    '1200 × 900 mm'
    """
    if all(size.endswith(" mm") for size in sizes):
        sizes = [*(size.removesuffix(" mm") for size in sizes[:-1]), *sizes[-1:]]
    return " × ".join(sizes)


def size_words(bed: PlacedBed, show: System) -> str:
    """Return a bed's size as one says it, empty where it has no plain one."""
    match bed.spec.shape:
        case AlongSides(width_m=width_m):
            return f"{format_length(width_m, show)} deep"
        case Circle(radius_m=radius_m):
            return f"⌀ {format_length(2 * radius_m, show)}"
        case _:
            ring = _rectangle_ring(bed.outline)
            sizes = [math.dist(*ring[place : place + 2]) for place in (0, 1)] if ring else []
            return times([format_length(size, show) for size in sizes])


def bed_dimensions(bed: PlacedBed, frame: Frame, show: System, stems: BaseGeometry) -> list[Label]:
    """Return a bed's own dimensions: depth of a border, across a circle, or both ways.

    No line runs through `stems`.
    """
    outline = frame.shape(bed.outline)
    match bed.spec.shape:
        case AlongSides(width_m=width_m):
            found = [
                (
                    format_length(width_m, show),
                    list(_across_border(outline, width_m * frame.mm_per_m)),
                )
            ]
        case Circle():
            found = [(size_words(bed, show), list(_diameters(outline)))]
        case _:
            found = list(_both_ways(outline, frame, show))
    return [
        inner_dimension(
            f"{SIZE_OF}{bed.spec.name}",
            words,
            [span for span in spans if not stems.intersects(LineString(span))],
            outline,
            BED_FILL,
            7,
        )
        for words, spans in found
    ]


def _rectangle_ring(outline: Polygon) -> list[Point]:
    """Return the four corners of a rectangle; nothing for another shape."""
    ring = list(outline.exterior.coords)[:-1]
    square = outline.area > 0.999 * outline.minimum_rotated_rectangle.area
    return ring if len(ring) == 4 and square else []


def _both_ways(
    outline: Polygon, frame: Frame, show: System
) -> Iterator[tuple[str, list[tuple[Point, Point]]]]:
    """Return length and width of a rectangle; of another shape nothing."""
    ring = _rectangle_ring(outline)
    for first in (0, 1) if ring else ():
        a, b, c = ring[first], ring[first + 1], ring[(first + 2) % 4]
        length_m = math.dist(a, b) / frame.mm_per_m
        yield format_length(length_m, show), list(_parallels(a, b, c))


def _parallels(a: Point, b: Point, c: Point) -> Iterator[tuple[Point, Point]]:
    """Return lines from one edge to its opposite, parallel to ``ab``, shifted towards ``c``."""
    across = (c[0] - b[0], c[1] - b[1])
    depth = math.hypot(*across)
    for share in _SHARES:
        if min(share, 1.0 - share) * depth >= _LEAST_MM:
            dx, dy = share * across[0], share * across[1]
            yield (a[0] + dx, a[1] + dy), (b[0] + dx, b[1] + dy)


def _diameters(outline: Polygon) -> Iterator[tuple[Point, Point]]:
    x, y = outline.centroid.coords[0]
    radius = math.sqrt(outline.area / math.pi)
    for angle in (-60, 60, 0, 90, -30, 30):
        u, v = radius * math.cos(math.radians(angle)), radius * math.sin(math.radians(angle))
        yield (x - u, y - v), (x + u, y + v)


def _across_border(outline: Polygon, depth: float) -> Iterator[tuple[Point, Point]]:
    """Return lines square across a border from each of its long edges, as deep as it is."""
    edges = sorted(pairwise(outline.exterior.coords), key=lambda edge: -math.dist(*edge))
    for start, end in edges[:4]:
        length = math.dist(start, end)
        if length < 1.5 * depth:
            continue
        left = ((start[1] - end[1]) / length, (end[0] - start[0]) / length)
        for share in (0.12, 0.88, 0.25, 0.75, 0.35, 0.65):
            foot = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            head = (foot[0] + depth * left[0], foot[1] + depth * left[1])
            if _spans(outline, foot, head):
                yield foot, head


def _spans(outline: Polygon, foot: Point, head: Point) -> bool:
    """Tell whether a line runs from edge to edge of a shape."""
    inside = LineString([foot, head]).intersection(outline).length
    short = abs(inside - math.dist(foot, head)) > 0.02
    return not short and float(outline.exterior.distance(shapely.Point(head))) < 0.02


def walk_widths(plan: Plan, frame: Frame) -> list[Label]:
    """Return the clear width of every passage of a walk where it is narrowest."""
    walks = shapely.union_all([walk.path.area for walk in plan.walks])
    ground = walks.buffer(1e-6)
    shapely.prepare(ground)
    shapes = [
        plan.site.enclosure.polygon.exterior,
        *(bed.outline.exterior for bed in plan.site.beds),
    ]
    near = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=WIDEST_WALK_M)
    spans = [
        span
        for one, other in near.T.tolist()
        if one < other
        and (span := _narrowest(shapes[one], shapes[other])) is not None
        and ground.covers(LineString(span))
    ]
    paper = frame.shape(walks)
    return [
        inner_dimension(
            f"width {number}",
            format_length(math.dist(*span), plan.layout.show),
            [(frame.point(span[0]), frame.point(span[1]))],
            paper,
            UNIT_FILL,
            8,
        )
        for number, span in enumerate(sorted(spans, key=lambda span: math.dist(*span)))
    ]


def _narrowest(one: LineString, other: LineString) -> tuple[Point, Point] | None:
    """Return the shortest line between two outlines, the middle one where they run parallel."""
    least = one.distance(other)
    if least < 0.05:
        return None
    lines = [
        shapely.shortest_line(place, shape)
        for ring, shape in ((one, other), (other, one))
        for place in _stations(ring)
    ]
    lines.append(shapely.shortest_line(one, other))
    equal = [line for line in lines if line.length <= least + 5e-4]
    middle = shapely.MultiPoint([line.centroid for line in equal]).centroid
    best = min(equal, key=lambda line: line.distance(middle))
    (ax, ay), (bx, by) = best.coords
    return (ax, ay), (bx, by)


def _stations(ring: LineString) -> list[shapely.Point]:
    """Return places along every edge of an outline, its corners among them."""
    return [
        shapely.Point(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
        for a, b in pairwise(ring.simplify(1e-3).coords)
        for share in (0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875)
    ]
