"""How many units of one common direction a region holds, whichever it is (layer: paving engine).

`line_bound` holds for one direction. For a whole range of directions it holds with a smaller
unit: what a unit covers however it is turned within the range. Ranges are halved where the
bound is greatest until nothing is gained.

Public entry point: `direction_bound`.
"""

from __future__ import annotations

import heapq
import math
from typing import Final

import numpy as np
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.bound_alike import GOOD, QUICK, boxes_over, line_bound
from bedplan.paving.sides import directions

_FIRST_DEG: Final = 4.0
"""Greatest width of the ranges at the start [deg]."""

_NARROW_DEG: Final = 0.6
"""Half a range under which more effort lowers the bound more than halving the range [deg]."""


def direction_bound(
    region: BaseGeometry,
    length_m: float,
    width_m: float,
    joint_m: float,
    *,
    enough: int = 0,
    ranges: int = 150,
) -> int:
    """Return a number that no set of whole units with one common direction can exceed.

    Parameters
    ----------
    region, length_m, width_m, joint_m
        As for `line_bound`.
    enough
        A count already reached.
    ranges
        Greatest number of ranges of directions looked into: the bound holds at any number, and
        falls as it grows. Fewer are used once the bound is that along one of the region's
        longest sides, or meets `enough`: nothing lower can come of it. Those of 4° at the start
        are looked into in any case.

    Returns
    -------
    most
        Whole number, ≥ 0. It holds for units in any pattern or none, the lengths of all of them
        in one direction, whichever that is. Units turned by a right angle to others are not
        counted on unless they are square.

    Raises
    ------
    GeometryError
        As for `line_bound`.

    Notes
    -----
    The joint is measured along and across the common direction, as for `line_bound`.

    Examples
    --------
    >>> import shapely
    >>> direction_bound(shapely.box(0, 0, 1.0, 1.0), 0.5, 0.5, 0.0)
    4
    """
    face, module = (length_m, width_m), (length_m + joint_m, width_m + joint_m)
    turn_deg = 90.0 if abs(length_m - width_m) < FIT_M else 180.0
    target = max(
        line_bound(region, length_m, width_m, joint_m, angle, enough=enough)
        for angle in _sides(region, turn_deg)
    )
    target = max(target, enough)

    def boxes(middle_deg: float, half_deg: float, known: int) -> int:
        inner, own = held_in_all(face, half_deg), held_in_all(module, half_deg)
        if inner is None or own is None:
            return known
        effort = GOOD if half_deg < _NARROW_DEG else QUICK
        return min(known, boxes_over(region, inner, own, middle_deg, enough=target, effort=effort))

    half = 0.5 * turn_deg / math.ceil(turn_deg / _FIRST_DEG)
    middles, known = np.arange(half, turn_deg, 2.0 * half).tolist(), _beyond(region, face)
    queue = [(-boxes(middle, half, known), middle, half) for middle in middles]
    heapq.heapify(queue)
    for _ in range((ranges - len(queue)) // 2):
        bound, middle, half = queue[0]
        if -bound <= target:
            break
        heapq.heappop(queue)
        for centre in (middle - 0.5 * half, middle + 0.5 * half):
            heapq.heappush(queue, (-boxes(centre, 0.5 * half, -bound), centre, 0.5 * half))
    return max(-queue[0][0], enough)


def held_in_all(size_m: tuple[float, float], most_deg: float) -> tuple[float, float] | None:
    """Return a rectangle that lies in another, of the same centre, turned by up to an angle.

    Parameters
    ----------
    size_m
        Length and width of the rectangle that is turned [m].
    most_deg
        How far it may be turned either way [deg], ≥ 0.

    Returns
    -------
    held
        Length and width [m], or None where the angle is too great for the rule.

    Notes
    -----
    A corner (p, q) of the inner one, seen from the outer one turned by φ, is at
    ``p cos φ + q sin φ`` along and ``p sin φ + q cos φ`` across. Both rise with φ as long as
    tan φ is under q/p and p/q, so the greatest φ decides; there both meet the outer sides.

    Examples
    --------
    >>> [round(side, 6) for side in held_in_all((1.0, 1.0), 1.0)]
    [0.982994, 0.982994]
    >>> held_in_all((1.0, 0.1), 6.0) is None
    True
    """
    cos, sin = math.cos(math.radians(most_deg)), math.sin(math.radians(most_deg))
    spread = cos * cos - sin * sin
    if spread <= 0.0:
        return None
    length, width = (
        (size_m[0] * cos - size_m[1] * sin) / spread,
        (size_m[1] * cos - size_m[0] * sin) / spread,
    )
    if min(length, width) <= 0.0 or sin * max(length, width) > cos * min(length, width):
        return None
    return length, width


def _sides(region: BaseGeometry, turn_deg: float) -> list[float]:
    """Return the directions of the three longest sides, and square to them if that differs."""
    turns = (0.0,) if turn_deg == 90.0 else (0.0, 90.0)
    return [angle + turn for angle in directions(region, 3) or (0.0,) for turn in turns]


def _beyond(region: BaseGeometry, face_m: tuple[float, float]) -> int:
    """Return a number of units whose area alone is more than the region's."""
    length, width = (max(side - 4.0 * FIT_M, FIT_M) for side in face_m)
    ground_m2 = float(region.area + 4.0 * FIT_M * region.length)
    return math.ceil(ground_m2 / (length * width)) + 1
