"""Weighted points, and the proof that every unit covers enough weight (layer: paving engine).

If every unit that may lie in the ground covers weight 1 of the points, there are no more units
than the points weigh, for no point is covered twice. What a unit covers changes only where a
side of it passes a point, so the ground falls into finitely many cells; each is looked at, in
whole numbers.

Public entry points: `cells_of`, `repaired`.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from bedplan.paving.bound_points import Kind
from bedplan.paving.course_counts import Array, IntArray
from bedplan.paving.strips import bands

BoolArray = npt.NDArray[np.bool_]

WORTH: Final = 10_000_000
"""Whole-number weight of one unit."""

_SAME_M: Final = 2e-10
"""Cell sides nearer than this are one; far less than a box's hair."""

_ROUNDS: Final = 40


class Cells(NamedTuple):
    """Cells of ground where units of one kind may have their centres.

    Parameters
    ----------
    west, east, south, north
        ``(n,)`` their sides [m].
    covered
        ``(n,)`` the weight a unit centred there covers.
    """

    west: Array
    east: Array
    south: Array
    north: Array
    covered: IntArray

    def centres(self) -> Array:
        """Return the middle of each, ``(n, 2)`` [m]."""
        return 0.5 * np.column_stack((self.west + self.east, self.south + self.north))


def cells_of(kind: Kind, points: Array, weights: IntArray) -> Cells:
    """Return the cells and the weight covered in each, in whole numbers.

    Notes
    -----
    Boxes are closed: on the side of a cell a unit covers no less than within it. Sides of cells
    that lie within `_SAME_M` of each other are taken for one, and boxes are smaller than modules
    by many times that, so what is counted is never more than what a unit covers.
    """
    points, weights = points[weights > 0], weights[weights > 0]
    west, south, east, north = kind.places.bounds
    sides = [
        np.column_stack((points[:, axis] - half, points[:, axis] + half))
        for axis, half in enumerate(0.5 * kind.box)
    ]
    x, y = _merged(sides[0], west, east), _merged(sides[1], south, north)
    (x0, x1), (y0, y1) = (
        np.searchsorted(edges, side - _SAME_M).T for edges, side in zip((x, y), sides, strict=True)
    )
    table = np.zeros((len(y) + 1, len(x) + 1), dtype=np.int64)
    for rows, columns, sign in ((y0, x0, 1), (y1, x1, 1), (y0, x1, -1), (y1, x0, -1)):
        np.add.at(table, (rows, columns), sign * weights)
    covered = table.cumsum(axis=0).cumsum(axis=1)
    row, column = np.nonzero(_touched(kind, x, y))
    return Cells(x[column], x[column + 1], y[row], y[row + 1], covered[row, column])


def _merged(sides: Array, low: float, high: float) -> Array:
    """Return all sides and the ends of the ground, rising, those that are the same made one."""
    edges = np.unique(np.append(sides, [low, high]))
    distinct: Array = edges[np.append(True, np.diff(edges) > _SAME_M)]
    return distinct


def _touched(kind: Kind, x: Array, y: Array) -> BoolArray:
    """Tell which cells between sides hold ground, by row and column."""
    low, high = float(kind.rows.levels[0]), float(kind.rows.levels[-1])
    cuts = np.unique(np.clip(y, low, high))
    begin, end = bands(kind.rows, cuts)
    band, place = np.nonzero(begin < np.inf)
    row = np.searchsorted(y, 0.5 * (cuts[:-1] + cuts[1:]))[band] - 1
    first = np.maximum(np.searchsorted(x, begin[band, place] + _SAME_M) - 1, 0)
    last = np.searchsorted(x, end[band, place] - _SAME_M)
    marks = np.zeros((len(y), len(x) + 1), dtype=np.int64)
    np.add.at(marks, (row, first), 1)
    np.add.at(marks, (row, np.maximum(last, first + 1)), -1)
    touched: BoolArray = marks.cumsum(axis=1)[:-1, : len(x) - 1] > 0
    return touched


def repaired(kinds: tuple[Kind, ...], points: Array, weights: IntArray) -> int | None:
    """Return the whole weight once weight is added wherever too little was covered.

    Returns
    -------
    total
        In units of `WORTH`, or None where it could not be mended.
    """
    weights = weights.copy()
    for _ in range(_ROUNDS):
        short = False
        for kind in kinds:
            cells = cells_of(kind, points, weights)
            poor = np.flatnonzero(cells.covered < WORTH)
            if len(poor):
                short = True
                if not _mended(kind, points, weights, (cells, poor)):
                    return None
        if not short:
            return int(weights.sum())
    return None


def _mended(kind: Kind, points: Array, weights: IntArray, found: tuple[Cells, IntArray]) -> bool:
    """Add what is missing to the point that helps most; one for each box's width of ground."""
    cells, poor = found
    at = cells.centres()[poor]
    missing = WORTH - cells.covered[poor]
    left = np.ones(len(poor), dtype=bool)
    for place in np.argsort(-missing, kind="stable").tolist():
        if not left[place]:
            continue
        over = covering(kind, points, at[place])
        near = np.all(np.abs(at - at[place]) <= kind.box, axis=1)
        if not len(over):
            return False
        held = np.abs(at[near][None] - points[over][:, None]) <= 0.5 * kind.box
        best = over[int((np.all(held, axis=2) * missing[near]).sum(axis=1).argmax())]
        weights[best] += missing[place]
        left &= ~near
    return True


def covering(kind: Kind, points: Array, centre: Array) -> IntArray:
    """Return the points, which rise in y, that a unit covers."""
    half = 0.5 * kind.box
    low = int(np.searchsorted(points[:, 1], centre[1] - half[1]))
    high = int(np.searchsorted(points[:, 1], centre[1] + half[1], side="right"))
    return low + np.flatnonzero(np.abs(points[low:high, 0] - centre[0]) <= half[0])
