"""A finish or a formation: level, or a plane with a fall (layer: engines).

A *fall* is drop per distance: 0.02 is 2 %, 2 in 100. Directions are degrees, counter-clockwise
from the x axis. Public entry points: `Plane`, `level`, `falling`, `through_points`,
`toward_side_deg`, `fall_to_side`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point, unit_vector
from bedplan.geometry.tolerance import AREA_M2
from bedplan.model.site import Side

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Plane:
    """A plane by one of its places, the height there [m] and its rise along x and y [-]."""

    at: Point
    height_m: float
    rise: tuple[float, float] = (0.0, 0.0)

    def heights_at(self, points: Sequence[Point] | Array) -> Array:
        """Return heights at places ``(…, 2)``, one for each [m]."""
        away = np.asarray(points, dtype=float) - np.array(self.at)
        heights: Array = self.height_m + away @ np.array(self.rise)
        return heights

    def height_at(self, point: Point) -> float:
        """Return the height at one place [m]."""
        return float(self.heights_at([point])[0])

    def raised(self, by_m: float) -> Plane:
        """Return the parallel plane so much higher [m]."""
        return replace(self, height_m=self.height_m + by_m)

    @property
    def slope(self) -> float:
        """Drop per distance where it is steepest, ≥ 0 [-]."""
        return math.hypot(*self.rise)

    @property
    def slope_deg(self) -> float:
        """Angle with the level, 0 ≤ angle < 90 [deg]."""
        return math.degrees(math.atan(self.slope))

    @property
    def fall_deg(self) -> float | None:
        """Direction in which water runs off, 0 ≤ angle < 360 [deg]; None if level."""
        if not self.slope:
            return None
        return math.degrees(math.atan2(-self.rise[1], -self.rise[0])) % 360.0

    def fall_toward(self, direction_deg: float) -> float:
        """Return the drop per distance in a direction [-], negative where it rises.

        Examples
        --------
        >>> walk = falling((0, 0), 1.0, toward_deg=90.0, slope=0.02)
        >>> [round(walk.fall_toward(turn), 6) + 0.0 for turn in (90, 0, 270)]
        [0.02, 0.0, -0.02]
        """
        x, y = unit_vector(direction_deg)
        return -(self.rise[0] * x + self.rise[1] * y)


def level(height_m: float) -> Plane:
    """Return the level plane at a height [m]."""
    return Plane((0.0, 0.0), height_m)


def falling(at: Point, height_m: float, toward_deg: float, slope: float) -> Plane:
    """Return a plane that falls in a direction.

    Parameters
    ----------
    at, height_m
        A place and the plane's height there [m].
    toward_deg
        Where water is to run [deg].
    slope
        Drop per distance [-]; 0.02 for 2 %.
    """
    x, y = unit_vector(toward_deg)
    return Plane(at, height_m, (-slope * x, -slope * y))


def through_points(points: Sequence[tuple[float, float, float]]) -> Plane:
    """Return the plane through three points, or nearest to more by least squares.

    Parameters
    ----------
    points
        ``(n, 3)`` places and heights [m], at least three and not in one line.

    Raises
    ------
    GeometryError
        If the points do not settle a plane.

    Examples
    --------
    >>> through_points([(0, 0, 1), (2, 0, 1), (0, 4, 2)]).slope
    0.25
    """
    table = np.asarray(points, dtype=float).reshape(-1, 3)
    middle = table.mean(axis=0) if len(table) else np.zeros(3)
    away = table - middle
    moments = away[:, :2].T @ away[:, :2]
    if len(table) < 3 or np.linalg.det(moments) <= AREA_M2**2:
        message = f"{len(table)} points in one line or one place settle no plane"
        raise GeometryError(message)
    rise = np.linalg.solve(moments, away[:, :2].T @ away[:, 2])
    return Plane(
        (float(middle[0]), float(middle[1])), float(middle[2]), (float(rise[0]), float(rise[1]))
    )


def toward_side_deg(side: Side) -> float:
    """Return the direction from inside the fence square to one of its sides [deg]."""
    return (side.direction_deg - 90.0 * side.inward) % 360.0


def fall_to_side(plane: Plane, side: Side) -> float:
    """Return the drop per distance square towards a side [-]: positive where water runs to it.

    Where a building stands along the side this must not be positive.
    """
    return plane.fall_toward(toward_side_deg(side))
