"""Good plans at once, in plain Python (layer: engines, stock).

Longest piece first into the first or the tightest board that takes it, for each kind of board
as the favourite; and board by board, each filled as tightly as a short search can. Afterwards
every board is exchanged for the cheapest kind that holds its pieces.

References
----------
D. S. Johnson, Near-optimal bin packing algorithms, thesis, MIT, 1973 (first and best fit
decreasing). J. N. D. Gupta & J. C. Ho, Production Planning & Control 10, 1999 (minimum slack).
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable, Sequence
from math import inf
from time import monotonic

from bedplan.stock.problem import Board, Problem, Search

STEPS = 400
"""Steps of the search that fills one board."""
MANY = 6_000
"""Pieces from which the first fit is left out: looking for it takes longer than the tightest."""
SHARE = 0.3
"""Share of the time that may go to filling board by board."""


def first_plans(search: Search) -> None:
    """Offer the plans of all heuristics to a search, until its bound is met or its time is up."""
    problem = search.problem
    favourites = [k for k in problem.kinds if problem.cost[k]]
    for favourite in favourites:
        for tightest in (False, True) if problem.pieces < MANY else (True,):
            if search.upper is None or search.open():
                boards = decreasing(problem, problem.demand, favourite, tightest=tightest)
                search.offer(cheapest_kinds(problem, boards))
    late = monotonic() + SHARE * search.seconds_left
    for only in [None, *favourites]:
        if search.upper is None or search.open():
            boards = filled(problem, problem.demand, only, late)
            search.offer(cheapest_kinds(problem, boards))


def decreasing(
    problem: Problem, need: Sequence[int], favourite: int, *, tightest: bool
) -> list[Board]:
    """Return boards packed longest piece first.

    Parameters
    ----------
    problem
        The problem.
    need
        How many of each size to pack.
    favourite
        Kind to open when no open board takes the piece; others when it cannot be had.
    tightest
        Put a piece where it leaves least room, rather than into the first board.
    """
    opening = _opening(problem, favourite)
    left, rooms = list(problem.limit), _Rooms(tightest=tightest)
    kinds: list[int] = []
    held: list[list[int]] = []
    for i, count in enumerate(need):
        size = problem.sizes[i]
        for _ in range(count):
            b = rooms.taken_by(size)
            if b is None:
                kind = next((k for k in opening if left[k] and problem.capacity[k] >= size), None)
                if kind is None:
                    return []
                left[kind] -= 1
                b = len(kinds)
                rooms.open(b, problem.capacity[kind] - size)
                kinds.append(kind)
                held.append([])
            held[b].append(i)
    return [(kind, tuple(pattern)) for kind, pattern in zip(kinds, held, strict=True)]


class _Rooms:
    """Room of the open boards: by length for the tightest fit, else in the order opened."""

    def __init__(self, *, tightest: bool) -> None:
        self._tightest = tightest
        self._rooms: list[tuple[int, int]] = []

    def open(self, board: int, room: int) -> None:
        """Add a board with some room."""
        if self._tightest:
            insort(self._rooms, (room, board))
        else:
            self._rooms.append((room, board))

    def taken_by(self, size: int) -> int | None:
        """Return the board that takes a piece, and take its room; None if there is none."""
        if self._tightest:
            at = bisect_left(self._rooms, (size, -1))
        else:
            fits = (n for n, (room, _) in enumerate(self._rooms) if room >= size)
            at = next(fits, len(self._rooms))
        if at == len(self._rooms):
            return None
        room, board = self._rooms[at]
        if self._tightest:
            del self._rooms[at]
            self.open(board, room - size)
        else:
            self._rooms[at] = (room - size, board)
        return board


def _opening(problem: Problem, favourite: int) -> list[int]:
    """Return the kinds in the order they are opened: leftovers, shortest first, then others."""
    rest = [k for k in problem.kinds if problem.cost[k] and k != favourite]
    rest.sort(key=lambda k: problem.cost[k] / problem.capacity[k])
    free = [k for k in problem.kinds if not problem.cost[k]]
    return [*sorted(free, key=lambda k: problem.capacity[k]), favourite, *rest]


def filled(
    problem: Problem, need: Sequence[int], only: int | None = None, deadline: float = inf
) -> list[Board]:
    """Return boards filled one by one as tightly as a short search finds.

    Each board starts with the longest piece left. Of the kinds that hold it, the one that costs
    least per length used is taken, or ``only`` while it can be had. Empty if boards run out, or
    the time does.
    """
    need, left = list(need), list(problem.limit)
    boards: list[Board] = []
    while any(need):
        longest = next(i for i, n in enumerate(need) if n)
        kinds = [
            k for k in problem.kinds if left[k] and problem.capacity[k] >= problem.sizes[longest]
        ]
        if not kinds or monotonic() > deadline:
            return []
        if only in kinds:
            kinds = [only, *(k for k in kinds if not problem.cost[k])]
        board = min(
            ((k, tightest_fill(problem, need, problem.capacity[k])) for k in kinds),
            key=lambda b: (problem.cost[b[0]] / problem.load(b[1]), problem.capacity[b[0]]),
        )
        boards.append(board)
        left[board[0]] -= 1
        for i in board[1]:
            need[i] -= 1
    return boards


def tightest_fill(problem: Problem, need: Sequence[int], capacity: int) -> tuple[int, ...]:
    """Return a pattern with the longest piece left and as little room to spare as found."""
    wanted = [i for i, n in enumerate(need) if n]
    sizes, count = [problem.sizes[i] for i in wanted], [need[i] for i in wanted]
    falling = [-size for size in sizes]
    count[0] -= 1
    stack: list[int] = [0]
    room = capacity - sizes[0]
    best, best_room, steps, i = tuple(stack), room, 0, 0
    while best_room and steps < STEPS:
        steps += 1
        i = bisect_left(falling, -room, i)
        while i < len(sizes) and not count[i]:
            i += 1
        if i < len(sizes):
            stack.append(i)
            count[i] -= 1
            room -= sizes[i]
            continue
        if room < best_room:
            best, best_room = tuple(stack), room
        if len(stack) == 1:
            break
        i = stack.pop()
        count[i] += 1
        room += sizes[i]
        i += 1
    return tuple(wanted[i] for i in (best if room >= best_room else stack))


def cheapest_kinds(problem: Problem, boards: Iterable[Board]) -> list[Board]:
    """Return the same contents, each on the cheapest kind still to be had that holds it.

    The fullest boards choose first, so that scarce leftovers go where they save most.
    """
    left, capacity = list(problem.limit), problem.capacity
    order = sorted(problem.kinds, key=lambda k: (problem.cost[k], capacity[k]))
    chosen: list[Board] = []
    loaded = sorted(((problem.load(p), kind, p) for kind, p in boards), reverse=True)
    for load, kind, pattern in loaded:
        best = kind
        for k in order:
            if capacity[k] >= load and left[k]:
                best = k
                break
        left[best] -= 1
        chosen.append((best, pattern))
    return chosen
