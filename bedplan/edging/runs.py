"""Which stretches of a bed's outline carry a board (layer: engines).

A stretch carries no board where it lies on the fence, or on the outline of a bed that stands
earlier in the file and has boards of its own: there one board serves both.
Public entry point: `edges_of`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from bedplan.geometry.lines import Line, Point, through
from bedplan.geometry.tolerance import SNAP_M

SHORTEST_RUN_M = 10 * SNAP_M
"""A gap of a millimetre between a neighbour and a corner is no place for a board [m]."""

Span = tuple[float, float]


@dataclass(frozen=True)
class Edge:
    """One straight edge of an outline, the bed on its left, and its spans that carry boards.

    Spans are stations along the edge [m], in order and apart.
    """

    start: Point
    end: Point
    spans: tuple[Span, ...]

    @property
    def line(self) -> Line:
        """The outer face of the edge's boards."""
        return through(self.start, self.end)

    @property
    def length_m(self) -> float:
        """Length of the edge [m]."""
        return math.dist(self.start, self.end)

    def boarded_at_start(self) -> bool:
        """Tell whether a board stands at the edge's first corner."""
        return bool(self.spans) and self.spans[0][0] == 0.0

    def boarded_at_end(self) -> bool:
        """Tell whether a board stands at the edge's last corner."""
        return bool(self.spans) and self.spans[-1][1] == self.length_m


class Served:
    """Straight lines that need no board: the fence, gates, and boards already set.

    A search tree finds the few segments near an edge, so that a thousand beds stay quick.
    """

    def __init__(self, outlines: Sequence[Polygon], lines: Sequence[LineString] = ()) -> None:
        self._segments = [segment for outline in outlines for segment in _segments(outline)]
        self._segments += [shapely.get_coordinates(line) for line in lines]
        self._tree = shapely.STRtree([shapely.linestrings(segment) for segment in self._segments])

    def near(self, start: Point, end: Point) -> list[NDArray[np.float64]]:
        """Return the segments, ``(2, 2)`` each, within `SNAP_M` of an edge."""
        edge = LineString([start, end])
        found = self._tree.query(edge, predicate="dwithin", distance=SNAP_M)
        return [self._segments[index] for index in found]


def _segments(outline: Polygon) -> list[NDArray[np.float64]]:
    rings = (outline.exterior, *outline.interiors)
    corners = [shapely.get_coordinates(ring) for ring in rings]
    return [np.stack(pair) for ring in corners for pair in pairwise(ring)]


def edges_of(
    outline: Polygon, served: Sequence[Served], shortest_m: float = SHORTEST_RUN_M
) -> list[list[Edge]]:
    """Return the edges of every ring of an outline, walked with the bed on the left.

    Parameters
    ----------
    outline
        Counter-clockwise outline, holes clockwise.
    served
        What needs no board of this bed.
    shortest_m
        Stretches left free of it that are no longer than this carry no board either [m].
    """
    return [
        _ring_edges(corners(ring.coords), served, shortest_m)
        for ring in (outline.exterior, *outline.interiors)
    ]


def corners(ring: Sequence[Point]) -> list[Point]:
    """Return the true corners of a closed ring, in order.

    Left out are points on a straight line and points that stand for one corner together: the
    ring is simplified to a tape's tolerance, from the point farthest from its middle.

    References
    ----------
    D. H. Douglas and T. K. Peucker, 1973, Cartographica 10 (from memory).
    """
    points = [(float(x), float(y)) for x, y in ring[:-1]]
    middle = shapely.MultiPoint(points).centroid.coords[0]
    start = max(range(len(points)), key=lambda i: math.dist(points[i], middle))
    turned = shapely.LinearRing([*points[start:], *points[:start]])
    kept = set(turned.simplify(SNAP_M).coords)
    return [point for point in dict.fromkeys(points) if point in kept]


def _ring_edges(
    points: Sequence[Point], served: Sequence[Served], shortest_m: float
) -> list[Edge]:
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return [Edge(start, end, _free_spans(start, end, served, shortest_m)) for start, end in pairs]


def _free_spans(
    start: Point, end: Point, served: Sequence[Served], shortest_m: float
) -> tuple[Span, ...]:
    line, length_m = through(start, end), math.dist(start, end)
    covered = [
        span
        for lines in served
        for segment in lines.near(start, end)
        if (span := _shared(line, length_m, segment)) is not None
    ]
    if not covered:
        return ((0.0, length_m),)
    free, at = [], 0.0
    for first, last in [*sorted(covered), (length_m, length_m)]:
        if first - at > shortest_m:
            free.append((at, first))
        at = max(at, last)
    return tuple(free)


def _shared(line: Line, length_m: float, segment: NDArray[np.float64]) -> Span | None:
    """Return the span of an edge that another segment lies on, or None."""
    a, b = ((float(x), float(y)) for x, y in segment)
    station_a, station_b = line.station(a), line.station(b)
    if abs(station_b - station_a) <= SNAP_M:
        return None
    first = max(0.0, min(station_a, station_b))
    last = min(length_m, max(station_a, station_b))
    if last - first <= SNAP_M:
        return None
    slope = (line.left_of(b) - line.left_of(a)) / (station_b - station_a)
    aside = [line.left_of(a) + slope * (station - station_a) for station in (first, last)]
    if max(map(abs, aside)) > SNAP_M:
        return None
    # ends within a tolerance of the corner are the corner
    return (0.0 if first <= SNAP_M else first, length_m if length_m - last <= SNAP_M else last)
