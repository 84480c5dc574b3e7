"""Branch and bound over a short list of patterns (layer: engines, stock).

The cost of a plan depends only on how many boards of each kind it takes, so those numbers are
branched on first, and only then the use of single patterns. Short lists are settled in a few
dozen small linear programmes, sooner than a general whole-number solver gets started.

References
----------
A. H. Land & A. G. Doig, Econometrica 28, 1960. F. Vanderbeck, Operations Research 48, 2000
(branching on sums of columns).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from typing import TypeAlias

import highspy  # noqa: TID253 - loaded only when it is needed, see solver.py
import numpy as np
from numpy.typing import NDArray

from bedplan.solver import quiet_model
from bedplan.stock.integer import Selection, written_out
from bedplan.stock.problem import Board, Problem, Search, served

WHOLE = 1e-6
"""A number this near a whole number is that number."""
SAFE = 1e-7
"""A node is dropped only if its bound exceeds the limit by this share of the dearest board."""

Numbers: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True)
class Node:
    """Limits of the use of patterns, and of the number of boards of each kind."""

    low: Numbers
    high: Numbers
    fewest: Numbers
    most: Numbers

    def split(self, at: int, value: float, *, kinds: bool) -> list[Node]:
        """Return the two nodes on either side of a broken number, the nearer one last."""
        low, high = (self.fewest, self.most) if kinds else (self.low, self.high)
        up, down = low.copy(), high.copy()
        up[at], down[at] = floor(value) + 1, floor(value)
        if kinds:
            nodes = [Node(self.low, self.high, up, high), Node(self.low, self.high, low, down)]
        else:
            ends = self.fewest, self.most
            nodes = [Node(up, high, *ends), Node(low, down, *ends)]
        return nodes if value % 1 < 0.5 else nodes[::-1]


class Tree:
    """The search tree for one list of patterns."""

    def __init__(self, problem: Problem, boards: Sequence[Board], upper: int) -> None:
        self.problem, self.boards = problem, boards
        self.limit = (upper - 1) / problem.unit
        self.spare = 0.0
        self._model = quiet_model()
        self._model.passModel(written_out(problem, boards, upper, whole=False))
        self._model.setOptionValue("presolve", "off")
        self._of_kind = np.zeros((len(problem.capacity), len(boards)))
        self._of_kind[[kind for kind, _ in boards], range(len(boards))] = 1.0
        self._kind_row = len(problem.sizes)
        self._columns = np.arange(len(boards), dtype=np.int32)

    def root(self) -> Node:
        """Return the node that limits nothing more than the problem does."""
        count, limit = len(self.boards), np.array(self.problem.limit, dtype=float)
        high = limit[[kind for kind, _ in self.boards]] if count else np.zeros(0)
        return Node(np.zeros(count), high, np.zeros(len(limit)), limit)

    def solve(self, node: Node) -> tuple[Numbers, Numbers] | None:
        """Return use and reduced cost of patterns, or None if the node can be dropped.

        Raises
        ------
        ArithmeticError
            If the solver does not come to a clear end.
        """
        rows = np.arange(len(node.most), dtype=np.int32) + self._kind_row
        change = self._model.changeRowsBounds  # type: ignore[attr-defined]  # not in its stub
        change(len(rows), rows, node.fewest, node.most)
        count = len(self.boards)
        self._model.changeColsBounds(count, self._columns, node.low, node.high)
        self._model.run()
        status = self._model.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        if status != highspy.HighsModelStatus.kOptimal:
            msg = f"linear programme ended as {status}"
            raise ArithmeticError(msg)
        self.spare = self.limit - self._model.getInfo().objective_function_value
        if self.spare < -SAFE:
            return None
        answer = self._model.getSolution()
        return np.array(answer.col_value[:count]), np.array(answer.col_dual[:count])

    def grow(self, node: Node) -> tuple[list[Node], Numbers | None]:
        """Return the nodes that follow from one, or the use of patterns if that is whole."""
        solved = self.solve(node)
        if solved is None:
            return [], None
        use, reduced = solved
        useless = (reduced > self.spare + WHOLE) & (use < node.low + WHOLE)
        node = Node(node.low, np.where(useless, node.low, node.high), node.fewest, node.most)
        kinds = self._of_kind @ use
        for numbers, of_kinds in ((kinds, True), (use, False)):
            broken = np.abs(numbers - np.round(numbers))
            at = int(np.argmax(broken))
            if broken[at] > WHOLE:
                return node.split(at, float(numbers[at]), kinds=of_kinds), None
        return [], use


def branch(search: Search, boards: Sequence[Board], nodes: int) -> Selection:
    """Return a choice of boards that beats the search's best plan, or the proof there is none.

    Parameters
    ----------
    search
        The search, for the problem, its best plan and its deadline.
    boards
        Different boards to choose from; when none of them helps, the best plan is proven.
    nodes
        Greatest number of linear programmes.
    """
    problem = search.problem
    tree, best = Tree(problem, boards, search.cost), None
    stack = [tree.root()]
    while stack and nodes and search.seconds_left:
        nodes -= 1
        children, use = tree.grow(stack.pop())
        stack += children
        if use is not None:
            chosen = [b for b, n in zip(boards, use, strict=True) for _ in range(round(n))]
            plan = served(problem, chosen)
            if plan is None:
                return Selection(best, None)
            best = plan
            tree.limit = (problem.price(plan) - 1) / problem.unit
    if stack:
        return Selection(best, None)
    return Selection(best, search.cost if best is None else problem.price(best))
