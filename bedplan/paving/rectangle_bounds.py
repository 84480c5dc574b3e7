"""How many units a rectangle can hold at most, by arithmetic alone (layer: paving).

Barnes's bound counts the waste that strips one unit long, and strips one unit short, cannot
avoid. It is taken over the whole *class of equal instances*: any other unit ``p × q`` for
which at least the same rows fit gives a valid bound too, because a packing depends only on
which rows of long and short sides fit along either side.

Public entry points: `class_bound`, `critical_ratios`, `bound_table`.

References
----------
F. W. Barnes, Discrete Mathematics 26, 1979 (packing with strips, waste of a large box);
K. A. Dowsland, European Journal of Operational Research 1984-87 (the class of equal instances);
A. N. Letchford and A. Amaral, European Journal of Operational Research 132, 2001 (bounds
compared).
"""

from __future__ import annotations

from itertools import combinations, pairwise
from math import gcd

import numpy as np

from bedplan.paving.rectangle_sizes import IntArray, Unit, partitions

ROWS_AT_MOST = 200
"""With more long sides in a row than this only the instance itself is looked at."""

CELLS_AT_MOST = 1_500_000
"""Entries of the largest array a table of bounds is made from."""


def strip_waste(length: int, width: int, strip: int) -> int:
    """Return the area no packing by straight strips of one length can use (Barnes 1979).

    Examples
    --------
    >>> strip_waste(5, 5, 2)
    1
    """
    rest, other = length % strip, width % strip
    return min(rest * other, (strip - rest) * (strip - other))


def barnes_bound(length: int, width: int, unit: Unit) -> int:
    """Return Barnes's bound for one instance.

    Examples
    --------
    >>> barnes_bound(14, 10, Unit(3, 2)), 14 * 10 // 6
    (23, 23)
    """
    waste = max(strip_waste(length, width, strip) for strip in (unit.long, unit.short))
    return (length * width - waste) // unit.area


def critical_ratios(length: int, width: int, unit: Unit) -> IntArray:
    """Return unit shapes ``(p, q)`` worth trying in the class, `(n, 2)` whole numbers.

    The fitted sides ``max(i p + j q)`` are convex and piecewise linear in ``p / q``. The list
    holds the instance's own shape, every shape at which two efficient partitions are equally
    long, and one shape between each pair of neighbours.
    """
    common = gcd(unit.long, unit.short)
    found = {(unit.long // common, unit.short // common)}
    if max(length, width) // unit.long <= ROWS_AT_MOST:
        for side in (length, width):
            found |= equal_shapes(partitions(side, unit).tolist())
    shapes = sorted(found, key=lambda shape: shape[0] / shape[1])
    between = [(a + c, b + d) for (a, b), (c, d) in pairwise(shapes)]
    return np.array(list(dict.fromkeys(shapes + between)), dtype=np.int64)


def equal_shapes(rows: list[list[int]]) -> set[tuple[int, int]]:
    """Return the unit shapes at which two partitions of a side are equally long."""
    changes = {(b[0] - a[0], a[1] - b[1]) for a, b in combinations(rows, 2)}
    return {
        (shorts // gcd(longs, shorts), longs // gcd(longs, shorts))
        for longs, shorts in changes
        if shorts > 0
    }


def fitted(sizes: IntArray, unit: Unit, shapes: IntArray) -> IntArray:
    """Return the least side that holds all rows of each size, for each shape: `(n, shapes)`."""
    longs = np.arange(int(sizes[-1]) // unit.long + 1, dtype=np.int64)
    left = sizes[:, None] - longs * unit.long
    shorts = left // unit.short
    rows = longs[:, None] * shapes[:, 0] + shorts[:, :, None] * shapes[:, 1]
    rows[left < 0] = 0
    best: IntArray = rows.max(axis=1)
    return best


def barnes_bounds(lengths: IntArray, widths: IntArray, shapes: IntArray) -> IntArray:
    """Return Barnes's bound for arrays of instances; the last axis runs over the shapes."""
    wastes = []
    for strip in (shapes[:, 0], shapes[:, 1]):
        rest, other = lengths % strip, widths % strip
        wastes.append(np.minimum(rest * other, (strip - rest) * (strip - other)))
    bounds: IntArray = (lengths * widths - np.maximum(*wastes)) // (shapes[:, 0] * shapes[:, 1])
    return bounds


def class_bound(length: int, width: int, unit: Unit, shapes: IntArray) -> int:
    """Return the least Barnes bound over the given shapes of the class.

    Examples
    --------
    >>> unit = Unit(7, 3)
    >>> barnes_bound(43, 26, unit), class_bound(43, 26, unit, critical_ratios(43, 26, unit))
    (53, 53)
    """
    own = barnes_bound(length, width, unit)
    if len(shapes) == 1:
        return own
    along, across = (fitted(np.array([side]), unit, shapes) for side in (length, width))
    return min(own, int(barnes_bounds(along, across, shapes).min()))


def bound_table(lengths: IntArray, widths: IntArray, unit: Unit, shapes: IntArray) -> IntArray:
    """Return a bound for every sub-rectangle: `(lengths, widths)`.

    The shapes that bound the whole best come first; as many are used as the memory allows.
    """
    along, across = fitted(lengths, unit, shapes), fitted(widths, unit, shapes)
    whole = barnes_bounds(along[-1], across[-1], shapes)
    room = max(1, CELLS_AT_MOST // (len(lengths) * len(widths)))
    best = np.argsort(whole, kind="stable")[:room]
    bounds = barnes_bounds(along[:, None, best], across[None, :, best], shapes[best])
    table: IntArray = bounds.min(axis=2)
    return table
