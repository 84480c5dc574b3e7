"""Ground as triangles between spot heights (layer: engines).

Between spots the ground is the flat triangle of three of them; where four lie on one circle, as
in a square grid, it is the mean of the two ways to split the four, so that each grid cell holds
its area times the mean of its corners. Beyond the outermost spots no ground was measured: a
place there takes the height of the nearest place of the measured ground, so heights run on level,
square to its edge. One spot is level ground; two, or several in line, give ground that slopes
between them and is level across. Public entry points: `surface_of`, `Surface`.

References
----------
The two splits of a grid cell: their mean is the unit-area (borrow-pit) method, P. R. Wolf and
C. D. Ghilani, Elementary Surveying (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import LayoutError
from bedplan.geometry.lines import Point
from bedplan.geometry.polygons import minus, union
from bedplan.ground.spots import BEYOND_M, PlacedSpot, merged, spot_faults
from bedplan.ground.triangles import Triangle, delaunay, flat_quads

Array = npt.NDArray[np.float64]
Corner = tuple[float, float, float]

WIDEST_RAD = math.pi / 3
"""Widest fan of ground that runs on from one spot as one triangle [rad]."""


@dataclass(frozen=True, eq=False)
class Surface:
    """The ground as a sheet of triangles that reaches well beyond the fence.

    Parameters
    ----------
    corners
        ``(n, 3, 3)``: triangle, corner counter-clockwise, then x, y and height [m].
    measured
        How many of them, the first, lie between spots; the others run on beyond the spots.
    fence
        Ground inside the fence.
    extrapolated
        Ground inside the fence that no triangle of spots holds: beyond the outermost spots, or
        under a triangle that leaves the fence by more than `BEYOND_M`.
    """

    corners: Array
    measured: int
    fence: Polygon
    extrapolated: BaseGeometry

    @property
    def triangles(self) -> Array:
        """Places of the triangles' corners, ``(n, 3, 2)`` [m]."""
        return self.corners[:, :, :2]

    @property
    def heights(self) -> Array:
        """Heights of the triangles' corners, ``(n, 3)`` [m]."""
        return self.corners[:, :, 2]

    @cached_property
    def tree(self) -> shapely.STRtree:
        """Search tree of the triangles, by number."""
        return shapely.STRtree(shapely.polygons(self.triangles))

    def heights_at(self, points: Sequence[Point] | Array) -> Array:
        """Return the height of the ground at each place, ``(n,)`` [m].

        Parameters
        ----------
        points
            ``(n, 2)`` places [m].
        """
        places = np.asarray(points, dtype=float).reshape(-1, 2)
        asked, number = self.tree.query_nearest(shapely.points(places), all_matches=False)
        corners = self.corners[number[np.argsort(asked)]]
        # each weight is the area of the triangle that the place makes with the facing edge
        facing = np.roll(corners, -1, axis=1)[:, :, :2], np.roll(corners, -2, axis=1)[:, :, :2]
        a, b = (edge - places[:, None, :] for edge in facing)
        weights = np.maximum(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], 0.0)
        total: Array = np.sum(weights * corners[:, :, 2], axis=1) / np.sum(weights, axis=1)
        return total


def surface_of(spots: Sequence[PlacedSpot], fence: Polygon) -> Surface:
    """Return the ground between spot heights, and beyond them as far as any outline may reach.

    Parameters
    ----------
    spots
        Places and heights [m]; spots alike count once. None means level ground at height 0.
    fence
        Ground inside the fence.

    Raises
    ------
    LayoutError
        With every fault: a spot far outside the fence, two heights at one place, no number.

    Examples
    --------
    >>> ground = surface_of([(0, 0, 1.0), (10, 0, 2.0)], shapely.box(0, 0, 10, 8))
    >>> ground.heights_at([(5, 0), (2, 7)]).round(6).tolist()
    [1.5, 1.2]
    """
    faults = spot_faults(spots, fence)
    if faults:
        raise LayoutError(faults)
    kept = merged(spots) or [(*fence.centroid.coords[0], 0.0)]
    triangles, ring = delaunay([(x, y) for x, y, _ in kept])
    inner = _inner(kept, triangles)
    box = shapely.MultiPoint([*fence.exterior.coords, *(spot[:2] for spot in kept)]).bounds
    reach_m = 3.0 * math.dist(box[:2], box[2:])
    outer = list(_outer([kept[number] for number in ring], reach_m))
    corners = np.array([*inner, *outer], dtype=float)
    return Surface(corners, len(inner), fence, _extrapolated(inner, fence))


