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
    lacking
        Whether the last kind stands for boards that cannot be had (dearer than all others).
    """

    sizes: tuple[int, ...]
    demand: tuple[int, ...]
    capacity: tuple[int, ...]
    cost: tuple[int, ...]
    limit: tuple[int, ...]
    lacking: bool = False

    @property
    def unit(self) -> int:
        """Cost of the dearest kind that can be had; what costs are measured against."""
        return max(1, *(self.cost[:-1] if self.lacking else self.cost))

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
        return sum(map(self.sizes.__getitem__, pattern))

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

    def share(self, seconds: float) -> float:
        """Return so much time, or what is left of it [s]."""
        return min(seconds, self.seconds_left)

    @property
    def closed(self) -> bool:
        """Whether the best boards are proven to cost least."""
        return self.upper is not None and self.lower >= self.upper

    def open(self) -> bool:
        """Whether there is something left to find and time to find it."""
        return not self.closed and self.seconds_left > 0

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


def served(problem: Problem, boards: Iterable[Board]) -> list[Board] | None:
    """Return boards with every piece wanted cut from them once, or None if they do not cover.

    A longer piece may serve for a shorter one: the n-th longest piece wanted is cut from the
    n-th longest place, on the cheapest board where sizes are equal. Pieces too many are taken
    out, and boards that end up empty dropped.
    """
    plan = sorted(boards, key=lambda board: problem.cost[board[0]])
    places = sorted((i, b) for b, (_, pattern) in enumerate(plan) for i in pattern)
    wanted = [i for i, d in enumerate(problem.demand) for _ in range(d)]
    held: list[list[int]] = [[] for _ in plan]
    taken = zip(wanted, places, strict=False)
    if len(places) < len(wanted):
        return None
    for want, (place, b) in taken:
        if place > want:
            return None
        held[b].append(want)
    return [(kind, tuple(h)) for (kind, _), h in zip(plan, held, strict=True) if h]
