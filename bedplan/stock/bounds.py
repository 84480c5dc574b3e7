"""Bounds that need no solver (layer: engines, stock).

If every kind of board holds at most ``worth[k]`` of something of which the pieces have
``total`` in sum, the boards must be bought to cover that total; the cheapest cover is a bound.
*Something* may be length, the number of pieces above a given size, or a dual feasible function.

References
----------
S. Martello & P. Toth, Discrete Applied Mathematics 28, 1990 (L2). S. P. Fekete & J. Schepers,
Mathematical Programming 91, 2001 (dual feasible functions).
"""

from __future__ import annotations

from collections.abc import Iterator

from bedplan.stock.problem import Problem, Search

NEAR = 0.9
"""Share of the known bound from which an argument is worth a closer look."""
MOST_THRESHOLDS = 30
"""Different sizes that serve as thresholds."""


def first_bounds(search: Search) -> None:
    """Raise a search's bound by every quick argument."""
    for worth, total in arguments(search.problem):
        search.raise_bound(cheapest_cover(search.problem, worth, total, search.lower))


def arguments(problem: Problem) -> Iterator[tuple[list[int], int]]:
    """Yield what each kind can hold at most and what the pieces have in sum, per argument."""
    yield list(problem.capacity), problem.total
    step = -(-len(problem.sizes) // MOST_THRESHOLDS)
    for size in problem.sizes[::step]:
        yield counted(problem, size)
        if 2 * size <= max(problem.capacity):
            yield rounded_out(problem, size)


def counted(problem: Problem, threshold: int) -> tuple[list[int], int]:
    """Return how many pieces of at least a size fit each kind, and how many there are.

    Most fit when the shortest of them are taken.
    """
    pieces = [
        s for s, d in zip(problem.sizes, problem.demand, strict=True) if s >= threshold
        for _ in range(d)
    ][::-1]  # fmt: skip
    worth = []
    for capacity in problem.capacity:
        room, count = capacity, 0
        while count < len(pieces) and pieces[count] <= room:
            room -= pieces[count]
            count += 1
        worth.append(count)
    return worth, len(pieces)


def rounded_out(problem: Problem, threshold: int) -> tuple[list[int], int]:
    """Return lengths with big pieces made to fill the longest board, small ones left out.

    Pieces shorter than the threshold count nothing, and pieces that leave less than the
    threshold of the longest board count as all of it; the others as they are. On a board
    shorter than the longest the same rule is superadditive, hence its worth is the rule's.
    """
    longest = max(problem.capacity)

    def rule(size: int) -> int:
        if size > longest - threshold:
            return longest
        return size if size >= threshold else 0

    total = sum(d * rule(s) for s, d in zip(problem.sizes, problem.demand, strict=True))
    return [rule(c) for c in problem.capacity], total


def cheapest_cover(problem: Problem, worth: list[int], total: int, known: int = 0) -> int:
    """Return the least cost of boards, within their limits, that together hold a total.

    Free boards are all taken; the others are tried by whole numbers, best value first, unless
    boards bought in parts fall far short of a bound already known.
    """
    for k in problem.kinds:
        if not problem.cost[k]:
            total -= worth[k] * problem.limit[k]
    kinds = [k for k in problem.kinds if problem.cost[k] and worth[k]]
    kinds.sort(key=lambda k: problem.cost[k] / worth[k])
    offers = [(problem.cost[k], worth[k], problem.limit[k]) for k in kinds]
    least = _continuous(offers, 0, total)
    return _cover(offers, total, 2_000) if total > 0 and least > NEAR * known else least


def _cover(offers: list[tuple[int, int, int]], total: int, steps: int) -> int:
    """Return the cheapest cover by depth-first search; a weaker bound if steps run out.

    Parameters
    ----------
    offers
        ``(cost, worth, limit)`` of each kind, least cost for its worth first.
    total
        What must be covered, above zero.
    steps
        Greatest number of branches.
    """
    least = _continuous(offers, 0, total)
    best: int | None = None
    stack = [(0, 0, total)]
    while stack:
        steps -= 1
        depth, paid, open_total = stack.pop()
        if best is not None and paid + _continuous(offers, depth, open_total) >= best:
            continue
        if open_total <= 0:
            best = paid
        elif steps < 0:
            return least
        elif depth < len(offers):
            cost, worth, limit = offers[depth]
            most = min(limit, -(-open_total // worth))
            counts = range(most + 1)
            stack += [(depth + 1, paid + n * cost, open_total - n * worth) for n in counts]
    return least if best is None else best


def _continuous(offers: list[tuple[int, int, int]], depth: int, total: int) -> int:
    """Return the cost, rounded up, of covering a total if boards could be bought in parts."""
    paid = 0
    for cost, worth, limit in offers[depth:]:
        if total <= worth * limit:
            return paid + max(0, -(-total * cost // worth))
        paid, total = paid + cost * limit, total - worth * limit
    return paid if total <= 0 else 1 << 62
