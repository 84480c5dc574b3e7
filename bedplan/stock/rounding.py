"""Whole plans from a continuous solution (layer: engines, stock).

The whole part of every column is kept, then columns by falling use as long as they still fit
what is wanted, down to a threshold; what remains is packed by the heuristics.
"""

from __future__ import annotations

import numpy as np

from bedplan.stock.columns import Relaxation
from bedplan.stock.heuristics import cheapest_kinds, decreasing, filled
from bedplan.stock.problem import Board, Problem, Search

THRESHOLDS = (0.9, 0.5, 0.01)
"""Least use of a column that is rounded up."""


def round_off(search: Search, relaxation: Relaxation) -> None:
    """Offer a search the plans that lie near a continuous solution."""
    problem = search.problem
    for threshold in THRESHOLDS:
        if not search.open():
            return
        kept, need = _kept(problem, relaxation, threshold)
        for boards in _completed(search, kept, need):
            search.offer(cheapest_kinds(problem, boards))


def _kept(
    problem: Problem, relaxation: Relaxation, threshold: float
) -> tuple[list[Board], list[int]]:
    """Return the columns kept and what is still wanted of each size."""
    need, left = list(problem.demand), list(problem.limit)
    kept: list[Board] = []
    used = np.flatnonzero(relaxation.use > THRESHOLDS[-1]).tolist()
    ranked = [(float(relaxation.use[c]), relaxation.boards[c]) for c in used]
    ranked.sort(key=lambda column: -column[0])
    for use, board in ranked:
        times = int(use + 1e-6) + (use % 1 >= threshold)
        for _ in range(times):
            if not left[board[0]] or any(board[1].count(i) > need[i] for i in set(board[1])):
                break
            left[board[0]] -= 1
            for i in board[1]:
                need[i] -= 1
            kept.append(board)
    return kept, need


def _completed(search: Search, kept: list[Board], need: list[int]) -> list[list[Board]]:
    """Return plans that keep some boards and pack the rest in several ways."""
    problem = search.problem
    if not any(need):
        return [kept]
    left = list(problem.limit)
    for kind, _ in kept:
        left[kind] -= 1
    rest = Problem(problem.sizes, problem.demand, problem.capacity, problem.cost, tuple(left))
    plans = [filled(rest, need, deadline=search.deadline)]
    plans += [decreasing(rest, need, k, tightest=True) for k in problem.kinds if problem.cost[k]]
    return [kept + plan for plan in plans if plan]
