"""From tables of counts to units in their places (layer: paving).

The tables of `bedplan.paving.rectangle_blocks` say how many units each sub-rectangle holds;
here the cuts behind a count are followed down to blocks of rows, all turned the same way.

Public entry point: `lay`.
"""

from __future__ import annotations

import numpy as np

from bedplan.paving.rectangle_blocks import BlockTables, Cell
from bedplan.paving.rectangle_sizes import Spot, Unit, at_most

Block = tuple[Cell, int, int]
"""A sub-rectangle and its lower left corner."""


def lay(tables: BlockTables) -> list[Spot]:
    """Return the units of the whole rectangle in their places."""
    spots: list[Spot] = []
    left = [((len(tables.sizes) - 1, tables.narrow - 1), 0, 0, False)]
    while left:
        cell, x, y, flipped = left.pop()
        if cell[0] < cell[1]:
            cell, flipped = (cell[1], cell[0]), not flipped
        parts = parts_of(tables, cell)
        if parts is None:
            spots += [move(spot, x, y, flipped) for spot in rows_of(tables, cell)]
            continue
        for part, dx, dy in parts:
            ahead, up = (dy, dx) if flipped else (dx, dy)
            left.append((part, x + ahead, y + up, flipped))
    return spots


def parts_of(tables: BlockTables, cell: Cell) -> list[Block] | None:
    """Return the blocks of a sub-rectangle and their corners; None where it is one block."""
    a, b = cell
    if cell in tables.cut:
        return five_blocks(tables, cell)
    wanted = int(tables.count[cell])
    if wanted == homogeneous(int(tables.sizes[a]), int(tables.sizes[b]), tables.unit):
        return None
    for axis, side in ((0, a), (1, b)):
        first = np.arange(1, side)
        sums = (
            tables.count[first, b] + tables.count[tables.rest[a, first], b]
            if axis == 0
            else tables.count[a, first] + tables.count[a, tables.rest[b, first]]
        )
        if len(sums) and sums.max() >= wanted:
            return two_blocks(tables, cell, axis, int(first[sums.argmax()]))
    message = f"no cut gives {wanted} units in block {cell}"
    raise AssertionError(message)


def two_blocks(tables: BlockTables, cell: Cell, axis: int, cut: int) -> list[Block]:
    """Return the blocks of a guillotine cut across the first or the second side."""
    (a, b), at = cell, int(tables.sizes[cut])
    if axis == 0:
        return [((cut, b), 0, 0), ((int(tables.rest[a, cut]), b), at, 0)]
    return [((a, cut), 0, 0), ((a, int(tables.rest[b, cut])), 0, at)]


def five_blocks(tables: BlockTables, cell: Cell) -> list[Block]:
    """Return the blocks of the five-block cut noted for a sub-rectangle."""
    (a, b), (x1, x2, y1, y2) = cell, tables.cut[cell]
    left, right, low, high = (int(tables.sizes[k]) for k in (x1, x2, y1, y2))
    mid = (
        int(at_most(tables.sizes, np.array(right - left))),
        int(at_most(tables.sizes, np.array(high - low))),
    )
    rest = tables.rest
    return [
        ((x1, y2), 0, 0),
        ((int(rest[a, x1]), y1), left, 0),
        (mid, left, low),
        ((x2, int(rest[b, y2])), 0, high),
        ((int(rest[a, x2]), int(rest[b, y1])), right, low),
    ]


def rows_of(tables: BlockTables, cell: Cell) -> list[Spot]:
    """Return a block's units, all turned the same way."""
    length, width = int(tables.sizes[cell[0]]), int(tables.sizes[cell[1]])
    ways = [(tables.unit.long, tables.unit.short), (tables.unit.short, tables.unit.long)]
    along, across = max(ways, key=lambda way: (length // way[0]) * (width // way[1]))
    return [
        (i * along, j * across, along, across)
        for i in range(length // along)
        for j in range(width // across)
    ]


def homogeneous(length: int, width: int, unit: Unit) -> int:
    """Return the most units that fit when all are turned the same way."""
    return max(
        (length // unit.long) * (width // unit.short),
        (length // unit.short) * (width // unit.long),
    )


def move(spot: Spot, x: int, y: int, flipped: bool) -> Spot:
    """Return a unit of a block where the block stands, mirrored over the diagonal if flipped."""
    left, low, along, across = spot
    if flipped:
        left, low, along, across = low, left, across, along
    return x + left, y + low, along, across
