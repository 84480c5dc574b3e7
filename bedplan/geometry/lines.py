"""Directions, offsets and corners of straight lines in the plane (layer: geometry).

A line is a point and a unit direction; "left" is the left hand of someone walking along it.
Points are ``(x, y)`` tuples [m]; angles are degrees, counter-clockwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Point = tuple[float, float]


@dataclass(frozen=True)
class Line:
    """An endless straight line: a point on it and its unit direction."""

    at: Point
    along: Point

    def shifted(self, left_m: float) -> Line:
        """Return the parallel line `left_m` to the left [m]."""
        return Line(
            (self.at[0] - left_m * self.along[1], self.at[1] + left_m * self.along[0]), self.along
        )

    def point(self, distance_m: float) -> Point:
        """Return the point at a distance along the line from its own point [m]."""
        return (self.at[0] + distance_m * self.along[0], self.at[1] + distance_m * self.along[1])

    def station(self, point: Point) -> float:
        """Return how far along the line a point lies [m]."""
        return (point[0] - self.at[0]) * self.along[0] + (point[1] - self.at[1]) * self.along[1]

    def left_of(self, point: Point) -> float:
        """Return how far a point lies to the left of the line [m], negative to the right."""
        return (point[1] - self.at[1]) * self.along[0] - (point[0] - self.at[0]) * self.along[1]

    def meet(self, other: Line) -> Point | None:
        """Return where two lines cross, or None if they run parallel."""
        cross = self.along[0] * other.along[1] - self.along[1] * other.along[0]
        if abs(cross) < 1e-12:
            return None
        dx, dy = other.at[0] - self.at[0], other.at[1] - self.at[1]
        return self.point((dx * other.along[1] - dy * other.along[0]) / cross)


def through(start: Point, end: Point) -> Line:
    """Return the line from one point towards another."""
    length = math.dist(start, end)
    return Line(start, ((end[0] - start[0]) / length, (end[1] - start[1]) / length))


def direction_deg(start: Point, end: Point) -> float:
    """Return the direction from one point to another, 0 ≤ angle < 360 [deg]."""
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) % 360.0


def unit_vector(angle_deg: float) -> Point:
    """Return the unit vector in a direction."""
    return (math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))


def interior_angle_deg(before: Point, corner: Point, after: Point) -> float:
    """Return the angle inside a counter-clockwise ring at one corner, 0 < angle < 360 [deg].

    Examples
    --------
    >>> round(interior_angle_deg((0, 0), (1, 0), (1, 1)), 6)
    90.0
    """
    arriving = direction_deg(before, corner)
    leaving = direction_deg(corner, after)
    return (180.0 - (leaving - arriving)) % 360.0


def mitre_point(before: Line, after: Line, inside_m: float) -> Point:
    """Return the corner of two lines after both are moved to the left by the same distance.

    Parallel lines (a straight "corner") give the point square to the joint.
    """
    met = before.shifted(inside_m).meet(after.shifted(inside_m))
    return met if met is not None else after.shifted(inside_m).at


def saw_setting_deg(cut_deg: float) -> float:
    """Return what a mitre saw's scale reads for a cut that makes `cut_deg` with the board.

    A square cut makes 90° with the board and reads 0; a cut at half of a square corner makes
    45° and reads 45.

    References
    ----------
    Geometry of a corner, first principles; ``180/n`` for a regular ring of n boards.
    """
    return abs(90.0 - cut_deg % 180.0)
