"""A bond's lattice seen as rows, and regions' edges measured in them (layer: paving engine).

Any lattice is a stack of *rows*: points one *pitch* apart, each row one *rise* above the last
and *slid* along by a part of the pitch. In row measure a point is ``(u, t)``: pitches along,
rises across. A region in row measure is kept as its *edges*, each a left or a right side of the
ground beside it, for that is all that counting needs.

Public entry points: `rows_of`, `rows_along`, `edges_of`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from bedplan.geometry.tolerance import GRID_M

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_MOST_STEPS = 6
_STEPS = tuple(
    (a, b)
    for a in range(-_MOST_STEPS, _MOST_STEPS + 1)
    for b in range(_MOST_STEPS + 1)
    if math.gcd(a, b) == 1
)
"""Steps of a lattice, in multiples of its two, that are tried as rows."""


@dataclass(frozen=True)
class Rows:
    """A lattice as rows.

    Parameters
    ----------
    along
        Unit direction of the rows, ``(2,)``; rows rise to its left.
    pitch_m, rise_m
        Distance of points in a row, and of rows [m].
    slide
        How far each row is slid from the one before [pitch], 0 ≤ slide < 1.
    """

    along: tuple[float, float]
    pitch_m: float
    rise_m: float
    slide: float

    def measure(self, points: Array) -> Array:
        """Return points ``(n, 2)`` [m] in row measure, ``(n, 2)``."""
        across = (-self.along[1], self.along[0])
        return np.column_stack(
            (points @ np.array(self.along) / self.pitch_m, points @ np.array(across) / self.rise_m)
        )

    def metres(self, points: Array) -> Array:
        """Return points ``(n, 2)`` in row measure as x and y [m]."""
        across = (-self.along[1], self.along[0])
        return points[:, :1] * (self.pitch_m * np.array(self.along)) + points[:, 1:] * (
            self.rise_m * np.array(across)
        )


def rows_of(lattice: Array) -> Rows:
    """Return a lattice as rows, along x or y where it has a short step that way.

    Parameters
    ----------
    lattice
        ``(2, 2)`` steps as rows [m].

    Notes
    -----
    Sides of a region that run along or square to the rows are counted without any search, and
    beds are mostly square to their paths; hence the choice. Otherwise the shortest step is
    taken. Any choice gives the same count.

    Examples
    --------
    >>> rows_of(np.array([[0.1, 0.1], [0.2, -0.2]])).pitch_m
    0.4
    """
    vectors = np.array(_STEPS) @ lattice
    lengths = np.hypot(vectors[:, 0], vectors[:, 1])
    upright = np.min(np.abs(vectors), axis=1) < GRID_M
    return _rows_by(lattice, int(np.argmin(np.where(upright | ~np.any(upright), lengths, np.inf))))


def rows_across(lattice: Array, rows: Rows) -> Rows:
    """Return the same lattice as rows most nearly square to given ones, short steps first."""
    vectors = np.array(_STEPS) @ lattice
    lengths = np.hypot(vectors[:, 0], vectors[:, 1])
    slant = np.abs(vectors @ np.array(rows.along)) / lengths
    return _rows_by(lattice, int(np.lexsort((lengths, np.round(slant, 1)))[0]))


def rows_along(lattice: Array, way: Array) -> Rows | None:
    """Return the same lattice as rows exactly along a unit direction, if short steps run so.

    Examples
    --------
    >>> brick = np.array([[0.2, 0.0], [0.1, 0.1]])
    >>> rows_along(brick, np.array([0.0, 1.0])).pitch_m
    0.2
    >>> rows_along(brick, np.array([0.6, 0.8])) is None
    True
    """
    vectors = np.array(_STEPS) @ lattice
    aside = np.abs(vectors @ np.array([-way[1], way[0]]))
    lengths = np.where(aside < GRID_M, np.hypot(vectors[:, 0], vectors[:, 1]), np.inf)
    step = int(np.argmin(lengths))
    return _rows_by(lattice, step) if math.isfinite(lengths[step]) else None


def _rows_by(lattice: Array, step: int) -> Rows:
    """Return a lattice as rows along one of its steps."""
    a, b = _STEPS[step]
    first, other = np.array([(a, b), _partner(a, b)]) @ lattice
    pitch = float(np.hypot(*first))
    along = first / pitch
    rise = float(along[0] * other[1] - along[1] * other[0])
    slide = math.copysign(1.0, rise) * float(other @ along) / pitch
    return Rows((float(along[0]), float(along[1])), pitch, abs(rise), slide % 1.0)


def _partner(a: int, b: int) -> tuple[int, int]:
    """Return whole numbers (c, d) with ``a d - b c = ±1``, so that both steps span the lattice."""
    return next(
        (c, d)
        for c in range(_MOST_STEPS + 1)
        for d in range(-_MOST_STEPS, _MOST_STEPS + 1)
        if abs(a * d - b * c) == 1
    )


@dataclass(frozen=True)
class Edges:
    """Edges of regions in row measure, rising, left sides first; level ones left out.

    Parameters
    ----------
    start, end
        ``(n, 2)`` lower and upper ends (u, t), t rising.
    side
        ``(n,)`` -1 where ground begins at the edge going along the row, +1 where it ends.
    owner
        ``(n,)`` index of the region each edge belongs to.
    """

    start: Array
    end: Array
    side: IntArray
    owner: IntArray

    def slope(self) -> Array:
        """Return how far along each edge moves per row, ``(n,)``."""
        run = self.end - self.start
        slope: Array = run[:, 0] / run[:, 1]
        return slope


def edges_of(regions: Sequence[BaseGeometry], offsets: Array, rows: Rows) -> Edges:
    """Return the edges of several regions, each moved back by its offset.

    Parameters
    ----------
    regions
        Polygons or multipolygons [m]; may be empty.
    offsets
        ``(len(regions), 2)`` [m].
    rows
        The lattice the edges are measured in.
    """
    runs, owners = [np.empty((0, 2, 2))], [np.empty(0, dtype=np.int64)]
    for index, (region, offset) in enumerate(zip(regions, offsets, strict=True)):
        for ring in shapely.get_rings(shapely.orient_polygons(shapely.get_parts(region))):
            corners = rows.measure(shapely.get_coordinates(ring) - offset)
            runs.append(np.stack([corners[:-1], corners[1:]], axis=1))
            owners.append(np.full(len(corners) - 1, index))
    run, owner = np.concatenate(runs), np.concatenate(owners)
    climb = run[:, 1, 1] - run[:, 0, 1]
    order = np.argsort(climb > 0.0, kind="stable")
    order = order[climb[order] != 0.0]
    run, up, owner = run[order], climb[order] > 0.0, owner[order]
    start = np.where(up[:, None], run[:, 0], run[:, 1])
    end = np.where(up[:, None], run[:, 1], run[:, 0])
    return Edges(start, end, np.where(up, 1, -1), owner)


def spread(counts: IntArray) -> tuple[IntArray, IntArray]:
    """Return, for groups of given sizes laid end to end, each item's group and place in it.

    Examples
    --------
    >>> [part.tolist() for part in spread(np.array([2, 0, 1]))]
    [[0, 0, 2], [0, 1, 0]]
    """
    group = np.repeat(np.arange(len(counts)), counts)
    first = np.cumsum(counts) - counts
    return group, np.arange(len(group)) - first[group]


@dataclass(frozen=True)
class Runs:
    """Stretches of ground along lattice rows at one shift, in the order of owner and row.

    Parameters
    ----------
    owner, row
        ``(n,)`` region and row of each.
    begin, end
        ``(n,)`` where it begins and ends, counted in pitches from the row's first point.
    """

    owner: IntArray
    row: IntArray
    begin: Array
    end: Array

    def sites(self) -> IntArray:
        """Return the lattice points on the ground, ``(n, 3)``: region, row, place in the row."""
        first, last = np.ceil(self.begin), np.floor(self.end)
        run, step = spread(np.maximum(last - first + 1, 0).astype(np.int64))
        return np.column_stack(
            (self.owner[run], self.row[run], first[run].astype(np.int64) + step)
        )

    def count(self) -> int:
        """Return how many lattice points are on the ground."""
        length = np.floor(self.end) - np.ceil(self.begin) + 1.0
        return int(np.sum(np.maximum(length, 0.0)))

    def slack(self) -> tuple[float, float]:
        """Return the least slack behind and ahead of the lattice points on the ground [pitch]."""
        first, last = np.ceil(self.begin), np.floor(self.end)
        taken = first <= last
        if not np.any(taken):
            return 0.0, 0.0
        return float((first - self.begin)[taken].min()), float((self.end - last)[taken].min())


def runs_at(edges: Edges, shift: Sequence[float] | Array, slide: float) -> Runs:
    """Return the ground along every lattice row at one shift.

    Parameters
    ----------
    edges
        Boundaries of the regions.
    shift
        Where the lattice's first point is (u, t).
    slide
        Slide of each row [pitch].
    """
    low = np.ceil(edges.start[:, 1] - shift[1]).astype(np.int64)
    high = np.ceil(edges.end[:, 1] - shift[1]).astype(np.int64)
    edge, place = spread(high - low)
    row, owner = low[edge] + place, edges.owner[edge]
    climb = row + shift[1] - edges.start[edge, 1]
    at = edges.start[edge, 0] + climb * edges.slope()[edge] - row * slide - shift[0]
    order = np.lexsort((at, row, owner))
    begins = order[edges.side[edge[order]] < 0]
    ends = order[edges.side[edge[order]] > 0]
    return Runs(owner[begins], row[begins], at[begins], at[ends])
