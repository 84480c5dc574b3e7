"""Straight courses, each slid on its own: the provably most units (layer: paving engine).

*Courses* are the freest layout that still looks laid: units side by side in straight rows of
one direction, all with the same turn, every row slid along as suits it, rows free to part. No
bond of straight rows (stack, running with any offset) in that direction can hold more. Rows are
found by `course_counts`; then slack is shared out, along each row and between rows.

Public entry points: `best_courses`, `courses_along`.

References
----------
First principles; the number in a row and the choice of rows are proven in `course_counts`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import FIT_M, GRID_M
from bedplan.model.bonds import MotifUnit, Step
from bedplan.paving.bonds import Bond, stack
from bedplan.paving.course_counts import Course, best_courses_of, packed, spans_of
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.shift import unit_places
from bedplan.paving.sides import directions
from bedplan.paving.slabs import Slabs, slabs_of

Array = npt.NDArray[np.float64]

NAME: Final = "courses"
"""Name of the bond of a laying in free courses."""


def best_courses(
    region: BaseGeometry,
    length_m: float,
    width_m: float,
    joint_m: float,
    direction_deg: float = 0.0,
    *,
    greatest_m: float | None = None,
) -> Laying:
    """Return the straight courses in one direction that hold the most whole units.

    Parameters
    ----------
    region
        Where units may lie [m]: polygon or multipolygon, holes allowed; may be empty.
    length_m, width_m
        Face of the unit along and across the courses [m], > 0.
    joint_m
        Least gap between units of a course, and between courses [m], ≥ 0.
    direction_deg
        Direction of the courses [deg].
    greatest_m
        The widest joint that slack may be put into [m]; `joint_m` if None. Where the ground is
        broken, units and courses may lie farther apart.

    Returns
    -------
    laying
        The units by course, its bond named ``courses``. `shift_m` is the first unit's centre:
        the pattern has no lattice. `proven`: no courses in this direction hold more units, even
        if each might press `tolerance.FIT_M` into the edge of the region.

    Raises
    ------
    GeometryError
        If the region is no valid area, or the unit, the joint or the direction is impossible.

    Notes
    -----
    Units of two courses may not share a height, not even on either side of a bed.

    Examples
    --------
    >>> import shapely
    >>> walk = shapely.Polygon([(0, 0), (3.0, 0), (2.0, 1.0), (1.0, 1.0)])
    >>> laying = best_courses(walk, 0.4, 0.3, 0.01)
    >>> laying.count, laying.proven
    (11, True)
    """
    return _best(region, _Unit(length_m, width_m), (joint_m, greatest_m), direction_deg)


def courses_along(
    region: BaseGeometry,
    length_m: float,
    width_m: float,
    joint_m: float,
    directions_deg: Iterable[float] | None = None,
    *,
    greatest_m: float | None = None,
) -> Laying:
    """Return the best straight courses over several directions, units along or across.

    Parameters
    ----------
    region, length_m, width_m, joint_m, greatest_m
        As for `best_courses`.
    directions_deg
        Directions to try, the favoured one first [deg]; the region's own sides if None. Courses
        run along each and square to it, each with the units' lengths along and across.

    Returns
    -------
    laying
        The most units; of equal counts the earlier direction. `proven` says that no courses in
        any of these directions hold more.

    Raises
    ------
    GeometryError
        If there is no direction, and as for `best_courses`.
    """
    angles = directions(region) if directions_deg is None else tuple(directions_deg)
    if directions_deg is not None and not angles:
        message = "no direction to lay courses in"
        raise GeometryError(message)
    unit = _Unit(length_m, width_m)
    units = (unit,) if abs(length_m - width_m) < FIT_M else (unit, replace(unit, turned=True))
    layings = [
        _best(region, version, (joint_m, greatest_m), (angle + turn_deg) % 360.0)
        for angle, turn_deg, version in itertools.product(angles or (0.0,), (0.0, 90.0), units)
    ]
    best = max(layings, key=lambda laying: laying.count)
    return replace(best, proven=all(laying.proven for laying in layings))


@dataclass(frozen=True)
class _Unit:
    """A unit and whether its length runs across the courses."""

    length_m: float
    width_m: float
    turned: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """How much it measures along and across the courses [m]."""
        return (self.width_m, self.length_m) if self.turned else (self.length_m, self.width_m)

    def bond(self) -> Bond:
        """Return the bond a laying is labelled with: the stack bond of the same unit."""
        if not self.turned:
            return replace(stack(self.length_m, self.width_m), name=NAME)
        return Bond(
            NAME,
            ((self.length_m, self.width_m),),
            (MotifUnit(turned=True),),
            along=Step(x=(0, 1)),
            across=Step(y=(1, 0)),
        )


def _best(
    region: BaseGeometry, unit: _Unit, joints: tuple[float, float | None], direction_deg: float
) -> Laying:
    """Return the best courses of a unit, with (least, greatest) joint."""
    bond, (joint_m, greatest_m) = unit.bond(), joints
    if not (0.0 <= joint_m < math.inf and math.isfinite(direction_deg)):
        message = f"no courses with a joint of {joint_m} m in direction {direction_deg}"
        raise GeometryError(message)
    along_m, across_m = (size + joint_m for size in unit.size)
    more_m = max((joint_m if greatest_m is None else greatest_m) - joint_m, 0.0)
    origin = _middle(region)
    slabs = slabs_of(unit_places(region, origin, direction_deg, *unit.size, FIT_M))
    courses = best_courses_of(spans_of(slabs, along_m), across_m)
    if not courses:
        return Laying(bond, joint_m, direction_deg, origin, (), (), True)
    heights = _heights(slabs, courses, (along_m, across_m, more_m))
    rows = [placed_along(*slabs.at(height), along_m, more_m) for height in heights.tolist()]
    centres = np.column_stack([np.concatenate(rows), np.repeat(heights, [*map(len, rows)])])
    units = _turned_back(
        centres, origin, direction_deg, (direction_deg + 90.0 * unit.turned) % 180.0
    )
    proven = len(units) >= sum(course.units for course in courses)
    return Laying(bond, joint_m, direction_deg, units[0][:2], units, (0,) * len(units), proven)


def _heights(
    slabs: Slabs, courses: tuple[Course, ...], steps: tuple[float, float, float]
) -> Array:
    """Return the height of each course, the slack between courses shared out [m].

    `steps` are the least distances along and across and how much more joints may take. Where a
    span is a single height, rounding might lose its unit; such a course stays where it was.
    """
    along_m, across_m, more_m = steps
    table: Array = np.array(courses, dtype=np.float64)
    units, low, high = table.T
    heights = shared_out(low, high, across_m, more_m)
    begin, end = _at_all(slabs, heights)
    if np.all(packed(begin, end, along_m) >= units):
        return heights
    lowered: Array = np.minimum(lowest(low, across_m), high)
    return lowered


def _at_all(slabs: Slabs, heights: Array) -> tuple[Array, Array]:
    """Return the stretches at several heights, ``(k, m)`` each, filled up."""
    lines = [slabs.at(height) for height in heights.tolist()]
    most = max(len(begin) for begin, _ in lines)
    begins = [np.pad(begin, (0, most - len(begin)), constant_values=np.inf) for begin, _ in lines]
    ends = [np.pad(end, (0, most - len(end)), constant_values=-np.inf) for _, end in lines]
    return np.array(begins), np.array(ends)


def placed_along(begin: Array, end: Array, step_m: float, more_m: float) -> Array:
    """Return where the centres of one course lie along it, slack shared out, ``(n,)`` [m].

    Parameters
    ----------
    begin, end
        Stretches of the line, in the order of their begins [m].
    step_m, more_m
        Least distance of centres, and how much farther apart joints may put them [m].

    Examples
    --------
    >>> placed_along(np.array([0.0]), np.array([1.0]), 0.4, 0.05).tolist()
    [0.04999999999999999, 0.5, 0.95]
    """
    begin, end = _joined(begin, end)
    free, low, high = -math.inf, [], []
    for left, right in zip(begin.tolist(), end.tolist(), strict=True):
        start = max(left, free)
        if start <= right + GRID_M:
            more = int((right - start + GRID_M) // step_m) + 1
            free = start + more * step_m
            low += [left] * more
            high += [right] * more
    return shared_out(np.array(low), np.array(high), step_m, more_m)


def shared_out(low: Array, high: Array, step_m: float, more_m: float) -> Array:
    """Return places between given ends, at least a step apart, with slack shared out [m].

    Parameters
    ----------
    low, high
        ``(n,)`` least and greatest place of each, for which places a step apart exist [m].
    step_m, more_m
        Least distance, and how much may be added to it [m].

    Returns
    -------
    places
        All steps are widened alike as far as `more_m` and the ends allow; then each place is
        midway between the lowest and the highest it could take, the others making way.

    Examples
    --------
    >>> shared_out(np.array([0.0, 0.0]), np.array([1.0, 1.0]), 0.3, 0.2).tolist()
    [0.25, 0.75]
    """
    count = len(low)
    behind, ahead = np.triu_indices(count, 1)
    room = (high[ahead] - low[behind]) / (ahead - behind) - step_m
    step = step_m + min(max(float(room.min(initial=more_m)), 0.0), more_m)
    highest = -lowest(-high[::-1], step)[::-1]
    # a place that can only be one height must be that very number, not one rounding off
    places: Array = np.clip(0.5 * (lowest(low, step) + highest), low, high)
    return places


def lowest(low: Array, step_m: float) -> Array:
    """Return the lowest places a step apart, each no lower than its own least [m]."""
    steps = step_m * np.arange(len(low))
    places: Array = np.maximum(np.maximum.accumulate(low - steps) + steps, low)
    return places


def _joined(begin: Array, end: Array) -> tuple[Array, Array]:
    """Return stretches with those that touch or overlap made one."""
    if not len(begin):
        return begin, end
    reach = np.maximum.accumulate(end)
    new = np.append(True, begin[1:] > reach[:-1] + GRID_M)
    return begin[new], reach[np.append(new[1:], True)]


def _middle(region: BaseGeometry) -> tuple[float, float]:
    """Return the middle of a region's bounding box, to keep numbers small."""
    if region.is_empty:
        return (0.0, 0.0)
    west, south, east, north = region.bounds
    return (0.5 * (west + east), 0.5 * (south + north))


def _turned_back(
    centres: Array, origin: tuple[float, float], direction_deg: float, turn_deg: float
) -> tuple[Placement, ...]:
    """Return units for centres given in the frame turned to the courses."""
    cos, sin = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    world = centres @ np.array([[cos, sin], [-sin, cos]]) + origin
    return tuple(Placement(x, y, turn_deg) for x, y in world.tolist())
