"""Where a finish is best laid: cut to make fill, above all ground, least dug (layer: engines).

The height that balances a given fall is exact, for cut less fill is the integral of ground less
plane. Public entry points: `finish_plane`, `balanced`, `clear_of`, `best_fit`, `least_fall`.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point
from bedplan.geometry.tolerance import AREA_M2
from bedplan.ground.earthwork import work_on
from bedplan.ground.patch import Patch
from bedplan.ground.plane import Plane, falling, level
from bedplan.model.ground import Grade

HEIGHT_M = 1e-9
"""How near a height is sought [m]."""
TURN_DEG = 1e-3
"""How near the direction of least digging is sought [deg]."""
STEP_DEG = 5.0
"""Directions tried before the best is refined [deg]."""
GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


def finish_plane(
    patch: Patch, grade: Grade, at: Point | None = None, toward_deg: float | None = None
) -> Plane:
    """Return the finish that a layout asks for on one path.

    Parameters
    ----------
    patch
        The ground under the path.
    grade
        What is asked.
    at
        Where the grade's place is [m]; None for the middle of the path.
    toward_deg
        Where the direction of its fall is [deg]; None for level.

    Raises
    ------
    GeometryError
        If the patch has no ground.
    """
    _check(patch)
    slope = grade.fall.slope if grade.fall is not None and toward_deg is not None else 0.0
    place = patch.middle if at is None else at
    given_m = grade.height if isinstance(grade.height, int | float) else 0.0
    plane = falling(place, given_m, toward_deg or 0.0, slope) if slope else Plane(place, given_m)
    match grade.height:
        case "balance":
            return balanced(patch, plane)
        case "above":
            return clear_of(patch, plane)
    return plane


def balanced(patch: Patch, plane: Plane, bank_per_fill: float = 1.0) -> Plane:
    """Return the parallel plane whose cut just makes its fill.

    Parameters
    ----------
    patch
        The ground.
    plane
        The fall wanted, at any height.
    bank_per_fill
        Bank volume dug for one volume made up [-], > 0: 1/0.90 for loam rolled in.

    Raises
    ------
    GeometryError
        If the patch has no ground.

    Examples
    --------
    >>> from shapely import box
    >>> from bedplan.ground.patch import patch_of
    >>> from bedplan.ground.surface import surface_of
    >>> yard = box(0, 0, 4, 3)
    >>> patch = patch_of(surface_of([(0, 0, 0), (4, 0, 1)], yard), yard)
    >>> round(balanced(patch, level(0)).height_m, 9)
    0.5
    """
    _check(patch)
    above = patch.heights - plane.heights_at(patch.places)
    if bank_per_fill == 1.0:
        return plane.raised(patch.integral(above) / patch.area_m2)

    def want_m3(by_m: float) -> float:
        work = work_on(patch, plane.raised(by_m))
        return work.fill_m3 * bank_per_fill - work.cut_m3

    return plane.raised(_root(want_m3, float(above.min()), float(above.max())))


def clear_of(patch: Patch, plane: Plane, by_m: float = 0.0) -> Plane:
    """Return the lowest parallel plane that stands clear of all ground on a patch.

    Parameters
    ----------
    patch
        The ground.
    plane
        The fall wanted, at any height.
    by_m
        Least height above the ground [m]; negative for the greatest cut allowed.

    Raises
    ------
    GeometryError
        If the patch has no ground.
    """
    _check(patch)
    above = patch.heights - plane.heights_at(patch.places)
    return plane.raised(float(above.max()) + by_m)


def best_fit(patch: Patch) -> Plane:
    """Return the plane nearest to the ground: least squares over the area; cut equals fill.

    Parameters
    ----------
    patch
        The ground.

    Raises
    ------
    GeometryError
        If the patch has no ground.

    References
    ----------
    C. F. Gauss's normal equations with integrals in place of sums. The constant is one of them,
    so the misfit integrates to nothing, which is the balance of cut and fill.
    """
    _check(patch)
    middle, mean_m = patch.middle, patch.mean_m
    away = patch.places - np.array(middle)
    x, y, z = away[:, :, 0], away[:, :, 1], patch.heights - mean_m
    cross = patch.product_integral(x, y)
    moments = [[patch.product_integral(x, x), cross], [cross, patch.product_integral(y, y)]]
    rise = np.linalg.solve(moments, [patch.product_integral(axis, z) for axis in (x, y)])
    return Plane(middle, mean_m, (float(rise[0]), float(rise[1])))


def least_fall(patch: Patch, slope: float) -> Plane:
    """Return the balanced plane of a given slope that digs least, whichever way it falls.

    Parameters
    ----------
    patch
        The ground.
    slope
        Drop per distance [-], ≥ 0.

    Raises
    ------
    GeometryError
        If the patch has no ground.

    Notes
    -----
    Directions are tried every `STEP_DEG` and the best is refined by golden section to
    `TURN_DEG`; no proof is given that no other direction digs less.
    """
    _check(patch)
    middle = patch.middle

    def laid(turn_deg: float) -> Plane:
        return balanced(patch, falling(middle, 0.0, turn_deg, slope))

    def cut_m3(turn_deg: float) -> float:
        return work_on(patch, laid(turn_deg)).cut_m3

    if slope == 0.0:
        return balanced(patch, level(0.0))
    first = min(np.arange(0.0, 360.0, STEP_DEG).tolist(), key=cut_m3)
    return laid(_least(cut_m3, first - STEP_DEG, first + STEP_DEG))


def _check(patch: Patch) -> None:
    if patch.area_m2 <= AREA_M2:
        message = "there is no ground here to grade"
        raise GeometryError(message)


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Return where a rising function is nought, by halving."""
    while high - low > HEIGHT_M:
        middle = (low + high) / 2.0
        low, high = (middle, high) if rising(middle) < 0.0 else (low, middle)
    return (low + high) / 2.0


def _least(valued: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function with one dip is least, by golden section."""
    while high - low > TURN_DEG:
        a, b = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        low, high = (low, b) if valued(a) <= valued(b) else (a, high)
    return (low + high) / 2.0