def _inner(spots: Sequence[PlacedSpot], triangles: Sequence[Triangle]) -> list[list[Corner]]:
    """Return the triangles between spots, two on one circle as the four of their mean."""
    quads = flat_quads([(x, y) for x, y, _ in spots], triangles)
    paired = {number for pair in quads for number in pair}
    plain = [
        [spots[corner] for corner in triangle]
        for number, triangle in enumerate(triangles)
        if number not in paired
    ]
    split = (_mean_split(spots, triangles[one], triangles[other]) for one, other in quads)
    return [*plain, *(triangle for four in split for triangle in four)]


def _mean_split(spots: Sequence[PlacedSpot], one: Triangle, other: Triangle) -> list[list[Corner]]:
    """Return four triangles round the crossing of a quad's diagonals, at their mean height."""
    (apex,) = set(one) - set(other)
    (facing,) = set(other) - set(one)
    first = one.index(apex)
    ring = [apex, one[(first + 1) % 3], facing, one[(first + 2) % 3]]
    a, b, c, d = (np.array(spots[number]) for number in ring)
    along, across = c - a, d - b
    width = along[0] * across[1] - along[1] * across[0]
    share = ((b[0] - a[0]) * across[1] - (b[1] - a[1]) * across[0]) / width
    aside = ((b[0] - a[0]) * along[1] - (b[1] - a[1]) * along[0]) / width
    x, y, z = a + share * along
    middle = (float(x), float(y), float(z + b[2] + aside * across[2]) / 2)
    corners = [spots[number] for number in ring]
    return [
        [start, end, middle]
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True)
    ]


def _outer(ring: Sequence[PlacedSpot], reach_m: float) -> Iterator[list[Corner]]:
    """Yield triangles that carry the edge of the measured ground outward at its own height."""
    if len(ring) == 1:
        yield from _fan(ring[0], 0.0, math.tau, reach_m)
        return
    edges = list(zip(ring, [*ring[1:], ring[0]], strict=True))
    outward = [math.atan2(a[0] - b[0], b[1] - a[1]) for a, b in edges]
    for (a, b), turn in zip(edges, outward, strict=True):
        far_a, far_b = _carried(a, turn, reach_m), _carried(b, turn, reach_m)
        yield from ([a, far_a, far_b], [a, far_b, b])
    for spot, before, after in zip(ring, outward[-1:] + outward[:-1], outward, strict=True):
        wide = (after - before) % math.tau
        # round a hull each turn is at most half a circle; nearly a whole one is rounding
        if wide < 1.5 * math.pi:
            yield from _fan(spot, before, wide, reach_m)


def _fan(spot: PlacedSpot, start: float, wide: float, reach_m: float) -> Iterator[list[Corner]]:
    """Yield level triangles from one spot outward, between two rays."""
    count = math.ceil(wide / WIDEST_RAD)
    for i in range(count):
        rays = (start + wide * i / count, start + wide * (i + 1) / count)
        yield [spot, *(_carried(spot, ray, reach_m) for ray in rays)]


def _carried(spot: PlacedSpot, turn: float, reach_m: float) -> Corner:
    x, y, z = spot
    return (x + reach_m * math.cos(turn), y + reach_m * math.sin(turn), z)


def _extrapolated(inner: Sequence[Sequence[Corner]], fence: Polygon) -> BaseGeometry:
    """Return ground inside the fence that no triangle holds which keeps near the fence."""
    if not inner:
        return fence
    sheet = shapely.polygons(np.array(inner, dtype=float)[:, :, :2])
    near = fence.buffer(1.01 * BEYOND_M)  # the round corners are facets, a little inside
    shapely.prepare(near)
    holding = [triangle for triangle in sheet if near.covers(triangle)]
    return minus(fence, union(holding)) if holding else fence
