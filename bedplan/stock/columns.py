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

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import TypeAlias

import numpy as np

from bedplan.stock.knapsack import Grid, Tables, tabulate
from bedplan.stock.problem import Board, Problem, Search
from bedplan.stock.solver import INFINITY, quiet_model

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
    """Prices as the solver advises them, times the scale: of each size, and due for a board."""

    values: list[int]
    due: list[float]


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
class Relaxation:
    """Where column generation ended.

    Parameters
    ----------
    duals
        The best feasible prices met.
    boards
        All columns generated.
    use
        How much of each column the last continuous solution takes.
    """

    duals: Duals
    boards: tuple[Board, ...]
    use: tuple[float, ...]


class Master:
    """The continuous master problem; it only ever advises (see the module's words)."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.unit = max(problem.cost)
        self.scale = max(1, FINE // self.unit)
        self.boards: list[Board] = []
        self._seen: set[Board] = set()
        self._model = quiet_model()
        self._limited = [k for k in problem.kinds if problem.limited(k)]
        self._add_rows()

    def _add_rows(self) -> None:
        """Add covering rows, limit rows and the columns that let a piece stand in for a next."""
        problem, inf = self.problem, INFINITY
        sizes, rows = len(problem.sizes), len(problem.sizes) + len(self._limited)
        low = np.array([*problem.demand, *[-inf] * len(self._limited)], dtype=float)
        high = np.array([*[inf] * sizes, *(problem.limit[k] for k in self._limited)], dtype=float)
        empty = np.zeros(0, dtype=np.int32)
        self._model.addRows(rows, low, high, 0, np.zeros(rows, np.int32), empty, np.zeros(0))
        self._offset = sizes - 1
        entries = [((i, -1.0), (i + 1, 1.0)) for i in range(sizes - 1)]
        self._add_columns([0.0] * (sizes - 1), entries)

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
        self._add_columns(
            [self.problem.cost[kind] / self.unit for kind, _ in new],
            [self._entries(board) for board in new],
        )
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

    def solve(self) -> tuple[Prices, list[float]]:
        """Return the prices of sizes and boards, and the use of each column."""
        self._model.run()
        answer = self._model.getSolution()
        duals = [int(abs(p) * self.unit * self.scale) for p in answer.row_dual]
        sizes = len(self.problem.sizes)
        due = [cost * self.scale * (1 + CLOSE) for cost in self.problem.cost]
        for k, rent in zip(self._limited, duals[sizes:], strict=True):
            due[k] += rent
        return Prices(duals[:sizes], due), list(answer.col_value[self._offset :])


def feasible_duals(problem: Problem, values: list[int], worth: list[int], scale: int) -> Duals:
    """Return prices made feasible: scaled down for unlimited kinds, paid as rent for others.

    Parameters
    ----------
    problem
        The problem.
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
    values = [v * factor.numerator // factor.denominator for v in values]
    rent = [max(0, ceil(factor * worth[k]) - problem.cost[k] * scale) for k in problem.kinds]
    total = sum(v * d for v, d in zip(values, problem.demand, strict=True))
    paid = sum(r * limit for r, limit in zip(rent, problem.limit, strict=True))
    return Duals(tuple(values), tuple(rent), scale, Fraction(total - paid, scale))


def price_out(problem: Problem, grid: Grid, prices: Prices, tables: Tables) -> list[Board]:
    """Return several boards worth more than they cost; in each round they share no piece."""
    found: list[Board] = []
    need = list(grid.copies)
    for _ in range(ROUNDS):
        boards = [
            (k, tables.pattern(grid.capacity[k]))
            for k in problem.kinds
            if tables.best(grid.capacity[k]) > prices.due[k]
        ]
        if not boards:
            break
        found += boards
        for i in max(boards, key=lambda board: problem.load(board[1]))[1]:
            need[i] -= 1
        tables = tabulate(grid.up, prices.values, need, grid.longest)
    return found


def relax(search: Search, grid: Grid, boards: Iterable[Board]) -> Relaxation:
    """Return the continuous bound and the columns that reach it.

    Parameters
    ----------
    search
        The search; its bound is raised as prices improve.
    grid
        The problem's grid.
    boards
        Columns to start from; together they must cover every piece.
    """
    problem = search.problem
    master = Master(problem)
    master.add(boards)
    best: Duals | None = None
    while True:
        prices, use = master.solve()
        tables = tabulate(grid.up, prices.values, list(grid.copies), grid.longest)
        loose = tables
        if not grid.exact:
            loose = tabulate(grid.down, prices.values, list(grid.copies), grid.longest)
        worth = [loose.best(c) for c in grid.capacity]
        duals = feasible_duals(problem, prices.values, worth, master.scale)
        if best is None or duals.bound > best.bound:
            best = duals
            search.raise_bound(ceil(best.bound))
        done = search.closed or not search.seconds_left
        if done or not master.add(price_out(problem, grid, prices, tables)):
            return Relaxation(best, tuple(master.boards), tuple(use))
