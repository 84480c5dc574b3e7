"""The continuous bound by column generation (layer: engines, stock).

The master problem buys patterns so that every size is covered; the best new pattern for its
prices is a knapsack. Two additions make it settle in a few rounds: a longer piece may stand in
for the next shorter one (Valério de Carvalho's dual cuts), and each round adds several patterns
that share no piece.

The solver's prices are only *advice*: they are rounded to whole numbers, made feasible against
an exact knapsack (A. A. Farley's bound) and only then used, so no bound rests on floats.

References
----------
P. C. Gilmore & R. E. Gomory, Operations Research 9, 1961. A. A. Farley, Operations Research
38, 1990. J. M. Valério de Carvalho, INFORMS Journal on Computing 17, 2005.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from math import ceil
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from bedplan.solver import INFINITY, quiet_model
from bedplan.stock.knapsack import Grid, Tables, tabulate
from bedplan.stock.problem import Board, Problem, Search

FINE = 10**10
"""Whole units to which the dearest board is divided when prices are rounded."""
ROUNDS = 8
"""Patterns without a common piece that one round may add."""


Entries: TypeAlias = Sequence[tuple[int, float]]
"""``(row, coefficient)`` of one column."""
CLOSE = 1e-9
"""A pattern must be worth this share more than it costs to be taken up."""


@dataclass(frozen=True)
class Prices:
    """Prices as the solver advises them, times the scale: of each size, and of scarce boards."""

    values: tuple[int, ...]
    rent: tuple[int, ...]


@dataclass(frozen=True)
class Duals:
    """Whole prices no pattern beats: ``value(pattern) <= scale * cost[kind] + rent[kind]``.

    Parameters
    ----------
    values
        Price of each size.
    rent
        What the scarcity of each kind of board costs; 0 when unlimited.
    scale
        Units of price to one unit of cost.
    bound
        Cost that no plan is below: ``(values · demand - rent · limit) / scale``.
    """

    values: tuple[int, ...]
    rent: tuple[int, ...]
    scale: int
    bound: Fraction


@dataclass(frozen=True)
class Rest:
    """What is still to be packed.

    Parameters
    ----------
    need
        How many of each size.
    left
        How many boards of each kind can still be had.
    """

    need: tuple[int, ...]
    left: tuple[int, ...]

    def without(self, boards: Iterable[Board]) -> Rest | None:
        """Return what is left after some boards, or None if they are not all wanted."""
        need, left = list(self.need), list(self.left)
        for kind, pattern in boards:
            left[kind] -= 1
            for i in pattern:
                need[i] -= 1
        if min(need) < 0 or min(left) < 0:
            return None
        return Rest(tuple(need), tuple(left))


@dataclass(frozen=True)
class Relaxation:
    """Where column generation ended.

    Parameters
    ----------
    duals
        The best feasible prices met.
    prices
        The prices advised last.
    boards
        All columns generated so far.
    use
        How much of each column the last continuous solution takes.
    """

    duals: Duals
    prices: Prices
    boards: Sequence[Board]
    use: NDArray[np.float64]


class Master:
    """The continuous master problem; it only ever advises (see the module's words)."""

    def __init__(self, problem: Problem, grid: Grid) -> None:
        self.problem = problem
        self.grid = grid
        self.scale = max(1, FINE // problem.unit)
        self.boards: list[Board] = []
        self._seen: set[Board] = set()
        self._counts = np.zeros((256, len(problem.sizes)), dtype=np.int16)
        self._model = quiet_model()
        self._limited = [k for k in problem.kinds if problem.limited(k)]
        self._offset = len(problem.sizes) - 1
        self._add_rows()
        self.add(self._single(i) for i in range(len(problem.sizes)))

    def _add_rows(self) -> None:
        """Add covering rows, limit rows and the columns that let a piece stand in for a next."""
        rows = len(self.problem.sizes) + len(self._limited)
        low, high = self._sides(Rest(self.problem.demand, self.problem.limit))
        empty = np.zeros(0, dtype=np.int32)
        self._model.addRows(rows, low, high, 0, np.zeros(rows, np.int32), empty, np.zeros(0))
        entries = [((i, -1.0), (i + 1, 1.0)) for i in range(self._offset)]
        self._add_columns([0.0] * self._offset, entries)

    def _sides(self, rest: Rest) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return lower and upper sides of all rows."""
        sizes, limited = len(rest.need), [rest.left[k] for k in self._limited]
        low = np.array([*rest.need, *[-INFINITY] * len(limited)], dtype=float)
        return low, np.array([*[INFINITY] * sizes, *limited], dtype=float)

    def _single(self, i: int) -> Board:
        """Return one piece on the cheapest unlimited kind that holds it."""
        problem = self.problem
        kinds = [k for k in problem.kinds if not problem.limited(k)]
        fit = [k for k in kinds if problem.capacity[k] >= problem.sizes[i]]
        return min(fit, key=lambda k: problem.cost[k]), (i,)

    def _add_columns(self, costs: list[float], entries: Sequence[Entries]) -> None:
        """Add columns given as costs and rows of ``(row, coefficient)``."""
        if not costs:
            return
        starts = np.cumsum([0, *map(len, entries)])[:-1].astype(np.int32)
        index = np.array([row for column in entries for row, _ in column], dtype=np.int32)
        value = np.array([a for column in entries for _, a in column], dtype=float)
        zero, inf = np.zeros(len(costs)), np.full(len(costs), INFINITY)
        args = (np.array(costs), zero, inf, len(index), starts, index, value)
        self._model.addCols(len(costs), *args)

    def add(self, boards: Iterable[Board]) -> int:
        """Add those boards that are new as columns; return how many were."""
        new = [board for board in dict.fromkeys(boards) if board not in self._seen]
        known = len(self.boards)
        while len(self._counts) < known + len(new):
            self._counts = np.concatenate([self._counts, np.zeros_like(self._counts)])
        for row, (_, pattern) in enumerate(new, start=known):
            np.add.at(self._counts[row], list(pattern), 1)
        unit = self.problem.unit
        costs = [self.problem.cost[kind] / unit for kind, _ in new]
        self._add_columns(costs, [self._entries(board) for board in new])
        self._seen.update(new)
        self.boards += new
        return len(new)

    def _entries(self, board: Board) -> Entries:
        """Return the coefficients of one board."""
        kind, pattern = board
        entries = [(i, float(pattern.count(i))) for i in dict.fromkeys(pattern)]
        if kind in self._limited:
            entries.append((len(self.problem.sizes) + self._limited.index(kind), 1.0))
        return entries

    def narrow(self, rest: Rest) -> None:
        """Ask only for the rest, and only of columns that hold nothing beyond it."""
        low, high = self._sides(rest)
        rows = np.arange(len(low), dtype=np.int32)
        change = self._model.changeRowsBounds  # type: ignore[attr-defined]  # not in its stub
        change(len(low), rows, low, high)
        count = len(self.boards)
        wanted = (self._counts[:count] <= np.array(rest.need)).all(axis=1)
        columns = np.arange(self._offset, self._offset + count, dtype=np.int32)
        most = np.where(wanted, INFINITY, 0.0)
        self._model.changeColsBounds(count, columns, np.zeros(count), most)

    def solve(self) -> tuple[Prices, NDArray[np.float64]]:
        """Return the prices of sizes and boards, and the use of each column."""
        self._model.run()
        answer = self._model.getSolution()
        whole = self.problem.unit * self.scale
        duals = [int(abs(p) * whole) for p in answer.row_dual]
        sizes = len(self.problem.sizes)
        rent = dict(zip(self._limited, duals[sizes:], strict=True))
        use = np.array(answer.col_value[self._offset :], dtype=float)
        prices = Prices(tuple(duals[:sizes]), tuple(rent.get(k, 0) for k in self.problem.kinds))
        return prices, use


def feasible_duals(
    problem: Problem, rest: Rest, values: Sequence[int], worth: Sequence[int], scale: int
) -> Duals:
    """Return prices made feasible: scaled down for unlimited kinds, paid as rent for others.

    They are also made to fall with the size, so that a longer piece may stand in for a shorter.

    Parameters
    ----------
    problem, rest
        The problem, and what of it is still to be packed.
    values
        Advised price of each size.
    worth
        Upper bound of what one board of each kind can hold at those prices.
    scale
        Units of price to one unit of cost.
    """
    factor = Fraction(1)
    for k in problem.kinds:
        if worth[k] and not problem.limited(k):
            factor = min(factor, Fraction(problem.cost[k] * scale, worth[k]))
    scaled = (v * factor.numerator // factor.denominator for v in values)
    falling = tuple(accumulate(scaled, min))
    rent = tuple(max(0, ceil(factor * worth[k]) - problem.cost[k] * scale) for k in problem.kinds)
    total = sum(v * d for v, d in zip(falling, rest.need, strict=True))
    paid = sum(r * n for k, (r, n) in enumerate(zip(rent, rest.left, strict=True))
               if problem.limited(k))  # fmt: skip
    return Duals(falling, rent, scale, Fraction(total - paid, scale))


def price_out(
    master: Master,
    prices: Prices,
    tables: Tables,
    copies: Sequence[int],
    late: Callable[[], bool] = lambda: False,
) -> list[Board]:
    """Return several boards worth more than they cost; in each round they share no piece."""
    problem, grid = master.problem, master.grid
    cost = [c * master.scale for c in problem.cost]
    due = [c + r + CLOSE * c for c, r in zip(cost, prices.rent, strict=True)]
    found: list[Board] = []
    copies = list(copies)
    for _ in range(ROUNDS):
        boards = [
            (k, tables.pattern(grid.capacity[k]))
            for k in problem.kinds
            if tables.best(grid.capacity[k]) > due[k]
        ]
        if not boards:
            break
        found += boards
        for i in max(boards, key=lambda board: problem.load(board[1]))[1]:
            copies[i] -= 1
        if late():
            break
        tables = tabulate(grid.up, prices.values, copies, grid.longest)
    return found


def settle(master: Master, search: Search, rest: Rest) -> Relaxation:
    """Return the continuous solution for a rest.

    Parameters
    ----------
    master
        The master problem; it keeps the columns found.
    search
        For its deadline; when that has passed the bound may not be the best.
    rest
        What is still to be packed.
    """
    *_, last = settling(master, rest, lambda: not search.seconds_left)
    return last


def settle_below(master: Master, search: Search, rest: Rest, ceiling: int) -> Relaxation | None:
    """Return the continuous solution for a rest, or None if that must cost above a ceiling."""
    relaxation = None
    for relaxation in settling(master, rest, lambda: not search.seconds_left):
        if ceil(relaxation.duals.bound) > ceiling:
            return None
    return relaxation


def settling(master: Master, rest: Rest, late: Callable[[], bool]) -> Iterator[Relaxation]:
    """Yield ever better continuous solutions for a rest, until the best or until it is late."""
    problem, grid = master.problem, master.grid
    copies = [min(c, n) for c, n in zip(grid.copies, rest.need, strict=True)]
    master.narrow(rest)
    best: Duals | None = None
    while True:
        prices, use = master.solve()
        tables = tabulate(grid.up, prices.values, copies, grid.longest)
        loose = tables
        if not grid.exact:
            loose = tabulate(grid.down, prices.values, copies, grid.longest)
        worth = [loose.best(c) for c in grid.capacity]
        duals = feasible_duals(problem, rest, prices.values, worth, master.scale)
        if best is None or duals.bound > best.bound:
            best = duals
        yield Relaxation(best, prices, master.boards, use)
        if late() or not master.add(price_out(master, prices, tables, copies, late)):
            return
