"""The middle of all the shifts that lay the very same units (layer: paving engine).

Once the best shift is known, the pattern can mostly be moved a little with every unit staying
inside the region. Its middle shares the slack out, so that margins look even.

Public entry point: `middle_move`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_AT_ONCE = 4
"""How many units cut the free moves between two looks at which units still do."""


def middle_move(places: Sequence[BaseGeometry], which: IntArray, at: Array,
                reach_m: float) -> Array:
    """Return the move that brings a laying to the middle of its free moves.

    Parameters
    ----------
    places
        Where centres may be, for each unit of the motif [m].
    which, at
        For each unit laid, its index in `places` and its centre, ``(n,)`` and ``(n, 2)`` [m].
    reach_m
        A move longer than this leads to no new margin [m].

    Returns
    -------
    move
        ``(2,)`` [m]: the centroid of the free moves that can be reached without lifting a
        unit out of the region, or the middle of the largest circle in them if the centroid is
        not one of them. Zero where there is no room at all.
    """
    free = _free_moves(places, which, at, reach_m)
    if free.is_empty or free.area == 0.0:
        return np.zeros(2)
    middle = free.centroid
    if not free.covers(middle):
        middle = shapely.get_point(shapely.maximum_inscribed_circle(free), 0)
    return np.array([middle.x, middle.y])


def _free_moves(places: Sequence[BaseGeometry], which: IntArray, at: Array,
                reach_m: float) -> BaseGeometry:
    """Return every move, connected to none at all, that keeps each centre in its places."""
    free = shapely.box(-reach_m, -reach_m, reach_m, reach_m)
    for index, place in enumerate(places):
        shapely.prepare(place)
        edge = place.boundary
        shapely.prepare(edge)
        mine = at[which == index]
        near = shapely.distance(shapely.points(mine), edge)
        waiting = mine[np.argsort(near)]
        while len(waiting):
            stays = shapely.covers(place, _copies(free, waiting))
            waiting = waiting[~stays]
            for x, y in waiting[:_AT_ONCE].tolist():
                free = _piece_at_rest(shapely.intersection(free, _moved(place, -x, -y)))
            waiting = waiting[_AT_ONCE:]
    return free


def _copies(shape: BaseGeometry, moves: Array) -> npt.NDArray[np.object_]:
    """Return one copy of a shape at each move."""
    corners = shapely.get_coordinates(shape)
    copies = np.full(len(moves), shape, dtype=object)
    placed: npt.NDArray[np.object_] = shapely.set_coordinates(
        copies, (moves[:, None, :] + corners[None]).reshape(-1, 2))
    return placed


def _moved(shape: BaseGeometry, x_m: float, y_m: float) -> BaseGeometry:
    return shapely.transform(shape, lambda points: points + np.array([x_m, y_m]))


def _piece_at_rest(moves: BaseGeometry) -> BaseGeometry:
    """Return the piece of a set of moves that holds, or comes nearest to, no move at all."""
    pieces = [piece for piece in shapely.get_parts(moves) if piece.geom_type == "Polygon"]
    if not pieces:
        return shapely.Polygon()
    return min(pieces, key=Point(0.0, 0.0).distance)
