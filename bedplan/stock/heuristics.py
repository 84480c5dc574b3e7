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

from collections.abc import Iterable, Sequence

from bedplan.stock.problem import Board, Problem, Search

STEPS = 400
"""Steps of the search that fills one board."""


def first_plans(search: Search) -> None:
    """Offer the plans of all heuristics to a search, stopping when its bound is met."""
    problem = search.problem
    favourites = [k for k in problem.kinds if problem.cost[k]]
    for favourite in favourites:
        for tightest in (False, True):
            if not search.closed:
                boards = decreasing(problem, problem.demand, favourite, tightest=tightest)
                search.offer(cheapest_kinds(problem, boards))
    for only in [None, *favourites]:
        if not search.closed:
            search.offer(cheapest_kinds(problem, filled(problem, problem.demand, only)))


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
    left = list(problem.limit)
    room: list[int] = []
    kinds: list[int] = []
    held: list[list[int]] = []
    for i, count in enumerate(need):
        size = problem.sizes[i]
        for _ in range(count):
            b = _place(room, size, tightest=tightest)
            if b is None:
                kind = next((k for k in opening if left[k] and problem.capacity[k] >= size), None)
                if kind is None:
                    return []
                left[kind] -= 1
                b = len(room)
                room.append(problem.capacity[kind])
                kinds.append(kind)
                held.append([])
            room[b] -= size
            held[b].append(i)
    return [(kind, tuple(pattern)) for kind, pattern in zip(kinds, held, strict=True)]


def _opening(problem: Problem, favourite: int) -> list[int]:
    """Return the kinds in the order they are opened: leftovers, shortest first, then others."""
    rest = [k for k in problem.kinds if problem.cost[k] and k != favourite]
    rest.sort(key=lambda k: problem.cost[k] / problem.capacity[k])
    free = [k for k in problem.kinds if not problem.cost[k]]
    return [*sorted(free, key=lambda k: problem.capacity[k]), favourite, *rest]


def _place(room: list[int], size: int, *, tightest: bool) -> int | None:
    """Return the index of the open board that takes a piece, if any does."""
    if not tightest:
        return next((b for b, r in enumerate(room) if r >= size), None)
    fits = [(r, b) for b, r in enumerate(room) if r >= size]
    return min(fits)[1] if fits else None


def filled(problem: Problem, need: Sequence[int], only: int | None = None) -> list[Board]:
    """Return boards filled one by one as tightly as a short search finds.

    Each board starts with the longest piece left. Of the kinds that hold it, the one that costs
    least per length used is taken, or ``only`` while it can be had. Empty if boards run out.
    """
    need, left = list(need), list(problem.limit)
    boards: list[Board] = []
    while any(need):
        longest = next(i for i, n in enumerate(need) if n)
        kinds = [
            k for k in problem.kinds if left[k] and problem.capacity[k] >= problem.sizes[longest]
        ]
        if not kinds:
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
    sizes, need = problem.sizes, list(need)
    first = next(i for i, n in enumerate(need) if n)
    need[first] -= 1
    stack: list[int] = [first]
    room = capacity - sizes[first]
    best, best_room, steps, i = tuple(stack), room, 0, first
    while best_room and steps < STEPS:
        steps += 1
        while i < len(sizes) and (not need[i] or sizes[i] > room):
            i += 1
        if i < len(sizes):
            stack.append(i)
            need[i] -= 1
            room -= sizes[i]
            continue
        if room < best_room:
            best, best_room = tuple(stack), room
        if len(stack) == 1:
            break
        i = stack.pop()
        need[i] += 1
        room += sizes[i]
        i += 1
    return best if room >= best_room else tuple(stack)


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
