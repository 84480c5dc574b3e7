"""The ground under an outline, cut into triangles on which its height is linear (layer: engines).

Each triangle of the surface is cut by each triangle of the outline, both convex, so no overlay of
whole shapes is needed and nothing is lost but rounding. A sum over a patch is then exact: the
integral of a linear function over a triangle is its area times the mean of its corners. Public
entry points: `patch_of`, `Patch`.

References
----------
I. E. Sutherland and G. W. Hodgman, 1974, Commun. ACM 17 (from memory), for the cut of a convex
figure by one line after another; integrals over a triangle are first principles.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.polygons import parts
from bedplan.geometry.tolerance import AREA_M2, GRID_M
from bedplan.ground.surface import Surface

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Patch:
    """The ground under one outline.

    Parameters
    ----------
    corners
        ``(n, 3, 3)``: triangle, corner, then x, y and height [m]. The triangles tile the
        outline.
    """

    corners: Array

    @cached_property
    def areas_m2(self) -> Array:
        """Area of each triangle, ``(n,)`` [m^2]."""
        return np.abs(_crosses(self.corners)) / 2.0

    @cached_property
    def area_m2(self) -> float:
        """Area of the outline [m^2]."""
        return float(self.areas_m2.sum())

    @property
    def places(self) -> Array:
        """Places of the corners, ``(n, 3, 2)`` [m]."""
        return self.corners[:, :, :2]

    @property
    def heights(self) -> Array:
        """Heights of the corners, ``(n, 3)`` [m]."""
        return self.corners[:, :, 2]

    def integral(self, values: Array) -> float:
        """Return the integral over the patch of what is linear on each triangle.

        Parameters
        ----------
        values
            ``(n, 3)`` values at the corners.
        """
        return float(self.areas_m2 @ values.mean(axis=1))

    def product_integral(self, a: Array, b: Array) -> float:
        """Return the integral of the product of two functions linear on each triangle.

        Parameters
        ----------
        a, b
            ``(n, 3)`` values at the corners.
        """
        sums = a.sum(axis=1) * b.sum(axis=1) + (a * b).sum(axis=1)
        return float(self.areas_m2 @ sums) / 12.0

    @cached_property
    def mean_m(self) -> float:
        """Mean height of the ground [m]; 0 for a patch with no ground."""
        return self.integral(self.heights) / self.area_m2 if self.area_m2 else 0.0

    @cached_property
    def middle(self) -> tuple[float, float]:
        """Middle of the outline, the centre of its area [m]."""
        x, y = (self.integral(self.places[:, :, axis]) / self.area_m2 for axis in (0, 1))
        return (x, y)


def patch_of(surface: Surface, outline: BaseGeometry) -> Patch:
    """Return the ground under an outline.

    Parameters
    ----------
    surface
        The ground.
    outline
        Polygon or multipolygon [m], convex or not, holes allowed.

    Raises
    ------
    GeometryError
        If the outline is no valid area or reaches beyond the ground.

    Examples
    --------
    >>> from bedplan.ground.surface import surface_of
    >>> yard = shapely.box(0, 0, 4, 3)
    >>> ground = surface_of([(0, 0, 1), (4, 0, 1), (4, 3, 2), (0, 3, 2)], yard)
    >>> patch = patch_of(ground, shapely.box(1, 0, 3, 1.5))
    >>> round(patch.area_m2, 9), round(patch.mean_m, 9)
    (3.0, 1.25)
    """
    tiles = _tiles(outline)
    tile, triangle = surface.tree.query(shapely.polygons(tiles), predicate="intersects")
    cut = _fans(_clip(surface.corners[triangle], tiles[tile]))
    patch = Patch(cut[np.abs(_crosses(cut)) > 0.0])
    lost = float(outline.area) - patch.area_m2
    if abs(lost) > AREA_M2 + 1e-9 * float(outline.area):
        message = f"{lost:.6g} m² of an outline of {outline.area:.6g} m² lie beyond the ground"
        raise GeometryError(message)
    return patch


def _tiles(outline: BaseGeometry) -> Array:
    """Return triangles that tile an outline, ``(n, 3, 2)``, counter-clockwise."""
    if outline.geom_type not in ("Polygon", "MultiPolygon") or not outline.is_valid:
        message = f"an outline must be a valid area: {shapely.is_valid_reason(outline)}"
        raise GeometryError(message)
    split = shapely.constrained_delaunay_triangles(np.array(parts(outline), dtype=object))
    rings = shapely.get_coordinates(shapely.get_parts(split)).reshape(-1, 4, 2)[:, :3]
    twice = _crosses(rings)
    rings[twice < 0.0] = rings[twice < 0.0][:, ::-1]
    # the edges of a tile thinner than the grid point anywhere, and would cut far off the mark
    longest = np.hypot(*np.moveaxis(np.roll(rings, -1, axis=1) - rings, 2, 0)).max(axis=1)
    return np.asarray(rings[np.abs(twice) > GRID_M * longest], dtype=float)


def _crosses(corners: Array) -> Array:
    """Return twice the area of triangles ``(n, 3, ≥ 2)``, negative if clockwise [m^2]."""
    u, v = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
    twice: Array = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return twice


def _clip(figures: Array, tiles: Array) -> Array:
    """Return convex figures ``(n, k, 3)`` cut each by a triangle ``(n, 3, 2)``.

    Shorter figures repeat their last corner; figures with nothing left are dropped.
    """
    for edge in range(3):
        figures, left = _cut(figures, tiles[:, edge], tiles[:, (edge + 1) % 3])
        tiles = tiles[left]
    return figures


def _cut(figures: Array, start: Array, end: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Return what lies left of the line from `start` to `end`, and which figures have any."""
    along, away = (end - start)[:, None, :], figures[:, :, :2] - start[:, None, :]
    side = along[..., 0] * away[..., 1] - along[..., 1] * away[..., 0]
    after, side_after = np.roll(figures, -1, axis=1), np.roll(side, -1, axis=1)
    crossed = side * side_after < 0.0
    share = side / np.where(crossed, side - side_after, 1.0)
    # every corner may stay and every edge may give a crossing: two places for each, then packed
    slots = 2 * figures.shape[1]
    filled = np.stack([side >= 0.0, crossed], axis=2).reshape(-1, slots)
    spots = np.stack([figures, figures + share[..., None] * (after - figures)], axis=2)
    spots = spots.reshape(-1, slots, 3)
    count = filled.sum(axis=1)
    left: npt.NDArray[np.bool_] = count >= 3
    order = np.argsort(~filled[left], axis=1, kind="stable")[:, : count.max(initial=3)]
    last = np.minimum(np.arange(order.shape[1]), count[left][:, None] - 1)
    packed = np.take_along_axis(order, last, axis=1)
    return np.take_along_axis(spots[left], packed[..., None], axis=1), left


def _fans(figures: Array) -> Array:
    """Return convex figures ``(n, k, 3)`` as triangles from their first corner."""
    count = figures.shape[1]
    fans = [figures[:, [0, i, i + 1]] for i in range(1, count - 1)]
    return np.concatenate(fans) if fans else figures[:0]
