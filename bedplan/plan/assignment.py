"""The best pairing of two lists, each member used at most once (layer: plan).

References
----------
H. W. Kuhn, "The Hungarian method for the assignment problem", Naval Research Logistics Quarterly
2, 1955; here by shortest augmenting paths with prices, as in R. Jonker and A. Volgenant, Computing
38, 1987.

Public entry point: `best_pairs`.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NEVER: Final = -np.inf
"""Worth of a pair that cannot be."""


def best_pairs(worth: Floats) -> list[tuple[int, int]]:
    """Return the pairs of rows and columns whose worths add up to the most, by row.

    Parameters
    ----------
    worth
        ``(n, m)``; a pair of worth zero or less, or `NEVER`, is left unpaired.

    Notes
    -----
    Time grows with the cube of the longer list.

    Examples
    --------
    The first row takes its second best so that the second row gets anything at all:

    >>> best_pairs(np.array([[5.0, 4.0], [3.0, NEVER]]))
    [(0, 1), (1, 0)]
    """
    rows, columns = worth.shape
    # every row also has a column of its own where it stays unpaired at no cost
    cost = np.zeros((rows, columns + rows))
    cost[:, :columns] = -np.maximum(worth, 0.0)
    taken = _row_of_column(cost)
    pairs = [(int(row), column) for column, row in enumerate(taken[:columns]) if row >= 0]
    return sorted((row, column) for row, column in pairs if worth[row, column] > 0.0)


def _row_of_column(cost: Floats) -> NDArray[np.int64]:
    """Return, for each column, the row it goes to in the cheapest assignment; -1 for none."""
    rows, columns = cost.shape
    taken = np.full(columns, -1, dtype=np.int64)
    price, rent = np.zeros(rows), np.zeros(columns)
    for row in range(rows):
        _augment(cost, (price, rent), taken, row)
    return taken


def _augment(
    cost: Floats, prices: tuple[Floats, Floats], taken: NDArray[np.int64], start: int
) -> None:
    """Give one more row a column, along the shortest path of exchanges; keep prices feasible."""
    price, rent = prices
    count = cost.shape[1]
    far, back = np.full(count, np.inf), np.full(count, -1, dtype=np.int64)
    done = np.zeros(count, dtype=bool)
    row, at, reach = start, -1, 0.0
    while True:
        step = reach + cost[row] - price[row] - rent
        nearer = ~done & (step < far)
        far[nearer], back[nearer] = step[nearer], at
        at = int(np.argmin(np.where(done, np.inf, far)))
        reach, done[at] = float(far[at]), True
        if taken[at] < 0:
            break
        row = int(taken[at])
    rows = taken[done & (taken >= 0)]
    inner = done & (taken >= 0)
    price[start] += reach
    price[rows] += reach - far[inner]
    rent[done] -= reach - far[done]
    while at >= 0:
        before = int(back[at])
        taken[at] = start if before < 0 else taken[before]
        at = before
