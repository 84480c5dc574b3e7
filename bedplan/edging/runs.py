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
from shapely.geometry import Polygon

from bedplan.geometry.lines import Line, Point, through
from bedplan.geometry.tolerance import SNAP_M

SHORTEST_RUN_M = 10 * SNAP_M
"""A gap of a millimetre between a neighbour and a corner is no place for a board."""

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
    """Straight lines that need no board: the fence, and boards already set.

    A search tree finds the few segments near an edge, so that a thousand beds stay quick.
    """

    def __init__(self, outlines: Sequence[Polygon]) -> None:
        self._segments = [segment for outline in outlines for segment in _segments(outline)]
        self._tree = shapely.STRtree(
            [shapely.linestrings(segment) for segment in self._segments])

    def near(self, start: Point, end: Point) -> list[NDArray[np.float64]]:
        """Return the segments, ``(2, 2)`` each, within `SNAP_M` of an edge."""
        edge = shapely.LineString([start, end])
        found = self._tree.query(edge, predicate="dwithin", distance=SNAP_M)
        return [self._segments[index] for index in found]


def _segments(outline: Polygon) -> list[NDArray[np.float64]]:
    rings = (outline.exterior, *outline.interiors)
    corners = [shapely.get_coordinates(ring) for ring in rings]
    return [np.stack(pair) for ring in corners for pair in pairwise(ring)]


def edges_of(outline: Polygon, served: Sequence[Served]) -> list[list[Edge]]:
    """Return the edges of every ring of an outline, walked with the bed on the left.

    Parameters
    ----------
    outline
        Counter-clockwise outline, holes clockwise.
    served
        What needs no board of this bed.
    """
    return [_ring_edges(corners(ring.coords), served)
            for ring in (outline.exterior, *outline.interiors)]


def corners(ring: Sequence[Point]) -> list[Point]:
    """Return the true corners of a closed ring, points on a straight line left out."""
    points = [(float(x), float(y)) for x, y in ring[:-1]]
    kept = [point for i, point in enumerate(points)
            if _bends(points[i - 1], point, points[(i + 1) % len(points)])]
    return kept if len(kept) >= 3 else points


def _bends(before: Point, point: Point, after: Point) -> bool:
    if math.dist(before, after) <= SNAP_M:
        return True
    line = through(before, after)
    return abs(line.left_of(point)) > SNAP_M or not 0.0 < line.station(point) < math.dist(
        before, after)


def _ring_edges(points: Sequence[Point], served: Sequence[Served]) -> list[Edge]:
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return [Edge(start, end, _free_spans(start, end, served)) for start, end in pairs]


def _free_spans(start: Point, end: Point, served: Sequence[Served]) -> tuple[Span, ...]:
    line, length_m = through(start, end), math.dist(start, end)
    covered = [span for lines in served for segment in lines.near(start, end)
               if (span := _shared(line, length_m, segment)) is not None]
    free, at = [], 0.0
    for first, last in [*sorted(covered), (length_m, length_m)]:
        if first - at > SHORTEST_RUN_M:
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
