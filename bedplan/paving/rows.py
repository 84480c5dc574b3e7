"""A bond's lattice seen as rows, and regions' edges measured in them (layer: paving engine).

Any lattice is a stack of *rows*: points one *pitch* apart, each row one *rise* above the last
and *slid* along by a part of the pitch. In row measure a point is ``(u, t)``: pitches along,
rises across. A region in row measure is kept as its *edges*, each a left or a right side of the
ground beside it, for that is all that counting needs.

Public entry points: `rows_of`, `edges_of`.
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
"""How many lattice steps are tried when looking for a row along x or y."""


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
        return np.column_stack((points @ np.array(self.along) / self.pitch_m,
                                points @ np.array(across) / self.rise_m))

    def metres(self, points: Array) -> Array:
        """Return points ``(n, 2)`` in row measure as x and y [m]."""
        across = (-self.along[1], self.along[0])
        return (points[:, :1] * (self.pitch_m * np.array(self.along))
                + points[:, 1:] * (self.rise_m * np.array(across)))


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
    steps = [(a, b) for a in range(-_MOST_STEPS, _MOST_STEPS + 1)
             for b in range(_MOST_STEPS + 1) if math.gcd(a, b) == 1]
    vectors = np.array(steps) @ lattice
    lengths = np.hypot(vectors[:, 0], vectors[:, 1])
    upright = np.min(np.abs(vectors), axis=1) < GRID_M
    best = int(np.argmin(np.where(upright | ~np.any(upright), lengths, np.inf)))
    a, b = steps[best]
    along = vectors[best] / lengths[best]
    other = np.array(_partner(a, b)) @ lattice
    rise = float(along[0] * other[1] - along[1] * other[0])
    slide = math.copysign(1.0, rise) * float(other @ along) / float(lengths[best])
    return Rows((float(along[0]), float(along[1])), float(lengths[best]), abs(rise), slide % 1.0)


def _partner(a: int, b: int) -> tuple[int, int]:
    """Return whole numbers (c, d) with ``a d - b c = ±1``, so that both steps span the lattice."""
    return next((c, d) for c in range(_MOST_STEPS + 1) for d in range(-_MOST_STEPS,
                _MOST_STEPS + 1) if abs(a * d - b * c) == 1)


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

    def levels(self) -> Array:
        """Return the fractions of a row at which edges begin or end, rising, from 0 to 1."""
        ends = np.concatenate((self.start[:, 1], self.end[:, 1]))
        inside = np.unique(np.round(ends - np.floor(ends), 12))
        return np.concatenate(([0.0], inside[(inside > 0.0) & (inside < 1.0)], [1.0]))


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


def lattice_sites(edges: Edges, shift: tuple[float, float], slide: float) -> IntArray:
    """Return which lattice points fall inside which region at one shift.

    Parameters
    ----------
    edges
        Boundaries of the regions.
    shift
        Where the lattice's first point is (u, t).
    slide
        Slide of each row [pitch].

    Returns
    -------
    sites
        ``(n, 3)`` whole numbers: region, row, place in the row; sorted so.
    """
    low = np.ceil(edges.start[:, 1] - shift[1]).astype(np.int64)
    high = np.ceil(edges.end[:, 1] - shift[1]).astype(np.int64)
    edge, place = spread(high - low)
    row = low[edge] + place
    climb = row + shift[1] - edges.start[edge, 1]
    at = edges.start[edge, 0] + climb * edges.slope()[edge] - row * slide - shift[0]
    order = np.lexsort((at, row, edges.owner[edge]))
    begins = order[edges.side[edge[order]] < 0]
    ends = order[edges.side[edge[order]] > 0]
    first = np.ceil(at[begins]).astype(np.int64)
    last = np.floor(at[ends]).astype(np.int64)
    run, step = spread(np.maximum(last - first + 1, 0))
    return np.column_stack((edges.owner[edge[begins]][run], row[begins][run], first[run] + step))
