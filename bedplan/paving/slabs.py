"""A region cut into level slabs, so that any level line across it is read off (layer: paving).

Between two neighbouring corners' heights every side of a region is one straight line. Such a
*slab* is a list of *stretches* of ground side by side, each with a left and a right side that
are linear in height. Where several units may stand in one row, and how many, follows from these
numbers alone.

Public entry point: `slabs_of`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from bedplan.paving.rows import Rows, edges_of, spread

Array = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_PLAIN: Final = Rows((1.0, 0.0), 1.0, 1.0, 0.0)
"""Row measure in metres: pitch and rise of 1 m, along x."""


@dataclass(frozen=True)
class Slabs:
    """A region as slabs of stretches, n slabs of at most m stretches each.

    Parameters
    ----------
    levels
        ``(n + 1,)`` heights of the corners, rising [m].
    begin
        ``(n, m, 2)`` where each stretch begins at the foot and at the top of its slab [m],
        from left to right; places not taken are +inf.
    end
        ``(n, m, 2)`` where it ends; places not taken are -inf [m].
    """

    levels: Array
    begin: Array
    end: Array

    def within(self, slab: IntArray, heights: Array) -> tuple[Array, Array]:
        """Return the stretches at heights inside given slabs, begins and ends, ``(k, m)`` [m]."""
        foot, top = self.levels[slab], self.levels[slab + 1]
        part = ((heights - foot) / (top - foot))[:, None]
        return _between(self.begin[slab], part), _between(self.end[slab], part)

    def at_levels(self) -> tuple[Array, Array]:
        """Return the stretches at each level, of the slabs above and below it together.

        A closed region reaches at a corner's height as far as either slab does. Stretches come
        in the order of their begins and may overlap, ``(n + 1, 2 m)`` [m].
        """
        nothing = np.full((1, self.begin.shape[1]), np.inf)
        begin = np.hstack(
            [np.vstack([nothing, self.begin[:, :, 1]]), np.vstack([self.begin[:, :, 0], nothing])]
        )
        end = np.hstack(
            [np.vstack([-nothing, self.end[:, :, 1]]), np.vstack([self.end[:, :, 0], -nothing])]
        )
        order = np.argsort(begin, axis=1, kind="stable")
        return np.take_along_axis(begin, order, 1), np.take_along_axis(end, order, 1)

    def at(self, height: float) -> tuple[Array, Array]:
        """Return the stretches on one level line, from left to right, ``(k,)`` each [m]."""
        slab = int(np.searchsorted(self.levels, height, side="right")) - 1
        if slab >= 0 and self.levels[slab] == height:
            begin, end = (part[slab] for part in self.at_levels())
        elif 0 <= slab < len(self.begin):
            begin, end = (part[0] for part in self.within(np.array([slab]), np.array([height])))
        else:
            begin = end = np.empty(0)
        return begin[begin < np.inf], end[begin < np.inf]


def slabs_of(region: BaseGeometry) -> Slabs:
    """Return a region cut at the height of every corner.

    Parameters
    ----------
    region
        Valid polygon or multipolygon [m], holes allowed; may be empty.

    Examples
    --------
    >>> import shapely
    >>> slabs = slabs_of(shapely.Polygon([(0, 0), (4, 0), (4, 2), (1, 2)]))
    >>> slabs.levels.tolist(), slabs.begin[0].tolist(), slabs.end[0].tolist()
    ([0.0, 2.0], [[0.0, 1.0]], [[4.0, 4.0]])
    """
    edges = edges_of([region], np.zeros((1, 2)), _PLAIN)
    levels = np.unique(np.concatenate([edges.start[:, 1], edges.end[:, 1]]))
    if not len(levels):
        return Slabs(np.zeros(1), np.empty((0, 0, 2)), np.empty((0, 0, 2)))
    first = np.searchsorted(levels, edges.start[:, 1])
    edge, place = spread(np.searchsorted(levels, edges.end[:, 1]) - first)
    slab = first[edge] + place
    at = np.stack(
        [_reach(edges.start[edge], edges.end[edge], levels[slab + up]) for up in (0, 1)], axis=1
    )
    left = edges.side[edge] < 0
    most = int(np.bincount(slab[left], minlength=1).max())
    shape = (len(levels) - 1, most)
    return Slabs(
        levels,
        _table(slab[left], at[left], shape, np.inf),
        _table(slab[~left], at[~left], shape, -np.inf),
    )


def _reach(start: Array, end: Array, heights: Array) -> Array:
    """Return where edges are at given heights, never beyond their own ends [m]."""
    part = (heights - start[:, 1]) / (end[:, 1] - start[:, 1])
    reach: Array = start[:, 0] * (1.0 - part) + end[:, 0] * part
    return reach


def _table(slab: IntArray, at: Array, shape: tuple[int, int], nothing: float) -> Array:
    """Return sides by slab and from left to right, unused places filled."""
    order = np.lexsort((at.sum(axis=1), slab))
    slab, at = slab[order], at[order]
    place = np.arange(len(slab)) - np.searchsorted(slab, slab)
    table = np.full((*shape, 2), nothing)
    table[slab, place] = at
    return table


def _between(sides: Array, part: Array) -> Array:
    """Return sides ``(k, m, 2)`` at parts of the way up; the infinite stay so."""
    with np.errstate(invalid="ignore"):
        along: Array = sides[:, :, 0] + part * (sides[:, :, 1] - sides[:, :, 0])
    return np.where(np.isfinite(sides[:, :, 0]), along, sides[:, :, 0])
