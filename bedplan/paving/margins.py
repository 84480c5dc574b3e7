"""How far units stay from every straight side of their ground (layer: paving engine).

A *margin* is the strip of open ground between a side and the units that face it: the first
units someone meets who walks from the side straight into the region.

Public entry point: `margins`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import FIT_M, SNAP_M
from bedplan.paving.laying import Laying

Array = npt.NDArray[np.float64]
Point = tuple[float, float]


@dataclass(frozen=True)
class Margin:
    """The open strip along one straight side.

    Parameters
    ----------
    start, end
        The side [m]; the region lies to its left.
    least_m, greatest_m
        From the side square to the nearest and to the farthest of the units that face it [m].
        Of a unit that does not lie parallel to the side its nearest point counts.
    """

    start: Point
    end: Point
    least_m: float
    greatest_m: float

    @property
    def direction_deg(self) -> float:
        """Direction of the side, 0 ≤ angle < 180 [deg]."""
        return math.degrees(math.atan2(*np.subtract(self.end, self.start)[::-1])) % 180.0


def margins(region: BaseGeometry, laying: Laying) -> tuple[Margin, ...]:
    """Return the margin at every straight side that is longer than a unit.

    Parameters
    ----------
    region
        Where the units lie [m]; sides of its holes have margins too.
    laying
        The units.

    Returns
    -------
    margins
        Ring by ring and side by side. Sides that no unit faces are left out.

    Examples
    --------
    >>> from bedplan.paving import best_shift, stack
    >>> walk = shapely.box(0, 0, 1.0, 0.5)
    >>> found = margins(walk, best_shift(walk, stack(0.3, 0.3), 0.0))
    >>> sorted(round(margin.least_m, 3) for margin in found)
    [0.05, 0.05, 0.1, 0.1]
    """
    if not laying.units:
        return ()
    longest_m = max(max(laying.bond.faces[face]) for face in set(laying.faces))
    outlines = shapely.get_coordinates(laying.outlines()).reshape(-1, 5, 2)
    ground = region.buffer(SNAP_M, join_style="mitre")
    found = []
    for start, end in straight_sides(region):
        if math.dist(start, end) > longest_m + SNAP_M:
            gaps = _gaps(ground, outlines, start, end)
            if gaps is not None:
                found.append(Margin(start, end, *gaps))
    return tuple(found)


def straight_sides(region: BaseGeometry) -> Iterator[tuple[Point, Point]]:
    """Yield every straight side of a region, the region to its left.

    Edges in one line count as one side, wherever another shape's corner has split them.
    """
    for part in shapely.get_parts(region):
        for ring in shapely.get_rings(shapely.orient_polygons(part)):
            corners = _true_corners(shapely.get_coordinates(ring)[:-1])
            ends = [*corners[1:], *corners[:1]]
            yield from zip(corners, ends, strict=True)


def _true_corners(points: Array) -> list[Point]:
    """Return the points of a ring at which it bends."""
    run = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    off = points - np.roll(points, 1, axis=0)
    aside = np.abs(run[:, 0] * off[:, 1] - run[:, 1] * off[:, 0])
    kept = points[aside > FIT_M * np.hypot(run[:, 0], run[:, 1])]
    return [(x, y) for x, y in kept.tolist()]


def _gaps(
    ground: BaseGeometry, outlines: Array, start: Point, end: Point
) -> tuple[float, float] | None:
    """Return the least and the greatest gap from a side to the units that face it [m]."""
    along = np.subtract(end, start) / math.dist(start, end)
    frame = np.column_stack((along, (-along[1], along[0])))
    in_front = shapely.polygons((outlines - start) @ frame)
    strip = shapely.box(0.0, 0.0, math.dist(start, end), 1e6)
    near = in_front[shapely.intersects(in_front, strip)]
    seen = shapely.intersection(near, strip)
    area = shapely.area(seen) > SNAP_M**2
    turned = shapely.transform(ground, lambda points: (points - start) @ frame)
    gaps = list(_facing(turned, near[area], seen[area]))
    if not gaps:
        return None
    return max(gaps[0][0], 0.0), max(max((gap for gap, half in gaps if half), default=0), 0.0)


def _facing(
    ground: BaseGeometry, units: Sequence[BaseGeometry], seen: Sequence[BaseGeometry]
) -> Iterator[tuple[float, bool]]:
    """Yield the gap of each unit that faces the x axis, nearest first.

    Beside it stands whether at least half of the unit's shadow on the axis is its own; else it
    is only glimpsed through a joint or round a corner.
    """
    bounds, whole = shapely.bounds(seen), shapely.bounds(units)
    covered: list[tuple[float, float]] = []
    for number in np.argsort(bounds[:, 1], kind="stable").tolist():
        left, gap, right, _ = bounds[number].tolist()
        own = right - left - _shared(covered, left, right)
        if own <= SNAP_M or not _in_sight(ground, seen[number], gap):
            continue
        covered.append((left, right))
        nearest = len(covered) == 1
        yield gap, nearest or own >= 0.5 * float(whole[number, 2] - whole[number, 0])


def _shared(covered: Sequence[tuple[float, float]], left: float, right: float) -> float:
    """Return how much of a stretch others cover, each piece once [m]."""
    reach, shared = left, 0.0
    for begin, end in sorted(covered):
        if end > reach and begin < right:
            shared += min(end, right) - max(begin, reach)
            reach = min(end, right)
    return shared


def _in_sight(ground: BaseGeometry, unit: BaseGeometry, gap: float) -> bool:
    """Tell whether nothing but open ground lies between a unit's lowest point and the axis."""
    corners = shapely.get_coordinates(unit)
    x = float(np.mean(np.unique(corners[corners[:, 1] <= gap + FIT_M, 0])))
    return gap <= SNAP_M or bool(ground.covers(LineString([(x, 0.0), (x, gap)])))
