"""Packings of a rectangle by cutting it into blocks, again and again (layer: paving).

A *guillotine* cut parts a rectangle in two; a *five-block* cut parts it into four blocks that
turn round a fifth in the middle. Either is applied to the blocks in turn. The counts of all
normal sub-rectangles are kept in one table, an upper bound of each in another; only blocks
that could still lift the whole are opened.

Public entry point: `search_blocks`.

References
----------
R. Morabito and S. Morales, Journal of the Operational Research Society 49, 1998 (recursive
five-block heuristic);
E. G. Birgin, R. D. Lobato and R. Morabito, Journal of the Operational Research Society 61,
2010 (recursive partitioning over raster points).
"""

from __future__ import annotations

from time import perf_counter
from typing import NamedTuple

import numpy as np

from bedplan.paving.rectangle_bounds import bound_table, class_bound
from bedplan.paving.rectangle_sizes import IntArray, Unit, at_most, normal_sizes

PAIRS_AT_MOST = 1_600
"""Pairs of cuts along one side; more are thinned to the cuts next to the edges."""

Cell = tuple[int, int]
"""A sub-rectangle by the indices of its two sides in the list of sizes."""


class Cuts(NamedTuple):
    """Pairs of cuts ``first <= second`` of one side, and what each leaves, as size indices."""

    first: IntArray
    second: IntArray
    after_first: IntArray
    after_second: IntArray
    between: IntArray


