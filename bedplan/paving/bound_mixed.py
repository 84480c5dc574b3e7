"""How many units lying along a direction or across it a region holds at most (layer: paving).

Points are weighed by a linear programme so that every unit, either way round, covers at least
weight 1; no more units fit than the points weigh in all. This is the dual of packing fractions
of units, and falls below any cover by whole boxes. The programme knows some thousand places;
the weights it gives are then checked at every place there is (`bound_weights`), and where they
fall short the place is put to the programme and weight is added.

Public entry point: `mixed_bound`.

References
----------
For units in a rectangle: H. Isermann, OR Spektrum 9, 1987; A. N. Letchford and A. Amaral,
European Journal of Operational Research 132, 2001. For any ground: first principles.
"""

from __future__ import annotations

import math
from time import monotonic
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.errors import GeometryError
from bedplan.geometry.tolerance import FIT_M
from bedplan.paving.bound_alike import line_bound
from bedplan.paving.bound_any import upper_bound
from bedplan.paving.bound_points import Kind, kind_of, points_over
from bedplan.paving.bound_weights import WORTH, cells_of, covering, repaired
from bedplan.paving.course_counts import Array, IntArray
from bedplan.paving.free_spots import packed_rows
from bedplan.paving.shift import unit_places

_GRID_PARTS: Final = 6
"""First places looked at: so many in the side of a module."""

_NEW_PARTS: Final = 12
"""Of the places short of weight in one such part of a module, the shortest is added."""

_NEGLIGIBLE: Final = 2_000
"""Weights below this are left out: a solver's idea of nothing."""

_REACHED: Final = 0.999
"""A unit that covers so much is not put to the programme again."""

_AMPLE: Final = 1.15
"""A unit that covers so much is left out of the programme until it is short of weight."""

_RISING: Final = 1.001
"""Nothing is left out once the programme rises by less, lest it go round in circles."""

_POINTS_AT_MOST: Final = 25_000
"""With more the programme alone would take minutes."""


def mixed_bound(  # noqa: PLR0913 - the arguments of line_bound, and what it may cost
    region: BaseGeometry,
    length_m: float,
    width_m: float,
    joint_m: float,
    direction_deg: float = 0.0,
    *,
    both_ways: bool = True,
    enough: int = 0,
    time_limit_s: float = 10.0,
) -> int:
    """Return a number that no set of whole units along a direction or across can exceed.

    Parameters
    ----------
    region
        Where units may lie [m]; may be empty.
    length_m, width_m
        Face of the unit [m], > 0.
    joint_m
        Least gap between units [m], ≥ 0.
    direction_deg
        Direction that every unit's length lies along or square to [deg].
    both_ways
        False: every length lies along it, as for `line_bound`.
    enough
        A count already reached; a bound that meets it ends the search.
    time_limit_s
        No programme is begun after this [s]. Until the weights hold the bound is
        `upper_bound`, so in ground for many hundred units it takes its time to be of use.

    Returns
    -------
    most
        Whole number, ≥ 0, never more than `upper_bound` nor, for units turned alike or square,
        than `line_bound`. It holds even if each unit presses
        twice `tolerance.FIT_M` into the edge of the region.

    Raises
    ------
    GeometryError
        As for `line_bound`.

    Notes
    -----
    The joint is measured along and across, as for `line_bound`.

    Examples
    --------
    >>> import shapely
    >>> mixed_bound(shapely.box(0, 0, 5, 5), 3, 2, 0.0)
    4
    """
    if not (math.isfinite(direction_deg) and joint_m < math.inf):
        message = f"no units with a joint of {joint_m} m in direction {direction_deg}"
        raise GeometryError(message)
    most = upper_bound(region, length_m, width_m, joint_m)
    if not both_ways or abs(length_m - width_m) < FIT_M:
        alike = line_bound(region, length_m, width_m, joint_m, direction_deg, enough=enough)
        most = min(most, alike)
    kinds = _kinds(region, (length_m, width_m), joint_m, direction_deg, both_ways=both_ways)
    if not kinds:
        return 0
    if most <= enough:
        return most
    deadline = monotonic() + time_limit_s
    return min(most, _weighed(kinds, max(enough, 0), most, deadline))


