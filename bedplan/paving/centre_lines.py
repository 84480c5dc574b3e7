"""What a region is symmetric about, found as a paver would (layer: paving engine).

Whoever sets out a walk measures its width at several *stations* and marks the middle of each.
Where enough middles lie in one line square to the tape, that is a *centre line*. Only the
outermost edges count: a bed in the middle does not make two walks of one. A region without
centre lines may still look the same from its other end, turned by half a turn about its
*centre*: then the left edge at one station and the right edge at the station as far from the
other end are as far off it.

Public entry point: `centre_lines`.

References
----------
First principles.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from functools import lru_cache
from statistics import median
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

Array = npt.NDArray[np.float64]
Point = tuple[float, float]

STATIONS: Final = 12
"""At how many places a region's width is measured."""

_LEAST_ALIKE: Final = STATIONS // 2
"""How many of them make a line; a short leg of a crooked walk has none."""

_LEAST_TURNED: Final = 5 * STATIONS // 6
"""How many of them make a centre, their left edges being others' right ones."""


_UPRIGHT: Final = ((1.0, 0.0), (0.0, 1.0))
_SLANTING: Final = ((math.sqrt(0.5), math.sqrt(0.5)), (-math.sqrt(0.5), math.sqrt(0.5)))
"""Which way lines are looked for square to."""


class Line(NamedTuple):
    """A centre line: all points p with ``normal · p = at_m``."""

    normal: Point
    at_m: float


class CentreLines(NamedTuple):
    """What a region is symmetric about, in its own measure [m].

    `lines` are none, one, or two square to each other; `centre` is a point the region looks the
    same from, half a turn on.
    """

    lines: tuple[Line, ...] = ()
    centre: Point | None = None


@lru_cache(maxsize=64)
def centre_lines(
    region: BaseGeometry, origin: Point, direction_deg: float, within_m: float
) -> CentreLines:
    """Return what a region is symmetric about, along and across a direction.

    Parameters
    ----------
    region
        Polygon or multipolygon [m].
    origin
        Point of the region that lines are measured from [m].
    direction_deg
        Direction that becomes the x axis [deg].
    within_m
        Middles this near to one another are one line [m].

    Returns
    -------
    found
        Lines square to the x and y axes; if there are none, those at 45° to them. Each is the
        middle of the region at half the stations at least.

    Examples
    --------
    >>> centre_lines(shapely.box(0, 0, 4, 1), (0.0, 0.0), 0.0, 0.1).lines
    (Line(normal=(1.0, 0.0), at_m=2.0), Line(normal=(0.0, 1.0), at_m=0.5))
    >>> parallelogram = shapely.Polygon([(0, 0), (4, 0), (6, 2), (2, 2)])
    >>> centre_lines(parallelogram, (0.0, 0.0), 0.0, 0.1)
    CentreLines(lines=(), centre=(3.0, 1.0))
    """
    if region.is_empty:
        return CentreLines()
    sides = _sides(region, origin)
    widths = _widths(_turned(sides, direction_deg))
    lines = tuple(_lines(widths, within_m, _UPRIGHT))
    if not lines:
        slanting = _widths(_turned(sides, direction_deg + 45.0))
        lines = tuple(_lines(slanting, within_m, _SLANTING))
    x, y = (_turned_middle(each, within_m) for each in widths)
    return CentreLines(lines, None if x is None or y is None else (x, y))


def _sides(region: BaseGeometry, origin: Point) -> Array:
    """Return both ends of every side of the region's outlines, ``(2, n, 2)`` [m]."""
    rings = shapely.get_exterior_ring(shapely.get_parts(region))
    corners, ring = shapely.get_coordinates(rings, return_index=True)
    corners = corners - origin
    same = ring[1:] == ring[:-1]
    return np.stack((corners[:-1][same], corners[1:][same]))


def _turned(sides: Array, direction_deg: float) -> Array:
    """Return sides in a frame turned to a direction."""
    cos, sin = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    turned: Array = sides @ np.array([[cos, -sin], [sin, cos]])
    return turned


def _widths(sides: Array) -> list[list[Point]]:
    """Return the outermost edges along x at every station, and those along y [m].

    Stations are at even steps across; one between two parts of a region has no number for them.
    """
    reach, across = sides.transpose(2, 0, 1), sides[..., ::-1].transpose(2, 0, 1)
    low, high = across.min(axis=(1, 2)), across.max(axis=(1, 2))
    steps = (np.arange(STATIONS) + 0.5) / STATIONS
    stations = (low + steps[:, None] * (high - low)).T[..., None]
    way, station, side = np.nonzero((across[:, :1] <= stations) != (across[:, 1:] <= stations))
    (begin, end), (begin_at, end_at) = across[way, :, side].T, reach[way, :, side].T
    part = (stations[way, station, 0] - begin) / (end - begin)
    at = begin_at + part * (end_at - begin_at)
    crossed, first = np.unique(way * STATIONS + station, return_index=True)
    widths = np.full((2 * STATIONS, 2), np.nan)
    widths[crossed, 0] = np.minimum.reduceat(at, first)
    widths[crossed, 1] = np.maximum.reduceat(at, first)
    return [[(low, high) for low, high in each.tolist()] for each in np.split(widths, 2)]


def _lines(
    widths: Sequence[Sequence[Point]], within_m: float, normals: Sequence[Point]
) -> Iterator[Line]:
    """Yield the centre line square to each way, if enough middles are alike."""
    for normal, of_stations in zip(normals, widths, strict=True):
        middles = sorted(0.5 * (low + high) for low, high in of_stations if low <= high)
        alike = [bisect_right(middles, low + within_m) - i for i, low in enumerate(middles)]
        if max(alike, default=0) >= _LEAST_ALIKE:
            first = alike.index(max(alike))
            yield Line(normal, median(middles[first : first + alike[first]]))


def _turned_middle(widths: Sequence[Point], within_m: float) -> float | None:
    """Return the middle of left edges and the right ones of the other end, if most agree [m]."""
    middles = [
        0.5 * (low + high) for (low, _), (_, high) in zip(widths, widths[::-1], strict=True)
    ]
    middles = [middle for middle in middles if not math.isnan(middle)]
    if len(middles) < _LEAST_TURNED:
        return None
    agreed = median(middles)
    agree = sum(abs(middle - agreed) <= 0.5 * within_m for middle in middles)
    return agreed if agree >= _LEAST_TURNED else None
