"""What goes through a laid weed barrier: pins that hold it, openings for plants (layer: takeoff).

Terms: see `barrier`. A *lap line* is the middle of the width two strips share, or of an end lap.

Entry points: `pins`, `pin_count`, `openings`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import LineString

from bedplan.errors import GeometryError
from bedplan.geometry.lines import Point, unit_vector
from bedplan.geometry.polygons import parts
from bedplan.geometry.tolerance import SNAP_M
from bedplan.takeoff.barrier import Strip, StripLaying


def pins(laying: StripLaying, pin_every_m: float) -> tuple[Point, ...]:
    """Return where pins hold the fabric down.

    Pins stand at even spacing, none wider than `pin_every_m`: round every outline of the ground
    (where the fabric is trimmed: the outer edges and ends of strips), along the middle of every
    lap, and across every end lap, with one at both ends of each such line.

    Parameters
    ----------
    laying
        Strips as laid.
    pin_every_m
        Greatest spacing [m], > 0.

    Returns
    -------
    points
        Outlines first, then laps, in plan coordinates [m]. One pin holds both strips of a lap.

    Raises
    ------
    GeometryError
        If the spacing is not positive.

    References
    ----------
    First principles; the spacing is the fabric maker's.
    """
    if not pin_every_m > 0.0:
        message = f"pins every {pin_every_m:g} m cannot be set out"
        raise GeometryError(message)
    rings = shapely.get_rings(parts(laying.area))
    lines = [line for line in lap_lines(laying) if line.length > SNAP_M]
    return tuple(point for line in (*rings, *lines) for point in _along(line, pin_every_m))


def pin_count(laying: StripLaying, pin_every_m: float) -> int:
    """Return how many pins hold the fabric down, see `pins`."""
    return len(pins(laying, pin_every_m))


def lap_lines(laying: StripLaying) -> tuple[LineString, ...]:
    """Return the middle lines of all laps and end laps within the ground."""
    across = [
        line
        for i, strip in enumerate(laying.strips)
        for other in _next_row(laying, i)
        if (line := _lap_line(laying, strip, other)) is not None
    ]
    ends = [line for strip in laying.strips for line in _end_lap_lines(laying, strip)]
    inside = shapely.intersection(laying.area, [*across, *ends])
    return tuple(
        line
        for line in shapely.get_parts(shapely.line_merge(shapely.get_parts(inside)))
        if line.geom_type == "LineString"
    )


def _next_row(laying: StripLaying, index: int) -> list[Strip]:
    """Return the strips of the row one pitch further across than a strip's own."""
    here = _place(laying, laying.strips[index].start)[1]
    pitch = laying.roll_width_m - laying.lap_m
    return [
        strip
        for strip in laying.strips[index + 1 :]
        if abs(_place(laying, strip.start)[1] - here - pitch) < SNAP_M
    ]


def _place(laying: StripLaying, point: Point) -> Point:
    """Return how far along the strips and across them a point lies [m]."""
    cos, sin = unit_vector(laying.direction_deg)
    return (point[0] * cos + point[1] * sin, point[1] * cos - point[0] * sin)


def _lap_line(laying: StripLaying, strip: Strip, other: Strip) -> LineString | None:
    """Return the middle of the lap of two neighbours, or None where they do not meet."""
    cos, sin = unit_vector(laying.direction_deg)
    a, v = _place(laying, strip.start)
    start = max(a, _place(laying, other.start)[0])
    end = min(_place(laying, strip.end)[0], _place(laying, other.end)[0])
    middle = v + (laying.roll_width_m - laying.lap_m) / 2.0
    if end <= start:
        return None
    return LineString([(u * cos - middle * sin, u * sin + middle * cos) for u in (start, end)])


def _end_lap_lines(laying: StripLaying, strip: Strip) -> list[LineString]:
    """Return the middles of the end laps of a pieced strip, across it."""
    cos, sin = unit_vector(laying.direction_deg)
    reach, lines, half = 0.0, [], laying.roll_width_m / 2.0
    for piece in strip.pieces_m[:-1]:
        reach += piece - laying.lap_m
        u = reach + laying.lap_m / 2.0
        x, y = strip.start[0] + u * cos, strip.start[1] + u * sin
        lines.append(
            LineString([(x + half * sin, y - half * cos), (x - half * sin, y + half * cos)])
        )
    return lines


def _along(line: LineString, every_m: float) -> list[Point]:
    """Return evenly spaced points along a line, both ends included; a ring's end is its start."""
    spaces = max(1, math.ceil(line.length / every_m - SNAP_M))
    count = spaces if line.is_closed else spaces + 1
    at = np.arange(count) * (line.length / spaces)
    return [
        (float(x), float(y))
        for x, y in shapely.get_coordinates(shapely.line_interpolate_point(line, at))
    ]


def openings(laying: StripLaying, plants: Iterable[Point]) -> tuple[Point, ...]:
    """Return the plants whose stems come up through the fabric: one opening each."""
    places = list(plants)
    if not places:
        return ()
    inside = shapely.intersects_xy(laying.area, np.asarray(places, dtype=float))
    return tuple(place for place, cut in zip(places, inside, strict=True) if cut)
