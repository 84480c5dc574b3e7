"""How many whole units a region could hold at the very most (layer: paving engine).

The bound holds for any layout at all, each unit at its own angle, in no pattern. It is area by
area: only ground that some unit could reach counts, and every unit uses up its own face and
half of the joint around it.

Public entry point: `upper_bound`.
"""

from __future__ import annotations

import math

from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.erosion import dilate, disc_kernel, erode
from bedplan.geometry.polygons import common, parts
from bedplan.geometry.tolerance import FIT_M

_CORNERS = 16
"""Sides of the polygons that stand for discs: within 2 % of the radius."""


def upper_bound(region: BaseGeometry, length_m: float, width_m: float, joint_m: float) -> int:
    """Return a number of units that no layout in the region can exceed.

    Parameters
    ----------
    region
        Where units may lie [m].
    length_m, width_m
        Face of the unit [m], > 0.
    joint_m
        Least gap between units [m], ≥ 0.

    Returns
    -------
    most
        Whole number, ≥ 0; rounded down after every figure was rounded in favour of the units.

    Raises
    ------
    GeometryError
        If the region is no valid area, or the unit has no face.

    Notes
    -----
    1. A unit holds a disc as wide as its short side, so its centre lies in the region eroded
       by that disc.
    2. It lies within half a diagonal of its centre, so all units lie in the region within that
       distance of those places (nearly its opening). Each connected piece is bounded alone.
    3. Units a joint apart, each grown by half a joint, do not overlap. Grown so, one covers
       ``l w + j (l + w) + π j²/4`` (Steiner's formula for a convex body) of the piece grown by
       half a joint.

    Discs are polygons of 16 sides, inside or outside the circle, whichever allows more units.
    Units are taken smaller by twice `FIT_M` on every side, as far as `best_shift` lets them
    press into the edge.

    Examples
    --------
    >>> import shapely
    >>> upper_bound(shapely.box(0, 0, 4.0, 1.0), 0.5, 0.5, 0.0)
    16
    """
    if not (0.0 < length_m < math.inf and 0.0 < width_m < math.inf and joint_m >= 0.0):
        message = f"no unit of {length_m} by {width_m} m with a joint of {joint_m} m"
        raise GeometryError(message)
    length_m, width_m = (max(side - 4.0 * FIT_M, FIT_M) for side in (length_m, width_m))
    centres = erode(
        region, disc_kernel(0.5 * min(length_m, width_m), outer=False, corners=_CORNERS)
    )
    reach = disc_kernel(0.5 * math.hypot(length_m, width_m), outer=True, corners=_CORNERS)
    used_m2 = length_m * width_m + joint_m * (length_m + width_m) + 0.25 * math.pi * joint_m**2
    return sum(
        math.floor(_grown_area_m2(piece, joint_m) / used_m2 + FIT_M)
        for piece in parts(common(dilate(centres, reach), region))
    )


def _grown_area_m2(piece: BaseGeometry, joint_m: float) -> float:
    """Return the area of a piece grown by half a joint [m^2]."""
    if joint_m == 0.0:
        return float(piece.area)
    return float(dilate(piece, disc_kernel(0.5 * joint_m, outer=True, corners=_CORNERS)).area)