class BlockTables:
    """The counts and bounds of all normal sub-rectangles while they are being improved.

    Parameters
    ----------
    length, width
        The rectangle in whole length units, ``length >= width``.
    unit
        The unit.
    bound
        An upper bound of the count; the search ends when it is met.
    deadline
        When to stop [s, on the clock of `time.perf_counter`].
    """

    def __init__(self, length: int, width: int, unit: Unit, bound: int, deadline: float) -> None:
        sizes = np.union1d(normal_sizes(length, unit), normal_sizes(width, unit))
        self.sizes: IntArray = sizes
        self.unit, self.bound, self.deadline = unit, bound, deadline
        self.narrow = int(at_most(sizes, np.array(width))) + 1
        self.rest = at_most(sizes, np.maximum(sizes[:, None] - sizes, 0))
        self.half = (at_most(sizes, sizes // 2) + 1).tolist()
        along, across = sizes[:, None], sizes[None, : self.narrow]
        self.count: IntArray = np.maximum(
            (along // unit.long) * (across // unit.short),
            (along // unit.short) * (across // unit.long),
        )
        self.hope: IntArray = self.count
        self.cut: dict[Cell, tuple[int, int, int, int]] = {}
        self.cuts_of: dict[int, Cuts] = {}

    @property
    def best(self) -> int:
        """The count of the whole rectangle so far."""
        return int(self.count[-1, -1])

    @property
    def late(self) -> bool:
        """Whether the time is up."""
        return perf_counter() > self.deadline

    def cut_through(self) -> None:
        """Apply all guillotine cuts to all sub-rectangles until nothing improves."""
        before = -1
        self.mirror()
        while before != (now := int(self.count.sum())) and self.best < self.bound:
            before = now
            self.sweep(self.count)
            self.sweep(self.count.T)
            if self.late:
                return

    def sweep(self, count: IntArray) -> None:
        """Part every sub-rectangle across its first side, small sides first."""
        for side in range(2, len(count)):
            first = slice(1, self.half[side])
            if first.stop > 1:
                sums = count[first] + count[self.rest[side, first]]
                np.maximum(count[side], sums.max(axis=0), out=count[side])
        self.mirror()

    def mirror(self) -> None:
        """Give a sub-rectangle and the same one turned the same count."""
        square = self.count[: self.narrow]
        np.maximum(square, square.T, out=square)

    def cut_in_five(self, shapes: IntArray) -> None:
        """Improve the whole by five-block cuts, at every depth that could help."""
        self.hope = bound_table(self.sizes, self.sizes[: self.narrow], self.unit, shapes)
        self.hope[-1, -1] = min(self.bound, int(self.hope[-1, -1]))
        self.open((len(self.sizes) - 1, self.narrow - 1))

    def open(self, cell: Cell) -> None:
        """Try every five-block cut of one sub-rectangle, opening blocks while they give hope."""
        cell = (max(cell), min(cell))
        if self.closed(cell) or self.late:
            return
        along, across = self.cuts(cell[0]), self.cuts(cell[1])
        self.take_best(cell, along, across)
        if not self.closed(cell):
            self.try_hopeful(cell, along, across)
        if not self.late:
            self.set_both(self.hope, cell, int(self.count[cell]))

    def closed(self, cell: Cell) -> bool:
        """Whether the count of a sub-rectangle cannot be lifted any more."""
        return bool(self.count[cell] >= self.hope[cell])

    def take_best(self, cell: Cell, along: Cuts, across: Cuts) -> None:
        """Take the five-block cut that is best by the counts known now."""
        sums = five_sums(self.count, along, across)
        sums[whole_block(along, across, cell)] = 0
        at = int(sums.argmax())
        if sums.flat[at] > self.count[cell]:
            self.keep(cell, along, across, divmod(at, sums.shape[1]))

    def keep(self, cell: Cell, along: Cuts, across: Cuts, at: Cell) -> None:
        """Note a better five-block cut of a sub-rectangle."""
        i, j = at
        parts = five_parts(along, across, i, j)
        self.set_both(self.count, cell, sum(int(self.count[part]) for part in parts))
        self.cut[cell] = (
            int(along.first[i]),
            int(along.second[i]),
            int(across.first[j]),
            int(across.second[j]),
        )

    def set_both(self, table: IntArray, cell: Cell, value: int) -> None:
        """Write a value for a sub-rectangle and for the same one turned."""
        table[cell] = value
        if cell[0] < self.narrow:
            table[cell[1], cell[0]] = value

    def try_hopeful(self, cell: Cell, along: Cuts, across: Cuts) -> None:
        """Open the blocks of every cut whose bounds add up to more than the count."""
        hopes = five_sums(self.hope, along, across)
        hopes[whole_block(along, across, cell)] = 0
        rows, columns = np.nonzero(hopes > self.count[cell])
        order = np.argsort(-hopes[rows, columns], kind="stable")
        rows, columns = rows[order], columns[order]
        while len(rows) and not self.closed(cell) and not self.late:
            at = (int(rows[0]), int(columns[0]))
            self.open_parts(cell, five_parts(along, across, *at))
            if self.total(self.count, five_parts(along, across, *at)) > self.count[cell]:
                self.keep(cell, along, across, at)
            rows, columns = rows[1:], columns[1:]
            still = pair_sums(self.hope, along, across, rows, columns) > self.count[cell]
            rows, columns = rows[still], columns[still]

    def open_parts(self, cell: Cell, parts: list[Cell]) -> None:
        """Open the blocks of one cut, the smallest first, as long as they give hope."""
        while self.total(self.hope, parts) > self.count[cell] and not self.late:
            unsettled = [part for part in parts if not self.closed(part)]
            if not unsettled:
                return
            self.open(min(unsettled, key=lambda p: int(self.sizes[p[0]] * self.sizes[p[1]])))

    @staticmethod
    def total(table: IntArray, parts: list[Cell]) -> int:
        """Return the sum of a table over the blocks of one cut."""
        return sum(int(table[part]) for part in parts)

    def cuts(self, side: int) -> Cuts:
        """Return the pairs of raster cuts of a side, and what they leave."""
        if side not in self.cuts_of:
            self.cuts_of[side] = self.pair_cuts(side)
        return self.cuts_of[side]

    def pair_cuts(self, side: int) -> Cuts:
        """Return all pairs ``0 <= first <= second <= side``, less the empty ones."""
        starts = np.unique(self.rest[side, : side + 1])
        starts = nearest_edges(starts[starts < side])
        ends = np.append(starts[1:], side)
        first, second = (grid.ravel() for grid in np.meshgrid(starts, ends, indexing="ij"))
        first, second = first[first <= second], second[first <= second]
        between = at_most(self.sizes, self.sizes[second] - self.sizes[first])
        return Cuts(first, second, self.rest[side, first], self.rest[side, second], between)


def nearest_edges(starts: IntArray) -> IntArray:
    """Return the cuts of a side, thinned to those next to its edges where pairs are too many."""
    most = int((2 * PAIRS_AT_MOST) ** 0.5)
    if len(starts) <= most:
        return starts
    return np.concatenate([starts[: most // 2], starts[-(most // 2) :]])


def five_sums(table: IntArray, along: Cuts, across: Cuts) -> IntArray:
    """Return the sum of a table over the five blocks, for all pairs of cuts both ways."""
    sums: IntArray = (
        table[np.ix_(along.first, across.second)]
        + table[np.ix_(along.after_first, across.first)]
        + table[np.ix_(along.between, across.between)]
        + table[np.ix_(along.second, across.after_second)]
        + table[np.ix_(along.after_second, across.after_first)]
    )
    return sums


def pair_sums(
    table: IntArray, along: Cuts, across: Cuts, rows: IntArray, columns: IntArray
) -> IntArray:
    """Return the same sums for a list of pairs only."""
    sums: IntArray = (
        table[along.first[rows], across.second[columns]]
        + table[along.after_first[rows], across.first[columns]]
        + table[along.between[rows], across.between[columns]]
        + table[along.second[rows], across.after_second[columns]]
        + table[along.after_second[rows], across.after_first[columns]]
    )
    return sums


def five_parts(along: Cuts, across: Cuts, i: int, j: int) -> list[Cell]:
    """Return the five blocks of one pair of cuts: left, bottom, middle, top, right."""
    return [
        (int(along.first[i]), int(across.second[j])),
        (int(along.after_first[i]), int(across.first[j])),
        (int(along.between[i]), int(across.between[j])),
        (int(along.second[i]), int(across.after_second[j])),
        (int(along.after_second[i]), int(across.after_first[j])),
    ]


def whole_block(along: Cuts, across: Cuts, cell: Cell) -> tuple[IntArray, ...]:
    """Return the index of the cuts that leave the sub-rectangle whole."""
    full = [
        (cuts.first == 0) & (cuts.second == side)
        for cuts, side in zip((along, across), cell, strict=True)
    ]
    return np.ix_(*full)


def search_blocks(
    length: int, width: int, unit: Unit, shapes: IntArray, deadline: float
) -> BlockTables:
    """Return the tables of the best packing found by recursive guillotine and five-block cuts.

    Parameters
    ----------
    length, width
        The rectangle in whole length units, ``length >= width``, both normal sizes.
    unit
        The unit.
    shapes
        Shapes of the class of equal instances, for the bounds, `(n, 2)`.
    deadline
        When to stop [s, on the clock of `time.perf_counter`].

    Examples
    --------
    >>> search_blocks(5, 5, Unit(3, 2), np.array([[3, 2]]), perf_counter() + 1).best
    4
    """
    bound = class_bound(length, width, unit, shapes)
    tables = BlockTables(length, width, unit, bound, deadline)
    tables.cut_through()
    if tables.best < bound:
        tables.cut_in_five(shapes)
    return tables
