"""Delaunay triangles between points, and the ring round them (layer: engines).

Points are swept from left to right: each is joined to the edges it sees of the ring round the
points before it, then edges are flipped until no circle through a triangle holds another point.
Points on one line have no triangle; their ring runs out and back. Public entry points:
`delaunay`, `flat_quads`.

References
----------
C. L. Lawson, 1977, Software for C1 surface interpolation, in Mathematical Software III (from
memory), for the flips. The library's own triangulation has open faults near the hull of narrow
point sets (libgeos/geos issue 1286, locationtech/jts issue 1138), and leaves no ring.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point

Triangle = tuple[int, int, int]

IN_LINE_M = 1e-11
"""A point this near the line of an edge lies on it [m]: only rounding can tell it apart."""
ON_CIRCLE_RAD = 1e-7
"""Opposite angles this near 180° together lie on one circle [rad]."""


def delaunay(points: Sequence[Point]) -> tuple[list[Triangle], list[int]]:
    """Return the Delaunay triangles of points, and the ring round them.

    Parameters
    ----------
    points
        Places [m], no two alike.

    Returns
    -------
    triangles
        Numbers of their corners, counter-clockwise; none if all points lie on one line.
    ring
        Numbers of the points on the hull, counter-clockwise, those along its edges too.

    Examples
    --------
    >>> delaunay([(0, 0), (1, 0), (0, 1), (3, 3)])
    ([(2, 0, 1), (2, 1, 3)], [0, 1, 3, 2])
    >>> delaunay([(0, 0), (2, 0), (1, 0)])
    ([], [0, 2, 1, 2])
    """
    order = sorted(range(len(points)), key=lambda number: points[number])
    mesh = _Mesh(points)
    ring = order[:1]
    for number in order[1:]:
        ring = mesh.join(ring, number)
    mesh.flip_all()
    first = ring.index(min(ring)) if ring else 0
    return mesh.triangles(), ring[first:] + ring[:first]


def flat_quads(points: Sequence[Point], triangles: Sequence[Triangle]) -> list[tuple[int, int]]:
    """Return pairs of triangles, by number, whose four corners lie on one circle.

    Both diagonals of such a quad are as good; each cell of a square grid is one. No triangle
    stands in two pairs.
    """
    sides = {(a, b): number for number, tri in enumerate(triangles) for a, b, _ in _edges_of(*tri)}
    taken: set[int] = set()
    pairs = []
    for number, triangle in enumerate(triangles):
        for a, b, c in _edges_of(*triangle):
            other = sides.get((b, a), -1)
            if other <= number or {number, other} & taken:
                continue
            (d,) = set(triangles[other]) - {a, b}
            turned = _angle(points, a, c, b) + _angle(points, b, d, a)
            if abs(turned - math.pi) <= ON_CIRCLE_RAD:
                taken |= {number, other}
                pairs.append((number, other))
    return pairs


def _edges_of(a: int, b: int, c: int) -> tuple[Triangle, Triangle, Triangle]:
    """Return each edge of a triangle with the corner that faces it."""
    return ((a, b, c), (b, c, a), (c, a, b))


def _left_m(points: Sequence[Point], a: int, b: int, c: int) -> float:
    """Return how far a point stands to the left of the line through two others [m]."""
    (ax, ay), (bx, by), (cx, cy) = points[a], points[b], points[c]
    cross = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    return cross / math.hypot(bx - ax, by - ay)


def _angle(points: Sequence[Point], a: int, c: int, b: int) -> float:
    """Return the angle at corner `c` between two others, 0 to π [rad]."""
    (ax, ay), (bx, by), (cx, cy) = points[a], points[b], points[c]
    ux, uy, vx, vy = ax - cx, ay - cy, bx - cx, by - cy
    return math.atan2(abs(ux * vy - uy * vx), ux * vx + uy * vy)


class _Mesh:
    """Triangles by their directed edges: ``facing[a, b]`` is the third corner, on the left."""

    def __init__(self, points: Sequence[Point]) -> None:
        self._points = points
        self._facing: dict[tuple[int, int], int] = {}
        farthest_m = max((abs(number) for point in points for number in point), default=0.0)
        self._in_line_m = IN_LINE_M + 8.0 * math.ulp(farthest_m)

    def triangles(self) -> list[Triangle]:
        """Return every triangle once, counter-clockwise, in the order of their corners."""
        found = [(a, b, c) for (a, b), c in self._facing.items() if b == min(a, b, c)]
        return sorted(found, key=lambda triangle: (triangle[1], triangle))

    def join(self, ring: list[int], new: int) -> list[int]:
        """Join a point to the edges of a ring that it sees, and return the ring round all."""
        ends = list(zip(ring, [*ring[1:], ring[0]], strict=True))
        seen = [a != b and _left_m(self._points, a, b, new) < -self._in_line_m for a, b in ends]
        if not any(seen):
            return self._extended(ring, new)
        starts = [i for i, here in enumerate(seen) if here and not seen[i - 1]]
        if len(starts) != 1:
            message = f"the spots near {self._points[new]} lie too close to tell apart"
            raise GeometryError(message)
        turned = ends[starts[0] :] + ends[: starts[0]]
        count = sum(seen)
        for a, b in turned[:count]:
            self._add(b, a, new)
        return [turned[0][0], new, *(a for a, _ in turned[count:])]

    def _extended(self, ring: list[int], new: int) -> list[int]:
        """Return the ring out to the end of a line of points and back."""
        if self._facing:
            message = f"the spot at {self._points[new]} lies too close to others to tell apart"
            raise GeometryError(message)
        # the points came in order along the line, so the farthest so far is half way round
        half = len(ring) // 2
        return [*ring[: half + 1], new, *ring[half:]] if len(ring) > 1 else [*ring, new]

    def flip_all(self) -> None:
        """Flip edges until every triangle is Delaunay's."""
        waiting = [edge for edge in self._facing if edge[0] < edge[1]]
        while waiting:
            a, b = waiting.pop()
            c, d = self._facing.get((a, b)), self._facing.get((b, a))
            if c is None or d is None:
                continue
            turned = _angle(self._points, a, c, b) + _angle(self._points, b, d, a)
            if turned > math.pi + ON_CIRCLE_RAD:
                self._remove(a, b, c)
                self._remove(b, a, d)
                self._add(c, d, b)
                self._add(d, c, a)
                waiting += [(a, d), (d, b), (b, c), (c, a)]

    def _add(self, a: int, b: int, c: int) -> None:
        self._facing |= {(a, b): c, (b, c): a, (c, a): b}

    def _remove(self, a: int, b: int, c: int) -> None:
        for edge in ((a, b), (b, c), (c, a)):
            del self._facing[edge]
