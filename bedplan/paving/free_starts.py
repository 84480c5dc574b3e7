"""What a free laying may start from: bonds, courses, rectangles packed (layer: paving engine).

Public entry point: `starts`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.polygons import minus
from bedplan.geometry.tolerance import FIT_M, GRID_M
from bedplan.paving.bonds import basket_weave, herringbone, running, stack
from bedplan.paving.courses import courses_along
from bedplan.paving.free_frame import Frame, Spots
from bedplan.paving.free_ground import Ground
from bedplan.paving.laying import Placement
from bedplan.paving.rectangle import UNITS_AT_MOST, pack_rectangle
from bedplan.paving.sides import best_laying

Array = npt.NDArray[np.float64]
Box = tuple[float, float, float, float]
"""West, south, east, north [m]."""

_ANGLES: Final = 4
"""Directions rectangles are packed along."""

_RECTANGLES: Final = 8
"""Rectangles packed one after the other, each into what is left."""

_LINES: Final = 26
"""Sides that a rectangle may have, each way."""

_PACK_S: Final = 0.5
"""Time for one rectangle [s]."""


def starts(ground: Ground) -> Iterator[list[Placement]]:
    """Give layings one by one, each made when it is asked for."""
    for angle in ground.angles:
        laying = courses_along(ground.region, *ground.face_m, ground.joint_m, (angle,))
        yield list(laying.units)
    for make in (stack, running) if ground.square else (stack, running, herringbone, basket_weave):
        try:
            bond = make(*ground.face_m)
            laying = best_laying(ground.region, bond, ground.joint_m, ground.angles)
        except GeometryError:
            continue  # not every unit makes every bond
        yield list(laying.units)
    for angle in ground.angles[:_ANGLES]:
        yield _rectangles(ground, angle)


def _rectangles(ground: Ground, direction_deg: float) -> list[Placement]:
    """Return the largest rectangle packed, then the largest in what is left, and so on."""
    frame, laid, left = ground.frame(direction_deg), list[Placement](), ground.region
    for _ in range(_RECTANGLES):
        box = largest_rectangle(frame, left)
        new = _packed(ground, frame, box) if box else []
        if not new:
            break
        laid += new
        left = minus(left, *ground.outlines(new))
    return laid


def _packed(ground: Ground, frame: Frame, box: Box) -> list[Placement]:
    """Return the units of a packed rectangle."""
    west, south, east, north = box
    modules = [round((side + ground.joint_m) / GRID_M) for side in ground.face_m]
    sides = [
        int((side + ground.joint_m + 2.0 * FIT_M) / GRID_M)
        for side in (east - west, north - south)
    ]
    if not all(sides) or sides[0] * sides[1] > UNITS_AT_MOST * modules[0] * modules[1]:
        return []
    packing = pack_rectangle(sides[0], sides[1], *modules, time_limit_s=_PACK_S)
    corner = np.array([west, south]) - FIT_M - 0.5 * ground.joint_m
    kinds = np.array([place.turned for place in packing.placements], dtype=np.int64)
    at = np.array([(place.x, place.y) for place in packing.placements]).reshape(-1, 2) * GRID_M
    turned = np.array([modules, modules[::-1]]) * GRID_M
    spots = Spots(corner + at + 0.5 * turned[kinds], kinds)
    return frame.placed(spots)


def largest_rectangle(frame: Frame, region: BaseGeometry) -> Box | None:
    """Return the largest rectangle found in a region, upright in a frame.

    Its sides go through corners of the region, or lie at regular distances where it has few or
    too many corners. None where no rectangle with such sides lies inside.
    """
    if region.is_empty:
        return None
    inside = shapely.transform(region, frame.turned)
    points = shapely.get_coordinates(inside)
    x, y = _lines(points[:, 0]), _lines(points[:, 1])
    if len(x) < 2 or len(y) < 2:
        return None
    cells = shapely.box(x[:-1, None], y[None, :-1], x[1:, None], y[None, 1:])
    around = inside.buffer(0.5 * FIT_M, join_style="mitre")
    shapely.prepare(around)
    outside = np.pad(~shapely.covers(around, cells), ((1, 0), (1, 0))).cumsum(0).cumsum(1)
    best, found = 0.0, None
    for a, b in itertools.combinations(range(len(x)), 2):
        column = outside[b] - outside[a]
        low, high = np.nonzero(np.triu(column[None] - column[:, None] == 0, 1))
        if not len(low):
            continue
        areas = (x[b] - x[a]) * (y[high] - y[low])
        place = int(areas.argmax())
        if areas[place] > best:
            best = float(areas[place])
            found = (float(x[a]), float(y[low[place]]), float(x[b]), float(y[high[place]]))
    return found


def _lines(values: Array) -> Array:
    """Return the distinct values, thinned or with regular ones added to be as many as wanted."""
    lines = _apart(np.unique(values))
    if len(lines) <= _LINES:
        more = np.linspace(lines[0], lines[-1], _LINES - len(lines) + 2)
        return _apart(np.union1d(lines, more))
    kept = np.unique(np.linspace(0, len(lines) - 1, _LINES).astype(np.int64))
    thinned: Array = lines[kept]
    return thinned


def _apart(rising: Array) -> Array:
    """Return values of which none is within `FIT_M` of the one before."""
    apart: Array = rising[np.append(True, np.diff(rising) > FIT_M)]
    return apart
