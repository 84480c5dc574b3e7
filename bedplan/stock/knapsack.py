"""Best contents of one board, by dynamic programming over its length (layer: engines, stock).

Long capacities are put on a coarser *grid*. With weights rounded up, what fits the grid fits
the board, so patterns found are real; with weights rounded down, what fits the board fits the
grid, so the best value found is an upper bound. When one grid step is one unit both agree.

Values are whole numbers, so every bound is exact.

References
----------
R. Bellman, Dynamic Programming, 1957; S. Martello & P. Toth, Knapsack Problems, 1990, ch. 3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from bedplan.stock.problem import Pattern, Problem

FINEST = 12_000
"""Longest capacity that is tabled unit by unit."""
COARSE = 4_000
"""Steps of the grid when the capacity is longer than that."""

Values: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True)
class Grid:
    """Sizes and capacities in steps of a grid.

    Parameters
    ----------
    step
        Length of one step [whole units].
    down, up
        Sizes rounded down and up [steps].
    capacity
        Capacities rounded down [steps].
    copies
        How many of each size a board could hold at most.
    """

    step: int
    down: tuple[int, ...]
    up: tuple[int, ...]
    capacity: tuple[int, ...]
    copies: tuple[int, ...]

    @property
    def exact(self) -> bool:
        """Whether the grid loses nothing."""
        return self.step == 1

    @property
    def longest(self) -> int:
        """Greatest capacity [steps]."""
        return max(self.capacity)


def grid_of(problem: Problem) -> Grid:
    """Return the grid on which a problem is tabled."""
    longest = max(problem.capacity)
    step = 1 if longest <= FINEST else -(-longest // COARSE)
    return Grid(
        step=step,
        down=tuple(s // step for s in problem.sizes),
        up=tuple(-(-s // step) for s in problem.sizes),
        capacity=tuple(c // step for c in problem.capacity),
        copies=tuple(
            min(d, longest // s) for s, d in zip(problem.sizes, problem.demand, strict=True)
        ),
    )


def add_item(table: Values, weight: int, value: int) -> Values:
    """Return the table of best values after one more piece may be used."""
    better = table.copy()
    if weight == 0:
        better += value
    elif weight < len(table):
        np.maximum(table[weight:], table[:-weight] + value, out=better[weight:])
    return better


@dataclass(frozen=True)
class Tables:
    """Best value for each capacity, one table for each piece added; see `tabulate`."""

    rows: tuple[Values, ...]
    items: tuple[int, ...]
    weights: tuple[int, ...]

    def best(self, capacity: int) -> int:
        """Return the best value that fits a capacity [steps]."""
        return int(self.rows[-1][capacity])

    def pattern(self, capacity: int) -> Pattern:
        """Return contents of the best value for a capacity [steps]."""
        held = []
        for t in range(len(self.items), 0, -1):
            if self.rows[t][capacity] != self.rows[t - 1][capacity]:
                held.append(self.items[t - 1])
                capacity -= self.weights[self.items[t - 1]]
        return tuple(sorted(held))


def tabulate(
    weights: Sequence[int], values: Sequence[int], copies: Sequence[int], capacity: int
) -> Tables:
    """Return best values of up to ``copies`` pieces of each size for every capacity.

    Parameters
    ----------
    weights
        Weight of each size [steps].
    values
        Worth of each size, whole; those worth nothing are left out.
    copies
        How many of each may be used.
    capacity
        Greatest capacity wanted [steps].
    """
    table = np.zeros(capacity + 1, dtype=np.int64)
    rows, items = [table], []
    for i, (weight, value) in enumerate(zip(weights, values, strict=True)):
        for _ in range(copies[i] if value > 0 and weight <= capacity else 0):
            table = add_item(table, weight, value)
            rows.append(table)
            items.append(i)
    return Tables(tuple(rows), tuple(items), tuple(weights))


def completions(grid: Grid, values: Sequence[int]) -> Values:
    """Return, for each size and capacity, an upper bound of what that and later sizes add.

    Returns
    -------
    bounds
        ``(sizes + 1, capacity + 1)`` whole values; weights are rounded down.
    """
    bounds = np.zeros((len(values) + 1, grid.longest + 1), dtype=np.int64)
    for i in range(len(values) - 1, -1, -1):
        table = bounds[i + 1]
        for _ in range(grid.copies[i] if values[i] > 0 else 0):
            table = add_item(table, grid.down[i], values[i])
        bounds[i] = table
    return bounds
