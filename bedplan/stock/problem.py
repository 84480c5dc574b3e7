"""The cutting problem in bare numbers (layer: engines, stock).

Every piece is lengthened by one kerf, and so is every board: a board of usable length ``U``
holds pieces ``p1 … pn`` when ``sum(p) + (n - 1) * kerf <= U``, which is the same as
``sum(p + kerf) <= U + kerf``. What remains is to pack *sizes* into *kinds* of board.

A *pattern* is one board's contents: indices into the sizes, rising (so longest piece first),
repeated as often as the size is cut. A *board* here is ``(kind, pattern)``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from time import monotonic

Pattern = tuple[int, ...]
Board = tuple[int, Pattern]


@dataclass(frozen=True)
class Problem:
    """Sizes to pack into kinds of board at least cost; all numbers whole.

    Parameters
    ----------
    sizes
        Different sizes, falling, kerf included.
    demand
        How many of each size, at least one.
    capacity
        Room in each kind of board, kerf included.
    cost
        Cost of one board of each kind; 0 for a leftover.
    limit
        How many boards of each kind there are; the number of pieces when unlimited.
    """

    sizes: tuple[int, ...]
    demand: tuple[int, ...]
    capacity: tuple[int, ...]
    cost: tuple[int, ...]
    limit: tuple[int, ...]

    @property
    def pieces(self) -> int:
        """Number of pieces."""
        return sum(self.demand)

    @property
    def kinds(self) -> range:
        """Indices of the kinds of board."""
        return range(len(self.capacity))

    @property
    def total(self) -> int:
        """Sum of all sizes."""
        return sum(s * d for s, d in zip(self.sizes, self.demand, strict=True))

    def limited(self, kind: int) -> bool:
        """Return whether boards of this kind can run out; those that cost nothing always can."""
        return self.limit[kind] < self.pieces or not self.cost[kind]


    def load(self, pattern: Pattern) -> int:
        """Return the room a pattern takes."""
        return sum(self.sizes[i] for i in pattern)

    def price(self, boards: Iterable[Board]) -> int:
        """Return the cost of some boards."""
        return sum(self.cost[kind] for kind, _ in boards)


@dataclass
class Search:
    """The best boards and the best bound found so far; every claim is checked on entry.

    Parameters
    ----------
    problem
        What is being packed.
    deadline
        Moment to stop [s of the monotonic clock].
    """

    problem: Problem
    deadline: float
    boards: tuple[Board, ...] = ()
    upper: int | None = None
    lower: int = 0

    @property
    def seconds_left(self) -> float:
        """Time left before the deadline [s]; never negative."""
        return max(0.0, self.deadline - monotonic())

    @property
    def closed(self) -> bool:
        """Whether the best boards are proven to cost least."""
        return self.upper is not None and self.lower >= self.upper

    @property
    def cost(self) -> int:
        """Cost of the best boards; there must be some."""
        if self.upper is None:
            msg = "no plan is known yet"
            raise ValueError(msg)
        return self.upper

    def offer(self, boards: Iterable[Board]) -> bool:
        """Keep ``boards`` if they are a valid plan that costs less than the best one."""
        plan = tuple(boards)
        cost = self.problem.price(plan)
        if (self.upper is not None and cost >= self.upper) or not is_plan(self.problem, plan):
            return False
        self.boards, self.upper = plan, cost
        return True

    def raise_bound(self, bound: int) -> None:
        """Take note that no plan costs less than ``bound``."""
        self.lower = max(self.lower, bound)


def is_plan(problem: Problem, boards: Iterable[Board]) -> bool:
    """Return whether boards hold every piece exactly once, fit, and are not too many."""
    need = list(problem.demand)
    left = list(problem.limit)
    for kind, pattern in boards:
        if problem.load(pattern) > problem.capacity[kind]:
            return False
        left[kind] -= 1
        for i in pattern:
            need[i] -= 1
    return not any(need) and min(left) >= 0


def without_excess(problem: Problem, boards: Iterable[Board]) -> list[Board]:
    """Return boards with every piece that is cut once too often taken out, dearest boards first.

    Boards that end up empty are dropped.
    """
    need = list(problem.demand)
    kept: list[Board] = []
    for kind, pattern in sorted(boards, key=lambda board: problem.cost[board[0]]):
        held = []
        for i in pattern:
            if need[i]:
                need[i] -= 1
                held.append(i)
        if held:
            kept.append((kind, tuple(held)))
    return kept
