"""Every pattern that a better plan could use (layer: engines, stock).

With prices no pattern beats, a plan that costs less than the best one known uses only patterns
whose *reduced cost* (what the board costs beyond the worth of its pieces) is at most the gap
between that plan and the bound. They are listed size by size, longest first; a partial pattern
is dropped as soon as its worth, with the best that could still be added, falls short.

Only *undominated* patterns are listed: no left-out piece would still fit, and no piece could be
exchanged for the next longer one to be had. A plan made of these may cut a piece longer than
wanted, or too often; `bedplan.stock.problem.served` puts that right.

References
----------
Enumeration by reduced cost: R. Baldacci, N. Christofides & A. Mingozzi, Mathematical
Programming 115, 2008 (there for routes).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from bedplan.stock.columns import Duals
from bedplan.stock.knapsack import Grid, completions
from bedplan.stock.problem import Board, Problem

NEVER = 1 << 62
"""A length beyond all lengths."""
MOST = 150_000
"""Partial patterns kept at a time; beyond that the list is given up."""


@dataclass(frozen=True)
class Listing:
    """Patterns of small reduced cost.

    Parameters
    ----------
    boards
        The patterns with their kinds, least reduced cost first.
    complete
        True when no pattern within the gap is missing.
    """

    boards: list[Board]
    complete: bool


@dataclass
class _States:
    """Partial patterns side by side: one entry, or row of ``items``, each.

    ``spared`` is the shortest size left out so far, ``tight`` the room below which the pattern
    is undominated.
    """

    kind: NDArray[np.int64]
    room: NDArray[np.int64]
    worth: NDArray[np.int64]
    spared: NDArray[np.int64]
    tight: NDArray[np.int64]
    count: NDArray[np.int64]
    items: NDArray[np.int32]

    def pick(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> _States:
        """Return some of the partial patterns."""
        return _States(
            self.kind[rows], self.room[rows], self.worth[rows],
            self.spared[rows], self.tight[rows], self.count[rows], self.items[rows],
        )  # fmt: skip

    def with_piece(self, i: int, size: int, value: int) -> _States:
        """Return those partial patterns that can take one more piece, with it."""
        more = self.pick(self.room >= size)
        rows = len(more.kind)
        if rows and int(more.count.max()) == more.items.shape[1]:
            wider = np.full((rows, more.items.shape[1]), -1, dtype=np.int32)
            more.items = np.concatenate([more.items, wider], axis=1)
        more.items[np.arange(rows), more.count] = i
        more.count = more.count + 1
        more.room = more.room - size
        more.worth = more.worth + value
        more.tight = np.minimum(more.tight, more.spared - size)
        return more

    def without(self, size: int) -> _States:
        """Return the partial patterns with a piece of this size left out on purpose."""
        tight, spared = np.minimum(self.tight, size), np.full(len(self.kind), size)
        return replace(self, tight=tight, spared=spared)


def _joined(parts: list[_States]) -> _States:
    """Return several sets of partial patterns as one."""
    width = max(part.items.shape[1] for part in parts)
    for part in parts:
        missing = width - part.items.shape[1]
        part.items = np.pad(part.items, ((0, 0), (0, missing)), constant_values=-1)
    names = [field.name for field in fields(_States)]
    return _States(*(np.concatenate([getattr(p, name) for p in parts]) for name in names))


def _opened(problem: Problem) -> _States:
    """Return one empty board of each kind."""
    kinds = len(problem.capacity)
    return _States(
        kind=np.arange(kinds),
        room=np.array(problem.capacity, dtype=np.int64),
        worth=np.zeros(kinds, dtype=np.int64),
        spared=np.full(kinds, NEVER, dtype=np.int64),
        tight=np.full(kinds, NEVER, dtype=np.int64),
        count=np.zeros(kinds, dtype=np.int64),
        items=np.full((kinds, 8), -1, dtype=np.int32),
    )


def list_patterns(problem: Problem, grid: Grid, duals: Duals, gap: Fraction) -> Listing:
    """Return every full pattern whose reduced cost is at most a gap.

    Parameters
    ----------
    problem, grid
        The problem and its grid.
    duals
        Feasible prices.
    gap
        Greatest reduced cost wanted [units of cost].
    """
    slack = int(gap * duals.scale)
    due = [c * duals.scale + r for c, r in zip(problem.cost, duals.rent, strict=True)]
    wanted = np.array([d - slack for d in due], dtype=np.int64)
    bounds = completions(grid, duals.values)
    loads = completions(grid, grid.down)
    states = _opened(problem)
    for i, size in enumerate(problem.sizes):
        states = _branched(states, i, size, duals.values[i], grid.copies[i])
        steps = states.room // grid.step
        hope = states.worth + bounds[i + 1][steps] - wanted[states.kind]
        good = hope >= 0
        if grid.exact:  # on a coarse grid the rest may fill better than the table says
            good &= steps - loads[i + 1][steps] < states.tight
        states, hope = states.pick(good), hope[good]
        if not len(hope) or len(hope) > MOST:
            return Listing([], complete=not len(hope))
    return Listing(_finished(problem, states, np.array(due, dtype=np.int64)), complete=True)


def _branched(states: _States, i: int, size: int, value: int, copies: int) -> _States:
    """Return all ways to go on with none, one, … ``copies`` pieces of one size."""
    parts, taken = [], states
    for n in range(copies + 1):
        if n:
            taken = taken.with_piece(i, size, value)
        if not len(taken.kind):
            break
        parts.append(taken if n == copies else taken.without(size))
    return _joined(parts)


def _finished(problem: Problem, states: _States, due: NDArray[np.int64]) -> list[Board]:
    """Return full patterns as boards, least reduced cost first.

    A pattern that a cheaper or equal unlimited kind would hold is left to that kind.
    """
    smaller = np.array([_next_smaller(problem, k) for k in problem.kinds], dtype=np.int64)
    load = np.array(problem.capacity, dtype=np.int64)[states.kind] - states.room
    states = states.pick((states.room < states.tight) & (load > smaller[states.kind]))
    order = np.argsort(due[states.kind] - states.worth, kind="stable")
    rows = zip(
        states.kind[order].tolist(), states.items[order].tolist(),
        states.count[order].tolist(), strict=True,
    )  # fmt: skip
    return [(kind, tuple(items[:count])) for kind, items, count in rows]


def _next_smaller(problem: Problem, kind: int) -> int:
    """Return the greatest capacity below this kind's that never costs more; 0 if none."""
    return max(
        (
            problem.capacity[k]
            for k in problem.kinds
            if problem.capacity[k] < problem.capacity[kind]
            and problem.cost[k] <= problem.cost[kind]
            and not problem.limited(k)
        ),
        default=0,
    )
