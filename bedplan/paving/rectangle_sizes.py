"""Sizes and places that matter when like rectangles fill a rectangle (layer: paving).

Every packing can be pushed to the left and down until each unit stands against another or the
edge. Then each coordinate is a sum of unit sides: a *normal size*, ``i * long + j * short``.
Pushing first to the right and then to the left leaves fewer still: the *raster*. Searching
there loses nothing, so the work grows with the number of units, never with the fineness of
the length unit.

Public entry points: `normal_size`, `normal_sizes`, `raster`, `partitions`.

References
----------
J. C. Herz, IBM Journal of Research and Development 16, 1972 (normal patterns);
G. Scheithauer and J. Terno, European Journal of Operational Research 88, 1996 (raster points);
K. A. Dowsland, European Journal of Operational Research 1984-87 (equal classes).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]

Spot = tuple[int, int, int, int]
"""A unit in its place: left, bottom, extent along the length, extent across."""

SIZES_AT_MOST = 320
"""More sizes than this are thinned: the tables grow with their square."""

SMALL_COUNT = 11
"""A thinned list keeps the combinations of up to this many sides, from either edge."""


@dataclass(frozen=True)
class Unit:
    """One whole unit, seen without its direction.

    Parameters
    ----------
    long, short
        Its sides in whole length units, ``long >= short >= 1``.
    """

    long: int
    short: int

    @property
    def area(self) -> int:
        """Area in square length units."""
        return self.long * self.short


def decompose(side: int, unit: Unit) -> tuple[int, int]:
    """Return how many long and short sides come nearest to `side` without passing it.

    Fewer long sides than ``short`` are enough: ``short`` long sides are as long as ``long``
    short ones. First principles.
    """
    count = min(side // unit.long, unit.short)
    longs = min(range(count + 1), key=lambda i: (side - i * unit.long) % unit.short)
    return longs, (side - longs * unit.long) // unit.short


def normal_size(side: int, unit: Unit) -> int:
    """Return the largest sum of unit sides that is at most `side`.

    Examples
    --------
    >>> normal_size(11, Unit(7, 3))
    10
    """
    longs, shorts = decompose(side, unit)
    return longs * unit.long + shorts * unit.short


def normal_sizes(side: int, unit: Unit) -> IntArray:
    """Return all sums of unit sides up to `side`, rising, 0 included; thinned where too many.

    A thinned list keeps the sums of few sides and what they leave of `side`; patterns found
    with it are sound, only perhaps not the best. Bounds must not be drawn from it.

    Examples
    --------
    >>> normal_sizes(11, Unit(7, 3)).tolist()
    [0, 3, 6, 7, 9, 10]
    """
    sums = all_normal_sizes(side, unit)
    return thinned_sizes(side, unit) if sums is None else sums


def all_normal_sizes(side: int, unit: Unit) -> IntArray | None:
    """Return every sum of unit sides up to `side`, rising; None where they are too many."""
    rows = side // unit.long + 1
    if rows * (side // unit.short + 1) > 400 * SIZES_AT_MOST:
        return None
    sums = np.unique(
        np.concatenate([np.arange(i * unit.long, side + 1, unit.short) for i in range(rows)])
    )
    return sums.astype(np.int64) if len(sums) <= SIZES_AT_MOST else None


def thinned_sizes(side: int, unit: Unit) -> IntArray:
    """Return the sums of few unit sides up to `side`, and the normal sizes they leave of it."""
    sums = {
        i * unit.long + j * unit.short
        for i in range(SMALL_COUNT + 1)
        for j in range(SMALL_COUNT + 1 - i)
    }
    near = {value for value in sums if value <= side}
    far = {normal_size(side - value, unit) for value in near}
    return np.array(sorted(near | far), dtype=np.int64)


def at_most(sizes: IntArray, values: IntArray) -> IntArray:
    """Return, for each value, the index of the largest size that is not above it."""
    found: IntArray = np.searchsorted(sizes, values, side="right") - 1
    return found


def raster(side: int, extent: int, sizes: IntArray) -> IntArray:
    """Return where a unit that takes `extent` along a side may start, rising.

    Pushed right, the gap to the right of a unit is a normal size; pushed left again, its start
    is the largest normal size not above the rest. Both pushes keep the order and the spacing
    of all units, because the largest normal size is superadditive (Scheithauer and Terno 1996;
    the restriction to one extent follows from the same two pushes).

    Examples
    --------
    >>> raster(11, 7, normal_sizes(11, Unit(7, 3))).tolist()
    [0, 3]
    """
    gaps = sizes[sizes <= side - extent]
    starts: IntArray = np.unique(sizes[at_most(sizes, side - extent - gaps)])
    return starts


def partitions(side: int, unit: Unit) -> IntArray:
    """Return the efficient partitions of a side: `(n, 2)` long sides, and the shorts they leave.

    Two rectangles with the same efficient partitions hold the same packings
    (Dowsland, EJOR 1984).
    """
    longs = np.arange(side // unit.long + 1, dtype=np.int64)
    return np.stack([longs, (side - longs * unit.long) // unit.short], axis=1)
