"""Where a convex shape fits inside a region: erosion and its reverse, dilation (layer: geometry).

The *kernel* is a convex polygon given by its corners round a reference point, the origin.
Eroding a region by it leaves every place where the reference may stand with the whole kernel
inside the region; dilating gives all the ground the kernel sweeps with its reference inside.
The entry points are `erode` and `dilate`; both are exact up to the grid of the overlays.

References
----------
The kernel meets the outside of a region just when its reference lies in the Minkowski sum of
the outside and the mirrored kernel (J. Serra, Image Analysis and Mathematical Morphology,
1982, from memory). For a connected kernel that holds its reference, only the sum with the
boundary matters, and the sum of one straight edge and a convex polygon is the convex hull of
the polygon set at both ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.polygons import EMPTY
from bedplan.geometry.tolerance import GRID_M

Array = npt.NDArray[np.float64]


def rectangle_kernel(length_m: float, width_m: float) -> Array:
    """Return the corners of an upright rectangle round its centre, counter-clockwise [m].

    Returns
    -------
    corners
        ``(4, 2)`` corners, length along x.
    """
    return 0.5 * np.array(
        [[-length_m, -width_m], [length_m, -width_m], [length_m, width_m], [-length_m, width_m]]
    )


def disc_kernel(radius_m: float, *, outer: bool, corners: int = 32) -> Array:
    """Return a regular polygon just outside or just inside a circle, round its centre [m].

    Parameters
    ----------
    radius_m
        Radius of the circle [m], > 0.
    outer
        True: the sides touch the circle from outside; False: the corners lie on it.
    corners
        How many, ≥ 3; 32 comes within 0.5 % of the radius.
    """
    reach = radius_m / math.cos(math.pi / corners) if outer else radius_m
    turn = np.arange(corners) * (2.0 * math.pi / corners)
    return np.column_stack((reach * np.cos(turn), reach * np.sin(turn)))


def erode(region: BaseGeometry, kernel: Array) -> BaseGeometry:
    """Return every point that a kernel can stand on and lie wholly in the region.

    Parameters
    ----------
    region
        Valid polygon or multipolygon [m]; holes and re-entrant corners allowed.
    kernel
        ``(k, 2)`` corners of a convex polygon that holds the origin [m].

    Returns
    -------
    places
        Polygon, multipolygon or `EMPTY`. Slivers are kept, however thin: the places of a unit
        that just fits are a sliver.

    Raises
    ------
    GeometryError
        If the region is no valid area, or the origin lies outside the kernel.

    Examples
    --------
    >>> yard = shapely.box(0, 0, 4, 3)
    >>> erode(yard, rectangle_kernel(2, 1)).bounds
    (1.0, 0.5, 3.0, 2.5)
    >>> erode(yard, rectangle_kernel(5, 1)).is_empty
    True
    """
    _check(region, kernel)
    if region.is_empty:
        return EMPTY
    blocked = shapely.union_all(_blocked(region, -kernel), grid_size=GRID_M)
    return _areas(shapely.difference(region, blocked, grid_size=GRID_M))


def dilate(region: BaseGeometry, kernel: Array) -> BaseGeometry:
    """Return all the ground a kernel covers while its origin moves over the region.

    Parameters
    ----------
    region, kernel
        As for `erode`.

    Examples
    --------
    >>> dilate(shapely.box(0, 0, 1, 1), rectangle_kernel(2, 1)).bounds
    (-1.0, -0.5, 2.0, 1.5)
    """
    _check(region, kernel)
    if region.is_empty:
        return EMPTY
    rings = shapely.get_rings(shapely.get_parts(region))
    return _areas(shapely.union_all([region, *_swept(rings, kernel)], grid_size=GRID_M))


def _check(region: BaseGeometry, kernel: Array) -> None:
    if region.geom_type not in ("Polygon", "MultiPolygon"):
        message = f"a region must be a polygon or several, not a {region.geom_type}"
        raise GeometryError(message)
    if not region.is_valid:
        message = f"the region is not a valid area: {shapely.is_valid_reason(region)}"
        raise GeometryError(message)
    after = np.roll(kernel, -1, axis=0)
    if np.min(kernel[:, 0] * after[:, 1] - kernel[:, 1] * after[:, 0]) < 0:
        message = "a kernel must run counter-clockwise round its reference point"
        raise GeometryError(message)


def _blocked(region: BaseGeometry, kernel: Array) -> list[BaseGeometry]:
    """Return shapes that cover every place near the boundary where a mirrored kernel meets it.

    A convex hole needs one hull in place of one per edge, for what it holds is outside anyway.
    """
    parts = shapely.get_parts(region)
    holes = [ring for part in parts for ring in part.interiors]
    convex = [shapely.get_coordinates(ring)[None, :-1] for ring in holes if _is_convex(ring)]
    others = [ring for ring in holes if not _is_convex(ring)]
    return [
        *_swept([*(part.exterior for part in parts), *others], kernel),
        *(_hulls(corners, kernel)[0] for corners in convex),
    ]


def _swept(rings: Iterable[BaseGeometry], kernel: Array) -> list[BaseGeometry]:
    """Return shapes whose union is the kernel swept along rings, one per edge."""
    return list(_hulls(np.concatenate([_edges(ring) for ring in rings]), kernel))


def _edges(ring: BaseGeometry) -> Array:
    """Return the edges of a ring, ``(n, 2, 2)``: edge, end, coordinate."""
    corners = shapely.get_coordinates(ring)
    return np.stack([corners[:-1], corners[1:]], axis=1)


def _is_convex(ring: BaseGeometry) -> bool:
    hole = Polygon(ring)
    return bool(hole.convex_hull.area - hole.area <= GRID_M * hole.length)


def _hulls(corner_sets: Array, kernel: Array) -> npt.NDArray[np.object_]:
    """Return the hull of the kernel set at each corner of each set, ``(n, m, 2)`` in."""
    sums = (corner_sets[:, :, None, :] + kernel[None, None]).reshape(len(corner_sets), -1, 2)
    hulls: npt.NDArray[np.object_] = shapely.convex_hull(shapely.linestrings(sums))
    return hulls


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """Return the polygons of an overlay's result, lines and points dropped, slivers kept."""
    pieces = [
        piece
        for piece in shapely.get_parts(shapely.get_parts(shape))
        if piece.geom_type == "Polygon" and piece.area > 0.0
    ]
    if len(pieces) == 1:
        return pieces[0]
    return MultiPolygon(pieces) if pieces else EMPTY
