"""Points to weigh ground by, for bounds on how many units it holds (layer: paving engine).

The *box* of a point is a module about it, less a hair: no two units have their centres in one
box, for they would be nearer than a joint both along and across. Points are set where boxes,
side by side in level or upright strips, cover the places of centres from either end.

Public entry point: `points_over`.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import GRID_M
from bedplan.paving.course_counts import Array
from bedplan.paving.rows import spread
from bedplan.paving.slabs import Slabs, slabs_of
from bedplan.paving.strips import bands

HAIR_M: Final = 40.0 * GRID_M
"""How much less than a module a box is: more than units may be nearer by rounding."""

_OUT_M: Final = 1e-10
"""How far the first box of a strip reaches beyond the ground; far less than a hair."""


class Kind(NamedTuple):
    """Units turned one way: where their centres may be, in rows and in columns, and their box."""

    places: BaseGeometry
    rows: Slabs
    columns: Slabs
    box: Array


def kind_of(places: BaseGeometry, module_m: Array) -> Kind:
    """Return units turned one way, from the places of their centres and their module [m]."""
    columns = slabs_of(shapely.transform(places, lambda points: points[:, ::-1]))
    return Kind(places, slabs_of(places), columns, module_m - HAIR_M)


def points_over(kinds: tuple[Kind, ...], parts: int, grain: int) -> Array:
    """Return points, ``(n, 2)``, rising in y [m].

    Parameters
    ----------
    kinds
        One kind of unit, or a unit both ways round; each with places.
    parts
        How many strips begin in the height of a box.
    grain
        Into how many steps the side of a box is parted; the sides of all boxes lie on steps, so
        that few different ones come about. 0 leaves them where they are.
    """
    least = np.min([kind.box for kind in kinds], axis=0)
    found = []
    for kind in kinds:
        across = _strips(kind.rows, kind.box, float(least[0]), parts)
        along = _strips(kind.columns, kind.box[::-1], float(least[1]), parts)
        points = np.concatenate([across, along[:, ::-1]])
        if grain:
            corner = np.array(kind.places.bounds[:2]) - _OUT_M
            step = least / grain
            first = points - 0.5 * kind.box - corner
            points = np.round(first / step) * step + corner + 0.5 * kind.box
        found.append(points)
    table = np.unique(np.round(np.concatenate(found), 10), axis=0)
    return table[np.argsort(table[:, 1], kind="stable")]


def _strips(slabs: Slabs, box: Array, step: float, parts: int) -> Array:
    """Return the points of strips as high as a box, packed from both ends of each stretch."""
    low, high = float(slabs.levels[0]), float(slabs.levels[-1])
    rise = float(box[1])
    starts = [low - _OUT_M - rise * part / parts for part in range(parts)]
    starts.append(high + _OUT_M - rise * math.ceil((high - low) / rise + GRID_M))
    return np.concatenate([_strip_points(slabs, start, box, step) for start in starts])


def _strip_points(slabs: Slabs, start: float, box: Array, step: float) -> Array:
    low, high, rise = float(slabs.levels[0]), float(slabs.levels[-1]), float(box[1])
    edges = start + rise * np.arange(int((high - start) / rise) + 2)
    cuts = np.unique(np.clip(edges, low, high))
    begin, end = bands(slabs, cuts)
    band, place = np.nonzero(begin < np.inf)
    number = np.floor((0.5 * (cuts[1:] + cuts[:-1]) - start) / rise)
    height = start + rise * (number[band] + 0.5)
    left, right = begin[band, place] - _OUT_M, end[band, place] + _OUT_M
    which, more = spread(np.ceil((right - left) / step).astype(np.int64))
    x = np.concatenate(
        [left[which] + 0.5 * box[0] + more * step, right[which] - 0.5 * box[0] - more * step]
    )
    return np.column_stack((x, np.tile(height[which], 2)))