def _kinds(
    region: BaseGeometry,
    face_m: tuple[float, float],
    joint_m: float,
    direction_deg: float,
    *,
    both_ways: bool,
) -> tuple[Kind, ...]:
    """Return the ways a unit may lie in the region, in a frame turned to the direction."""
    if region.is_empty:
        return ()
    west, south, east, north = region.bounds
    origin = (0.5 * (west + east), 0.5 * (south + north))
    square = abs(face_m[0] - face_m[1]) < FIT_M
    faces = [face_m, face_m[::-1]][: 1 + (both_ways and not square)]
    places = [unit_places(region, origin, direction_deg, *face, 2.0 * FIT_M) for face in faces]
    return tuple(
        kind_of(each, np.array(face) + joint_m)
        for each, face in zip(places, faces, strict=True)
        if not each.is_empty
    )


def _weighed(kinds: tuple[Kind, ...], enough: int, most: int, deadline: float) -> int:
    """Return the least bound found before the deadline, with few points first, then more."""
    places = [(kind, at) for kind in kinds for at in _first_places(kind)]
    for fineness in _FINENESS:
        points = points_over(kinds, *fineness)
        if len(points) > _POINTS_AT_MOST or most <= enough or monotonic() > deadline:
            break
        most, places = _priced(kinds, points, places, (enough, most, deadline))
    return most


def _priced(
    kinds: tuple[Kind, ...],
    points: Array,
    places: list[tuple[Kind, Array]],
    search: tuple[int, int, float],
) -> tuple[int, list[tuple[Kind, Array]]]:
    """Return the least bound some points give, and the places that matter."""
    from bedplan.paving.rectangle_prices import (  # noqa: PLC0415 - loads the solver, 76 ms
        dual_prices,
    )

    (enough, most, deadline), before = search, 0
    covers = [covering(kind, points, at) for kind, at in places]
    while monotonic() < deadline and most > enough:
        prices = dual_prices(covers, len(points), deadline - monotonic())
        weights = np.rint(np.clip(prices, 0.0, 1.0) * WORTH).astype(np.int64)
        weights[weights < _NEGLIGIBLE] = 0
        if not np.any(weights):
            break  # the solver ran out of time
        total = repaired(kinds, points, weights)
        most = most if total is None else min(most, total // WORTH)
        if weights.sum() > _RISING * before:
            tight = _tight(covers, weights)
            places, covers = [places[i] for i in tight], [covers[i] for i in tight]
        before = int(weights.sum())
        short = [(kind, at) for kind in kinds for at in _short_places(kind, points, weights)]
        if not short or int(weights.sum()) // WORTH >= most:
            break
        places += short
        covers += [covering(kind, points, at) for kind, at in short]
    return most, places


def _tight(covers: list[IntArray], weights: IntArray) -> list[int]:
    """Return which covers are not far above need; others seldom matter to the programme."""
    starts = np.cumsum([0, *map(len, covers)])[:-1]
    held = np.add.reduceat(weights[np.concatenate(covers)], starts)
    return [int(i) for i in np.flatnonzero(held <= _AMPLE * WORTH)]


_FINENESS: Final = ((2, 16), (4, 32), (6, 64))
"""Strips a box, and steps a side of a box, from quick to good."""


def _first_places(kind: Kind) -> Array:
    """Return a grid of places, and rows and columns packed from both ends, ``(n, 2)`` [m]."""
    west, south, east, north = kind.places.bounds
    step = kind.box / _GRID_PARTS
    x, y = np.arange(west, east, step[0]), np.arange(south, north, step[1])
    grid = np.stack(np.meshgrid(x, y), -1).reshape(-1, 2)
    rows, columns = (
        packed_rows(slabs, np.union1d(regular, slabs.levels), ends, float(size), np.zeros(1))
        for slabs, regular, ends, size in (
            (kind.rows, y, (west, east), kind.box[0]),
            (kind.columns, x, (south, north), kind.box[1]),
        )
    )
    places = np.concatenate([grid, rows, columns[:, ::-1]])
    inside = places[shapely.intersects_xy(kind.places, *places.T)]
    return np.concatenate([inside, shapely.get_coordinates(kind.places)])


def _short_places(kind: Kind, points: Array, weights: IntArray) -> Array:
    """Return places where a unit covers too little, the least of each part of a module."""
    cells = cells_of(kind, points, weights)
    short = np.flatnonzero(cells.covered < _REACHED * WORTH)
    at = cells.centres()[short]
    part = np.floor((at - kind.places.bounds[:2]) / kind.box * _NEW_PARTS)
    order = np.lexsort((cells.covered[short], part[:, 0], part[:, 1]))
    part = part[order]
    first = np.append(True, np.any(part[1:] != part[:-1], axis=1))[: len(order)]
    least: Array = at[order[first]]
    return least
