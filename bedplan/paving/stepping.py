"""Stepping stones: one unit per step along a line (layer: paving engine).

The *stride* is the distance from centre to centre along the line. The first and the last unit
lie as near the ends of the ground as they fit; the strides between are equal and no longer than
asked (where that would push units together, strides are as asked and the rest goes into even
margins). A unit that would not lie wholly inside, or too near another at a bend, is left out.

Public entry points: `step_along`, `longest_course`.

References
----------
First principles: along one straight line the places of a unit are the line's stretches inside
the region eroded by the unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import FIT_M, SNAP_M
from bedplan.paving.bonds import Bond, stack
from bedplan.paving.courses import best_courses
from bedplan.paving.laying import Laying, Placement
from bedplan.paving.shift import unit_places
from bedplan.paving.spread import courses

Array = npt.NDArray[np.float64]
Point = tuple[float, float]
Stretch = tuple[float, float]

NAME: Final = "stepping stones"
"""Name of the bond of a laying with a stride."""

_TRIALS: Final = 60
"""How many more steps than needed are tried where a unit will not fit at its place."""


def step_along(
    region: BaseGeometry,
    points: Sequence[Point],
    size_m: tuple[float, float],
    joint_m: float,
    stride_m: float,
) -> Laying:
    """Return units laid one per step along a line.

    Parameters
    ----------
    region
        Where units may lie [m].
    points
        ``(n, 2)`` the line to walk [m]; no unit is laid if n < 2. Lengthen it beyond the region
        where the first and the last unit are to lie at the region's ends.
    size_m
        Length and width of the unit [m].
    joint_m
        Least gap between units [m].
    stride_m
        Greatest distance of centres along the line [m].

    Returns
    -------
    laying
        Units square to the line, their longer faces across it; along it if more fit so. All
        strides are equal; one is left out where a unit does not fit. Never proven.

    Raises
    ------
    GeometryError
        If the stride is shorter than a unit and a joint.

    Examples
    --------
    >>> laying = step_along(shapely.box(0, 0, 3.0, 0.6), [(0, 0.3), (3, 0.3)], (0.5, 0.3), 0, 0.7)
    >>> [round(unit.x_m, 3) for unit in laying.units]
    [0.15, 0.825, 1.5, 2.175, 2.85]
    """
    short, long = sorted(size_m)
    if stride_m < short + joint_m - FIT_M:
        message = f"a stride of {stride_m:.6g} m is shorter than a unit and its joint"
        raise GeometryError(message)
    layings = [
        _stepped(region, points, size_m, (along, joint_m, stride_m))
        for along in dict.fromkeys((short, long))
        if stride_m >= along + joint_m - FIT_M
    ]
    return max(layings, key=lambda laying: laying.count)


def longest_course(
    region: BaseGeometry,
    size_m: tuple[float, float],
    joint_m: float,
    directions_deg: Sequence[float],
) -> list[Point]:
    """Return the longest straight line that stones laid across it could follow, end to end.

    Parameters
    ----------
    region, size_m, joint_m
        As for `step_along`.
    directions_deg
        Directions to try; lines run along each and square to it [deg].

    Returns
    -------
    points
        Where the centres of the first and the last stone may be at most; of equally long lines
        the middle one. Stones lie
        along the line where none can lie across; no points where none can lie at all.
    """
    short, long = sorted(size_m)
    for along_m, across_m in ((short, long), (long, short)):
        layings = [
            best_courses(region, along_m, across_m, joint_m, (angle + turn_deg) % 360.0)
            for angle in directions_deg
            for turn_deg in (0.0, 90.0)
        ]
        found = [
            _clear(region, laying, row[0], (along_m, across_m))
            for laying in layings
            if laying.units
            for row in courses(laying)
        ]
        longest_m = max((math.dist(*line) for line in found), default=0.0)
        alike = [line for line in found if math.dist(*line) > longest_m - SNAP_M]
        if alike:
            return list(alike[len(alike) // 2])
    return []


def _clear(
    region: BaseGeometry, laying: Laying, number: int, size_m: tuple[float, float]
) -> tuple[Point, Point]:
    """Return the longest stretch of a course on which stones may lie, a hair beyond its ends."""
    unit, turn = laying.units[number], math.radians(laying.direction_deg)
    x, y, reach_m = math.cos(turn), math.sin(turn), region.length
    begin = (unit.x_m - reach_m * x, unit.y_m - reach_m * y)
    leg = (0.0, 2.0 * reach_m, laying.direction_deg, begin)
    near, far = max(
        _places(region, leg, *size_m),
        key=lambda place: place[1] - place[0],
        default=(reach_m, reach_m),  # rounding lost a place that is a single point
    )
    near, far = near - SNAP_M, far + SNAP_M
    return (
        (begin[0] + near * x, begin[1] + near * y),
        (begin[0] + far * x, begin[1] + far * y),
    )


def _stepped(
    region: BaseGeometry,
    points: Sequence[Point],
    size_m: tuple[float, float],
    measures: tuple[float, float, float],
) -> Laying:
    """Return the steps of units that measure so much along the line; then joint and stride."""
    along_m, joint_m, stride_m = measures
    bond = replace(stack(*size_m), name=NAME)
    if len(points) < 2:
        return Laying(bond, joint_m, 0.0, (0.0, 0.0), (), (), proven=False)
    across_m = size_m[0] + size_m[1] - along_m
    turn_deg = 0.0 if abs(along_m - size_m[0]) < FIT_M else 90.0
    legs = _legs(points)
    places = [place for leg in legs for place in _places(region, leg, along_m, across_m)]
    direction_deg = legs[0][2] % 360.0
    units: list[Placement] = []
    if places:
        stations = _stations(places, along_m + joint_m, stride_m)
        asked = [_unit(legs, station, turn_deg) for station in stations]
        units = _sound(region, asked, bond, joint_m)
    at = (units[0].x_m, units[0].y_m) if units else (0.0, 0.0)
    return Laying(bond, joint_m, direction_deg, at, tuple(units), (0,) * len(units), proven=False)


Leg = tuple[float, float, float, Point]
"""One straight length of a line: station of its begin, its length, direction [deg], its begin."""


def _legs(points: Sequence[Point]) -> list[Leg]:
    legs: list[Leg] = []
    station = 0.0
    for start, end in pairwise(points):
        length = math.dist(start, end)
        if length > SNAP_M:
            heading = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
            legs.append((station, length, heading, start))
            station += length
    return legs


def _places(region: BaseGeometry, leg: Leg, along_m: float, across_m: float) -> Iterator[Stretch]:
    """Yield the stretches of a leg, by station, on which a unit's centre may be."""
    station, length, heading, start = leg
    places = unit_places(region, start, heading, along_m, across_m, FIT_M)
    inside = shapely.intersection(LineString([(0.0, 0.0), (length, 0.0)]), places)
    for part in shapely.get_parts(inside)[~shapely.is_empty(shapely.get_parts(inside))]:
        left, _, right, _ = part.bounds
        yield station + left, station + right


