"""Areas cut, joined and inset, with the pitfalls of overlays met in one place (layer: geometry).

Every overlay runs on the grid of `tolerance.GRID_M`; every result is returned as a list of
plain polygons or as one valid shape, slivers under `tolerance.AREA_M2` dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import AREA_M2, GRID_M

EMPTY = Polygon()
"""The shape with no area."""


def parts(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of any shape, largest first; lines, points and slivers are dropped."""
    pieces = [
        piece
        for piece in shapely.get_parts(shapely.get_parts(shape))
        if piece.geom_type == "Polygon" and piece.area > AREA_M2
    ]
    return sorted(pieces, key=lambda piece: -piece.area)


def as_area(shape: BaseGeometry) -> BaseGeometry:
    """Return only the areal part of a shape: a polygon, a multipolygon, or `EMPTY`."""
    pieces = parts(shape)
    if len(pieces) == 1:
        return pieces[0]
    return MultiPolygon(pieces) if pieces else EMPTY


def union(shapes: Iterable[BaseGeometry]) -> BaseGeometry:
    """Return all the ground that any of the shapes covers."""
    return as_area(shapely.union_all(list(shapes), grid_size=GRID_M))


def minus(shape: BaseGeometry, *taken: BaseGeometry) -> BaseGeometry:
    """Return what is left of a shape after others are taken away."""
    return as_area(shapely.difference(shape, union(taken), grid_size=GRID_M))


def common(a: BaseGeometry, b: BaseGeometry) -> BaseGeometry:
    """Return the ground that both shapes cover."""
    return as_area(shapely.intersection(a, b, grid_size=GRID_M))


def overlap_m2(a: BaseGeometry, b: BaseGeometry) -> float:
    """Return the area two shapes share [m^2]."""
    return float(common(a, b).area)


def touching(outlines: Sequence[Polygon], within_m: float) -> list[list[int]]:
    """Return, for every outline, the numbers of the others within a distance, in order.

    A search tree keeps this near linear in the number of outlines.
    """
    near: list[list[int]] = [[] for _ in outlines]
    if len(outlines) > 1:
        pairs = shapely.STRtree(outlines).query(outlines, predicate="dwithin", distance=within_m)
        for one, other in sorted(zip(*pairs.tolist(), strict=True)):
            if one != other:
                near[one].append(other)
    return near


def inset(shape: BaseGeometry, distance_m: float, mitre_limit: float = 5.0) -> BaseGeometry:
    """Return the ground at least `distance_m` inside the edge, corners kept sharp.

    Parameters
    ----------
    shape
        Polygon or multipolygon, holes allowed.
    distance_m
        Width of the margin to take off [m], > 0.
    mitre_limit
        How far a sharp corner may reach, in multiples of the distance.

    Returns
    -------
    inner
        Polygon, multipolygon, or `EMPTY` where nothing is left.

    Notes
    -----
    A mitred negative buffer can lose a good part of a polygon (GEOS issue 1047). An inset must
    lie within the shape and within its round inset; where it does not, the round inset, which
    differs only at reflex corners and is never larger than the truth, is returned.
    """
    mitred = as_area(shape.buffer(-distance_m, join_style="mitre", mitre_limit=mitre_limit))
    rounded = as_area(shape.buffer(-distance_m, join_style="round", quad_segs=16))
    lost = rounded.area - common(rounded, mitred).area
    strayed = mitred.area - common(mitred, shape).area
    corner_m2 = distance_m**2 * len(shapely.get_coordinates(shape))
    return mitred if strayed <= AREA_M2 and lost <= corner_m2 else rounded


def ring_polygon(points: Sequence[tuple[float, float]], name: str) -> Polygon:
    """Return the polygon through corner points, counter-clockwise.

    Parameters
    ----------
    points
        ``(n, 2)`` corners [m] in order round the shape, either way, first not repeated.
    name
        What the shape is, for the message.

    Raises
    ------
    GeometryError
        If the ring has fewer than three corners, crosses itself or encloses no area.
    """
    if len(points) < 3:
        message = f"{name} has {len(points)} corners; a shape needs at least three"
        raise GeometryError(message)
    polygon = Polygon(points)
    if not polygon.is_valid:
        reason = shapely.is_valid_reason(polygon)
        message = f"{name} crosses or touches itself ({reason})"
        raise GeometryError(message)
    if polygon.area <= AREA_M2:
        message = f"{name} encloses no ground"
        raise GeometryError(message)
    return polygon if polygon.exterior.is_ccw else Polygon(points[::-1])


def circle(center: tuple[float, float], radius_m: float, sagitta_m: float = 2.5e-4) -> Polygon:
    """Return a circle as the regular polygon of equal area, to a stated closeness.

    Parameters
    ----------
    center
        ``(2,)`` centre [m].
    radius_m
        Radius [m], > 0.
    sagitta_m
        Greatest distance between a facet and the arc [m]; the default, a quarter of a
        millimetre, is below what a tape shows.

    Notes
    -----
    Equal area, because the circle is drawn to measure mulch: ``A = n r² sin(2π/n)/2 = π R²``.
    """
    half_angle = np.arccos(max(0.0, 1.0 - min(sagitta_m, radius_m) / radius_m))
    count = max(24, int(np.ceil(np.pi / max(half_angle, 1e-6))))
    scale = np.sqrt(2.0 * np.pi / (count * np.sin(2.0 * np.pi / count)))
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    reach = radius_m * scale
    return Polygon(
        np.column_stack((center[0] + reach * np.cos(turn), center[1] + reach * np.sin(turn)))
    )
