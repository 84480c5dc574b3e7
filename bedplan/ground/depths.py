"""Formation, digging and depth of base under a path (layer: engines).

From the top down a path is units, bedding and base. Its formation is dug either parallel to the
finish, every layer then of one depth, or level, the base then making up the fall. Public entry
points: `dig_path`, `depths_between`, `formation_under`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point
from bedplan.geometry.polygons import parts
from bedplan.ground.earthwork import Earthwork, work_on
from bedplan.ground.patch import Patch
from bedplan.ground.plane import Plane, level
from bedplan.model.ground import Dug


@dataclass(frozen=True)
class Depths:
    """Depth of a layer that need not be even: extremes and where [m], mean [m], volume [m^3]."""

    least_m: float
    greatest_m: float
    mean_m: float
    volume_m3: float
    least_at: Point
    greatest_at: Point


@dataclass(frozen=True)
class PathDig:
    """The digging of one path.

    Parameters
    ----------
    finish, formation
        Top of the units, and the dug surface.
    work
        Cut down to the formation. Its fill is ground that lies too low and is made up first.
    base
        Depth of the lowest layer.
    surface_work
        Ground above the finish (cut) and below it (fill): where the path lies in a dip, and
        where it stands proud.
    """

    finish: Plane
    formation: Plane
    work: Earthwork
    base: Depths
    surface_work: Earthwork


def formation_under(
    finish: Plane, outline: BaseGeometry, depth_m: float, dug: Dug = "parallel"
) -> Plane:
    """Return the formation of a path.

    Parameters
    ----------
    finish
        Top of the units.
    outline
        The path, or its base where that is wider; walks apart from one another are dug level
        each by itself, so they come here one by one.
    depth_m
        Units and all layers together [m]; where dug level, the least of it.
    dug
        ``parallel`` to the finish, or ``level``.

    Raises
    ------
    GeometryError
        If the outline has no ground.

    Examples
    --------
    >>> from bedplan.ground.plane import falling
    >>> finish = falling((0, 0), 0.0, toward_deg=0.0, slope=0.02)
    >>> round(formation_under(finish, shapely.box(0, 0, 5, 1), 0.2, "level").height_m, 9)
    -0.3
    """
    if dug == "parallel":
        return finish.raised(-depth_m)
    return level(float(finish.heights_at(_corners(outline)).min()) - depth_m)


def depths_between(top: Plane, bottom: Plane, outline: BaseGeometry) -> Depths:
    """Return the depth of what lies between two planes within an outline.

    Parameters
    ----------
    top, bottom
        Planes; where the bottom stands above the top the depth is negative, and counted so.
    outline
        Polygon or multipolygon [m].

    Raises
    ------
    GeometryError
        If the outline has no ground.
    """
    corners = _corners(outline)
    depths = top.heights_at(corners) - bottom.heights_at(corners)
    low, high = int(depths.argmin()), int(depths.argmax())
    # linear over the outline, so its mean is its value at the centre of area
    middle = (float(outline.centroid.x), float(outline.centroid.y))
    mean_m = top.height_at(middle) - bottom.height_at(middle)
    places = [(float(x), float(y)) for x, y in corners[[low, high]]]
    return Depths(float(depths[low]), float(depths[high]), mean_m, mean_m * outline.area, *places)


def dig_path(
    patch: Patch, outline: BaseGeometry, finish: Plane, depths_m: tuple[float, float], dug: Dug
) -> PathDig:
    """Return formation, digging and base of a path.

    Parameters
    ----------
    patch
        The ground under the outline.
    outline
        The path.
    finish
        Top of the units.
    depths_m
        Depth of the base, the lowest layer, and of all above it, units too [m].
    dug
        How the formation lies; where ``level``, the base is nowhere less than its depth.

    Raises
    ------
    GeometryError
        If the outline has no ground.
    """
    base_m, above_m = depths_m
    formation = formation_under(finish, outline, base_m + above_m, dug)
    return PathDig(
        finish,
        formation,
        work_on(patch, formation),
        depths_between(finish.raised(-above_m), formation, outline),
        work_on(patch, finish),
    )


def _corners(outline: BaseGeometry) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    corners = shapely.get_coordinates(parts(outline))
    if not len(corners):
        message = "there is no ground inside the outline"
        raise GeometryError(message)
    return np.asarray(corners, dtype=float)