def _stations(places: Sequence[Stretch], least_m: float, stride_m: float) -> list[float]:
    """Return equal steps from the first place to the last, as many of them as may be laid."""
    begin, end = min(place[0] for place in places), max(place[1] for place in places)
    needed = math.ceil((end - begin) / stride_m - 1e-9)
    most = math.floor((end - begin) / least_m + 1e-9)
    if most < 1 or needed < 1:
        middle = 0.5 * (begin + end)
        return _laid(places, [middle]) or [begin]
    if most < needed:  # no equal strides end at both margins: the rest goes into the margins
        whole = math.floor((end - begin) / stride_m + 1e-9)
        spare = 0.5 * (end - begin - whole * stride_m)
        return _laid(places, [begin + spare + stride_m * i for i in range(whole + 1)])
    trials: list[tuple[int, list[float]]] = []
    for steps in range(needed, min(most, needed + _TRIALS) + 1):
        asked = np.linspace(begin, end, steps + 1).tolist()
        laid = _laid(places, asked)
        trials.append((len(asked) - len(laid), laid))
        if len(laid) == len(asked):
            break
    return min(trials, key=lambda trial: trial[0])[1]


def _laid(places: Sequence[Stretch], stations: Sequence[float]) -> list[float]:
    return [
        station
        for station in stations
        if any(begin - FIT_M <= station <= end + FIT_M for begin, end in places)
    ]


def _unit(legs: Sequence[Leg], station: float, turn_deg: float) -> Placement:
    begin, _, heading, start = max(leg for leg in legs if leg[0] <= max(station, 0.0))
    turn = math.radians(heading)
    x, y = (
        start[0] + (station - begin) * math.cos(turn),
        start[1] + (station - begin) * math.sin(turn),
    )
    return Placement(x, y, (heading + turn_deg) % 180.0)


def _sound(
    region: BaseGeometry, units: Sequence[Placement], bond: Bond, joint_m: float
) -> list[Placement]:
    """Return the units that lie in the region, no nearer than a joint to one before them."""
    probe = Laying(bond, joint_m, 0.0, (0.0, 0.0), tuple(units), (0,) * len(units), proven=False)
    outlines = probe.outlines()
    inside = shapely.covers(region.buffer(3.0 * FIT_M, join_style="mitre"), outlines)
    kept: list[int] = []
    for number in np.flatnonzero(inside).tolist():
        if all(shapely.distance(outlines[number], outlines[i]) >= joint_m - FIT_M for i in kept):
            kept.append(number)
    return [units[i] for i in kept]
